//! Geometry and pixel operations against other programs and published values: `fixtures/outside` holds the
//! values with program, version and recipe, and computes them anew.

mod circles;
mod enclosing;
mod filters;
mod regions;
mod store;
mod widths;
