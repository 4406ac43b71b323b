//! Made-up end faces with known truth.
