//! Numbers as the tables of instruments write them: with a decimal point or comma, never guessed which.

/// The number in a cell, by its decimal sign; none if it is no finite number. Signs of thousands are refused: `1,234`
/// under a decimal point could be either.
pub(crate) fn read(cell: &str, decimal: char) -> Option<f64> {
    let cell = cell.trim();
    let plain = |c: char| c.is_ascii_digit() || c == decimal || c == '-' || c == '+';
    if cell.is_empty() || !cell.chars().all(plain) {
        return None;
    }
    cell.replace(decimal, ".").parse().ok().filter(|v: &f64| v.is_finite())
}

#[cfg(test)]
mod tests {
    use super::read;

    #[test]
    fn the_decimal_sign_is_the_stated_one_only() {
        assert_eq!(read(" 0.35 ", '.'), Some(0.35));
        assert_eq!(read("-0,35", ','), Some(-0.35));
        for (cell, sign) in
            [("0,35", '.'), ("0.35", ','), ("1.2.3", '.'), ("", '.'), ("nan", '.'), ("1e400", '.')]
        {
            assert_eq!(read(cell, sign), None, "{cell}");
        }
    }
}
