//! When equipment is due, as a calendar that other programs read (RFC 5545).

use crate::equipment::{Equipment, Gear};
use icalendar::{Calendar, Component, Event, Property};
use jiff::Timestamp;
use jiff::civil::Date;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;

/// What has an entry of its own in a calendar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Each {
    /// Every day on which something is due.
    #[default]
    Day,
    /// Every piece of equipment.
    Piece,
}

/// A calendar (iCalendar, RFC 5545) of what is due, as
/// [`Records::due`](crate::Records::due) tells it, with an entry for a whole day for
/// `each`. `name` is the department's; `stamp` is when the calendar is made, in seconds
/// since 1970, and the only thing that two calendars of the same list differ in. An entry
/// keeps its identifier: a calendar read again moves it, and does not double it.
///
/// ```
/// use records::{Each, Equipment, Gear, NewEquipment, calendar};
/// let piece = Equipment {
///     new: NewEquipment {
///         serial: "H-1".into(),
///         gear: Gear::Hose,
///         item: "attack".into(),
///         title: String::new(),
///         since: "2025-05-11".into(),
///         months: 12,
///     },
///     trial: None,
///     retired: None,
/// };
/// let due = [(piece.due()?, piece)];
/// let text = calendar("bend", "Bend Fire", &due, Each::Piece, 1_780_000_000);
/// assert!(text.contains("\r\nDTSTART;VALUE=DATE:20260511\r\n"));
/// assert!(text.contains("\r\nSUMMARY:Test due: hose H-1\r\n"));
/// # Ok::<(), records::RecordsError>(())
/// ```
pub fn calendar(
    slug: &str,
    name: &str,
    due: &[(Date, Equipment)],
    each: Each,
    stamp: i64,
) -> String {
    let stamp = Timestamp::from_second(stamp).unwrap_or(Timestamp::UNIX_EPOCH);
    let stamp = stamp.strftime("%Y%m%dT%H%M%SZ").to_string();
    let title = line(&format!("{name}: equipment due"));
    let mut calendar = Calendar::empty();
    calendar
        .append_property(Property::new("VERSION", "2.0"))
        .append_property(Property::new("PRODID", "-//Handline//Equipment due//EN"))
        .append_property(Property::new("CALSCALE", "GREGORIAN"))
        .append_property(text("NAME", &title))
        .append_property(text("X-WR-CALNAME", &title));
    let entries = match each {
        Each::Day => days(slug, due),
        Each::Piece => due.iter().map(|due| piece(slug, due)).collect(),
    };
    for entry in entries {
        calendar.push(event(&entry, &stamp));
    }
    calendar.to_string()
}

/// What one entry says.
struct Entry {
    uid: String,
    date: Date,
    summary: String,
    description: String,
}

fn piece(slug: &str, (date, piece): &(Date, Equipment)) -> Entry {
    Entry {
        uid: uid(&["piece", slug, &piece.new.serial]),
        date: *date,
        summary: format!("{}: {}", word(piece), called(piece)),
        description: last(piece),
    }
}

fn days(slug: &str, due: &[(Date, Equipment)]) -> Vec<Entry> {
    let mut days: BTreeMap<Date, Vec<&Equipment>> = BTreeMap::new();
    for (date, piece) in due {
        days.entry(*date).or_default().push(piece);
    }
    let entry = |(date, pieces): (Date, Vec<&Equipment>)| Entry {
        uid: uid(&["day", slug, &date.to_string()]),
        date,
        summary: counted(&pieces),
        description: told(&pieces),
    };
    days.into_iter().map(entry).collect()
}

/// "Tests due: 2 hose, 1 gauge".
fn counted(pieces: &[&Equipment]) -> String {
    let of = |gear: Gear| pieces.iter().filter(|p| p.new.gear == gear).count();
    let counts = Gear::ALL.into_iter().map(|gear| (of(gear), gear));
    let counts = counts.filter(|(count, _)| *count > 0);
    let counts: Vec<String> = counts
        .map(|(count, gear)| format!("{count} {}", plural(gear, count)))
        .collect();
    format!("Tests due: {}", counts.join(", "))
}

fn plural(gear: Gear, count: usize) -> &'static str {
    match (gear, count) {
        (Gear::Hose, _) => "hose",
        (Gear::Nozzle, 1) => "nozzle",
        (Gear::Nozzle, _) => "nozzles",
        (Gear::Gauge, 1) => "gauge",
        (Gear::Gauge, _) => "gauges",
    }
}

fn told(pieces: &[&Equipment]) -> String {
    let one = |piece: &&Equipment| format!("{}; {}", called(piece), last(piece));
    pieces.iter().map(one).collect::<Vec<_>>().join("\n")
}

fn word(piece: &Equipment) -> &'static str {
    match (&piece.trial, piece.new.gear) {
        (Some(trial), _) if !trial.passed => "Failed, test again",
        (_, Gear::Gauge) => "Calibration due",
        _ => "Test due",
    }
}

/// "hose H-1, Length 1".
fn called(piece: &Equipment) -> String {
    let (kind, serial) = (piece.new.gear.word(), line(&piece.new.serial));
    match line(&piece.new.title).as_str() {
        "" => format!("{kind} {serial}"),
        title => format!("{kind} {serial}, {title}"),
    }
}

fn last(piece: &Equipment) -> String {
    match &piece.trial {
        None => format!("in service since {}, not tested yet", piece.new.since),
        Some(trial) if trial.passed => format!("passed on {}", trial.date),
        Some(trial) => format!("failed on {}: out of service until it passes", trial.date),
    }
}

/// A text without control characters, which no property may hold (RFC 5545, 3.1 and
/// 3.3.11).
fn line(text: &str) -> String {
    let text = text.replace(|c: char| c.is_control(), " ");
    text.trim().to_string()
}

/// An identifier that stays (RFC 5545, 3.8.4.7) and tells nobody anything (RFC 7986,
/// 5.3).
fn uid(of: &[&str]) -> String {
    let mut hasher = Sha256::new();
    for part in of {
        hasher.update((part.len() as u64).to_be_bytes());
        hasher.update(part.as_bytes());
    }
    let bytes = hasher.finalize();
    let hex = bytes.iter().take(16).map(|byte| format!("{byte:02x}"));
    format!("{}@handline.invalid", hex.collect::<String>())
}

/// A property that is escaped as text, whatever its name.
fn text(key: &str, value: &str) -> Property {
    Property::new(key, value)
        .add_parameter("VALUE", "TEXT")
        .done()
}

/// An entry for a whole day: it has no end, so that it lasts the day (RFC 5545, 3.6.1),
/// and nobody is busy for it (3.8.2.7).
fn event(entry: &Entry, stamp: &str) -> Event {
    let day = entry.date.strftime("%Y%m%d").to_string();
    let start = Property::new("DTSTART", day)
        .add_parameter("VALUE", "DATE")
        .done();
    Event::new()
        .uid(&entry.uid)
        .add_property("DTSTAMP", stamp)
        .append_property(start)
        .summary(&entry.summary)
        .description(&entry.description)
        .add_property("TRANSP", "TRANSPARENT")
        .done()
}
