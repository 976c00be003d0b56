//! Single cells of a table of readings: values, days, times.

use super::model::Place;
use hydraulics::units::{Kind, Measure, Ratio, System, Unit, parse};

/// What is wrong, and what would mend it.
pub(super) type Wrong = (String, String);

/// The SI value of `text`, and the text with its unit. A number alone is in `unit`,
/// else in the unit of `system`.
pub(super) fn value_of(
    text: &str,
    place: Place,
    unit: Option<&Unit>,
    system: System,
) -> Result<(f64, String), Wrong> {
    let kind = place.kind();
    let alone = unit.unwrap_or(kind.unit(system));
    let (value, written) = match text.parse::<f64>() {
        Ok(number) => (alone.to_si(number), format!("{text} {}", alone.symbol)),
        // Any quantity will do: what is read is the SI value of `kind`.
        Err(_) => match parse::<Ratio>(kind, text) {
            Ok(value) => (value.si(), text.to_string()),
            Err(error) => {
                let mend = format!(
                    "write it as \"{}\", or as a number alone: it is taken as {}",
                    kind.example(system),
                    alone.symbol
                );
                return Err((error.to_string(), mend));
            }
        },
    };
    let (least, most) = within(place);
    match (least..=most).contains(&value) {
        true => Ok((value, written)),
        false => {
            let end = |si| hydraulics::units::show(kind, Ratio::of_si(si), system);
            Err((
                format!(
                    "{written} is no {}: that lies between {} and {}",
                    place.word(),
                    end(least),
                    end(most)
                ),
                "check the number and its unit".into(),
            ))
        }
    }
}

/// What can be read at a place, SI: wider than anything on a test ground, so that only
/// a slip of the pen or a wrong unit is outside.
fn within(place: Place) -> (f64, f64) {
    let psi = |value| Kind::Pressure.unit(System::Us).to_si(value);
    match place {
        Place::Flow => (0.0, 1.0),
        Place::Rise => (-500.0, 500.0),
        Place::Length => (0.1, 10_000.0),
        Place::Minutes => (1.0, 86_400.0),
        // Suction is below the air's pressure.
        Place::Intake => (psi(-15.0), psi(1000.0)),
        _ => (psi(-1.0), psi(1500.0)),
    }
}

/// A day as year-month-day; what a workbook adds of hours is left off.
pub(super) fn day_of(text: &str) -> Result<String, Wrong> {
    let day = text.split([' ', 'T']).next().unwrap_or_default();
    let parts: Vec<&str> = day.split('-').collect();
    let number = |part: &str| part.parse::<u32>().ok();
    let is_day = match parts.as_slice() {
        [year, month, day] if year.len() == 4 && month.len() == 2 && day.len() == 2 => {
            let year_month_day = (number(year), number(month), number(day));
            matches!(year_month_day, (Some(1900..=2999), Some(month), Some(day))
                if (1..=12).contains(&month) && (1..=days(number(year), month)).contains(&day))
        }
        _ => false,
    };
    match is_day {
        true => Ok(day.into()),
        false => Err((
            "this is not a day of the calendar".into(),
            "write year-month-day, as 2026-05-11".into(),
        )),
    }
}

fn days(year: Option<u32>, month: u32) -> u32 {
    let year = year.unwrap_or_default();
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    match month {
        2 if leap => 29,
        2 => 28,
        4 | 6 | 9 | 11 => 30,
        _ => 31,
    }
}

/// How many days from `from` to `to`, both year-month-day; none where one is no day.
pub(super) fn days_between(from: &str, to: &str) -> Option<i64> {
    Some(day_number(to)? - day_number(from)?)
}

/// A day counted through, by the calendar of today.
fn day_number(day: &str) -> Option<i64> {
    let day = day_of(day).ok()?;
    let mut parts = day.split('-').map(|part| part.parse::<i64>().ok());
    let (year, month, day) = (parts.next()??, parts.next()??, parts.next()??);
    // Years begin in March, so that the leap day is their last.
    let (year, month) = match month > 2 {
        true => (year, month - 3),
        false => (year - 1, month + 9),
    };
    Some(365 * year + year / 4 - year / 100 + year / 400 + (153 * month + 2) / 5 + day)
}

/// A time of day as hours and minutes; nothing for nothing.
pub(super) fn time_of(text: &str) -> Result<String, Wrong> {
    if text.is_empty() {
        return Ok(String::new());
    }
    // A workbook may put a day before it.
    let clock = text.rsplit([' ', 'T']).next().unwrap_or_default();
    let mut parts = clock.split(':');
    let number = |part: Option<&str>| part.and_then(|p| p.parse::<u32>().ok());
    match (number(parts.next()), number(parts.next())) {
        (Some(hour @ 0..=23), Some(minute @ 0..=59)) => Ok(format!("{hour:02}:{minute:02}")),
        _ => Err((
            "this is not a time of day".into(),
            "write hours and minutes, as 10:32".into(),
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_are_counted_through_leap_years() {
        assert_eq!(days_between("2026-05-11", "2026-05-11"), Some(0));
        assert_eq!(days_between("2024-02-28", "2024-03-01"), Some(2));
        assert_eq!(days_between("2025-05-11", "2026-05-11"), Some(365));
        assert_eq!(days_between("1999-12-31", "2000-01-01"), Some(1));
        assert_eq!(days_between("", "2000-01-01"), None);
    }

    #[test]
    fn days_and_times_that_are_none_are_refused() {
        for day in [
            "11.05.2026",
            "2026-02-29",
            "2026-13-01",
            "5/11/2026",
            "2026-5-1",
        ] {
            assert!(day_of(day).is_err(), "{day}");
        }
        assert_eq!(day_of("2026-05-11 00:00").unwrap(), "2026-05-11");
        assert_eq!(time_of("9:05").unwrap(), "09:05");
        assert!(time_of("25:00").is_err() && time_of("noon").is_err());
    }

    #[test]
    fn a_value_takes_its_unit_from_the_cell_the_head_or_the_book() {
        let bar = Kind::Pressure.unit(System::Si);
        let read = |text, unit| value_of(text, Place::Inlet, unit, System::Us);
        assert!((read("7", Some(bar)).unwrap().0 - 7e5).abs() < 1e-6);
        assert_eq!(read("52", None).unwrap().1, "52 psi");
        assert!((read("5.2 bar", None).unwrap().0 - 5.2e5).abs() < 1e-6);
        let (message, _) = read("7000", Some(bar)).unwrap_err();
        assert_eq!(
            message,
            "7000 bar is no inlet pressure: that lies between -1 psi and 1500 psi"
        );
    }
}
