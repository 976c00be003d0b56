//! Dates as people read them.

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use maud::{Markup, html};

/// Seconds since 1970 as date and time of day, UTC.
pub(crate) fn when(at: i64) -> Markup {
    let Ok(time) = Timestamp::from_second(at) else {
        return html! { "at an unknown time" };
    };
    html! { time datetime=(time) { (time.strftime("%-d %B %Y, %H:%M UTC")) } }
}

/// The day of a time as it is here, "2026-05-11".
pub(crate) fn day(at: i64) -> String {
    let time = Timestamp::from_second(at).unwrap_or_default();
    time.to_zoned(TimeZone::system()).date().to_string()
}

/// A day such as "2026-05-11" as people read it.
pub(crate) fn day_words(day: &str) -> Markup {
    match day.parse::<Date>() {
        Ok(date) => html! { time datetime=(day) { (date.strftime("%-d %B %Y")) } },
        Err(_) => html! { (day) },
    }
}

/// The same as plain text.
pub(crate) fn plain_day(day: &str) -> String {
    match day.parse::<Date>() {
        Ok(date) => date.strftime("%-d %B %Y").to_string(),
        Err(_) => day.into(),
    }
}

/// The time of day as it is here, "10:32".
pub(crate) fn clock(at: i64) -> String {
    let time = Timestamp::from_second(at).unwrap_or_default();
    time.to_zoned(TimeZone::system())
        .strftime("%H:%M")
        .to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_time_is_told_in_utc() {
        let text = when(1_751_381_100).into_string();
        assert_eq!(
            text,
            r#"<time datetime="2025-07-01T14:45:00Z">1 July 2025, 14:45 UTC</time>"#
        );
        let day = day_words("2026-05-03").into_string();
        assert_eq!(day, r#"<time datetime="2026-05-03">3 May 2026</time>"#);
        assert_eq!(day_words("<b>").into_string(), "&lt;b&gt;");
        assert_eq!(when(i64::MAX).into_string(), "at an unknown time");
    }
}
