//! Which cards there are, in which column and row, and what flows between them.

use hydraulics::units::{Kind, Measure, Pressure, System, VolumeRate, show};
use std::collections::BTreeMap;
use study::SceneAnswer;
use study::answer::{TipAnswer, regime_word};
use study::scene::{OutletAnswer, RigAnswer, SourceAnswer, StandpipeAnswer};

/// A box: something that water comes from or goes to.
pub struct Card {
    /// Its name, whole.
    pub name: String,
    /// What stands below its name.
    pub second: String,
    /// What it says to those who ask.
    pub said: String,
    pub column: usize,
    /// From the top; may lie between two rows.
    pub row: f64,
    /// Strokes that come in one above the other.
    pub inlets: usize,
    /// Something is not as it is meant to be.
    pub amiss: bool,
}

/// Water on its way from one box to another.
pub struct Way {
    pub from: usize,
    pub to: usize,
    pub flow: VolumeRate,
    pub pressure: Pressure,
    /// Where that pressure is.
    pub read_at: &'static str,
    /// Which of the strokes into its box.
    pub slot: usize,
    pub from_water: bool,
}

/// All of a scene.
pub struct Plan {
    pub cards: Vec<Card>,
    pub ways: Vec<Way>,
    /// What stands above a column.
    pub heads: Vec<(&'static str, usize)>,
    pub columns: usize,
}

impl Plan {
    pub fn column(&self, index: usize) -> usize {
        self.cards.get(index).map_or(0, |found| found.column)
    }

    /// The cards from the water on, those of a column from above.
    pub fn in_order(&self) -> Vec<&Card> {
        let mut cards: Vec<&Card> = self.cards.iter().collect();
        cards.sort_by(|a, b| (a.column.cmp(&b.column)).then(a.row.total_cmp(&b.row)));
        cards
    }

    pub fn name(&self, index: usize) -> &str {
        self.cards.get(index).map_or("", |found| &found.name)
    }
}

/// Plans the drawing of a scene.
pub fn plan(answer: &SceneAnswer, system: System) -> Plan {
    let depth = depths(answer);
    let last_rig = depth.values().copied().max().unwrap_or(1);
    let pipes = usize::from(!answer.standpipes.is_empty());
    let mut planner = Planner {
        answer,
        system,
        depth,
        pipe_column: last_rig + 1,
        line_column: last_rig + pipes + 1,
        rigs: BTreeMap::new(),
        row: 0.0,
        plan: Plan {
            cards: Vec::new(),
            ways: Vec::new(),
            heads: heads(last_rig, pipes == 1),
            columns: last_rig + pipes + 3,
        },
    };
    let fed = |rig: &&RigAnswer| answer.relays.iter().any(|r| r.to == rig.name);
    // Those that are fed by none first; then what a circle may have left over.
    let first = answer.rigs.iter().filter(|rig| !fed(rig));
    for rig in first.chain(&answer.rigs) {
        planner.rig(rig);
    }
    planner.relays();
    let mut plan = planner.plan;
    plan.apart();
    let columns: Vec<usize> = plan.cards.iter().map(|found| found.column).collect();
    plan.ways.sort_by_key(|way| columns.get(way.from).copied());
    plan
}

fn heads(last_rig: usize, pipes: bool) -> Vec<(&'static str, usize)> {
    let mut heads = vec![("Water", 0)];
    heads.extend((1..=last_rig).map(|column| ("Rig", column)));
    if pipes {
        heads.push(("Standpipe", last_rig + 1));
    }
    let line = last_rig + usize::from(pipes) + 1;
    heads.extend([("Line", line), ("Tip", line + 1)]);
    heads
}

/// How many pumps the water has passed at each rig, itself among them. Rigs nearer
/// the water come first.
fn depths(answer: &SceneAnswer) -> BTreeMap<&str, usize> {
    let mut depths: BTreeMap<&str, usize> = BTreeMap::new();
    for rig in &answer.rigs {
        let before = answer.relays.iter().filter(|r| r.to == rig.name);
        let before = before.filter_map(|r| depths.get(r.from.as_str()).copied());
        let depth = 1 + before.max().unwrap_or(0);
        depths.insert(&rig.name, depth);
    }
    depths
}

struct Planner<'a> {
    answer: &'a SceneAnswer,
    system: System,
    depth: BTreeMap<&'a str, usize>,
    pipe_column: usize,
    line_column: usize,
    /// The box of each rig, and the strokes into it so far.
    rigs: BTreeMap<&'a str, (usize, usize)>,
    row: f64,
    plan: Plan,
}

impl<'a> Planner<'a> {
    fn add(&mut self, column: usize, name: &str, second: String, said: String) -> usize {
        self.plan.cards.push(Card {
            name: name.to_string(),
            second,
            said,
            column,
            row: 0.0,
            inlets: 1,
            amiss: false,
        });
        self.plan.cards.len() - 1
    }

    /// Sets a box halfway between the rows from `start` to here.
    fn centre(&mut self, index: usize, start: f64, least: usize) {
        self.row = self.row.max(start + least.max(1) as f64);
        let middle = 0.5 * (start + self.row);
        if let Some(found) = self.plan.cards.get_mut(index) {
            found.row = middle;
        }
    }

    fn way(&mut self, from: usize, to: usize, (flow, pressure): (VolumeRate, Pressure)) {
        self.plan.ways.push(Way {
            from,
            to,
            flow,
            pressure,
            read_at: "behind the outlet's valve",
            slot: 0,
            from_water: false,
        });
    }

    fn last_where(&mut self, words: &'static str) {
        if let Some(way) = self.plan.ways.last_mut() {
            way.read_at = words;
        }
    }

    /// A rig with its water and all that it feeds.
    fn rig(&mut self, rig: &'a RigAnswer) {
        if self.rigs.contains_key(rig.name.as_str()) {
            return;
        }
        let pressure = show(Kind::Pressure, rig.discharge, self.system);
        let flow = show(Kind::Flow, rig.flow, self.system);
        let intake = show(Kind::Pressure, rig.intake, self.system);
        let column = self.depth.get(rig.name.as_str()).copied().unwrap_or(1);
        let said = format!(
            "Rig {}: {pressure} at its discharge, {flow}, {intake} at its intake",
            rig.name
        );
        let second = format!("{pressure}, {flow}");
        let index = self.add(column, &rig.name, second, said);
        let answer = self.answer;
        let relays = answer.relays.iter().filter(|r| r.to == rig.name).count();
        self.rigs.insert(&rig.name, (index, 0));
        let start = self.row;
        let sources = answer.sources.iter().filter(|s| s.rig == rig.name);
        let sources: Vec<&SourceAnswer> = sources.collect();
        for outlet in &rig.outlets {
            self.outlet(index, outlet);
        }
        // Side by side at the water, strokes may meet at the rig; beside a relay they
        // may not, because its figures stand there.
        let inlets = match relays {
            0 => 1,
            many => many + sources.len(),
        };
        self.centre(index, start, inlets.max(sources.len()));
        if let Some(found) = self.plan.cards.get_mut(index) {
            found.inlets = inlets;
        }
        self.sources(index, &sources, relays);
    }

    fn sources(&mut self, rig: usize, sources: &[&'a SourceAnswer], relays: usize) {
        let (row, column) = match self.plan.cards.get(rig) {
            Some(found) => (found.row, found.column),
            None => return,
        };
        let all = (relays + sources.len()) as f64;
        for (order, source) in sources.iter().enumerate() {
            let said = format!(
                "{} {}: {}, {}",
                source.kind,
                source.name,
                show(Kind::Flow, source.flow, self.system),
                show(Kind::Pressure, source.pressure, self.system)
            );
            let index = self.add(
                column.saturating_sub(1),
                &source.name,
                source.kind.to_string(),
                said,
            );
            if let Some(found) = self.plan.cards.get_mut(index) {
                found.row = row + (relays + order) as f64 - 0.5 * (all - 1.0);
                found.inlets = 0;
            }
            self.plan.ways.push(Way {
                from: index,
                to: rig,
                flow: source.flow,
                pressure: source.pressure,
                read_at: match source.kind {
                    "hydrant" => "at the hydrant's outlet",
                    _ => "at the rig's intake",
                },
                slot: if relays > 0 { relays + order } else { 0 },
                from_water: true,
            });
        }
    }

    fn outlet(&mut self, rig: usize, outlet: &'a OutletAnswer) {
        let what = (outlet.flow, outlet.pressure);
        let answer = self.answer;
        if let Some(line) = outlet.feeds.strip_prefix("line ") {
            let gate = match outlet.gate.value < 0.999 {
                true => format!("gate {} open", show(Kind::Share, outlet.gate, self.system)),
                false => "gate open".to_string(),
            };
            let index = self.line(line, gate);
            self.way(rig, index, what);
        } else if let Some(name) = outlet.feeds.strip_prefix("standpipe ") {
            let pipe = answer.standpipes.iter().find(|pipe| pipe.name == name);
            if let Some(pipe) = pipe {
                let index = self.standpipe(pipe);
                self.way(rig, index, what);
            }
        } else if let Some(name) = outlet.feeds.strip_prefix("supply to ")
            && let Some(next) = answer.rigs.iter().find(|rig| rig.name == name)
        {
            self.rig(next);
        }
    }

    fn standpipe(&mut self, pipe: &'a StandpipeAnswer) -> usize {
        let inlet = show(Kind::Pressure, pipe.inlet, self.system);
        let flow = show(Kind::Flow, pipe.flow, self.system);
        let said = format!("Standpipe {}: {inlet} at its inlet, {flow}", pipe.name);
        let second = format!("inlet {inlet}");
        let index = self.add(self.pipe_column, &pipe.name, second, said);
        let start = self.row;
        for floor in &pipe.floors {
            let line = self.line(&floor.line, format!("floor {}", floor.floor));
            let tips = self.answer.tips.iter().filter(|t| t.line == floor.line);
            let flow = tips.fold(VolumeRate::of_si(0.0), |sum, tip| sum + tip.flow);
            self.way(index, line, (flow, floor.pressure));
            self.last_where("behind the floor's outlet");
        }
        self.centre(index, start, 1);
        index
    }

    fn line(&mut self, line: &str, second: String) -> usize {
        let said = format!("Line {line}: {second}");
        let index = self.add(self.line_column, line, second, said);
        let start = self.row;
        let answer = self.answer;
        for tip in answer.tips.iter().filter(|tip| tip.line == line) {
            let end = self.tip(tip);
            self.way(index, end, (tip.flow, tip.tip_pressure));
            self.last_where("nozzle pressure");
        }
        self.centre(index, start, 1);
        index
    }

    fn tip(&mut self, tip: &TipAnswer) -> usize {
        let reach = show(Kind::Length, tip.effective_reach, self.system);
        let aim = match tip.aim_met {
            Some(true) => ", aim met",
            Some(false) => ", aim missed",
            None => "",
        };
        let regime = tip
            .regime
            .map(|r| format!(", {} its range", regime_word(r)));
        let said = format!(
            "{}, {}, {}: {} at {}, reach {reach}{}{aim}",
            tip.line,
            tip.place,
            tip.nozzle,
            show(Kind::Flow, tip.flow, self.system),
            show(Kind::Pressure, tip.tip_pressure, self.system),
            regime.unwrap_or_default()
        );
        let second = format!("reach {reach}{aim}");
        let index = self.add(self.line_column + 1, &tip.nozzle, second, said);
        if let Some(found) = self.plan.cards.get_mut(index) {
            found.amiss = tip.aim_met == Some(false);
        }
        let start = self.row;
        self.centre(index, start, 1);
        index
    }

    /// The supplies from rig to rig.
    fn relays(&mut self) {
        for relay in &self.answer.relays {
            let from = self.rigs.get(relay.from.as_str()).map(|found| found.0);
            let to = self.rigs.get_mut(relay.to.as_str());
            let (Some(from), Some((to, slot))) = (from, to) else {
                continue;
            };
            let (to, taken) = (*to, *slot);
            *slot += 1;
            self.way(from, to, (relay.flow, relay.intake));
            self.last_where("at the intake");
            if let Some(way) = self.plan.ways.last_mut() {
                way.slot = taken;
            }
        }
    }
}

impl Plan {
    /// Moves cards of a column down where they would lie on each other, and all
    /// of them down where some stand above the sheet.
    fn apart(&mut self) {
        for column in 0..self.columns {
            let of_column = |found: &&mut Card| found.column == column;
            let mut cards: Vec<&mut Card> = self.cards.iter_mut().filter(of_column).collect();
            cards.sort_by(|a, b| a.row.total_cmp(&b.row));
            let mut free = f64::NEG_INFINITY;
            for found in cards {
                // Rows that a box takes: one for each stroke into it.
                let half = 0.5 * found.inlets.max(1) as f64;
                found.row = found.row.max(free + half);
                free = found.row + half;
            }
        }
        let highest = self
            .cards
            .iter()
            .map(|b| b.row - 0.5 * b.inlets.max(1) as f64);
        let highest = highest.fold(f64::INFINITY, f64::min);
        if highest.is_finite() && highest < 0.0 {
            for found in &mut self.cards {
                found.row -= highest;
            }
        }
    }
}
