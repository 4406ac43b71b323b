//! Every built-in criteria file at every boundary of its table.

use crate::faces::{feature, with};
use crate::tables::{Due, Row, SIZES, TABLES, Table};
use grade::{Faith, Subject, Verdict, grade};
use profile::{CriteriaFile, criteria, criteria_ids};
use terms::{Feature, Kind};

/// The file of a table.
pub fn file(table: &Table) -> CriteriaFile {
    criteria(table.id).unwrap_or_else(|| panic!("{} is not a built-in file", table.id))
}

/// A mark of a size well inside a zone of a table.
pub fn mark(table: &Table, zone: &str, kind: Kind, size: f64) -> Feature {
    let (inner, outer) = if zone == "A" { (2.0, 9.0) } else { (table.core / 2.0 + 2.0, 57.0) };
    feature(kind, size, inner, outer)
}

/// The kinds that are counted as a subject.
pub const fn kinds(subject: Subject) -> &'static [Kind] {
    match subject {
        Subject::Scratches => &[Kind::Scratch],
        Subject::Defects => &[Kind::Particle, Kind::Pit, Kind::Film, Kind::Chip],
    }
}

/// How many marks of a size are graded, and the verdict due, one below, at and one above the number allowed.
fn cases(due: Due) -> Vec<(usize, Verdict)> {
    match due {
        Due::Any => vec![(1, Verdict::Pass), (6, Verdict::Pass), (60, Verdict::Pass)],
        Due::Silent => vec![(0, Verdict::Pass), (1, Verdict::Ungraded), (6, Verdict::Ungraded)],
        Due::AtMost(most) => {
            vec![(most.saturating_sub(1), Verdict::Pass), (most, Verdict::Pass), (most + 1, Verdict::Fail)]
        }
    }
}

fn check_row(table: &Table, row: &Row, file: &CriteriaFile) {
    for (&size, due) in SIZES.iter().zip(row.due()) {
        for (count, verdict) in cases(due) {
            for &kind in kinds(row.subject) {
                let marks = vec![mark(table, row.zone, kind, size); count];
                let array = grade(&with(marks), &file.criteria);
                let what = format!("{}: {count} x {kind} of {size} um in zone {}", table.id, row.zone);
                assert_eq!(array.verdict, verdict, "{what}");
            }
        }
    }
}

#[test]
fn every_file_decides_as_the_tables_do_below_at_and_above_each_limit() {
    for table in &TABLES {
        let file = file(table);
        table.rows.iter().for_each(|row| check_row(table, row, &file));
    }
    let mut ids: Vec<&str> = TABLES.iter().map(|table| table.id).collect();
    let mut built_in = criteria_ids().to_vec();
    ids.sort();
    built_in.sort();
    assert_eq!(ids, built_in, "every built-in file has its table here");
}

#[test]
fn zones_are_those_of_rectangular_ferrules() {
    for table in &TABLES {
        let file = file(table);
        let zones = file.criteria.zones.iter().map(|zone| (zone.name.as_str(), zone.from.0, zone.to.0));
        assert!(zones.eq([("A", 0.0, table.core), ("B", table.core, 115.0)]), "{}", table.id);
    }
}

#[test]
fn zones_and_subjects_are_counted_apart() {
    // The most that each row of the multimode table allows, all at once.
    let table = &TABLES[3];
    let full = |extra: Option<Feature>| {
        let mut marks = vec![mark(table, "A", Kind::Pit, 5.0); 4];
        marks.extend(vec![mark(table, "B", Kind::Particle, 10.0); 5]);
        marks.extend(vec![mark(table, "B", Kind::Particle, 4.999); 30]);
        marks.extend(vec![mark(table, "A", Kind::Scratch, 3.0); 7]);
        marks.extend(vec![mark(table, "B", Kind::Scratch, 5.0); 7]);
        marks.extend(extra);
        grade(&with(marks), &file(table).criteria).verdict
    };
    assert_eq!(full(None), Verdict::Pass);
    assert_eq!(full(Some(mark(table, "A", Kind::Chip, 1.0))), Verdict::Fail);
    assert_eq!(full(Some(mark(table, "B", Kind::Film, 5.0))), Verdict::Fail);
}

#[test]
fn every_limit_says_how_sure_it_is() {
    for table in &TABLES {
        let file = file(table);
        let bands = || file.criteria.rules.iter().flat_map(|rule| &rule.bands);
        assert!(bands().all(|band| band.source.text.len() > 20), "{}", table.id);
        let all = |faith| bands().all(|band| band.source.faith == faith);
        match table.id {
            "iec-61300-3-35-ed2-mm" | "iec-61300-3-35-ed2-sm-pc-rl45" => {
                assert!(all(Faith::SingleSource), "{}", table.id)
            }
            "iec-61300-3-35-ed2-sm-pc-rl26"
            | "iec-61300-3-35-ed1-mm"
            | "iec-61300-3-35-ed1-sm-pc-rl26"
            | "iec-61300-3-35-ed1-sm-apc" => assert!(all(Faith::FromMemory), "{}", table.id),
            _ => {}
        }
        let memory = table.id.contains("ed1");
        let faith = if memory { Faith::FromMemory } else { Faith::SingleSource };
        assert!(file.criteria.zones.iter().all(|zone| zone.source.faith == faith), "{}", table.id);
    }
    let faiths = |id: &str, zone: &str, subject| {
        let rule = criteria(id).unwrap().criteria.rule(zone, subject).unwrap().clone();
        rule.bands.iter().map(|band| band.source.faith).collect::<Vec<_>>()
    };
    let apc = "iec-61300-3-35-ed2-sm-apc";
    assert_eq!(faiths(apc, "A", Subject::Scratches), [Faith::FromMemory, Faith::FromMemory]);
    assert_eq!(faiths(apc, "A", Subject::Defects), [Faith::SingleSource]);
    let first = "iec-61300-3-35-ed1-sm-pc-rl45";
    assert_eq!(faiths(first, "A", Subject::Defects), [Faith::Verified]);
    assert_eq!(faiths(first, "B", Subject::Scratches), [Faith::FromMemory, Faith::FromMemory]);
}

#[test]
fn every_file_counts_and_looks_in_the_same_way() {
    let files: Vec<CriteriaFile> = TABLES.iter().map(file).collect();
    assert!(files.iter().all(|file| file.criteria.counting == files[0].criteria.counting));
    assert!(files.iter().all(|file| file.settings == survey::Settings::default()));
}

#[test]
fn a_file_is_what_its_name_says() {
    for id in criteria_ids() {
        let criteria = criteria(id).unwrap().criteria;
        assert_eq!(criteria.id, *id);
        assert_eq!(criteria.document, "IEC 61300-3-35");
        assert_eq!(criteria.edition.starts_with('2'), id.contains("ed2"), "{id}");
        assert_eq!(criteria.class.mode == grade::Mode::Multi, id.ends_with("mm"), "{id}");
        assert_eq!(criteria.class.angled, id.ends_with("apc"), "{id}");
        let loss = id.split_once("rl").map(|(_, loss)| loss.parse().unwrap());
        assert_eq!(criteria.class.return_loss_db, loss, "{id}");
    }
}
