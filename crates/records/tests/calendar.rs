//! The calendar of what is due, read by a little reader of its own made from RFC 5545.
#![allow(clippy::unwrap_used, clippy::panic)]

use records::{By, Each, Equipment, Gear, NewEquipment, Trial, calendar};

const STAMP: i64 = 1_790_000_000;

/// A content line (RFC 5545, 3.1): name, parameters, value as it is written.
#[derive(Debug, Clone, PartialEq)]
struct Line {
    name: String,
    parameters: Vec<(String, String)>,
    value: String,
}

/// The content lines of a calendar. Lines end in CRLF, and have no more than 75 octets
/// without it (3.1); a line that begins with a blank goes on the one before.
fn lines(text: &str) -> Vec<Line> {
    assert!(text.ends_with("\r\n"));
    let mut unfolded: Vec<String> = Vec::new();
    for raw in text.strip_suffix("\r\n").unwrap().split("\r\n") {
        assert!(raw.len() <= 75, "{} octets: {raw}", raw.len());
        // No control characters but the tab (3.1: CONTROL).
        assert!(!raw.chars().any(|c| c.is_control() && c != '\t'), "{raw:?}");
        match raw.strip_prefix([' ', '\t']) {
            Some(rest) => unfolded.last_mut().unwrap().push_str(rest),
            None => unfolded.push(raw.into()),
        }
    }
    unfolded.iter().map(|line| content(line)).collect()
}

fn content(line: &str) -> Line {
    let mut quoted = false;
    let colon = line.find(|c| {
        quoted ^= c == '"';
        c == ':' && !quoted
    });
    let (head, value) = line.split_at(colon.unwrap());
    let mut head = head.split(';');
    let name = head.next().unwrap();
    assert!(
        name.chars().all(|c| c.is_ascii_uppercase() || c == '-'),
        "{line}"
    );
    let parameter = |text: &str| {
        let (name, value) = text.split_once('=').unwrap();
        (name.to_string(), value.to_string())
    };
    Line {
        name: name.into(),
        parameters: head.map(parameter).collect(),
        value: value[1..].into(),
    }
}

/// A TEXT value (3.3.11): `\\`, `\;`, `\,`, `\n` and `\N` stand for what they hide, and
/// none of the first three stands bare.
fn unescaped(value: &str) -> String {
    let (mut out, mut letters) = (String::new(), value.chars());
    while let Some(letter) = letters.next() {
        match letter {
            '\\' => match letters.next().unwrap() {
                'n' | 'N' => out.push('\n'),
                hidden @ ('\\' | ';' | ',') => out.push(hidden),
                other => panic!("\\{other} in {value}"),
            },
            ';' | ',' => panic!("a bare {letter} in {value}"),
            letter => out.push(letter),
        }
    }
    out
}

/// The entries of a calendar: what lies between BEGIN:VEVENT and END:VEVENT (3.6.1).
fn entries(text: &str) -> (Vec<Line>, Vec<Vec<Line>>) {
    let all = lines(text);
    let mark = |name: &str, value: &str| Line {
        name: name.into(),
        parameters: Vec::new(),
        value: value.into(),
    };
    // A calendar object is one VCALENDAR (3.4).
    assert_eq!(all.first(), Some(&mark("BEGIN", "VCALENDAR")));
    assert_eq!(all.last(), Some(&mark("END", "VCALENDAR")));
    let (mut head, mut events, mut inside) = (Vec::new(), Vec::new(), None);
    for line in &all[1..all.len() - 1] {
        match (line.name.as_str(), &mut inside) {
            ("BEGIN", None) => {
                assert_eq!(line.value, "VEVENT");
                inside = Some(Vec::new());
            }
            ("END", Some(_)) => {
                assert_eq!(line.value, "VEVENT");
                events.extend(inside.take());
            }
            (_, None) => head.push(line.clone()),
            (_, Some(event)) => event.push(line.clone()),
        }
    }
    assert!(inside.is_none());
    (head, events)
}

/// The one property of this name.
fn one<'a>(lines: &'a [Line], name: &str) -> &'a Line {
    let found: Vec<&Line> = lines.iter().filter(|line| line.name == name).collect();
    assert_eq!(found.len(), 1, "{name}: {lines:?}");
    found[0]
}

fn piece(serial: &str, gear: Gear, title: &str, trial: Option<(&str, bool)>) -> Equipment {
    Equipment {
        new: NewEquipment {
            serial: serial.into(),
            gear,
            item: String::new(),
            title: title.into(),
            since: "2025-05-11".into(),
            months: 12,
        },
        trial: trial.map(|(date, passed)| Trial {
            date: date.into(),
            passed,
            remark: String::new(),
            by: By::new("Tester", STAMP),
        }),
        retired: None,
    }
}

fn due(pieces: Vec<Equipment>) -> Vec<(jiff::civil::Date, Equipment)> {
    pieces.into_iter().map(|p| (p.due().unwrap(), p)).collect()
}

fn some() -> Vec<(jiff::civil::Date, Equipment)> {
    due(vec![
        piece("H-1", Gear::Hose, "Crosslay; left, \\ first\nlength", None),
        piece("H-2", Gear::Hose, "", Some(("2025-05-11", true))),
        piece("G-7", Gear::Gauge, "", None),
        piece(
            "N-3",
            Gear::Nozzle,
            "Strahlrohr für große Höhe, Gerätewagen, Fach 12, 日本語",
            Some(("2025-06-01", false)),
        ),
    ])
}

#[test]
fn book_rfc5545_every_line_can_be_read_and_every_needed_property_is_there_once() {
    for each in [Each::Day, Each::Piece] {
        let text = calendar("bend", "Bend Fire; Rescue, and more", &some(), each, STAMP);
        let (head, events) = entries(&text);
        // 3.6: VERSION and PRODID once.
        assert_eq!(one(&head, "VERSION").value, "2.0");
        assert!(one(&head, "PRODID").value.starts_with("-//Handline//"));
        let name = unescaped(&one(&head, "X-WR-CALNAME").value);
        assert_eq!(name, "Bend Fire; Rescue, and more: equipment due");
        assert_eq!(events.len(), if each == Each::Day { 2 } else { 4 });
        let mut uids = std::collections::BTreeSet::new();
        for event in &events {
            // 3.6.1: UID and DTSTAMP once; 3.8.7.2: the stamp is in UTC.
            uids.insert(one(event, "UID").value.clone());
            assert_eq!(one(event, "DTSTAMP").value, "20260921T141320Z");
            let start = one(event, "DTSTART");
            assert_eq!(start.parameters, [("VALUE".into(), "DATE".into())]);
            // 3.3.4: a date is eight digits.
            assert!(start.value.len() == 8 && start.value.bytes().all(|b| b.is_ascii_digit()));
            // 3.6.1: without an end, an entry of a date lasts that day.
            assert!(
                !event
                    .iter()
                    .any(|l| l.name == "DTEND" || l.name == "DURATION")
            );
            for text in ["SUMMARY", "DESCRIPTION"] {
                assert!(!unescaped(&one(event, text).value).is_empty());
            }
        }
        assert_eq!(uids.len(), events.len());
    }
}

#[test]
fn what_is_due_is_said_on_its_day() {
    let (_, events) = entries(&calendar("bend", "Bend", &some(), Each::Day, STAMP));
    let told: Vec<(String, String)> = events
        .iter()
        .map(|event| {
            let summary = unescaped(&one(event, "SUMMARY").value);
            (one(event, "DTSTART").value.clone(), summary)
        })
        .collect();
    let wanted = [
        ("20260511", "Tests due: 2 hose, 1 gauge"),
        ("20260601", "Tests due: 1 nozzle"),
    ];
    assert_eq!(told, wanted.map(|(day, text)| (day.into(), text.into())));
    let first = unescaped(&one(&events[0], "DESCRIPTION").value);
    assert_eq!(
        first,
        "hose H-1, Crosslay; left, \\ first length; in service since 2025-05-11, not tested yet\n\
         hose H-2; passed on 2025-05-11\n\
         gauge G-7; in service since 2025-05-11, not tested yet"
    );
    let (_, events) = entries(&calendar("bend", "Bend", &some(), Each::Piece, STAMP));
    let said = |index: usize| unescaped(&one(&events[index], "SUMMARY").value);
    assert_eq!(said(2), "Calibration due: gauge G-7");
    assert!(said(3).starts_with("Failed, test again: nozzle N-3, Strahlrohr für große Höhe"));
    assert!(said(3).ends_with("日本語"));
}

#[test]
fn law_an_entry_keeps_its_identifier_and_the_same_list_gives_the_same_bytes() {
    let text = |stamp| calendar("bend", "Bend", &some(), Each::Piece, stamp);
    assert_eq!(text(STAMP), text(STAMP));
    let uid = |text: &str, index: usize| one(&entries(text).1[index], "UID").value.clone();
    // Tested since, H-1 is due a year later, under the same identifier.
    let later = due(vec![piece(
        "H-1",
        Gear::Hose,
        "",
        Some(("2026-05-01", true)),
    )]);
    let later = calendar("bend", "Bend", &later, Each::Piece, STAMP + 1);
    assert_eq!(uid(&later, 0), uid(&text(STAMP), 0));
    assert_eq!(one(&entries(&later).1[0], "DTSTART").value, "20270501");
    // Another department's H-1 is another piece.
    let other = calendar("other", "Bend", &some(), Each::Piece, STAMP);
    assert_ne!(uid(&other, 0), uid(&text(STAMP), 0));
}

#[test]
fn nothing_due_is_a_calendar_too_and_odd_texts_do_no_harm() {
    let (_, events) = entries(&calendar("bend", "", &[], Each::Day, i64::MAX));
    assert!(events.is_empty());
    let odd = piece(
        "\r\nEND:VEVENT\u{7f}",
        Gear::Hose,
        &"ä\u{0}:\"".repeat(90),
        None,
    );
    for each in [Each::Day, Each::Piece] {
        let (_, events) = entries(&calendar(
            "b",
            "x\r\nX:1",
            &due(vec![odd.clone()]),
            each,
            STAMP,
        ));
        assert_eq!(events.len(), 1);
    }
}
