//! Exact tail probabilities and their correction against scipy and statsmodels.

use super::store::{Store, list, number};
use study::binomial::Share;
use study::standout::{at_least, fisher_greater, holm};

#[test]
fn tails_of_unequal_chances_are_those_of_scipy() {
    let store = Store::open("standouts.json");
    for record in store.table("tails") {
        let chances: Vec<f64> = list(&record["chances"]).iter().map(number).collect();
        let count = record["count"].as_u64().unwrap() as usize;
        store.check("tail", at_least(count, &chances), &record["p"], &format!("{count} of {chances:?}"));
    }
}

#[test]
fn fishers_test_is_that_of_scipy() {
    let store = Store::open("standouts.json");
    for record in store.table("tables") {
        let counts: Vec<usize> =
            list(&record["table"]).iter().map(|n| n.as_u64().unwrap() as usize).collect();
        let share = |hit: usize, miss: usize| Share { count: hit, of: hit + miss };
        let p = fisher_greater(share(counts[0], counts[1]), share(counts[2], counts[3]));
        store.check("fisher", p, &record["p"], &format!("{counts:?}"));
    }
}

#[test]
fn holms_correction_is_that_of_statsmodels() {
    let store = Store::open("standouts.json");
    for record in store.table("corrections") {
        let each: Vec<f64> = list(&record["each"]).iter().map(number).collect();
        store.check_all("holm", &holm(&each), &record["corrected"], "holm");
    }
}
