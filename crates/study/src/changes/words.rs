//! A value that became another, in few words.

/// "gate 100 to 50 %": `label`, then both values, the unit once where it is the
/// same. `None` when they are the same.
pub(super) fn from_to(label: &str, before: &str, after: &str) -> Option<String> {
    if before == after {
        return None;
    }
    let lists = before.contains(", ") || after.contains(", ");
    let change = match (figure_of(before), figure_of(after)) {
        (Some((number, unit)), Some((_, other))) if unit == other => {
            format!("{number} to {after}")
        }
        _ if lists => format!("from {before} to {after}"),
        _ => format!("{before} to {after}"),
    };
    Some(join(label, &change))
}

/// Two words with a space between, unless one is empty.
pub(super) fn join(first: &str, second: &str) -> String {
    format!("{first} {second}").trim().to_string()
}

/// A figure and its unit: "16" and "lb per 50 ft".
fn figure_of(text: &str) -> Option<(&str, &str)> {
    let (number, unit) = text.split_once(' ')?;
    let digits = |c: char| c.is_ascii_digit() || "-./,".contains(c);
    let is_unit = !unit.starts_with(|c: char| c.is_ascii_digit()) && !unit.contains(", ");
    (number.chars().all(digits) && !number.ends_with(',') && is_unit).then_some((number, unit))
}

/// Line breaks as spaces: a sentence stands on one line.
pub(super) fn one_line(text: &str) -> String {
    text.replace(char::is_control, " ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_unit_is_said_once_where_it_is_the_same() {
        for (before, after, said) in [
            ("150 ft", "200 ft", "x 150 to 200 ft"),
            ("1-3/4 in", "2 in", "x 1-3/4 to 2 in"),
            ("1 3/4 in", "2 in", "x 1 3/4 in to 2 in"),
            (
                "16 lb per 50 ft",
                "15 lb per 50 ft",
                "x 16 to 15 lb per 50 ft",
            ),
            ("150 ft", "45 m", "x 150 ft to 45 m"),
            ("1,500 gal", "750 gal", "x 1,500 to 750 gal"),
            ("none", "10 ft", "x none to 10 ft"),
            ("15.5", "14.2", "x 15.5 to 14.2"),
            (
                "70 gpm, 200 gpm",
                "70 gpm, 190 gpm",
                "x from 70 gpm, 200 gpm to 70 gpm, 190 gpm",
            ),
        ] {
            assert_eq!(from_to("x", before, after).unwrap(), said);
        }
        assert_eq!(from_to("x", "1 ft", "1 ft"), None);
        assert_eq!(from_to("", "1 ft", "2 ft").unwrap(), "1 to 2 ft");
    }
}
