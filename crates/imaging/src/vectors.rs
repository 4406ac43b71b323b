//! Work over rows of numbers on wide vectors (AVX2) where the machine has them; a program that is built for any machine
//! otherwise keeps to narrow ones. Every number is the same: no sum is reordered and no two steps become one.

/// Does `work` with code that is compiled for wide vectors where the machine has them. What `work` calls takes part only
/// where it is inlined.
#[inline]
pub fn widest<R>(work: impl FnOnce() -> R) -> R {
    pulp::Arch::new().dispatch(work)
}
