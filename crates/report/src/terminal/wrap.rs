//! Text wrapped at spaces, later lines under the first word.

/// Wraps `text` to `width` columns after the given head; later lines are indented by the head's width. Words
/// longer than a line stand alone. The head's width is given, as it may hold colour codes.
pub fn hanging(head: &str, head_width: usize, text: &str, width: usize) -> String {
    words(head, head_width, text.split_whitespace(), width)
}

/// As [`hanging`], of words that are given, whatever spaces they hold.
pub fn words<'w>(
    head: &str,
    head_width: usize,
    words: impl Iterator<Item = &'w str>,
    width: usize,
) -> String {
    let room = width.saturating_sub(head_width).max(20);
    let mut out = String::from(head);
    let mut used = 0;
    for word in words {
        let len = word.chars().count();
        if used > 0 && used + 1 + len > room {
            out.push('\n');
            out.extend(std::iter::repeat_n(' ', head_width));
            used = 0;
        }
        if used > 0 {
            out.push(' ');
            used += 1;
        }
        out.push_str(word);
        used += len;
    }
    out.push('\n');
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn later_lines_hang_under_the_first_word() {
        let text = hanging("12 ", 3, "aaaa bbbb cccc dddd eeee ffff", 23);
        assert_eq!(text, "12 aaaa bbbb cccc dddd\n   eeee ffff\n");
    }

    #[test]
    fn what_is_one_word_stays_one() {
        let told = words("Wrote: ", 7, ["'a file',", "'with many spaces in it'"].into_iter(), 30);
        assert_eq!(told, "Wrote: 'a file',\n       'with many spaces in it'\n");
    }
}
