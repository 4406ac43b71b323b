//! Text inside HTML and XML.

/// A text with everything that HTML or XML would read as its own written out, for content and attributes alike. Control
/// signs, and what XML 1.0 forbids, become the sign for what cannot be shown.
pub fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for sign in text.chars() {
        match sign {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\u{fffe}' | '\u{ffff}' => out.push('\u{fffd}'),
            sign if sign.is_control() => out.push('\u{fffd}'),
            _ => out.push(sign),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::escaped;

    #[test]
    fn nothing_from_outside_is_read_as_markup() {
        assert_eq!(escaped("a<b>&\u{1}"), "a&lt;b&gt;&amp;\u{fffd}");
        assert_eq!(escaped("\"a' \u{ffff}\n"), "&quot;a&#39; \u{fffd}\u{fffd}");
    }
}
