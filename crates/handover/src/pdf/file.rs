//! Sheets as the objects of one PDF file (ISO 32000-1), with what PDF/A-2 (ISO 19005-2) asks for: fonts and the meaning of
//! colours inside, a description in XMP (ISO 16684-1), an identifier.

use super::letters::Face;
use super::sheets::{SIZE, Sheets, font};
use crate::Picture;
use crate::page::Page;
use miniz_oxide::deflate::compress_to_vec_zlib;
use pdf_writer::types::{CidFontType, FontFlags, OutputIntentSubtype, SystemInfo, TabOrder, UnicodeCmap};
use pdf_writer::writers::StructTreeRoot;
use pdf_writer::{Date, Filter, Finish, Name, Pdf, Rect, Ref, Str, TextStr};
use report::font::{Weight, bytes};
use sha2::{Digest, Sha256};

/// A description of the colours of sRGB (IEC 61966-2-1); see the README beside it.
const COLOURS: &[u8] = include_bytes!("../../assets/srgb.icc");
const LEVEL: u8 = 7;
const CID: SystemInfo = SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"Identity"), supplement: 0 };

/// Numbers of the objects, in the order of the file.
struct Numbers {
    catalog: Ref,
    pages: Ref,
    info: Ref,
    xmp: Ref,
    colours: Ref,
    tree: Ref,
    parents: Ref,
    outline: Ref,
    /// Five objects each.
    fonts: [Ref; 2],
    /// Two objects a sheet.
    sheets: i32,
    pictures: i32,
    entries: i32,
    elements: Ref,
}

impl Numbers {
    fn of(sheets: &Sheets) -> Numbers {
        let first = 19;
        let pictures = first + 2 * sheets.sheets.len() as i32;
        let entries = pictures + sheets.pictures.len() as i32;
        let elements = Ref::new(entries + sheets.entries.len() as i32);
        Numbers {
            catalog: Ref::new(1),
            pages: Ref::new(2),
            info: Ref::new(3),
            xmp: Ref::new(4),
            colours: Ref::new(5),
            tree: Ref::new(6),
            parents: Ref::new(7),
            outline: Ref::new(8),
            fonts: [Ref::new(9), Ref::new(14)],
            sheets: first,
            pictures,
            entries,
            elements,
        }
    }

    fn sheet(&self, k: usize) -> Ref {
        Ref::new(self.sheets + 2 * k as i32)
    }

    fn picture(&self, k: usize) -> Ref {
        Ref::new(self.pictures + k as i32)
    }

    fn entry(&self, k: usize) -> Ref {
        Ref::new(self.entries + k as i32)
    }
}

/// The bytes of the file.
pub(super) fn written(sheets: Sheets, page: &Page) -> Vec<u8> {
    let numbers = Numbers::of(&sheets);
    let mut pdf = Pdf::new();
    pdf.set_version(1, 7);
    catalog(&mut pdf, &numbers, &sheets);
    about(&mut pdf, &numbers, page);
    for (weight, first) in [Weight::Regular, Weight::Bold].into_iter().zip(numbers.fonts) {
        embed(&mut pdf, sheets.letters.face(weight), bytes(weight), first, weight);
    }
    for (k, picture) in sheets.pictures.iter().enumerate() {
        image(&mut pdf, numbers.picture(k), picture);
    }
    outline(&mut pdf, &numbers, &sheets);
    structure(&mut pdf, &numbers, &sheets);
    let identifier = each_sheet(&mut pdf, &numbers, sheets, page);
    pdf.set_file_id((identifier.clone(), identifier));
    pdf.finish()
}

fn catalog(pdf: &mut Pdf, numbers: &Numbers, sheets: &Sheets) {
    let mut catalog = pdf.catalog(numbers.catalog);
    catalog.pages(numbers.pages).metadata(numbers.xmp).lang(TextStr("en"));
    catalog.mark_info().marked(true);
    catalog.viewer_preferences().display_doc_title(true);
    if !sheets.entries.is_empty() {
        catalog.outlines(numbers.outline);
    }
    catalog.pair(Name(b"StructTreeRoot"), numbers.tree);
    let mut intents = catalog.output_intents();
    let mut intent = intents.push();
    intent.subtype(OutputIntentSubtype::PDFA).output_condition_identifier(TextStr("sRGB IEC61966-2.1"));
    intent.info(TextStr("sRGB IEC61966-2.1")).dest_output_profile(numbers.colours);
    intent.finish();
    intents.finish();
    catalog.finish();
    let colours = compress_to_vec_zlib(COLOURS, LEVEL);
    pdf.icc_profile(numbers.colours, &colours).n(3).filter(Filter::FlateDecode);
}

/// Title, program and date, in the two forms that a file has them.
fn about(pdf: &mut Pdf, numbers: &Numbers, page: &Page) {
    let (producer, date) = (format!("pitchline {}", page.version), date(&page.date));
    let mut info = pdf.document_info(numbers.info);
    info.title(TextStr(&page.title)).producer(TextStr(&producer));
    if let Some((year, month, day)) = date {
        info.creation_date(Date::new(year).month(month).day(day));
    }
    info.finish();
    let text = |text: &str| report::markup::escaped(text);
    let created = date.map_or_else(String::new, |(year, month, day)| {
        format!("<xmp:CreateDate>{year:04}-{month:02}-{day:02}</xmp:CreateDate>")
    });
    let xmp = format!(
        "<?xpacket begin=\"\u{feff}\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\n\
         <x:xmpmeta xmlns:x=\"adobe:ns:meta/\"><rdf:RDF xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\n\
         <rdf:Description rdf:about=\"\" xmlns:dc=\"http://purl.org/dc/elements/1.1/\" \
         xmlns:xmp=\"http://ns.adobe.com/xap/1.0/\" xmlns:pdf=\"http://ns.adobe.com/pdf/1.3/\" \
         xmlns:pdfaid=\"http://www.aiim.org/pdfa/ns/id/\">\n\
         <dc:title><rdf:Alt><rdf:li xml:lang=\"x-default\">{}</rdf:li></rdf:Alt></dc:title>\n\
         <pdf:Producer>{}</pdf:Producer>{created}\n\
         <pdfaid:part>2</pdfaid:part><pdfaid:conformance>U</pdfaid:conformance>\n\
         </rdf:Description></rdf:RDF></x:xmpmeta>\n<?xpacket end=\"r\"?>",
        text(&page.title),
        text(&producer),
    );
    pdf.metadata(numbers.xmp, xmp.as_bytes());
}

/// Year, month and day of `2026-11-25`; none of anything else.
fn date(text: &str) -> Option<(u16, u8, u8)> {
    let mut parts = text.split('-');
    let (year, month, day) = (parts.next()?, parts.next()?, parts.next()?);
    let whole = year.len() == 4 && month.len() == 2 && day.len() == 2 && parts.next().is_none();
    let (year, month, day) = (year.parse().ok()?, month.parse().ok()?, day.parse().ok()?);
    (whole && (1..=12).contains(&month) && (1..=31).contains(&day)).then_some((year, month, day))
}

/// A font as it is bundled, which is a subset already, with the meaning of each of its glyphs.
fn embed(pdf: &mut Pdf, face: &Face, program: &[u8], first: Ref, weight: Weight) {
    let [whole, cid, about, file, meaning] = [0, 1, 2, 3, 4].map(|k| Ref::new(first.get() + k));
    let name = Name(face.name.as_bytes());
    pdf.type0_font(whole)
        .base_font(name)
        .encoding_predefined(Name(b"Identity-H"))
        .descendant_font(cid)
        .to_unicode(meaning);
    let mut font = pdf.cid_font(cid);
    font.subtype(CidFontType::Type2).base_font(name).system_info(CID).font_descriptor(about);
    font.default_width(0.0).cid_to_gid_map_predefined(Name(b"Identity"));
    font.widths().consecutive(0, face.widths.iter().copied());
    font.finish();
    let [left, low, right, high] = face.bounds;
    pdf.font_descriptor(about)
        .name(name)
        .flags(FontFlags::NON_SYMBOLIC)
        .bbox(Rect::new(left, low, right, high))
        .italic_angle(0.0)
        .ascent(face.ascent)
        .descent(face.descent)
        .cap_height(face.capitals)
        .stem_v(if weight == Weight::Bold { 140.0 } else { 90.0 })
        .font_file2(file);
    let packed = compress_to_vec_zlib(program, LEVEL);
    let mut stream = pdf.stream(file, &packed);
    stream.pair(Name(b"Length1"), program.len() as i32);
    stream.filter(Filter::FlateDecode);
    stream.finish();
    let mut map = UnicodeCmap::new(Name(b"Custom"), CID);
    face.glyphs.iter().for_each(|(sign, glyph)| map.pair(*glyph, *sign));
    pdf.cmap(meaning, &map.finish());
}

/// A picture as it came: a viewer decodes the JPEG.
fn image(pdf: &mut Pdf, number: Ref, picture: &Picture) {
    let mut image = pdf.image_xobject(number, &picture.jpeg);
    image.width(picture.width as i32).height(picture.height as i32).bits_per_component(8);
    image.color_space().device_gray();
    image.filter(Filter::DctDecode);
}

/// The sections, for the list of contents of a viewer.
fn outline(pdf: &mut Pdf, numbers: &Numbers, sheets: &Sheets) {
    let count = sheets.entries.len();
    if count == 0 {
        return;
    }
    let (first, last) = (numbers.entry(0), numbers.entry(count - 1));
    pdf.outline(numbers.outline).first(first).last(last).count(count as i32);
    for (k, entry) in sheets.entries.iter().enumerate() {
        let mut item = pdf.outline_item(numbers.entry(k));
        item.title(TextStr(&entry.words)).parent(numbers.outline);
        if k > 0 {
            item.prev(numbers.entry(k - 1));
        }
        if k + 1 < count {
            item.next(numbers.entry(k + 1));
        }
        item.dest().page(numbers.sheet(entry.sheet)).xyz(0.0, SIZE[1] - entry.y + 12.0, None);
    }
}

/// What the marked places are, and which node each of a sheet's belongs to.
fn structure(pdf: &mut Pdf, numbers: &Numbers, sheets: &Sheets) {
    let places: Vec<Ref> = (0..sheets.sheets.len()).map(|k| numbers.sheet(k)).collect();
    sheets.tree.write(pdf, numbers.elements, numbers.tree, &places);
    let mut root = pdf.indirect(numbers.tree).start::<StructTreeRoot>();
    root.child(numbers.elements).parent_tree_next_key(places.len() as i32);
    root.pair(Name(b"ParentTree"), numbers.parents);
    root.finish();
    let mut parents = pdf.indirect(numbers.parents).dict();
    let mut nums = parents.insert(Name(b"Nums")).array();
    for (k, sheet) in sheets.sheets.iter().enumerate() {
        nums.item(k as i32);
        nums.push().array().items(sheet.marks.iter().map(|node| node.object(numbers.elements)));
    }
}

/// The sheets themselves; gives an identifier of what they hold.
fn each_sheet(pdf: &mut Pdf, numbers: &Numbers, sheets: Sheets, page: &Page) -> Vec<u8> {
    let mut hash = Sha256::new();
    hash.update(&page.title);
    let count = sheets.sheets.len();
    pdf.pages(numbers.pages).kids((0..count).map(|k| numbers.sheet(k))).count(count as i32);
    for (k, sheet) in sheets.sheets.into_iter().enumerate() {
        let number = numbers.sheet(k);
        let content = Ref::new(number.get() + 1);
        let mut out = pdf.page(number);
        out.parent(numbers.pages).media_box(Rect::new(0.0, 0.0, SIZE[0], SIZE[1])).contents(content);
        out.struct_parents(k as i32).tab_order(TabOrder::StructureOrder);
        let mut resources = out.resources();
        let mut fonts = resources.fonts();
        fonts.pair(font(Weight::Regular), numbers.fonts[0]).pair(font(Weight::Bold), numbers.fonts[1]);
        fonts.finish();
        let mut pictures = resources.x_objects();
        for picture in &sheet.pictures {
            pictures.pair(Name(format!("P{picture}").as_bytes()), numbers.picture(*picture));
        }
        pictures.finish();
        resources.finish();
        out.finish();
        let painted = sheet.content.finish();
        hash.update(painted.as_slice());
        pdf.stream(content, &compress_to_vec_zlib(&painted, LEVEL)).filter(Filter::FlateDecode);
    }
    hash.finalize()[..16].to_vec()
}
