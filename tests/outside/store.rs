//! Reads the stored values, their tolerances and the two pictures.

use imaging::Plane;
use serde_json::Value;
use std::path::PathBuf;

fn path(name: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../fixtures/outside").join(name)
}

/// One file of stored values.
pub struct Store {
    json: Value,
}

impl Store {
    pub fn open(name: &str) -> Store {
        let text = std::fs::read_to_string(path(name)).unwrap();
        Store { json: serde_json::from_str(&text).unwrap() }
    }

    /// A table's records, of which there must be some.
    pub fn table(&self, name: &str) -> &[Value] {
        let records = self.json[name].as_array().unwrap_or_else(|| panic!("no table {name}"));
        assert!(!records.is_empty(), "table {name} is empty");
        records
    }

    /// Fails unless `ours` is the stored `theirs` within the tolerance of that column.
    pub fn check(&self, column: &str, ours: f64, theirs: &Value, about: &str) {
        let tolerance = &self.json["tolerances"][column];
        assert!(tolerance["reason"].is_string(), "no tolerance for {column}");
        let part = |kind: &str| tolerance[kind].as_f64().unwrap_or(0.0);
        let theirs = number(theirs);
        let off = (ours - theirs).abs();
        let allowed = part("absolute") + part("relative") * theirs.abs();
        assert!(off <= allowed, "{about}, {column}: {ours} here, {theirs} outside, {off:.2e} apart");
    }

    /// [`Store::check`] for every number of two lists.
    pub fn check_all(&self, column: &str, ours: &[f64], theirs: &Value, about: &str) {
        let theirs = list(theirs);
        assert_eq!(ours.len(), theirs.len(), "{about}, {column}");
        for (a, b) in ours.iter().zip(theirs) {
            self.check(column, *a, b, about);
        }
    }
}

pub fn number(value: &Value) -> f64 {
    value.as_f64().unwrap_or_else(|| panic!("no number: {value}"))
}

pub fn list(value: &Value) -> &[Value] {
    value.as_array().unwrap_or_else(|| panic!("no list: {value}"))
}

pub fn text(value: &Value) -> &str {
    value.as_str().unwrap_or_else(|| panic!("no text: {value}"))
}

pub fn points(value: &Value) -> Vec<(f64, f64)> {
    list(value).iter().map(|p| (number(&p[0]), number(&p[1]))).collect()
}

/// Grey values 0 to 255 of the picture of coins.
pub fn coins() -> Plane<f32> {
    let (width, height, bytes) = netpbm("coins.pgm", 3);
    Plane::from_vec(width, height, bytes.into_iter().map(f32::from).collect()).unwrap()
}

/// 1 where the picture of a horse is white, 0 where it is black.
pub fn horse() -> Plane<f32> {
    let (width, height, bytes) = netpbm("horse.pbm", 2);
    let line = width.div_ceil(8);
    Plane::from_fn(width, height, |x, y| f32::from(bytes[y * line + x / 8] >> (7 - x % 8) & 1))
}

/// Width, height and raw bytes after a head of `lines` lines.
fn netpbm(name: &str, lines: usize) -> (usize, usize, Vec<u8>) {
    let bytes = std::fs::read(path(name)).unwrap();
    let ends: Vec<usize> = bytes.iter().enumerate().filter(|(_, b)| **b == b'\n').map(|(i, _)| i).collect();
    let head = std::str::from_utf8(&bytes[..ends[1]]).unwrap();
    let sizes: Vec<usize> = head.split_whitespace().skip(1).map(|s| s.parse().unwrap()).collect();
    (sizes[0], sizes[1], bytes[ends[lines - 1] + 1..].to_vec())
}
