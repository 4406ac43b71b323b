//! Every way in which the program can refuse, as one sentence: what is wrong, where, and how to mend it. All
//! of them are exit status 2.

use crate::inputs::Origin;
use imaging::door::DoorError;
use profile::ProfileError;
use report::ReadError;
use std::io;
use std::path::{Path, PathBuf};
use survey::SurveyError;
use synth::SceneError;

/// Why nothing was done.
#[derive(Debug, thiserror::Error)]
pub enum Failure {
    /// A file cannot be read.
    #[error("cannot read {}: {why}", path.display())]
    Read {
        /// The file.
        path: PathBuf,
        /// What the system says, with what to do.
        why: String,
    },
    /// Something that is read from and is no file.
    #[error("{} is a pipe or a device and no file; save what it holds as a file and give that", path.display())]
    NoFile {
        /// Its name.
        path: PathBuf,
    },
    /// A text that nobody wrote by hand.
    #[error(
        "{} is larger than the {limit} that are read of such a text; check that it is the right file",
        path.display()
    )]
    LongText {
        /// The file.
        path: PathBuf,
        /// The limit, with its unit.
        limit: &'static str,
    },
    /// A result that would take the place of an input.
    #[error(
        "the result would be written over the input {}; choose another folder with --out",
        input.display()
    )]
    OverInput {
        /// The input.
        input: PathBuf,
    },
    /// A result that would take the place of a file that does not show itself to be the program's own.
    #[error(
        "{} is there already and does not show that pitchline wrote it; give it another name, or choose another \
         folder with --out",
        path.display()
    )]
    OverStranger {
        /// The file.
        path: PathBuf,
    },
    /// A picture given twice.
    #[error("{again} is the same picture as {first}; give each picture once")]
    Twice {
        /// The picture.
        first: Origin,
        /// The same, by this name or another.
        again: Origin,
    },
    /// A picture among several that is no step.
    #[error(
        "{picture} shows the whole face and is no step along it; grade it by itself, or hold two looks at a face against \
         each other with `pitchline compare`"
    )]
    WholeFace {
        /// The picture.
        picture: Origin,
    },
    /// Pictures that are too much together.
    #[error(
        "the pictures have more than {millions} million pixels together; give fewer, or crop them to the face"
    )]
    TooManyPixels {
        /// The limit, millions.
        millions: u64,
    },
    /// A file was read and is no picture to be graded.
    #[error("{origin}: {why}")]
    Picture {
        /// The file, and its page.
        origin: Origin,
        /// Why not.
        why: DoorError,
    },
    /// A mapping file that cannot be used.
    #[error("{}: {why}", path.display())]
    Mapping {
        /// The file.
        path: PathBuf,
        /// Why not.
        why: links::MappingError,
    },
    /// A table of losses that cannot be read.
    #[error("{}: {why}", path.display())]
    Losses {
        /// The file.
        path: PathBuf,
        /// Why not.
        why: links::TableError,
    },
    /// A folder without what a hand-over is made of.
    #[error(
        "{} holds no folder of a cable with a folder of a connector in it; give a folder laid out as CABLE/CONNECTOR/face.json",
        path.display()
    )]
    NoCables {
        /// The folder.
        path: PathBuf,
    },
    /// A book that cannot be used.
    #[error("{}: {why}", path.display())]
    Book {
        /// The folder.
        path: PathBuf,
        /// Why not.
        why: book::BookError,
    },
    /// A folder without a book.
    #[error("there is no book in {}; make one with `pitchline book new`", path.display())]
    NoBook {
        /// The folder.
        path: PathBuf,
    },
    /// A new book where there is one.
    #[error("there is a book in {} already; add to it, or name another folder", path.display())]
    BookThere {
        /// The folder.
        path: PathBuf,
    },
    /// A record that is not withdrawn.
    #[error("record {record} of {} is not withdrawn: {why}", path.display())]
    NotWithdrawn {
        /// Its first signs, as given.
        record: String,
        /// The folder.
        path: PathBuf,
        /// Why not.
        why: book::NoWithdrawal,
    },
    /// A face that met itself.
    #[error("{face} cannot meet itself; name the two faces that met")]
    SelfMated {
        /// The face.
        face: String,
    },
    /// Pages that would lie among the records.
    #[error("{} is the folder of a book; name another folder with --out", path.display())]
    IntoBook {
        /// The folder.
        path: PathBuf,
    },
    /// A clock that is far off.
    #[error("this machine's clock says no year from 1970 to 9999; state the time with --when")]
    NoClock,
    /// A face that the book does not know.
    #[error("the book in {} knows no face {face}; `pitchline book list` tells which it knows", path.display())]
    UnknownFace {
        /// The face.
        face: String,
        /// The folder.
        path: PathBuf,
    },
    /// A book without anything to hand over.
    #[error("the book in {} knows no face that is handed over; add some with `pitchline book add`", path.display())]
    NothingToHandOver {
        /// The folder.
        path: PathBuf,
    },
    /// A book that is not taken over.
    #[error("{} is not as it was written ({why}); see `pitchline book verify`, and go back to a copy", path.display())]
    NotWhole {
        /// The folder.
        path: PathBuf,
        /// What is wrong.
        why: String,
    },
    /// A key that would be lost.
    #[error("there is a file {} already; name another with --key, or leave out --new-key", path.display())]
    KeyThere {
        /// The file.
        path: PathBuf,
    },
    /// A file that holds no key.
    #[error("{} holds no key; a key is 64 signs of hexadecimal, as `pitchline book seal --new-key` writes it", path.display())]
    NoKey {
        /// The file.
        path: PathBuf,
    },
    /// A system without chance.
    #[error("the system gives no random numbers, so that no key can be made; make it on another machine")]
    NoChance,
    /// The system gives no thread.
    #[error("the system gives no more threads; end other programs, or state fewer with --workers")]
    NoThreads,
    /// A pattern that tells no face.
    #[error(
        "{pattern:?} is no pattern; write {{connector}} where the identifier stands in the path, and {{end}}, {{step}} \
         and {{any}} at most once each, such as {{connector}}-{{end}}"
    )]
    NoPattern {
        /// What was given.
        pattern: String,
    },
    /// A table of names or matings that cannot be used.
    #[error("{}: {why}; write a CSV whose first line is {columns}", path.display())]
    Table {
        /// The file.
        path: PathBuf,
        /// The columns that it may have.
        columns: &'static str,
        /// What is wrong.
        why: String,
    },
    /// A file larger than its kind ever is.
    #[error("{} is larger than the {mib} MiB that are read of such a file; check that it is the right one", path.display())]
    LongFile {
        /// The file.
        path: PathBuf,
        /// The limit.
        mib: u64,
    },
    /// The tables of a hand-over cannot be written.
    #[error(transparent)]
    Tables(#[from] handover::tables::WriteError),
    /// The columns of a hand-over cannot be written.
    #[error(transparent)]
    Columns(#[from] handover::columns::ColumnError),
    /// A picture cannot be written as JPEG.
    #[error("a picture cannot be written as JPEG: {0}")]
    Jpeg(image::ImageError),
    /// A file that should be a face.json written earlier is none.
    #[error("{}: {why}", path.display())]
    Record {
        /// The file.
        path: PathBuf,
        /// Why not.
        why: ReadError,
    },
    /// A face.json whose positions are not those of its layout.
    #[error(
        "{}: its positions are not those of {layout}, so that it, or the layout file, was changed since; grade the picture \
         again",
        path.display()
    )]
    OtherPositions {
        /// The file.
        path: PathBuf,
        /// The layout that it names, and that is stated.
        layout: String,
    },
    /// A face.json that was written under other options than those stated.
    #[error(
        "{} was graded with --{option} {written}, and --{option} {stated} is stated now; state the same, or grade \
         the picture again",
        path.display()
    )]
    OtherOption {
        /// The file.
        path: PathBuf,
        /// `layout`, `criteria` or `guard`.
        option: &'static str,
        /// What it was written with.
        written: String,
        /// What is stated now.
        stated: String,
    },
    /// A face.json whose picture does not lie beside it.
    #[error(
        "{} was made from {file}, which does not lie beside it; put the picture there, or leave the map out with \
         --no-map",
        path.display()
    )]
    PictureGone {
        /// The record.
        path: PathBuf,
        /// The picture's name.
        file: String,
    },
    /// A face.json beside a picture that is not the one it was made from.
    #[error(
        "{} beside {} is not the picture that it was made from; grade the picture again, or leave the map out with \
         --no-map",
        file,
        path.display()
    )]
    PictureChanged {
        /// The record.
        path: PathBuf,
        /// The picture's name.
        file: String,
    },
    /// Two pictures that are to be of one face and are not.
    #[error("{} and {} cannot be of one face: {why}", before.display(), after.display())]
    TwoFaces {
        /// The first.
        before: PathBuf,
        /// The second.
        after: PathBuf,
        /// Why not, and what to do.
        why: String,
    },
    /// Two faces that cannot meet as stated.
    #[error("{} and {} cannot be mated: {why}", a.display(), b.display())]
    NotMated {
        /// The first.
        a: PathBuf,
        /// The second.
        b: PathBuf,
        /// Why not, and what to do.
        why: grade::mated::MatedError,
    },
    /// Two pictures of one face, where two faces are due.
    #[error(
        "{} and {} show one and the same face, the fibres lie alike in their holes; give a picture of each of the two \
         faces",
        a.display(),
        b.display()
    )]
    OneFerrule {
        /// The first.
        a: PathBuf,
        /// The second.
        b: PathBuf,
    },
    /// Two faces of which neither the user nor their marks say how they meet.
    #[error(
        "the marks do not tell how the two faces meet; state --adapter type-a (key up to key down) or type-b (key up \
         to key up)"
    )]
    NoAdapter,
    /// A folder without a picture.
    #[error(
        "the folder {} holds no picture; put a PNG, JPEG, TIFF, BMP or WebP file of the face into it",
        path.display()
    )]
    NoPictures {
        /// The folder.
        path: PathBuf,
    },
    /// Pictures are in folders of the folder only.
    #[error("the folder {} holds no picture itself; name one that does: {inner}", .0.display(), inner = .1)]
    PicturesBelow(PathBuf, String),
    /// A map in the place of a picture.
    #[error("{} is a map that pitchline drew; give the picture of the face that it was drawn from", .0.display())]
    OwnMap(PathBuf),
    /// No trace to join.
    #[error(
        "the folder {} holds no trace; put the .sor files into it, or leave --traces out", path.display()
    )]
    NoTraces {
        /// The folder.
        path: PathBuf,
    },
    /// A folder among several inputs.
    #[error("{} is a folder among other inputs; give pictures, or one folder alone", path.display())]
    FolderAmongFiles {
        /// The folder.
        path: PathBuf,
    },
    /// A folder with nothing that a study could be made of.
    #[error(
        "the folder {} holds nothing to study; put a folder for each face into it, with two or more pictures of that \
         face, or pictures with their truth beside them (NAME.png and NAME.truth.json, as `pitchline synth` writes)",
        path.display()
    )]
    NothingToStudy {
        /// The folder.
        path: PathBuf,
    },
    /// A picture that says neither its layout nor its criteria.
    #[error("{} has no truth that names its {option}; state it with --{option}", path.display())]
    NotStated {
        /// The picture.
        path: PathBuf,
        /// `layout` or `criteria`.
        option: &'static str,
    },
    /// A truth that cannot be read.
    #[error("{} is no truth of a picture as `pitchline synth` writes it ({why}); render the scene again", path.display())]
    Truth {
        /// The file.
        path: PathBuf,
        /// What is wrong.
        why: String,
    },
    /// A plot of a study cannot be drawn.
    #[error(transparent)]
    Plot(#[from] report::study::PlotError),
    /// The pictures show no such face.
    #[error(
        "{}{}: {why}",
        path.display(),
        if *more == 0 { String::new() } else { format!(" and {more} more put together") }
    )]
    Survey {
        /// The first picture.
        path: PathBuf,
        /// Further pictures of the run.
        more: usize,
        /// Why not.
        why: SurveyError,
    },
    /// Neither a built-in file nor a path.
    #[error(
        "there {} no {kind} {name}; give {known}, or the path of {} {kind} file",
        if *kind == "criteria" { "are" } else { "is" },
        if kind.starts_with('a') { "an" } else { "a" }
    )]
    UnknownProfile {
        /// `layout`, `criteria` or `cable`.
        kind: &'static str,
        /// What was asked for.
        name: String,
        /// The built-in ones, or where to find them.
        known: String,
    },
    /// A file of criteria, a layout or a cable has faults.
    #[error("{}", .0.one_line())]
    Profile(ProfileError),
    /// A file that was to be checked has faults, which were printed.
    #[error("{file} has {count} fault{}; mend and check it again", if *count == 1 { "" } else { "s" })]
    Checked {
        /// The file.
        file: String,
        /// How many.
        count: usize,
    },
    /// A cable that has no map for the layout.
    #[error("cable {cable} has no map for layout {layout}; leave --cable out or name another")]
    NoCableMap {
        /// The cable.
        cable: String,
        /// The layout.
        layout: String,
    },
    /// An application that has no map for the layout.
    #[error("application {application} is not for layout {layout}; leave --application out or name another")]
    NoLanes {
        /// The application.
        application: String,
        /// The layout.
        layout: String,
    },
    /// An application on fibres that the criteria are not for.
    #[error(
        "application {application} runs on {fibres} fibres, which criteria {criteria} are not for; name criteria for \
         {fibres} fibres, or another application"
    )]
    OtherFibres {
        /// What the application runs on, "multimode".
        fibres: &'static str,
        /// The application.
        application: String,
        /// The criteria.
        criteria: String,
    },
    /// A word of the command line that is no member of a chain.
    #[error("{member:?} is no member of a chain; write cable:TYPE or adapter:type-a or adapter:type-b")]
    NoMember {
        /// The word.
        member: String,
    },
    /// A word of the command line that names no picture with its lit positions.
    #[error("{sight:?} is no picture with its lit positions; write 1=picture.png, or 1,3=picture.png")]
    NoSight {
        /// The word.
        sight: String,
    },
    /// A picture of two lights.
    #[error("{again} is the same picture as {first}; give the picture that was taken with that light")]
    OneLight {
        /// The first word that names it.
        first: String,
        /// The second.
        again: String,
    },
    /// A position that the layout does not have.
    #[error("layout {layout} has no position {position}; check the number and --layout")]
    NoPosition {
        /// The layout.
        layout: String,
        /// The position.
        position: u16,
    },
    /// A scene has faults.
    #[error(transparent)]
    Scene(#[from] SceneError),
    /// A file or folder cannot be written.
    #[error("cannot write {}: {why}", path.display())]
    Write {
        /// The file or folder.
        path: PathBuf,
        /// What the system says, with what to do.
        why: String,
    },
    /// The terminal or pipe takes nothing.
    #[error("cannot print: {why}")]
    Print {
        /// What the system says, with what to do.
        why: String,
    },
    /// The map could not be drawn.
    #[error("the map cannot be drawn, a fault of the program itself; leave it out with --no-map")]
    Map(#[from] report::map::PngError),
    /// A made-up picture could not be encoded.
    #[error(
        "the made-up picture cannot be encoded, a fault of the program itself; please report it with the scene"
    )]
    Encode(#[from] png::EncodingError),
    /// A document could not be told.
    #[error(
        "the result cannot be told as JSON, a fault of the program itself; please report it with the input"
    )]
    Json(#[from] serde_json::Error),
    /// A command that has no man page.
    #[error("there is no command {name}; `pitchline --help` lists them")]
    NoCommand {
        /// What was asked for.
        name: String,
    },
}

impl Failure {
    /// A file that the system would not let us read.
    pub fn read(path: &Path, error: &io::Error) -> Failure {
        let why = match error.kind() {
            io::ErrorKind::NotFound => "there is no such file; check the name".to_owned(),
            io::ErrorKind::PermissionDenied => "permission denied; ask for the right to read it".to_owned(),
            io::ErrorKind::IsADirectory => "it is a folder; give a file".to_owned(),
            io::ErrorKind::NotADirectory => "a part of its path is no folder; check the name".to_owned(),
            io::ErrorKind::InvalidData => "it is no text; give a TOML file in UTF-8".to_owned(),
            _ => format!("{}; copy the file to another disk and try again", words(error)),
        };
        Failure::Read { path: path.to_owned(), why }
    }

    /// A file or folder that the system would not let us write.
    pub fn write(path: &Path, error: &io::Error) -> Failure {
        Failure::unwritten(path, error, "choose another folder with --out")
    }

    /// A book, or a part of it, that cannot be written.
    pub fn write_book(path: &Path, error: &io::Error) -> Failure {
        Failure::unwritten(path, error, "name another folder for the book")
    }

    /// A key that cannot be written.
    pub fn write_key(path: &Path, error: &io::Error) -> Failure {
        Failure::unwritten(path, error, "name another file with --key")
    }

    fn unwritten(path: &Path, error: &io::Error, instead: &str) -> Failure {
        let why = match error.kind() {
            io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
                format!("{}; {instead}", words(error))
            }
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => {
                format!("the disk is full; free some space or {instead}")
            }
            io::ErrorKind::NotADirectory => {
                format!("a part of its path is a file and no folder; {instead}")
            }
            io::ErrorKind::AlreadyExists => {
                format!("a link that leads nowhere, or a file, is in the way; take it away or {instead}")
            }
            io::ErrorKind::NotFound if path.parent().is_some_and(Path::is_dir) => {
                format!("nothing can be made there; {instead}")
            }
            io::ErrorKind::NotFound => {
                format!("a folder of its path is not there any more; make it, or {instead}")
            }
            io::ErrorKind::InvalidFilename => {
                format!("a name in its path is too long for this disk; {instead}")
            }
            io::ErrorKind::IsADirectory => {
                format!("a folder of that name is in the way; {instead}")
            }
            _ => format!("{}; {instead}", words(error)),
        };
        Failure::Write { path: path.to_owned(), why }
    }
}

/// The system's words, in lower case and without its number.
pub fn words(error: &io::Error) -> String {
    let text = error.to_string();
    let plain = text.split(" (os error").next().unwrap_or(&text);
    let mut letters = plain.chars();
    letters.next().map_or_else(String::new, |first| first.to_lowercase().chain(letters).collect())
}
