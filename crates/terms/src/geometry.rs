//! Plane geometry shared by looking and measuring: circles that enclose and circles that fit.
