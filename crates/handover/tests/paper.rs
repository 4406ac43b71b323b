//! The PDF of a page: read by poppler, a reader of its own.

use crate::made::{cable, connector, fibre_picture, job, row_picture};
use handover::page::{Cell, Page, Part};
use handover::{Owed, cable_page, html, job_page, pdf};
use std::process::Command;

/// What one of poppler's programs prints of a file; it may complain of nothing.
fn poppler(program: &str, arguments: &[&str], file: &[u8]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("page.pdf");
    std::fs::write(&path, file).unwrap();
    let mut command = Command::new(program);
    command.args(arguments).arg(&path).current_dir(folder.path());
    if program == "pdftotext" {
        command.arg("-");
    }
    let run = command.output().expect("poppler-utils is not installed; ./check installs it");
    assert!(run.status.success() && run.stderr.is_empty(), "{}", String::from_utf8_lossy(&run.stderr));
    String::from_utf8(run.stdout).unwrap()
}

fn without_white(text: &str) -> String {
    text.split_whitespace().collect()
}

/// Every sentence of a page.
fn sentences(page: &Page) -> Vec<String> {
    let mut all = vec![page.title.clone(), page.subtitle.clone()];
    for part in &page.parts {
        match part {
            Part::Heading(_, words) | Part::Text(words) => all.push(words.clone()),
            Part::List(items) => all.extend(items.iter().cloned()),
            Part::Table(table) => {
                all.push(table.caption.clone());
                all.extend(table.head.iter().cloned());
                all.extend(table.rows.iter().flatten().map(|cell| match cell {
                    Cell::Mark(standing, more) if !more.is_empty() => format!("{} ({more})", standing.word()),
                    other => other.words(),
                }));
            }
            Part::Map(map) => all.extend(map.places.iter().map(|p| p.0.to_string())),
            Part::Pictures(pictures) => all.extend(pictures.iter().map(|(words, _)| words.clone())),
            Part::Bars(bars) => all.push(bars.caption.clone()),
        }
    }
    all
}

fn harbour() -> handover::Job {
    let mut connectors = vec![connector("A", &["FPPP", "PPPP"]), connector("B", &["PFPU"])];
    for look in connectors.iter_mut().flat_map(|c| &mut c.inspections) {
        look.row = Some(row_picture());
        look.fibres = vec![(1, fibre_picture()), (2, fibre_picture())];
    }
    let long = "a long sentence with a word of 64 signs aaaaaaaabbbbbbbbccccccccddddddddeeeeeeeeffffffffgggggggghhhhhhhh ";
    let mut made =
        job(vec![cable("TR-12", connectors), cable("TR <13> & \"x\"", vec![connector("Ä-Ω-Ж", &[])])]);
    made.owed
        .extend((0..60).map(|k| Owed { connector: (0, 0), why: format!("{k}: {}", long.repeat(1 + k % 3)) }));
    made.cables[0].doubts = vec![long.repeat(30)];
    made
}

/// Word for word the same page: that of the screen and that of the paper.
#[test]
fn every_sentence_of_a_page_can_be_found() {
    let job = harbour();
    for page in [job_page(&job), cable_page(&job, &job.cables[0])] {
        let text = without_white(&poppler("pdftotext", &["-raw"], &pdf::document(&page)));
        let of_screen = html::document(&page);
        for sentence in sentences(&page).iter().filter(|s| !s.is_empty()) {
            // A long one goes on below a foot.
            let whole = without_white(sentence);
            let begin: String = whole.chars().take(120).collect();
            assert!(text.contains(&begin), "{sentence} is missing");
        }
        assert!(of_screen.contains("Summary") && text.contains("Summary"));
    }
}

/// What failed and what is owed stands on the first sheet, and each sheet says which it is.
#[test]
fn the_summary_comes_first_and_sheets_are_numbered() {
    let bytes = pdf::document(&job_page(&harbour()));
    let first = poppler("pdftotext", &["-l", "1"], &bytes);
    assert!(first.contains("What failed") && first.contains("it met cord R2 after its last pass"), "{first}");
    let about = poppler("pdfinfo", &[], &bytes);
    let sheets: usize = about.lines().find_map(|l| l.strip_prefix("Pages:")).unwrap().trim().parse().unwrap();
    assert!(sheets >= 3 && about.contains("Tagged:          yes"), "{about}");
    assert!(about.contains("Title:           Harbour hall 3") && about.contains("595.276 x 841.89 pts (A4)"));
    let text = poppler("pdftotext", &[], &bytes);
    assert!((1..=sheets).all(|k| text.contains(&format!("page {k} of {sheets}"))));
}

/// Paper of A4 and of Letter: every word lies where both have paper, a quarter of an inch from any edge.
#[test]
fn no_word_lies_where_a4_or_letter_has_no_paper() {
    let job = harbour();
    for page in [job_page(&job), cable_page(&job, &job.cables[0])] {
        let boxes = poppler("pdftotext", &["-bbox"], &pdf::document(&page));
        // Letter, laid on the middle of A4.
        let (low, high) = ((841.89 - 792.0) / 2.0 + 18.0, (841.89 + 792.0) / 2.0 - 18.0);
        let mut words = 0;
        for word in boxes.lines().filter(|l| l.contains("<word ")) {
            let at = |name: &str| -> f64 {
                let rest = word.split(&format!("{name}=\"")).nth(1).unwrap();
                rest.split('"').next().unwrap().parse().unwrap()
            };
            assert!(at("yMin") >= low && at("yMax") <= high, "{word}");
            assert!(at("xMin") >= 18.0 && at("xMax") <= 595.276 - 18.0, "{word}");
            words += 1;
        }
        assert!(words > 100);
    }
}

#[test]
fn fonts_are_embedded_and_pictures_stay_jpeg() {
    let job = harbour();
    let bytes = pdf::document(&cable_page(&job, &job.cables[0]));
    let fonts = poppler("pdffonts", &[], &bytes);
    let rows: Vec<Vec<&str>> = fonts.lines().skip(2).map(|l| l.split_whitespace().collect()).collect();
    assert_eq!(rows.len(), 2, "{fonts}");
    // Name, two words of type, encoding, embedded, subset, with its meaning.
    assert!(rows.iter().all(|r| r[4] == "yes" && r[6] == "yes" && r[3] == "Identity-H"), "{fonts}");
    let pictures = poppler("pdfimages", &["-list"], &bytes);
    let kinds: Vec<&str> = pictures.lines().skip(2).map(|l| l.split_whitespace().nth(8).unwrap()).collect();
    assert!(kinds.len() >= 4 && kinds.iter().all(|k| *k == "jpeg"), "{pictures}");
}

/// The tree that screens are read aloud by, as poppler finds it.
#[test]
fn a_screen_reader_finds_its_way_on_paper_too() {
    let job = harbour();
    let tree = poppler("pdfinfo", &["-struct-text"], &pdf::document(&cable_page(&job, &job.cables[0])));
    for part in
        ["Document", "H1", "H2", "H3", "L (block)", "LI", "LBody", "Table", "TH", "TD", "Figure", "Caption"]
    {
        assert!(tree.contains(part), "{part} is missing in {tree}");
    }
    assert!(tree.contains("\"Cable TR-12\"") && tree.contains("\"Before and after\""), "{tree}");
    let figures = tree.matches("Figure").count();
    assert_eq!(figures, 9, "two maps, three rows, one of them before, and four fibres: {tree}");
}

#[test]
fn a_sign_that_the_font_has_not_can_be_read_and_found() {
    let job = job(vec![cable("光-7", vec![connector("A", &["P"])])]);
    let bytes = pdf::document(&cable_page(&job, &job.cables[0]));
    assert!(poppler("pdftotext", &[], &bytes).contains("Cable 光-7"));
}

#[test]
fn the_same_page_gives_the_same_file() {
    let (one, other) = (pdf::document(&job_page(&harbour())), pdf::document(&job_page(&harbour())));
    assert_eq!(one, other);
    let text = String::from_utf8_lossy(&one);
    assert!(text.contains("(D:20261125)") && text.contains("<xmp:CreateDate>2026-11-25<"));
    let mut undated = harbour();
    undated.date = "yesterday".to_owned();
    assert!(!String::from_utf8_lossy(&pdf::document(&job_page(&undated))).contains("CreateDate"));
}
