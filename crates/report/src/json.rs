//! JSON text of a document: indented, keys in the order of the types, one line for each list of numbers.

use serde::Serialize;

/// The document as JSON, two spaces to a level, a newline at the end. Numbers that are not finite become
/// null. The same document always gives the same bytes.
///
/// # Errors
/// `serde_json`'s, for a document with a map whose keys are no strings; no record here has one.
pub fn to_text<T: Serialize>(document: &T) -> Result<String, serde_json::Error> {
    let mut text = inline_numbers(&serde_json::to_string_pretty(document)?);
    text.push('\n');
    Ok(text)
}

/// Puts every list that holds only numbers, or lists of numbers, on one line: an outline of 200 points
/// would else take 800 lines.
fn inline_numbers(pretty: &str) -> String {
    let bytes = pretty.as_bytes();
    let mut out = String::with_capacity(pretty.len());
    let (mut from, mut at, mut in_string) = (0, 0, false);
    while at < bytes.len() {
        match bytes[at] {
            b'\\' if in_string => at += 1,
            b'"' => in_string = !in_string,
            b'[' if !in_string => {
                if let Some(end) = number_list_end(bytes, at) {
                    out.push_str(&pretty[from..at]);
                    out.push_str(&on_one_line(&pretty[at..=end]));
                    from = end + 1;
                    at = end;
                }
            }
            _ => {}
        }
        at += 1;
    }
    out.push_str(&pretty[from..]);
    out
}

/// Index of the bracket that closes the list opened at `start`, if the list holds nothing but numbers.
fn number_list_end(bytes: &[u8], start: usize) -> Option<usize> {
    let mut depth = 0;
    for (i, byte) in bytes.iter().enumerate().skip(start) {
        match byte {
            b'[' => depth += 1,
            b']' if depth == 1 => return Some(i),
            b']' => depth -= 1,
            b'{' | b'"' | b't' | b'f' => return None,
            _ => {}
        }
    }
    None
}

fn on_one_line(list: &str) -> String {
    let mut out = String::with_capacity(list.len() / 2);
    for piece in list.split_whitespace() {
        out.push_str(piece);
        if piece.ends_with(',') {
            out.push(' ');
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::{Value, json};

    #[test]
    fn number_lists_take_one_line_and_nothing_else_changes() {
        let document = json!({
            "a": [[1.5, -2.0], [3, 4e-9]],
            "b": ["[1, 2]", "x \\\" [", null],
            "c": [],
            "d": [{"e": [7], "f": [null, 1]}],
        });
        let text = to_text(&document).unwrap();
        assert_eq!(serde_json::from_str::<Value>(&text).unwrap(), document);
        assert!(text.contains("\"a\": [[1.5, -2.0], [3, 4e-9]],\n"), "{text}");
        assert!(text.contains("\"e\": [7],\n"), "{text}");
        assert!(text.contains("[null, 1]\n"), "{text}");
        assert!(text.ends_with("}\n"));
    }

    #[test]
    fn a_number_that_is_not_finite_is_null() {
        assert_eq!(to_text(&[f64::NAN, f64::INFINITY]).unwrap(), "[null, null]\n");
    }
}
