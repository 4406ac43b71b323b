//! Work over rows of numbers on the widest vectors of the machine it runs on; a program that is built for any machine
//! otherwise keeps to the narrowest. Every number is the same: no sum is reordered and no product fused into one.

/// Does `work` with code that is compiled for wide vectors where the machine has them. What `work` calls takes part only
/// where it is inlined.
#[inline]
pub fn widest<R>(work: impl FnOnce() -> R) -> R {
    pulp::Arch::new().dispatch(work)
}
