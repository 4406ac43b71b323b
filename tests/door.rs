//! The image door on files that other programs wrote: `fixtures/door/make.py` says which and how, and holds
//! the luminance that Pillow 13.0.0 (for 16-bit colour, OpenCV 5.0.0) reads from each.

use crate::handmade::{self, TiffPage};
use imaging::door::{self, DoorError, Format, Limits, Part};
use imaging::{Frame, Samples};
use serde_json::Value;
use std::path::{Path, PathBuf};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/door")
}

fn bytes(name: &str) -> Vec<u8> {
    std::fs::read(folder().join(name)).unwrap()
}

fn open(bytes: &[u8]) -> Result<Frame, DoorError> {
    door::open(bytes, &Limits::default())
}

fn expected() -> serde_json::Map<String, Value> {
    let text = std::fs::read_to_string(folder().join("expected.json")).unwrap();
    serde_json::from_str(&text).unwrap()
}

fn values(frame: &Frame) -> Vec<i64> {
    match frame.samples() {
        Samples::Eight(v) => v.iter().map(|&s| i64::from(s)).collect(),
        Samples::Sixteen(v) => v.iter().map(|&s| i64::from(s)).collect(),
    }
}

/// Lossless forms agree exactly. Two decoders of JPEG may round the inverse transform differently by 1 (ITU-T
/// T.83 allows it); of lossy WebP, the colours are made from luma and chroma with each decoder's own rounding.
fn tolerance(name: &str) -> i64 {
    match name.rsplit_once('.') {
        Some((_, "jpg")) => 1,
        Some(("lossy", "webp")) => 2,
        _ => 0,
    }
}

#[test]
fn every_form_gives_the_luminance_that_another_program_reads() {
    let known = expected();
    assert!(known.len() >= 37);
    for (name, entry) in &known {
        let frame = open(&bytes(name)).unwrap_or_else(|e| panic!("{name}: {e}"));
        let bits = if matches!(frame.samples(), Samples::Eight(_)) { 8 } else { 16 };
        assert_eq!(Some(frame.width() as u64), entry["width"].as_u64(), "{name}");
        assert_eq!(Some(frame.height() as u64), entry["height"].as_u64(), "{name}");
        assert_eq!(Some(bits), entry["bits"].as_u64(), "{name}");
        let wanted: Vec<i64> = entry["values"].as_array().unwrap().iter().flat_map(Value::as_i64).collect();
        let found = values(&frame);
        assert_eq!(found.len(), wanted.len(), "{name}");
        let worst = found.iter().zip(&wanted).map(|(a, b)| (a - b).abs()).max();
        assert!(worst <= Some(tolerance(name)), "{name} differs by {worst:?}");
    }
}

#[test]
fn a_file_cut_anywhere_is_refused() {
    for name in expected().keys() {
        let whole = bytes(name);
        for cut in 0..whole.len() {
            // A TIFF may end in a tag that says nothing of its pixels.
            let harmless = name.ends_with(".tif") && open(&whole[..cut]) == open(&whole);
            let refused = open(&whole[..cut]).is_err();
            assert!(refused || harmless, "{name} opened, cut at {cut} of {}", whole.len());
        }
    }
}

#[test]
fn a_cut_file_is_said_to_be_cut_off() {
    let cases = [
        ("grey8.png", Format::Png),
        ("ycc420.jpg", Format::Jpeg),
        ("progressive.jpg", Format::Jpeg),
        ("grey8_lzw.tif", Format::Tiff),
        ("grey8.tif", Format::Tiff),
        ("grey8.bmp", Format::Bmp),
        ("lossy.webp", Format::WebP),
        ("lossless.webp", Format::WebP),
    ];
    for (name, format) in cases {
        let whole = bytes(name);
        let error = open(&whole[..whole.len() * 3 / 4]).unwrap_err();
        assert_eq!(error, DoorError::Truncated { format }, "{name}");
    }
}

#[test]
fn what_has_no_plain_luminance_is_refused_by_name() {
    let cmyk = |format| DoorError::Cmyk { format };
    let several = |format| DoorError::Several { format };
    assert_eq!(open(&bytes("cmyk.tif")), Err(cmyk(Format::Tiff)));
    assert_eq!(open(&bytes("cmyk.jpg")), Err(cmyk(Format::Jpeg)));
    assert_eq!(open(&bytes("pages.tif")), Err(several(Format::Tiff)));
    assert_eq!(open(&bytes("animated.png")), Err(several(Format::Png)));
    assert_eq!(open(&bytes("animated.webp")), Err(several(Format::WebP)));
    for name in ["float.tif", "planar_tiled.tif"] {
        assert!(
            matches!(open(&bytes(name)), Err(DoorError::Unsupported { format: Format::Tiff, .. })),
            "{name}"
        );
    }
}

#[test]
fn the_content_counts_and_not_the_name() {
    assert_eq!(Format::of(&bytes("grey8.jpg")), Ok(Format::Jpeg));
    assert_eq!(open(b""), Err(DoorError::Empty));
    for other in
        [&b"%PDF-1.7"[..], b"GIF89a", b"hello", &[0; 64], b"BM", b"BMP files of the line, a list: one, two"]
    {
        assert_eq!(open(other), Err(DoorError::NotAPicture));
    }
}

/// Headers that announce 60,000 x 60,000 pixels with next to nothing behind them, by the formats' own
/// documents; a WebP header can announce 16,384 on a side at most, so a narrower limit stands in there.
#[test]
fn a_bomb_costs_a_sentence() {
    let side = 60_000u32;
    for (name, file) in [
        ("png", handmade::png(side, side)),
        ("jpeg", handmade::jpeg(side as u16, side as u16)),
        ("tiff", handmade::tiff(side, side)),
        ("bmp", handmade::bmp(side, side)),
    ] {
        let limit = Limits::default().pixels / 1_000_000;
        let wanted = DoorError::TooManyPixels { width: side, height: side, limit };
        assert_eq!(open(&file), Err(wanted), "{name}");
    }
    let narrow = Limits { pixels: 100, ..Limits::default() };
    for name in expected().keys() {
        let refused = door::open(&bytes(name), &narrow);
        assert!(matches!(refused, Err(DoorError::TooManyPixels { .. })), "{name}: {refused:?}");
    }
}

#[test]
fn memory_and_file_size_are_limited_too() {
    let tight = Limits { decoded_bytes: 23 * 17 * 2, ..Limits::default() };
    assert!(door::open(&bytes("grey8.png"), &tight).is_ok());
    assert!(door::open(&bytes("grey16.png"), &tight).is_ok());
    let refused = door::open(&bytes("rgb8.png"), &tight);
    assert!(matches!(refused, Err(DoorError::TooMuchMemory { .. })), "{refused:?}");
    let short = Limits { file_bytes: 100, ..Limits::default() };
    assert!(matches!(door::open(&bytes("grey8.png"), &short), Err(DoorError::FileTooLarge { .. })));
}

#[test]
fn a_picture_without_pixels_is_refused() {
    for (name, file) in [
        ("png", handmade::png(0, 5)),
        ("jpeg", handmade::jpeg(0, 5)),
        ("tiff", handmade::tiff(5, 0)),
        ("bmp", handmade::bmp(0, 5)),
    ] {
        assert!(open(&file).is_err(), "{name}");
    }
}

/// Found by changing bytes at random: one stopped the program, the other made the decoder write to stderr.
#[test]
fn an_odd_palette_and_an_endless_text_are_damage() {
    let odd = open(&handmade::png_with_odd_palette());
    assert!(odd == Err(DoorError::Damaged { format: Format::Png, part: Part::Palette }), "{odd:?}");
    let endless = open(&handmade::tiff_with_endless_text());
    assert!(endless == Err(DoorError::Damaged { format: Format::Tiff, part: Part::Text }), "{endless:?}");
}

fn opened(file: &[u8]) -> Result<Vec<Frame>, DoorError> {
    let pictures = door::pictures(file, &Limits::default())?;
    pictures.iter().map(door::Picture::open).collect()
}

/// `steps.tif`, written by tifffile, holds the picture, a smaller copy, the picture in reverse light, a mask of it and
/// the picture upside down.
#[test]
fn pages_are_pictures_and_smaller_copies_and_masks_are_not() {
    let upright = opened(&bytes("grey8.png")).unwrap().swap_remove(0);
    let values = values(&upright);
    let rows: Vec<&[i64]> = values.chunks(upright.width()).rev().collect();
    let wanted = [values.clone(), values.iter().map(|v| 255 - v).collect(), rows.concat()];
    let found: Vec<Vec<i64>> = opened(&bytes("steps.tif")).unwrap().iter().map(self::values).collect();
    assert_eq!(found, wanted);
    assert_eq!(opened(&bytes("pages.tif")).unwrap(), [upright.clone(), upright]);
    for one in ["reduced_copy.tif", "palette8.tif", "grey8.jpg"] {
        assert_eq!(opened(&bytes(one)).unwrap(), [open(&bytes(one)).unwrap()], "{one}");
    }
}

/// A palette on the second page, looked up as on the first.
#[test]
fn each_page_has_its_own_palette() {
    let alone = bytes("palette8.tif");
    let first_at = u32::from_le_bytes(alone[4..8].try_into().unwrap()) as usize;
    let count = usize::from(u16::from_le_bytes(alone[first_at..first_at + 2].try_into().unwrap()));
    // The same directory once more at the end, its last place being that of the end of the chain.
    let mut twice = alone.clone();
    twice.resize(twice.len().next_multiple_of(2), 0);
    let again = (twice.len() as u32).to_le_bytes();
    twice.extend(&alone[first_at..first_at + 2 + 12 * count + 4]);
    twice[first_at + 2 + 12 * count..][..4].copy_from_slice(&again);
    let picture = open(&alone).unwrap();
    assert_eq!(opened(&twice).unwrap(), [picture.clone(), picture]);
}

#[test]
fn pages_that_cannot_be_a_run_are_refused() {
    let page = |kind, width| TiffPage { kind, width, pixels: vec![9; 4 * width as usize] };
    let of = |pages: &[TiffPage]| handmade::tiff_pages(pages).0;
    assert_eq!(opened(&of(&[page(0, 6), page(1, 3), page(2, 6), page(4, 6)])).map(|f| f.len()), Ok(2));
    let other = DoorError::PageSize { page: 2, size: (5, 4), first: (6, 4) };
    assert_eq!(opened(&of(&[page(0, 6), page(1, 3), page(0, 5)])), Err(other));
    let most = Limits::default().pages;
    assert_eq!(opened(&of(&vec![page(0, 6); most])).map(|f| f.len()), Ok(most));
    for count in [most + 1, 10_000] {
        assert_eq!(opened(&of(&vec![page(0, 6); count])), Err(DoorError::TooManyPages { most }));
    }
    // Copies without end beside one picture.
    assert_eq!(opened(&of(&vec![page(1, 6); 10_000])), Err(DoorError::TooManyPages { most }));
    let (mut circle, link_at) = handmade::tiff_pages(&[page(0, 6), page(0, 6)]);
    circle.copy_within(4..8, link_at);
    let damaged = |part| Err(DoorError::Damaged { format: Format::Tiff, part });
    assert_eq!(opened(&circle), damaged(Part::Pages));
    let (mut beyond, link_at) = handmade::tiff_pages(&[page(0, 6), page(0, 6)]);
    beyond[link_at..link_at + 4].copy_from_slice(&[0xff; 4]);
    assert_eq!(opened(&beyond), Err(DoorError::Truncated { format: Format::Tiff }));
    assert_eq!(opened(b"II*\0\0\0\0\0"), damaged(Part::Pages));
}

/// What is wrong with a file is told by format and kind of fault.
#[test]
fn each_fault_has_its_own_sentence() {
    let said = |file: &[u8]| open(file).unwrap_err().to_string();
    let changed = |name: &str, at: usize, to: &[u8]| {
        let mut file = bytes(name);
        file[at..at + to.len()].copy_from_slice(to);
        file
    };
    let again = "copy or save the picture again";
    // The width in the header chunk of a PNG (its CRC fails), then a byte of its pixels.
    let header = changed("grey8.png", 16, &[0, 0, 9, 9]);
    assert_eq!(said(&header), format!("the PNG file is damaged in its header; {again}"));
    let whole = bytes("grey8.png");
    let pixels_at = whole.windows(4).position(|w| w == b"IDAT").unwrap() + 24;
    let pixels = changed("grey8.png", pixels_at, &[0xaa, 0x55, 0xaa]);
    assert_eq!(said(&pixels), format!("the PNG file is damaged in its pixels; {again}"));
    // A start of frame of 12 bit, one of arithmetic coding.
    let whole = bytes("grey8.jpg");
    let frame_at = whole.windows(2).position(|w| w == [0xff, 0xc0]).unwrap();
    let deep = said(&changed("grey8.jpg", frame_at + 4, &[12]));
    assert!(
        deep.starts_with("the JPEG picture is stored as 12 bit a sample, which is not read; save"),
        "{deep}"
    );
    let coded = said(&changed("grey8.jpg", frame_at + 1, &[0xc9]));
    assert!(coded.contains("stored as JPEG with arithmetic coding"), "{coded}");
    // A compression that TIFF does not know: entry 259 of the directory.
    let mut tiff = handmade::tiff(2, 2);
    tiff[10 + 3 * 12 + 8..][..2].copy_from_slice(&[0x39, 0x30]);
    let packed = said(&tiff);
    assert!(packed.contains("stored as data in an uncommon compression, which is not read"), "{packed}");
}

#[test]
fn every_refusal_is_one_line() {
    let mut refusals: Vec<DoorError> = Vec::new();
    for name in expected().keys() {
        let whole = bytes(name);
        refusals.extend((1..whole.len()).filter_map(|cut| open(&whole[..cut]).err()));
        for at in 0..whole.len() {
            let mut file = whole.clone();
            file[at] ^= 0x55;
            refusals.extend(open(&file).err());
        }
    }
    assert!(refusals.len() > 10_000);
    for refusal in refusals {
        let text = refusal.to_string();
        assert!(!text.contains('\n') && text.contains(';') && text.len() < 250, "{text:?}");
        // A decoder's own words would come with its names, numbers and brackets.
        let foreign = ["Error", "error", "decod", "{", "::", "\"", "_", "invalid", "unexpected", "expected"];
        let first = text.split(';').next().unwrap_or_default();
        assert!(foreign.iter().all(|word| !first.replace("when decoded", "").contains(word)), "{text:?}");
    }
}
