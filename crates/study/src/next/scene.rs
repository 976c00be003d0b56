//! What happens at the pump and before it: a second line, a weaker hydrant.

use super::line::ALL_SHUT;
use super::{Changed, Gain, Next, Stand, new_notices, tip_gains};
use crate::answer::{LineAnswer, TipAnswer};
use crate::figure;
use crate::notice::Notice;
use crate::operating::{StudyError, solve_plain};
use crate::scene::{RigAnswer, SceneAnswer, solve_scene, what_if_scene};
use book::{Book, Intake, IntakeFrom, Scene, SceneConditions, SceneLine, SceneRig, Stated};
use hydraulics::units::{Kind, Measure, Ratio, System, VolumeRate};
use std::collections::BTreeMap;

/// Share of a hydrant's test flow that is left.
const LEFT: f64 = 0.6;

/// Another line opened on the same pump: with a governor that holds its pressure,
/// as it is once it is chosen; then with the throttle left as it was.
pub(super) fn second_line(stand: &Stand<'_>) -> Next {
    let title = "A second line opened on the same pump";
    let entry = stand.book.line.get(stand.line);
    let Some(rig) = entry.and_then(|line| line.rig.as_deref()) else {
        let why = "the book does not say off which rig this line comes; write its rig";
        return Next::new("second_line", title, "").refuse(why);
    };
    let (second, again) = second_of(stand, rig);
    let named = stand.book.line.get(&second).and_then(|l| l.title.clone());
    let named = match again {
        true => "one more like it".to_string(),
        false => named.unwrap_or_else(|| second.clone()),
    };
    let next = Next::new("second_line", format!("{title}: {named}"), rig);
    if stand.open_tips().next().is_none() {
        return next.refuse(ALL_SHUT);
    }
    let change = Changed::Second(second.clone());
    match (governed(stand, &change), opened(stand, rig, &second)) {
        (Ok(held), Ok((before, after))) => {
            let mut figures = governed_figures(stand, &held);
            figures.extend(second_figures(stand, &before, &after));
            let mut notices = new_notices(&stand.now.notices, &held.notices);
            let left = new_notices(&before.notices, &after.notices).into_iter();
            notices.extend(left.map(|notice| Notice {
                text: format!("without a governor, {}", notice.text),
                ..notice
            }));
            Next {
                change: Some(change),
                figures,
                notices,
                words: second_words(stand, rig, &after),
                ..next
            }
        }
        (Err(error), _) | (_, Err(error)) => next.refuse(error),
    }
}

/// The line with the second one open, the pump held at its pressure.
fn governed(stand: &Stand<'_>, change: &Changed) -> Result<LineAnswer, StudyError> {
    let then = change.conditions(stand.conditions, stand.now.pump_pressure);
    let then = then.unwrap_or_else(|| stand.conditions.clone());
    solve_plain(stand.book, stand.line, &then)
}

/// What stays, so that the card begins with it: with one tip three figures.
fn governed_figures(stand: &Stand<'_>, held: &LineAnswer) -> Vec<Gain> {
    let gains = tip_gains(stand.line, &stand.now.tips, &held.tips).into_iter();
    let named = gains.filter_map(|gain| {
        let name = match gain.name {
            "flow" => "with a governor holding pressure: flow",
            "tip pressure" => "with a governor holding pressure: tip pressure",
            _ => return None,
        };
        Some(Gain { name, ..gain })
    });
    let pump = Gain {
        name: "with a governor holding pressure: pump pressure",
        place: String::new(),
        before: Some(figure::pressure(stand.now.pump_pressure)),
        after: figure::pressure(held.pump_pressure),
    };
    named.chain([pump]).collect()
}

/// The name of a figure with the throttle left.
fn ungoverned(name: &'static str) -> &'static str {
    match name {
        "flow" => "without a governor, throttle left as it was, tank water: flow",
        "tip pressure" => "without a governor, throttle left as it was, tank water: tip pressure",
        "pump pressure" => "without a governor, throttle left as it was, tank water: pump pressure",
        "intake pressure" => {
            "without a governor, throttle left as it was, tank water: intake pressure"
        }
        "reaction, formula value" => {
            "without a governor, throttle left as it was, tank water: reaction, formula value"
        }
        "effective reach" => {
            "without a governor, throttle left as it was, tank water: effective reach"
        }
        "flow of the second line" => {
            "without a governor, throttle left as it was, tank water: flow of the second line"
        }
        other => other,
    }
}

/// How it was reckoned; and whether the pipe from the tank is what gives out.
fn second_words(stand: &Stand<'_>, rig: &str, after: &SceneAnswer) -> Vec<String> {
    let mut words = vec![
        "With a governor holding pressure this line keeps what it has, as long as the pump and its water allow.".into(),
        format!(
            "Without a governor, throttle left as it was, tank water: the pump of {rig} keeps the speed at which it now feeds this line, on water from its own tank, and every outlet stands open."
        ),
    ];
    let pipe = stand
        .book
        .rig
        .get(rig)
        .and_then(|rig| rig.tank_flow.as_ref());
    let flow = rig_of(after, rig).map(|rig| rig.flow);
    if let (Some(pipe), Some(flow)) = (pipe.map(Stated::get), flow)
        && flow > pipe * 0.9
    {
        words.push(format!(
            "The pipe from the tank to the pump is good for {} and holds the pump back here: get another supply before the second line is opened.",
            figure::flow(pipe).show(stand.system)
        ));
    }
    words
}

/// The first other line of the rig that is not open yet; the same once more when
/// there is none.
fn second_of(stand: &Stand<'_>, rig: &str) -> (String, bool) {
    let open = |name: &str| {
        name == stand.line || stand.conditions.also.iter().any(|also| also.line == name)
    };
    let others = stand.book.line.iter();
    let mut others = others.filter(|(name, line)| line.rig.as_deref() == Some(rig) && !open(name));
    match others.next() {
        Some((name, _)) => (name.clone(), false),
        None => (stand.line.to_string(), true),
    }
}

/// The rig on its tank with the lines that are open, and with one more at the same
/// pump speed.
fn opened(
    stand: &Stand<'_>,
    rig: &str,
    second: &str,
) -> Result<(SceneAnswer, SceneAnswer), StudyError> {
    let also = stand.conditions.also.iter();
    let mut lines = vec![stand.line.to_string()];
    lines.extend(also.map(|also| also.line.clone()));
    let mut asked = conditions_of(stand, stand.line);
    for (index, also) in stand.conditions.also.iter().enumerate() {
        let label = label(&lines, index + 1);
        asked.changes.insert(label, also.changes.clone());
    }
    let (name, mut site) = site(stand.book, rig, &lines);
    let mut held = asked.clone();
    held.pump_pressure
        .insert(rig.into(), stand.now.pump_pressure);
    let before = solve_scene(&site, &name, &held)?;
    let speed = speed(stand.book, rig, &before);
    if let Some(entry) = site.scene.get_mut(&name).and_then(|s| s.rig.get_mut(rig)) {
        entry.speed = speed;
        entry.lines.push(scene_line(second));
    }
    let after = solve_scene(&site, &name, &asked)?;
    Ok((before, after))
}

/// What the line is asked about, for a scene in which it is called `label`.
fn conditions_of(stand: &Stand<'_>, label: &str) -> SceneConditions {
    SceneConditions {
        which: stand.conditions.which,
        regulator: stand.conditions.regulator,
        changes: BTreeMap::from([(label.to_string(), stand.conditions.changes.clone())]),
        ..Default::default()
    }
}

/// The name in a scene of the line at `index`: its own, with a number where it is
/// there already.
fn label(lines: &[String], index: usize) -> String {
    let name = lines.get(index).cloned().unwrap_or_default();
    let times = lines.iter().take(index).filter(|l| **l == name).count();
    match times {
        0 => name,
        more => format!("{name} ({})", more + 1),
    }
}

fn scene_line(line: &str) -> SceneLine {
    SceneLine {
        line: line.to_string(),
        ..Default::default()
    }
}

/// The book with one scene: the rig on its own tank, feeding `lines`.
fn site(book: &Book, rig: &str, lines: &[String]) -> (String, Book) {
    let name = "second line".to_string();
    let at_work = SceneRig {
        intake: vec![Intake {
            from: IntakeFrom::Tank,
            parts: Vec::new(),
        }],
        lines: lines.iter().map(|line| scene_line(line)).collect(),
        ..Default::default()
    };
    let scene = Scene {
        open_outlets: true,
        rig: std::iter::once((rig.to_string(), at_work)).collect(),
        ..Default::default()
    };
    let mut book = book.clone();
    book.scene.clear();
    book.scene.insert(name.clone(), scene);
    (name, book)
}

/// The speed at which the rig's pump does what it does in `answer`.
fn speed(book: &Book, rig: &str, answer: &SceneAnswer) -> Option<Stated<Ratio>> {
    let pump = book.rig.get(rig)?.capability().ok().flatten()?;
    let at_work = rig_of(answer, rig)?;
    let speed = pump.speed(at_work.net, at_work.flow);
    Stated::of(Kind::Share, speed, System::Us).ok()
}

fn rig_of<'a>(answer: &'a SceneAnswer, rig: &str) -> Option<&'a RigAnswer> {
    answer.rigs.iter().find(|at_work| at_work.name == rig)
}

fn second_figures(stand: &Stand<'_>, before: &SceneAnswer, after: &SceneAnswer) -> Vec<Gain> {
    let mut gains = tip_gains(stand.line, &before.tips, &after.tips);
    let rigs = before.rigs.iter().zip(&after.rigs);
    gains.extend(rigs.map(|(old, new)| Gain {
        name: "pump pressure",
        place: String::new(),
        before: Some(figure::pressure(old.discharge)),
        after: figure::pressure(new.discharge),
    }));
    let is_new = |tip: &&TipAnswer| !before.tips.iter().any(|old| old.line == tip.line);
    let flows = after.tips.iter().filter(is_new).map(|tip| tip.flow);
    gains.extend(intakes(before, after));
    gains.push(Gain {
        name: "flow of the second line",
        place: String::new(),
        before: None,
        after: figure::flow(flows.fold(VolumeRate::default(), |sum, flow| sum + flow)),
    });
    for gain in &mut gains {
        gain.name = ungoverned(gain.name);
    }
    gains
}

/// The hydrants of the first scene that brings this line water from one have only
/// part of their test's flow.
pub(super) fn hydrant_weaker(stand: &Stand<'_>) -> Next {
    let scenes = stand.book.scene.iter();
    let mut fed =
        scenes.filter_map(|(name, scene)| Some((name, scene, fed_by_hydrant(scene, stand.line)?)));
    let Some((name, scene, rig)) = fed.next() else {
        let why = "no scene of the book brings this line water from a hydrant";
        let title = "The hydrant down to 60 % of its test flow";
        return Next::new("hydrant_weaker", title, "").refuse(why);
    };
    let called = scene.title.as_deref().unwrap_or(name);
    let title = format!("The hydrant down to 60 % of its test flow: {called}");
    let next = Next::new("hydrant_weaker", title, format!("scene {name}"));
    if stand.open_tips().next().is_none() {
        return next.refuse(ALL_SHUT);
    }
    let share = Ratio::of_si(LEFT);
    let label = name_at_work(scene, rig, stand.line);
    let mut asked = conditions_of(stand, &label);
    if let (true, Some(pressure)) = (label == stand.line, stand.conditions.pump_pressure) {
        asked.pump_pressure.insert(rig.into(), pressure);
    }
    let weaker = SceneConditions {
        hydrants: Some(share),
        ..Default::default()
    };
    match what_if_scene(stand.book, name, &asked, &weaker) {
        Ok(compared) => Next {
            change: Some(Changed::Hydrants {
                scene: name.clone(),
                share,
            }),
            figures: weaker_figures(&label, &compared.before, &compared.after),
            notices: new_notices(&compared.before.notices, &compared.after.notices),
            words: vec![
                "With every line of the scene at work; pumps and outlets are left as they were set.".into(),
            ],
            ..next
        },
        Err(error) => next.refuse(error),
    }
}

fn weaker_figures(line: &str, before: &SceneAnswer, after: &SceneAnswer) -> Vec<Gain> {
    let mut gains = tip_gains(line, &before.tips, &after.tips);
    gains.extend(intakes(before, after));
    gains
}

fn intakes(before: &SceneAnswer, after: &SceneAnswer) -> Vec<Gain> {
    let rigs = before.rigs.iter().zip(&after.rigs);
    let intake = |(old, new): (&RigAnswer, &RigAnswer)| Gain {
        name: "intake pressure",
        place: old.name.clone(),
        before: Some(figure::pressure(old.intake)),
        after: figure::pressure(new.intake),
    };
    rigs.map(intake).collect()
}

/// The rig of the scene that feeds `line` with water which comes from a hydrant.
fn fed_by_hydrant<'a>(scene: &'a Scene, line: &str) -> Option<&'a str> {
    let feeds = |entry: &SceneRig| entry.lines.iter().any(|l| l.line == line);
    let mut rigs = scene.rig.iter();
    let rig = rigs.find(|(name, entry)| feeds(entry) && on_hydrant(scene, name, scene.rig.len()));
    rig.map(|(name, _)| name.as_str())
}

/// Does the rig's water come from a hydrant, over at most `steps` rigs?
fn on_hydrant(scene: &Scene, rig: &str, steps: usize) -> bool {
    let intakes = scene.rig.get(rig).map(|entry| entry.intake.iter());
    let mut intakes = intakes.into_iter().flatten();
    intakes.any(|intake| match &intake.from {
        IntakeFrom::Hydrant(_) => true,
        IntakeFrom::Rig(from) => steps > 0 && on_hydrant(scene, from, steps - 1),
        _ => false,
    })
}

/// The name that the line has in the scene: its own off the rig itself, with the
/// floor off a standpipe.
fn name_at_work(scene: &Scene, rig: &str, line: &str) -> String {
    let lines = scene.rig.get(rig).map(|entry| entry.lines.iter());
    let own: Vec<&SceneLine> = lines
        .into_iter()
        .flatten()
        .filter(|l| l.line == line)
        .collect();
    let floor = |l: &SceneLine| l.floor.as_ref().map_or(1.0, |floor| floor.get().value);
    let up = own
        .iter()
        .filter(|l| l.standpipe.is_some())
        .map(|l| floor(l));
    match own.iter().any(|l| l.standpipe.is_none()) {
        true => line.to_string(),
        false => format!("{line}, floor {}", up.fold(f64::INFINITY, f64::min)),
    }
}
