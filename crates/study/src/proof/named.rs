//! What a test is about, from the words of a table.

use super::cells::Wrong;
use super::model::{Find, Subject};
use book::{Book, NozzleKind};

/// A subject, and the column that names it.
pub(super) struct Named {
    pub subject: Subject,
    pub column: usize,
}

/// What kinds of test are called, the longest words first.
const KINDS: [(&str, &str); 12] = [
    ("hose roughness", "hose roughness"),
    ("hose exponent", "hose exponent"),
    ("hose friction", "hose"),
    ("hydrant flow", "hydrant"),
    ("service test", "service test"),
    ("pump test", "pump"),
    ("hydrant", "hydrant"),
    ("service", "service test"),
    ("nozzle", "nozzle"),
    ("hose", "hose"),
    ("pump", "pump"),
    ("rig", "pump"),
];

/// The subject that a row names, as the book calls it.
pub(super) fn named(book: &Book, kind: &str, about: &str, setting: &str) -> Result<Subject, Wrong> {
    let (kind, about) = match about {
        "" => split(kind),
        about => (kind_called(kind).unwrap_or(kind), about),
    };
    if about.is_empty() {
        return Err((
            "the row does not say what was tested".into(),
            "give the kind of test and the name in the book: \"hose attack\"".into(),
        ));
    }
    let (about, setting) = match about.rsplit_once(": ") {
        Some((nozzle, of_it)) if setting.is_empty() && kind != "hose" => (nozzle, of_it.trim()),
        _ => (about, setting),
    };
    let kind = match kind {
        "" => only_kind(book, about)?,
        kind => kind,
    };
    match kind {
        "nozzle" => nozzle(book, about, setting),
        "pump" => own(book.rig.keys(), about, "rig").map(|rig| Subject::Pump { rig }),
        "hydrant" => {
            let hydrant = own(book.hydrant.keys(), about, "hydrant")?;
            Ok(Subject::Hydrant { hydrant })
        }
        "service test" => hose(book, about).map(|hose| Subject::Service { hose }),
        "hose" => hose(book, about).map(|hose| of_hose(hose, Find::C)),
        "hose exponent" => hose(book, about).map(|hose| of_hose(hose, Find::Exponent)),
        "hose roughness" => hose(book, about).map(|hose| of_hose(hose, Find::Roughness)),
        _ => Err((
            format!("\"{kind}\" is no kind of test"),
            "write hose, nozzle, pump, hydrant or service test".into(),
        )),
    }
}

fn of_hose(hose: String, find: Find) -> Subject {
    Subject::Hose { hose, find }
}

/// "hose attack": the kind, and what it is about.
fn split(text: &str) -> (&str, &str) {
    let starts = |(words, _): &&(&str, &str)| {
        let head = text.get(..words.len());
        let rest = text.get(words.len()..);
        head.is_some_and(|h| h.eq_ignore_ascii_case(words))
            && rest.is_some_and(|r| r.starts_with([' ', ':', ',']))
    };
    match KINDS.iter().find(starts) {
        Some((words, kind)) => {
            let rest = text.get(words.len()..).unwrap_or_default();
            (kind, rest.trim_start_matches([' ', ':', ',']))
        }
        None => ("", text),
    }
}

fn kind_called(text: &str) -> Option<&'static str> {
    let found = KINDS
        .iter()
        .find(|(words, _)| words.eq_ignore_ascii_case(text));
    found.map(|(_, kind)| *kind)
}

/// The kind of test that a name alone tells: what it is in the book.
fn only_kind(book: &Book, about: &str) -> Result<&'static str, Wrong> {
    let known = [
        ("hose", hose(book, about).is_ok()),
        ("nozzle", nozzle_name(book, about).is_ok()),
        ("pump", own(book.rig.keys(), about, "rig").is_ok()),
        (
            "hydrant",
            own(book.hydrant.keys(), about, "hydrant").is_ok(),
        ),
    ];
    let is: Vec<&str> = known
        .iter()
        .filter(|(_, is)| *is)
        .map(|(k, _)| *k)
        .collect();
    match is.as_slice() {
        [one] => Ok(one),
        [] => Err((
            format!("the book has no hose, nozzle, rig or hydrant \"{about}\""),
            "check the name, and give the kind of test: \"hose attack\"".into(),
        )),
        _ => Err((
            format!("\"{about}\" may be a {}", is.join(" or a ")),
            "give the kind of test in a column \"kind\"".into(),
        )),
    }
}

fn hose(book: &Book, about: &str) -> Result<String, Wrong> {
    match book.hose(about) {
        Some(_) => Ok(about.into()),
        None => own(book.hose.keys(), about, "hose"),
    }
}

fn nozzle_name(book: &Book, about: &str) -> Result<String, Wrong> {
    match book.nozzle(about) {
        Some(_) => Ok(about.into()),
        None => own(book.nozzle.keys(), about, "nozzle"),
    }
}

fn nozzle(book: &Book, about: &str, setting: &str) -> Result<Subject, Wrong> {
    let nozzle = nozzle_name(book, about)?;
    let asked = (!setting.is_empty()).then_some(setting);
    let item = book.nozzle(&nozzle);
    let setting = item.map_or(Ok(None), |found| found.item.setting(asked));
    match setting {
        Ok(setting) => Ok(Subject::Nozzle {
            setting: setting.map(str::to_string),
            nozzle,
        }),
        Err(error) => Err((
            format!("nozzle {nozzle}: {error}"),
            "write it as \"nozzle: setting\", or in a column \"setting\"".into(),
        )),
    }
}

/// The book's own name for `about`, capitals or not.
fn own<'a>(
    names: impl Iterator<Item = &'a String> + Clone,
    about: &str,
    what: &str,
) -> Result<String, Wrong> {
    let found = names.clone().find(|name| name.eq_ignore_ascii_case(about));
    found.cloned().ok_or_else(|| {
        let have: Vec<&str> = names.map(String::as_str).take(12).collect();
        let mend = match have.as_slice() {
            [] => format!("write the {what} into the book first"),
            have => format!("the book has {}", have.join(", ")),
        };
        (format!("the book has no {what} \"{about}\""), mend)
    })
}

/// The solid tip called `text`.
pub(super) fn tip_named(book: &Book, text: &str) -> Result<String, Wrong> {
    let name = nozzle_name(book, text)?;
    let is_solid = book
        .nozzle(&name)
        .is_some_and(|found| matches!(found.item.kind, NozzleKind::SmoothBore { .. }));
    match is_solid {
        true => Ok(name),
        false => Err((
            format!("nozzle {name} is no solid tip, and a pitot is read on one"),
            "name the smooth bore on which the pitot was read".into(),
        )),
    }
}
