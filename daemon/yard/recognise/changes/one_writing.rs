//! Figures without the signs that part them: `1,390.5` and `1.390,5` are one figure, in two writings.

/// A text whose figures are written in one way, whatever parts their thousands and their fractions. Dates stay as they
/// are, and what one of two writings may mean is not decided: `1.390` and `1,390` are the same here.
pub(super) fn in_one_writing(text: String) -> String {
    if !text.contains(parts_figures) {
        return text;
    }
    let (mut written, mut rest) = (String::with_capacity(text.len()), text.as_str());
    while let Some(first) = rest.find(|letter: char| letter.is_ascii_digit()) {
        written.push_str(&rest[..first]);
        rest = &rest[first..];
        let is_other = |letter: char| !letter.is_ascii_digit() && !parts_figures(letter);
        let figure = &rest[..rest.find(is_other).unwrap_or(rest.len())];
        let figure = figure.trim_end_matches(parts_figures);
        written.push_str(&one_figure(figure).unwrap_or_else(|| figure.to_owned()));
        rest = &rest[figure.len()..];
    }
    written.push_str(rest);
    written
}

fn parts_figures(letter: char) -> bool {
    matches!(letter, '.' | ',' | '\'' | '\u{2019}')
}

/// A figure without the signs of its thousands, and with a point before its fraction; `None` where it is none.
fn one_figure(figure: &str) -> Option<String> {
    let groups: Vec<&str> = figure.split(parts_figures).collect();
    let signs: Vec<char> = figure.chars().filter(|letter| parts_figures(*letter)).collect();
    let (last_sign, of_thousands) = signs.split_last()?;
    let (last, whole) = groups.split_last()?;
    let is_thousand = |group: &&str| group.len() == 3;
    let are_thousands = whole.len() == 1 || (whole[0].len() <= 3 && whole[1..].iter().all(is_thousand));
    let is_alone = of_thousands.is_empty();
    if last.is_empty() || !are_thousands || of_thousands.iter().any(|sign| *sign != of_thousands[0]) {
        return None;
    }
    if is_thousand(last) && whole[0].len() <= 3 && (is_alone || of_thousands[0] == *last_sign) {
        return Some(groups.concat());
    }
    if !is_alone && of_thousands[0] == *last_sign {
        return None;
    }
    let fraction = last.trim_end_matches('0');
    let point = if fraction.is_empty() { "" } else { "." };
    Some(format!("{}{point}{fraction}", whole.concat()))
}

#[cfg(test)]
mod tests {
    use super::in_one_writing;

    #[test]
    fn a_figure_is_one_in_every_writing_and_a_date_is_none() {
        for (one, other) in [
            ("1,390.5", "1.390,5"),
            ("1'390.50", "1390,5"),
            ("5.100,0", "5,100"),
            ("1,234,567", "1.234.567"),
            ("1.234,567", "1,234.567"),
            ("6,4KM", "6.40KM"),
            ("1.390", "1390"),
        ] {
            assert_eq!(in_one_writing(one.to_owned()), in_one_writing(other.to_owned()), "{one} {other}");
        }
        for (one, other) in
            [("13.9", "139"), ("12.04.2025", "1204.2025"), ("6.4", "6.5"), ("CE24AVB", "CE2.4AVB")]
        {
            assert_ne!(in_one_writing(one.to_owned()), in_one_writing(other.to_owned()), "{one} {other}");
        }
        for text in ["12.04.2025", "07700900701", "1,2,3", "0.0.1", "CHAIN, OIL.", "5,,6"] {
            assert_eq!(in_one_writing(text.to_owned()), text);
        }
    }
}
