//! What is told of a cable's map as it was seen by light: the versioned record. Decides nothing.

use crate::record::{Core, SourceInfo, Tool, ViewRecord};
use grade::traced::{Departure, End, Fit, Sight, Traced};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Name and version of the format of [`LitRecord`].
pub const LIT_FORMAT: &str = "pitchline.polarity/1";

/// The map of a cable as light showed it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "Polarity seen by light")]
pub struct LitRecord {
    /// Name and version of this format.
    #[schemars(extend("const" = LIT_FORMAT))]
    pub schema: String,
    /// The program that wrote it.
    pub tool: Tool,
    /// Id of the layout of both ends.
    pub layout: String,
    /// What the user stated of the view of every picture; null in documents of versions that did not write it.
    #[serde(default)]
    pub view: Option<ViewRecord>,
    /// Id of the cable type that it is: the one that explains more than every other; null if none does.
    pub cable: Option<String>,
    /// Id of the cable type that was stated; null if none was.
    pub stated: Option<String>,
    /// Whether every light came out where the stated type, or else the type that it is, brings it; null if neither
    /// is known or too little was seen.
    pub agrees: Option<bool>,
    /// Each near position that light was put into, and where it came out.
    pub ends: Vec<EndRecord>,
    /// Far positions that were lit and whose light came from no near position that was named.
    pub strays: Vec<u16>,
    /// How well each type explains what was seen, the best first.
    pub fits: Vec<FitRecord>,
    /// The pictures.
    pub sights: Vec<SightRecord>,
    /// What to mind with light in fibres.
    pub cautions: Vec<String>,
}

/// Where the light of one near position came out.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct EndRecord {
    /// The near position.
    pub near: u16,
    /// What is known.
    pub seen: EndWord,
    /// The far positions: one if `seen` is `at`, several if `one-of`, else none.
    pub far: Vec<u16>,
}

/// What is known of where light came out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum EndWord {
    /// There and nowhere else.
    At,
    /// At one of several: more pictures would tell.
    OneOf,
    /// Nowhere: the fibre is dark.
    Nowhere,
    /// No light was seen, and some positions do not show whether they are lit.
    Unseen,
}

/// How well a type of cable explains what was seen.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct FitRecord {
    /// Id of the type.
    pub cable: String,
    /// Near positions whose light came out where the type brings it.
    pub agree: Vec<u16>,
    /// Those whose light did not.
    pub depart: Vec<DepartRecord>,
}

/// A near position whose light did not come out where it was due.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
pub struct DepartRecord {
    /// The near position.
    pub near: u16,
    /// Where its light was due.
    pub due: u16,
    /// Where it was seen.
    pub seen: EndRecord,
}

/// One picture of the far end.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct SightRecord {
    /// The picture.
    pub source: SourceInfo,
    /// Near positions that light was put into.
    pub lit: Vec<u16>,
    /// How each far position looks.
    pub far: Vec<FarRecord>,
}

/// How a far position looks in one picture.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct FarRecord {
    /// The position.
    pub position: u16,
    /// How its core looks.
    pub core: Core,
    /// Level of the core's middle against the clean glass about it: 0.3 is 30 % brighter; null if not seen.
    pub light: Option<f64>,
}

/// What the record is made from.
#[derive(Clone, Debug)]
pub struct LitInputs<'a> {
    /// Id of the layout.
    pub layout: &'a str,
    /// How the pictures were stated to be taken.
    pub view: terms::View,
    /// What was seen.
    pub sights: &'a [(SourceInfo, Sight)],
    /// The light figure of each far position of each sight, in their order.
    pub lights: &'a [Vec<Option<f64>>],
    /// What it tells.
    pub traced: &'a Traced,
    /// Id of the stated type.
    pub stated: Option<&'a str>,
    /// What to mind.
    pub cautions: Vec<String>,
    /// Version of the program.
    pub tool_version: &'a str,
}

impl LitRecord {
    /// The record.
    pub fn new(inputs: LitInputs<'_>) -> LitRecord {
        let LitInputs { traced, .. } = inputs;
        let sights = inputs.sights.iter().zip(inputs.lights);
        LitRecord {
            schema: LIT_FORMAT.to_owned(),
            tool: Tool { name: "pitchline".to_owned(), version: inputs.tool_version.to_owned() },
            layout: inputs.layout.to_owned(),
            view: Some(inputs.view.into()),
            cable: traced.cable.clone(),
            stated: inputs.stated.map(str::to_owned),
            agrees: traced.agrees(inputs.stated),
            ends: traced.ends.iter().map(|(near, end)| end_record(*near, end)).collect(),
            strays: traced.strays.clone(),
            fits: traced.fits.iter().map(fit).collect(),
            sights: sights.map(|((source, sight), lights)| sight_record(source, sight, lights)).collect(),
            cautions: inputs.cautions,
        }
    }

    /// The document as JSON text, a newline at the end.
    ///
    /// # Errors
    /// As [`crate::json::to_text`].
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        crate::json::to_text(self)
    }

    /// The fit of the stated type, or else of the type that it is.
    pub fn fit(&self) -> Option<&FitRecord> {
        let id = self.stated.as_ref().or(self.cable.as_ref())?;
        self.fits.iter().find(|fit| fit.cable == *id)
    }
}

fn end_record(near: u16, end: &End) -> EndRecord {
    let (seen, far) = match end {
        End::At(far) => (EndWord::At, vec![*far]),
        End::OneOf(fars) => (EndWord::OneOf, fars.clone()),
        End::Nowhere => (EndWord::Nowhere, vec![]),
        End::Unseen => (EndWord::Unseen, vec![]),
    };
    EndRecord { near, seen, far }
}

fn fit(fit: &Fit) -> FitRecord {
    let depart = |d: &Departure| DepartRecord { near: d.near, due: d.due, seen: end_record(d.near, &d.seen) };
    FitRecord {
        cable: fit.cable.clone(),
        agree: fit.agree.clone(),
        depart: fit.depart.iter().map(depart).collect(),
    }
}

fn sight_record(source: &SourceInfo, sight: &Sight, lights: &[Option<f64>]) -> SightRecord {
    let far = sight.far.iter().zip(lights).map(|((position, core), light)| FarRecord {
        position: *position,
        core: (*core).into(),
        light: light.and_then(|light| crate::record::number::rounded(light, crate::record::number::RATIO)),
    });
    SightRecord { source: source.clone(), lit: sight.lit.clone(), far: far.collect() }
}
