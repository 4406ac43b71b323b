//! Where the positions of a face that do not pass lead: far ends, lanes, colours.

use super::Style;
use super::wrap::hanging;
use crate::record::{ApplicationRecord, ChannelRecord, FaceRecord, LaneRecord, Verdict};
use crate::tell::{numbers, unnumbered};

/// Sentences; none if neither a cable nor an application was stated, or all positions pass. Where no fibre's number is
/// known, only what is wrong whatever the fibre.
pub fn lines(record: &FaceRecord, style: Style) -> String {
    let sentences = match unnumbered(record) {
        true => [crossed(record), None, None, None, None],
        false => [channels(record), lanes(record), unused(record), crossed(record), colours(record)],
    };
    sentences.into_iter().flatten().map(|text| hanging("", 0, &text, style.columns())).collect()
}

/// Where the positions that do not pass come out at the far end of the cable, and whom else they hurt.
fn channels(record: &FaceRecord) -> Option<String> {
    let polarity = record.polarity.as_ref()?;
    let bad: Vec<&ChannelRecord> = polarity.channels.iter().filter(|c| c.verdict != Verdict::Pass).collect();
    let end = |c: &&ChannelRecord| match c.duplex {
        Some(duplex) => format!("{} at {} (duplex with {})", c.near, c.far, duplex.partner),
        None => format!("{} at {}", c.near, c.far),
    };
    let ends: Vec<String> = bad.iter().map(end).collect();
    (!bad.is_empty()).then(|| format!("At the far end of the {} cable: {}.", polarity.cable, ends.join(", ")))
}

/// Lanes that do not pass.
fn lanes(record: &FaceRecord) -> Option<String> {
    let application = record.application.as_ref()?;
    let said = |lane: &LaneRecord| Some(format!("{} carries {}", lane.position, lane.lane.as_ref()?));
    let bad: Vec<String> = bad(application).filter_map(said).collect();
    let which = match bad.is_empty() {
        true => "every lane passes".to_owned(),
        false => bad.join(", "),
    };
    Some(format!("{} {}: {which}.", application.id, application.seen.words()))
}

fn bad(application: &ApplicationRecord) -> impl Iterator<Item = &LaneRecord> {
    application.lanes.iter().filter(|lane| lane.verdict != Verdict::Pass)
}

/// Positions that the application leaves dark and that do not pass.
fn unused(record: &FaceRecord) -> Option<String> {
    let application = record.application.as_ref()?;
    let at = numbers(bad(application).filter(|lane| lane.lane.is_none()).map(|lane| lane.position));
    let text =
        format!("No lane of it at {at}; they count for the array like all others, and dirt there can move.");
    (!at.is_empty()).then_some(text)
}

/// The first fibre of the cable that joins what does not belong together.
fn crossed(record: &FaceRecord) -> Option<String> {
    let application = record.application.as_ref()?;
    let first = application.lanes.iter().find(|lane| lane.crossed)?;
    let word = |lane: &Option<String>| lane.clone().unwrap_or_else(|| "no lane".to_owned());
    Some(format!(
        "This cable alone does not join two modules: {} ({}) would meet {} at {}.",
        first.position,
        word(&first.lane),
        word(&first.far_lane),
        first.far.unwrap_or_default()
    ))
}

/// Colours of the positions that do not pass.
fn colours(record: &FaceRecord) -> Option<String> {
    record.polarity.as_ref().map(|_| ()).or(record.application.as_ref().map(|_| ()))?;
    let bad = record.positions.iter().filter(|p| p.verdict != Verdict::Pass);
    let named: Vec<String> =
        bad.filter_map(|p| Some(format!("{} {}", p.position, p.colour.as_ref()?))).collect();
    let text = format!("Colours by number (position is not colour, look yourself): {}.", named.join(", "));
    (!named.is_empty()).then_some(text)
}
