//! The department, its equipment and its rigs.

use super::walk::{Reader, Table, blank};
use super::{gauges, tests, water};
use crate::keys::{self, Shape};
use crate::model::{
    ApplianceItem, ApplianceKind, Attachment, AutomaticSetting, Book, Crew, EductorWritten,
    FrictionWritten, HoseItem, LossWritten, Measured, NozzleForm, NozzleItem, NozzleKind, RigItem,
    Shutoff, Stated,
};
use crate::problem::Severity;
use hydraulics::coupling::{Coupling, Side};
use hydraulics::friction::Coefficient;
use hydraulics::pump::Pump;
use hydraulics::units::{Pressure, System, VolumeRate};
use hydraulics::valve::ValveKind;
use indexmap::IndexMap;
use toml::de::{DeTable, DeValue};

pub(super) fn book(reader: &mut Reader, map: &DeTable<'_>) -> Book {
    let file = Table {
        map,
        keys: keys::FILE,
        span: 0..0,
        what: "the book".into(),
    };
    let mut book = Book::default();
    reader.check_keys(&file);
    if let Some(head) = reader.inner(&file, "book") {
        department(reader, &head, &mut book);
    }
    for (name, table) in reader.named(&file, "hose") {
        book.hose.insert(name, hose(reader, &table));
    }
    for (name, table) in reader.named(&file, "nozzle") {
        book.nozzle.insert(name, nozzle(reader, &table));
    }
    for (name, table) in reader.named(&file, "appliance") {
        book.appliance.insert(name, appliance(reader, &table));
    }
    for (name, table) in reader.named(&file, "gauge") {
        book.gauge.insert(name, gauges::gauge(reader, &table));
    }
    for (name, table) in reader.named(&file, "rig") {
        book.rig.insert(name, rig(reader, &table));
    }
    let hydrants = reader.named(&file, "hydrant");
    for (name, table) in &hydrants {
        let hydrant = water::hydrant(reader, table);
        book.hydrant.insert(name.clone(), hydrant);
    }
    water::same_mains(reader, &book, &hydrants);
    for (name, table) in reader.named(&file, "draft") {
        book.draft.insert(name, water::draft(reader, &table));
    }
    for (name, table) in reader.named(&file, "shuttle") {
        book.shuttle.insert(name, water::shuttle(reader, &table));
    }
    for (name, table) in reader.named(&file, "standpipe") {
        book.standpipe
            .insert(name, water::standpipe(reader, &table));
    }
    // Lines and scenes come last: they are checked against all of the above.
    for (name, table) in reader.named(&file, "line") {
        let line = super::lines::line(reader, &book, &name, &table);
        book.line.insert(name, line);
    }
    for (name, table) in reader.named(&file, "scene") {
        let scene = super::scenes::scene(reader, &book, &name, &table);
        book.scene.insert(name, scene);
    }
    book
}

fn department(reader: &mut Reader, table: &Table<'_>, book: &mut Book) {
    // First, for it says how bare numbers are read.
    if let Some("si") = reader.word(table, "units") {
        book.units = System::Si;
    }
    reader.system = book.units;
    book.name = reader.text(table, "name").unwrap_or_default();
    book.water = reader.quantity(table, "water");
    book.pump_ceiling = reader.quantity(table, "pump_ceiling");
    book.money = reader.money(table);
    book.about = reader.about(table);
    book.crew = reader.inner(table, "crew").map(|t| crew(reader, &t));
}

fn crew(reader: &mut Reader, table: &Table<'_>) -> Crew {
    let crew = Crew {
        one: reader.quantity_or(table, "one"),
        two: reader.quantity_or(table, "two"),
        three: reader.quantity_or(table, "three"),
        about: reader.about(table),
    };
    let rising = crew.one.get() <= crew.two.get() && crew.two.get() <= crew.three.get();
    let read = ["one", "two", "three"].iter().all(|key| table.has(key));
    if read && !rising {
        reader.error(
            "reversed",
            table.span.clone(),
            "the book's crew limits fall as people are added",
            "write what one, two and three people can hold in this order",
        );
    }
    crew
}

fn hose(reader: &mut Reader, table: &Table<'_>) -> HoseItem {
    let (inlet, outlet) = ends(reader, table);
    let measured = reader.inner(table, "measured");
    let hose = HoseItem {
        size: reader.quantity_or(table, "size"),
        friction: friction(reader, table),
        measured: measured.and_then(|t| self::measured(reader, &t)),
        inlet,
        outlet,
        service_pressure: reader.quantity(table, "service_pressure"),
        weight: reader.weight(table, "weight"),
        price: reader.section_price(table, "price"),
        stock: reader.quantity(table, "stock"),
        about: reader.about(table),
    };
    if !["coefficient", "bore", "measured"]
        .iter()
        .any(|k| table.has(k))
    {
        reader.missing(table, "friction", "coefficient = 15.5");
    }
    outside_spread(reader, table, &hose);
    hose
}

fn ends(
    reader: &mut Reader,
    table: &Table<'_>,
) -> (Option<Stated<Coupling>>, Option<Stated<Coupling>>) {
    if !table.has("coupling") {
        return (
            reader.coupling(table, "inlet", Side::Inlet),
            reader.coupling(table, "outlet", Side::Outlet),
        );
    }
    for key in ["inlet", "outlet"] {
        reader.not_with(table, key, "coupling");
    }
    let inlet = reader.coupling(table, "coupling", Side::Inlet);
    let outlet = match &inlet {
        Some(_) => reader.coupling(table, "coupling", Side::Outlet),
        None => None,
    };
    (inlet, outlet)
}

fn friction(reader: &mut Reader, table: &Table<'_>) -> Option<FrictionWritten> {
    for key in ["bore", "roughness", "hazen_williams"] {
        reader.not_with(table, key, "coefficient");
    }
    reader.not_with(table, "roughness", "hazen_williams");
    if table.has("coefficient") {
        let spread = spread(reader, table);
        return Some(FrictionWritten::Coefficient {
            coefficient: reader.coefficient_of(table, "coefficient")?,
            spread,
        });
    }
    reader.only_with(table, "spread", "coefficient", "coefficient = 15.5");
    if table.has("hazen_williams") {
        reader.only_with(table, "hazen_williams", "bore", "bore = \"45 mm\"");
        return Some(FrictionWritten::HazenWilliams {
            bore: reader.quantity(table, "bore")?,
            hazen_williams: reader.quantity(table, "hazen_williams")?,
        });
    }
    reader.only_with(table, "roughness", "bore", "bore = \"45 mm\"");
    reader.only_with(table, "bore", "roughness", "roughness = \"0.02 mm\"");
    Some(FrictionWritten::Roughness {
        bore: reader.quantity(table, "bore")?,
        roughness: reader.quantity(table, "roughness")?,
    })
}

fn spread(reader: &mut Reader, table: &Table<'_>) -> Option<[Stated<Coefficient>; 2]> {
    let [low, high] = reader.pair(table, "spread")?;
    let what = format!("spread of {}", table.what);
    let low = reader.coefficient(low, &what);
    let high = reader.coefficient(high, &what);
    let pair = [low?, high?];
    let [low, high] = &pair;
    reader.rising(table, "spread", low.get() <= high.get());
    Some(pair)
}

fn measured(reader: &mut Reader, table: &Table<'_>) -> Option<Measured> {
    let coefficient = reader.coefficient_of(table, "coefficient");
    let date = reader.date(table, "date");
    let uncertainty = reader.coefficient_of(table, "uncertainty");
    let source = reader.text(table, "source");
    Some(Measured {
        coefficient: coefficient?,
        date,
        uncertainty,
        source,
    })
}

/// Warns of a coefficient outside the spread that stands beside it.
fn outside_spread(reader: &mut Reader, table: &Table<'_>, hose: &HoseItem) {
    let Some((low, high)) = hose.spread() else {
        return;
    };
    let published = match &hose.friction {
        Some(FrictionWritten::Coefficient { coefficient, .. }) => {
            Some((coefficient, "coefficient"))
        }
        _ => None,
    };
    let measured = hose.measured.as_ref().map(|m| (&m.coefficient, "measured"));
    for (stated, key) in published.into_iter().chain(measured) {
        if !(low <= stated.get() && stated.get() <= high) {
            reader.report(
                Severity::Warning,
                "outside_spread",
                table.at(key),
                format!(
                    "the {key} C {} of {} lies outside its published spread",
                    stated.text(),
                    table.what
                ),
                "check the number; a test may also have gone wrong",
            );
        }
    }
}

fn nozzle(reader: &mut Reader, table: &Table<'_>) -> NozzleItem {
    let shutoff = match reader.word(table, "shutoff") {
        Some("slide") => Shutoff::Slide,
        Some("ball") => Shutoff::Ball,
        _ => Shutoff::None,
    };
    let kind = nozzle_kind(reader, table);
    let nozzle = NozzleItem {
        measured: tests::measured(reader, table, &kind),
        kind,
        shutoff,
        waterway: reader.quantity(table, "waterway"),
        coupling: reader.coupling(table, "coupling", Side::Inlet),
        breaks_at: reader.coupling(table, "breaks_at", Side::Outlet),
        form: form(reader, table),
        marking: reader.marking(table),
        foam: reader.flag(table, "foam"),
        attachment: attachments(reader, table),
        price: reader.quantity(table, "price"),
        stock: reader.quantity(table, "stock"),
        about: reader.about(table),
    };
    if nozzle.breaks_at.is_some() && shutoff == Shutoff::None {
        reader.error(
            "no_shutoff",
            table.at("breaks_at"),
            format!("{} breaks at its shut-off but has none", table.what),
            "write shutoff = \"ball\" or \"slide\", or leave breaks_at out",
        );
    }
    form_and_shutoff(reader, table, &nozzle);
    nozzle
}

fn form(reader: &mut Reader, table: &Table<'_>) -> Option<NozzleForm> {
    let word = reader.word(table, "form")?;
    NozzleForm::ALL.into_iter().find(|form| form.word() == word)
}

/// Warns of a form that the shut-off belies.
fn form_and_shutoff(reader: &mut Reader, table: &Table<'_>, nozzle: &NozzleItem) {
    let Some(form) = nozzle.form else { return };
    let has = nozzle.shutoff != Shutoff::None;
    if form.has_shutoff().is_none_or(|should| should == has) {
        return;
    }
    let mend = match has {
        true => "write another form, or leave shutoff out",
        false => "write shutoff = \"ball\" or \"slide\", or another form",
    };
    reader.report(
        Severity::Warning,
        "form_and_shutoff",
        table.at("form"),
        format!(
            "{} is put together as {}, but its shut-off is {}",
            table.what,
            form.word(),
            nozzle.shutoff.word()
        ),
        mend,
    );
}

fn attachments(reader: &mut Reader, table: &Table<'_>) -> IndexMap<String, Attachment> {
    let named = reader.named(table, "attachment");
    let read = |(name, inner): (String, Table<'_>)| {
        let attachment = Attachment {
            expansion: reader.quantity_or(&inner, "expansion"),
            reach: reader.quantity_or(&inner, "reach"),
        };
        (name, attachment)
    };
    named.into_iter().map(read).collect()
}

/// The keys that each kind of nozzle takes beside the common ones; the needed
/// ones first, and how many they are.
const KINDS: [(&str, usize, &[&str]); 4] = [
    ("smooth-bore", 1, &["bore", "coefficient"]),
    ("fixed", 2, &["flow", "pressure"]),
    ("selectable", 2, &["flows", "pressure"]),
    ("automatic", 1, &["setting", "band", "flush"]),
];

fn nozzle_kind(reader: &mut Reader, table: &Table<'_>) -> NozzleKind {
    let word = reader.word(table, "kind").unwrap_or("");
    kind_keys(reader, table, word);
    match word {
        "smooth-bore" => NozzleKind::SmoothBore {
            bore: reader.quantity_or(table, "bore"),
            coefficient: reader.quantity(table, "coefficient"),
        },
        "fixed" => NozzleKind::Fixed {
            flow: reader.quantity_or(table, "flow"),
            pressure: reader.quantity_or(table, "pressure"),
        },
        "selectable" => NozzleKind::Selectable {
            flows: flows(reader, table),
            pressure: reader.quantity_or(table, "pressure"),
        },
        _ => NozzleKind::Automatic {
            settings: settings(reader, table),
            band: reader.quantity(table, "band"),
            flush: reader.flag(table, "flush"),
        },
    }
}

/// Asks for the keys that a kind of nozzle needs and refuses those of others.
fn kind_keys(reader: &mut Reader, table: &Table<'_>, word: &str) {
    let Some((_, needed, own)) = KINDS.iter().find(|(kind, ..)| *kind == word) else {
        return;
    };
    for key in own.iter().take(*needed).filter(|key| !table.has(key)) {
        let example = match *key {
            "bore" => "bore = \"15/16 in\"",
            "flow" => "flow = \"150 gpm\"",
            "flows" => "flows = [\"95 gpm\", \"125 gpm\"]",
            "pressure" => "pressure = \"100 psi\"",
            _ => {
                "setting.high = { flow = [\"70 gpm\", \"200 gpm\"], pressure = [\"94 psi\", \"106 psi\"] }"
            }
        };
        reader.missing(table, key, example);
    }
    for (kind, _, keys) in &KINDS {
        for key in keys
            .iter()
            .filter(|key| !own.contains(key) && table.has(key))
        {
            reader.error(
                "not_its_key",
                table.at(key),
                format!(
                    "{} is {word}, and {key} belongs to {kind} nozzles",
                    table.what
                ),
                format!("leave {key} out, or write kind = \"{kind}\""),
            );
        }
    }
}

fn flows(reader: &mut Reader, table: &Table<'_>) -> IndexMap<String, Stated<VolumeRate>> {
    let mut flows = IndexMap::new();
    let (Some(value), Some(Shape::Listed(Shape::Quantity(bounds)))) =
        (table.value("flows"), keys::shape(table.keys, "flows"))
    else {
        return flows;
    };
    let empty = match value.get_ref() {
        DeValue::Array(items) => {
            for item in items.iter() {
                let what = format!("flow of {}", table.what);
                let Some(flow) = reader.measure::<VolumeRate>(item, &what, bounds) else {
                    continue;
                };
                let name = flow.text().to_string();
                if flows.insert(name.clone(), flow).is_some() {
                    reader.error(
                        "duplicate_key",
                        item.span(),
                        format!("{} lists {name} twice", table.what),
                        "keep one of the two",
                    );
                }
            }
            items.is_empty()
        }
        DeValue::Table(map) => {
            for (name, item) in map.iter() {
                let what = format!("flow \"{}\" of {}", name.get_ref(), table.what);
                reader.name(name.get_ref(), name.span(), &what);
                if let Some(flow) = reader.measure(item, &what, bounds) {
                    flows.insert(name.get_ref().to_string(), flow);
                }
            }
            map.is_empty()
        }
        _ => {
            reader.wrong_type(value, &format!("list of flows of {}", table.what), "a list");
            false
        }
    };
    if empty {
        reader.error(
            "empty",
            value.span(),
            format!("{} has no flows", table.what),
            "write one flow for each setting, as [\"95 gpm\", \"125 gpm\"]",
        );
    }
    flows
}

fn settings(reader: &mut Reader, table: &Table<'_>) -> IndexMap<String, AutomaticSetting> {
    let mut settings = IndexMap::new();
    let named = reader.named(table, "setting");
    let held = table.value("setting").and_then(|v| v.get_ref().as_table());
    if held.is_some_and(|map| map.is_empty()) {
        reader.error(
            "empty",
            table.at("setting"),
            format!("{} has no setting", table.what),
            "write setting.high = { flow = [...], pressure = [...] }",
        );
    }
    for (name, inner) in named {
        let flow = reader.quantity_pair(&inner, "flow");
        let pressure = reader.quantity_pair(&inner, "pressure");
        let read = flow
            .as_ref()
            .is_some_and(|[low, high]| low.get() <= high.get())
            && pressure
                .as_ref()
                .is_some_and(|[low, high]| low.get() <= high.get());
        let setting = AutomaticSetting {
            flow: flow.unwrap_or_else(|| [blank(), blank()]),
            pressure: pressure.unwrap_or_else(|| [blank(), blank()]),
        };
        if read && let Err(error) = setting.nozzle() {
            reader.error(
                "bad_range",
                inner.span.clone(),
                format!("{}: {error}", inner.what),
                "the nozzle must open, not close, from the low end to the high end",
            );
        }
        settings.insert(name, setting);
    }
    settings
}

fn appliance(reader: &mut Reader, table: &Table<'_>) -> ApplianceItem {
    let word = reader.word(table, "kind");
    let kind = ApplianceKind::ALL
        .into_iter()
        .find(|k| Some(k.word()) == word);
    let gates = match reader.word(table, "gates") {
        Some("ball") => Some(ValveKind::Ball),
        Some("slide") => Some(ValveKind::Slide),
        _ => None,
    };
    ApplianceItem {
        kind: kind.unwrap_or(ApplianceKind::Other),
        loss: loss(reader, table),
        gates,
        clappers: reader.flag(table, "clappers"),
        eductor: eductor(reader, table, kind),
        setting: setting(reader, table, kind),
        waterway: reader.quantity(table, "waterway"),
        inlets: couplings(reader, table, "inlets", Side::Inlet),
        outlets: couplings(reader, table, "outlets", Side::Outlet),
        price: reader.quantity(table, "price"),
        about: reader.about(table),
    }
}

fn loss(reader: &mut Reader, table: &Table<'_>) -> Option<LossWritten> {
    reader.not_with(table, "loss", "allowance");
    reader.only_with(table, "from_flow", "allowance", "allowance = \"10 psi\"");
    if table.has("allowance") {
        return Some(LossWritten::Allowance {
            allowance: reader.quantity_or(table, "allowance"),
            from_flow: reader.quantity(table, "from_flow"),
        });
    }
    let inner = reader.inner(table, "loss")?;
    Some(loss_at(reader, &inner))
}

/// So much at a flow.
pub(super) fn loss_at(reader: &mut Reader, table: &Table<'_>) -> LossWritten {
    LossWritten::Rated {
        pressure: reader.quantity_or(table, "pressure"),
        flow: reader.quantity_or(table, "flow"),
    }
}

const OF_EDUCTORS: [(&str, &str); 2] = [
    ("flow", "flow = \"95 gpm\""),
    ("inlet_pressure", "inlet_pressure = \"200 psi\""),
];

fn eductor(
    reader: &mut Reader,
    table: &Table<'_>,
    kind: Option<ApplianceKind>,
) -> Option<EductorWritten> {
    if kind != Some(ApplianceKind::Eductor) {
        for key in ["flow", "inlet_pressure", "back_pressure"] {
            belongs(reader, table, key, "eductor");
        }
        return None;
    }
    for (key, example) in OF_EDUCTORS {
        if !table.has(key) {
            reader.missing(table, key, example);
        }
    }
    let eductor = EductorWritten {
        flow: reader.quantity_or(table, "flow"),
        inlet_pressure: reader.quantity_or(table, "inlet_pressure"),
        back_pressure: reader.quantity(table, "back_pressure"),
    };
    if let Err(error) = eductor.law() {
        let message = format!("{}: {error}", table.what);
        let mend = "write back_pressure = \"65 %\", or \"70 %\"";
        reader.error("bad_share", table.at("back_pressure"), message, mend);
    }
    Some(eductor)
}

fn setting(
    reader: &mut Reader,
    table: &Table<'_>,
    kind: Option<ApplianceKind>,
) -> Option<Stated<Pressure>> {
    if kind != Some(ApplianceKind::RegulatingValve) {
        belongs(reader, table, "setting", "regulating-valve");
        return None;
    }
    if !table.has("setting") {
        reader.missing(table, "setting", "setting = \"100 psi\"");
    }
    Some(reader.quantity_or(table, "setting"))
}

/// Refuses a key that belongs to another kind of appliance.
fn belongs(reader: &mut Reader, table: &Table<'_>, key: &str, kind: &str) {
    if table.has(key) {
        let message = format!("{} is no {kind}, but has {key}", table.what);
        let mend = format!("leave {key} out, or write kind = \"{kind}\"");
        reader.error("not_its_key", table.at(key), message, mend);
    }
}

fn couplings(
    reader: &mut Reader,
    table: &Table<'_>,
    key: &str,
    side: Side,
) -> Vec<Stated<Coupling>> {
    let what = format!("{key} of {}", table.what);
    let values = reader.several(table, key);
    if values.len() > 12 {
        let message = format!("the {what} are {}; at most 12 are allowed", values.len());
        reader.error("too_many", table.at(key), message, "leave some out");
        return Vec::new();
    }
    let read = |value| reader.coupling_value(value, &what, side);
    values.into_iter().filter_map(read).collect()
}

fn rig(reader: &mut Reader, table: &Table<'_>) -> RigItem {
    RigItem {
        pump: reader.quantity(table, "pump"),
        pump_rated_at: reader.quantity(table, "pump_rated_at"),
        pump_points: pump_points(reader, table),
        pump_tested: pump_tested(reader, table),
        tank: reader.quantity(table, "tank"),
        tank_flow: reader.quantity(table, "tank_flow"),
        concentrate: reader.quantity(table, "concentrate"),
        proportioner: reader.quantity(table, "proportioner"),
        about: reader.about(table),
    }
}

fn pump_tested(reader: &mut Reader, table: &Table<'_>) -> Option<String> {
    let example = "pump_points = [{ flow = \"600 gpm\", pressure = \"250 psi\" }, { flow = \"1200 gpm\", pressure = \"150 psi\" }]";
    reader.only_with(table, "pump_tested", "pump_points", example);
    reader.date(table, "pump_tested")
}

fn pump_points(
    reader: &mut Reader,
    table: &Table<'_>,
) -> Vec<(Stated<VolumeRate>, Stated<Pressure>)> {
    reader.only_with(table, "pump_rated_at", "pump", "pump = \"2000 L/min\"");
    if !table.has("pump_points") {
        return Vec::new();
    }
    let inner = reader.tables(table, "pump_points");
    let point = |t| {
        let (flow, pressure) = (reader.quantity(t, "flow"), reader.quantity(t, "pressure"));
        Some((flow?, pressure?))
    };
    let read: Vec<Option<_>> = inner.iter().map(point).collect();
    let listed = table.value("pump_points").map(|v| v.get_ref());
    let listed = listed.and_then(|v| v.as_array()).map(|points| points.len());
    // Points with a gap would be found at fault for what is not wrong.
    let whole = listed == Some(read.len()) && read.iter().all(Option::is_some);
    let points: Vec<_> = read.into_iter().flatten().collect();
    let pump = || Pump::through(points.iter().map(|(q, p)| (q.get(), p.get())).collect());
    if whole && let Err(error) = pump() {
        let message = format!("{}: {error}", table.what);
        let mend = "write the points as tested, the smallest flow with the highest pressure first";
        reader.error("bad_points", table.at("pump_points"), message, mend);
    }
    points
}
