//! What a question about a line gives back, and how it is written as JSON.
//!
//! The names are the trade's words in snake_case; every quantity in JSON is
//! `{"value": .., "unit": ".."}` in the system that the reader chose.

use crate::fact::object;
use crate::figure::{self, Figure};
use crate::notice::Notice;
use crate::scene::EductorAnswer;
use book::{NozzleUsed, PumpUsed, Used};
use hydraulics::friction::Coefficient;
use hydraulics::nozzle::Regime;
use hydraulics::units::{Force, Length, Pressure, Ratio, System, VolumeRate};
use serde_json::{Map, Value, json};

/// Where a pump pressure comes from.
#[derive(Debug, Clone, PartialEq)]
pub enum Basis {
    /// The reader asked for it.
    Asked,
    /// The book gives it for the line.
    Book,
    /// It was worked out so that the worst tip meets its aim.
    Aim {
        /// The tip that needs most.
        worst: String,
    },
    /// It was worked out so that an eductor has its rated inlet pressure.
    Eductor {
        /// The eductor.
        place: String,
    },
    /// No aim is given: it was worked out for the nozzles' rating.
    Rating {
        /// The tip that needs most.
        worst: String,
    },
    /// The aim cannot be reached: it was worked out for the nozzles' rating.
    OutOfReach {
        /// The tip that needs most.
        worst: String,
    },
}

impl Basis {
    /// The word in JSON.
    pub fn word(&self) -> &'static str {
        match self {
            Basis::Asked => "asked",
            Basis::Book => "book",
            Basis::Aim { .. } => "aim",
            Basis::Eductor { .. } => "eductor",
            Basis::Rating { .. } => "rating",
            Basis::OutOfReach { .. } => "aim_out_of_reach",
        }
    }
}

impl LineAnswer {
    /// Where its pump pressure comes from, in words.
    pub fn basis_words(&self) -> String {
        match &self.basis {
            Basis::Asked => "as asked".into(),
            Basis::Book => "as the book says".into(),
            Basis::Aim { worst } if self.tips.len() > 1 => {
                format!("for the aim of the tip that needs most ({worst})")
            }
            Basis::Aim { .. } => "for the aim".into(),
            Basis::Eductor { place } => format!("for the rated inlet pressure of {place}"),
            Basis::Rating { .. } => "for the nozzle's rating, since no aim is given".into(),
            Basis::OutOfReach { .. } => {
                "for the nozzle's rating, since the aim cannot be reached".into()
            }
        }
    }
}

/// What a line gives at one pump pressure.
#[derive(Debug, Clone, PartialEq)]
pub struct LineAnswer {
    /// The line's name in the book.
    pub line: String,
    /// Its title, if it has one.
    pub title: Option<String>,
    /// The rig it comes off.
    pub rig: Option<String>,
    /// Pressure at the pump outlet.
    pub pump_pressure: Pressure,
    /// Where that pressure comes from.
    pub basis: Basis,
    /// Flow from the pump into this line.
    pub flow: VolumeRate,
    /// What the crew gets at each tip.
    pub tips: Vec<TipAnswer>,
    /// What happens along the way.
    pub parts: Vec<PartAnswer>,
    /// Which hose coefficients were used.
    pub coefficients: Vec<CoefficientUsed>,
    /// Which values of nozzles were used.
    pub items: Vec<ItemUsed>,
    /// How far their published spread moves the answer.
    pub spread: Option<Spread>,
    /// How to give every tip its aim and no more, where there are several.
    pub gating: Option<Gating>,
    /// Its eductors.
    pub eductors: Vec<EductorAnswer>,
    /// Problems and cautions.
    pub notices: Vec<Notice>,
    /// What is left over in the solution.
    pub residual: lay::Residual,
    /// Did the solver converge?
    pub converged: bool,
}

/// What the crew gets at one tip.
#[derive(Debug, Clone, PartialEq)]
pub struct TipAnswer {
    /// Where the tip is in its line.
    pub place: String,
    /// Its line.
    pub line: String,
    /// The nozzle's name.
    pub nozzle: String,
    /// The setting it is on.
    pub setting: Option<String>,
    /// Flow.
    pub flow: VolumeRate,
    /// Nozzle pressure, downstream of the shut-off.
    pub tip_pressure: Pressure,
    /// Reaction by the trade's form for this nozzle (a formula value).
    pub reaction: Force,
    /// Which form that is.
    pub reaction_form: &'static str,
    /// Reaction as momentum, rho Q v.
    pub reaction_momentum: Force,
    /// People it takes by the book's limits; `None`: more than three.
    pub people: Option<u8>,
    /// Reach of the good stream.
    pub effective_reach: Length,
    /// Greatest throw at the taught best angle, in still air.
    pub maximum_throw: Length,
    /// Where an automatic nozzle is in its range.
    pub regime: Option<Regime>,
    /// Flow when the regulator was last opening, and last closing.
    pub band: Option<(VolumeRate, VolumeRate)>,
    /// The foam attachment on it; reach and throw are then the book's for it.
    pub attachment: Option<Attached>,
    /// A monitor holds the nozzle, not people.
    pub on_monitor: bool,
    /// What it is meant to deliver: the target, and the greatest reaction.
    pub aim: Vec<(&'static str, Figure)>,
    /// Is the aim met? `None` when there is none.
    pub aim_met: Option<bool>,
    /// The parts of the aim that are missed, by their names in `aim`.
    pub aim_missed: Vec<&'static str>,
}

/// A foam attachment on a nozzle.
#[derive(Debug, Clone, PartialEq)]
pub struct Attached {
    /// Its name.
    pub name: String,
    /// Volume of foam for each of solution.
    pub expansion: Ratio,
    /// Foam.
    pub foam: VolumeRate,
}

/// One part of the way.
#[derive(Debug, Clone, PartialEq)]
pub struct PartAnswer {
    /// Where it is in its line.
    pub place: String,
    /// Its line.
    pub line: String,
    /// Its kind: hose, appliance, nozzle.
    pub kind: &'static str,
    /// Its name.
    pub name: String,
    /// Length, of hose.
    pub length: Option<Length>,
    /// Flow through it, from its inlet to its outlet.
    pub flow: VolumeRate,
    /// Pressure at its inlet, where a pump reaches it.
    pub pressure_in: Option<Pressure>,
    /// Pressure at its outlet.
    pub pressure_out: Option<Pressure>,
}

/// Which coefficient of a hose an answer used.
#[derive(Debug, Clone, PartialEq)]
pub struct CoefficientUsed {
    /// The hose.
    pub hose: String,
    /// What was used, where it comes from, and why this one.
    pub used: Used,
    /// The published spread.
    pub spread: Option<(Coefficient, Coefficient)>,
}

/// Which value of a nozzle or a pump an answer used, measured or rated.
#[derive(Debug, Clone, PartialEq)]
pub struct ItemUsed {
    /// Its name, a nozzle's with its setting: "twin, high".
    pub name: String,
    /// What was used.
    pub used: ValueUsed,
}

/// The value of a nozzle or a pump.
#[derive(Debug, Clone, PartialEq)]
pub enum ValueUsed {
    /// Of a nozzle.
    Nozzle(NozzleUsed),
    /// Of a rig's pump.
    Pump(PumpUsed),
}

/// How far the published spread of the coefficients moves an answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Spread {
    /// Pump pressure for the same flows, at the lowest and highest C.
    pub pump_pressure: (Pressure, Pressure),
    /// Flow of each tip at the same pump pressure, at the highest and lowest C.
    pub flows: Vec<(VolumeRate, VolumeRate)>,
}

/// Gates that give every tip its aim and no more.
#[derive(Debug, Clone, PartialEq)]
pub struct Gating {
    /// The pump pressure that then is enough.
    pub pump_pressure: Pressure,
    /// The tips whose legs are to be gated.
    pub gates: Vec<GateAdvice>,
}

/// How far to gate an easier tip.
#[derive(Debug, Clone, PartialEq)]
pub struct GateAdvice {
    /// The tip whose leg is to be gated.
    pub place: String,
    /// Pressure the gate must take.
    pub excess: Pressure,
    /// How far open the leg's gate is then; `None` when the leg has none, or none
    /// that can take so much.
    pub gate: Option<Ratio>,
}

/// The word for a regime.
pub fn regime_word(regime: Regime) -> &'static str {
    match regime {
        Regime::Below => "below",
        Regime::In => "in",
        Regime::Above => "above",
    }
}

fn optional(figure: Option<Figure>, system: System) -> Value {
    figure.map_or(Value::Null, |f| f.json(system))
}

pub(crate) fn pair(low: Figure, high: Figure, system: System) -> Value {
    json!({ "low": low.json(system), "high": high.json(system) })
}

impl LineAnswer {
    /// This answer as JSON in the units of `system`.
    pub fn json(&self, system: System) -> Value {
        let list = |items: Vec<Value>| Value::Array(items);
        json!({
            "line": self.line,
            "title": self.title,
            "rig": self.rig,
            "pump_pressure": figure::pressure(self.pump_pressure).json(system),
            "pump_pressure_from": self.basis.word(),
            "flow": figure::flow(self.flow).json(system),
            "tips": list(self.tips.iter().map(|t| t.json(system)).collect()),
            "parts": list(self.parts.iter().map(|p| p.json(system)).collect()),
            "coefficients": list(self.coefficients.iter().map(|c| c.json(system)).collect()),
            "items": list(self.items.iter().map(|i| i.json(system)).collect()),
            "spread": self.spread.as_ref().map_or(Value::Null, |s| s.json(&self.tips, system)),
            "eductors": list(self.eductors.iter().map(|e| object(&e.facts(), system)).collect()),
            "gating": self.gating.as_ref().map_or(Value::Null, |g| g.json(system)),
            "notices": list(self.notices.iter().map(|n| n.json(system)).collect()),
            "residual": {
                "flow": figure::flow(self.residual.flow).json(system),
                "pressure": figure::pressure(self.residual.pressure).json(system),
                "converged": self.converged,
            },
        })
    }
}

impl TipAnswer {
    /// Who holds it: "2 people", "more than 3 people", "monitor".
    pub fn takes(&self) -> String {
        match self.people {
            _ if self.on_monitor => "monitor".into(),
            Some(1) => "1 person".into(),
            Some(n) => format!("{n} people"),
            None => "more than 3 people".into(),
        }
    }

    /// The nozzle and its setting: "twin, high".
    pub fn called(&self) -> String {
        match &self.setting {
            Some(setting) => format!("{}, {setting}", self.nozzle),
            None => self.nozzle.clone(),
        }
    }

    pub(crate) fn json(&self, system: System) -> Value {
        json!({
            "place": self.place,
            "line": self.line,
            "nozzle": self.nozzle,
            "setting": self.setting,
            "flow": figure::flow(self.flow).json(system),
            "tip_pressure": figure::pressure(self.tip_pressure).json(system),
            "reaction": figure::force(self.reaction).json(system),
            "reaction_form": self.reaction_form,
            "reaction_momentum": figure::force(self.reaction_momentum).json(system),
            "people": self.people,
            "effective_reach": figure::length(self.effective_reach).json(system),
            "maximum_throw": figure::length(self.maximum_throw).json(system),
            "regime": self.regime.map(regime_word),
            "band": self.band.map_or(Value::Null, |(low, high)| {
                pair(figure::flow(low), figure::flow(high), system)
            }),
            "attachment": self.attachment.as_ref().map(|a| json!({
                "name": a.name,
                "expansion": a.expansion.value,
                "foam": figure::flow(a.foam).json(system),
            })),
            "on_monitor": self.on_monitor,
            "aim": self.aim.iter().map(|(name, f)| ((*name).to_string(), f.json(system))).collect::<Map<_, _>>(),
            "aim_met": self.aim_met,
            "aim_missed": self.aim_missed,
        })
    }
}

impl PartAnswer {
    pub(crate) fn json(&self, system: System) -> Value {
        json!({
            "place": self.place,
            "line": self.line,
            "kind": self.kind,
            "name": self.name,
            "length": optional(self.length.map(figure::length), system),
            "flow": figure::flow(self.flow).json(system),
            "pressure_in": optional(self.pressure_in.map(figure::pressure), system),
            "pressure_out": optional(self.pressure_out.map(figure::pressure), system),
        })
    }
}

impl ItemUsed {
    /// What it is: "nozzle" or "pump".
    pub fn kind(&self) -> &'static str {
        match &self.used {
            ValueUsed::Nozzle(_) => "nozzle",
            ValueUsed::Pump(_) => "pump",
        }
    }

    /// The value that was used, in the units of `system`.
    pub fn text(&self, system: System) -> String {
        match &self.used {
            ValueUsed::Nozzle(used) => used.text(system),
            ValueUsed::Pump(used) => used.text(system),
        }
    }

    /// Was it measured?
    pub fn measured(&self) -> bool {
        match &self.used {
            ValueUsed::Nozzle(used) => used.measured,
            ValueUsed::Pump(used) => used.measured,
        }
    }

    /// Do a rating and a measurement both stand in the book?
    pub fn both(&self) -> bool {
        match &self.used {
            ValueUsed::Nozzle(used) => used.both,
            ValueUsed::Pump(used) => used.both,
        }
    }

    /// Where the value comes from.
    pub fn source(&self) -> &str {
        match &self.used {
            ValueUsed::Nozzle(used) => &used.source,
            ValueUsed::Pump(used) => &used.source,
        }
    }

    /// Why it was this one.
    pub fn why(&self) -> &'static str {
        match &self.used {
            ValueUsed::Nozzle(used) => used.why,
            ValueUsed::Pump(used) => used.why,
        }
    }

    pub(crate) fn json(&self, system: System) -> Value {
        json!({
            "kind": self.kind(),
            "name": self.name,
            "used": self.text(system),
            "measured": self.measured(),
            "rating_and_measurement": self.both(),
            "source": self.source(),
            "why": self.why(),
        })
    }
}

impl CoefficientUsed {
    pub(crate) fn json(&self, system: System) -> Value {
        let c = |c: Coefficient| {
            let value = match system {
                System::Us => c.us_value(),
                System::Si => c.metric_value(),
            };
            (value * 1e4).round() / 1e4
        };
        json!({
            "hose": self.hose,
            "used": self.used.text(system),
            "measured": self.used.measured,
            "source": self.used.source,
            "why": self.used.why,
            "published_spread": self.spread.map(|(low, high)| json!([c(low), c(high)])),
        })
    }
}

impl Spread {
    /// The pump pressures alone, as JSON.
    pub(crate) fn pump_json(&self, system: System) -> Value {
        let (low, high) = self.pump_pressure;
        pair(figure::pressure(low), figure::pressure(high), system)
    }

    fn json(&self, tips: &[TipAnswer], system: System) -> Value {
        let flows: Vec<Value> = tips
            .iter()
            .zip(&self.flows)
            .map(|(tip, &(low, high))| {
                let range = pair(figure::flow(low), figure::flow(high), system);
                json!({ "place": tip.place, "flow": range })
            })
            .collect();
        json!({
            "pump_pressure": self.pump_json(system),
            "flows": flows,
        })
    }
}

impl Gating {
    fn json(&self, system: System) -> Value {
        let gates: Vec<Value> = self.gates.iter().map(|g| g.json(system)).collect();
        json!({
            "pump_pressure": figure::pressure(self.pump_pressure).json(system),
            "gates": gates,
        })
    }
}

impl GateAdvice {
    fn json(&self, system: System) -> Value {
        json!({
            "place": self.place,
            "excess": figure::pressure(self.excess).json(system),
            "gate": optional(self.gate.map(figure::share), system),
        })
    }
}

impl Notice {
    /// This notice as JSON.
    pub fn json(&self, system: System) -> Value {
        let numbers: Map<String, Value> = self
            .numbers
            .iter()
            .map(|(name, figure)| ((*name).to_string(), figure.json(system)))
            .collect();
        json!({
            "code": self.code,
            "weight": self.weight.word(),
            "place": self.place,
            "text": self.text,
            "numbers": numbers,
            "mend": self.mend,
        })
    }
}
