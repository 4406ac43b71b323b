//! From the figures of a study to its record.

use super::record::*;
use crate::record::Tool;
use crate::record::number::{RATIO, UM, rounded};
use grade::Verdict;
use study::against::{Against, Class};
use study::agreement::Kappa;
use study::binomial::{Share, most_events};
use study::detection::Target;
use study::gauge::Spread;
use study::logistic::Likelihood;
use study::repeats::{Gauge, Repeatability, Sort, Verdicts};
use study::sizing::Sizing;
use terms::Kind;

/// What a record of a study is made from.
pub struct StudyInputs<'a> {
    /// Version of the program.
    pub tool_version: &'a str,
    /// What was looked at.
    pub set: SetRecord,
    /// Contrast that the smallest gradable size is promised for.
    pub promised_contrast: f64,
    /// What was seen against what is true.
    pub against: Option<&'a Against>,
    /// What repeated looks told.
    pub repeats: Option<&'a Repeatability>,
}

impl StudyRecord {
    /// Makes the record.
    pub fn new(inputs: &StudyInputs) -> StudyRecord {
        StudyRecord {
            schema: STUDY_FORMAT.to_owned(),
            tool: Tool { name: "pitchline".to_owned(), version: inputs.tool_version.to_owned() },
            set: inputs.set.clone(),
            methods: methods(inputs),
            truth: inputs.against.map(|a| truth(a, inputs.promised_contrast)),
            repeats: inputs.repeats.map(repeats),
        }
    }

    /// The document as JSON.
    ///
    /// # Errors
    /// As [`crate::json::to_text`].
    pub fn to_json(&self) -> Result<String, serde_json::Error> {
        crate::json::to_text(self)
    }
}

/// How each figure was reached, for the parts that the record has.
fn methods(inputs: &StudyInputs) -> Vec<MethodRecord> {
    const AGAINST: [(&str, &str); 6] = [
        (
            "pairing",
            "one to one, within 2.5 um of the true centre (or half the size and 1 um), or within 3 um of the true \
             line (or its width, or a twentieth of its length); of several, kind, place and size decide",
        ),
        (
            "detection",
            "hits and misses of isolated marks (4 um or more between edges); logistic in the logarithm of the \
             size by maximum likelihood, penalised (Firth 1993) where sizes of hits and misses do not overlap; \
             a90/95 by inverting the one-sided lower 95 % band of the linear predictor",
        ),
        ("shares", "two-sided 95 % intervals of Clopper and Pearson (1934)"),
        (
            "sizes",
            "marks paired, scratches with scratches and others with others, others wholly within 57 um of the \
             cladding's centre",
        ),
        (
            "clear verdicts",
            "the true verdict by the same criteria and counting, where changing all sizes by 15 %, the zones by \
             1 um and leaving out marks fainter than 5 or 10 % under the blur, or smaller than the criteria ask a \
             picture to show (scratches stay), does not turn it",
        ),
        (
            "false calls",
            "marks held to a zone on fibres without a mark within 64 um of their centre; the bound is exact \
             for counts (Garwood 1936)",
        ),
    ];
    const REPEATED: [(&str, &str); 3] = [
        (
            "agreement",
            "verdicts pass, fail, ungraded; Cohen's kappa averaged over all pairs of pictures (Light 1971); \
             Fleiss' kappa over all pictures",
        ),
        (
            "marks over pictures",
            "gathered by place: within 3 um or a third of their size, scratches within 6 um, nearest first",
        ),
        (
            "gauge",
            "marks seen in every picture; set-ups of the camera as appraisers; range method with computed constants \
             and two-way analysis of variance, interaction pooled where its probability by chance is over 0.25 \
             (AIAG, Measurement Systems Analysis, 4th ed.)",
        ),
    ];
    let told = |rows: &[(&str, &str)]| -> Vec<MethodRecord> {
        rows.iter()
            .map(|(of, method)| MethodRecord { of: (*of).to_owned(), method: (*method).to_owned() })
            .collect()
    };
    let mut all = if inputs.against.is_some() { told(&AGAINST) } else { Vec::new() };
    all.extend(if inputs.repeats.is_some() { told(&REPEATED) } else { Vec::new() });
    all
}

fn share(share: Share) -> ShareRecord {
    let (low, high) = share.interval(0.95);
    let known = |v: f64| if share.of > 0 { rounded(v, RATIO) } else { None };
    ShareRecord {
        count: share.count,
        of: share.of,
        share: share.value().and_then(|v| rounded(v, RATIO)),
        low: known(low),
        high: known(high),
    }
}

fn truth(against: &Against, contrast: f64) -> TruthRecord {
    let (seen, at_limit) = against.promised(contrast);
    let centre = |p| against.centre_error(p).and_then(|v| rounded(v, 4));
    TruthRecord {
        detection: against.classes().iter().map(detection).collect(),
        promised: PromisedRecord { contrast, seen: share(seen), seen_at_limit: share(at_limit) },
        sizes: sizes(against),
        false_calls: false_calls(against),
        centres: CentresRecord { count: against.centres.len(), median_um: centre(0.5), p95_um: centre(0.95) },
        verdicts: verdicts(against),
        refused: share(against.refused),
        refused_gradable: share(against.refused_gradable),
    }
}

fn detection(class: &Class) -> DetectionRecord {
    let found = &class.detection;
    let largest = class.targets.iter().map(|t| t.size).fold(0.0, f64::max);
    // Beyond the largest mark that was there the curve is a guess.
    let known = |size: f64| if size <= largest { rounded(size, UM) } else { None };
    let at = |p: f64| found.curve.as_ref().and_then(|c| known(c.size_at(p)));
    DetectionRecord {
        kind: class.kind.word().to_owned(),
        contrast: [class.contrast.0, class.contrast.1].map(|c| rounded(c, RATIO).unwrap_or_default()),
        seen: share(found.seen),
        a50_um: at(0.5),
        a90_um: at(0.9),
        a90_95_um: found.curve.as_ref().and_then(|c| c.bound(0.9, 0.95)).and_then(known),
        likelihood: found.curve.as_ref().map(|c| {
            match c.likelihood {
                Likelihood::Plain => "plain",
                Likelihood::Penalised => "penalised",
            }
            .to_owned()
        }),
        curve: found.curve.as_ref().map(|c| c.line.map(|v| rounded(v, RATIO).unwrap_or_default())),
        by_size: bins(&class.targets),
    }
}

/// Up to eight classes of equal numbers, ten targets or more in each where there are.
fn bins(targets: &[Target]) -> Vec<BinRecord> {
    let mut sorted = targets.to_vec();
    sorted.sort_by(|a, b| a.size.total_cmp(&b.size));
    let each = sorted.len().div_ceil(8).max(10);
    sorted
        .chunks(each)
        .map(|bin| {
            let mean = bin.iter().map(|t| t.size.ln()).sum::<f64>() / bin.len() as f64;
            BinRecord {
                size_um: rounded(mean.exp(), UM).unwrap_or_default(),
                seen: share(Share::of(bin.iter().map(|t| t.hit))),
            }
        })
        .collect()
}

fn sizes(against: &Against) -> Vec<SizesRecord> {
    const LUMPS: &[Kind] = &[Kind::Particle, Kind::Pit];
    const SCRATCHES: &[Kind] = &[Kind::Scratch];
    const ALL: &[Kind] = &[Kind::Particle, Kind::Pit, Kind::Scratch, Kind::Film, Kind::Chip];
    const END: f64 = f64::INFINITY;
    let rows: [(&str, &[Kind], f64, f64); 8] = [
        ("particles and pits", LUMPS, 0.0, 2.0),
        ("particles and pits", LUMPS, 2.0, 5.0),
        ("particles and pits", LUMPS, 5.0, END),
        ("scratches", SCRATCHES, 0.0, 2.0),
        ("scratches", SCRATCHES, 2.0, 5.0),
        ("scratches", SCRATCHES, 5.0, END),
        ("films", &[Kind::Film], 0.0, END),
        ("all", ALL, 0.0, END),
    ];
    [true, false]
        .into_iter()
        .flat_map(|isolated| rows.map(|row| (isolated, row)))
        .filter_map(|(isolated, (of, kinds, low, high))| {
            let found = against.sizing(kinds, low, high, isolated)?;
            Some(SizesRecord { isolated, ..size_row(of, low, high, &found) })
        })
        .collect()
}

fn size_row(of: &str, low: f64, high: f64, found: &Sizing) -> SizesRecord {
    let plain = |v: f64| rounded(v, UM).unwrap_or_default();
    SizesRecord {
        of: of.to_owned(),
        isolated: false,
        from_um: low,
        below_um: rounded(high, UM),
        count: found.count,
        bias_um: plain(found.bias),
        spread_um: found.spread.and_then(|v| rounded(v, UM)),
        median_um: plain(found.median),
        core_spread_um: plain(found.core_spread),
        within_u: share(found.within_u),
        within_2u: share(found.within_2u),
    }
}

fn false_calls(against: &Against) -> FalseCallsRecord {
    let (fibres, calls) = (against.on_clean.len(), against.on_clean.iter().sum::<usize>());
    let per = |calls: f64| rounded(calls / fibres as f64, RATIO);
    FalseCallsRecord {
        clean_fibres: fibres,
        calls,
        per_fibre: per(calls as f64),
        per_fibre_at_most: per(most_events(calls, 0.95)),
        unexplained: share(against.unexplained),
    }
}

fn verdicts(against: &Against) -> VerdictsRecord {
    let table = &against.verdicts;
    let cell = |truth: Verdict, said: Verdict| ConfusionRecord {
        truth: truth.into(),
        said: said.into(),
        count: table.count(truth, said),
    };
    let row =
        |truth: Verdict| [Verdict::Pass, Verdict::Fail, Verdict::Ungraded].map(|said| cell(truth, said));
    VerdictsRecord {
        table: [row(Verdict::Pass), row(Verdict::Fail)].concat(),
        agree: share(table.agree()),
        escapes: share(table.escapes()),
        overkill: share(table.overkill()),
        ungraded: share(table.ungraded()),
        unclear: against.unclear,
        wrong: against
            .wrong
            .iter()
            .map(|w| WrongRecord {
                picture: w.picture.clone(),
                position: w.position,
                truth: w.truth.into(),
                said: w.said.into(),
            })
            .collect(),
    }
}

fn repeats(found: &Repeatability) -> RepeatsRecord {
    RepeatsRecord {
        faces: found.faces,
        set_ups: found.set_ups,
        pictures_each: found.trials,
        verdicts: agreement(&found.all),
        clear_verdicts: found.clear.as_ref().map(agreement),
        marks_always_seen: share(found.always_seen),
        gauges: found.gauges.iter().map(gauge).collect(),
        scatter: found
            .scatter
            .iter()
            .map(|(sort, mean, sd)| ScatterRecord {
                of: word(*sort).to_owned(),
                mean_um: rounded(*mean, UM).unwrap_or_default(),
                sd_um: rounded(*sd, UM).unwrap_or_default(),
            })
            .collect(),
    }
}

fn agreement(found: &Verdicts) -> AgreementRecord {
    let kappa = |k: Option<Kappa>| k.and_then(|k| k.kappa).and_then(|v| rounded(v, RATIO));
    AgreementRecord {
        always_same: share(found.always_same),
        modal_share: rounded(found.modal_share, RATIO),
        pairs_same: found.cohen.and_then(|k| rounded(k.observed, RATIO)),
        cohen_kappa: kappa(found.cohen),
        fleiss_kappa: kappa(found.fleiss),
    }
}

fn gauge(found: &Gauge) -> GaugeRecord {
    let interaction = found.anova.f_interaction.zip(found.anova.p_interaction);
    GaugeRecord {
        of: word(found.sort).to_owned(),
        marks: found.marks,
        ranges: spread(&found.ranges),
        anova: spread(&found.anova.spread),
        interaction: interaction.and_then(|(f, p)| Some([rounded(f, RATIO)?, rounded(p, RATIO)?])),
    }
}

fn spread(found: &Spread) -> SpreadRecord {
    let um = |v: f64| rounded(v, 4);
    SpreadRecord {
        repeatability_um: um(found.repeatability),
        reproducibility_um: um(found.reproducibility),
        interaction_um: um(found.interaction),
        gauge_um: um(found.gauge()),
        marks_um: um(found.parts),
        gauge_share: rounded(found.gauge_share(), RATIO),
        classes: found.classes().and_then(|v| rounded(v, 2)),
    }
}

const fn word(sort: Sort) -> &'static str {
    match sort {
        Sort::Scratches => "scratches",
        Sort::Small => "marks up to 10 um",
        Sort::Large => "marks over 10 um",
    }
}
