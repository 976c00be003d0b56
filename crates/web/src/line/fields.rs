//! The fields of the forms that change a line.

use crate::fields::{Row, appliances, both, colours, hoses, nozzles, plain};
use book::{
    AimFields, ApplianceFields, Book, HoseFields, Line, NozzleFields, NozzleKind, catalogue, shown,
};
use hydraulics::units::{Kind, System};

pub(super) fn hose(book: &Book, stands: &HoseFields, system: System) -> Vec<Row> {
    vec![
        Row::choice("hose", "Hose", &stands.hose, both(hoses(book, ""), system)),
        Row::measured("length", "Length", Kind::Length, &stands.length, system),
        Row::measured("rise", "Goes up by", Kind::Length, &stands.rise, system),
        Row::text("kink", "A kink closes (%)", &stands.kink),
    ]
}

pub(super) fn nozzle(book: &Book, stands: &NozzleFields, system: System) -> Vec<Row> {
    let item = book.nozzle(&stands.nozzle).map(|found| found.item);
    let mut rows = vec![Row::choice(
        "nozzle",
        "Nozzle",
        &stands.nozzle,
        both(nozzles(book), system),
    )];
    rows.push(settings(
        book,
        &stands.setting,
        item.map(|i| i.settings()).unwrap_or_default(),
    ));
    if item.is_some_and(|item| item.shutoff != book::Shutoff::None) {
        rows.push(Row::text("gate", "Shut-off open (%)", &stands.gate));
    }
    rows.push(Row::measured(
        "rise",
        "Held higher by",
        Kind::Length,
        &stands.rise,
        system,
    ));
    rows.push(Row::text(
        "screen_blocked",
        "Screen blocked (%)",
        &stands.screen_blocked,
    ));
    if let Some(NozzleKind::Automatic { .. }) = item.map(|item| &item.kind) {
        let of = [("", "works"), ("flush", "flush"), ("jammed", "stuck")];
        rows.push(Row::choice(
            "regulator",
            "Regulator",
            &stands.regulator,
            plain(&of),
        ));
        rows.push(Row::text(
            "jammed",
            "Stuck at (% of its travel)",
            &stands.jammed,
        ));
    }
    if item.is_some_and(|item| item.breaks_at.is_some()) {
        let ticked = if stands.tip_only { "yes" } else { "" };
        rows.push(Row::check(
            "tip_only",
            "Tip only, without its shut-off",
            ticked,
        ));
    }
    if let Some(item) = item.filter(|item| !item.attachment.is_empty()) {
        let mut of = vec![(String::new(), "none".to_string())];
        of.extend(
            item.attachment
                .keys()
                .map(|name| (name.clone(), name.clone())),
        );
        rows.push(Row::choice(
            "attachment",
            "Foam attachment",
            &stands.attachment,
            vec![("", of)],
        ));
    }
    rows.extend(aim(&stands.aim, "As the line's"));
    rows
}

/// Settings of the nozzle that is on; of another one they are named when it is chosen.
fn settings(book: &Book, stands: &str, own: Vec<&str>) -> Row {
    let mut all = vec![(String::new(), "its only or first".to_string())];
    all.extend(
        own.iter()
            .map(|name| ((*name).to_string(), (*name).to_string())),
    );
    let all_nozzles = book.nozzle.values().chain(catalogue().nozzle.values());
    let others = all_nozzles.flat_map(|item| item.settings());
    let mut rest: Vec<String> = others
        .filter(|name| !own.contains(name))
        .map(String::from)
        .collect();
    rest.sort();
    rest.dedup();
    let rest = rest.into_iter().map(|name| (name.clone(), name)).collect();
    Row::choice(
        "setting",
        "Setting",
        stands,
        vec![("", all), ("Of other nozzles", rest)],
    )
}

pub(super) fn appliance(book: &Book, stands: &ApplianceFields, system: System) -> Vec<Row> {
    let mut rows = vec![Row::choice(
        "appliance",
        "Appliance",
        &stands.appliance,
        both(appliances(book, ""), system),
    )];
    let kind = book
        .appliance(&stands.appliance)
        .map(|found| found.item.kind);
    if kind == Some(book::ApplianceKind::Eductor) {
        rows.push(Row::text("ratio", "Set to (%)", &stands.ratio));
    }
    if matches!(
        kind,
        Some(book::ApplianceKind::Wye | book::ApplianceKind::GatedValve)
    ) {
        rows.push(Row::text(
            "gates",
            "Gates open (%, several by commas)",
            &stands.gates.join(", "),
        ));
    }
    rows.push(Row::measured(
        "rise",
        "Goes up by",
        Kind::Length,
        &stands.rise,
        system,
    ));
    rows
}

fn aim(stands: &AimFields, none: &str) -> Vec<Row> {
    let of = [
        ("", none),
        ("flow", "A flow"),
        ("tip_pressure", "A tip pressure"),
        ("reach", "An effective reach"),
    ];
    vec![
        Row::choice("target", "Aim", &stands.target, plain(&of)),
        Row::text("value", "Aim: how much, with its unit", &stands.value),
        Row::text(
            "reaction_at_most",
            "Reaction at most, with its unit",
            &stands.reaction_at_most,
        ),
    ]
}

pub(super) fn added(book: &Book, system: System) -> Vec<Row> {
    let [own_hose, hose] = hoses(book, "hose ");
    let [own, generic] = appliances(book, "appliance ");
    let of = vec![
        ("The department's hose", own_hose),
        ("The department's appliances", own),
        ("Generic hose", hose),
        ("Generic appliances", generic),
    ];
    vec![
        Row::choice("what", "Part", "", of),
        Row::measured("length", "Length, of hose", Kind::Length, "", system),
        Row::measured("rise", "Goes up by", Kind::Length, "", system),
    ]
}

pub(super) fn beyond(book: &Book, system: System) -> Vec<Row> {
    vec![
        Row::choice("hose", "Hose", "", both(hoses(book, ""), system)),
        Row::measured("length", "Length", Kind::Length, "", system),
        Row::choice("nozzle", "Nozzle", "", both(nozzles(book), system)),
        settings(book, "", Vec::new()),
    ]
}

pub(super) fn line(book: &Book, line: &Line, system: System) -> Vec<Row> {
    let mut rows = vec![Row::text(
        "title",
        "What crews call it",
        line.title.as_deref().unwrap_or(""),
    )];
    rows.push(rig(book, line.rig.as_deref().unwrap_or("")));
    rows.extend(aim(
        &AimFields::of(line.aim.as_ref(), system),
        "The nozzle's rating",
    ));
    let pump = line
        .pump_pressure
        .as_ref()
        .map(|p| shown(Kind::Pressure, p, system));
    rows.push(Row::text(
        "pump_pressure",
        "Pump pressure of the book (empty: worked out for the aim)",
        pump.as_deref().unwrap_or(""),
    ));
    let colour = line.marking.colour.map(|colour| colour.text());
    rows.push(Row::choice(
        "colour",
        "Colour of its outlet",
        colour.as_deref().unwrap_or(""),
        colours(),
    ));
    rows.push(Row::text(
        "mark",
        "Mark beside the colour (a word or sign, as A or LEFT)",
        line.marking.mark.as_deref().unwrap_or(""),
    ));
    rows
}

fn rig(book: &Book, stands: &str) -> Row {
    let mut of = vec![(String::new(), "none".to_string())];
    of.extend(book.rig.keys().map(|name| (name.clone(), name.clone())));
    Row::choice("rig", "Rig", stands, vec![("", of)])
}

/// What a new line starts from: the department's first, else attack hose and a
/// handline nozzle of the reader's units.
fn usual(book: &Book, system: System) -> [(&'static str, String); 2] {
    let (hose, nozzle) = match system {
        System::Us => ("1.75 in", "150 gpm at 50 psi"),
        System::Si => ("45 mm", "475 L/min at 7 bar"),
    };
    let first =
        |own: Option<&String>, generic: &str| own.map_or(generic, String::as_str).to_string();
    [
        ("hose", first(book.hose.keys().next(), hose)),
        ("nozzle", first(book.nozzle.keys().next(), nozzle)),
    ]
}

/// A new line, asked for all at once.
pub(super) fn new(book: &Book, system: System) -> Vec<Row> {
    let mut rows = vec![
        Row::text("title", "What crews call it", ""),
        rig(book, book.rig.keys().next().map_or("", String::as_str)),
    ];
    rows.extend(beyond(book, system));
    for (key, usual) in usual(book, system) {
        for row in rows.iter_mut().filter(|row| row.key == key) {
            row.value.clone_from(&usual);
        }
    }
    rows.extend(aim(&AimFields::of(None, system), "The nozzle's rating"));
    rows
}
