//! A comparison as the fields of a form, and back.

use crate::form::{Refused, Sent};
use crate::reader::word;
use book::comparison::{
    AimKind, Cases, Comparison, Doubt, Limits, NozzleChoice, Steps, Vary, Wanted,
};
use book::{Book, Stated, Which};
use hydraulics::units::{Kind, Measure, Ratio, System};
use indexmap::IndexMap;

/// What can be true of friction coefficients: its word in a form, and to the reader.
pub(super) const COEFFICIENTS: [(&str, &str, Which); 4] = [
    ("best", "as the book takes them", Which::Best),
    ("published", "as published", Which::Published),
    (
        "low",
        "the lowest of the published spread",
        Which::PublishedLow,
    ),
    (
        "high",
        "the highest of the published spread",
        Which::PublishedHigh,
    ),
];

/// A nozzle, with one of its settings, as a box sends it.
pub(super) fn boxed(nozzle: &str, setting: Option<&str>) -> String {
    match setting {
        Some(setting) => format!("{nozzle}, {setting}"),
        None => nozzle.into(),
    }
}

/// The fields that `comparison` fills, a bare number with its unit.
pub(super) fn sent(comparison: &Comparison, book: &Book) -> Sent {
    let units = comparison.units.unwrap_or(book.units);
    let mut to = Writing {
        pairs: Vec::new(),
        units,
    };
    to.text("answer-in", comparison.units.map(word));
    to.text("title", comparison.title.as_deref());
    to.text("note", comparison.note.as_deref());
    for line in &comparison.lines {
        to.text("line", Some(line));
    }
    to.check("each", comparison.each_line);
    to.vary(&comparison.vary, book);
    to.cases(&comparison.cases);
    to.limits(&comparison.limits);
    for (aim, wanted) in &comparison.aims {
        let weight = plain(wanted.weight.get().value);
        to.text(&weight_key(*aim), Some(&weight));
        to.one("near", Kind::Flow, wanted.near.as_ref());
    }
    to.doubt(&comparison.doubt);
    Sent(to.pairs)
}

/// The field of an aim's weight.
pub(super) fn weight_key(aim: AimKind) -> String {
    format!("weight-{}", aim.key())
}

/// A number as it is typed.
pub(super) fn plain(value: f64) -> String {
    format!("{}", (value * 1e4).round() / 1e4)
}

struct Writing {
    pairs: Vec<(String, String)>,
    units: System,
}

impl Writing {
    fn text(&mut self, key: &str, value: Option<&str>) {
        if let Some(value) = value {
            self.pairs.push((key.into(), value.into()));
        }
    }

    fn check(&mut self, key: &str, yes: bool) {
        self.text(key, yes.then_some("yes"));
    }

    fn one<Q: Copy>(&mut self, key: &str, kind: Kind, value: Option<&Stated<Q>>) {
        let written = value.map(|value| with_unit(kind, value.text(), self.units));
        self.text(key, written.as_deref());
    }

    fn list<Q: Copy>(&mut self, key: &str, kind: Kind, values: &[Stated<Q>]) {
        let written = values
            .iter()
            .map(|value| with_unit(kind, value.text(), self.units));
        let written: Vec<String> = written.collect();
        let written = (!written.is_empty()).then(|| written.join(", "));
        self.text(key, written.as_deref());
    }

    fn pair<Q: Copy>(&mut self, keys: [&str; 2], kinds: Kind, value: Option<&[Stated<Q>; 2]>) {
        if let Some([first, second]) = value {
            let [from, to] = keys;
            self.one(from, kinds, Some(first));
            self.one(to, kinds, Some(second));
        }
    }

    fn vary(&mut self, vary: &Vary, book: &Book) {
        for hose in &vary.hose {
            self.text("hose", Some(hose));
        }
        for NozzleChoice { nozzle, setting } in &vary.nozzle {
            match setting {
                Some(setting) => self.text("nozzle", Some(&boxed(nozzle, Some(setting)))),
                // All of its settings.
                None => {
                    for value in boxes(book, nozzle) {
                        self.text("nozzle", Some(&value));
                    }
                }
            }
        }
        self.list("length", Kind::Length, &vary.length);
        match &vary.pump_pressure {
            Steps::List(values) => self.list("pumps", Kind::Pressure, values),
            Steps::Range { from, to, step } => {
                self.one("pump-from", Kind::Pressure, Some(from));
                self.one("pump-to", Kind::Pressure, Some(to));
                self.one("pump-step", Kind::Pressure, Some(step));
            }
        }
    }

    fn cases(&mut self, cases: &Cases) {
        self.list("rise", Kind::Length, &cases.rise);
        for which in &cases.coefficient {
            let word = COEFFICIENTS.iter().find(|(_, _, of)| of == which);
            self.text("coefficient", word.map(|(word, _, _)| *word));
        }
        let low = cases.low_pump_pressure.as_ref();
        self.one("low-pump", Kind::Pressure, low);
        self.one("gated", Kind::Share, cases.gated.as_ref());
    }

    fn limits(&mut self, limits: &Limits) {
        let count = |n: Option<u8>| n.map(|n| n.to_string());
        self.text("people", count(limits.people).as_deref());
        self.one("most-reaction", Kind::Force, limits.reaction.as_ref());
        self.one("ceiling", Kind::Pressure, limits.pump_pressure.as_ref());
        self.check("past-service", limits.past_service_pressure);
        self.one("least-flow", Kind::Flow, limits.flow.as_ref());
        let tip = limits.tip_pressure.as_ref();
        self.one("least-tip", Kind::Pressure, tip);
        self.one("least-reach", Kind::Length, limits.reach.as_ref());
        let low = limits.flow_at_low_pump.as_ref();
        self.one("least-flow-low", Kind::Flow, low);
        let low = limits.tip_pressure_at_low_pump.as_ref();
        self.one("least-tip-low", Kind::Pressure, low);
        self.one("most-weight", Kind::Mass, limits.weight.as_ref());
        let outlet = limits.outlet_pressure.as_ref();
        self.one("most-outlet", Kind::Pressure, outlet);
        let price = limits.price.as_ref().map(|price| plain(price.get().value));
        self.text("most-price", price.as_deref());
        self.text("most-kinds", count(limits.kinds).as_deref());
    }

    fn doubt(&mut self, doubt: &Doubt) {
        let whole = |n: Option<u64>| n.map(|n| n.to_string());
        self.text("draws", whole(doubt.draws).as_deref());
        self.text("seed", whole(doubt.seed).as_deref());
        self.one("days", Kind::Share, doubt.days.as_ref());
        self.one("pump-gauge", Kind::Pressure, doubt.pump_gauge.as_ref());
        self.one("governor", Kind::Pressure, doubt.governor.as_ref());
        self.one("hose-off", Kind::Share, doubt.length.as_ref());
        self.pair(["rise-from", "rise-to"], Kind::Length, doubt.rise.as_ref());
        self.pair(["gate-from", "gate-to"], Kind::Share, doubt.gate.as_ref());
        let kink = doubt.kink.as_ref();
        self.pair(["kink-chance", "kink-closes"], Kind::Share, kink);
        self.check("published", doubt.published);
    }
}

/// The boxes of a nozzle: one for each of its settings, one where it has none.
pub(super) fn boxes(book: &Book, nozzle: &str) -> Vec<String> {
    let item = book.nozzle(nozzle).map(|found| found.item);
    let settings = item.map(|item| item.settings()).unwrap_or_default();
    match settings.as_slice() {
        [] => vec![boxed(nozzle, None)],
        settings => settings
            .iter()
            .map(|setting| boxed(nozzle, Some(setting)))
            .collect(),
    }
}

/// A text with the unit that goes without saying: of a share per cent, else that of `units`.
fn with_unit(kind: Kind, text: &str, units: System) -> String {
    let text = text.trim();
    let Ok(value) = text.parse::<f64>() else {
        return text.into();
    };
    match kind {
        Kind::Share => format!("{} %", plain(value * 100.0)),
        _ => format!("{text} {}", kind.unit(units).symbol),
    }
}

/// The comparison that a form states, in its own words; `units` are those of bare numbers.
///
/// # Errors
/// What is wrong, by field.
pub(super) fn comparison(sent: &Sent, book: &Book, units: System) -> Result<Comparison, Refused> {
    let mut from = Reading {
        sent,
        units,
        wrong: Vec::new(),
    };
    let comparison = Comparison {
        title: from.text("title"),
        note: from.text("note"),
        units: crate::reader::units(sent.get("answer-in")),
        lines: sent.all("line"),
        each_line: from.check("each"),
        vary: from.vary(book),
        cases: from.cases(),
        limits: from.limits(),
        aims: from.aims(),
        doubt: from.doubt(),
    };
    if comparison.lines.is_empty() {
        from.refuse("line", "tick at least one line".into());
    }
    match from.wrong.is_empty() {
        true => Ok(comparison),
        false => Err(from.wrong),
    }
}

struct Reading<'a> {
    sent: &'a Sent,
    units: System,
    wrong: Refused,
}

impl Reading<'_> {
    fn refuse(&mut self, key: &str, message: String) {
        self.wrong.push((key.into(), message));
    }

    fn text(&self, key: &str) -> Option<String> {
        Some(self.sent.own(key)).filter(|text| !text.is_empty())
    }

    fn check(&self, key: &str) -> bool {
        self.sent.get(key) == "yes"
    }

    fn stated<Q: Measure>(&mut self, key: &str, kind: Kind, text: &str) -> Option<Stated<Q>> {
        let bare = text.parse::<f64>().is_ok();
        let text = match (bare, kind) {
            (true, Kind::Share) => format!("{text} %"),
            (true, _) => format!("{text} {}", kind.unit(self.units).symbol),
            (false, _) => text.to_string(),
        };
        match Stated::read(kind, &text, self.units) {
            Ok(stated) => Some(stated),
            Err(error) => {
                let example = kind.example(self.units);
                self.refuse(key, format!("{error}; write it like \"{example}\""));
                None
            }
        }
    }

    fn one<Q: Measure>(&mut self, key: &str, kind: Kind) -> Option<Stated<Q>> {
        let text = self.text(key)?;
        self.stated(key, kind, &text)
    }

    fn list<Q: Measure>(&mut self, key: &str, kind: Kind) -> Vec<Stated<Q>> {
        let text = self.sent.own(key);
        let texts = text.split(',').map(str::trim).filter(|t| !t.is_empty());
        texts
            .filter_map(|text| self.stated(key, kind, text))
            .collect()
    }

    /// A number without a unit.
    fn number<N: std::str::FromStr>(&mut self, key: &str, what: &str) -> Option<N> {
        let text = self.text(key)?;
        let read = text.replace([',', ' '], "").parse().ok();
        if read.is_none() {
            self.refuse(key, format!("\"{text}\" is no {what}"));
        }
        read
    }

    /// A bare number that a comparison holds as a share of one.
    fn bare(&mut self, key: &str, most: f64) -> Option<Stated<Ratio>> {
        let value: f64 = self.number(key, "number")?;
        if !(0.0..=most).contains(&value) {
            self.refuse(key, format!("{value} is not between 0 and {most}"));
            return None;
        }
        Stated::read(Kind::Share, &plain(value), self.units).ok()
    }

    fn both<Q: Measure>(&mut self, keys: [&str; 2], kind: Kind) -> Option<[Stated<Q>; 2]> {
        let [from, to] = keys;
        match (self.one(from, kind), self.one(to, kind)) {
            (Some(a), Some(b)) => Some([a, b]),
            (None, None) => None,
            (first, _) => {
                let (missing, other) = if first.is_some() {
                    (to, from)
                } else {
                    (from, to)
                };
                let known = |key: &str| self.wrong.iter().any(|(wrong, _)| wrong == key);
                if !known(missing) && !known(other) {
                    self.refuse(missing, "fill in both, or leave both empty".into());
                }
                None
            }
        }
    }

    fn vary(&mut self, book: &Book) -> Vary {
        let from = self.one("pump-from", Kind::Pressure);
        let to = self.one("pump-to", Kind::Pressure);
        let step = self.one("pump-step", Kind::Pressure);
        let listed = self.list("pumps", Kind::Pressure);
        let pump_pressure = match (from, to, step) {
            (None, None, None) => Steps::List(listed),
            (Some(_), Some(_), Some(_)) if !listed.is_empty() => {
                let text = "give pressures from and to, or one by one, not both";
                self.refuse("pumps", text.into());
                Steps::default()
            }
            (Some(from), Some(to), Some(step)) => Steps::Range { from, to, step },
            _ => {
                if !self.wrong.iter().any(|(key, _)| key.starts_with("pump-")) {
                    let text = "pressures from and to need a from, a to and a step";
                    self.refuse("pump-from", text.into());
                }
                Steps::default()
            }
        };
        Vary {
            hose: self.sent.all("hose"),
            nozzle: nozzles(book, &self.sent.all("nozzle")),
            length: self.list("length", Kind::Length),
            pump_pressure,
        }
    }

    fn cases(&mut self) -> Cases {
        let words = self.sent.all("coefficient");
        let chosen = COEFFICIENTS
            .iter()
            .filter(|(word, _, _)| words.iter().any(|w| w == word));
        Cases {
            rise: self.list("rise", Kind::Length),
            coefficient: chosen.map(|(_, _, which)| *which).collect(),
            low_pump_pressure: self.one("low-pump", Kind::Pressure),
            gated: self.one("gated", Kind::Share),
        }
    }

    fn limits(&mut self) -> Limits {
        Limits {
            people: self.number("people", "number of people"),
            reaction: self.one("most-reaction", Kind::Force),
            pump_pressure: self.one("ceiling", Kind::Pressure),
            past_service_pressure: self.check("past-service"),
            flow: self.one("least-flow", Kind::Flow),
            tip_pressure: self.one("least-tip", Kind::Pressure),
            reach: self.one("least-reach", Kind::Length),
            flow_at_low_pump: self.one("least-flow-low", Kind::Flow),
            tip_pressure_at_low_pump: self.one("least-tip-low", Kind::Pressure),
            weight: self.one("most-weight", Kind::Mass),
            outlet_pressure: self.one("most-outlet", Kind::Pressure),
            price: self.bare("most-price", 1e12),
            kinds: self.number("most-kinds", "number of kinds"),
        }
    }

    fn aims(&mut self) -> IndexMap<AimKind, Wanted> {
        let mut aims = IndexMap::new();
        let near = self.one("near", Kind::Flow);
        for aim in AimKind::ALL {
            if let Some(weight) = self.bare(&weight_key(aim), 100.0) {
                let near = near.clone().filter(|_| aim == AimKind::Flow);
                aims.insert(aim, Wanted { weight, near });
            }
        }
        if near.is_some() && !aims.contains_key(&AimKind::Flow) {
            let text = "this flow is wanted only where flow has a weight";
            self.refuse("near", text.into());
        }
        aims
    }

    fn doubt(&mut self) -> Doubt {
        Doubt {
            draws: self.number("draws", "number of days"),
            seed: self.number("seed", "whole number"),
            days: self.one("days", Kind::Share),
            pump_gauge: self.one("pump-gauge", Kind::Pressure),
            governor: self.one("governor", Kind::Pressure),
            length: self.one("hose-off", Kind::Share),
            rise: self.both(["rise-from", "rise-to"], Kind::Length),
            gate: self.both(["gate-from", "gate-to"], Kind::Share),
            kink: self.both(["kink-chance", "kink-closes"], Kind::Share),
            published: self.check("published"),
        }
    }
}

/// The nozzles of ticked boxes; one with all of its settings ticked is named once.
fn nozzles(book: &Book, ticked: &[String]) -> Vec<NozzleChoice> {
    let mut all: Vec<NozzleChoice> = Vec::new();
    for value in ticked {
        let (nozzle, setting) = match value.rsplit_once(", ") {
            Some((nozzle, setting)) if book.nozzle(value).is_none() => (nozzle, Some(setting)),
            _ => (value.as_str(), None),
        };
        let of = boxes(book, nozzle);
        let whole = of.len() > 1 && of.iter().all(|one| ticked.contains(one));
        let choice = NozzleChoice {
            nozzle: nozzle.into(),
            setting: setting.filter(|_| !whole).map(Into::into),
        };
        if !all.contains(&choice) {
            all.push(choice);
        }
    }
    all
}
