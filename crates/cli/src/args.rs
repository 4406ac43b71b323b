//! What the command line takes. Help, completions and man pages are made from these definitions.

use crate::book::args::BookArgs;
use clap::{Args, Parser, Subcommand, ValueEnum};
use clap_complete::Shell;
use grade::Risk;
use std::path::PathBuf;

/// Grades pictures of multi-fibre (MPO/MT) connector end faces to IEC 61300-3-35.
#[derive(Parser)]
#[command(
    name = "pitchline",
    version,
    propagate_version = true,
    after_help = "Example:
  pitchline demo --out demo
      makes up a few end faces, grades them and says what to look at
  pitchline grade face.png --layout mpo-12 --criteria iec-61300-3-35-ed2-mm --out result

Exit status: 0 pass, 1 fail, 2 bad usage or bad input (nothing is written), 3 ungraded."
)]
pub struct Cli {
    #[command(subcommand)]
    pub command: Command,
}

/// What to do.
#[derive(Subcommand)]
pub enum Command {
    /// Grades the picture of one end face
    Grade(GradeArgs),
    /// Tells what became of each mark between two pictures of one face, before and after cleaning
    Compare(CompareArgs),
    /// Tells what one face left on the face it was mated to, and what each would do to the other
    Mated(MatedArgs),
    /// Follows a chain of cables and adapters: its map, the parity of its reversals, what contradicts first
    Chain(ChainArgs),
    /// Tells a cable's polarity from pictures of its far end with light in known fibres
    Polarity(PolarityArgs),
    /// Lists the built-in criteria, helps to choose, shows or checks one
    Criteria(CriteriaArgs),
    /// Grades the faces of a made-up site, and says what to look at
    Demo(DemoArgs),
    /// Measures how well marks are seen and sized, and how far repeated pictures agree
    Study(StudyArgs),
    /// Writes the report of a job for the cables' owner: pages, and tables for machines
    Handover(HandoverArgs),
    /// Keeps the book of a job: every connector, look and mating, chained by hash
    Book(BookArgs),
    /// Renders a made-up end face from a scene file, with its truth
    Synth(SynthArgs),
    /// Prints a completion script for a shell
    #[command(after_help = "Example:
  pitchline completions bash > /etc/bash_completion.d/pitchline")]
    Completions {
        /// The shell
        shell: Shell,
    },
    /// Prints a man page
    #[command(after_help = "Example:
  pitchline man grade > pitchline-grade.1")]
    Man {
        /// The command that the page is about; the program itself if none is named
        command: Option<String>,
    },
}

/// What `grade` takes.
#[derive(Args)]
#[command(after_help = "Example:
  pitchline grade face.png --layout mpo-12 --criteria iec-61300-3-35-ed2-mm --out result
      prints the row with a verdict for each position, and writes result/face.json (every
      number), result/map.svg and result/map.png (the picture with zones and features)

Position 1 is the leftmost of the top row with the key up, looking straight at the end face.
A camera may show the face turned or mirrored; that does not show on the face itself, so say
it with --key and --mirrored.

Exit status: 0 pass, 1 fail, 2 bad usage or bad input (nothing is written), 3 ungraded: the
picture does not allow a verdict on at least one position, and no position fails.")]
pub struct GradeArgs {
    /// One picture of the whole face (PNG, JPEG, TIFF, BMP or WebP), or the pictures that step along it: files, a
    /// folder of them (in the order of their names) or the pages of a TIFF
    #[arg(required = true, value_name = "INPUT")]
    pub inputs: Vec<PathBuf>,
    #[command(flatten)]
    pub by: GradeBy,
    #[command(flatten)]
    pub behind: Behind,
    #[command(flatten)]
    pub carries: Carries,
    #[command(flatten)]
    pub care: Care,
    /// Folder for face.json, map.svg and map.png; made if it is not there
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    #[command(flatten)]
    pub tell: Tell,
}

/// By what to grade, and how the camera shows faces.
#[derive(Args)]
pub struct GradeBy {
    /// mpo-8, mpo-12, mpo-16, mpo-24, mpo-32, or the path of a layout file
    #[arg(long)]
    pub layout: String,
    /// Id of built-in criteria (see `pitchline criteria`), or the path of a criteria file
    #[arg(long)]
    pub criteria: String,
    /// Where the connector's key is in the pictures
    #[arg(long, value_enum, default_value_t = Key::Up)]
    pub key: Key,
    /// The pictures show left and right exchanged, as through a mirror
    #[arg(long)]
    pub mirrored: bool,
    /// State the scale instead of measuring it from the fibre pitch; it must agree within 2 %
    #[arg(long, value_name = "UM_PER_PX", allow_negative_numbers = true, value_parser = scale)]
    pub scale: Option<f64>,
    /// Draw every limit in, so that a mark exactly at a limit passes with this risk only, e.g. 5%; without it
    /// sizes are held to the limits as they were measured
    #[arg(long, value_name = "RISK", value_parser = risk)]
    pub guard: Option<Risk>,
}

/// What is behind the face.
#[derive(Args)]
pub struct Behind {
    /// Polarity of the cable behind the face (type-a, type-b, type-c), to tell verdicts by channel
    #[arg(long)]
    pub cable: Option<String>,
}

/// A risk as people write it: `5%`, `5 %` or `0.05`.
pub fn risk(text: &str) -> Result<Risk, String> {
    let number = |digits: &str| digits.trim().parse::<f64>().ok();
    let value = match text.trim().strip_suffix('%') {
        Some(percent) => number(percent).map(|v| v / 100.0),
        None => number(text),
    };
    value.and_then(Risk::new).ok_or_else(|| "give a risk above 0 and up to 50 %, e.g. 5% or 0.05".to_owned())
}

/// Micrometres per pixel that a microscope can have: below, its pixels would be atoms, above, a fibre a dot.
pub fn scale(text: &str) -> Result<f64, String> {
    match text.trim().parse() {
        Ok(scale) if (0.01..=10.0).contains(&scale) => Ok(scale),
        _ => Err("write a number of micrometres per pixel from 0.01 to 10, such as 0.5".to_owned()),
    }
}

/// A day of the calendar, as ISO 8601 writes it.
fn date(text: &str) -> Result<String, String> {
    let plain = text.len() == 10 && text.bytes().all(|b| b.is_ascii_digit() || b == b'-');
    let is_day = plain && format!("{text}T12:00:00Z").parse::<book::Moment>().is_ok();
    if is_day { Ok(text.to_owned()) } else { Err("write a day such as 2026-11-25".to_owned()) }
}

/// How the face was cleaned.
#[derive(Args)]
pub struct Care {
    /// How the face was cleaned so far, for the advice on what to do next: dry, or wet (with solvent and then dry); for
    /// `compare`, between the two, and if left out there, as a later face.json tells it. Say it once for each time, in
    /// order
    #[arg(long, value_enum, value_name = "HOW")]
    pub cleaned: Vec<Cleaned>,
    /// Rules of advice in place of the built-in ones: the path of a file like profiles/advice/cleaning.toml
    #[arg(long, value_name = "FILE")]
    pub advice: Option<PathBuf>,
}

/// One way of cleaning.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Cleaned {
    /// Without solvent
    Dry,
    /// With solvent, and then dry
    Wet,
}

impl From<Cleaned> for grade::advice::Cleaned {
    fn from(how: Cleaned) -> grade::advice::Cleaned {
        match how {
            Cleaned::Dry => grade::advice::Cleaned::Dry,
            Cleaned::Wet => grade::advice::Cleaned::Wet,
        }
    }
}

/// What the positions carry.
#[derive(Args)]
pub struct Carries {
    /// Application of the array (40gbase-sr4, 100gbase-sr4, 100gbase-sr10, 400gbase-sr8), or the path of its file, to
    /// tell verdicts by lane; every position counts in the array's verdict all the same
    #[arg(long)]
    pub application: Option<String>,
    /// Where the positions are counted for --application; module and plug mirror each other
    #[arg(long, value_enum, default_value_t = SeenAt::Plug, requires = "application")]
    pub seen_at: SeenAt,
}

/// Which of the two faces that meet in a module.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum SeenAt {
    /// The plug of a cable that goes into the module
    Plug,
    /// The module's own receptacle
    Module,
}

/// What to write and to print.
#[derive(Args)]
pub struct Tell {
    /// Write no map.svg and no map.png
    #[arg(long)]
    pub no_map: bool,
    #[command(flatten)]
    pub print: Print,
}

/// What to print.
#[derive(Args)]
pub struct Print {
    /// Print nothing but errors
    #[arg(short, long)]
    pub quiet: bool,
    /// Print the document instead of text
    #[arg(long, conflicts_with = "quiet")]
    pub json: bool,
}

/// What `compare` takes.
#[derive(Args)]
#[command(after_help = "Example:
  pitchline compare a.png b.png --layout mpo-12 --criteria iec-61300-3-35-ed2-mm --out result
      says what was removed, what stayed and what is new, position by position, and writes
      result/compare.json, result/map.svg and result/map.png (both sides of every position)

Each of the two is one picture, a folder or a TIFF of pictures that step along the face, or a
face.json that `grade` wrote earlier, with its picture beside it. A face.json keeps the view
that it was graded with; --key and --mirrored hold for pictures. The pictures may be taken with
different scale, light and focus. They are told to be of one face by the ferrule's own errors,
which no other ferrule shares; a picture that is turned or mirrored against what was stated is
known by them, and said.

Exit status: that of the face AFTER, 0 pass, 1 fail, 3 ungraded; 2 bad usage, bad input or
pictures that cannot be of one face (nothing is written).")]
pub struct CompareArgs {
    /// The face before: a picture, a folder of pictures, or a face.json
    pub before: PathBuf,
    /// The face after
    pub after: PathBuf,
    /// Later looks at the same face, in order: each is compared with the one before (step-1.json, step-2.json ...), and
    /// the first with the last
    pub later: Vec<PathBuf>,
    #[command(flatten)]
    pub by: GradeBy,
    #[command(flatten)]
    pub behind: Behind,
    #[command(flatten)]
    pub care: Care,
    /// Folder for compare.json, map.svg and map.png; made if it is not there
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    #[command(flatten)]
    pub tell: Tell,
}

/// What `mated` takes.
#[derive(Args)]
#[command(after_help = "Example:
  pitchline mated a.png b.png --adapter type-b --layout mpo-12 --criteria mine.toml --out out
      says which marks lie on both faces, more often than chance has it, and which positions the
      dirt of one face would spoil on the other; writes out/mated.json, out/map.svg and
      out/map.png (each position beside the one that it faces)

Each of the two is one picture, a folder or a TIFF of pictures that step along the face, or a
face.json that `grade` wrote earlier, with its picture beside it. Both show their face by the
same --key and --mirrored, or each its own if it is a face.json.

Exit status: the worse of the two faces', 0 pass, 1 fail, 3 ungraded; 2 bad usage or bad input
(nothing is written).")]
pub struct MatedArgs {
    /// The first face: a picture, a folder of pictures, or a face.json
    pub face_a: PathBuf,
    /// The face that it meets
    pub face_b: PathBuf,
    #[command(flatten)]
    pub by: GradeBy,
    #[command(flatten)]
    pub behind: Behind,
    /// How the two meet; without it, the marks that lie on both must tell
    #[arg(long, value_enum)]
    pub adapter: Option<Meets>,
    /// Folder for mated.json, map.svg and map.png; made if it is not there
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    #[command(flatten)]
    pub tell: Tell,
}

/// How two connectors meet in an adapter.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Meets {
    /// Key up to key down: top and bottom change places
    TypeA,
    /// Key up to key up: left and right change places
    TypeB,
}

/// What `chain` takes.
#[derive(Args)]
#[command(after_help = "Example:
  pitchline chain cable:type-b adapter:type-b cable:type-b --layout mpo-12
      says where each position comes out, how often the order is reversed (an odd number is due,
      so that transmit meets receive in parallel optics), and how duplex pairs arrive

Members stand from the near to the far end. A cable is type-a, type-b, type-b-full (the other
map of 24 that is in use), type-c or the path of a cable file; an adapter is type-a (key up to
key down) or type-b (key up to key up). Both ends are plugs that go into modules.

Exit status: 0 the chain holds together, 1 it contradicts itself, 2 bad usage or bad input.
With --application each lane is followed from the module that sends it to the other one, and
they alone decide. Without it nothing says which lanes must meet; what parallel optics need is
told.")]
pub struct ChainArgs {
    /// cable:TYPE or adapter:TYPE, from the near to the far end
    #[arg(required = true, value_name = "MEMBER")]
    pub members: Vec<String>,
    /// mpo-8, mpo-12, mpo-16, mpo-24, mpo-32, or the path of a layout file
    #[arg(long)]
    pub layout: String,
    /// Application whose lanes must meet (40gbase-sr4, 100gbase-sr4, 100gbase-sr10, 400gbase-sr8), or the path of its
    /// file
    #[arg(long)]
    pub application: Option<String>,
    /// Print the document instead of text
    #[arg(long)]
    pub json: bool,
}

/// What `polarity` takes.
#[derive(Args)]
#[command(after_help = "Example:
  pitchline polarity 1=one.png 2=two.png 12=twelve.png --layout mpo-12
      says where the light of each near position came out, which type of cable that is, and
      where it departs from it

Put a visible source into one near position, or into several (1,3=both.png), and take a picture
of the far end for each. Five pictures tell 24 fibres apart if each fibre is lit in those whose
place its number has in binary. Mind the light: use a camera, never look into a fibre.

Exit status: 0 every light came out where the type brings it (the stated one, else the one
found), 1 it did not, 2 bad usage or bad input, 3 too little was seen to tell.")]
pub struct PolarityArgs {
    /// Near positions with light, and the picture of the far end that shows it
    #[arg(required = true, value_name = "NEAR[,NEAR]=PICTURE")]
    pub sights: Vec<String>,
    /// mpo-8, mpo-12, mpo-16, mpo-24, mpo-32, or the path of a layout file
    #[arg(long)]
    pub layout: String,
    /// Type that the cable should be (type-a, type-b, type-c), or the path of a cable file
    #[arg(long)]
    pub cable: Option<String>,
    /// Where the connector's key is in the pictures
    #[arg(long, value_enum, default_value_t = Key::Up)]
    pub key: Key,
    /// The pictures show left and right exchanged, as through a mirror
    #[arg(long)]
    pub mirrored: bool,
    /// Print the document instead of text
    #[arg(long)]
    pub json: bool,
}

/// Where the key is.
#[derive(Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Key {
    /// The picture shows the face with its key up
    Up,
    /// The picture shows the face turned by 180 degrees
    Down,
}

impl From<Key> for terms::Key {
    fn from(key: Key) -> terms::Key {
        match key {
            Key::Up => terms::Key::Up,
            Key::Down => terms::Key::Down,
        }
    }
}

/// What `criteria` takes.
#[derive(Args)]
#[command(after_help = "Examples:
  pitchline criteria
      lists the built-in criteria and which connectors each is for
  pitchline criteria iec-61300-3-35-ed2-mm
      shows one as a table, with the source of every limit
  pitchline criteria iec-61300-3-35-ed2-mm --toml > mine.toml
      copies its file, as a start for your own
  pitchline criteria mine.toml
      checks your own file: shows it, or every fault in it (status 2)")]
pub struct CriteriaArgs {
    /// Id of built-in criteria, or the path of a criteria file; without it, all are listed
    pub criteria: Option<String>,
    /// Print the file itself
    #[arg(long, requires = "criteria")]
    pub toml: bool,
}

/// What `demo` takes.
#[derive(Args)]
#[command(after_help = "Example:
  pitchline demo --out demo
      renders four end faces of an invented site and grades them; each face has a folder
      with its picture, its scene and truth, its face.json and its maps")]
pub struct DemoArgs {
    /// Folder for the faces; made if it is not there
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// Print nothing but errors
    #[arg(short, long)]
    pub quiet: bool,
}

/// What `study` takes.
#[derive(Args)]
#[command(after_help = "Examples:
  pitchline study --out study
      makes up 10 faces with known truth, grades them and says how small a mark is seen, how
      well it is sized, how often a verdict is wrong, and how far repeated pictures agree
  pitchline study repeats --layout mpo-12 --criteria iec-61300-3-35-ed2-mm --out study
      the same for your own camera: repeats holds a folder for each face, each with two or
      more pictures of it. The truth is not known, so only repeatability is told

Pictures with NAME.truth.json beside NAME.png, as `synth` writes them, are held to that truth
and name their own layout, criteria and view. Writes study.json (every number, with how it was
reached) and plots. The same seed and number of faces give the same result on any machine.

Exit status: 0, or 2 bad usage or bad input (nothing is written).")]
pub struct StudyArgs {
    /// Folder of pictures: sub-folders hold pictures of one face each; without it, faces are made up
    pub folder: Option<PathBuf>,
    /// How many faces to make up; the figures that are rare events need 60 or more
    #[arg(long, value_name = "N", default_value_t = 10, conflicts_with = "folder",
          value_parser = clap::builder::RangedU64ValueParser::<usize>::new().range(1..=100_000))]
    pub faces: usize,
    /// What the made-up faces follow from
    #[arg(long, value_name = "NUMBER", default_value_t = 1, conflicts_with = "folder")]
    pub seed: u64,
    /// Layout of the pictures without truth: an id or the path of a layout file
    #[arg(long, requires = "folder")]
    pub layout: Option<String>,
    /// Criteria of the pictures that do not name their own: an id or the path of a criteria file
    #[arg(long, requires = "folder")]
    pub criteria: Option<String>,
    /// Where the connector's key is in pictures without truth
    #[arg(long, value_enum, requires = "folder")]
    pub key: Option<Key>,
    /// Pictures without truth show left and right exchanged
    #[arg(long, requires = "folder")]
    pub mirrored: bool,
    /// Folder for study.json and the plots; made if it is not there
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    #[command(flatten)]
    pub print: Print,
}

/// What `handover` takes.
#[derive(Args)]
#[command(after_help = "Example:
  pitchline handover site --date 2026-11-25 --losses loss.csv --mapping map.toml --out report
      where site holds a folder for each cable, each with a folder for each connector, and each
      of those face.json with its pictures, or a folder for each inspection in the order of
      their names (site/TR-12/A/1-before/face.json, site/TR-12/A/2-after/face.json)

Writes a page for the job and one for each cable, each as HTML and as PDF, and the same figures
as CSV, JSON Lines and Parquet (a row for each position and each mark, columns named as in
face.json). Pages of cables that an earlier hand-over left there are taken away.
The mapping (TOML) says which column of the table holds what:
  format = \"pitchline.losses/1\"
  delimiter = \";\"
  decimal = \",\"
  [columns]
  identifier = \"Cable ID\"
  loss = \"Loss (dB)\"
and, where the table has them, fibre, wavelength, length, limit, verdict, direction, and ignored
(a list of headings); [units] length = m, km or ft, wavelength = nm or um; [words] pass and
fail, each a list of the words of the verdict column.

Exit status: 0 every connector passes, 1 one fails, 2 bad usage or bad input (nothing is
written), 3 none fails and one is ungraded, was never inspected, or is owed a look.")]
pub struct HandoverArgs {
    /// Folder with a folder for each cable, or the folder of a book (see `pitchline book`)
    pub site: PathBuf,
    /// The date that stands on every page, such as 2026-11-25
    #[arg(long, value_name = "DATE", value_parser = date)]
    pub date: String,
    /// Name of the job; the folder's name without it
    #[arg(long, value_name = "TEXT")]
    pub title: Option<String>,
    /// Table of loss and length (CSV)
    #[arg(long, value_name = "CSV", requires = "mapping")]
    pub losses: Option<PathBuf>,
    /// Which column of the table holds what (TOML)
    #[arg(long, value_name = "TOML", requires = "losses")]
    pub mapping: Option<PathBuf>,
    /// Folder of OTDR traces (.sor, SR-4731); each names its cable in its cable id
    #[arg(long, value_name = "DIR")]
    pub traces: Option<PathBuf>,
    /// Folder for the hand-over; made if it is not there
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// Print nothing but errors
    #[arg(short, long)]
    pub quiet: bool,
}

/// What `synth` takes.
#[derive(Args)]
#[command(after_help = "Example:
  pitchline synth scene.toml --out faces
      writes faces/scene.png and faces/scene.truth.json, and prints how to grade it")]
pub struct SynthArgs {
    /// The scene file
    pub scene: PathBuf,
    /// Folder for the picture and its truth; made if it is not there
    #[arg(long, value_name = "DIR")]
    pub out: PathBuf,
    /// Print nothing but errors
    #[arg(short, long)]
    pub quiet: bool,
}
