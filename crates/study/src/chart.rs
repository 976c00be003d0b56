//! Pump charts: pump pressure by length, rise and setting.

use crate::answer::{CoefficientUsed, ItemUsed, Spread};
use crate::figure;
use crate::operating::{StudyError, needs, solve, worst};
use crate::scene::eductors_of;
use crate::sizing::{is_single, varied, with};
use book::{Book, Conditions, Cut, CutKind, Layout};
use hydraulics::nozzle::Nozzle;
use hydraulics::units::{Length, Measure, Pressure, System, VolumeRate};
use serde_json::{Value, json};

/// A pump chart of one line.
#[derive(Debug, Clone, PartialEq)]
pub struct Chart {
    /// The line.
    pub line: String,
    /// Its title.
    pub title: Option<String>,
    /// The hose whose length the rows give.
    pub hose: String,
    /// Where that hose lies.
    pub place: String,
    /// Rows: length of that hose.
    pub lengths: Vec<Length>,
    /// Columns: height of the tip above the pump.
    pub rises: Vec<Length>,
    /// The highest pump pressure that the department allows.
    pub ceiling: Option<Pressure>,
    /// One table for each setting.
    pub tables: Vec<ChartTable>,
    /// Which hose coefficients it rests on.
    pub coefficients: Vec<CoefficientUsed>,
    /// Which values of nozzles it rests on, as the line has them.
    pub items: Vec<ItemUsed>,
    /// How far their published spread moves the line as the book has it.
    pub spread: Option<Spread>,
}

/// The pump pressures for one setting.
#[derive(Debug, Clone, PartialEq)]
pub struct ChartTable {
    /// The setting; `None` when the nozzle has none or there are several tips.
    pub setting: Option<String>,
    /// The flow at the first tip that it is for.
    pub flow: VolumeRate,
    /// Rows of cells, as the chart's lengths and rises.
    pub rows: Vec<Vec<Cell>>,
}

/// One cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cell {
    /// The pump pressure; `None` when no pressure does, or an eductor would draw no
    /// concentrate.
    pub pump_pressure: Option<Pressure>,
    /// It is above the ceiling or above some hose's service pressure.
    pub over: bool,
}

/// The pump chart of `line` for `lengths` of its last hose and `rises` of its
/// tips above the pump. Every tip has just its aim; a setting that rates its
/// nozzle at another flow than the aim has its rating.
///
/// # Errors
/// [`StudyError`] when the line is not there or has no hose.
pub fn chart(
    book: &Book,
    line: &str,
    conditions: &Conditions,
    lengths: &[Length],
    rises: &[Length],
) -> Result<Chart, StudyError> {
    let layout = book::layout(book, line, conditions)?;
    let hose = varied(&layout, line)?;
    let entry = book.line.get(line);
    let as_it_is = solve(book, line, conditions)?;
    let ceiling = book.pump_ceiling.as_ref().map(book::Stated::get);
    let limit = layout.parts.iter().filter_map(|p| p.service_pressure);
    let limit = limit
        .chain(ceiling)
        .reduce(|a, b| if a < b { a } else { b });
    let mut tables = Vec::new();
    for setting in settings(book, line, &layout) {
        let base = match (&setting, layout.tips.first()) {
            (Some(name), Some(tip)) => {
                with(conditions, &tip.path, |c| c.setting = Some(name.clone()))
            }
            _ => conditions.clone(),
        };
        let mut table = ChartTable {
            setting,
            flow: VolumeRate::of_si(0.0),
            rows: Vec::new(),
        };
        for &length in lengths {
            let now = hose.length.unwrap_or_default();
            let base = with(&base, &hose.path, |c| {
                c.extra_length = Some(c.extra_length.unwrap_or_default() + length - now);
            });
            let cells = rises
                .iter()
                .map(|&rise| cell(book, line, &layout, &base, rise, limit));
            let cells: Vec<(VolumeRate, Cell)> = cells.collect::<Result<_, _>>()?;
            table.flow = cells.first().map_or(table.flow, |c| c.0);
            table.rows.push(cells.into_iter().map(|c| c.1).collect());
        }
        tables.push(table);
    }
    Ok(Chart {
        line: line.into(),
        title: entry.and_then(|l| l.title.clone()),
        hose: hose.name.clone(),
        place: hose.path.to_string(),
        lengths: lengths.to_vec(),
        rises: rises.to_vec(),
        ceiling,
        tables,
        coefficients: as_it_is.coefficients,
        items: as_it_is.items,
        spread: as_it_is.spread,
    })
}

/// The settings that get a table of their own.
fn settings(book: &Book, line: &str, layout: &Layout) -> Vec<Option<String>> {
    let single = book.line.get(line).is_some_and(|l| is_single(&l.parts));
    let names = match layout.tips.as_slice() {
        [tip] if single => book
            .nozzle(&tip.name)
            .map_or_else(Vec::new, |n| n.item.settings()),
        _ => Vec::new(),
    };
    if names.is_empty() {
        return vec![None];
    }
    names
        .into_iter()
        .map(|name| Some(name.to_string()))
        .collect()
}

fn cell(
    book: &Book,
    line: &str,
    plain: &Layout,
    base: &Conditions,
    rise: Length,
    limit: Option<Pressure>,
) -> Result<(VolumeRate, Cell), StudyError> {
    let mut conditions = base.clone();
    for tip in plain.tips.iter().filter(|tip| tip.line == line) {
        let change = conditions.changes.entry(tip.path.clone()).or_default();
        let more = rise - tip.height;
        change.extra_rise = Some(change.extra_rise.unwrap_or_default() + more);
    }
    let layout = book::layout(book, line, &conditions)?;
    let mut needs = needs(&layout, line);
    for need in &mut needs {
        let written = plain.tips.iter().find(|tip| tip.path == need.0.path);
        let fixed = !matches!(need.0.tip.nozzle, Nozzle::Automatic(_));
        if fixed && written.is_some_and(|tip| tip.setting != need.0.setting) {
            need.1 = need.0.tip.nozzle.flow(need.0.rated_pressure);
        }
    }
    let pressure = worst(&layout, &needs).map(|w| w.pressure);
    let pressure = pressure.filter(|&pressure| every_eductor_draws(&layout, pressure));
    let flow = needs.first().map_or(VolumeRate::of_si(0.0), |n| n.1);
    let over = pressure.is_some_and(|p| limit.is_some_and(|l| p > l));
    Ok((
        flow,
        Cell {
            pump_pressure: pressure,
            over,
        },
    ))
}

/// A pump pressure is no answer where it makes no foam.
fn every_eductor_draws(layout: &Layout, pressure: Pressure) -> bool {
    let eductor = |cut: &Cut| matches!(cut.kind, CutKind::Eductor(..));
    if !layout.cuts.iter().any(eductor) {
        return true;
    }
    let mut lay = layout.lay.clone();
    lay.set_pressure(layout.supply, pressure);
    let found = eductors_of(layout, &lay::solve(&lay));
    found.iter().all(|eductor| eductor.draws)
}

impl Chart {
    /// This chart as JSON in the units of `system`.
    pub fn json(&self, system: System) -> Value {
        let lengths = |list: &[Length]| -> Vec<Value> {
            list.iter()
                .map(|&l| figure::length(l).json(system))
                .collect()
        };
        json!({
            "line": self.line,
            "title": self.title,
            "hose": self.hose,
            "place": self.place,
            "lengths": lengths(&self.lengths),
            "rises": lengths(&self.rises),
            "ceiling": self.ceiling.map(|p| figure::pressure(p).json(system)),
            "coefficients": self.coefficients.iter().map(|c| c.json(system)).collect::<Vec<_>>(),
            "items": self.items.iter().map(|i| i.json(system)).collect::<Vec<_>>(),
            "spread": self.spread.as_ref().map(|s| s.pump_json(system)),
            "tables": self.tables.iter().map(|t| t.json(system)).collect::<Vec<_>>(),
        })
    }
}

impl ChartTable {
    fn json(&self, system: System) -> Value {
        let cell = |cell: &Cell| {
            json!({
                "pump_pressure": cell.pump_pressure.map(|p| figure::pressure(p).json(system)),
                "over_limit": cell.over,
            })
        };
        let rows = self
            .rows
            .iter()
            .map(|row| row.iter().map(cell).collect::<Vec<_>>());
        json!({
            "setting": self.setting,
            "flow": figure::flow(self.flow).json(system),
            "rows": rows.collect::<Vec<_>>(),
        })
    }
}
