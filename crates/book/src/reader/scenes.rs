//! Scenes.

use super::lines;
use super::walk::{Reader, Span, Table, short};
use crate::model::{
    Book, FireWritten, Intake, IntakeFrom, Part, Scene, SceneLine, SceneRig, SceneStandpipe,
    SpillWritten, Stated, listed,
};
use crate::problem::{Severity, nearest};
use crate::writer::key;
use hydraulics::fire_flow::{Construction, ConstructionType};
use hydraulics::foam_supply::Fuel;
use hydraulics::units::Ratio;
use indexmap::IndexMap;
use std::collections::HashSet;

/// Rigs that a scene may have at most, and intakes, lines and standpipes of one.
const LIMIT: usize = 50;

/// The names that a scene may use.
struct Names<'a> {
    book: &'a Book,
    /// The rigs of the scene.
    rigs: &'a [(String, Table<'a>)],
    /// The scene's name, and the rig's.
    scene: &'a str,
    rig: &'a str,
}

pub(super) fn scene(reader: &mut Reader, book: &Book, name: &str, table: &Table<'_>) -> Scene {
    if book.line.contains_key(name) {
        reader.error(
            "name_taken",
            table.span.clone(),
            format!("{} has the name of a line", table.what),
            "give the scene another name: both are asked for by name",
        );
    }
    let mut rigs = reader.named(table, "rig");
    if rigs.len() > LIMIT {
        too_many(reader, table, ("rig", rigs.len()));
        rigs.clear();
    }
    let listed = table.value("rig").and_then(|v| v.get_ref().as_table());
    if listed.is_some_and(|all| all.is_empty()) {
        let mend = "add one, as [scene.mill-street.rig.pumper-1]";
        let message = format!("{} has no rigs", table.what);
        reader.error("empty", table.at("rig"), message, mend);
    }
    let mut scene = Scene {
        title: reader.text(table, "title"),
        duration: reader.quantity(table, "duration"),
        open_outlets: reader.flag(table, "open_outlets"),
        spill: reader.inner(table, "spill").map(|t| spill(reader, &t)),
        fire: reader.inner(table, "fire").map(|t| fire(reader, &t)),
        about: reader.about(table),
        ..Scene::default()
    };
    for (rig, inner) in &rigs {
        let rigs = rigs.as_slice();
        let names = Names {
            book,
            rigs,
            scene: name,
            rig,
        };
        at_work(reader, &names, (table, inner));
        let item = self::rig(reader, &names, inner);
        scene.rig.insert(rig.clone(), item);
    }
    relay_circle(reader, &scene, &rigs);
    scene
}

/// Refuses a rig that the book has not, or that has no pump.
fn at_work(reader: &mut Reader, names: &Names<'_>, (scene, rig): (&Table<'_>, &Table<'_>)) {
    let name = names.rig;
    let all = scene.value("rig").and_then(|v| v.get_ref().as_table());
    let entry = all.and_then(|map| map.get_key_value(name));
    let span = entry.map_or_else(|| rig.span.clone(), |(key, _)| key.span());
    known(reader, names, ("rig", name), (&scene.what, span.clone()));
    let item = names.book.rig.get(name);
    if item.is_some_and(|item| item.pump.is_none() && item.pump_points.is_empty()) {
        let message = format!("{}: rig \"{name}\" has no pump", scene.what);
        let mend = format!("write pump = \"1250 gpm\" at [rig.{}]", key(name));
        reader.error("missing", span, message, mend);
    }
}

/// Refuses a name of `kind` that the book, or for a relay the scene, has not.
fn known(
    reader: &mut Reader,
    names: &Names<'_>,
    (kind, name): (&str, &str),
    (what, span): (&str, Span),
) {
    let own = match kind {
        "rig" => others(&names.book.rig, name),
        "line" => others(&names.book.line, name),
        "hydrant" => others(&names.book.hydrant, name),
        "draft" => others(&names.book.draft, name),
        "shuttle" => others(&names.book.shuttle, name),
        "standpipe" => others(&names.book.standpipe, name),
        _ => names.relays(name),
    };
    let Some(own) = own.filter(|_| !reader.full()) else {
        return;
    };
    if kind == "relay" && names.book.rig.contains_key(name) {
        let message = format!("{what}: rig \"{name}\" is not at work in this scene");
        let mend = format!(
            "add [scene.{}.rig.{name}], or name a rig at work",
            names.scene
        );
        return reader.error("unknown_name", span, message, mend);
    }
    let (word, has) = match kind {
        "relay" => ("rig at work", "the scene has"),
        kind => (kind, "the book has"),
    };
    let mend = match nearest(name, own.iter().copied()) {
        Some(near) => format!("did you mean \"{near}\"?"),
        None if own.is_empty() => format!("{has} none yet; add it"),
        None => format!("{has} {}", listed(&own)),
    };
    let message = format!("{what}: there is no {word} \"{}\"", short(name));
    reader.error("unknown_name", span, message, mend);
}

impl Names<'_> {
    /// The other rigs of the scene, unless `name` is at work in it.
    fn relays(&self, name: &str) -> Option<Vec<&str>> {
        let all = self.rigs.iter().map(|(rig, _)| rig.as_str());
        let missing = all.clone().all(|rig| rig != name);
        missing.then(|| all.filter(|rig| *rig != self.rig).collect())
    }
}

/// The names in `items`, unless `name` is one of them.
fn others<'a, T>(items: &'a IndexMap<String, T>, name: &str) -> Option<Vec<&'a str>> {
    (!items.contains_key(name)).then(|| items.keys().map(String::as_str).collect())
}

/// The tables that `key` lists, if they are not too many.
fn some<'t>(reader: &mut Reader, table: &Table<'t>, key: &str) -> Vec<Table<'t>> {
    let listed = table.value(key).and_then(|v| v.get_ref().as_array());
    match listed.map_or(0, |all| all.len()) {
        0..=LIMIT => reader.tables(table, key),
        count => {
            too_many(reader, table, (key, count));
            Vec::new()
        }
    }
}

fn too_many(reader: &mut Reader, table: &Table<'_>, (key, count): (&str, usize)) {
    let word = if key == "rig" { "rigs" } else { key };
    let message = format!(
        "{} has {count} {word}; at most {LIMIT} are allowed",
        table.what
    );
    reader.error("too_many", table.at(key), message, "divide the scene");
}

fn rig(reader: &mut Reader, names: &Names<'_>, table: &Table<'_>) -> SceneRig {
    reader.not_with(table, "speed", "pump_pressure");
    let standpipes = some(reader, table, "standpipes");
    let standpipe: Vec<SceneStandpipe> = standpipes
        .iter()
        .map(|t| standpipe(reader, names, t))
        .collect();
    fed_once(reader, table, &standpipes, &standpipe);
    let lines = some(reader, table, "lines");
    let intake = intakes(reader, names, table);
    if table.has("height") && intake.iter().any(|i| rises(&i.parts)) {
        reader.report(
            Severity::Warning,
            "height_and_rise",
            table.at("height"),
            format!(
                "{} has a height, and its supply line has a rise: the height counts",
                table.what
            ),
            "leave one of the two out",
        );
    }
    SceneRig {
        intake,
        pump_pressure: reader.quantity(table, "pump_pressure"),
        speed: reader.quantity(table, "speed"),
        height: reader.quantity(table, "height"),
        lines: lines
            .iter()
            .map(|t| line(reader, (names, table), &standpipe, t))
            .collect(),
        standpipe,
        about: reader.about(table),
    }
}

fn rises(parts: &[Part]) -> bool {
    parts.iter().any(|part| match part {
        Part::Hose(part) => part.rise.is_some(),
        Part::Nozzle(part) => part.rise.is_some(),
        Part::Appliance(part) => part.rise.is_some(),
        Part::Legs(rows) | Part::Branches(rows) => rows.iter().any(|row| rises(row)),
    })
}

fn intakes(reader: &mut Reader, names: &Names<'_>, table: &Table<'_>) -> Vec<Intake> {
    let listed = table.value("intake").map(|v| v.get_ref());
    if listed
        .and_then(|v| v.as_array())
        .is_some_and(|all| all.is_empty())
    {
        let mend =
            "write one, as [{ hydrant = \"mill-street\", parts = [...] }] or [{ tank = true }]";
        let message = format!("{} has no water", table.what);
        reader.error("empty", table.at("intake"), message, mend);
    }
    let tables = some(reader, table, "intake");
    let mut intakes: Vec<Intake> = Vec::new();
    for inner in &tables {
        let Some(intake) = intake(reader, names, inner) else {
            continue;
        };
        let tank = |other: &Intake| other.from == IntakeFrom::Tank;
        if tank(&intake) && intakes.iter().any(tank) {
            let message = format!("{} takes water from its tank twice", table.what);
            reader.error(
                "duplicate_key",
                inner.span.clone(),
                message,
                "keep one of the two",
            );
        }
        intakes.push(intake);
    }
    intakes
}

fn intake(reader: &mut Reader, names: &Names<'_>, table: &Table<'_>) -> Option<Intake> {
    let from = source(reader, names, table)?;
    let laid = matches!(from, IntakeFrom::Hydrant(_) | IntakeFrom::Rig(_));
    if !laid && table.has("parts") {
        let message = format!(
            "{} has parts, but its water comes without a supply line",
            table.what
        );
        let mend = "leave parts out; the loss of a suction belongs to the draft or the shuttle";
        reader.error("not_its_key", table.at("parts"), message, mend);
    }
    let parts = match laid {
        true => lines::supply(reader, names.book, table),
        false => Vec::new(),
    };
    Some(Intake { from, parts })
}

/// From where an intake has its water: told by the one key that says so.
fn source(reader: &mut Reader, names: &Names<'_>, table: &Table<'_>) -> Option<IntakeFrom> {
    const WORDS: [&str; 5] = ["hydrant", "rig", "draft", "shuttle", "tank"];
    const MEND: &str = "write one of hydrant, rig, draft, shuttle, or tank = true";
    let told: Vec<&str> = WORDS.into_iter().filter(|w| table.has(w)).collect();
    let from = match told.as_slice() {
        ["tank"] if reader.flag(table, "tank") => return Some(IntakeFrom::Tank),
        ["tank"] => {
            if table.value("tank").is_some_and(|v| v.get_ref().is_bool()) {
                let message = format!("{} is not from the tank, and from nowhere else", table.what);
                reader.error("missing", table.at("tank"), message, MEND);
            }
            return None;
        }
        ["hydrant"] => ("hydrant", IntakeFrom::Hydrant as fn(String) -> IntakeFrom),
        ["rig"] => ("rig", IntakeFrom::Rig as fn(String) -> IntakeFrom),
        ["draft"] => ("draft", IntakeFrom::Draft as fn(String) -> IntakeFrom),
        ["shuttle"] => ("shuttle", IntakeFrom::Shuttle as fn(String) -> IntakeFrom),
        [] => {
            let message = format!("{} does not say from where", table.what);
            reader.error("missing", table.span.clone(), message, MEND);
            return None;
        }
        [.., last] => {
            let message = format!("{} is from {} at once", table.what, told.join(" and "));
            let mend = "keep one, and write the other as an intake of its own, in { }";
            reader.error("one_of_two", table.at(last), message, mend);
            return None;
        }
    };
    let (key, from) = from;
    let name = reader.name_of(table, key)?;
    let kind = if key == "rig" { "relay" } else { key };
    known(reader, names, (kind, &name), (&table.what, table.at(key)));
    Some(from(name))
}

/// A line off `rig`, or off one of the standpipes that the rig feeds.
fn line(
    reader: &mut Reader,
    (names, rig): (&Names<'_>, &Table<'_>),
    fed: &[SceneStandpipe],
    table: &Table<'_>,
) -> SceneLine {
    let name = reader.name_of(table, "line");
    if let Some(name) = &name {
        known(
            reader,
            names,
            ("line", name),
            (&table.what, table.at("line")),
        );
    }
    let pipe = reader.name_of(table, "standpipe");
    let floor: Option<Stated<Ratio>> = reader.quantity(table, "floor");
    if let Some(pipe) = &pipe {
        known(
            reader,
            names,
            ("standpipe", pipe),
            (&table.what, table.at("standpipe")),
        );
        if !table.has("floor") {
            reader.missing(table, "floor", "floor = 5");
        }
        if let Some(floor) = &floor {
            on_floor(reader, names, table, (pipe, floor));
        }
        not_fed(reader, (names, rig), fed, (table, pipe));
    }
    reader.only_with(table, "floor", "standpipe", "standpipe = \"...\"");
    SceneLine {
        line: name.unwrap_or_default(),
        standpipe: pipe,
        floor,
        gate: reader.quantity(table, "gate"),
        foam: reader.quantity(table, "foam"),
    }
}

/// Refuses a floor that the standpipe has not.
fn on_floor(
    reader: &mut Reader,
    names: &Names<'_>,
    table: &Table<'_>,
    (pipe, floor): (&str, &Stated<Ratio>),
) {
    let Some(top) = names.book.standpipe.get(pipe).map(|p| &p.floors) else {
        return;
    };
    if floor.get() <= top.get() {
        return;
    }
    let (what, floor, top) = (&table.what, floor.text(), top.text());
    let message = format!("{what} is on floor {floor}, but standpipe \"{pipe}\" has {top} floors");
    let mend = "check the floor, or the standpipe's floors";
    reader.error("out_of_range", table.at("floor"), message, mend);
}

/// Refuses a line off a standpipe that its rig does not feed.
fn not_fed(
    reader: &mut Reader,
    (names, rig): (&Names<'_>, &Table<'_>),
    fed: &[SceneStandpipe],
    (table, pipe): (&Table<'_>, &str),
) {
    if fed.iter().any(|s| s.standpipe == *pipe) || !names.book.standpipe.contains_key(pipe) {
        return;
    }
    let (what, rig) = (&table.what, &rig.what);
    let message = format!("{what} comes off standpipe \"{pipe}\", which {rig} does not feed");
    let mend = format!("add standpipes = [{{ standpipe = \"{pipe}\", parts = [...] }}] to the rig");
    reader.error("standpipe_not_fed", table.at("standpipe"), message, mend);
}

fn standpipe(reader: &mut Reader, names: &Names<'_>, table: &Table<'_>) -> SceneStandpipe {
    let name = reader.name_of(table, "standpipe");
    if let Some(name) = &name {
        known(
            reader,
            names,
            ("standpipe", name),
            (&table.what, table.at("standpipe")),
        );
    }
    SceneStandpipe {
        standpipe: name.unwrap_or_default(),
        parts: lines::supply(reader, names.book, table),
    }
}

/// Refuses a standpipe that a rig feeds twice: its lines would be laid twice.
fn fed_once(reader: &mut Reader, rig: &Table<'_>, tables: &[Table<'_>], all: &[SceneStandpipe]) {
    for (index, (table, pipe)) in tables.iter().zip(all).enumerate() {
        let before = all.iter().take(index);
        let name = &pipe.standpipe;
        if table.has("standpipe") && before.into_iter().any(|other| other.standpipe == *name) {
            let message = format!("{} feeds standpipe \"{name}\" twice", rig.what);
            let mend = "keep one, with both lines to it as { legs = [[...], [...]] }";
            reader.error("duplicate_key", table.at("standpipe"), message, mend);
        }
    }
}

/// Refuses rigs that feed each other in a circle.
fn relay_circle(reader: &mut Reader, scene: &Scene, rigs: &[(String, Table<'_>)]) {
    for (start, table) in rigs {
        let circle = feeders(scene, start).find(|from| reaches(scene, from, start));
        let Some(from) = circle else { continue };
        let message = match from == start {
            true => format!("{} is fed by itself", table.what),
            false => format!(
                "{} is fed by rig \"{from}\", which is fed by it",
                table.what
            ),
        };
        let mend = "let the first rig of a relay take its water from a hydrant, a draft, a shuttle or its tank";
        reader.error("relay_circle", relay_spot(table, from), message, mend);
        return;
    }
}

/// The rigs that feed `rig`.
fn feeders<'s>(scene: &'s Scene, rig: &str) -> impl Iterator<Item = &'s str> {
    let intakes = scene.rig.get(rig).into_iter().flat_map(|rig| &rig.intake);
    intakes.filter_map(|intake| match &intake.from {
        IntakeFrom::Rig(from) => Some(from.as_str()),
        _ => None,
    })
}

/// Does going up the relay from `rig` come to `wanted`?
fn reaches(scene: &Scene, rig: &str, wanted: &str) -> bool {
    let (mut seen, mut stack) = (HashSet::new(), vec![rig]);
    while let Some(name) = stack.pop() {
        if name == wanted {
            return true;
        }
        if seen.insert(name) {
            stack.extend(feeders(scene, name));
        }
    }
    false
}

/// Where the intake of a rig names the rig `from`.
fn relay_spot(table: &Table<'_>, from: &str) -> Span {
    let intakes = table.value("intake").and_then(|v| v.get_ref().as_array());
    let named = intakes.into_iter().flat_map(|all| all.iter());
    let named = named.filter_map(|intake| intake.get_ref().as_table()?.get("rig"));
    let named: Vec<_> = named.collect();
    let exact = named.iter().find(|v| v.get_ref().as_str() == Some(from));
    let spot = exact.or(named.first()).map(|value| value.span());
    spot.unwrap_or_else(|| table.span.clone())
}

fn spill(reader: &mut Reader, table: &Table<'_>) -> SpillWritten {
    SpillWritten {
        area: reader.quantity_or(table, "area"),
        fuel: match reader.word(table, "fuel") {
            Some("polar") => Fuel::Polar,
            _ => Fuel::Hydrocarbon,
        },
        rate: reader.quantity(table, "rate"),
        duration: reader.quantity(table, "duration"),
        ratio: reader.quantity_or(table, "ratio"),
    }
}

fn fire(reader: &mut Reader, table: &Table<'_>) -> FireWritten {
    FireWritten {
        length: reader.quantity_or(table, "length"),
        width: reader.quantity_or(table, "width"),
        height: reader.quantity_or(table, "height"),
        floors: reader.quantity(table, "floors"),
        involved: reader.quantity(table, "involved"),
        exposed_sides: reader.quantity(table, "exposed_sides"),
        exposed_floors: reader.quantity(table, "exposed_floors"),
        hazard: reader.quantity(table, "hazard"),
        construction_type: reader
            .word(table, "construction_type")
            .and_then(construction_type),
        construction: reader.word(table, "construction").and_then(construction),
        occupancy: reader.quantity(table, "occupancy"),
        exposure: reader.quantity(table, "exposure"),
    }
}

fn construction_type(word: &str) -> Option<ConstructionType> {
    Some(match word {
        "I" => ConstructionType::I,
        "II" => ConstructionType::II,
        "III" => ConstructionType::III,
        "IV" => ConstructionType::IV,
        "V" => ConstructionType::V,
        _ => return None,
    })
}

fn construction(word: &str) -> Option<Construction> {
    Some(match word {
        "frame" => Construction::Frame,
        "joisted-masonry" => Construction::JoistedMasonry,
        "noncombustible" => Construction::Noncombustible,
        "fire-resistive" => Construction::FireResistive,
        _ => return None,
    })
}
