//! What can be set on a line: the three hands, and what else may happen to it.

use super::hands::plain;
use book::{Book, Layout, NozzleKind, Part, PartKind, Path, Shutoff, Step};
use hydraulics::units::{Kind, Measure, System};
use study::answer::LineAnswer;

/// One thing that can be set, and how it stands in the book.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Control {
    /// Its key in the address.
    pub key: String,
    /// What it is, to the reader.
    pub label: String,
    pub hand: Hand,
    pub stands: Stands,
}

/// Which hand moves it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Hand {
    Pump,
    Gate,
    Setting,
    /// What is not set but happens: a kink, a blocked screen.
    Mishap,
    /// Where the tip is, and what else is open.
    Around,
}

/// How a control stands when the reader has not touched it.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Stands {
    /// A quantity as its SI value, and the least and most that can be set.
    At {
        kind: Kind,
        si: f64,
        least: f64,
        most: f64,
    },
    /// One of several words.
    One {
        of: Vec<(String, String)>,
        is: String,
    },
}

impl Control {
    /// What stands in the field untouched.
    pub fn standing(&self, system: System) -> String {
        match &self.stands {
            Stands::At { kind, si, .. } => plain(*kind, *si, system),
            Stands::One { is, .. } => is.clone(),
        }
    }
}

/// Highest pump pressure on the control where the book has no ceiling: 300 psi.
const HIGHEST: f64 = 2.07e6;

/// Everything that can be set on the line of `answer`, the pump first.
pub(super) fn controls(book: &Book, layout: &Layout, answer: &LineAnswer) -> Vec<Control> {
    let mut all = vec![pump(book, answer)];
    let own = |line: &str| line == answer.line;
    let several = layout.tips.iter().filter(|tip| own(&tip.line)).count() > 1;
    let at = |label: &str, name: &str, place: &Path| match several {
        true => format!("{label}, {name} ({})", short(place)),
        false => format!("{label}, {name}"),
    };
    for part in layout.parts.iter().filter(|part| own(&part.line)) {
        let place = &part.path;
        match (part.kind, part.valve) {
            (PartKind::Gate | PartKind::Shutoff, Some(valve)) => all.push(Control {
                key: format!("gate {place}"),
                label: format!("Gate open, {} ({})", part.name, short(place)),
                hand: Hand::Gate,
                stands: share(valve.gate.value),
            }),
            (PartKind::Hose, _) => all.push(Control {
                key: format!("kink {place}"),
                label: at("Kink closes", &part.name, place),
                hand: Hand::Mishap,
                stands: share(written(book, answer, place, |part| match part {
                    Part::Hose(hose) => hose.kink.as_ref().map(|s| s.get().value),
                    _ => None,
                })),
            }),
            _ => {}
        }
    }
    for tip in layout.tips.iter().filter(|tip| own(&tip.line)) {
        let place = &tip.path;
        if let (true, Some(valve)) = (tip.shutoff != Shutoff::None, tip.tip.shutoff) {
            all.push(Control {
                key: format!("gate {place}"),
                label: at("Shut-off open", &tip.name, place),
                hand: Hand::Gate,
                stands: share(valve.gate.value),
            });
        }
        let item = book.nozzle(&tip.name).map(|found| found.item);
        let names = item.map(|item| item.settings()).unwrap_or_default();
        if let (true, Some(is)) = (names.len() > 1, &tip.setting) {
            all.push(Control {
                key: format!("setting {place}"),
                label: at("Setting", &tip.name, place),
                hand: Hand::Setting,
                stands: Stands::One {
                    of: names
                        .iter()
                        .map(|n| ((*n).to_string(), (*n).to_string()))
                        .collect(),
                    is: is.clone(),
                },
            });
        }
        if let Some(NozzleKind::Automatic { flush, .. }) = item.map(|item| &item.kind) {
            all.push(regulator(at("Regulator", &tip.name, place), place, *flush));
        }
        all.push(Control {
            key: format!("screen {place}"),
            label: at("Screen blocked", &tip.name, place),
            hand: Hand::Mishap,
            stands: share(written(book, answer, place, |part| match part {
                Part::Nozzle(nozzle) => nozzle.screen_blocked.as_ref().map(|s| s.get().value),
                _ => None,
            })),
        });
        all.push(Control {
            key: format!("rise {place}"),
            label: at("Tip held higher by", &tip.name, place),
            hand: Hand::Around,
            stands: Stands::At {
                kind: Kind::Length,
                si: 0.0,
                least: -30.48,
                most: 60.96,
            },
        });
    }
    all.extend(second(book, answer));
    all
}

/// A place without what goes without saying: "branch 1" of "part 3, branch 1, part 2".
fn short(place: &Path) -> String {
    let rows = place.0.iter().filter(|step| !matches!(step, Step::Part(_)));
    match rows.copied().collect::<Vec<_>>() {
        rows if rows.is_empty() => place.to_string(),
        rows => Path(rows).to_string(),
    }
}

fn pump(book: &Book, answer: &LineAnswer) -> Control {
    let ceiling = book
        .pump_ceiling
        .as_ref()
        .map_or(HIGHEST, |p| p.get().value);
    Control {
        key: "pump".into(),
        label: "Pump pressure".into(),
        hand: Hand::Pump,
        stands: Stands::At {
            kind: Kind::Pressure,
            si: answer.pump_pressure.si(),
            least: 0.0,
            most: ceiling.max(1.2 * answer.pump_pressure.value),
        },
    }
}

fn share(si: f64) -> Stands {
    Stands::At {
        kind: Kind::Share,
        si,
        least: 0.0,
        most: 1.0,
    }
}

fn regulator(label: String, place: &book::Path, flush: bool) -> Control {
    let mut of = vec![("as set", "Works"), ("jammed 20 %", "Stuck nearly shut")];
    if flush {
        of.insert(1, ("flush", "Flush"));
    }
    Control {
        key: format!("regulator {place}"),
        label,
        hand: Hand::Mishap,
        stands: Stands::One {
            of: of.iter().map(|(a, b)| ((*a).into(), (*b).into())).collect(),
            is: "as set".into(),
        },
    }
}

/// Lines that can be opened beside this one: those off the same rig.
fn second(book: &Book, answer: &LineAnswer) -> Option<Control> {
    answer.rig.as_ref()?;
    let others = book
        .line
        .iter()
        .filter(|(name, line)| **name != answer.line && line.rig == answer.rig);
    let mut of = vec![(String::new(), "none".to_string())];
    of.extend(others.map(|(name, line)| {
        (
            name.clone(),
            line.title.clone().unwrap_or_else(|| name.clone()),
        )
    }));
    (of.len() > 1).then(|| Control {
        key: "second".into(),
        label: "Second line open".into(),
        hand: Hand::Around,
        stands: Stands::One {
            of,
            is: String::new(),
        },
    })
}

/// A value that the book writes at a part, else nothing.
fn written(
    book: &Book,
    answer: &LineAnswer,
    place: &book::Path,
    read: impl Fn(&Part) -> Option<f64>,
) -> f64 {
    let line = book.line.get(&answer.line);
    let part = line.and_then(|line| super::part_at(&line.parts, place));
    part.and_then(read).unwrap_or(0.0)
}
