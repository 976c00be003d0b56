//! What happens on the line itself: more hose, a kink, a clogged screen, a lower
//! pump pressure.

use super::{Changed, Gain, Next, Stand, new_notices, plain, tip_gains};
use crate::extend::{Extended, all_added, extended};
use crate::figure::{self, Figure};
use crate::need;
use crate::notice::Notice;
use crate::operating::{StudyError, needs, solve_plain, worst};
use crate::whatif::WhatIf;
use book::{Change, LaidPart, LaidTip, PartKind, Path};
use hydraulics::units::{Length, Measure, Pressure, Ratio, System, psi};

pub(super) const ALL_SHUT: &str = "every tip of this line is shut; open one first";

const KINKED: &str = "When the stream weakens, find and straighten the kink first; raise the pump pressure only for what is still missing then.";

/// Share of the waterway that a kink closes, and of a screen that is clogged.
const CLOSED: f64 = 0.4;

/// Hose added at the first and at the worst tip.
pub(super) fn extends(stand: &Stand<'_>) -> Vec<Next> {
    let lengths = match stand.system {
        System::Us => [15.24, 30.48],
        System::Si => [15.0, 30.0],
    };
    let mut next = Vec::new();
    for tip in first_and_worst(stand) {
        next.extend(lengths.map(|length| extend(stand, tip, Length::of_si(length))));
    }
    if next.is_empty() {
        let first = stand.tips().next();
        let place = first.map_or_else(String::new, |tip| tip.path.to_string());
        next.push(Next::new("extend", "More hose at the tip", place).refuse(ALL_SHUT));
    }
    next
}

fn first_and_worst<'a>(stand: &'a Stand<'_>) -> Vec<&'a LaidTip> {
    let needs = needs(&stand.layout, stand.line);
    let place = worst(&stand.layout, &needs).map(|worst| worst.place);
    let worst = |tip: &&LaidTip| Some(tip.path.to_string()) == place;
    let first = stand.open_tips().next();
    let worst = stand.open_tips().find(worst);
    let worst = worst.filter(|tip| Some(tip.part) != first.map(|tip| tip.part));
    first.into_iter().chain(worst).collect()
}

fn extend(stand: &Stand<'_>, tip: &LaidTip, length: Length) -> Next {
    let more = plain(figure::length(length), stand.system);
    let title = match stand.has_one_tip() {
        true => format!("{more} more hose at the tip"),
        false => format!("{more} more hose at nozzle {}", tip.name),
    };
    let next = Next::new("extend", title, &tip.path);
    let Some(hose) = hose_before(stand, tip, true) else {
        return next.refuse("there is no hose before this tip of which more could be laid");
    };
    let hose = (hose.name.as_str(), length);
    let laid = (stand.line, &stand.layout, tip);
    let solved = (stand.now.clone(), solve_plain as _);
    let added = all_added(stand.line, tip, hose, stand.conditions);
    let found = extended(stand.book, laid, hose, stand.conditions, solved);
    match (added, found) {
        (Ok(added), Ok(found)) => Next {
            change: Some(Changed::Added(tip.path.clone(), added)),
            figures: extend_figures(stand, tip, &found),
            words: extend_words(stand.system, &found),
            notices: extend_notices(&found),
            ..next
        },
        (Err(error), _) | (_, Err(error)) => next.refuse(error),
    }
}

/// The hose that the water passes last before it reaches `tip`.
fn hose_before<'a>(stand: &'a Stand<'_>, tip: &LaidTip, added: bool) -> Option<&'a LaidPart> {
    let parts = stand.layout.parts.iter();
    let before = parts.take_while(|part| part.part != tip.part);
    before
        .filter(|part| part.kind == PartKind::Hose && part.line == stand.line)
        .filter(|part| (added || !part.added) && need::leads(&part.path, &tip.path))
        .last()
}

fn extend_figures(stand: &Stand<'_>, tip: &LaidTip, found: &Extended) -> Vec<Gain> {
    let place = tip.path.to_string();
    let at = |answer: &crate::answer::LineAnswer| {
        let here = |t: &&crate::answer::TipAnswer| t.place == place && t.line == stand.line;
        let tip = answer.tips.iter().find(here);
        tip.map(|tip| (figure::flow(tip.flow), figure::pressure(tip.tip_pressure)))
    };
    let gain = |name, before: Option<Figure>, after: Figure| Gain {
        name,
        place: String::new(),
        before,
        after,
    };
    let pump = |answer: &crate::answer::LineAnswer| figure::pressure(answer.pump_pressure);
    let mut gains = Vec::new();
    if found.same_flow_had {
        gains.push(gain(
            "pump pressure for the same flow",
            Some(pump(&found.before)),
            pump(&found.same_flow),
        ));
    }
    if let (Some(old), Some(new)) = (at(&found.before), at(&found.same_pressure)) {
        gains.push(gain("flow at the same pump pressure", Some(old.0), new.0));
        gains.push(gain(
            "tip pressure at the same pump pressure",
            Some(old.1),
            new.1,
        ));
    }
    gains.push(gain(
        "water in the added hose",
        None,
        figure::volume(found.water),
    ));
    let weight = found.hose_weight.unwrap_or_default() + found.water_weight;
    let name = match found.hose_weight {
        Some(_) => "weight of the added hose, filled",
        None => "weight of that water",
    };
    gains.push(gain(name, None, figure::mass(weight)));
    gains
}

fn extend_words(system: System, found: &Extended) -> Vec<String> {
    let used = found.same_flow.coefficients.iter();
    let used = used.rev().find(|c| c.hose == found.hose);
    let mut words = vec![match used {
        Some(used) => format!("More of hose {}, {}.", found.hose, used.used.text(system)),
        None => format!("More of hose {}.", found.hose),
    }];
    if !found.same_flow_had {
        words.push(match found.stops_drawing() {
            true => "No pump pressure gives the same flow of foam: with this hose past it the eductor draws no concentrate.".into(),
            false => "No pump pressure gives the same flow with this hose added.".into(),
        });
    }
    if found.leaves_shutoff {
        words
            .push("The tip is unscrewed; its shut-off stays behind, before the added hose.".into());
    }
    for adapter in &found.adapters {
        words.push(format!("Needs an adapter: {adapter}."));
    }
    if found.fit_unknown {
        words.push(
            "Couplings are not written for every end, so check that it screws together.".into(),
        );
    }
    words
}

/// What is new at the old pump pressure, and at the higher one.
fn extend_notices(found: &Extended) -> Vec<Notice> {
    let old = &found.before.notices;
    let mut notices = new_notices(old, &found.same_pressure.notices);
    let higher = new_notices(old, &found.same_flow.notices).into_iter();
    let higher = higher.filter(|notice| {
        found.same_flow_had
            && !notices
                .iter()
                .any(|n| n.code == notice.code && n.place == notice.place)
    });
    let higher: Vec<Notice> = higher
        .map(|notice| Notice {
            text: format!("at the pump pressure for the same flow, {}", notice.text),
            ..notice
        })
        .collect();
    notices.extend(higher);
    notices
}

/// A kink in the hose before the first open tip, or that kink straightened.
pub(super) fn kink(stand: &Stand<'_>) -> Next {
    let hose = stand.open_tips().next();
    let hose = hose.map(|tip| hose_before(stand, tip, false));
    let kinked = |path: &Path| changed(stand, path).and_then(|change| change.kink);
    match hose {
        None => Next::new("kink", "A kink", "").refuse(ALL_SHUT),
        Some(None) => Next::new("kink", "A kink", "").refuse("there is no hose that could kink"),
        Some(Some(hose)) => {
            let (path, name) = (&hose.path, &hose.name);
            let (title, share) = match kinked(path).is_some_and(|share| share.value > 0.0) {
                true => (format!("The kink in hose {name} straightened"), 0.0),
                false => (format!("A kink that closes 40 % of hose {name}"), CLOSED),
            };
            let change = WhatIf::Kink(path.clone(), Ratio::of_si(share));
            let next = Next::new("kink", title, path);
            let words = "Reckoned as an orifice in the hose's nominal waterway.";
            let mut next = held(stand, next, change, words);
            if share > 0.0 {
                next.words.insert(0, KINKED.into());
            }
            next
        }
    }
}

/// The screen of the first open tip clogged, or cleaned.
pub(super) fn screen(stand: &Stand<'_>) -> Next {
    let Some(tip) = stand.open_tips().next() else {
        return Next::new("screen", "A clogged nozzle screen", "").refuse(ALL_SHUT);
    };
    let now = tip.tip.screen.map_or(0.0, |screen| screen.blocked.value);
    let (title, share) = match now > 0.0 {
        true => (format!("The screen of nozzle {} cleaned", tip.name), 0.0),
        false => (
            format!("The screen of nozzle {} 40 % clogged", tip.name),
            CLOSED,
        ),
    };
    let change = WhatIf::Screen(tip.path.clone(), Ratio::of_si(share));
    let words = "Reckoned as an orifice in the nozzle's waterway.";
    held(stand, Next::new("screen", title, &tip.path), change, words)
}

/// The pump 20 psi or 1.5 bar lower.
pub(super) fn pump_lower(stand: &Stand<'_>) -> Next {
    let step = match stand.system {
        System::Us => psi(20.0),
        System::Si => Pressure::of_si(1.5e5),
    };
    let by = step.min(stand.now.pump_pressure);
    let shown = figure::pressure(by).show(stand.system);
    let next = Next::new(
        "pump_lower",
        format!("The pump {shown} lower"),
        "pump outlet",
    );
    if by.value <= 0.0 {
        return next.refuse("the pump gives no pressure that could be lower");
    }
    if stand.open_tips().next().is_none() {
        return next.refuse(ALL_SHUT);
    }
    let to = figure::pressure(stand.now.pump_pressure - by).show(stand.system);
    let words = format!("The pump then holds {to}.");
    held(stand, next, WhatIf::PumpOff(-by), &words)
}

fn changed<'a>(stand: &'a Stand<'_>, path: &Path) -> Option<&'a Change> {
    stand.conditions.changes.get(path)
}

/// `next` by `change`, with the pump held at its pressure.
fn held(stand: &Stand<'_>, next: Next, change: WhatIf, words: &str) -> Next {
    match after(stand, change) {
        Ok(done) => Next {
            words: vec![words.to_string()],
            code: next.code,
            title: next.title,
            place: next.place,
            ..done
        },
        Err(error) => next.refuse(error),
    }
}

fn after(stand: &Stand<'_>, change: WhatIf) -> Result<Next, StudyError> {
    let change = Changed::Line(change);
    let pressure = stand.now.pump_pressure;
    let then = change.conditions(stand.conditions, pressure);
    let then = then.unwrap_or_else(|| stand.conditions.clone());
    let after = solve_plain(stand.book, stand.line, &then)?;
    Ok(Next {
        figures: tip_gains(stand.line, &stand.now.tips, &after.tips),
        notices: new_notices(&stand.now.notices, &after.notices),
        change: Some(change),
        ..Next::new("", "", "")
    })
}
