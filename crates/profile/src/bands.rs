//! Bands of size as a criteria file writes them, and the check that those of one rule hold every size from
//! 0 up exactly once.

use crate::read::{At, Page, Section, whole_number};
use crate::sources::Sources;
use grade::{Allowed, Band};
use std::cmp::Ordering;
use terms::Um;

/// One end of a band as written: the size, and whether the band holds it.
#[derive(Clone, Copy)]
struct End {
    size: Um,
    included: bool,
}

/// Reads one band; none if it has a fault.
pub(crate) fn read<'p>(page: &Page, section: &Section<'p>, sources: &Sources<'p>) -> Option<At<Band>> {
    let low = end(section, ("from", true), ("over", false));
    let high = end(section, ("up_to", true), ("under", false));
    let allowed = allowed(section);
    let source = sources.of(section);
    section.no_other_keys();
    let (low, high) = (low?, high?);
    let band = Band {
        low: low.map_or(Um(0.0), |end| end.size),
        low_included: low.is_none_or(|end| end.included),
        high: high.map(|end| end.size),
        high_included: high.is_some_and(|end| end.included),
        allowed: allowed?,
        source: source?,
    };
    if holds_nothing(&band) {
        page.fault(
            section.at,
            "the band holds no size; its lower end must lie below its upper end".to_owned(),
        );
        return None;
    }
    Some(At { value: band, at: section.at })
}

/// One end of a band by either of two keys, `(key, included)`. The outer option is none on a fault, the
/// inner one where neither key is there.
fn end(section: &Section, one: (&'static str, bool), other: (&'static str, bool)) -> Option<Option<End>> {
    let read = |(key, included)| {
        section.positive_length(key, "3").map(|length| Some(End { size: length.value, included }))
    };
    match (section.at_of(one.0), section.at_of(other.0)) {
        (Some(_), Some(_)) => {
            section.fault(format!("a band has either `{}` or `{}`; remove one of them", one.0, other.0));
            None
        }
        (Some(_), None) => read(one),
        (None, Some(_)) => read(other),
        (None, None) => Some(None),
    }
}

fn allowed(section: &Section) -> Option<Allowed> {
    let value = section.value("allowed", "0")?;
    match (value.get_ref().as_str(), whole_number(value.get_ref())) {
        (Some("any"), _) => Some(Allowed::Any),
        (Some("undecided"), _) => Some(Allowed::Undecided),
        (_, Some(limit)) => Some(Allowed::AtMost(limit)),
        _ => section.refuse("allowed", value, "a whole number (0 is none), \"any\" or \"undecided\""),
    }
}

fn holds_nothing(band: &Band) -> bool {
    band.high.is_some_and(|high| match band.low.0.total_cmp(&high.0) {
        Ordering::Less => false,
        Ordering::Equal => !(band.low_included && band.high_included),
        Ordering::Greater => true,
    })
}

/// The bands in ascending order; notes a fault for every size that none or two of them hold.
pub(crate) fn in_order(page: &Page, rule: &Section, mut bands: Vec<At<Band>>) -> Vec<Band> {
    bands.sort_by(|a, b| {
        let (a, b) = (&a.value, &b.value);
        a.low.0.total_cmp(&b.low.0).then(b.low_included.cmp(&a.low_included))
    });
    if let Some(first) = bands.first().filter(|first| !first.value.holds(Um(0.0))) {
        let text = "sizes below this band are in no band; let the first one have neither `from` nor `over`";
        page.fault(first.at, text.to_owned());
    }
    for pair in bands.windows(2) {
        if let Some(text) = seam(&pair[0].value, &pair[1].value) {
            page.fault(pair[1].at, text);
        }
    }
    if let Some(high) = bands.last().and_then(|last| last.value.high) {
        let high = high.0;
        rule.fault(format!(
            "sizes above {high} um are in no band; let the last one have neither `up_to` nor `under`"
        ));
    }
    bands.into_iter().map(|band| band.value).collect()
}

/// What is wrong where one band ends and the next begins.
fn seam(below: &Band, above: &Band) -> Option<String> {
    let low = above.low.0;
    let high = below.high.map_or(f64::INFINITY, Um::get);
    match (high.total_cmp(&low), below.high_included, above.low_included) {
        (Ordering::Less, ..) => {
            Some(format!("sizes between {high} and {low} um are in no band; close the gap"))
        }
        (Ordering::Greater, ..) => {
            Some(format!("sizes just above {low} um are in two bands; let one end where the next begins"))
        }
        (_, true, true) => {
            Some(format!("exactly {low} um is in two bands; use `under` below or `over` above"))
        }
        (_, false, false) => {
            Some(format!("exactly {low} um is in no band; use `up_to` below or `from` above"))
        }
        _ => None,
    }
}
