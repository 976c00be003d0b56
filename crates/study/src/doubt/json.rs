//! Draws as JSON.

use super::choice::figure_of;
use super::model::{Doubted, Held, SceneDoubted, Share, Spread, TipDoubted, Unsure, UnsureOf};
use book::comparison::AimKind;
use hydraulics::units::System;
use serde_json::{Value, json};

fn list<T>(items: &[T], each: impl Fn(&T) -> Value) -> Value {
    Value::Array(items.iter().map(each).collect())
}

/// To a millionth, so that the same answer gives the same bytes.
fn share(value: f64) -> Value {
    let rounded = (value * 1e6).round() / 1e6;
    json!(if rounded == 0.0 { 0.0 } else { rounded })
}

fn chance((value, half): (f64, f64)) -> Value {
    json!({ "share": share(value), "give_or_take": share(half) })
}

impl UnsureOf {
    /// Its key in JSON: "hose".
    pub fn key(&self) -> &'static str {
        match self {
            UnsureOf::Hose(_) => "hose",
            UnsureOf::Nozzle(_) => "nozzle",
            UnsureOf::Regulator(_) => "regulator",
            UnsureOf::Pump(_) => "pump",
            UnsureOf::Length => "length",
            UnsureOf::Rise(_) => "rise",
            UnsureOf::Gate(_) => "gate",
            UnsureOf::Kink(_) => "kink",
        }
    }
}

impl Spread {
    /// As JSON; values in SI, or factors.
    fn json(&self) -> Value {
        match *self {
            Spread::Exact(value) => json!({ "kind": "exact", "value": share(value) }),
            Spread::Even(low, high) => {
                json!({ "kind": "even", "low": share(low), "high": share(high) })
            }
            Spread::Normal {
                mean,
                sd,
                low,
                high,
            } => json!({
                "kind": "normal",
                "mean": share(mean),
                "sd": share(sd),
                "low": share(low),
                "high": share(high),
            }),
            Spread::Triangle(low, mode, high) => json!({
                "kind": "triangle",
                "low": share(low),
                "most_likely": share(mode),
                "high": share(high),
            }),
            Spread::Sometimes(often, most) => {
                json!({ "kind": "sometimes", "chance": share(often), "most": share(most) })
            }
        }
    }
}

impl Unsure {
    /// What is doubtful, as JSON; the spread in SI or as a factor.
    pub fn json(&self) -> Value {
        json!({
            "kind": self.of.key(),
            "name": self.name,
            "spread": self.spread.json(),
            "factor": self.factor,
            "source": self.source,
            "mend": self.mend,
        })
    }
}

impl Held {
    /// One value over the days, as JSON in the units of `system`.
    pub fn json(&self, system: System) -> Value {
        let [low, middle, high] = &self.quantiles;
        let end = |si| figure_of(self.aim, si).json(system);
        json!({
            "aim": self.aim.key(),
            "mean": self.mean.json(system),
            "sd": self.sd.json(system),
            "five_percent_below": low.json(system),
            "half_below": middle.json(system),
            "ninety_five_percent_below": high.json(system),
            "histogram": {
                "low": end(self.histogram.low),
                "high": end(self.histogram.high),
                "counts": self.histogram.counts,
            },
        })
    }
}

impl Share {
    /// One share of the doubt, as JSON in the units of `system`.
    pub fn json(&self, system: System) -> Value {
        json!({
            "name": self.name,
            "first": chance(self.first),
            "total": chance(self.total),
            "swing": list(&self.swing, |figure| figure.json(system)),
        })
    }
}

impl Doubted {
    /// How sure a choice is, as JSON in the units of `system`.
    pub fn json(&self, system: System) -> Value {
        let shares = |(aim, shares): &(AimKind, Vec<Share>)| json!({ "aim": aim.key(), "shares": list(shares, |s| s.json(system)) });
        let holds = |(limit, often, half): &(crate::choose::Limit, f64, f64)| json!({ "limit": limit.key(), "days": chance((*often, *half)) });
        json!({
            "draws": self.draws,
            "seed": self.seed,
            "unsolved": self.unsolved,
            "unsure": list(&self.unsure, Unsure::json),
            "over_days": list(&self.over_days, |held| held.json(system)),
            "holds": list(&self.holds, holds),
            "all_hold": chance(self.all_hold),
            "shares": list(&self.shares, shares),
            "words": self.words,
            "notices": list(&self.notices, |notice| notice.json(system)),
        })
    }
}

impl TipDoubted {
    /// How sure a tip's flow is, as JSON in the units of `system`.
    pub fn json(&self, system: System) -> Value {
        json!({
            "line": self.line,
            "place": self.place,
            "nozzle": self.nozzle,
            "flow": self.flow.json(system),
            "meets": self.meets.map(chance),
            "shares": list(&self.shares, |share| share.json(system)),
        })
    }
}

impl SceneDoubted {
    /// How sure a scene's flows are, as JSON in the units of `system`.
    pub fn json(&self, system: System) -> Value {
        json!({
            "scene": self.scene,
            "draws": self.draws,
            "seed": self.seed,
            "unsolved": self.unsolved,
            "unsure": list(&self.unsure, Unsure::json),
            "tips": list(&self.tips, |tip| tip.json(system)),
            "all_meet": self.all_meet.map(chance),
            "words": self.words,
            "notices": list(&self.notices, |notice| notice.json(system)),
        })
    }
}
