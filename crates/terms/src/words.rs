//! Words as sentences hold them.

/// "a", "a and b", "a, b and c".
pub fn listed(words: impl IntoIterator<Item = impl AsRef<str>>) -> String {
    let mut words: Vec<_> = words.into_iter().collect();
    let Some(last) = words.pop() else { return String::new() };
    let (last, before) = (last.as_ref(), words.iter().map(AsRef::as_ref).collect::<Vec<_>>());
    if before.is_empty() { last.to_owned() } else { format!("{} and {last}", before.join(", ")) }
}

#[cfg(test)]
mod tests {
    use super::listed;

    #[test]
    fn lists_read_like_sentences() {
        assert_eq!(listed([] as [&str; 0]), "");
        assert_eq!(listed(["pit"]), "pit");
        assert_eq!(listed(["pit", "chip"]), "pit and chip");
        assert_eq!(listed(["scratch", "pit", "chip"]), "scratch, pit and chip");
    }
}
