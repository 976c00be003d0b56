//! What changed about a line: its aim, its rig, its parts.

use super::words::{from_to, join};
use super::written::{about, paired};
use book::{Aim, Line, NozzlePart, Part, Parts, Path, RegulatorState, Stated, Step, Target};
use hydraulics::units::{Kind, Measure, System, show};

/// A name and what is said under it.
type Fact = (&'static str, String);

/// What changed from one line to the other, without what it does.
pub(super) fn of_line(before: &Line, after: &Line, system: System) -> Vec<String> {
    let rows = Rows {
        system,
        before: &before.parts,
        after: &after.parts,
    };
    let mut said = differing(&facts(before, system), &facts(after, system));
    rows.compare(rows.before, rows.after, &Path::default(), &mut said);
    said.extend(about(&before.about, &after.about));
    said
}

fn differing(before: &[Fact], after: &[Fact]) -> Vec<String> {
    let both = before.iter().zip(after);
    both.filter_map(|((label, a), (_, b))| from_to(label, a, b))
        .collect()
}

/// As written where it has the reader's unit, else in that unit.
fn value<Q: Measure>(kind: Kind, stated: &Stated<Q>, system: System) -> String {
    let symbol = kind.unit(system).symbol;
    let number = stated.text().strip_suffix(symbol).map(str::trim);
    match number.filter(|n| n.parse::<f64>().is_ok()) {
        Some(number) if !symbol.is_empty() => format!("{number} {symbol}"),
        _ => show(kind, stated.get(), system),
    }
}

fn maybe<Q: Measure>(kind: Kind, stated: Option<&Stated<Q>>, system: System) -> String {
    stated.map_or_else(none, |stated| value(kind, stated, system))
}

fn none() -> String {
    "none".into()
}

fn open() -> String {
    "fully open".into()
}

fn text(text: Option<&String>) -> String {
    text.cloned().unwrap_or_else(none)
}

fn facts(line: &Line, system: System) -> Vec<Fact> {
    let title = line.title.as_ref().map(|title| format!("\"{title}\""));
    let pump = maybe(Kind::Pressure, line.pump_pressure.as_ref(), system);
    let colour = line.marking.colour.map(|colour| colour.text());
    let mut facts = vec![
        ("title", text(title.as_ref())),
        ("rig", text(line.rig.as_ref())),
        ("colour", text(colour.as_ref())),
        ("mark", text(line.marking.mark.as_ref())),
        ("stated pump pressure", pump),
    ];
    facts.extend(aims(line.aim.as_ref(), system));
    facts
}

fn aims(aim: Option<&Aim>, system: System) -> [Fact; 2] {
    let target = aim.and_then(|aim| aim.target.as_ref());
    let target = target.map_or_else(none, |target| match target {
        Target::Flow(flow) => value(Kind::Flow, flow, system),
        Target::TipPressure(p) => format!("{} at the tip", value(Kind::Pressure, p, system)),
        Target::Reach(reach) => format!("{} of reach", value(Kind::Length, reach, system)),
    });
    let most = aim.and_then(|aim| aim.reaction_at_most.as_ref());
    let most = maybe(Kind::Force, most, system);
    [("aim", target), ("reaction at most", most)]
}

fn part_facts(part: &Part, system: System) -> Vec<Fact> {
    match part {
        Part::Hose(hose) => vec![
            ("", value(Kind::Length, &hose.length, system)),
            ("hose rise", maybe(Kind::Length, hose.rise.as_ref(), system)),
            ("kink", maybe(Kind::Share, hose.kink.as_ref(), system)),
        ],
        Part::Nozzle(nozzle) => nozzle_facts(nozzle, system),
        Part::Appliance(part) => {
            let gates = part.gates.iter().map(|g| value(Kind::Share, g, system));
            let gates: Vec<String> = gates.collect();
            let gates = if gates.is_empty() {
                open()
            } else {
                gates.join(", ")
            };
            vec![
                ("gate", gates),
                ("ratio", maybe(Kind::Share, part.ratio.as_ref(), system)),
                (
                    "appliance rise",
                    maybe(Kind::Length, part.rise.as_ref(), system),
                ),
            ]
        }
        Part::Branches(_) | Part::Legs(_) => Vec::new(),
    }
}

fn nozzle_facts(part: &NozzlePart, system: System) -> Vec<Fact> {
    let share = |stated| value(Kind::Share, stated, system);
    let regulator = part.regulator.as_ref().map(|state| match state {
        RegulatorState::Flush => "on flush".into(),
        RegulatorState::Jammed(at) => format!("jammed at {}", share(at)),
    });
    let works = || "working".into();
    let tip = if part.tip_only {
        "alone"
    } else {
        "on its shut-off"
    };
    let screen = maybe(Kind::Share, part.screen_blocked.as_ref(), system);
    let mut facts = vec![
        ("setting", text(part.setting.as_ref())),
        ("gate", part.gate.as_ref().map_or_else(open, share)),
        (
            "nozzle rise",
            maybe(Kind::Length, part.rise.as_ref(), system),
        ),
        ("regulator", regulator.unwrap_or_else(works)),
        ("screen blocked", screen),
        ("tip", tip.into()),
        ("attachment", text(part.attachment.as_ref())),
    ];
    let [aim, most] = aims(part.aim.as_ref(), system);
    facts.extend([
        ("tip's own aim", aim.1),
        ("tip's own reaction at most", most.1),
    ]);
    facts
}

/// A part in words.
fn what(part: &Part, system: System) -> String {
    match part {
        Part::Hose(hose) => {
            let length = value(Kind::Length, &hose.length, system);
            format!("{length} of {} hose", hose.hose)
        }
        Part::Nozzle(part) => join(
            &format!("nozzle {}", part.nozzle),
            part.setting.as_deref().unwrap_or(""),
        ),
        Part::Appliance(part) => part.appliance.clone(),
        Part::Branches(rows) => format!("{} branches", rows.len()),
        Part::Legs(rows) => format!("{} legs", rows.len()),
    }
}

fn what_row(row: &Parts, system: System) -> String {
    let parts = row.iter().map(|part| what(part, system));
    parts.collect::<Vec<_>>().join(", ")
}

/// The parts of a line before and after.
struct Rows<'a> {
    system: System,
    before: &'a [Part],
    after: &'a [Part],
}

impl Rows<'_> {
    fn compare(&self, before: &[Part], after: &[Part], at: &Path, said: &mut Vec<String>) {
        let same_name = |a: &Part, b: &Part| a.kind() == b.kind() && a.name() == b.name();
        let same_kind = |a: &Part, b: &Part| a.kind() == b.kind();
        let (partners, gone) = paired(before, after, &[&|a, b| a == b, &same_name, &same_kind]);
        let mut furthest = 0;
        for (i, (now, partner)) in after.iter().zip(partners).enumerate() {
            let place = at.then(Step::Part(i + 1));
            let Some(j) = partner else {
                said.push(format!("{} added as {place}", what(now, self.system)));
                continue;
            };
            self.part(&before[j], now, &place, said);
            if j < furthest {
                let from = at.then(Step::Part(j + 1));
                let what = what(now, self.system);
                said.push(format!("{what} moved from {from} to {place}"));
            }
            furthest = furthest.max(j);
        }
        for j in gone {
            let place = at.then(Step::Part(j + 1));
            let what = what(&before[j], self.system);
            said.push(format!("{what} taken out ({place})"));
        }
    }

    fn part(&self, before: &Part, after: &Part, place: &Path, said: &mut Vec<String>) {
        match (before, after) {
            (Part::Branches(a), Part::Branches(b)) => {
                self.rows(a, b, |n| place.then(Step::Branch(n)), said);
            }
            (Part::Legs(a), Part::Legs(b)) => self.rows(a, b, |n| place.then(Step::Leg(n)), said),
            _ => {
                let changed = self.one(before, after);
                let place = self.place(after.kind(), place);
                said.extend(changed.iter().map(|clause| format!("{clause}{place}")));
            }
        }
    }

    /// What changed about one piece of equipment in its place.
    fn one(&self, before: &Part, after: &Part) -> Vec<String> {
        let swap = before.name().zip(after.name()).filter(|(a, b)| a != b);
        let swap = swap.map(|(a, b)| format!("{} {a} swapped for {b}", after.kind()));
        let facts = |part| part_facts(part, self.system);
        let changed = differing(&facts(before), &facts(after));
        swap.into_iter().chain(changed).collect()
    }

    fn rows(
        &self,
        before: &[Parts],
        after: &[Parts],
        at: impl Fn(usize) -> Path,
        said: &mut Vec<String>,
    ) {
        let (partners, gone) = paired(before, after, &[&|a, b| a == b, &|_, _| true]);
        let mut furthest = 0;
        for (i, (now, partner)) in after.iter().zip(partners).enumerate() {
            let place = at(i + 1);
            let Some(j) = partner else {
                said.push(format!("{place} added: {}", what_row(now, self.system)));
                continue;
            };
            self.compare(&before[j], now, &place, said);
            if j < furthest {
                said.push(format!("{} moved to {place}", at(j + 1)));
            }
            furthest = furthest.max(j);
        }
        for j in gone {
            let row = what_row(&before[j], self.system);
            said.push(format!("{} taken out: {row}", at(j + 1)));
        }
    }

    /// Where a part is, unless it is the only one of its kind.
    fn place(&self, kind: &str, place: &Path) -> String {
        match count(self.before, kind).max(count(self.after, kind)) {
            0 | 1 => String::new(),
            _ => format!(" ({place})"),
        }
    }
}

/// How many of a kind there are, in rows within rows too.
fn count(parts: &[Part], kind: &str) -> usize {
    let of = |part: &Part| match part {
        Part::Branches(rows) | Part::Legs(rows) => rows.iter().map(|row| count(row, kind)).sum(),
        part => usize::from(part.kind() == kind),
    };
    parts.iter().map(of).sum()
}
