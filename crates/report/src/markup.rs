//! Text inside HTML and XML, and on drawn pages.

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

/// A text for a drawn page: the "um" of a length is written with its sign and kept on the line of its number. Terminals
/// and documents write "um", which every font and keyboard has.
pub fn with_sign(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(at) = rest.find(" um") {
        let (before, after) = (&rest[..at], &rest[at + 3..]);
        out.push_str(before);
        let of_number = before.ends_with(|sign: char| sign.is_ascii_digit() || sign == '?');
        let is_whole = !after.starts_with(char::is_alphanumeric);
        out.push_str(if of_number && is_whole { "\u{a0}µm" } else { " um" });
        rest = after;
    }
    out + rest
}

#[cfg(test)]
mod tests {
    use super::{escaped, with_sign};

    #[test]
    fn lengths_alone_get_their_sign() {
        let told = with_sign("2.3 um, 10 ± 1 um (? um), 3 umbrellas, TR um 1, 7 um");
        assert_eq!(told, "2.3\u{a0}µm, 10 ± 1\u{a0}µm (?\u{a0}µm), 3 umbrellas, TR um 1, 7\u{a0}µm");
    }

    #[test]
    fn nothing_from_outside_is_read_as_markup() {
        assert_eq!(escaped("a<b>&\u{1}"), "a&lt;b&gt;&amp;\u{fffd}");
        assert_eq!(escaped("\"a' \u{ffff}\n"), "&quot;a&#39; \u{fffd}\u{fffd}");
    }
}
