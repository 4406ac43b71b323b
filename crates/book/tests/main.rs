//! Histories of our own invention with a known culprit, and chains changed in every way.

mod chain;
mod trace;
