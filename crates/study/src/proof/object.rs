//! A proof as JSON, names in snake_case, quantities with their unit.

use super::found::{Bound, Found, Proof, Seen, Suspect};
use super::plan::{Plan, PlanItem};
use super::prove::Proved;
use crate::fact;
use crate::notice::Notice;
use hydraulics::units::System;
use serde_json::{Map, Value, json};

/// A number that JSON can hold, to six decimals; null for none.
fn number(value: f64) -> Value {
    match value.is_finite() {
        true => json!((value * 1e6).round() / 1e6),
        false => Value::Null,
    }
}

fn key(words: &str) -> String {
    let plain = |c: char| match c.is_alphanumeric() {
        true => c.to_ascii_lowercase(),
        false => '_',
    };
    words.chars().map(plain).collect()
}

/// A notice as JSON.
pub(super) fn notice(notice: &Notice, system: System) -> Value {
    let numbers = notice.numbers.iter();
    let numbers: Map<String, Value> = numbers
        .map(|(name, figure)| (key(name), figure.json(system)))
        .collect();
    json!({
        "code": notice.code,
        "weight": notice.weight.word(),
        "place": notice.place,
        "text": notice.text,
        "numbers": numbers,
        "mend": notice.mend,
    })
}

impl Found {
    /// As JSON.
    pub fn object(&self, system: System) -> Value {
        let shares = self.budget.shares();
        let parts = self.budget.contributions.iter().zip(shares);
        let budget: Vec<Value> = parts
            .map(|(part, share)| {
                json!({
                    "what": part.what,
                    "share": number(share),
                    "degrees": number(part.degrees),
                })
            })
            .collect();
        json!({
            "name": self.name,
            "value": self.value.json(system),
            "standard_uncertainty": self.standard.json(system),
            "between": self.between.map(|end| end.json(system)),
            "degrees_of_freedom": number(self.degrees),
            "budget": budget,
            "book": self.book.as_ref().map(|book| book.json(system)),
            "book_is": self.book_is,
            "told_apart": self.told_apart,
        })
    }
}

impl Bound {
    /// As JSON.
    pub fn object(&self, system: System) -> Value {
        let [value, low, high] = self.value.map(|figure| figure.json(system));
        json!({
            "what": self.what,
            "verdict": self.verdict.word(),
            "value": value,
            "between": [low, high],
            "least": self.least.map(|figure| figure.json(system)),
            "most": self.most.map(|figure| figure.json(system)),
            "source": self.source,
            "settle": self.settle,
        })
    }
}

impl Seen {
    /// As JSON.
    pub fn object(&self, system: System) -> Value {
        let read = self.read.iter();
        let read: Map<String, Value> = read
            .map(|(name, figure)| (key(name), figure.json(system)))
            .collect();
        json!({
            "point": self.point,
            "time": self.time,
            "read": read,
            "residual": self.residual.json(system),
            "studentised": number(self.studentised),
            "stands_out": self.stands_out,
            "left_out": self.left_out,
            "remark": self.remark,
        })
    }
}

impl Suspect {
    /// As JSON.
    pub fn object(&self, system: System) -> Value {
        let [off, low, high] = self.off.map(|figure| figure.json(system));
        json!({
            "gauges": self.gauges,
            "off_by": off,
            "between": [low, high],
            "chance": self.chance,
            "words": self.words,
        })
    }
}

impl Proof {
    /// As JSON.
    pub fn object(&self, system: System) -> Value {
        let (kind, about) = self.subject.words();
        let each = |list: Vec<Value>| Value::Array(list);
        json!({
            "kind": kind,
            "subject": about,
            "date": self.date,
            "law": self.law,
            "gauges": self.gauges,
            "found": each(self.found.iter().map(|f| f.object(system)).collect()),
            "verdict": self.verdict().map(|v| v.word()),
            "verdicts": each(self.bounds.iter().map(|b| b.object(system)).collect()),
            "points": each(self.points.iter().map(|p| p.object(system)).collect()),
            "scatter_chance": self.scatter_chance.map(number),
            "lack_of_fit": self.lack_of_fit.map(number),
            "stopped": self.stopped,
            "notices": each(self.notices.iter().map(|n| notice(n, system)).collect()),
            "facts": fact::object(&self.facts, system),
        })
    }
}

impl Proved {
    /// As JSON.
    pub fn object(&self, system: System) -> Value {
        let each = |list: Vec<Value>| Value::Array(list);
        json!({
            "proofs": each(self.proofs.iter().map(|p| p.object(system)).collect()),
            "suspects": each(self.suspects.iter().map(|s| s.object(system)).collect()),
            "notices": each(self.notices.iter().map(|n| notice(n, system)).collect()),
        })
    }
}

impl PlanItem {
    /// As JSON.
    pub fn object(&self, system: System) -> Value {
        let (kind, about) = self.subject.words();
        let gauges = self
            .gauges
            .iter()
            .map(|at| json!({ "place": at.place.word(), "gauge": at.gauge, "words": at.words }));
        let points = self.points.iter().map(|point| {
            let expected = point.expected.iter();
            let expected: Map<String, Value> = expected
                .map(|(place, figure)| (key(place.word()), figure.json(system)))
                .collect();
            let (place, figure) = &point.steer;
            json!({
                "point": point.number,
                "target": point.target,
                "set": place.word(),
                "to": figure.json(system),
                "expected": expected,
            })
        });
        let found = self.expected.iter().map(|value| {
            json!({
                "name": value.name,
                "value": value.value.json(system),
                "uncertainty": value.half.json(system),
                "share": number(value.share),
                "least_share": number(value.floor),
                "wanted_share": number(value.wanted),
                "reached": value.reached,
                "limited_by": value.limited_by,
            })
        });
        json!({
            "kind": kind,
            "subject": about,
            "title": self.title,
            "layout": self.layout,
            "gauges": gauges.collect::<Vec<Value>>(),
            "points": points.collect::<Vec<Value>>(),
            "repeats": self.repeats,
            "expected": found.collect::<Vec<Value>>(),
            "notices": self.notices.iter().map(|n| notice(n, system)).collect::<Vec<Value>>(),
        })
    }
}

impl Plan {
    /// As JSON.
    pub fn object(&self, system: System) -> Value {
        let items: Vec<Value> = self.items.iter().map(|item| item.object(system)).collect();
        let cautions: Vec<Value> = self.cautions.iter().map(|n| notice(n, system)).collect();
        json!({ "items": items, "cautions": cautions })
    }
}
