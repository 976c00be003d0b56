//! A scene's answer.

use super::CAUTIONS;
use super::days::Days;
use super::line::{aim, along_the_way, items, names_of_coefficients, notices, range, regime};
use super::table::{fold, is_too_wide, table, text};
use hydraulics::units::{Kind, Measure, Ratio, System, VolumeRate, show};
use std::fmt::Write;
use study::answer::{PartAnswer, TipAnswer};
use study::fact::Fact;
use study::figure::{self, Figure};
use study::scene::Limit;
use study::{SceneAnswer, SceneCompared};

/// Limits shown before the rest are counted.
const FIRST: usize = 8;

/// The answer of one scene, whole, and its days drawn.
pub fn scene(answer: &SceneAnswer, days: Option<&Days>, system: System) -> String {
    let mut out = heading(answer);
    limits(&mut out, &answer.limits, system);
    out.push_str("\nRigs\n");
    listed(&mut out, answer.rigs.iter().map(|r| r.facts()), system);
    outlets(&mut out, answer, system);
    tips(&mut out, answer, system);
    let blocks: [(&str, Vec<Vec<Fact>>); 3] = [
        ("Water", answer.sources.iter().map(|s| s.facts()).collect()),
        ("Relay", answer.relays.iter().map(|r| r.facts()).collect()),
        ("Spill", answer.spill.iter().map(|s| s.facts()).collect()),
    ];
    standpipes(&mut out, answer, system);
    for (title, facts) in blocks {
        for facts in &facts {
            block(&mut out, title, facts, system);
        }
    }
    foam(&mut out, answer, system);
    fire(&mut out, answer, system);
    out.push('\n');
    let place = |part: &PartAnswer| format!("{}, {}", part.line, part.place);
    along_the_way(&mut out, &answer.parts, place, system);
    coefficients(&mut out, answer, system);
    if !answer.notices.is_empty() {
        out.push_str("\nNotices\n");
        notices(&mut out, &answer.notices, system);
    }
    let _ = writeln!(
        out,
        "\nLeft over in the solution: flow {:.0e} L/min, pressure {:.0e} bar.",
        answer.residual.flow.si() * 60_000.0,
        answer.residual.pressure.si() / 1e5
    );
    if let Some(days) = days {
        days.write(&mut out, system);
    }
    let _ = write!(out, "\n{CAUTIONS}");
    out
}

/// A scene's answer before and after a change.
pub fn scene_compared(compared: &SceneCompared, days: Option<&Days>, system: System) -> String {
    let (before, after) = (&compared.before, &compared.after);
    let mut out = heading(before);
    out.push('\n');
    let mut rows = table(&["", "As it is", "What if", "Change"], 1);
    let mut row = |name: String, a: Figure, b: Figure| {
        rows.add_row(vec![
            name,
            a.show(system),
            b.show(system),
            b.less(&a).show_change(system),
        ]);
    };
    for (old, new) in before.rigs.iter().zip(&after.rigs) {
        let pressures = [
            ("pump pressure", old.discharge, new.discharge),
            ("intake", old.intake, new.intake),
        ];
        for (what, a, b) in pressures {
            row(
                format!("{what}, {}", old.name),
                figure::pressure(a),
                figure::pressure(b),
            );
        }
    }
    for (old, new) in before.tips.iter().zip(&after.tips) {
        let place = format!("{}, {}", old.line, old.place);
        row(
            format!("flow, {place}"),
            figure::flow(old.flow),
            figure::flow(new.flow),
        );
        row(
            format!("tip pressure, {place}"),
            figure::pressure(old.tip_pressure),
            figure::pressure(new.tip_pressure),
        );
        row(
            format!("reaction, {place}"),
            figure::force(old.reaction),
            figure::force(new.reaction),
        );
    }
    out.push_str(&text(&rows));
    limits(&mut out, &after.limits, system);
    if !after.notices.is_empty() {
        out.push_str("\nNotices after the change\n");
        notices(&mut out, &after.notices, system);
    }
    if let Some(days) = days {
        days.write(&mut out, system);
    }
    let _ = write!(out, "\n{CAUTIONS}");
    out
}

fn heading(answer: &SceneAnswer) -> String {
    match &answer.title {
        Some(title) => format!("{}: {title}\n", answer.scene),
        None => format!("{}\n", answer.scene),
    }
}

/// A table of things of which the same is said; columns without anything to say
/// are left out.
fn listed(out: &mut String, all: impl Iterator<Item = Vec<Fact>>, system: System) {
    let rows: Vec<Vec<Fact>> = all.collect();
    let Some(first) = rows.first() else { return };
    let said = |row: &Vec<Fact>, i: usize| row.get(i).and_then(|(_, said)| said.show(system));
    let columns: Vec<usize> = (0..first.len())
        .filter(|&i| rows.iter().any(|row| said(row, i).is_some()))
        .collect();
    let head: Vec<String> = columns
        .iter()
        .filter_map(|&i| first.get(i))
        .map(|(name, _)| capital(name))
        .collect();
    let head: Vec<&str> = head.iter().map(String::as_str).collect();
    let mut lines = table(&head, 1);
    for row in &rows {
        let cells = columns.iter().map(|&i| said(row, i).unwrap_or_default());
        lines.add_row(cells.collect::<Vec<_>>());
    }
    if !is_too_wide(&lines) {
        out.push_str(&text(&lines));
        return;
    }
    for row in &rows {
        card(out, row, system);
    }
}

fn capital(name: &str) -> String {
    let mut letters = name.chars();
    let first = letters.next().map(|c| c.to_uppercase().to_string());
    first.unwrap_or_default() + letters.as_str()
}

/// One thing on a narrow screen.
fn card(out: &mut String, facts: &[Fact], system: System) {
    let mut words = Vec::new();
    for (name, said) in facts {
        if let Some(said) = said.show(system) {
            words.push(format!("{name} {said}"));
        }
    }
    let _ = writeln!(out, "  {}", fold(&words.join(", "), "    "));
}

/// What is said about one thing, a line for each.
pub(super) fn block(out: &mut String, title: &str, facts: &[Fact], system: System) {
    let _ = writeln!(out, "\n{title}");
    let widest = facts.iter().map(|(name, _)| name.len()).max().unwrap_or(0);
    for (name, said) in facts {
        if let Some(said) = said.show(system) {
            let line = format!("{name:<widest$}  {said}");
            let _ = match line.chars().count() > 76 {
                true => writeln!(out, "  {name}\n      {}", fold(&said, "      ")),
                false => writeln!(out, "  {line}"),
            };
        }
    }
}

fn limits(out: &mut String, limits: &[Limit], system: System) {
    let Some(first) = limits.first() else { return };
    let word = match first.passed() {
        true => "What is past its limit, and what binds next",
        false => "What binds first",
    };
    let _ = writeln!(out, "\n{word}");
    let mut rows = table(&["Limit", "Where", "Now", "Limit is", "Used", "Margin"], 2);
    for limit in limits.iter().take(FIRST) {
        let least = if limit.at_least {
            "at least "
        } else {
            "at most "
        };
        rows.add_row(vec![
            limit.what.to_string(),
            limit.place.clone(),
            limit.value.show(system),
            format!("{least}{}", limit.limit.show(system)),
            used(limit, system),
            match limit.used > MOST {
                true => String::new(),
                false => show(Kind::Share, limit.margin(), system),
            },
        ]);
    }
    match is_too_wide(&rows) {
        false => out.push_str(&text(&rows)),
        true => limits
            .iter()
            .take(FIRST)
            .for_each(|limit| limit_card(out, limit, system)),
    }
    let more = limits.len().saturating_sub(FIRST);
    if more > 0 {
        let past = limits.iter().skip(FIRST).filter(|l| l.passed()).count();
        let words = match past {
            0 => "none of them past its limit".to_string(),
            past => format!("{past} of them past their limits"),
        };
        let _ = writeln!(out, "and {more} more, {words} (--json has all).");
    }
}

/// Share beyond which a figure says no more: nothing is there, or next to it.
const MOST: f64 = 3.0;

fn used(limit: &Limit, system: System) -> String {
    match limit.used > MOST {
        true => "far past".into(),
        false => show(Kind::Share, Ratio::of_si(limit.used), system),
    }
}

/// One limit on a narrow screen.
fn limit_card(out: &mut String, limit: &Limit, system: System) {
    let least = if limit.at_least {
        "at least"
    } else {
        "at most"
    };
    let line = format!(
        "{}: {}, {}: now {}, {least} {}",
        used(limit, system),
        limit.what,
        limit.place,
        limit.value.show(system),
        limit.limit.show(system)
    );
    let _ = writeln!(out, "  {}", fold(&line, "    "));
}

fn outlets(out: &mut String, answer: &SceneAnswer, system: System) {
    let mut rows = table(
        &["Outlet of", "Feeds", "Flow", "Pressure", "Needs", "Gate"],
        2,
    );
    for rig in &answer.rigs {
        for outlet in &rig.outlets {
            let gate = show(Kind::Share, outlet.gate, system);
            rows.add_row(vec![
                rig.name.clone(),
                outlet.feeds.clone(),
                show(Kind::Flow, outlet.flow, system),
                show(Kind::Pressure, outlet.pressure, system),
                outlet
                    .needs
                    .map_or_else(String::new, |p| show(Kind::Pressure, p, system)),
                match (outlet.gated, outlet.gate.si() >= 1.0) {
                    (_, true) => "open".into(),
                    (true, _) => {
                        let to = show(Kind::Pressure, outlet.pressure, system);
                        format!("gate to {to} ({gate})")
                    }
                    (false, _) => gate,
                },
            ]);
        }
    }
    if !answer.rigs.iter().all(|rig| rig.outlets.is_empty()) {
        let _ = write!(out, "\n{}", text(&rows));
    }
}

fn tips(out: &mut String, answer: &SceneAnswer, system: System) {
    out.push_str("\nAt the tips\n");
    let head = [
        "Line", "Tip", "Flow", "Tip pr.", "Reaction", "Takes", "Reach", "Range", "Aim",
    ];
    let mut rows = table(&head, 2);
    for tip in &answer.tips {
        rows.add_row(vec![
            tip.line.clone(),
            tip.called(),
            show(Kind::Flow, tip.flow, system),
            show(Kind::Pressure, tip.tip_pressure, system),
            show(Kind::Force, tip.reaction, system),
            tip.takes(),
            show(Kind::Length, tip.effective_reach, system),
            regime(tip).to_string(),
            aim(tip).to_string(),
        ]);
    }
    match is_too_wide(&rows) {
        false => out.push_str(&text(&rows)),
        true => answer
            .tips
            .iter()
            .for_each(|tip| tip_card(out, tip, system)),
    }
    for tip in &answer.tips {
        if let Some(attached) = &tip.attachment {
            let line = format!(
                "{}: attachment {}, expansion {}, {} of foam; reach as the book gives it",
                tip.line,
                attached.name,
                attached.expansion.si(),
                show(Kind::Flow, attached.foam, system)
            );
            let _ = writeln!(out, "{}", fold(&line, "  "));
        }
    }
    let all = answer
        .tips
        .iter()
        .fold(VolumeRate::default(), |sum, tip| sum + tip.flow);
    let _ = writeln!(out, "Together {}.", show(Kind::Flow, all, system));
}

fn tip_card(out: &mut String, tip: &TipAnswer, system: System) {
    let line = format!(
        "{}, {}: {}, tip pressure {}, reaction {} ({}), reach {}, aim {}",
        tip.line,
        tip.called(),
        show(Kind::Flow, tip.flow, system),
        show(Kind::Pressure, tip.tip_pressure, system),
        show(Kind::Force, tip.reaction, system),
        tip.takes(),
        show(Kind::Length, tip.effective_reach, system),
        aim(tip)
    );
    let _ = writeln!(out, "  {}", fold(&line, "    "));
}

fn standpipes(out: &mut String, answer: &SceneAnswer, system: System) {
    for pipe in &answer.standpipes {
        block(out, "Standpipe", &pipe.facts(), system);
        listed(out, pipe.floors.iter().map(|floor| floor.facts()), system);
    }
}

fn foam(out: &mut String, answer: &SceneAnswer, system: System) {
    for eductor in &answer.eductors {
        block(out, "Eductor", &eductor.facts(), system);
    }
    if !answer.foam.is_empty() {
        out.push_str("\nFoam\n");
        listed(out, answer.foam.iter().map(|line| line.facts()), system);
    }
}

fn fire(out: &mut String, answer: &SceneAnswer, system: System) {
    let Some(fire) = &answer.fire else { return };
    block(out, "Flow needed, by planning forms", &fire.facts(), system);
    let head = ["Form", "Flow", "Stock", "Given", "Lines", "People"];
    let mut rows = table(&head, 1);
    let number = |n: Option<u32>| n.map_or_else(|| "-".into(), |n| n.to_string());
    for need in &fire.needs {
        rows.add_row(vec![
            need.estimate.name.to_string(),
            show(Kind::Flow, need.flow, system),
            need.stock().map_or_else(String::new, |s| s.show(system)),
            if need.given { "yes" } else { "no" }.into(),
            number(need.lines),
            number(need.people),
        ]);
    }
    out.push_str(&text(&rows));
    for need in &fire.needs {
        let out_of = if need.estimate.valid {
            ""
        } else {
            " Outside that here."
        };
        let line = format!("{}: {}.{out_of}", need.estimate.name, need.estimate.why);
        let _ = writeln!(out, "  {}", fold(&line, "    "));
    }
}

fn coefficients(out: &mut String, answer: &SceneAnswer, system: System) {
    items(out, &answer.items, system);
    names_of_coefficients(out, &answer.coefficients, system);
    let Some(spread) = &answer.spread else {
        out.push_str("  No published spread is known for this hose.\n");
        return;
    };
    out.push_str("  Over the published spread of C, pumps and outlets as they are:\n");
    for (tip, &flows) in answer.tips.iter().zip(spread) {
        let flows = range(flows, Kind::Flow, system);
        let _ = writeln!(out, "    {}, {}: {flows}", tip.line, tip.place);
    }
}
