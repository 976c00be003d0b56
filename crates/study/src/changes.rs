//! What changed between two revisions of a book, in words for its history.

mod parts;
mod words;
mod written;

use crate::figure;
use crate::operating::solve_plain;
use book::{Book, Conditions};
use hydraulics::units::{Pressure, System, VolumeRate};
use words::{from_to, one_line};
use written::{Named, named};

/// Kinds of equipment and water, in the order in which a book is written.
const ITEMS: [&str; 8] = [
    "hose",
    "nozzle",
    "appliance",
    "rig",
    "hydrant",
    "draft",
    "shuttle",
    "standpipe",
];

/// Lines that are named when a change to an item moves many.
const MOST: usize = 6;

/// What changed from `before` to `after`, a sentence for each thing: the department,
/// its equipment, its lines, its scenes. Lengths and pressures of lines are given
/// in the units of `system`; values of equipment and scenes as they are written.
/// Nothing when the books say the same.
///
/// ```
/// use hydraulics::units::System;
/// let of = |length: &str| {
///     let text = format!(
///         "[book]\nname = 'Example'\n[line.left]\nparts = [\n\
///          {{ hose = '2.5 in', length = '{length}' }},\n\
///          {{ nozzle = '1-1/8 in smooth bore' }},\n]\naim = {{ tip_pressure = '50 psi' }}\n"
///     );
///     book::read(text.as_bytes(), "example.toml")
/// };
/// let (before, after) = (of("200 ft")?, of("300 ft")?);
/// let said = study::changes(&before, &after, System::Us);
/// // 2 x 2.66^2 = 14.2 psi for each 100 ft, and 50 at the tip.
/// assert_eq!(said, ["left: 200 to 300 ft; pump pressure 78 to 92 psi"]);
/// assert!(study::changes(&after, &after, System::Us).is_empty());
/// # Ok::<(), book::Problems>(())
/// ```
pub fn changes(before: &Book, after: &Book, system: System) -> Vec<String> {
    let two = Two {
        before,
        after,
        system,
    };
    let (old, new) = (written::tables(before), written::tables(after));
    let mut said = Vec::new();
    if before.name != after.name {
        let names = format!("{} to {}", before.name, after.name);
        said.push(format!("department renamed from {names}"));
    }
    said.extend(two.with_effects(equipment(&old, &new)));
    let lines = named(&old, &new, "line");
    said.extend(lines.iter().map(|change| two.line(change)));
    let scenes = named(&old, &new, "scene");
    said.extend(scenes.iter().map(|change| two.scene(change)));
    said.iter().map(|sentence| one_line(sentence)).collect()
}

/// What changed about the department, its equipment and its water.
fn equipment(old: &toml::Table, new: &toml::Table) -> Vec<String> {
    let department = written::department(old, new);
    let department = (!department.is_empty()).then(|| sentence("department", &department));
    let items = ITEMS.iter().flat_map(|kind| {
        let changes = named(old, new, kind);
        changes.into_iter().map(move |change| item(kind, &change))
    });
    department.into_iter().chain(items).collect()
}

fn item(kind: &str, change: &Named) -> String {
    match change {
        Named::New(name) => format!("new {kind}: {name}"),
        Named::Gone(name) => format!("{kind} taken out: {name}"),
        Named::Renamed(from, to) => format!("{kind} {from} renamed {to}"),
        Named::Changed(name, clauses) => sentence(&format!("{kind} {name}"), clauses),
    }
}

fn sentence(subject: &str, clauses: &[String]) -> String {
    match clauses {
        [] => format!("{subject}: written otherwise"),
        clauses => format!("{subject}: {}", clauses.join("; ")),
    }
}

/// What crews call the line or scene: its title, or its name.
fn called<'a>(title: Option<&'a String>, name: &'a str) -> &'a str {
    title.map_or(name, String::as_str)
}

/// Two revisions, and the units of their reader.
struct Two<'a> {
    before: &'a Book,
    after: &'a Book,
    system: System,
}

/// Pump pressure and flow of a line.
type Point = (Pressure, VolumeRate);

impl Two<'_> {
    fn line(&self, change: &Named) -> String {
        let title = |book: &Book, name: &str| {
            let line = book.line.get(name);
            called(line.and_then(|l| l.title.as_ref()), name).to_string()
        };
        match change {
            Named::New(name) => {
                let effect = self.effect(name).join("; ");
                let comma = if effect.is_empty() { "" } else { "; " };
                format!("new line: {}{comma}{effect}", title(self.after, name))
            }
            Named::Gone(name) => format!("line taken out: {}", title(self.before, name)),
            Named::Renamed(from, to) => format!("line {from} renamed {to}"),
            Named::Changed(name, _) => {
                let lines = self.before.line.get(name).zip(self.after.line.get(name));
                let clauses = lines.map(|(a, b)| parts::of_line(a, b, self.system));
                let mut clauses = clauses.unwrap_or_default();
                clauses.extend(self.effect(name));
                sentence(&title(self.after, name), &clauses)
            }
        }
    }

    fn scene(&self, change: &Named) -> String {
        let title = |book: &Book, name: &str| {
            let scene = book.scene.get(name);
            called(scene.and_then(|s| s.title.as_ref()), name).to_string()
        };
        match change {
            Named::New(name) => format!("new scene: {}", title(self.after, name)),
            Named::Gone(name) => format!("scene taken out: {}", title(self.before, name)),
            Named::Renamed(from, to) => format!("scene {from} renamed {to}"),
            Named::Changed(name, clauses) => sentence(&title(self.after, name), clauses),
        }
    }

    /// `equipment`, and what it does to the lines that nobody touched. Which of
    /// several changes moved a line is not said, since it may be all of them.
    fn with_effects(&self, mut equipment: Vec<String>) -> Vec<String> {
        if equipment.is_empty() {
            return equipment;
        }
        let moved = self.moved();
        if moved.is_empty() {
            return equipment;
        }
        let moved = shortened(moved).join("; ");
        match equipment.as_mut_slice() {
            [only] => only.push_str(&format!("; so {moved}")),
            _ => equipment.push(format!("these together: {moved}")),
        }
        equipment
    }

    /// Lines that are written as before and yet give something else.
    fn moved(&self) -> Vec<String> {
        let same = self.after.line.iter().filter(|(name, line)| {
            let before = self.before.line.get(*name);
            before == Some(*line)
        });
        same.filter_map(|(name, line)| {
            let effect = self.effect(name);
            let title = called(line.title.as_ref(), name);
            (!effect.is_empty()).then(|| sentence(title, &[effect.join(", ")]))
        })
        .collect()
    }

    /// What became of the pump pressure of a line; of its flow, where its pump
    /// pressure is stated or stays.
    fn effect(&self, line: &str) -> Vec<String> {
        let (before, after) = (self.point(self.before, line), self.point(self.after, line));
        let Some((pump, flow)) = after else {
            let lost = before.map(|_| "it can no longer be worked out".into());
            return lost.into_iter().collect();
        };
        let pressure = |p| figure::pressure(p).show(self.system);
        let Some((pump_before, flow_before)) = before else {
            return vec![format!("pump pressure {}", pressure(pump))];
        };
        let stated = |book: &Book| {
            book.line
                .get(line)
                .is_some_and(|l| l.pump_pressure.is_some())
        };
        let mut said = Vec::new();
        if !(stated(self.before) && stated(self.after)) {
            said.extend(from_to(
                "pump pressure",
                &pressure(pump_before),
                &pressure(pump),
            ));
        }
        if said.is_empty() || stated(self.after) {
            let flow_of = |q| figure::flow(q).show(self.system);
            said.extend(from_to("flow", &flow_of(flow_before), &flow_of(flow)));
        }
        said
    }

    fn point(&self, book: &Book, line: &str) -> Option<Point> {
        let answer = solve_plain(book, line, &Conditions::default()).ok()?;
        let point = (answer.pump_pressure, answer.flow);
        answer.converged.then_some(point)
    }
}

/// The first few, and how many more.
fn shortened(mut moved: Vec<String>) -> Vec<String> {
    let more = moved.len().saturating_sub(MOST);
    moved.truncate(MOST);
    match more {
        0 => {}
        1 => moved.push("and 1 more line".into()),
        more => moved.push(format!("and {more} more lines")),
    }
    moved
}
