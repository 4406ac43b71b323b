//! Why no lattice could be told from a picture, each in one sentence that says how to mend it.

/// The picture and the layout do not go together, or the picture shows no array.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum LocateError {
    /// Nothing that keeps the law of an array.
    #[error(
        "no row of fibres was found in this picture: take it of the end face itself, focused, the row level \
         and at least three of its fibres in view"
    )]
    NoRow,
    /// The same in the pictures of a run.
    #[error(
        "no row of fibres was found in these pictures, neither in one nor in all of them: take them of the end face \
         itself, focused, the row level, each overlapping the next by a fibre"
    )]
    NoRowInRun,
    /// One circle and no row.
    #[error(
        "the picture shows a single circle, not a row of fibres: take it so that at least three fibres of the \
         row are in view"
    )]
    OneCircle,
    /// A row that runs up and down.
    #[error(
        "the row of fibres runs from top to bottom in this picture: turn the picture by a quarter turn, so that the \
         row lies level and the key where --key says"
    )]
    Upright,
    /// A row that is neither level nor upright.
    #[error(
        "the row of fibres is turned by about {degrees} degrees in this picture: turn the camera or the picture so \
         that it lies level to within 15 degrees"
    )]
    Tilted {
        /// Against the picture's x axis, either way.
        degrees: f64,
    },
    /// Pixels that are not square.
    #[error(
        "the fibres in this picture are about {times:.2} times as {} as {}, so that its pixels are not square: save \
         it with the same scale both ways",
        if *wider { "wide" } else { "high" },
        if *wider { "high" } else { "wide" }
    )]
    Stretched {
        /// The longer side over the shorter, above 1.
        times: f64,
        /// Whether the width is the longer side.
        wider: bool,
    },
    /// More rows than the layout has.
    #[error(
        "the picture shows more rows of fibres than layout {layout} has ({rows}): choose the layout of this \
         connector with --layout"
    )]
    MoreRows {
        /// The layout's id.
        layout: String,
        /// Rows of the layout.
        rows: u16,
    },
    /// Fewer rows than the layout has.
    #[error(
        "the picture shows bare ferrule where layout {layout} has a row of fibres: choose the layout of this \
         connector with --layout"
    )]
    FewerRows {
        /// The layout's id.
        layout: String,
    },
    /// A row that is longer than the layout's.
    #[error(
        "the picture shows a row of at least {seen} fibres, layout {layout} has {columns}: choose the layout \
         of this connector with --layout"
    )]
    LongerRow {
        /// The layout's id.
        layout: String,
        /// Sites from the first to the last fibre seen in a row.
        seen: usize,
        /// Columns of the layout.
        columns: u16,
    },
    /// A row that is longer than the layout's in pictures that were put together.
    #[error(
        "put together, the pictures show a row of at least {seen} fibres, layout {layout} has {columns}: choose the \
         layout of this connector with --layout; if it is this one, two pictures were joined wrongly: take them \
         again with more overlap"
    )]
    LongerJoined {
        /// The layout's id.
        layout: String,
        /// Sites from the first to the last fibre seen in a row.
        seen: usize,
        /// Columns of the layout.
        columns: u16,
    },
    /// A whole row that is shorter than the layout's.
    #[error(
        "the picture shows one row of {seen} between bare ferrule, layout {layout} has {columns}: choose the \
         layout of this connector with --layout"
    )]
    ShorterRow {
        /// The layout's id.
        layout: String,
        /// Sites from the first to the last fibre seen in a row.
        seen: usize,
        /// Columns of the layout.
        columns: u16,
    },
    /// Guide holes that are not as far apart as the layout's.
    #[error(
        "the picture shows guide holes {seen:.1} times the fibres' pitch apart, those of layout {layout} are {due:.1} \
         times: choose the layout of this connector with --layout"
    )]
    OtherGuides {
        /// The layout's id.
        layout: String,
        /// Distance of the holes in the picture, pitches.
        seen: f64,
        /// Distance of the layout's holes, pitches.
        due: f64,
    },
    /// Fibres at sites that the layout leaves empty.
    #[error(
        "the picture shows fibres at sites that layout {layout} leaves empty: choose the layout of this \
         connector with --layout"
    )]
    Stray {
        /// The layout's id.
        layout: String,
    },
}
