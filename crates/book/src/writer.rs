//! From a book to the text of its file.

mod gauges;
mod scenes;
mod tests;
mod water;

use crate::model::{
    About, Aim, ApplianceItem, Book, FrictionWritten, HoseItem, Line, LossWritten, Marking,
    NozzleItem, NozzleKind, Part, Parts, RegulatorState, RigItem, Shutoff, Stated, Target,
};
use hydraulics::units::System;
use hydraulics::valve::ValveKind;
use std::fmt::Write;

/// The text of `book`, in a fixed order of keys. Reading it gives the same book;
/// comments of the file it came from are not kept (notes are).
///
/// ```
/// let book = book::read(b"[book]\nname = 'Example'\n", "example.toml")?;
/// let text = book::write(&book);
/// assert_eq!(text, "[book]\nname = \"Example\"\nunits = \"us\"\n");
/// assert_eq!(book::read(text.as_bytes(), "example.toml")?, book);
/// # Ok::<(), book::Problems>(())
/// ```
pub fn write(book: &Book) -> String {
    let mut out = String::from("[book]\n");
    department(&mut out, book);
    for (name, item) in &book.hose {
        section(&mut out, "hose", name);
        hose(&mut out, item);
    }
    for (name, item) in &book.nozzle {
        section(&mut out, "nozzle", name);
        nozzle(&mut out, item);
    }
    for (name, item) in &book.appliance {
        section(&mut out, "appliance", name);
        appliance(&mut out, item);
    }
    for (name, item) in &book.gauge {
        section(&mut out, "gauge", name);
        gauges::gauge(&mut out, item);
    }
    for (name, item) in &book.rig {
        section(&mut out, "rig", name);
        rig(&mut out, item);
    }
    for (name, item) in &book.hydrant {
        section(&mut out, "hydrant", name);
        water::hydrant(&mut out, item);
    }
    for (name, item) in &book.draft {
        section(&mut out, "draft", name);
        water::draft(&mut out, item);
    }
    for (name, item) in &book.shuttle {
        section(&mut out, "shuttle", name);
        water::shuttle(&mut out, item);
    }
    for (name, item) in &book.standpipe {
        section(&mut out, "standpipe", name);
        water::standpipe(&mut out, item);
    }
    for (name, item) in &book.line {
        section(&mut out, "line", name);
        line(&mut out, item);
    }
    for (name, item) in &book.scene {
        section(&mut out, "scene", name);
        scenes::scene(&mut out, name, item);
    }
    out
}

fn section(out: &mut String, kind: &str, name: &str) {
    // Writing to a String does not fail.
    let _ = writeln!(out, "\n[{kind}.{}]", key(name));
}

pub(crate) fn put(out: &mut String, key: &str, value: &str) {
    let _ = writeln!(out, "{key} = {value}");
}

pub(crate) fn maybe<T>(
    out: &mut String,
    key: &str,
    value: Option<&T>,
    show: impl Fn(&T) -> String,
) {
    if let Some(value) = value {
        put(out, key, &show(value));
    }
}

/// A key, bare where TOML allows it.
pub(crate) fn key(name: &str) -> String {
    let bare = |b: u8| b.is_ascii_alphanumeric() || matches!(b, b'-' | b'_');
    match !name.is_empty() && name.bytes().all(bare) {
        true => name.into(),
        false => quoted(name),
    }
}

/// A basic TOML string.
pub(crate) fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' | '\\' => out.extend(['\\', c]),
            '\n' => out.push_str("\\n"),
            '\t' => out.push_str("\\t"),
            c if c.is_control() => {
                let _ = write!(out, "\\u{:04X}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

/// A text that may be a bare number.
pub(crate) fn value(text: &str) -> String {
    let bare = crate::model::number(text).is_some_and(|n| n.is_finite() && n.to_string() == text);
    if bare { text.into() } else { quoted(text) }
}

pub(crate) fn stated<Q: Copy>(stated: &Stated<Q>) -> String {
    value(stated.text())
}

pub(crate) fn pair<Q: Copy>([low, high]: &[Stated<Q>; 2]) -> String {
    format!("[{}, {}]", stated(low), stated(high))
}

/// One value alone, several in brackets.
fn several<Q: Copy>(all: &[Stated<Q>]) -> Option<String> {
    match all {
        [] => None,
        [one] => Some(stated(one)),
        all => {
            let all: Vec<String> = all.iter().map(stated).collect();
            Some(format!("[{}]", all.join(", ")))
        }
    }
}

fn about(out: &mut String, about: &About) {
    maybe(out, "source", about.source.as_ref(), |s| quoted(s));
    maybe(out, "note", about.note.as_ref(), |s| quoted(s));
    flag(out, "invented", about.invented);
}

fn marking(out: &mut String, marking: &Marking) {
    maybe(out, "colour", marking.colour.as_ref(), |c| {
        quoted(&c.text())
    });
    maybe(out, "mark", marking.mark.as_ref(), |mark| quoted(mark));
}

fn flag(out: &mut String, key: &str, flag: bool) {
    if flag {
        put(out, key, "true");
    }
}

fn department(out: &mut String, book: &Book) {
    let units = match book.units {
        System::Us => "us",
        System::Si => "si",
    };
    put(out, "name", &quoted(&book.name));
    put(out, "units", &quoted(units));
    maybe(out, "water", book.water.as_ref(), stated);
    maybe(out, "pump_ceiling", book.pump_ceiling.as_ref(), stated);
    maybe(out, "money", book.money.as_ref(), |money| quoted(money));
    about(out, &book.about);
    if let Some(crew) = &book.crew {
        out.push_str("\n[book.crew]\n");
        put(out, "one", &stated(&crew.one));
        put(out, "two", &stated(&crew.two));
        put(out, "three", &stated(&crew.three));
        about(out, &crew.about);
    }
}

fn hose(out: &mut String, item: &HoseItem) {
    put(out, "size", &stated(&item.size));
    match &item.friction {
        None => {}
        Some(FrictionWritten::Coefficient {
            coefficient,
            spread,
        }) => {
            put(out, "coefficient", &stated(coefficient));
            maybe(out, "spread", spread.as_ref(), pair);
        }
        Some(FrictionWritten::Roughness { bore, roughness }) => {
            put(out, "bore", &stated(bore));
            put(out, "roughness", &stated(roughness));
        }
        Some(FrictionWritten::HazenWilliams {
            bore,
            hazen_williams,
        }) => {
            put(out, "bore", &stated(bore));
            put(out, "hazen_williams", &stated(hazen_williams));
        }
    }
    if let Some(measured) = &item.measured {
        let fields = [
            Some(("coefficient", stated(&measured.coefficient))),
            measured.date.as_ref().map(|d| ("date", quoted(d))),
            measured
                .uncertainty
                .as_ref()
                .map(|u| ("uncertainty", stated(u))),
            measured.source.as_ref().map(|s| ("source", quoted(s))),
        ];
        put(out, "measured", &table(fields));
    }
    match (&item.inlet, &item.outlet) {
        (Some(inlet), Some(outlet)) if inlet.text() == outlet.text() => {
            put(out, "coupling", &stated(inlet));
        }
        (inlet, outlet) => {
            maybe(out, "inlet", inlet.as_ref(), stated);
            maybe(out, "outlet", outlet.as_ref(), stated);
        }
    }
    maybe(
        out,
        "service_pressure",
        item.service_pressure.as_ref(),
        stated,
    );
    maybe(out, "weight", item.weight.as_ref(), stated);
    maybe(out, "price", item.price.as_ref(), stated);
    maybe(out, "stock", item.stock.as_ref(), stated);
    about(out, &item.about);
}

/// An inline table of the fields that are there.
fn table<'a>(fields: impl IntoIterator<Item = Option<(&'a str, String)>>) -> String {
    let fields = fields.into_iter().flatten();
    let fields: Vec<String> = fields.map(|(k, v)| format!("{} = {v}", key(k))).collect();
    match fields.as_slice() {
        [] => "{}".into(),
        fields => format!("{{ {} }}", fields.join(", ")),
    }
}

fn nozzle(out: &mut String, item: &NozzleItem) {
    put(out, "kind", &quoted(item.kind.word()));
    match &item.kind {
        NozzleKind::SmoothBore { bore, coefficient } => {
            put(out, "bore", &stated(bore));
            maybe(out, "coefficient", coefficient.as_ref(), stated);
        }
        NozzleKind::Fixed { flow, pressure } => {
            put(out, "flow", &stated(flow));
            put(out, "pressure", &stated(pressure));
        }
        NozzleKind::Selectable { flows, pressure } => {
            put(out, "flows", &self::flows(flows));
            put(out, "pressure", &stated(pressure));
        }
        NozzleKind::Automatic {
            settings,
            band,
            flush,
        } => {
            for (name, setting) in settings {
                let range = table([
                    Some(("flow", pair(&setting.flow))),
                    Some(("pressure", pair(&setting.pressure))),
                ]);
                put(out, &format!("setting.{}", key(name)), &range);
            }
            maybe(out, "band", band.as_ref(), stated);
            flag(out, "flush", *flush);
        }
    }
    tests::measured(out, item);
    if item.shutoff != Shutoff::None {
        put(out, "shutoff", &quoted(item.shutoff.word()));
    }
    maybe(out, "waterway", item.waterway.as_ref(), stated);
    maybe(out, "coupling", item.coupling.as_ref(), stated);
    maybe(out, "breaks_at", item.breaks_at.as_ref(), stated);
    maybe(out, "form", item.form.as_ref(), |f| quoted(f.word()));
    marking(out, &item.marking);
    flag(out, "foam", item.foam);
    for (name, attachment) in &item.attachment {
        let fields = [
            Some(("expansion", stated(&attachment.expansion))),
            Some(("reach", stated(&attachment.reach))),
        ];
        put(out, &format!("attachment.{}", key(name)), &table(fields));
    }
    maybe(out, "price", item.price.as_ref(), stated);
    maybe(out, "stock", item.stock.as_ref(), stated);
    about(out, &item.about);
}

/// Listed where every flow is named by its text, named otherwise.
fn flows<Q: Copy>(flows: &indexmap::IndexMap<String, Stated<Q>>) -> String {
    let listed = !flows.is_empty() && flows.iter().all(|(name, flow)| name == flow.text());
    if listed {
        let all: Vec<String> = flows.values().map(stated).collect();
        return format!("[{}]", all.join(", "));
    }
    table(
        flows
            .iter()
            .map(|(name, flow)| Some((name.as_str(), stated(flow)))),
    )
}

fn appliance(out: &mut String, item: &ApplianceItem) {
    put(out, "kind", &quoted(item.kind.word()));
    match &item.loss {
        None => {}
        Some(rated @ LossWritten::Rated { .. }) => put(out, "loss", &loss(rated)),
        Some(LossWritten::Allowance {
            allowance,
            from_flow,
        }) => {
            put(out, "allowance", &stated(allowance));
            maybe(out, "from_flow", from_flow.as_ref(), stated);
        }
    }
    maybe(out, "gates", item.gates.as_ref(), |gates| {
        quoted(match gates {
            ValveKind::Ball => "ball",
            ValveKind::Slide => "slide",
        })
    });
    flag(out, "clappers", item.clappers);
    if let Some(eductor) = &item.eductor {
        put(out, "flow", &stated(&eductor.flow));
        put(out, "inlet_pressure", &stated(&eductor.inlet_pressure));
        maybe(out, "back_pressure", eductor.back_pressure.as_ref(), stated);
    }
    maybe(out, "setting", item.setting.as_ref(), stated);
    maybe(out, "waterway", item.waterway.as_ref(), stated);
    maybe(out, "inlets", several(&item.inlets).as_ref(), String::clone);
    maybe(
        out,
        "outlets",
        several(&item.outlets).as_ref(),
        String::clone,
    );
    maybe(out, "price", item.price.as_ref(), stated);
    about(out, &item.about);
}

/// So much at a flow.
fn loss(written: &LossWritten) -> String {
    match written {
        LossWritten::Rated { pressure, flow } => table([
            Some(("pressure", stated(pressure))),
            Some(("flow", stated(flow))),
        ]),
        LossWritten::Allowance { allowance, .. } => stated(allowance),
    }
}

/// A list of inline tables, one on each line.
fn list(tables: impl IntoIterator<Item = String>) -> Option<String> {
    let tables: Vec<String> = tables.into_iter().map(|t| format!("  {t},\n")).collect();
    (!tables.is_empty()).then(|| format!("[\n{}]", tables.concat()))
}

fn rig(out: &mut String, item: &RigItem) {
    maybe(out, "pump", item.pump.as_ref(), stated);
    maybe(out, "pump_rated_at", item.pump_rated_at.as_ref(), stated);
    let point = |(flow, pressure): &(Stated<_>, Stated<_>)| {
        table([
            Some(("flow", stated(flow))),
            Some(("pressure", stated(pressure))),
        ])
    };
    let points = list(item.pump_points.iter().map(point));
    maybe(out, "pump_points", points.as_ref(), String::clone);
    maybe(out, "pump_tested", item.pump_tested.as_ref(), |d| quoted(d));
    maybe(out, "tank", item.tank.as_ref(), stated);
    maybe(out, "tank_flow", item.tank_flow.as_ref(), stated);
    maybe(out, "concentrate", item.concentrate.as_ref(), stated);
    maybe(out, "proportioner", item.proportioner.as_ref(), stated);
    about(out, &item.about);
}

fn line(out: &mut String, line: &Line) {
    maybe(out, "title", line.title.as_ref(), |s| quoted(s));
    maybe(out, "rig", line.rig.as_ref(), |name| value(name));
    marking(out, &line.marking);
    maybe(out, "pump_pressure", line.pump_pressure.as_ref(), stated);
    put(out, "parts", &row(&line.parts, 0));
    maybe(out, "aim", line.aim.as_ref(), aim);
    about(out, &line.about);
}

fn aim(aim: &Aim) -> String {
    let target = aim.target.as_ref().map(|target| match target {
        Target::Flow(flow) => ("flow", stated(flow)),
        Target::TipPressure(pressure) => ("tip_pressure", stated(pressure)),
        Target::Reach(reach) => ("reach", stated(reach)),
    });
    let most = aim.reaction_at_most.as_ref();
    table([
        target,
        most.map(|force| ("reaction_at_most", stated(force))),
    ])
}

/// A row of parts, one on each line.
fn row(parts: &Parts, depth: usize) -> String {
    if parts.is_empty() {
        return "[]".into();
    }
    let (inside, outside) = ("  ".repeat(depth + 1), "  ".repeat(depth));
    let parts: Vec<String> = parts
        .iter()
        .map(|p| format!("{inside}{},\n", part(p, depth + 1)))
        .collect();
    format!("[\n{}{outside}]", parts.concat())
}

fn part(part: &Part, depth: usize) -> String {
    match part {
        Part::Hose(p) => table([
            Some(("hose", value(&p.hose))),
            Some(("length", stated(&p.length))),
            p.rise.as_ref().map(|r| ("rise", stated(r))),
            p.kink.as_ref().map(|k| ("kink", stated(k))),
        ]),
        Part::Nozzle(p) => {
            let truth = || "true".to_string();
            table([
                Some(("nozzle", value(&p.nozzle))),
                p.setting.as_ref().map(|s| ("setting", value(s))),
                p.gate.as_ref().map(|g| ("gate", stated(g))),
                p.rise.as_ref().map(|r| ("rise", stated(r))),
                p.regulator.as_ref().map(|state| match state {
                    RegulatorState::Flush => ("flush", truth()),
                    RegulatorState::Jammed(share) => ("jammed", stated(share)),
                }),
                p.screen_blocked
                    .as_ref()
                    .map(|b| ("screen_blocked", stated(b))),
                p.tip_only.then(|| ("tip_only", truth())),
                p.attachment.as_ref().map(|a| ("attachment", value(a))),
                p.aim.as_ref().map(|a| ("aim", aim(a))),
            ])
        }
        Part::Appliance(p) => table([
            Some(("appliance", value(&p.appliance))),
            several(&p.gates).map(|g| ("gate", g)),
            p.ratio.as_ref().map(|r| ("ratio", stated(r))),
            p.rise.as_ref().map(|r| ("rise", stated(r))),
        ]),
        Part::Branches(rows) => format!("{{ branches = {} }}", self::rows(rows, depth)),
        Part::Legs(rows) => format!("{{ legs = {} }}", self::rows(rows, depth)),
    }
}

fn rows(rows: &[Parts], depth: usize) -> String {
    if rows.is_empty() {
        return "[]".into();
    }
    let (inside, outside) = ("  ".repeat(depth + 1), "  ".repeat(depth));
    let rows: Vec<String> = rows
        .iter()
        .map(|r| format!("{inside}{},\n", row(r, depth + 1)))
        .collect();
    format!("[\n{}{outside}]", rows.concat())
}
