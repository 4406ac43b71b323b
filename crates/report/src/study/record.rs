//! `study.json` as types. The schema is made from them; a key is added freely, and none is renamed or removed
//! without a new version.

use crate::record::{Tool, Verdict};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// Name and version of the format of [`StudyRecord`].
pub const STUDY_FORMAT: &str = "pitchline.study/1";

/// How well the program sees. Lengths are micrometres. Shares and their bounds are 0 to 1; a number that cannot be
/// told is null.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "Study of detection, sizes and repeatability")]
pub struct StudyRecord {
    /// Name and version of this format.
    #[schemars(extend("const" = STUDY_FORMAT))]
    pub schema: String,
    /// The program that wrote it.
    pub tool: Tool,
    /// What was looked at.
    pub set: SetRecord,
    /// How each figure was reached.
    pub methods: Vec<MethodRecord>,
    /// Figures against the truth; null where the truth is not known.
    pub truth: Option<TruthRecord>,
    /// Figures of repeated looks; null where nothing was looked at again.
    pub repeats: Option<RepeatsRecord>,
}

/// What was looked at.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct SetRecord {
    /// `made-up` or the name of the folder.
    pub source: String,
    /// Seed of a made-up set.
    pub seed: Option<u64>,
    /// Faces.
    pub faces: usize,
    /// Pictures.
    pub pictures: usize,
    /// Pictures in which no row of fibres was found.
    pub without_row: usize,
}

/// How a figure was reached.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct MethodRecord {
    /// Which figure.
    pub of: String,
    /// How.
    pub method: String,
}

/// So many of so many.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ShareRecord {
    /// How many had it.
    pub count: usize,
    /// Of how many.
    pub of: usize,
    /// The share.
    pub share: Option<f64>,
    /// Lower end of its two-sided 95 % interval.
    pub low: Option<f64>,
    /// Upper end.
    pub high: Option<f64>,
}

/// Figures against the truth.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct TruthRecord {
    /// Detection by kind and contrast.
    pub detection: Vec<DetectionRecord>,
    /// Whether marks that the program says it would see are seen.
    pub promised: PromisedRecord,
    /// Errors of size by kind and true size.
    pub sizes: Vec<SizesRecord>,
    /// Marks called on clean fibres.
    pub false_calls: FalseCallsRecord,
    /// Distance of measured from true centres of claddings.
    pub centres: CentresRecord,
    /// Verdicts on fibres whose truth is clear.
    pub verdicts: VerdictsRecord,
    /// Positions that must be refused, and were.
    pub refused: ShareRecord,
    /// Positions that can be graded, and were refused.
    pub refused_gradable: ShareRecord,
}

/// Detection of one kind of mark in one band of contrasts.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct DetectionRecord {
    /// `particle`, `pit`, `scratch`, `film` or `chip`.
    pub kind: String,
    /// Least and greatest contrast of those that were there, without sign.
    pub contrast: [f64; 2],
    /// Seen, of all.
    pub seen: ShareRecord,
    /// Size seen with probability 0.5; null without a curve, or if it lies beyond the largest mark that was there.
    pub a50_um: Option<f64>,
    /// Size seen with probability 0.9; null as that.
    pub a90_um: Option<f64>,
    /// Size at which the lower 95 % bound of the probability reaches 0.9; null as that, or if it never does.
    pub a90_95_um: Option<f64>,
    /// `plain` or `penalised`: the likelihood that the curve was fitted by; null without a curve.
    pub likelihood: Option<String>,
    /// Intercept and slope of the curve: ln(p / (1 - p)) = intercept + slope ln(size in um).
    pub curve: Option<[f64; 2]>,
    /// Seen by size, in classes of equal numbers.
    pub by_size: Vec<BinRecord>,
}

/// Marks of one class of size.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct BinRecord {
    /// Their geometric mean size.
    pub size_um: f64,
    /// Seen, of all.
    pub seen: ShareRecord,
}

/// Whether `quality.smallest_gradable_um` holds.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PromisedRecord {
    /// The contrast that the promise is made for, and from which on marks are counted.
    pub contrast: f64,
    /// Isolated particles no smaller than their picture's smallest gradable size that were seen.
    pub seen: ShareRecord,
    /// Those among them up to a quarter larger than it.
    pub seen_at_limit: ShareRecord,
}

/// Errors of size.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct SizesRecord {
    /// `scratches`, `particles and pits`, `films` or `all`.
    pub of: String,
    /// Whether they are only those with 4 um or more to the next mark.
    pub isolated: bool,
    /// Least true size.
    pub from_um: f64,
    /// Size that they stay below; null without an end.
    pub below_um: Option<f64>,
    /// How many.
    pub count: usize,
    /// Mean of measured less true.
    pub bias_um: f64,
    /// Standard deviation of measured less true.
    pub spread_um: Option<f64>,
    /// Median of measured less true.
    pub median_um: f64,
    /// Half the distance that holds the middle 68 %.
    pub core_spread_um: f64,
    /// Within the stated uncertainty of the truth.
    pub within_u: ShareRecord,
    /// Within twice the stated uncertainty.
    pub within_2u: ShareRecord,
}

/// Marks called where there are none.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct FalseCallsRecord {
    /// Fibres without a mark.
    pub clean_fibres: usize,
    /// Marks called on them.
    pub calls: usize,
    /// Calls per clean fibre.
    pub per_fibre: Option<f64>,
    /// Its one-sided upper 95 % bound.
    pub per_fibre_at_most: Option<f64>,
    /// Marks called anywhere that no truth explains, of all called.
    pub unexplained: ShareRecord,
}

/// Distance of measured from true centres.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct CentresRecord {
    /// How many.
    pub count: usize,
    /// Median.
    pub median_um: Option<f64>,
    /// 95 % lie below it.
    pub p95_um: Option<f64>,
}

/// Verdicts against the truth.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct VerdictsRecord {
    /// One for each true verdict and each said: how often.
    pub table: Vec<ConfusionRecord>,
    /// Verdicts that agree.
    pub agree: ShareRecord,
    /// True fails that were passed.
    pub escapes: ShareRecord,
    /// True passes that were failed.
    pub overkill: ShareRecord,
    /// Fibres left ungraded.
    pub ungraded: ShareRecord,
    /// Fibres whose true verdict hangs on small changes; they are in no other figure here.
    pub unclear: usize,
    /// Every clear fibre that was given another verdict, or none.
    pub wrong: Vec<WrongRecord>,
}

/// One cell of the confusion table.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ConfusionRecord {
    /// The true verdict.
    pub truth: Verdict,
    /// The verdict given.
    pub said: Verdict,
    /// How often.
    pub count: usize,
}

/// A clear fibre with another verdict than the true one.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct WrongRecord {
    /// Name of the picture.
    pub picture: String,
    /// The position.
    pub position: u16,
    /// What is true.
    pub truth: Verdict,
    /// What was said.
    pub said: Verdict,
}

/// Figures of repeated looks.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct RepeatsRecord {
    /// Faces looked at again.
    pub faces: usize,
    /// Set-ups of the camera for each.
    pub set_ups: usize,
    /// Pictures under each set-up.
    pub pictures_each: usize,
    /// Verdicts on all fibres.
    pub verdicts: AgreementRecord,
    /// Verdicts on fibres whose truth is clear; null where the truth is not known.
    pub clear_verdicts: Option<AgreementRecord>,
    /// Marks seen in every picture of their fibre, of those seen in any.
    pub marks_always_seen: ShareRecord,
    /// Where the spread of sizes comes from.
    pub gauges: Vec<GaugeRecord>,
    /// Of each mark seen in every picture: mean and standard deviation of its size.
    pub scatter: Vec<ScatterRecord>,
}

/// How far repeated verdicts agree.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct AgreementRecord {
    /// Fibres given the same verdict in every picture.
    pub always_same: ShareRecord,
    /// Mean share of pictures that have a fibre's most frequent verdict.
    pub modal_share: Option<f64>,
    /// Share of pairs of pictures with the same verdict.
    pub pairs_same: Option<f64>,
    /// Cohen's kappa, the mean over all pairs of pictures; null where all verdicts are alike.
    pub cohen_kappa: Option<f64>,
    /// Fleiss' kappa over all pictures; null where all verdicts are alike or pictures unequally many.
    pub fleiss_kappa: Option<f64>,
}

/// Gauge repeatability and reproducibility of the sizes of one sort of mark.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct GaugeRecord {
    /// `scratches`, `marks up to 10 um` or `marks over 10 um`.
    pub of: String,
    /// Marks seen in every picture.
    pub marks: usize,
    /// By the range method.
    pub ranges: SpreadRecord,
    /// By analysis of variance.
    pub anova: SpreadRecord,
    /// F of the interaction of marks and set-ups, and its probability by chance; null with one set-up.
    pub interaction: Option<[f64; 2]>,
}

/// Where the spread comes from, standard deviations.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct SpreadRecord {
    /// The same mark under the same set-up (EV).
    pub repeatability_um: Option<f64>,
    /// Between set-ups (AV).
    pub reproducibility_um: Option<f64>,
    /// Set-ups that differ from mark to mark; 0 where pooled.
    pub interaction_um: Option<f64>,
    /// All three together (GRR).
    pub gauge_um: Option<f64>,
    /// Between marks (PV).
    pub marks_um: Option<f64>,
    /// The gauge's share of the total spread.
    pub gauge_share: Option<f64>,
    /// Classes of size that can be told apart (ndc), not cut to an integer.
    pub classes: Option<f64>,
}

/// One mark over its pictures.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct ScatterRecord {
    /// As in the gauges.
    pub of: String,
    /// Mean size.
    pub mean_um: f64,
    /// Standard deviation of its sizes.
    pub sd_um: f64,
}
