//! Dates as people write them.

use jiff::civil::Date;

/// Which comes first in a date such as 5/11/2026 or 11.5.2026.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum DateOrder {
    /// It is not told: such a date is refused where it could be either.
    #[default]
    Unknown,
    /// The month: 5/11/2026 is the 11th of May.
    MonthFirst,
    /// The day: 11.5.2026 is the 11th of May.
    DayFirst,
}

impl DateOrder {
    /// All of them.
    pub const ALL: [DateOrder; 3] = [
        DateOrder::Unknown,
        DateOrder::MonthFirst,
        DateOrder::DayFirst,
    ];

    /// Its name in forms.
    pub fn key(self) -> &'static str {
        match self {
            DateOrder::Unknown => "",
            DateOrder::MonthFirst => "month",
            DateOrder::DayFirst => "day",
        }
    }
}

const MEND: &str = "write year, month and day, as 2026-05-11";

/// The day that `text` says, as "2026-05-11"; else what is wrong, and what would mend it.
pub(super) fn day(text: &str, order: DateOrder) -> Result<String, (String, String)> {
    // A workbook may give midnight with its day.
    let text = text.trim();
    let text = text
        .strip_suffix(" 00:00:00")
        .or(text.strip_suffix("T00:00:00"))
        .unwrap_or(text);
    let numbers: Vec<&str> = text.split(['-', '/', '.']).map(str::trim).collect();
    let [first, second, third] = numbers.as_slice() else {
        return Err((format!("\"{text}\" is no day"), MEND.into()));
    };
    let plain = |text: &&str| !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    if ![first, second, third].into_iter().all(plain) {
        return Err((format!("\"{text}\" is no day"), MEND.into()));
    }
    if first.len() == 4 {
        return made((first, second, third), text);
    }
    if third.len() != 4 {
        let message = format!("the year of \"{text}\" has not four figures");
        return Err((message, MEND.into()));
    }
    let month_first = made((third, first, second), text);
    let day_first = made((third, second, first), text);
    match order {
        DateOrder::MonthFirst => month_first,
        DateOrder::DayFirst => day_first,
        DateOrder::Unknown => match (month_first, day_first) {
            (Ok(one), Ok(other)) if one != other => Err((
                format!("\"{text}\" may be {one} or {other}"),
                format!("say whether month or day comes first in this list, or {MEND}"),
            )),
            (Ok(day), _) | (_, Ok(day)) => Ok(day),
            (refused, _) => refused,
        },
    }
}

fn made((year, month, day): (&str, &str, &str), text: &str) -> Result<String, (String, String)> {
    let date = || {
        let (year, month, day) = (year.parse().ok()?, month.parse().ok()?, day.parse().ok()?);
        Date::new(year, month, day).ok()
    };
    let missing = || (format!("there is no day \"{text}\""), MEND.into());
    date().map(|date| date.to_string()).ok_or_else(missing)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_date_that_may_be_two_is_refused_until_the_order_is_told() {
        use DateOrder::{DayFirst, MonthFirst, Unknown};
        for (text, order, wanted) in [
            ("2026-05-11", Unknown, "2026-05-11"),
            ("2026-05-11 00:00:00", DayFirst, "2026-05-11"),
            ("2026/5/1", MonthFirst, "2026-05-01"),
            ("5/11/2026", MonthFirst, "2026-05-11"),
            ("11.5.2026", DayFirst, "2026-05-11"),
            ("5/25/2026", Unknown, "2026-05-25"),
            ("25.5.2026", Unknown, "2026-05-25"),
            ("5/5/2026", Unknown, "2026-05-05"),
            ("2024-02-29", Unknown, "2024-02-29"),
        ] {
            assert_eq!(day(text, order).as_deref(), Ok(wanted), "{text}");
        }
        let (message, mend) = day("5/11/2026", Unknown).unwrap_err();
        assert!(message.contains("2026-05-11 or 2026-11-05"), "{message}");
        assert!(mend.contains("month or day comes first"), "{mend}");
        for (text, order) in [
            ("25/5/2026", MonthFirst),
            ("5/25/2026", DayFirst),
            ("2026-02-30", Unknown),
            ("5/11/26", MonthFirst),
            ("spring 2026", Unknown),
            ("May 11, 2026", Unknown),
            ("--", Unknown),
            ("99999999999-1-1", Unknown),
            ("1/2/99999999999", DayFirst),
        ] {
            assert!(day(text, order).is_err(), "{text}");
        }
    }
}
