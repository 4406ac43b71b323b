//! Smallest files of each format, built byte by byte from the formats' own documents.

/// The CRC of PNG chunks (ISO 3309), bit by bit.
fn crc(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(u32::MAX, |crc, &b| {
        (0..8).fold(crc ^ u32::from(b), |c, _| if c & 1 == 1 { c >> 1 ^ 0xedb8_8320 } else { c >> 1 })
    })
}

fn chunk(name: &[u8; 4], data: &[u8]) -> Vec<u8> {
    let body = [&name[..], data].concat();
    [&(data.len() as u32).to_be_bytes()[..], &body, &crc(&body).to_be_bytes()].concat()
}

fn png_of(width: u32, height: u32, color: u8, palette: &[u8]) -> Vec<u8> {
    let header = [&width.to_be_bytes()[..], &height.to_be_bytes(), &[8, color, 0, 0, 0]].concat();
    let pixels = [0x78, 0x01, 0x03, 0x00, 0x00, 0x00, 0x00, 0x01];
    let palette = if palette.is_empty() { Vec::new() } else { chunk(b"PLTE", palette) };
    let (header, pixels) = (chunk(b"IHDR", &header), chunk(b"IDAT", &pixels));
    [&b"\x89PNG\r\n\x1a\n"[..], &header, &palette, &pixels, &chunk(b"IEND", &[])].concat()
}

/// An 8-bit grey PNG with an empty stream of pixels.
pub fn png(width: u32, height: u32) -> Vec<u8> {
    png_of(width, height, 0, &[])
}

/// A palette PNG whose palette is four bytes long: no whole number of colours.
pub fn png_with_odd_palette() -> Vec<u8> {
    png_of(2, 2, 3, &[1, 2, 3, 4])
}

/// A grey baseline JPEG with an empty scan.
pub fn jpeg(width: u16, height: u16) -> Vec<u8> {
    let (w, h) = (width.to_be_bytes(), height.to_be_bytes());
    let frame = [0xff, 0xc0, 0, 11, 8, h[0], h[1], w[0], w[1], 1, 1, 0x11, 0];
    let scan = [0xff, 0xda, 0, 8, 1, 1, 0, 0, 63, 0];
    let mut tables = vec![0xff, 0xdb, 0, 67, 0];
    tables.extend([1; 64]);
    [&[0xff, 0xd8][..], &tables, &frame, &scan, &[0xff, 0xd9]].concat()
}

/// A little-endian 8-bit grey TIFF of one strip that lies beyond the file.
pub fn tiff(width: u32, height: u32) -> Vec<u8> {
    tiff_of(width, height, 4)
}

/// A TIFF whose strip offsets claim to be a text of 4 GiB.
pub fn tiff_with_endless_text() -> Vec<u8> {
    let mut file = tiff_of(2, 2, 2);
    // Entries of 12 bytes from byte 10; the sixth holds the strip offsets, its count from its fourth byte.
    let count_at = 10 + 5 * 12 + 4;
    file[count_at..count_at + 4].fill(0xff);
    file
}

fn tiff_of(width: u32, height: u32, offsets_kind: u16) -> Vec<u8> {
    let entries = [
        (256u16, width),
        (257, height),
        (258, 8),
        (259, 1),
        (262, 1),
        (273, 8),
        (277, 1),
        (278, height),
        (279, width.wrapping_mul(height)),
    ];
    let mut file = b"II*\0\x08\0\0\0".to_vec();
    file.extend((entries.len() as u16).to_le_bytes());
    for (tag, value) in entries {
        file.extend(tag.to_le_bytes());
        let kind = if tag == 273 { offsets_kind } else { 4 };
        file.extend(kind.to_le_bytes());
        file.extend(1u32.to_le_bytes());
        file.extend(value.to_le_bytes());
    }
    file.extend([0; 4]);
    file
}

/// One page of a TIFF.
#[derive(Clone)]
pub struct TiffPage {
    /// NewSubfileType.
    pub kind: u32,
    pub width: u32,
    pub pixels: Vec<u8>,
}

/// A little-endian 8-bit grey TIFF of these pages, each of one strip; and where the place of a directory behind the
/// last one would stand.
pub fn tiff_pages(pages: &[TiffPage]) -> (Vec<u8>, usize) {
    let mut file = b"II*\0".to_vec();
    let mut link_at = file.len();
    file.extend([0; 4]);
    for page in pages {
        let (strip, count) = (file.len() as u32, page.pixels.len() as u32);
        file.extend(&page.pixels);
        file.resize(file.len().next_multiple_of(2), 0);
        let directory = file.len() as u32;
        file[link_at..link_at + 4].copy_from_slice(&directory.to_le_bytes());
        let height = count / page.width;
        let [grey, plain] = [1, 1];
        let entries = [
            (254u16, page.kind),
            (256, page.width),
            (257, height),
            (258, 8),
            (259, plain),
            (262, grey),
            (273, strip),
            (277, 1),
            (278, height),
            (279, count),
        ];
        file.extend((entries.len() as u16).to_le_bytes());
        for (tag, value) in entries {
            file.extend(tag.to_le_bytes());
            file.extend([4, 0, 1, 0, 0, 0]);
            file.extend(value.to_le_bytes());
        }
        link_at = file.len();
        file.extend([0; 4]);
    }
    (file, link_at)
}

/// A 24-bit BMP header without pixels.
pub fn bmp(width: u32, height: u32) -> Vec<u8> {
    let mut file = b"BM".to_vec();
    file.extend([54u32, 0, 54, 40, width, height].iter().flat_map(|v| v.to_le_bytes()));
    file.extend([1u16, 24].iter().flat_map(|v| v.to_le_bytes()));
    file.extend([0u8; 24]);
    file
}
