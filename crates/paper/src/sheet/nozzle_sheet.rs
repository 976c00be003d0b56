//! All about one nozzle: its curves, its settings, what it gives, what belongs to it.

mod make;
mod range;

use book::{Book, NozzleItem, NozzleKind, Which};
use hydraulics::reaction::people;
use hydraulics::units::{Kind as Unit, Measure, Pressure, System};
use serde_json::{Value, json};
use study::figure;
use study::{Given, given};

use super::common::cautions;
use super::{Drawn, Kind, Sheet, nozzles, unknown};
use crate::paper::{PaperError, Units};

/// The sheet of `nozzle`: how it is made, its curves of flow and reaction, and for each
/// of its settings what it gives at five nozzle pressures.
///
/// # Errors
/// [`PaperError::Unknown`] when neither the book nor the catalogue has such a nozzle.
///
/// ```
/// let text = b"[book]\nname = 'Example'\n";
/// let book = book::read(text, "example.toml")?;
/// let sheet = paper::nozzle_sheet(&book, "1-1/8 in smooth bore", paper::Units::Us)?;
/// // At its rating: 266 gpm at 50 psi (case NZ-U-21).
/// assert_eq!(sheet.body["settings"][0]["rated"], "266 gpm at 50 psi");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn nozzle_sheet(book: &Book, nozzle: &str, units: Units) -> Result<Sheet, PaperError> {
    let Some(found) = book.nozzle(nozzle) else {
        return Err(unknown("nozzle", nozzle, nozzles::known(book)));
    };
    let item = found.item;
    let mut sheet = Sheet::new(Kind::NozzleSheet, book, (nozzle, nozzle), units);
    sheet.invented |= item.about.invented;
    sheet.sources = make::sources(book, item, found.origin);
    sheet.cautions = cautions(item.foam || !item.attachment.is_empty());
    let facts = make::facts(item, units);
    for (name, text) in &facts {
        sheet.tell(*name, text.as_str());
    }
    draw(&mut sheet, book, nozzle, item);
    let settings = nozzles::settings(item).into_iter();
    measured(&mut sheet, item);
    let settings: Vec<Value> = settings
        .map(|s| setting(&mut sheet, book, item, s))
        .collect();
    let lines = make::used(book, nozzle);
    sheet.tell("lines", lines.join("; "));
    sheet.body = json!({
        "facts": facts,
        "settings": settings,
        "attachments": attachments(&mut sheet, item),
        "lines": lines,
        "crew": crew(book, units),
    });
    Ok(sheet)
}

fn draw(sheet: &mut Sheet, book: &Book, name: &str, item: &NozzleItem) {
    let system = sheet.units.first();
    let drawings = [
        picture::nozzle_curve(name, item, system),
        picture::reaction_curve(name, item, book.crew_limits(), system),
    ];
    let drawn = drawings.into_iter().flatten().map(Drawn::from);
    sheet.drawings.extend(drawn);
}

/// Adds which settings are as the department measured them, and when.
fn measured(sheet: &mut Sheet, item: &NozzleItem) {
    let used = nozzles::settings(item).into_iter();
    let used = used.filter_map(|setting| item.used(setting, Which::Best).ok());
    for used in used.filter(|used| used.measured) {
        let setting = used.setting.as_deref();
        let setting = setting.map_or(String::new(), |name| format!(" on setting {name}"));
        let units = sheet.units;
        let value = match units.second() {
            Some(second) => format!("{} ({})", used.text(units.first()), used.text(second)),
            None => used.text(units.first()),
        };
        sheet.sources.push(format!(
            "What it gives{setting}: {value}, measured: {}.",
            used.source.trim_end_matches('.')
        ));
    }
}

/// What it gives on one setting, at pressures around its rating.
fn setting(sheet: &mut Sheet, book: &Book, item: &NozzleItem, name: Option<&str>) -> Value {
    let units = sheet.units;
    let called = name.unwrap_or_default();
    let rated = nozzles::rated(item, name, units);
    let asked = pressures(item, name, units.first());
    let rows = given(item, name, &asked);
    let (rated, rows) = match (rated, rows) {
        (Ok(rated), Ok(rows)) => (rated, rows),
        (Err(error), _) | (_, Err(error)) => {
            sheet.tell(format!("{called}: refused"), error.to_string());
            return json!({ "name": name, "refused": error.to_string() });
        }
    };
    let rows: Vec<Value> = rows
        .iter()
        .map(|row| tell_row(sheet, book, called, row))
        .collect();
    sheet.tell(format!("{called}: rated"), rated.as_str());
    json!({
        "name": name,
        "rated": rated,
        "measured": item.used(name, Which::Best).is_ok_and(|used| used.measured),
        "range": range::words(item, name, units),
        "rows": rows,
        "form": form(item),
    })
}

/// The trade's form by which its reaction is worked out.
fn form(item: &NozzleItem) -> String {
    use hydraulics::reaction::Form;
    match item.kind {
        NozzleKind::SmoothBore { .. } => {
            format!("{}, in lbf, in and psi", Form::SolidStream.formula())
        }
        _ => format!("{}, in lbf, gpm and psi", Form::Spray.formula()),
    }
}

fn tell_row(sheet: &mut Sheet, book: &Book, setting: &str, row: &Given) -> Value {
    let units = sheet.units;
    let pressure = figure::pressure(row.pressure);
    let at = format!("{setting} at {}", pressure.show(System::Us));
    let takes = match people(row.reaction, book.crew_limits()) {
        Some(1) => "1 person".to_string(),
        Some(count) => format!("{count} people"),
        None => "more than 3".into(),
    };
    let figures = [
        ("flow", figure::flow(row.flow)),
        ("reaction", figure::force(row.reaction)),
        ("effective reach", figure::length(row.effective_reach)),
        ("greatest throw", figure::length(row.maximum_throw)),
    ];
    for (name, figure) in figures {
        sheet.tell(format!("{at}: {name}"), figure);
    }
    sheet.tell(format!("{at}: held by"), takes.as_str());
    let [flow, reaction, reach, throw] = figures.map(|(_, figure)| units.show(figure));
    json!({
        "pressure": units.show(pressure),
        "flow": flow,
        "regime": row.regime.map(study::answer::regime_word),
        "reaction": reaction,
        "people": takes,
        "reach": reach,
        "throw": throw,
    })
}

/// Five nozzle pressures: of an automatic nozzle one below its range, both ends and the
/// middle of it, and one above; of another from three fifths of its rating to half as
/// much again.
fn pressures(item: &NozzleItem, setting: Option<&str>, system: System) -> Vec<Pressure> {
    let unit = Unit::Pressure.unit(system);
    let step = match system {
        System::Us => 5.0,
        System::Si => 0.5,
    };
    let round = |pressure: Pressure| {
        let steps = (unit.from_si(pressure.value) / step).round().max(1.0);
        Pressure::of_si(unit.to_si(steps * step))
    };
    if let Some(range) = nozzles::automatic(item, setting) {
        let [low, high] = range.pressure.each_ref().map(book::Stated::get);
        return vec![
            round(low * 0.6),
            low,
            0.5 * (low + high),
            high,
            round(high * 1.25),
        ];
    }
    let Ok(rated) = item.rated_pressure(setting) else {
        return Vec::new();
    };
    vec![
        round(rated * 0.6),
        round(rated * 0.8),
        rated,
        round(rated * 1.25),
        round(rated * 1.5),
    ]
}

fn attachments(sheet: &mut Sheet, item: &NozzleItem) -> Value {
    let units = sheet.units;
    let all = item.attachment.iter().map(|(name, attachment)| {
        let reach = figure::length(attachment.reach.get());
        let expansion = attachment.expansion.get().value.to_string();
        sheet.tell(format!("attachment {name}: reach"), reach);
        sheet.tell(format!("attachment {name}: expansion"), expansion.as_str());
        json!({ "name": name, "expansion": expansion, "reach": units.show(reach).text() })
    });
    json!(all.collect::<Vec<_>>())
}

/// What one, two and three people can hold, as the book has it.
fn crew(book: &Book, units: Units) -> String {
    let [one, two, three] = book
        .crew_limits()
        .map(|limit| units.show(figure::force(limit)).text());
    format!("1 person {one}, 2 people {two}, 3 people {three}")
}
