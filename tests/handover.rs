//! `pitchline handover`: from graded faces, a table and traces to pages that a real browser opens, prints and finds
//! nothing wrong with.

use crate::run::{self, Run, clean, names};
use base64::Engine;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;
use tempfile::TempDir;

const MAPPING: &str = "format = \"pitchline.losses/1\"\ndelimiter = \";\"\ndecimal = \",\"\n[columns]\n\
    identifier = \"Cable\"\nfibre = \"Fibre\"\nloss = \"Loss\"\nverdict = \"Result\"\n";

/// A site of two cables: one connector looked at twice, one that was never looked at.
fn site() -> &'static Path {
    static SITE: OnceLock<TempDir> = OnceLock::new();
    let folder = SITE.get_or_init(|| {
        let folder = tempfile::tempdir().unwrap();
        let dirt = "[dirt]\nlevel = \"moderate\"\nseed = 4\n";
        let scenes = [("1-before", clean("mpo-12", "") + dirt), ("2-after", clean("mpo-12", ""))];
        for (visit, scene) in scenes {
            let out = folder.path().join("site/TR-12/A & <b>").join(visit);
            fs::create_dir_all(&out).unwrap();
            let picture = run::picture(&out, "face-of-a.png", &scene);
            assert_eq!(run::grade(&picture, "mpo-12", &out, &["--no-map", "--quiet"]).stderr, "");
        }
        fs::create_dir_all(folder.path().join("site/TR-13/A")).unwrap();
        let table = "Cable;Fibre;Loss;Result\nTR-12;1;0,31;PASS\nTR-12;2;0,x;PASS\nTR-77;1;0,2;PASS\n";
        fs::write(folder.path().join("loss.csv"), table).unwrap();
        fs::write(folder.path().join("map.toml"), MAPPING).unwrap();
        let traces = folder.path().join("traces");
        fs::create_dir(&traces).unwrap();
        let outside = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/outside");
        fs::copy(outside.join("trace-2.sor"), traces.join("good.sor")).unwrap();
        let whole = fs::read(outside.join("trace-1.sor")).unwrap();
        fs::write(traces.join("cut.SOR"), &whole[..whole.len() / 2]).unwrap();
        folder
    });
    folder.path()
}

fn handed_over(out: &Path) -> Run {
    let at = |name: &str| site().join(name).display().to_string();
    run::run(&[
        "handover",
        &at("site"),
        "--date",
        "2026-11-25",
        "--title",
        "Harbour hall 3",
        "--losses",
        &at("loss.csv"),
        "--mapping",
        &at("map.toml"),
        "--traces",
        &at("traces"),
        "--out",
        &out.display().to_string(),
    ])
}

#[test]
fn a_site_becomes_pages_and_tables() {
    let folder = tempfile::tempdir().unwrap();
    let run = handed_over(folder.path());
    assert_eq!(run.stderr, "");
    assert_eq!(run.status, 3, "one connector was never inspected:\n{}", run.stdout);
    assert_eq!(
        names(folder.path()),
        [
            "cable-001-tr-12.html",
            "cable-001-tr-12.pdf",
            "cable-002-tr-13.html",
            "cable-002-tr-13.pdf",
            "cords.csv",
            "events.csv",
            "features.parquet",
            "handover.jsonl",
            "happenings.csv",
            "job.html",
            "job.pdf",
            "losses.csv",
            "positions.csv",
            "positions.parquet",
            "taken-back.csv"
        ]
    );
    let job = fs::read_to_string(folder.path().join("job.html")).unwrap();
    for part in [
        "Cable TR-13, connector A: it was never inspected",
        "line 3: the loss &quot;0,x&quot; is no number",
        "line 4: &quot;TR-77&quot; is no cable of this job",
        "cut.SOR: the trace file is damaged",
        "no loss of fibre 2, 3, 4",
    ] {
        assert!(job.contains(part), "{part} is missing");
    }
    let cable = fs::read_to_string(folder.path().join("cable-001-tr-12.html")).unwrap();
    assert!(cable.contains("Events of good.sor") && cable.contains("Before and after"));
    assert!(cable.matches("<img ").count() >= 3);
    let paper = searched(&folder.path().join("cable-001-tr-12.pdf"));
    for part in ["Cable TR-12", "Connector A & <b>", "Events of good.sor", "Before and after", "page 1 of"] {
        assert!(paper.contains(part), "{part} is missing in {paper}");
    }
}

/// The glass of this scene is grey: white and black side by side are the line about a mark.
#[test]
fn marks_are_outlined_in_the_pictures_of_their_positions() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("site/TR-12/A");
    fs::create_dir_all(&out).unwrap();
    let dirt = "[dirt]\nlevel = \"moderate\"\nseed = 4\n";
    let picture = run::picture(&out, "face.png", &(clean("mpo-12", "") + dirt));
    assert_eq!(run::grade(&picture, "mpo-12", &out, &["--no-map", "--quiet"]).stderr, "");
    let at = |name: &str| folder.path().join(name).display().to_string();
    run::run(&["handover", &at("site"), "--date", "2026-11-25", "--out", &at("out")]);
    let page = fs::read_to_string(folder.path().join("out/cable-001-tr-12.html")).unwrap();
    assert!(page.contains("the black line with a white border goes about each mark that breaks a limit"));
    let images = page.split("<img ").skip(1);
    let failing = |image: &&str| image.contains("alt=\"Position ") && image.contains(": fail\"");
    let fibres: Vec<&str> = images.filter(failing).collect();
    assert!(!fibres.is_empty());
    for fibre in fibres {
        let code = fibre.split("base64,").nth(1).unwrap().split('"').next().unwrap();
        let bytes = base64::engine::general_purpose::STANDARD.decode(code).unwrap();
        let picture = image::load_from_memory(&bytes).unwrap().to_luma8();
        let near = |x: u32, y: u32| (x..x + 5).flat_map(move |x| (y..y + 5).map(move |y| (x, y)));
        let line = |x: u32, y: u32| {
            let levels: Vec<u8> = near(x, y).map(|(x, y)| picture.get_pixel(x, y)[0]).collect();
            levels.iter().any(|v| *v > 240) && levels.iter().any(|v| *v < 60)
        };
        let places = (0..picture.width() - 5).flat_map(|x| (0..picture.height() - 5).map(move |y| (x, y)));
        assert!(places.filter(|&(x, y)| line(x, y)).count() > 50, "{}", &fibre[..80]);
    }
}

/// The text of a PDF, its white made single spaces.
fn searched(pdf: &Path) -> String {
    let text = Command::new("pdftotext").arg(pdf).arg("-").output().expect("poppler-utils is not installed");
    String::from_utf8_lossy(&text.stdout).split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn the_same_site_gives_the_same_bytes() {
    let folder = tempfile::tempdir().unwrap();
    let outs = ["a", "b"].map(|name| folder.path().join(name));
    outs.iter().for_each(|out| drop(handed_over(out)));
    for name in names(&outs[0]) {
        assert_eq!(fs::read(outs[0].join(&name)).unwrap(), fs::read(outs[1].join(&name)).unwrap(), "{name}");
    }
}

/// The page of a cable that is no longer part of the job would tell of another.
#[test]
fn no_page_of_an_earlier_hand_over_survives_and_nothing_else_is_touched() {
    let folder = tempfile::tempdir().unwrap();
    let (html, pdf) =
        ("<!DOCTYPE html><p>Written by pitchline 0.1.0.</p>", "%PDF-1.7 <pdf:Producer>pitchline 0.1.0<");
    let earlier = [
        ("cable-009-gone.html", html),
        ("cable-002-tr-12.pdf", pdf),
        ("cable-notes.html", html),
        ("notes.txt", "earlier"),
    ];
    for (name, text) in earlier {
        fs::write(folder.path().join(name), text).unwrap();
    }
    assert_eq!(handed_over(folder.path()).stderr, "");
    let left = names(folder.path());
    assert!(!left.iter().any(|n| n == "cable-009-gone.html" || n == "cable-002-tr-12.pdf"), "{left:?}");
    assert!(
        left.iter().any(|n| n == "cable-notes.html") && left.iter().any(|n| n == "notes.txt"),
        "{left:?}"
    );
}

/// A table of losses that lies where the hand-over's own would be written.
#[test]
fn no_input_is_written_over() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name).display().to_string();
    fs::copy(site().join("loss.csv"), folder.path().join("losses.csv")).unwrap();
    fs::copy(site().join("map.toml"), folder.path().join("map.toml")).unwrap();
    let earlier = fs::read(folder.path().join("losses.csv")).unwrap();
    let (faces, out) = (site().join("site").display().to_string(), folder.path().display().to_string());
    let run = run::run(&[
        "handover",
        &faces,
        "--date",
        "2026-11-25",
        "--losses",
        &at("losses.csv"),
        "--mapping",
        &at("map.toml"),
        "--out",
        &out,
    ]);
    assert_eq!((run.status, run.stderr.lines().count()), (2, 1), "{}", run.stderr);
    assert_eq!(fs::read(folder.path().join("losses.csv")).unwrap(), earlier);
    assert_eq!(names(folder.path()), ["losses.csv", "map.toml"]);
}

/// A record is held to the limit of records, not to that of pictures.
#[test]
fn a_record_beyond_sense_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let connector = folder.path().join("site/TR-1/A");
    fs::create_dir_all(&connector).unwrap();
    fs::write(connector.join("face.json"), vec![b' '; (32 << 20) + 1]).unwrap();
    let arg = |name: &str| folder.path().join(name).display().to_string();
    let run = run::run(&["handover", &arg("site"), "--date", "2026-11-25", "--out", &arg("out")]);
    assert_eq!((run.status, run.stderr.lines().count()), (2, 1), "{}", run.stderr);
    assert!(run.stderr.contains("32 MiB"), "{}", run.stderr);
}

#[test]
fn what_cannot_be_handed_over_is_one_sentence() {
    let folder = tempfile::tempdir().unwrap();
    let out = folder.path().join("out").display().to_string();
    fs::create_dir(folder.path().join("empty")).unwrap();
    let empty = folder.path().join("empty").display().to_string();
    let run = run::run(&["handover", &empty, "--date", "2026-11-25", "--out", &out]);
    assert_eq!((run.status, run.stderr.lines().count()), (2, 1));
    assert!(run.stderr.contains("CABLE/CONNECTOR/face.json"), "{}", run.stderr);
    assert!(!Path::new(&out).exists());
}

/// A picture that was changed after it was graded is no evidence.
#[test]
fn a_changed_picture_is_a_conflict_and_is_not_shown() {
    let folder = tempfile::tempdir().unwrap();
    let connector = folder.path().join("site/TR-1/A");
    fs::create_dir_all(&connector).unwrap();
    let first = site().join("site/TR-12/A & <b>/2-after");
    fs::copy(first.join("face.json"), connector.join("face.json")).unwrap();
    fs::copy(site().join("site/TR-12/A & <b>/1-before/face-of-a.png"), connector.join("face-of-a.png"))
        .unwrap();
    let arg = |name: &str| folder.path().join(name).display().to_string();
    let run = run::run(&["handover", &arg("site"), "--date", "2026-11-25", "--out", &arg("out")]);
    assert_eq!(run.stderr, "");
    let page = fs::read_to_string(folder.path().join("out/cable-001-tr-1.html")).unwrap();
    assert!(page.contains("is not the one that was graded: its bytes changed") && !page.contains("<img "));
}

/// Debian's chromium without a window, a network or a profile of the user's.
fn browser(folder: &Path, arguments: &[&str]) -> (String, String) {
    let mut command = Command::new("chromium");
    command.args(["--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--disable-sync"]);
    command.args(["--disable-background-networking", "--disable-component-update", "--disable-default-apps"]);
    command.args(["--enable-logging=stderr", "--allow-file-access-from-files"]);
    command.arg(format!("--user-data-dir={}", folder.join("profile").display()));
    command.args(arguments).current_dir(folder);
    let output = command.output().expect("chromium is not installed; ./check installs it");
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    (text(&output.stdout), text(&output.stderr))
}

fn pages(folder: &Path) -> Vec<PathBuf> {
    let found = names(folder).into_iter().filter(|n| n.ends_with(".html"));
    found.map(|n| folder.join(n)).collect()
}

/// A request that the test's own page makes, so that an empty log is not taken for silence; nothing answers there.
const KNOWN: &str = "http://127.0.0.1:9/asked-for.png";
/// How the browser's log marks what a page of a file asks for, in whatever frame. Its own requests, for updates say,
/// bear other keys.
const BY_A_PAGE: &str = "\"network_isolation_key\":\"file://";

/// A page of the test's own shows each page in a frame as wide as a phone and a desk and writes down how wide it is
/// inside: nothing may have to be moved sideways. The browser's log holds what pages complain of and ask for.
#[test]
fn a_browser_opens_the_pages_at_phone_and_desktop_width_without_complaint() {
    let folder = tempfile::tempdir().unwrap();
    handed_over(folder.path());
    let frames: String = pages(folder.path())
        .iter()
        .flat_map(|page| [360, 1280].map(|width| (page.display().to_string(), width)))
        .map(|(page, width)| {
            format!("<iframe src=\"file://{page}\" style=\"width:{width}px;height:700px\"></iframe>")
        })
        .collect();
    let script = "console.log('asked for by the test'); onload = () => { document.title = [...document.querySelectorAll('iframe')].map(f => { \
        const d = f.contentDocument.documentElement; \
        const whole = [...f.contentDocument.images].every(i => i.complete && (i.naturalWidth > 0)); \
        return (d.scrollWidth - d.clientWidth) + ',' + whole + ',' + (d.innerText.length > 300); }).join(' '); }";
    let wrapper = folder.path().join("frames.htm");
    fs::write(
        &wrapper,
        format!(
            "<!DOCTYPE html><title>not run</title><script>{script}</script><img src=\"{KNOWN}\">{frames}"
        ),
    )
    .unwrap();
    let log = folder.path().join("requests.json");
    let (shown, said) = browser(
        folder.path(),
        &[
            &format!("--log-net-log={}", log.display()),
            "--dump-dom",
            &format!("file://{}", wrapper.display()),
        ],
    );
    let title = shown.split("<title>").nth(1).and_then(|t| t.split("</title>").next()).unwrap_or("");
    assert_eq!(title, ["0,true,true"; 6].join(" "), "{said}");
    let complaints: Vec<&str> = said.lines().filter(|l| l.contains("CONSOLE")).collect();
    assert!(complaints.len() == 1 && complaints[0].contains("asked for by the test"), "{complaints:?}");
    let requests = fs::read_to_string(&log).unwrap();
    let by_pages = requests.lines().filter(|line| line.contains(BY_A_PAGE));
    let asked = by_pages.filter_map(|line| line.split("\"url\":\"").nth(1)?.split('"').next());
    let mut outside: Vec<&str> = asked.filter(|url| url.starts_with("http")).collect();
    outside.dedup();
    assert_eq!(outside, [KNOWN]);
}

#[test]
fn a_browser_prints_the_pages_and_their_text_can_be_searched() {
    let folder = tempfile::tempdir().unwrap();
    handed_over(folder.path());
    let pdf = folder.path().join("job.pdf");
    let page = format!("file://{}", folder.path().join("job.html").display());
    browser(folder.path(), &["--no-pdf-header-footer", &format!("--print-to-pdf={}", pdf.display()), &page]);
    let text = searched(&pdf);
    for part in
        ["Harbour hall 3", "What is owed", "was never inspected", "Criteria and their sources", "TR-77"]
    {
        assert!(text.contains(part), "{part} is missing in {text}");
    }
}
