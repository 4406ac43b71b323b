//! What the fuzz targets share: what is asked of a refusal and of a picture, and what is done with a record after
//! it was read. A target that finds no fault in an input returns; anything else panics.

mod edits;
mod faces;
mod measured;
mod texts;

pub use edits::edited;
pub use faces::{told, two_faces};
pub use measured::{losses, mapping, trace};
pub use texts::{advice, application, cable, criteria, layout, scene};

use imaging::Samples;
use imaging::door::{self, Limits};

/// Asks of a refusal that it is one sentence for people: one line, not long, no word of the language.
pub fn check_refusal(text: &str) {
    assert!(!text.trim().is_empty(), "an empty refusal");
    assert!(!text.contains("panicked") && !text.contains("unwrap"), "{text}");
}

/// Opens a picture as the program does, with limits that keep each run short.
pub fn open(bytes: &[u8]) {
    let limits = Limits { file_bytes: 1 << 20, pixels: 1 << 20, decoded_bytes: 8 << 20, pages: 8 };
    let pictures = door::pictures(bytes, &limits);
    let opened = pictures.and_then(|all| all.iter().map(|picture| picture.open()).collect::<Result<Vec<_>, _>>());
    match opened {
        Ok(frames) => frames.iter().for_each(|frame| {
            let pixels = (frame.width() * frame.height()) as u64;
            assert!(pixels > 0 && pixels <= limits.pixels, "{pixels} pixels");
            let stored = match frame.samples() {
                Samples::Eight(v) => v.len(),
                Samples::Sixteen(v) => v.len(),
            };
            assert_eq!(stored as u64, pixels);
        }),
        Err(why) => {
            let text = why.to_string();
            check_refusal(&text);
            assert!(text.contains(';') && !text.contains('\n') && text.len() < 250, "{text:?}");
        }
    }
}
