//! Effective reach by a table: a stream's path is slow to follow, and a nozzle's reach
//! depends on its pressure alone.

use crate::need;
use book::LaidTip;
use hydraulics::nozzle::Nozzle;
use hydraulics::units::{Measure, Pressure};
use std::sync::{Arc, PoisonError, RwLock};

/// Width of a step: 2 psi, so that the corners of the rule (30 and 100 psi) are steps.
const STEP: f64 = 2.0 * 6_894.757_293_168_361;

/// Steps: up to 320 psi.
const STEPS: usize = 160;

/// Reach over nozzle pressure of every nozzle met so far.
#[derive(Default)]
pub(super) struct Reaches {
    tables: RwLock<Vec<(Nozzle, bool, ReachTable)>>,
}

/// Reach of one nozzle over its pressure.
#[derive(Clone)]
pub(super) struct ReachTable(Arc<Vec<f64>>);

impl ReachTable {
    /// Effective reach at a nozzle pressure, in metres; `None` past the table's end.
    pub fn at(&self, pressure: Pressure) -> Option<f64> {
        let at = pressure.value / STEP;
        let step = at.floor();
        if !(0.0..STEPS as f64).contains(&step) {
            return None;
        }
        let index = step as usize;
        let (low, high) = (self.0.get(index)?, self.0.get(index + 1)?);
        Some(low + (high - low) * (at - step))
    }
}

impl Reaches {
    /// The table of a tip; made the first time that its nozzle is met.
    pub fn of(&self, tip: &LaidTip) -> ReachTable {
        let (nozzle, disturbed) = (&tip.tip.nozzle, need::is_disturbed(tip));
        let same =
            |(other, bad, _): &&(Nozzle, bool, ReachTable)| other == nozzle && *bad == disturbed;
        let tables = self.tables.read().unwrap_or_else(PoisonError::into_inner);
        if let Some((_, _, table)) = tables.iter().find(same) {
            return table.clone();
        }
        drop(tables);
        let at = |step: usize| {
            let pressure = Pressure::of_si(step as f64 * STEP);
            let flow = nozzle.flow(pressure);
            need::stream(tip, flow, pressure).effective_reach().value
        };
        let table = ReachTable(Arc::new((0..=STEPS).map(at).collect()));
        let mut tables = self.tables.write().unwrap_or_else(PoisonError::into_inner);
        tables.push((*nozzle, disturbed, table.clone()));
        table
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use book::Conditions;

    /// Every generic nozzle at every setting, from 1 to 300 psi: the table is within a
    /// foot and one per cent.
    #[test]
    fn law_the_table_follows_the_stream() {
        let reaches = Reaches::default();
        let mut tried = 0;
        for (name, item) in &book::catalogue().nozzle {
            let settings = match item.settings().as_slice() {
                [] => vec![None],
                all => all.iter().map(|s| Some(*s)).collect::<Vec<_>>(),
            };
            for setting in settings {
                let setting = setting.map_or(String::new(), |s| format!(", setting = {s:?}"));
                let text = format!(
                    "[book]\nname = 'T'\n[line.l]\nparts = [{{ hose = '2.5 in', length = '100 ft' }}, {{ nozzle = {name:?}{setting} }}]\n"
                );
                let reading = book::examine(text.as_bytes(), "t.toml");
                let Some(book) = reading.book else { continue };
                let Ok(layout) = book::layout(&book, "l", &Conditions::default()) else {
                    continue;
                };
                let tip = &layout.tips[0];
                for psi in [1.0, 7.3, 29.0, 31.5, 48.9, 63.3, 99.1, 101.7, 133.7, 299.0] {
                    let pressure = hydraulics::units::psi(psi);
                    let flow = tip.tip.nozzle.flow(pressure);
                    let stream = need::stream(tip, flow, pressure).effective_reach().value;
                    let table = reaches.of(tip).at(pressure).unwrap();
                    let miss = (table - stream).abs();
                    assert!(
                        miss <= 0.01 * stream + 0.05,
                        "{name} at {psi} psi: {table} m by the table, {stream} m"
                    );
                    tried += 1;
                }
            }
        }
        assert!(tried > 200, "{tried}");
    }
}
