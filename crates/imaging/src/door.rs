//! The image door: bytes of a picture file in, a `Frame` out, or one sentence that says why not.
