//! A comparison's answer as JSON, in the manner of [`crate::answer`].

use super::{
    Choice, ChooseError, Chosen, Excluded, LineResult, Measured, OfLine, Said, Size, Where,
};
use crate::answer::pair;
use crate::figure;
use hydraulics::units::System;
use serde_json::{Value, json};

fn texts(said: &[Said], system: System) -> Vec<String> {
    said.iter().map(|said| said.text(system)).collect()
}

fn number(value: f64) -> f64 {
    (value * 1e4).round() / 1e4
}

impl Size {
    /// This size as JSON.
    pub fn json(&self) -> Value {
        json!({ "choices": self.choices, "points": self.points, "draws": self.draws })
    }
}

impl Chosen {
    /// This answer as JSON in the units of `system`.
    pub fn json(&self, system: System) -> Value {
        let all = |choices: &[Choice]| -> Vec<Value> {
            choices.iter().map(|choice| choice.json(system)).collect()
        };
        let excluded = self.excluded.iter().map(|e| e.json(system));
        let aims = self
            .aims
            .iter()
            .map(|(aim, weight)| json!({ "aim": aim.key(), "weight": number(*weight) }));
        json!({
            "title": self.title,
            "lines": self.lines,
            "aims": aims.collect::<Vec<Value>>(),
            "size": self.size.json(),
            "unbeaten": self.unbeaten,
            "beaten": self.beaten,
            "choices": all(&self.choices),
            "excluded": excluded.collect::<Vec<Value>>(),
            "today": self.today.as_ref().map(|choice| choice.json(system)),
            "robust": self.robust.and_then(|at| self.choices.get(at)).map(|c| c.code.clone()),
            "notices": self.notices.iter().map(|n| n.json(system)).collect::<Vec<Value>>(),
            "residual": {
                "flow": figure::flow(self.residual.flow).json(system),
                "pressure": figure::pressure(self.residual.pressure).json(system),
            },
        })
    }
}

impl Choice {
    /// This choice as JSON in the units of `system`.
    pub fn json(&self, system: System) -> Value {
        let past = self.past.iter().map(|(limit, has, may)| {
            json!({ "limit": limit.key(), "has": has.json(system), "may": may.json(system) })
        });
        let pressure = self.pump_pressure.map(|p| figure::pressure(p).json(system));
        json!({
            "code": self.code,
            "score": number(self.score),
            "pump_pressure": pressure,
            "on": self.on.iter().map(|on| on.json(system)).collect::<Vec<Value>>(),
            "measured": self.measured.iter().map(|m| m.json(system)).collect::<Vec<Value>>(),
            "results": self.results.iter().map(|r| r.json(system)).collect::<Vec<Value>>(),
            "past": past.collect::<Vec<Value>>(),
            "why": texts(&self.why, system),
            "against": texts(&self.against, system),
            "to_change": texts(&self.to_change, system),
            "doubted": self.doubted.as_ref().map(|doubted| doubted.json(system)),
        })
    }
}

impl OfLine {
    /// This line's equipment as JSON in the units of `system`.
    pub fn json(&self, system: System) -> Value {
        json!({
            "line": self.line,
            "hose": self.hose,
            "length": figure::length(self.length).json(system),
            "nozzle": self.nozzle,
            "setting": self.setting,
            "pump_pressure": figure::pressure(self.pump_pressure).json(system),
        })
    }
}

impl Where {
    fn json(&self, system: System) -> Value {
        json!({
            "line": (!self.line.is_empty()).then_some(&self.line),
            "rise": figure::length(self.rise).json(system),
            "coefficient": which(self.coefficient),
        })
    }
}

fn which(which: book::Which) -> &'static str {
    match which {
        book::Which::Best => "best",
        book::Which::Measured => "measured",
        book::Which::Published => "published",
        book::Which::PublishedLow => "published_low",
        book::Which::PublishedHigh => "published_high",
    }
}

impl Measured {
    /// This value as JSON in the units of `system`.
    pub fn json(&self, system: System) -> Value {
        json!({
            "aim": self.aim.key(),
            "value": self.value.json(system),
            "at": self.at.json(system),
            "good": number(self.good),
        })
    }
}

impl LineResult {
    /// This line's result as JSON in the units of `system`.
    pub fn json(&self, system: System) -> Value {
        let low = self.low.map(|(flow, pressure)| {
            json!({
                "flow": figure::flow(flow).json(system),
                "tip_pressure": figure::pressure(pressure).json(system),
            })
        });
        let (least, most) = self.flows;
        json!({
            "line": self.line,
            "flow": figure::flow(self.flow).json(system),
            "tip_pressure": figure::pressure(self.tip_pressure).json(system),
            "reaction": figure::force(self.reaction).json(system),
            "people": self.people,
            "effective_reach": figure::length(self.reach).json(system),
            "at_low_pump": low,
            "flows": pair(figure::flow(least), figure::flow(most), system),
        })
    }
}

impl Excluded {
    /// This limit's toll as JSON in the units of `system`.
    pub fn json(&self, system: System) -> Value {
        json!({
            "limit": self.limit.key(),
            "choices": self.choices,
            "alone": self.alone,
            "nearest": self.nearest.text(system),
            "has": self.has_and_may.map(|(has, _)| has.json(system)),
            "may": self.has_and_may.map(|(_, may)| may.json(system)),
            "text": self.text.text(system),
        })
    }
}

impl ChooseError {
    /// A fixed name for programs, in snake_case.
    pub fn code(&self) -> &'static str {
        match self {
            ChooseError::Question { .. } => "question",
            ChooseError::Contradiction { .. } => "contradiction",
            ChooseError::Nothing { .. } => "nothing_left",
            ChooseError::TooLarge { .. } => "too_large",
            ChooseError::Stopped => "stopped",
        }
    }

    /// What would mend it; empty where nothing need be mended.
    pub fn mend(&self) -> &str {
        match self {
            ChooseError::Question { mend, .. }
            | ChooseError::Contradiction { mend, .. }
            | ChooseError::Nothing { mend, .. }
            | ChooseError::TooLarge { mend, .. } => mend,
            ChooseError::Stopped => "",
        }
    }

    /// This refusal as JSON in the units of `system`.
    pub fn json(&self, system: System) -> Value {
        let mut value = json!({
            "code": self.code(),
            "message": self.to_string(),
            "mend": self.mend(),
        });
        let Some(object) = value.as_object_mut() else {
            return value;
        };
        match self {
            ChooseError::Question { place, .. } => {
                object.insert("place".into(), json!(place));
            }
            ChooseError::Contradiction { limits: (a, b), .. } => {
                object.insert("limits".into(), json!([a.key(), b.key()]));
            }
            ChooseError::Nothing { excluded, .. } => {
                let list: Vec<Value> = excluded.iter().map(|e| e.json(system)).collect();
                object.insert("excluded".into(), json!(list));
            }
            ChooseError::TooLarge { size, .. } => {
                object.insert("size".into(), size.json());
            }
            ChooseError::Stopped => {}
        }
        value
    }
}
