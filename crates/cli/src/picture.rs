//! Pictures that the program makes, as files.

use imaging::{Frame, Samples};
use png::{BitDepth, ColorType, Compression, EncodingError};
use std::borrow::Cow;

/// The picture as a grey PNG of its own depth.
pub fn encoded(frame: &Frame) -> Result<Vec<u8>, EncodingError> {
    let (depth, bytes): (_, Cow<[u8]>) = match frame.samples() {
        Samples::Eight(v) => (BitDepth::Eight, v.into()),
        Samples::Sixteen(v) => (BitDepth::Sixteen, v.iter().flat_map(|s| s.to_be_bytes()).collect()),
    };
    let mut out = Vec::with_capacity(bytes.len());
    let mut encoder = png::Encoder::new(&mut out, frame.width() as u32, frame.height() as u32);
    encoder.set_color(ColorType::Grayscale);
    encoder.set_depth(depth);
    encoder.set_compression(Compression::Fast);
    report::map::mark(&mut encoder)?;
    let mut writer = encoder.write_header()?;
    writer.write_image_data(&bytes)?;
    writer.finish()?;
    Ok(out)
}
