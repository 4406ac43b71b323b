//! Pages: what stands first, that both tell the same, that nothing from outside is read as markup, that a reader of
//! screens finds its way.

use crate::made::{cable, connector, job};
use handover::page::Page;
use handover::{cable_page, file_stem, html, is_cable_file, job_page};
use links::{LossRow, Told};
use report::record::{Faith, ReasonRecord, SourceNote, StepRecord, Verdict};
use roxmltree::{Document, Node};

/// The page as XML: written so that it is that too.
fn parsed(text: &str) -> Document<'_> {
    Document::parse(text.strip_prefix("<!DOCTYPE html>\n").unwrap()).unwrap()
}

fn all<'a>(document: &'a Document, tag: &'a str) -> Vec<Node<'a, 'a>> {
    document.descendants().filter(|n| n.has_tag_name(tag)).collect()
}

fn words(node: &Node) -> String {
    node.descendants().filter(|n| n.is_text()).filter_map(|n| n.text()).collect()
}

fn harbour() -> handover::Job {
    job(vec![
        cable("TR-12", vec![connector("A", &["FPPP", "PPPP"]), connector("B", &["PFPU"])]),
        cable("TR <13> & \"x\"", vec![connector("<script>alert(1)</script>", &[])]),
    ])
}

#[test]
fn what_failed_and_what_is_owed_comes_first() {
    let text = html::document(&job_page(&harbour()));
    let document = parsed(&text);
    let main = all(&document, "main")[0];
    let said = words(&main);
    assert!(said.trim_start().starts_with("Summary"), "{}", &said[..200]);
    assert!(said.contains("Of 3 connectors, 1 pass, 1 fail, 0 could not be graded and 1 were not inspected"));
    assert!(said.contains("Cable TR-12, connector B: position 2"));
    assert!(
        said.contains("connector A: it met cord R2 after its last pass")
            && said.contains("was never inspected")
    );
    assert!(said.contains("A pass, owed a look"), "{said}");
    let cable = harbour();
    let cable = html::document(&cable_page(&cable, &cable.cables[0]));
    assert!(cable.contains("(owed a look)"), "{cable}");
    let at = |part: &str| said.find(part).unwrap_or_else(|| panic!("{part} is missing"));
    assert!(at("What failed") < at("What is owed") && at("What is owed") < at("Every cable of the job"));
    assert!(at("Not joined: line 7") > at("Gaps and conflicts"));
    assert!(said.contains("from memory") && said.contains("Table 4, recalled"));
    assert!(said.contains("Never look into a fibre."));
}

#[test]
fn a_cable_shows_before_and_after_with_pictures_and_hashes() {
    let job = harbour();
    let text = html::document(&cable_page(&job, &job.cables[0]));
    let document = parsed(&text);
    let said = words(&document.root_element());
    for part in
        ["Before and after", "why position 2 is fail", "No trace was taken", "SHA-256 aaaa", "SHA-256 0000"]
    {
        assert!(said.contains(part), "{part} is missing");
    }
    let pictures = all(&document, "img");
    assert!(pictures.len() >= 4);
    assert!(pictures.iter().all(|p| p.attribute("alt").is_some_and(|a| !a.is_empty())));
    assert!(pictures.iter().all(|p| p.attribute("src").unwrap().starts_with("data:image/jpeg;base64,")));
}

#[test]
fn a_fail_by_a_limit_from_memory_says_so() {
    let mut job = harbour();
    let connectors = job.cables[0].connectors.iter_mut();
    let looks = connectors.flat_map(|connector| &mut connector.inspections);
    for position in looks.flat_map(|look| &mut look.face.positions).filter(|p| p.verdict == Verdict::Fail) {
        position.findings[0].verdict = Verdict::Fail;
    }
    let text = html::document(&cable_page(&job, &job.cables[0]));
    assert!(text.contains("why position 2 is fail [limit from memory]"), "{text}");
}

#[test]
fn nothing_from_outside_is_read_as_markup() {
    let job = harbour();
    for page in [job_page(&job), cable_page(&job, &job.cables[0]), cable_page(&job, &job.cables[1])] {
        let text = html::document(&page);
        let document = parsed(&text);
        assert!(all(&document, "script").is_empty() && all(&document, "iframe").is_empty());
        let leads = document.descendants().flat_map(|n| n.attributes().collect::<Vec<_>>());
        for a in leads.filter(|a| matches!(a.name(), "src" | "href")) {
            let inside =
                a.value().starts_with("data:") || a.value() == "#main" || a.value().starts_with("cable-");
            assert!(inside, "{}", a.value());
        }
        let handlers = document.descendants().flat_map(|n| n.attributes().collect::<Vec<_>>());
        assert!(handlers.into_iter().all(|a| !a.name().starts_with("on")));
    }
    let text = html::document(&job_page(&job));
    assert!(words(&parsed(&text).root_element()).contains("<script>alert(1)</script>"));
}

#[test]
fn a_screen_reader_finds_its_way() {
    let job = harbour();
    for page in [job_page(&job), cable_page(&job, &job.cables[0])] {
        let text = html::document(&page);
        let document = parsed(&text);
        assert_eq!(document.root_element().attribute("lang"), Some("en"));
        for landmark in ["header", "main", "footer", "h1"] {
            assert_eq!(all(&document, landmark).len(), 1, "{landmark}");
        }
        for section in all(&document, "section") {
            let label = section.attribute("aria-labelledby").unwrap();
            assert!(section.children().any(|n| n.attribute("id") == Some(label)));
        }
        for table in all(&document, "table") {
            assert!(table.descendants().any(|n| n.has_tag_name("caption")));
            let heads: Vec<Node> = table.descendants().filter(|n| n.has_tag_name("th")).collect();
            assert!(heads.iter().all(|h| matches!(h.attribute("scope"), Some("col" | "row"))));
        }
        for drawing in all(&document, "svg") {
            let told =
                drawing.attribute("aria-label").is_some() || drawing.attribute("aria-hidden") == Some("true");
            assert!(told);
        }
        // Colour is never alone: every mark holds its word.
        let marks =
            document.descendants().filter(|n| n.attribute("class").is_some_and(|c| c.starts_with("mark ")));
        assert!(marks.clone().count() > 0);
        for mark in marks {
            let word = mark.attribute("class").unwrap().trim_start_matches("mark ");
            let said = words(&mark);
            let longer = [("unseen", "not inspected"), ("over", "over its limit")];
            assert!(said == word || longer.contains(&(word, said.as_str())), "{said}");
        }
    }
}

#[test]
fn links_lead_to_the_pages_that_are_there() {
    let job = harbour();
    let text = html::document(&job_page(&job));
    for k in 0..job.cables.len() {
        assert!(text.contains(&format!("href=\"{}.html\"", file_stem(&job, k))));
    }
    assert_eq!(file_stem(&job, 0), "cable-001-tr-12");
    assert!(file_stem(&job, 1).chars().all(|c| c.is_ascii_alphanumeric() || c == '-'));
    assert!((0..2).all(|k| is_cable_file(&format!("{}.html", file_stem(&job, k)))));
    for other in [
        "cable-001.html",
        "cable-1-a.html",
        "cable-001-a.txt",
        "cable-x01-a.html",
        "cable-001-A.html",
        "job.html",
    ] {
        assert!(!is_cable_file(other), "{other}");
    }
}

#[test]
fn the_same_job_gives_the_same_bytes() {
    assert_eq!(html::document(&job_page(&harbour())), html::document(&job_page(&harbour())));
}

/// What keeps all fibres from a verdict is said once, with what to do; a table of limits that held none is not shown.
#[test]
fn a_face_that_could_not_be_graded_says_why_once_and_what_to_do() {
    let mut job = job(vec![cable("TR-1", vec![connector("A", &["UUUU"])])]);
    for position in &mut job.cables[0].connectors[0].inspections[0].face.positions {
        position.reasons = vec![ReasonRecord { code: "blurred".to_owned(), text: "out of focus".to_owned() }];
        position.findings.clear();
    }
    let text = html::document(&cable_page(&job, &job.cables[0]));
    let said = words(&parsed(&text).root_element());
    assert_eq!(said.matches("out of focus").count(), 1, "{said}");
    assert!(said.contains("1-4") && said.contains("No fibre was graded by them."), "{said}");
    assert!(
        said.contains("What to do")
            && said.contains("Nothing could be graded: focus and take the picture again.")
    );
    assert!(
        !said.contains("Limits for each fibre") && said.contains("Inspection visit 1: 4 ungraded"),
        "{said}"
    );
}

/// Where no fibre's number is known, no map numbers them.
#[test]
fn a_face_that_is_not_numbered_has_no_map() {
    let mut job = job(vec![cable("TR-1", vec![connector("A", &["UUUU"])])]);
    let page = |job: &handover::Job| html::document(&cable_page(job, &job.cables[0]));
    assert!(page(&job).contains("class=\"map\""));
    for position in &mut job.cables[0].connectors[0].inspections[0].face.positions {
        let (code, text) = ("ambiguous-position".to_owned(), "the border cuts the row".to_owned());
        position.reasons = vec![ReasonRecord { code, text }];
    }
    assert!(!page(&job).contains("class=\"map\"") && page(&job).contains("Position ?: ungraded"));
}

/// What is numbered as an order of work bears no bullet besides.
#[test]
fn steps_with_numbers_have_no_bullets() {
    let mut job = job(vec![cable("TR-1", vec![connector("A", &["FPPP"])])]);
    let face = &mut job.cables[0].connectors[0].inspections[0].face;
    let source = SourceNote { faith: Faith::House, text: String::new() };
    let step = |text: &str| StepRecord {
        text: text.to_owned(),
        positions: vec![1],
        cautions: vec![],
        source: source.clone(),
    };
    face.advice.steps = vec![step("1. Clean it."), step("Look at it.")];
    let text = html::document(&cable_page(&job, &job.cables[0]));
    assert!(
        text.contains("<li class=\"numbered\">1. Clean it.</li>") && text.contains("<li>Look at it.</li>")
    );
}

/// A loss over its limit stands out where the losses stand, by a word and a shape, whatever the table says of it.
#[test]
fn a_loss_over_its_limit_is_marked_among_the_losses() {
    let mut job = harbour();
    let loss = |fibre: u16, loss_db: f64, verdict| LossRow {
        line: 1,
        identifier: "TR-12".to_owned(),
        fibre: Some(fibre),
        wavelength_nm: None,
        loss_db,
        length_m: None,
        limit_db: Some(0.75),
        verdict,
        direction: None,
    };
    job.cables[0].measured.losses = vec![loss(1, 0.3, None), loss(2, 0.95, Some(Told::Pass))];
    let marks = |page: Page| {
        let text = html::document(&page);
        let document = parsed(&text);
        let over = document.descendants().filter(|n| n.attribute("class") == Some("mark over"));
        over.map(|n| words(&n.parent().unwrap())).collect::<Vec<_>>()
    };
    assert_eq!(marks(job_page(&job)), ["over its limit (1 of 2 losses, at most 0.95 dB)"]);
    assert_eq!(marks(cable_page(&job, &job.cables[0])), ["over its limit (pass is told; ask)"]);
}

/// Pages write lengths with their sign, as the maps do.
#[test]
fn pages_write_micrometres_with_their_sign() {
    let mut job = harbour();
    let position = &mut job.cables[0].connectors[1].inspections[0].face.positions[1];
    position.reasons[0].text = "1 particle over 5 um".to_owned();
    let text = html::document(&cable_page(&job, &job.cables[0]));
    assert!(text.contains("1 particle over 5\u{a0}µm"), "{text}");
}
