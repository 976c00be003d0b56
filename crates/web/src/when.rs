//! Dates as people read them.

use jiff::{Timestamp, Zoned};
use maud::{Markup, html};

/// Seconds since 1970 as date and time of day, UTC.
pub(crate) fn when(at: i64) -> Markup {
    let Ok(time) = Timestamp::from_second(at) else {
        return html! { "at an unknown time" };
    };
    html! { time datetime=(time) { (time.strftime("%-d %B %Y, %H:%M UTC")) } }
}

/// The day that it is here, as "2026-05-11".
pub(crate) fn today() -> String {
    Zoned::now().date().to_string()
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
        assert_eq!(when(i64::MAX).into_string(), "at an unknown time");
    }
}
