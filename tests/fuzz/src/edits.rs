//! A record with some of its values exchanged: bytes tell which and for what. Changed at random, the text of a record
//! is hardly ever JSON any more; so this reaches what lies behind the reader.

use serde_json::Value;
use std::sync::OnceLock;

/// Bytes of one edit: which value (2), what is done (1), a number (8).
const EDIT: usize = 11;

fn base() -> &'static Value {
    static DOCUMENT: OnceLock<Value> = OnceLock::new();
    DOCUMENT.get_or_init(|| serde_json::from_str(crate::faces::BASE).unwrap())
}

/// The text of the base record after the edits that `bytes` tell.
pub fn edited(bytes: &[u8]) -> String {
    let mut document = base().clone();
    for edit in bytes.chunks_exact(EDIT).take(16) {
        let which = usize::from(u16::from_le_bytes([edit[0], edit[1]]));
        let number = f64::from_le_bytes(std::array::from_fn(|i| edit[3 + i]));
        let mut left = which % count(&document).max(1);
        apply(&mut document, &mut left, &mut |value| change(value, edit[2], number));
    }
    document.to_string()
}

/// Values in a document, lists and objects among them.
fn count(value: &Value) -> usize {
    1 + match value {
        Value::Array(list) => list.iter().map(count).sum(),
        Value::Object(map) => map.values().map(count).sum(),
        _ => 0usize,
    }
}

/// Does `work` to the value that is `left` values further on; whether it was reached.
fn apply(value: &mut Value, left: &mut usize, work: &mut impl FnMut(&mut Value)) -> bool {
    if *left == 0 {
        work(value);
        return true;
    }
    *left -= 1;
    match value {
        Value::Array(list) => list.iter_mut().any(|v| apply(v, left, work)),
        Value::Object(map) => map.values_mut().any(|v| apply(v, left, work)),
        _ => false,
    }
}

fn change(value: &mut Value, how: u8, number: f64) {
    let bits = number.to_bits();
    match (how % 12, &mut *value) {
        (0, _) => *value = Value::Null,
        (1, Value::Array(list)) => drop(list.pop()),
        (2, Value::Array(list)) => {
            if let Some(last) = list.last().cloned() {
                list.push(last);
            }
        }
        (3, Value::Array(list)) => list.reverse(),
        (4, Value::Number(n)) => {
            let n = n.as_f64().unwrap_or_default();
            *value = number_or_null(-n);
        }
        (5, Value::Number(n)) => {
            let n = n.as_f64().unwrap_or_default();
            let power = (bits % 81) as i32 - 40;
            *value = number_or_null(n * 10f64.powi(power));
        }
        (6, Value::String(_)) => {
            const WORDS: [&str; 8] = ["pass", "fail", "ungraded", "scratch", "<&\"'>", "../x", "", "A"];
            *value = Value::from(WORDS[bits as usize % WORDS.len()]);
        }
        (7, Value::String(text)) => text.push_str("\u{202e}\u{0}\n</text><script>"),
        (8, _) => *value = Value::from(bits),
        (9, _) => *value = Value::from(bits % 70_000),
        (10, _) => *value = Value::Array(vec![]),
        _ => *value = number_or_null(number),
    }
}

fn number_or_null(number: f64) -> Value {
    serde_json::Number::from_f64(number).map_or(Value::Null, Value::Number)
}
