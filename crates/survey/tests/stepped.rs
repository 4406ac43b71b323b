//! Stepped runs over made-up faces: no position may be taken for its neighbour, whatever the steps, their
//! order and direction, the light and the focus. Truth is where the renderer put each fibre.

use imaging::Frame;
use survey::Settings;
use synth::{Camera, Cores, Face, FacePlan, FibreType};
use terms::{GuidePair, Key, Layout, Look, Place, Point, Survey, Um, View};

/// Draws by SplitMix64 (Steele, Lea and Flood, 2014).
struct Chance(u64);

impl Chance {
    fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        z ^ (z >> 31)
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        low + (high - low) * (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }
}

fn layout(columns: u16) -> Layout {
    let mut layout = Layout {
        id: format!("{columns} in a row"),
        title: String::new(),
        pitch: Um(250.0),
        row_pitch: Um(250.0),
        rows: 1,
        columns,
        cladding: Um(125.0),
        places: Vec::new(),
        guides: GuidePair { spacing: Um(4600.0), diameter: Um(700.0) },
    };
    for column in 1..=columns {
        let at = layout.site(1, column);
        layout.places.push(Place { position: column, row: 1, column, at: Point::new(at.x, at.y) });
    }
    layout
}

/// One run: the cameras in the order of the pictures.
struct Run {
    layout: Layout,
    view: View,
    face: Face,
    cameras: Vec<Camera>,
}

/// A run drawn by chance: 12 or 8 in a row, 10 to 60 % overlap, uneven steps, drift, small turns, changes of
/// exposure and focus; often backwards, sometimes with a picture taken twice or one left out.
fn drawn(seed: u64) -> Run {
    let mut chance = Chance(seed.wrapping_mul(0x1234_5677).wrapping_add(99));
    let layout = layout(if chance.between(0.0, 1.0) < 0.7 { 12 } else { 8 });
    let key = if chance.between(0.0, 1.0) < 0.3 { Key::Down } else { Key::Up };
    let view = View { key, mirrored: chance.between(0.0, 1.0) < 0.2 };
    let fibre = if seed.is_multiple_of(2) { FibreType::Multimode50 } else { FibreType::SingleMode };
    let plan = FacePlan {
        seed,
        fibre,
        cores: Cores::Dark,
        ferrule_contrast: chance.between(0.5, 1.3),
        ..FacePlan::default()
    };
    let scale = chance.between(0.55, 0.75);
    let (width, height) = (chance.between(380.0, 640.0), chance.between(300.0, 400.0));
    let (turn, drift) = (chance.between(-1.0, 1.0), chance.between(-12.0, 12.0));
    let end = 125.0 * f64::from(layout.columns - 1) + chance.between(0.0, 60.0);
    let mut cameras = Vec::new();
    let mut x = -end;
    loop {
        cameras.push(Camera {
            width_px: (width / scale) as usize,
            height_px: (height / scale) as usize,
            um_per_px: scale,
            view,
            turn_deg: turn + chance.between(-0.2, 0.2),
            middle_um: (x, drift * x / end + chance.between(-12.0, 12.0)),
            blur_um: chance.between(0.5, 0.9),
            exposure: chance.between(0.45, 0.65),
            seed: chance.bits(),
            ..Camera::default()
        });
        if x >= end {
            break;
        }
        x += width * (1.0 - chance.between(0.12, 0.6));
    }
    disturbed(&mut cameras, &mut chance);
    Run { face: Face::new(&layout, &plan), layout, view, cameras }
}

/// Backwards, a picture twice, a picture left out, two exchanged.
fn disturbed(cameras: &mut Vec<Camera>, chance: &mut Chance) {
    if chance.between(0.0, 1.0) < 0.5 {
        cameras.reverse();
    }
    let count = cameras.len();
    let mut pick = || (chance.between(0.0, count as f64 - 1.0)) as usize;
    let (twice, out, early) = (pick(), pick(), pick());
    match chance.bits() % 5 {
        0 => cameras.insert(twice, Camera { seed: 77, ..cameras[twice].clone() }),
        1 => drop(cameras.remove(out)),
        2 => cameras.swap(early, early + 1),
        _ => {}
    }
}

fn pictures(run: &Run) -> Vec<Frame> {
    run.cameras.iter().map(|c| synth::render_face(&run.face, c).unwrap().frame).collect()
}

/// How many positions were found, of how many that some picture shows wholly; panics at a wrong place.
fn tally(run: &Run, survey: &Survey) -> (usize, usize) {
    let (mut found, mut shown) = (0, 0);
    for (site, body) in survey.sites.iter().zip(&run.face.fibres) {
        let whole = |c: &Camera| {
            let p = c.lens().to_pixel(body.centre);
            let r = 62.5 / c.um_per_px + 4.0;
            p.x >= r && p.y >= r && p.x + r < c.width_px as f64 && p.y + r < c.height_px as f64
        };
        shown += usize::from(run.cameras.iter().any(whole));
        if let Look::Found(fibre) = &site.look {
            let truth = run.cameras[fibre.source].lens().to_pixel(body.centre);
            let off = fibre.centre_px.distance(truth);
            assert!(off < 3.0, "position {} lies {off} pixels from where it is", site.position);
            found += 1;
        }
    }
    (found, shown)
}

fn surveyed(run: &Run) -> Result<Survey, survey::SurveyError> {
    survey::survey(&pictures(run), &run.layout, run.view, None, &Settings::default())
}

#[test]
fn a_run_is_graded_as_one_face_and_its_scale_is_the_faces() {
    let run = drawn(4);
    let survey = surveyed(&run).unwrap();
    let (found, shown) = tally(&run, &survey);
    assert_eq!(found, shown);
    assert_eq!(survey.poses.len(), run.cameras.len());
    assert_eq!(survey.stitch.unwrap().placements.len(), run.cameras.len());
    assert!((survey.scale.um_per_px() / run.cameras[0].um_per_px - 1.0).abs() < 0.001);
}

/// `RUNS` gives their number (3 if it is not set; hundreds want --release), `FIRST` the first seed.
#[test]
fn no_run_of_many_takes_a_position_for_its_neighbour() {
    let number =
        |name: &str, other: u64| std::env::var(name).ok().and_then(|v| v.parse().ok()).unwrap_or(other);
    let (mut found, mut shown, mut refused) = (0, 0, 0);
    let first = number("FIRST", 1000);
    for seed in first..first + number("RUNS", 3) {
        let run = drawn(seed);
        match surveyed(&run) {
            Ok(survey) => {
                let (f, s) = tally(&run, &survey);
                if f < s {
                    println!("seed {seed}: {f} of {s} in {} pictures", run.cameras.len());
                }
                (found, shown) = (found + f, shown + s);
            }
            Err(why) => {
                refused += 1;
                println!("seed {seed}: {why}");
            }
        }
    }
    println!("{found} of {shown} positions found, {refused} runs refused");
    assert_eq!(refused, 0);
    assert!(100 * found >= 98 * shown);
}
