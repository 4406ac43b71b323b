//! How well a program sees: statistics of what was seen against what is true, and of repeated looks at the
//! same thing. Pure numbers; knows no pixel, no file and no way of drawing.

pub mod against;
pub mod agreement;
pub mod binomial;
pub mod confusion;
pub mod detection;
pub mod gauge;
pub mod logistic;
mod matrix;
pub mod pairing;
pub mod ranges;
pub mod repeats;
pub mod seen;
pub mod sizing;
mod special;
pub mod standout;
pub mod truth;
