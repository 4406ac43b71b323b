//! What `book` takes.

use super::place::stated;
use crate::args::{GradeBy, Meets};
use book::{Face, Hash, Moment};
use clap::{Args, Subcommand, ValueEnum};
use std::num::NonZeroUsize;
use std::path::PathBuf;
use std::str::FromStr;

/// What `book` takes.
#[derive(Args)]
#[command(after_help = "Example:
  pitchline book new site --name Harbour
  pitchline book add site pictures --layout mpo-12 --criteria iec-61300-3-35-ed2-mm
      grades every picture of a folder into the book, several at once; killed at any moment it
      loses nothing finished, and run again it repeats nothing
  pitchline book mate site TR-12@A CORD-3 --adapter type-b --who Mira
  pitchline book list site

A book is a folder: one SQLite file, and the pictures, each under the hash of its bytes. A face
is written IDENTIFIER, or IDENTIFIER@A and IDENTIFIER@B for the two ends of one cable; the
identifier is kept as it is given.

Exit status: see each command's help; 2 is always bad usage or bad input.")]
pub struct BookArgs {
    #[command(subcommand)]
    pub command: BookCommand,
}

/// What to do with a book.
#[derive(Subcommand)]
pub enum BookCommand {
    /// Makes an empty book
    New(NewArgs),
    /// Names faces that belong to the job before anybody has looked at them, or cords that do not
    Expect(ExpectArgs),
    /// Grades pictures into the book, many at once
    Add(AddArgs),
    /// Records that two faces met
    Mate(MateArgs),
    /// Records that faces were cleaned
    Clean(CleanArgs),
    /// Takes back a record that was entered by mistake
    Withdraw(WithdrawArgs),
    /// Grades pictures into the book as they arrive in a folder
    Watch(WatchArgs),
    /// Lists every face with its last look, or all that is told of one face
    List(ListArgs),
    /// Tells what a failing face has touched since it last passed, and how each was found
    Trace(TraceArgs),
    /// Tells what must be looked at before the job may be handed over
    Owed(OwedArgs),
    /// Holds every record, document and picture to its hash, and grades every picture again
    Verify(VerifyArgs),
    /// Signs the book as it is
    Seal(SealArgs),
    /// Takes over the records and pictures of other books
    Merge(MergeArgs),
}

/// What `book new` takes.
#[derive(Args)]
pub struct NewArgs {
    /// Folder of the book; made if it is not there
    pub book: PathBuf,
    /// What the book is called; the folder's name without it
    #[arg(long, value_name = "TEXT")]
    pub name: Option<String>,
}

/// What `book expect` takes.
#[derive(Args)]
pub struct ExpectArgs {
    /// Folder of the book
    pub book: PathBuf,
    /// The faces
    #[arg(required = true, value_name = "FACE", value_parser = Face::from_str)]
    pub faces: Vec<Face>,
    /// They are ends of reference cords: not handed over, and traced when they fail
    #[arg(long)]
    pub cord: bool,
}

/// What `book add` takes.
#[derive(Args)]
#[command(after_help = "Examples:
  pitchline book add site pictures --layout mpo-12 --criteria iec-61300-3-35-ed2-mm
      pictures/TR-12@A.png is a face of that name; pictures/TR-13/ with several pictures, and a
      TIFF of several pages, is one face whose pictures step along it
  pitchline book add site pictures --pattern \"{connector}_{end}_{any}\" --layout mpo-12 ...
      names faces by the file's path below pictures, without its ending; {step} numbers the
      pictures of one face
  pitchline book add site pictures --table names.csv --layout mpo-12 ...
      a table with the columns file and connector, and, where it has them, end, when and who
  pitchline book add site last.png --face TR-12@A --layout mpo-12 ...

A face that the book does not know yet is made known. A picture that it holds already for that
face, graded by the same, is passed over.

Exit status: 0 every input is in the book, 1 some could not be read or graded and are listed (the
rest is in the book), 2 bad usage or bad input (nothing is added). Verdicts: see `book owed`.")]
pub struct AddArgs {
    #[command(flatten)]
    pub inputs: Inputs,
    /// Grade the i-th of every n inputs only, for n machines with a book each
    #[arg(long, value_name = "I/N", value_parser = Shard::from_str)]
    pub shard: Option<Shard>,
}

/// What goes into a book, and how.
#[derive(Args)]
pub struct Inputs {
    /// Folder of the book
    pub book: PathBuf,
    /// A folder of pictures, or a picture
    pub input: PathBuf,
    #[command(flatten)]
    pub by: GradeBy,
    /// The input shows this face
    #[arg(long, value_name = "FACE", value_parser = Face::from_str, conflicts_with_all = ["pattern", "table"])]
    pub face: Option<Face>,
    /// How paths tell the identifier
    #[arg(long, value_name = "TEXT", conflicts_with = "table")]
    pub pattern: Option<String>,
    /// Table (CSV) that tells the identifier of each file, or of each folder of pictures
    #[arg(long, value_name = "CSV")]
    pub table: Option<PathBuf>,
    /// The faces are ends of reference cords
    #[arg(long)]
    pub cord: bool,
    /// How many pictures are graded at once; each takes up to 250 MB. One for each processor without it
    #[arg(long, value_name = "N", value_parser = workers)]
    pub workers: Option<NonZeroUsize>,
    #[command(flatten)]
    pub told: Told,
    /// Print nothing but errors
    #[arg(short, long)]
    pub quiet: bool,
}

/// Each worker is a thread with a picture of its own.
fn workers(text: &str) -> Result<NonZeroUsize, String> {
    let workers = text.parse().ok().filter(|workers: &NonZeroUsize| workers.get() <= 256);
    workers.ok_or_else(|| "write how many pictures to grade at once, from 1 to 256".to_owned())
}

/// One share of the inputs.
#[derive(Clone, Copy)]
pub struct Shard {
    /// From 0.
    pub index: usize,
    /// How many there are.
    pub of: usize,
}

impl FromStr for Shard {
    type Err = String;

    fn from_str(text: &str) -> Result<Shard, String> {
        let parts = text.split_once('/').and_then(|(i, n)| Some((i.parse().ok()?, n.parse().ok()?)));
        match parts {
            Some((i, n)) if (1..=n).contains(&i) => Ok(Shard { index: i - 1, of: n }),
            _ => Err("write which of how many, such as 2/3".to_owned()),
        }
    }
}

/// When and by whom.
#[derive(Args)]
pub struct Told {
    /// When it was, with its distance from UTC, such as 2026-11-25T14:05:03Z; for pictures the time of their files
    /// without it, for all else now
    #[arg(long, value_name = "TIME", value_parser = stated)]
    pub when: Option<Moment>,
    /// Who did it
    #[arg(long, value_name = "TEXT", value_parser = one_line)]
    pub who: Option<String>,
}

/// What `book mate` takes.
#[derive(Args)]
#[command(after_help = "Examples:
  pitchline book mate site TR-12@A CORD-3 --adapter type-b --who Mira
  pitchline book mate site --table matings.csv
      a day's matings at once, from a table with the columns face_a, face_b and when, and, where
      it has them, adapter (type-a, type-b) and who; a line that cannot be used is told, and
      nothing is recorded; entered again, it repeats nothing

Exit status: 0 recorded, 2 bad usage or bad input (nothing is recorded).")]
pub struct MateArgs {
    /// Folder of the book
    pub book: PathBuf,
    /// One face
    #[arg(value_parser = Face::from_str, required_unless_present = "table", requires = "face_b")]
    pub face_a: Option<Face>,
    /// The face that it met
    #[arg(value_parser = Face::from_str)]
    pub face_b: Option<Face>,
    /// Table (CSV) of matings, one a line
    #[arg(long, value_name = "CSV", conflicts_with_all = ["face_a", "face_b"])]
    pub table: Option<PathBuf>,
    /// How the two met; in a table, where its line does not say
    #[arg(long, value_enum)]
    pub adapter: Option<Meets>,
    #[command(flatten)]
    pub told: Told,
}

/// What `book clean` takes.
#[derive(Args)]
pub struct CleanArgs {
    /// Folder of the book
    pub book: PathBuf,
    /// The faces
    #[arg(required = true, value_name = "FACE", value_parser = Face::from_str)]
    pub faces: Vec<Face>,
    /// Without solvent, or with solvent and then dry
    #[arg(long, value_enum)]
    pub how: Option<CleanedHow>,
    #[command(flatten)]
    pub told: Told,
}

/// How a face was cleaned.
#[derive(Clone, Copy, ValueEnum)]
pub enum CleanedHow {
    /// Without solvent
    Dry,
    /// With solvent, and then dry
    Wet,
}

/// What `book withdraw` takes.
#[derive(Args)]
#[command(after_help = "Example:
  pitchline book list site TR-12@A
      tells the records of that face, each with the first signs of its hash
  pitchline book withdraw site 3f0c82a1b6d4 --why \"the picture shows TR-13@A\" --who Mira

The record stays in the book, and the hand-over tells that it was withdrawn, why and by whom. What
was withdrawn can be entered again.

Exit status: 0 withdrawn, 2 bad usage or bad input (nothing is changed).")]
pub struct WithdrawArgs {
    /// Folder of the book
    pub book: PathBuf,
    /// The record: eight or more of the first signs that `book list` tells
    #[arg(value_parser = signs)]
    pub record: String,
    /// Why it was a mistake
    #[arg(long, value_name = "TEXT", value_parser = reason)]
    pub why: String,
    /// Who withdraws it
    #[arg(long, value_name = "TEXT", value_parser = one_line)]
    pub who: Option<String>,
}

fn signs(text: &str) -> Result<String, String> {
    let text = text.trim().to_ascii_lowercase();
    match (8..=64).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_hexdigit()) {
        true => Ok(text),
        false => Err("write 8 to 64 signs of hexadecimal, as `book list BOOK FACE` tells them".to_owned()),
    }
}

fn reason(text: &str) -> Result<String, String> {
    match text.trim() {
        "" => Err("say in a few words why".to_owned()),
        why => one_line(why),
    }
}

/// A text that cannot be taken for several lines.
fn one_line(text: &str) -> Result<String, String> {
    match text.chars().any(char::is_control) {
        true => Err("write one line without tabs and line breaks".to_owned()),
        false => Ok(text.to_owned()),
    }
}

/// What `book list` takes.
#[derive(Args)]
#[command(after_help = "Examples:
  pitchline book list site
  pitchline book list site TR-12@A
      looks, matings and cleanings of that face, each with the first signs of its record")]
pub struct ListArgs {
    /// Folder of the book
    pub book: PathBuf,
    /// Tell all that is told of this face
    #[arg(value_parser = Face::from_str)]
    pub face: Option<Face>,
}

/// What `book watch` takes.
#[derive(Args)]
#[command(after_help = "Example:
  pitchline book watch site incoming --layout mpo-12 --criteria iec-61300-3-35-ed2-mm --idle 600
      grades what a camera program saves there once it does not change any more; ends when
      nothing came for 10 minutes

Put a sub-folder of pictures that step along one face there as a whole.

Exit status: 0 nothing came for as long as --idle says, 2 bad usage or bad input.")]
pub struct WatchArgs {
    #[command(flatten)]
    pub inputs: Inputs,
    /// Seconds from one look at the folder to the next; a picture is graded when two looks find it the same
    #[arg(long, value_name = "SECONDS", default_value_t = 1.0, value_parser = seconds)]
    pub every: f64,
    /// End when nothing came for so many seconds
    #[arg(long, value_name = "SECONDS", value_parser = seconds)]
    pub idle: Option<f64>,
}

/// A time that a person waits: a twentieth of a second up to a week.
fn seconds(text: &str) -> Result<f64, String> {
    match text.trim().parse() {
        Ok(seconds) if (0.05..=604_800.0).contains(&seconds) => Ok(seconds),
        _ => Err("write a number of seconds from 0.05 to 604800".to_owned()),
    }
}

/// What `book trace` takes.
#[derive(Args)]
#[command(after_help = "Example:
  pitchline book trace site CORD-3 --svg trace.svg

Exit status: 0 nothing was exposed, or all that was passes since; 1 something that was exposed
does not; 2 bad usage or bad input.")]
pub struct TraceArgs {
    /// Folder of the book
    pub book: PathBuf,
    /// The face that failed
    #[arg(value_parser = Face::from_str)]
    pub face: Face,
    /// Draw it into this file too
    #[arg(long, value_name = "FILE")]
    pub svg: Option<PathBuf>,
    /// Print the document instead of text
    #[arg(long)]
    pub json: bool,
}

/// What `book owed` takes.
#[derive(Args)]
#[command(after_help = "Example:
  pitchline book owed site

Owed are faces that nobody looked at, whose last look fails or could not be graded, that met
something or were cleaned after their last pass, were exposed to a face that failed and not
looked at since, or whose last two looks show two different ferrules.

Exit status: 0 the job is done, 1 it is not, 2 bad usage or bad input.")]
pub struct OwedArgs {
    /// Folder of the book
    pub book: PathBuf,
    /// Print the document instead of text
    #[arg(long)]
    pub json: bool,
}

/// What `book verify` takes.
#[derive(Args)]
#[command(after_help = "Example:
  pitchline book verify site --owner crew.key.pub
      with the crew's public key, which came by another way than the book

Without --head, records that were cut off the end cannot be missed; --owner tells those that were
cut off a seal, not a seal that was taken away with them.

Exit status: 0 everything is as it was written, 1 something is not, 2 bad usage or bad input.")]
pub struct VerifyArgs {
    /// Folder of the book
    pub book: PathBuf,
    /// The head that the chain had, from where it was kept
    #[arg(long, value_name = "HASH", value_parser = Hash::from_str)]
    pub head: Option<Hash>,
    /// There must be a seal that this public key verifies: its file, or its 64 signs of hexadecimal
    #[arg(long, value_name = "KEY")]
    pub owner: Option<String>,
    /// Hash everything, and grade nothing again
    #[arg(long)]
    pub no_grading: bool,
    /// How many pictures are graded at once; one for each processor without it
    #[arg(long, value_name = "N", value_parser = workers)]
    pub workers: Option<NonZeroUsize>,
    /// Print nothing but errors
    #[arg(short, long)]
    pub quiet: bool,
}

/// What `book seal` takes.
#[derive(Args)]
#[command(after_help = "Example:
  pitchline book seal site --key crew.key --new-key
      makes crew.key (keep it secret) and crew.key.pub (give it to the owner), and signs the book

Exit status: 0 sealed, 2 bad usage or bad input.")]
pub struct SealArgs {
    /// Folder of the book
    pub book: PathBuf,
    /// File of the secret key
    #[arg(long, value_name = "FILE")]
    pub key: PathBuf,
    /// Make the key first; its public half is written beside it, as FILE.pub
    #[arg(long)]
    pub new_key: bool,
}

/// What `book merge` takes.
#[derive(Args)]
#[command(after_help = "Example:
  pitchline book merge site site-of-crew-2 site-of-crew-3
      site then holds every record of all three once; merging again changes nothing

Exit status: 0 merged, 2 bad usage or bad input; a book that is damaged is not taken over.")]
pub struct MergeArgs {
    /// Folder of the book that takes over
    pub book: PathBuf,
    /// Folders of the others
    #[arg(required = true, value_name = "OTHER")]
    pub others: Vec<PathBuf>,
}
