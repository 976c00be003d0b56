//! What a printed sheet says, as it is kept, and how that differs from the sheet made
//! anew.

use indexmap::IndexMap;
use serde::{Deserialize, Serialize};
use study::fact::Said;

use crate::paper::Units;
use crate::sheet::Sheet;
use crate::words::said;

/// The name under which a sheet tells its sources.
const SOURCES: &str = "sources";

/// One thing that a printed sheet says.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Told {
    /// Its name: "pump pressure". Several may stand under one name.
    pub name: String,
    /// As a sheet in US units says it.
    pub us: String,
    /// As a sheet in metric units says it.
    pub si: String,
}

/// What is no longer as a printed sheet says.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Difference {
    /// Its name: "pump pressure".
    pub name: String,
    /// What the printed sheet says; `None` when it does not speak of it.
    pub said: Option<String>,
    /// What the sheet made anew says; `None` when it no longer speaks of it.
    pub now: Option<String>,
}

/// All that would make a print of `sheet` wrong if it changed: every number and
/// statement in both systems of units, its title, and its sources.
pub fn told(sheet: &Sheet) -> Vec<Told> {
    let sources = sheet.sources.iter();
    let sources = sources.map(|line| words(SOURCES, line.trim_end_matches('.')));
    facts(&sheet.told)
        .into_iter()
        .chain([words("title", &sheet.title)])
        .chain(sources)
        .collect()
}

/// What is told, in both systems of units.
pub(crate) fn facts(told: &[(String, Said)]) -> Vec<Told> {
    let facts = told.iter().filter_map(|(name, fact)| {
        Some(Told {
            name: one_spaced(name),
            us: said(fact, Units::Us)?,
            si: said(fact, Units::Si)?,
        })
    });
    facts.collect()
}

/// People read the name: no gap where a place has no name.
fn one_spaced(name: &str) -> String {
    name.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn words(name: &str, text: &str) -> Told {
    Told {
        name: name.into(),
        us: text.into(),
        si: text.into(),
    }
}

/// What a print that said `before` has wrong, `now` being the same sheet made anew: in
/// the units of `now`, in the order of the print. Empty when the print is right.
///
/// ```
/// fn card(c: f64) -> Result<paper::Sheet, Box<dyn std::error::Error>> {
///     let text = format!("[book]\nname = 'Example'\n[hose.red]\nsize = '2.5 in'\ncoefficient = {c}\n\
///         [line.left]\nparts = [{{ hose = 'red', length = '200 ft' }}, {{ nozzle = '1-1/8 in smooth bore' }}]\n\
///         aim = {{ tip_pressure = '50 psi' }}\n");
///     let book = book::read(text.as_bytes(), "example.toml")?;
///     Ok(paper::line_card(&book, "left", paper::Units::Us)?)
/// }
/// let printed = paper::told(&card(2.0)?);
/// assert_eq!(paper::differences(&printed, &card(2.0)?), []);
/// let wrong = paper::differences(&printed, &card(2.5)?);
/// // 266 gpm through 200 ft: 2 x 2.66^2 x 2 = 28 psi, with C 2.5 35 psi; 50 at the tip.
/// assert_eq!(paper::in_words(&wrong[0]), "pump pressure: says 78 psi, now 85 psi");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn differences(before: &[Told], now: &Sheet) -> Vec<Difference> {
    between(before, &told(now), now.units)
}

/// How `now` differs from `before`, in `units`.
pub(crate) fn between(before: &[Told], now: &[Told], units: Units) -> Vec<Difference> {
    let (said, now) = (by_name(before, units), by_name(now, units));
    let new = now.keys().filter(|name| !said.contains_key(*name));
    let names = said.keys().chain(new);
    names
        .filter_map(|name| difference(name, said.get(name), now.get(name)))
        .collect()
}

/// What stands under each name, in `units`.
fn by_name(told: &[Told], units: Units) -> IndexMap<&str, Vec<String>> {
    let mut names: IndexMap<&str, Vec<String>> = IndexMap::new();
    for told in told {
        names
            .entry(&told.name)
            .or_default()
            .push(shown(told, units));
    }
    names
}

fn shown(told: &Told, units: Units) -> String {
    match units {
        Units::Us => told.us.clone(),
        Units::Si => told.si.clone(),
        Units::Both if told.us == told.si => told.us.clone(),
        Units::Both => format!("{} ({})", told.us, told.si),
    }
}

fn difference(
    name: &str,
    said: Option<&Vec<String>>,
    now: Option<&Vec<String>>,
) -> Option<Difference> {
    let (said, now) = (all(said), all(now));
    let (old, new) = (without(said, now), without(now, said));
    (old.is_some() || new.is_some()).then(|| Difference {
        name: name.into(),
        said: old,
        now: new,
    })
}

fn all(texts: Option<&Vec<String>>) -> &[String] {
    texts.map_or(&[], Vec::as_slice)
}

/// The texts of `these` that are not among `those`, each as often as it is missing.
fn without(these: &[String], those: &[String]) -> Option<String> {
    let mut those: Vec<&String> = those.iter().collect();
    let mut left: Vec<&str> = Vec::new();
    for text in these {
        match those.iter().position(|other| *other == text) {
            Some(at) => {
                those.swap_remove(at);
            }
            None => left.push(text),
        }
    }
    (!left.is_empty()).then(|| left.join("; "))
}

/// "pump pressure: says 139 psi, now 151 psi".
///
/// ```
/// let over = paper::Difference {
///     name: "left, 300 ft".into(),
///     said: None,
///     now: Some("over the limit".into()),
/// };
/// assert_eq!(paper::in_words(&over), "left, 300 ft: not on the sheet, now over the limit");
/// ```
pub fn in_words(d: &Difference) -> String {
    let said = match &d.said {
        Some(said) => format!("says {}", clause(said)),
        None => "not on the sheet".into(),
    };
    let now = match &d.now {
        Some(now) => format!("now {}", clause(now)),
        None => "no longer so".into(),
    };
    format!("{}: {said}, {now}", d.name)
}

/// A sentence as part of another, in quotation marks where it is one.
fn clause(text: &str) -> String {
    match text.strip_suffix('.') {
        Some(sentence) => format!("\"{sentence}\""),
        None => text.into(),
    }
}
