//! Labels for a rig's outlets and for the nozzles and grips on its lines.

mod colour;

use book::{Book, Conditions, Line, Marking};
use serde_json::{Value, json};
use study::answer::LineAnswer;
use study::figure;
use study::notice::Weight;

use super::common::{cautions, makes_foam, no_answer, notices, refused, refused_because};
use super::{Kind, Sheet, nozzles, unknown};
use crate::paper::{PaperError, Units};
use crate::words::capital;

/// Width and height of the label of an outlet, in mm.
const OUTLET: (u32, u32) = (90, 45);

/// Width and height of the label of a nozzle or grip, in mm.
const GRIP: (u32, u32) = (90, 32);

/// The most letters of a name on a label.
const LETTERS: usize = 48;

/// Labels of `rig`: one for each of its lines, with the colour and mark of the outlet and
/// the pump pressure large; and one for each nozzle on them, with what it is rated for.
/// Where the book has no colour the label says so.
///
/// # Errors
/// [`PaperError::Unknown`] when the book has no such rig. A line without an answer has a
/// label that says so, without a number.
///
/// ```
/// let text = b"[book]\nname = 'Example'\n[rig.pumper]\npump = '1250 gpm'\n[line.left]\nrig = 'pumper'\n\
///     colour = 'red'\nmark = 'A'\n\
///     parts = [{ hose = '2.5 in', length = '200 ft' }, { nozzle = '1-1/8 in smooth bore' }]\n\
///     aim = { tip_pressure = '50 psi' }\n";
/// let book = book::read(text, "example.toml")?;
/// let labels = paper::labels(&book, "pumper", paper::Units::Us)?;
/// let outlet = &labels.body["outlets"][0];
/// assert_eq!((&outlet["colour"]["word"], &outlet["pump"]["value"]), (&"RED".into(), &"78".into()));
/// assert_eq!(labels.body["missing"][0], "nozzle 1-1/8 in smooth bore");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn labels(book: &Book, rig: &str, units: Units) -> Result<Sheet, PaperError> {
    if !book.rig.contains_key(rig) {
        return Err(unknown("rig", rig, book.rig.keys()));
    }
    let mut sheet = Sheet::new(Kind::Labels, book, (rig, rig), units);
    let mut seen = Seen::default();
    let lines = book.line.iter();
    let lines: Vec<_> = lines
        .filter(|(_, line)| line.rig.as_deref() == Some(rig))
        .collect();
    let outlets: Vec<Value> = lines
        .iter()
        .map(|(name, line)| outlet(&mut sheet, &mut seen, book, (name, line)))
        .collect();
    let mut names = Vec::new();
    for (_, line) in &lines {
        nozzles::in_parts(&line.parts, &mut names);
    }
    let grips = names.iter();
    let grips = grips.filter_map(|name| grip(&mut sheet, &mut seen, book, name));
    let grips: Vec<Value> = grips.collect();
    sheet.cautions = cautions(seen.foam);
    sheet.body = json!({
        "outlet_size": OUTLET,
        "grip_size": GRIP,
        "outlets": outlets,
        "grips": grips,
        "missing": seen.missing,
        "shortened": some_of(&seen.shortened),
        "notices": seen.notices,
        "empty": outlets.is_empty().then(|| {
            format!("No line in the book comes off {rig}, so there is nothing to label. Give a line rig = \"{rig}\" and print again.")
        }),
    });
    Ok(sheet)
}

/// The first dozen, and how many more.
fn some_of(all: &[String]) -> Vec<String> {
    let mut some: Vec<String> = all.iter().take(12).cloned().collect();
    if let more @ 1.. = all.len() - some.len() {
        some.push(format!("and {more} more"));
    }
    some
}

/// What the sheet has to say beside its labels.
#[derive(Default)]
struct Seen {
    missing: Vec<String>,
    shortened: Vec<String>,
    notices: Vec<Value>,
    foam: bool,
}

impl Seen {
    /// `text` as far as a label has room for it.
    fn short(&mut self, text: &str) -> String {
        match text.char_indices().nth(LETTERS) {
            Some((end, _)) => {
                if !self.shortened.iter().any(|other| other == text) {
                    self.shortened.push(text.into());
                }
                format!("{}…", text.get(..end).unwrap_or_default().trim_end())
            }
            None => text.into(),
        }
    }
}

fn outlet(sheet: &mut Sheet, seen: &mut Seen, book: &Book, (name, line): (&str, &Line)) -> Value {
    let mut label = marked(sheet, seen, &format!("line {name}"), &line.marking);
    label["title"] = json!(seen.short(line.title.as_deref().unwrap_or(name)));
    label["name"] = json!(seen.short(name));
    match study::solve(book, name, &Conditions::default()) {
        Ok(answer) => pressure(sheet, seen, &answer, &mut label),
        Err(error) => {
            sheet.tell(format!("{name}: no answer"), error.to_string());
            seen.notices.push(refused_because(&error));
        }
    }
    label
}

/// The pump pressure, where there is one; what stands against it is said on the sheet.
fn pressure(sheet: &mut Sheet, seen: &mut Seen, answer: &LineAnswer, label: &mut Value) {
    let (units, line) = (sheet.units, &answer.line);
    seen.foam |= makes_foam(answer);
    if let Some(notice) = no_answer(answer) {
        sheet.tell(format!("{line}: no answer"), notice.text.clone());
        seen.notices.push(of_line(line, refused(notice, units)));
        return;
    }
    sheet.rests_on(&answer.coefficients, None);
    sheet.rests_on_items(&answer.items);
    let (pump, flow) = (
        figure::pressure(answer.pump_pressure),
        figure::flow(answer.flow),
    );
    sheet.tell(format!("{line}: pump pressure"), pump);
    sheet.tell(format!("{line}: flow"), flow);
    let heavy = notices(answer, Weight::Limit, units);
    for notice in answer.notices.iter().filter(|n| n.weight >= Weight::Limit) {
        let name = format!("{line}: {} {}", notice.code, notice.place);
        sheet.tell(name, notice.text.clone());
    }
    label["pump"] = json!(units.show(pump));
    label["flow"] = json!(units.show(flow).text());
    label["over"] = json!(!heavy.is_empty());
    label["gated"] = json!(answer.gating.is_some());
    let heavy = heavy.into_iter().map(|notice| of_line(line, notice));
    seen.notices.extend(heavy);
}

/// `notice` with the line that it is about.
fn of_line(line: &str, mut notice: Value) -> Value {
    let text = notice["text"].as_str().unwrap_or_default();
    if !text.to_lowercase().starts_with(&line.to_lowercase()) {
        notice["text"] = json!(format!("Line {line}: {text}"));
    }
    notice
}

fn grip(sheet: &mut Sheet, seen: &mut Seen, book: &Book, name: &str) -> Option<Value> {
    let item = book.nozzle(name)?.item;
    let mut label = marked(sheet, seen, &format!("nozzle {name}"), &item.marking);
    let mut settings = Vec::new();
    for setting in nozzles::settings(item) {
        let rated = match nozzles::rated(item, setting, sheet.units) {
            Ok(rated) => rated,
            Err(error) => error.to_string(),
        };
        let called = setting.filter(|name| !rated.starts_with(name));
        let told = setting.unwrap_or("rated");
        sheet.tell(format!("nozzle {name}: {told}"), rated.as_str());
        settings.push(match called {
            Some(called) => format!("{called}: {rated}"),
            None => rated,
        });
    }
    label["name"] = json!(seen.short(name));
    label["settings"] = json!(settings);
    label["form"] = json!(item.form.map(|form| capital(form.word())));
    Some(label)
}

/// A label with its colour and mark alone.
fn marked(sheet: &mut Sheet, seen: &mut Seen, of: &str, marking: &Marking) -> Value {
    let colour = marking.colour;
    match colour {
        Some(colour) => sheet.tell(format!("{of}: colour"), colour.text()),
        None => {
            sheet.tell(format!("{of}: colour"), "none");
            seen.missing.push(of.into());
        }
    }
    if let Some(mark) = &marking.mark {
        sheet.tell(format!("{of}: mark"), mark.as_str());
    }
    json!({ "colour": colour.map(colour::patch), "mark": marking.mark })
}
