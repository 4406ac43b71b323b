//! Random arrays against a second count made from the hand-written tables: the verdicts agree, and nothing
//! ungraded ever passes.

use crate::faces::{every_flaw, fibre, survey};
use crate::random::Random;
use crate::tables::{Due, SIZES, TABLES, Table};
use crate::tables_test::{file, kinds, mark};
use grade::{Verdict, grade};
use std::collections::BTreeMap;
use terms::{Feature, Fibre, Look, Um};

/// A few marks, small ones more often, and the verdict that the hand-written table gives them.
fn marks(random: &mut Random, table: &Table) -> (Vec<Feature>, Verdict) {
    let mut features = vec![];
    let mut counts: BTreeMap<(usize, Due), usize> = BTreeMap::new();
    for _ in 0..random.below(8) {
        let r = random.below(4);
        let row = &table.rows[r];
        let largest = if random.one_in(4) { SIZES.len() } else { 8 };
        let size = random.below(largest);
        let kinds = kinds(row.subject);
        features.push(mark(table, row.zone, kinds[random.below(kinds.len())], SIZES[size]));
        *counts.entry((r, row.due()[size])).or_default() += 1;
    }
    let broken =
        |(&(_, due), &count): (&(usize, Due), &usize)| matches!(due, Due::AtMost(most) if count > most);
    let silent = counts.keys().any(|(_, due)| *due == Due::Silent);
    let verdict = match (counts.iter().any(broken), silent) {
        (true, _) => Verdict::Fail,
        (false, true) => Verdict::Ungraded,
        (false, false) => Verdict::Pass,
    };
    (features, verdict)
}

/// A position and the verdict it is due.
fn look(random: &mut Random, table: &Table) -> (Look, Verdict) {
    let (features, verdict) = marks(random, table);
    let clear = fibre(features);
    let flaws = every_flaw();
    let flaw = flaws[random.below(flaws.len())].clone();
    match random.below(24) {
        0 => (Look::Missing(flaw), Verdict::Ungraded),
        1 => (Look::Found(Box::new(Fibre { flaws: vec![flaw], ..clear })), Verdict::Ungraded),
        2 => (Look::Found(Box::new(Fibre { smallest_visible: Um(2.5), ..clear })), Verdict::Ungraded),
        3 => (Look::Found(Box::new(Fibre { blur: Um(2.5), ..clear })), Verdict::Ungraded),
        _ => (Look::Found(Box::new(clear)), verdict),
    }
}

#[test]
fn random_arrays_get_the_verdicts_of_a_second_count() {
    let mut seen = BTreeMap::new();
    for seed in 0..400 {
        let mut random = Random(seed);
        for table in &TABLES {
            let size = 2 + random.below(4);
            let (looks, due): (Vec<Look>, Vec<Verdict>) = (0..size).map(|_| look(&mut random, table)).unzip();
            let mut survey = survey(looks);
            let blind = random.one_in(20);
            if blind {
                survey.quality.flaws = vec![every_flaw()[random.below(10)].clone()];
            }
            let array = grade(&survey, &file(table).criteria);
            for (position, due) in array.positions.iter().zip(&due) {
                let due = if blind { Verdict::Ungraded } else { *due };
                assert_eq!(
                    position.verdict, due,
                    "seed {seed}, {}, position {}",
                    table.id, position.position
                );
                assert_eq!(position.reasons.is_empty(), due == Verdict::Pass, "a reason unless it passes");
            }
            let every_one_passes = !blind && due.iter().all(|due| *due == Verdict::Pass);
            assert_eq!(array.verdict == Verdict::Pass, every_one_passes, "seed {seed}, {}", table.id);
            let one_fails = !blind && due.contains(&Verdict::Fail);
            assert_eq!(array.verdict == Verdict::Fail, one_fails, "seed {seed}, {}", table.id);
            *seen.entry(array.verdict.word()).or_insert(0) += 1;
        }
    }
    assert!(seen.len() == 3 && seen.values().all(|count| *count > 100), "every verdict was met: {seen:?}");
}
