//! Detection curves, agreement, bounds of shares and analyses of variance against statsmodels and scipy.

use super::store::{Store, list, number, text};
use serde_json::Value;
use study::agreement::{cohen, fleiss};
use study::binomial::Share;
use study::detection::{Axis, Target, detection};
use study::gauge::{Readings, by_anova};
use study::logistic::Likelihood;

fn targets(record: &Value) -> Vec<Target> {
    let hits = list(&record["hits"]).iter().map(|h| h == 1);
    list(&record["sizes"]).iter().zip(hits).map(|(size, hit)| Target { size: number(size), hit }).collect()
}

#[test]
fn detection_curves_are_those_of_statsmodels() {
    let store = Store::open("study.json");
    for record in store.table("curves") {
        let axis = if record["axis"] == "log" { Axis::Log } else { Axis::Linear };
        let curve = detection(&targets(record), axis).curve.unwrap();
        let about = text(&record["name"]);
        assert_eq!(curve.likelihood, Likelihood::Plain, "{about}");
        store.check_all("curve", &curve.line, &record["line"], about);
        let errors = [0, 1].map(|k| curve.covariance[k][k].sqrt());
        store.check_all("curve", &errors, &record["errors"], about);
        store.check("curve", curve.size_at(0.5), &record["a50"], about);
        store.check("curve", curve.size_at(0.9), &record["a90"], about);
        store.check("curve", curve.bound(0.9, 0.95).unwrap(), &record["a90_95"], about);
    }
}

#[test]
fn separated_sizes_have_the_largest_penalised_likelihood() {
    let store = Store::open("study.json");
    for record in store.table("penalised") {
        let curve = detection(&targets(record), Axis::Log).curve.unwrap();
        assert_eq!(curve.likelihood, Likelihood::Penalised);
        store.check_all("penalised", &curve.line, &record["line"], text(&record["name"]));
    }
}

fn counts(table: &Value) -> Vec<Vec<usize>> {
    list(table).iter().map(|row| list(row).iter().map(|v| number(v) as usize).collect()).collect()
}

#[test]
fn kappas_are_those_of_statsmodels() {
    let store = Store::open("study.json");
    for record in store.table("kappas") {
        let table = counts(&record["counts"]);
        let found = if record["kind"] == "cohen" { cohen(&table) } else { fleiss(&table) };
        store.check("kappa", found.unwrap().kappa.unwrap(), &record["kappa"], text(&record["kind"]));
    }
}

#[test]
fn bounds_of_shares_are_those_of_statsmodels() {
    let store = Store::open("study.json");
    for record in store.table("shares") {
        let whole = |key: &str| record[key].as_u64().unwrap() as usize;
        let share = Share { count: whole("count"), of: whole("of") };
        let about = format!("{share:?}");
        store.check("share", share.lower(0.95), &record["lower"], &about);
        store.check("share", share.upper(0.95), &record["upper"], &about);
    }
}

#[test]
fn analyses_of_variance_are_those_of_statsmodels() {
    let store = Store::open("study.json");
    for record in store.table("designs") {
        let cell = |cell: &Value| list(cell).iter().map(number).collect();
        let part = |part: &Value| list(part).iter().map(cell).collect();
        let anova = by_anova(&Readings::new(list(&record["values"]).iter().map(part).collect()).unwrap());
        let ours = [
            ("parts", anova.parts),
            ("appraisers", anova.appraisers),
            ("interaction", anova.interaction),
            ("error", anova.error),
            ("f", anova.f_interaction.unwrap()),
            ("p", anova.p_interaction.unwrap()),
        ];
        for (key, value) in ours {
            store.check("anova", value, &record[key], &format!("{}, {key}", text(&record["name"])));
        }
    }
}
