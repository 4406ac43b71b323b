//! From the pictures of a stepped run to one face: they are put together by what they show, then numbered as
//! one picture would be. On a lattice every step looks like the next, so nothing is placed by the fibres alone.

mod adjust;
mod agreement;
mod anchor;
mod apart;
mod blocks;
mod circles;
mod compose;
mod differ;
mod gaps;
mod lattice;
mod link;
mod optics;
mod parts;
mod path;
mod picture;
mod rigid;
mod run;
mod sights;
mod spectrum;
mod stays;
mod steps;
mod texture;

pub use picture::{FacePicture, face_picture};
pub(crate) use steps::survey;
pub(crate) use texture::shrunk;
