//! The map: what stands on it, where, and that both pictures of it hold.

use crate::sample;
use report::compare::{CompareInputs, CompareRecord};
use report::map::{self, MapPictures};
use report::record::{ApplicationRecord, LaneRecord, ReasonRecord, SeenAt, Verdict};
use report::{Care, FaceRecord};
use roxmltree::{Document, Node};
use std::collections::BTreeSet;

fn svg(record: &FaceRecord, pictures: &MapPictures) -> String {
    map::svg(&map::compose(record, pictures))
}

/// The tiles of the map by their titles, "Position 3: fail. ...", in order.
fn tiles<'a, 'i>(document: &'a Document<'i>) -> Vec<(String, Node<'a, 'i>)> {
    let groups = document.descendants().filter(|n| n.attribute("role") == Some("img"));
    groups
        .filter_map(|group| {
            let title = group.children().find(|n| n.has_tag_name("title"))?;
            Some((title.text()?.to_owned(), group))
        })
        .collect()
}

fn number(node: Node, name: &str) -> f64 {
    node.attribute(name).unwrap().parse().unwrap()
}

#[test]
fn every_position_of_every_layout_has_its_tile_with_its_verdict() {
    for (rows, columns) in [(1, 8), (1, 12), (1, 16), (2, 12), (2, 16)] {
        let record = sample::record(rows, columns);
        let text = svg(&record, &MapPictures::default());
        let document = Document::parse(&text).unwrap();
        let tiles = tiles(&document);
        assert_eq!(tiles.len(), record.positions.len());
        for (position, (title, _)) in record.positions.iter().zip(&tiles) {
            let start = format!("Position {}: {}. ", position.position, position.verdict.word());
            assert!(title.starts_with(&start), "{title}");
        }
    }
}

/// The tile shows the fibre in the middle, key up: a particle at (31, 24) um lies right of and above it, whatever
/// the picture's view was.
#[test]
fn features_lie_on_their_tile_where_they_lie_on_the_face() {
    let record = sample::record(1, 12);
    let pictures = sample::pictures(1, 12);
    let text = svg(&record, &pictures);
    let document = Document::parse(&text).unwrap();
    let (_, tile) = &tiles(&document)[2];
    let image = tile.children().find(|n| n.has_tag_name("image")).unwrap();
    let side = number(image, "width");
    let centre = [number(image, "x") + side / 2.0, number(image, "y") + side / 2.0];
    let scale = map::windows(&record).fibres[2].1.px_per_um;
    // The gravest feature is painted last.
    let outline = tile.children().rfind(|n| n.has_tag_name("polygon") && n.has_attribute("stroke"));
    let points: Vec<[f64; 2]> = outline
        .unwrap()
        .attribute("points")
        .unwrap()
        .split(' ')
        .map(|point| point.split_once(',').map(|(x, y)| [x.parse().unwrap(), y.parse().unwrap()]).unwrap())
        .collect();
    let mean = |i: usize| points.iter().map(|p| p[i]).sum::<f64>() / points.len() as f64;
    let (right, up) = ((mean(0) - centre[0]) / scale, (centre[1] - mean(1)) / scale);
    assert!((right - 31.0).abs() < 1.0 && (up - 24.0).abs() < 1.0, "{right} {up}");
}

/// A mark that was too faint to be told before is drawn there, too: what stayed is seen on both pictures.
#[test]
fn what_was_too_faint_before_is_drawn_on_both_sides() {
    let (before, after) = (sample::record(1, 12), sample::record(1, 12));
    let found = grade::compare::compare(&before.seen(), &after.seen()).unwrap();
    let mut record = CompareRecord::new(CompareInputs {
        before: &before,
        after: &after,
        comparison: &found,
        tool_version: "0",
        cable: None,
        care: Some(Care { counsel: &sample::counsel(), cleaned: &[] }),
    });
    let drawn = |record: &CompareRecord| {
        let map = report::compare::map(record, &[record], &[&before, &after]);
        let text = map::svg(&report::pairs::compose(&map, &[&[], &[]]));
        ["<polygon", "<circle", "<use"].map(|what| text.matches(what).count())
    };
    let [polygons, circles, signs] = drawn(&record);
    record.positions.iter_mut().find_map(|p| p.remaining.first_mut()).unwrap().before_ids.clear();
    let [polygons_faint, circles_faint, signs_faint] = drawn(&record);
    assert_eq!((polygons_faint, circles_faint), (polygons, circles));
    assert!(signs_faint > signs, "{signs_faint} {signs}");
}

/// A series is drawn step by step, each look with its own picture; every number at a mark stands in the list below with
/// the mark's kind, its size and what became of it.
#[test]
fn every_step_of_a_series_is_drawn_and_every_number_listed() {
    let looks = [(); 3].map(|()| sample::record(1, 12));
    let against = |a: &FaceRecord, b: &FaceRecord| {
        CompareRecord::new(CompareInputs {
            before: a,
            after: b,
            comparison: &grade::compare::compare(&a.seen(), &b.seen()).unwrap(),
            tool_version: "0",
            cable: None,
            care: None,
        })
    };
    let [one, two] = [0, 1].map(|n| against(&looks[n], &looks[n + 1]));
    let faces: Vec<&FaceRecord> = looks.iter().collect();
    let map = report::compare::map(&against(&looks[0], &looks[2]), &[&one, &two], &faces);
    let said = format!("{:?}", report::pairs::compose(&map, &[&[], &[], &[]]).items);
    for (n, step) in [(1, &one), (2, &two)] {
        let title = format!("\"Look {n} to look {}: 0 marks gone, {} stayed", n + 1, step.totals.remaining);
        assert_eq!(said.matches(&title).count(), 1, "{title}");
    }
    assert_eq!(said.matches("words: \"look 2\"").count(), 2 * 12 + 1, "at every card and in the head");
    let at = one.positions.iter().find(|p| p.remaining.len() == 1).unwrap();
    let kept = &at.remaining[0];
    let limit = if kept.breaks_limit { "!" } else { "" };
    let listed = format!("stayed: =1{limit}\\u{{a0}}{} ", kept.feature.kind.word());
    assert!(said.contains(&listed), "{listed} is missing");
}

/// The two ways to place a feature agree: its outline through the picture and back, and the sampled picture
/// itself. Inside the outline of the particle the glass is darker than beside it.
#[test]
fn the_picture_beneath_shows_the_feature_inside_its_outline() {
    let record = sample::record(1, 12);
    let pictures = sample::pictures(1, 12);
    let (_, crop) = &pictures.fibres[2];
    let scale = map::windows(&record).fibres[2].1.px_per_um;
    let half = f64::from(crop.width()) / 2.0;
    let grey = |x: f64, y: f64| {
        let (column, row) = ((half + x * scale) as usize, (half - y * scale) as usize);
        crop.bytes()[row * crop.width() as usize + column]
    };
    assert!(u32::from(grey(31.0, 24.0)) + 30 < u32::from(grey(31.0, -24.0)));
}

#[test]
fn the_svg_needs_no_font_and_every_glyph_it_uses_is_defined() {
    let text = svg(&sample::record(1, 12), &sample::pictures(1, 12));
    let document = Document::parse(&text).unwrap();
    assert!(!document.descendants().any(|n| n.has_tag_name("text")));
    let defined: BTreeSet<&str> =
        document.descendants().filter(|n| n.has_tag_name("path")).filter_map(|n| n.attribute("id")).collect();
    let used: BTreeSet<&str> = document
        .descendants()
        .filter(|n| n.has_tag_name("use"))
        .map(|n| n.attribute("href").unwrap().trim_start_matches('#'))
        .collect();
    assert_eq!(used, defined);
    assert!(!text.contains("http://") || text.matches("http://").count() == 1, "only the namespace");
}

fn decoded(png: &[u8]) -> (u32, u32, Vec<u8>) {
    let mut reader = png::Decoder::new(std::io::Cursor::new(png)).read_info().unwrap();
    let mut pixels = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut pixels).unwrap();
    assert_eq!(info.color_type, png::ColorType::Rgb);
    (info.width, info.height, pixels)
}

/// The SVG says where each tile's picture lies; there the PNG shows the same picture, and about a tile that
/// fails the thick frame.
#[test]
fn both_pictures_show_the_same_tiles_in_the_same_places() {
    let record = sample::record(1, 12);
    let pictures = sample::pictures(1, 12);
    let drawing = map::compose(&record, &pictures);
    let text = map::svg(&drawing);
    let document = Document::parse(&text).unwrap();
    let (width, height, pixels) = decoded(&map::png(&drawing).unwrap());
    assert_eq!((width, height), (drawing.width, drawing.height));
    let pixel = |x: u32, y: u32| {
        let at = (y * width + x) as usize * 3;
        [pixels[at], pixels[at + 1], pixels[at + 2]]
    };
    for (position, (_, tile)) in record.positions.iter().zip(tiles(&document)) {
        let image = tile.children().find(|n| n.has_tag_name("image")).unwrap();
        let (x, y) = (number(image, "x") as u32, number(image, "y") as u32);
        let (_, crop) = pictures.fibres.iter().find(|(n, _)| *n == position.position).unwrap();
        if position.verdict == Verdict::Pass {
            // Just inside the left border, at half height: no zone, label or frame reaches it.
            let (column, row) = (6, crop.height() / 2);
            let grey = crop.bytes()[(row * crop.width() + column) as usize];
            assert_eq!(pixel(x + column, y + row), [grey; 3], "position {}", position.position);
        }
        let [red, green, blue] = pixel(x, y + crop.height() / 2);
        let framed = red > 180 && green < 130 && blue < 60;
        assert_eq!(framed, position.verdict == Verdict::Fail, "position {}", position.position);
    }
}

#[test]
fn the_same_face_gives_the_same_bytes() {
    let (record, pictures) = (sample::record(1, 12), sample::pictures(1, 12));
    let make = || {
        let drawing = map::compose(&record, &pictures);
        (map::svg(&drawing), map::png(&drawing).unwrap())
    };
    assert!(make() == make());
}

/// What comes from files may hold anything.
#[test]
fn odd_names_and_titles_break_nothing() {
    let mut record = sample::record(1, 12);
    record.sources[0].file = "<&\"'>\u{1}\u{202e}面.png".repeat(40);
    record.criteria.title = "]]>".to_owned();
    record.layout = String::new();
    let blank = MapPictures::default();
    let drawing = map::compose(&record, &blank);
    let text = map::svg(&drawing);
    let document = Document::parse(&text).unwrap();
    assert!(document.descendants().any(|n| n.has_tag_name("desc") && n.text().unwrap().contains("]]>")));
    map::png(&drawing).unwrap();
}

/// A name in a script that the fonts do not have is spelled sign by sign: no box stands for two different names.
#[test]
fn a_name_that_the_fonts_do_not_have_is_spelled() {
    let mut record = sample::record(1, 12);
    record.sources[0].file = "光-Ж7.png".to_owned();
    let blank = MapPictures::default();
    let said = format!("{:?}", map::compose(&record, &blank).items);
    assert!(said.contains("\"[U+5149]-Ж7.png\"") && !said.contains('光'), "{said}");
}

#[test]
fn rows_far_apart_do_not_blow_up_the_page() {
    let mut record = sample::record(1, 12);
    record.positions[0].nominal_um = [-1375.0, 4e9];
    let strip = map::windows(&record).strip;
    assert!(strip.width_px > 0 && strip.height_px <= 1200, "{strip:?}");
    map::png(&map::compose(&record, &MapPictures::default())).unwrap();
}

#[test]
fn a_face_too_large_to_draw_is_an_error() {
    let mut record = sample::record(1, 12);
    record.positions = vec![record.positions[0].clone(); 2000];
    let blank = MapPictures::default();
    let error = map::png(&map::compose(&record, &blank)).unwrap_err().to_string();
    assert!(error.ends_with("cannot be drawn; leave the map out"), "{error}");
}

/// A guard band stands in the head, how sure a close call is on its tile.
#[test]
fn a_guard_band_and_close_calls_are_told() {
    let mut record = sample::record(1, 12);
    let close = record.positions.iter().find(|p| p.features.iter().any(|f| f.near_limit)).unwrap();
    let sure = format!("limits held with {:.0} %", 100.0 * close.conformity.unwrap());
    let start = format!("Position {}: ", close.position);
    let plain = svg(&record, &MapPictures::default());
    record.guard_risk = Some(0.05);
    let guarded = svg(&record, &MapPictures::default());
    assert_ne!(plain, guarded);
    let document = Document::parse(&guarded).unwrap();
    let (title, _) = tiles(&document).into_iter().find(|(title, _)| title.starts_with(&start)).unwrap();
    assert!(title.contains(&sure), "{title}");
}

/// However much there is to say of a fibre, all of it stands below its tile, and the next line of tiles below that.
#[test]
fn what_is_said_of_a_fibre_is_never_cut_off() {
    let mut record = sample::record(1, 12);
    let few = map::compose(&record, &MapPictures::default()).height;
    let at = record.positions.iter().position(|p| p.features.iter().any(|f| f.near_limit)).unwrap();
    record.positions[at].verdict = Verdict::Fail;
    record.positions[at].reasons[0].text =
        format!("{} at last", "1 particle over 10 um in zone B, none allowed, ".repeat(4));
    let blank = MapPictures::default();
    let drawing = map::compose(&record, &blank);
    let said = format!("{:?}", drawing.items);
    let sure = format!("{:.0} %\"", 100.0 * record.positions[at].conformity.unwrap());
    assert!(said.contains("at last") && said.contains(&sure), "{said}");
    assert!(drawing.height > few + 40, "{} {few}", drawing.height);
}

/// Each fibre's lane stands beside its number in the row and on its tile; one that carries none says so.
#[test]
fn lanes_stand_at_their_fibres() {
    let mut record = sample::record(1, 12);
    let lane = |p: &report::record::PositionRecord| LaneRecord {
        position: p.position,
        lane: (p.position < 5).then(|| format!("Rx{}", p.position)),
        verdict: p.verdict,
        far: None,
        far_lane: None,
        crossed: false,
    };
    record.application = Some(ApplicationRecord {
        id: "four".to_owned(),
        title: "four lanes".to_owned(),
        seen: SeenAt::Plug,
        source: record.polarity.as_ref().unwrap().source.clone(),
        lanes: record.positions.iter().map(lane).collect(),
    });
    let said = format!("{:?}", map::compose(&record, &MapPictures::default()).items);
    assert!(said.contains("four lanes, counted on the plug"), "{said}");
    let times = |words: &str| said.matches(&format!("words: \"{words}")).count();
    assert_eq!([times("Rx3"), times("Rx5"), times("no lane"), times("–")], [2, 0, 8, 8], "{said}");
    assert!(said.contains(". Rx3, far end 10\""), "{said}");
}

/// However much there is to do, all of it stands in the head, above the strip.
#[test]
fn advice_is_never_cut_off() {
    let mut record = sample::record(1, 12);
    let few = map::compose(&record, &MapPictures::default()).height;
    let step = record.advice.steps[0].clone();
    record.advice.steps = (1..=9)
        .map(|n| {
            let text =
                format!("Step {n}: {} end {n}.", "clean it, look at it, and clean it again, ".repeat(6));
            report::record::StepRecord { text, ..step.clone() }
        })
        .collect();
    let blank = MapPictures::default();
    let drawing = map::compose(&record, &blank);
    let said = format!("{:?}", drawing.items);
    assert!((1..=9).all(|n| said.contains(&format!("end {n}."))), "{said}");
    assert!(drawing.height > few + 200, "{} {few}", drawing.height);
}

/// Marks that no limit is for are not counted among those within the limits.
#[test]
fn what_passes_counts_what_is_counted() {
    let mut record = sample::record(1, 12);
    let held = |p: &report::record::PositionRecord| {
        p.verdict == Verdict::Pass && p.features.iter().any(|f| p.counts(f.id))
    };
    let at = record.positions.iter().position(held).unwrap();
    let start = format!("Position {}: ", record.positions[at].position);
    let title = |record: &FaceRecord| {
        let drawn = svg(record, &MapPictures::default());
        let document = Document::parse(&drawn).unwrap();
        tiles(&document).into_iter().find(|(title, _)| title.starts_with(&start)).unwrap().0
    };
    let said = title(&record);
    assert!(said.contains("within the limits; largest: ") && !said.contains("not counted"), "{said}");
    let mut outside = record.positions[at].features[0].clone();
    (outside.id, outside.zone, outside.size_um) = (900, None, Some(77.0));
    record.positions[at].features.push(outside);
    let with = title(&record);
    assert!(with.contains("; 1 not counted") && with.replace("; 1 not counted", "") == said, "{with} {said}");
}

/// What keeps every position from a verdict stands once, whole, in the head; a position says what else it has.
#[test]
fn a_reason_of_the_whole_face_is_told_once() {
    let mut record = sample::record(1, 12);
    let reason = |text: &str| ReasonRecord { code: "told".to_owned(), text: text.to_owned() };
    for position in &mut record.positions {
        (position.verdict, position.reasons) =
            (Verdict::Ungraded, vec![reason("the cores are of another kind")]);
        position.findings.clear();
    }
    record.positions[3].reasons.insert(0, reason("no fibre was found"));
    let blank = MapPictures::default();
    let said = format!("{:?}", map::compose(&record, &blank).items);
    assert_eq!(said.matches("of another kind").count(), 1, "{said}");
    assert!(said.contains("Not graded: the cores are of another kind."));
    assert_eq!(said.matches("ungraded. for the reason above").count(), 11, "{said}");
    assert!(said.contains("Position 4: ungraded. no fibre was found"), "{said}");
    record.positions[3].reasons = vec![reason("it is hidden")];
    let said = format!("{:?}", map::compose(&record, &blank).items);
    assert!(!said.contains("Not graded:") && !said.contains("above"), "{said}");
}

/// A face of which no picture tells which fibre is which bears no numbers and no key.
#[test]
fn a_face_that_is_not_numbered_shows_no_numbers() {
    let mut record = sample::record(1, 12);
    let blank = MapPictures::default();
    let key = |record: &FaceRecord| format!("{:?}", map::compose(record, &blank).items).contains("\"KEY\"");
    assert!(key(&record));
    let code = terms::Flaw::Ambiguous(terms::Ambiguity::NoEnd).code().to_owned();
    for position in &mut record.positions {
        position.verdict = Verdict::Ungraded;
        position.reasons = vec![ReasonRecord { code: code.clone(), text: "the border cuts it".to_owned() }];
    }
    let said = format!("{:?}", map::compose(&record, &blank).items);
    assert!(!key(&record) && said.contains("Position ?: ungraded"), "{said}");
    assert!(!(1..=12).any(|n| said.contains(&format!("words: \"{n}\""))), "{said}");
}

/// Outlines of very many marks are thin and uncased, so that the fibre beneath them is seen.
#[test]
fn many_outlines_do_not_hide_the_fibre() {
    let mut record = sample::record(1, 12);
    let at = record.positions.iter().position(|p| p.position == 7).unwrap();
    let widest = |record: &FaceRecord| {
        let text = svg(record, &MapPictures::default());
        let document = Document::parse(&text).unwrap();
        let tile = tiles(&document)[at].1;
        let lines = tile.descendants().filter(|n| n.has_tag_name("polygon") && n.has_attribute("stroke"));
        lines.map(|n| number(n, "stroke-width")).fold(0.0, f64::max)
    };
    assert!(widest(&record) > 2.5);
    let features = record.positions[at].features.clone();
    let more = (0..30).map(|n| report::record::FeatureRecord { id: 900 + n, ..features[0].clone() });
    record.positions[at].features.extend(more);
    assert!(widest(&record) < 1.2);
}

/// The foot says of how many limits that they are from memory.
#[test]
fn the_foot_tells_all_limits_from_some() {
    let mut record = sample::record(1, 12);
    for (all, which) in [(false, "Some"), (true, "All")] {
        record.criteria.all_from_memory = all;
        let said = format!("{:?}", map::compose(&record, &MapPictures::default()).items);
        assert!(said.contains(&format!("{which} limits of these criteria are from memory")), "{which}");
    }
}
