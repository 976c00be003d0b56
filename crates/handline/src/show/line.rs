//! A line's answer, a book's answers, and an answer before and after.

use super::CAUTIONS;
use super::table::{fold, is_too_wide, table, text};
use book::Book;
use hydraulics::units::{Kind, Measure, System, show};
use std::fmt::Write;
use study::answer::{
    CoefficientUsed, ItemUsed, LineAnswer, PartAnswer, Spread, TipAnswer, regime_word,
};
use study::notice::Notice;
use study::{Compared, figure};

pub fn regime(tip: &TipAnswer) -> &'static str {
    tip.regime.map_or("", regime_word)
}

/// The answers of a whole book: one table, then hose and notices by line.
pub fn book(book: &Book, answers: &[LineAnswer], system: System) -> String {
    let mut out = format!("{}\n", book.name);
    if book.about.invented {
        out.push_str("(invented)\n");
    }
    out.push('\n');
    let lines = overview(answers, system);
    let cards = is_too_wide(&lines);
    if !cards {
        out.push_str(&text(&lines));
    }
    for answer in answers {
        let _ = writeln!(out, "\n{}", answer.line);
        if cards {
            card(&mut out, answer, system);
        }
        let brief = fold(&briefly(answer, system), "    ");
        let _ = writeln!(out, "  {brief}.");
        notices(&mut out, &answer.notices, system);
    }
    let _ = write!(
        out,
        "\nReaction is the trade's formula value. Reach is that of the good stream; throw is\nwhere the last water lands. More about a line: handline solve BOOK LINE.\n"
    );
    if !book.scene.is_empty() {
        let scenes: Vec<&str> = book.scene.keys().map(String::as_str).collect();
        let text = format!(
            "Scenes, rigs and lines at work together: {}. Ask for one by name: handline solve BOOK SCENE.",
            scenes.join(", ")
        );
        let _ = writeln!(out, "{}", fold(&text, ""));
    }
    let _ = write!(out, "\n{CAUTIONS}");
    out
}

fn overview(answers: &[LineAnswer], system: System) -> comfy_table::Table {
    let head = [
        "Line", "Tip", "Pump", "Flow", "Tip pr.", "Reaction", "Takes", "Reach", "Throw", "Range",
        "Aim",
    ];
    let mut lines = table(&head, 2);
    for answer in answers {
        for (i, tip) in answer.tips.iter().enumerate() {
            let once = |text: String| if i == 0 { text } else { String::new() };
            lines.add_row(vec![
                once(answer.line.clone()),
                tip.called(),
                once(show(Kind::Pressure, answer.pump_pressure, system)),
                show(Kind::Flow, tip.flow, system),
                show(Kind::Pressure, tip.tip_pressure, system),
                show(Kind::Force, tip.reaction, system),
                tip.takes(),
                show(Kind::Length, tip.effective_reach, system),
                show(Kind::Length, tip.maximum_throw, system),
                regime(tip).to_string(),
                aim(tip).to_string(),
            ]);
        }
    }
    lines
}

/// One line of the overview, for a narrow screen.
fn card(out: &mut String, answer: &LineAnswer, system: System) {
    let pump = show(Kind::Pressure, answer.pump_pressure, system);
    let _ = writeln!(out, "  Pump {pump}");
    for tip in &answer.tips {
        let mut words = vec![
            show(Kind::Flow, tip.flow, system),
            format!(
                "tip pressure {}",
                show(Kind::Pressure, tip.tip_pressure, system)
            ),
            format!(
                "reaction {} ({})",
                show(Kind::Force, tip.reaction, system),
                tip.takes()
            ),
            format!("reach {}", show(Kind::Length, tip.effective_reach, system)),
            format!("throw {}", show(Kind::Length, tip.maximum_throw, system)),
        ];
        if tip.regime.is_some() {
            words.push(format!("{} its range", regime(tip)));
        }
        if tip.aim_met.is_some() {
            words.push(format!("aim {}", aim(tip)));
        }
        let line = format!("{}: {}", tip.called(), words.join(", "));
        let _ = writeln!(out, "  {}", fold(&line, "    "));
    }
}

pub fn aim(tip: &TipAnswer) -> &'static str {
    match tip.aim_met {
        None => "",
        Some(true) => "met",
        Some(false) => "missed",
    }
}

/// The answer of one line, whole.
pub fn line(answer: &LineAnswer, system: System) -> String {
    let mut out = heading(answer);
    let _ = writeln!(
        out,
        "\nPump pressure  {}  {}",
        show(Kind::Pressure, answer.pump_pressure, system),
        answer.basis_words()
    );
    let _ = writeln!(
        out,
        "Flow           {}\n",
        show(Kind::Flow, answer.flow, system)
    );
    for tip in &answer.tips {
        crew(&mut out, answer, tip, system);
    }
    along_the_way(
        &mut out,
        &answer.parts,
        |part| place(answer, &part.line, &part.place),
        system,
    );
    for eductor in &answer.eductors {
        super::scene::block(&mut out, "Eductor", &eductor.facts(), system);
    }
    gating(&mut out, answer, system);
    items(&mut out, &answer.items, system);
    coefficients(
        &mut out,
        &answer.coefficients,
        answer.spread.as_ref(),
        system,
    );
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
    let _ = write!(out, "\n{CAUTIONS}");
    out
}

/// Flow and pressures of every part.
pub fn along_the_way(
    out: &mut String,
    parts: &[PartAnswer],
    place: impl Fn(&PartAnswer) -> String,
    system: System,
) {
    out.push_str("Along the way\n");
    let head = ["Place", "Part", "Length", "Flow", "Pressure in", "out"];
    let mut rows = table(&head, 2);
    let pressure = |p: Option<_>| p.map_or("-".into(), |p| show(Kind::Pressure, p, system));
    let cells = |part: &PartAnswer| {
        let length = part.length.map(|l| show(Kind::Length, l, system));
        [
            place(part),
            format!("{} {}", part.kind, part.name),
            length.unwrap_or_default(),
            show(Kind::Flow, part.flow, system),
            pressure(part.pressure_in),
            match part.kind {
                "nozzle" => "open air".into(),
                _ => pressure(part.pressure_out),
            },
        ]
    };
    parts.iter().for_each(|part| {
        rows.add_row(cells(part));
    });
    if !is_too_wide(&rows) {
        out.push_str(&text(&rows));
        return;
    }
    for part in parts {
        let [place, part, length, flow, before, after] = cells(part);
        let line = format!("{place}: {part} {length}, {flow}, {before} in, {after} out");
        let _ = writeln!(out, "  {}", fold(&line.replace(" ,", ","), "    "));
    }
}

fn heading(answer: &LineAnswer) -> String {
    let mut out = answer.line.clone();
    if let Some(title) = &answer.title {
        let _ = write!(out, ": {title}");
    }
    if let Some(rig) = &answer.rig {
        let _ = write!(out, " (off {rig})");
    }
    out.push('\n');
    out
}

/// A place, with its line where it is another's.
fn place(answer: &LineAnswer, line: &str, place: &str) -> String {
    if line == answer.line {
        place.to_string()
    } else {
        format!("{line}: {place}")
    }
}

fn crew(out: &mut String, answer: &LineAnswer, tip: &TipAnswer, system: System) {
    let _ = writeln!(
        out,
        "At the tip, {} ({})",
        tip.called(),
        place(answer, &tip.line, &tip.place)
    );
    let mut row = |name: &str, value: String| {
        let _ = writeln!(out, "  {name:<17}{value}");
    };
    let flow = show(Kind::Flow, tip.flow, system);
    row(
        "flow",
        match tip.band {
            Some((low, high)) => format!(
                "{flow}  ({} opening, {} closing: friction in the regulator)",
                show(Kind::Flow, low, system),
                show(Kind::Flow, high, system)
            ),
            None => flow,
        },
    );
    row(
        "tip pressure",
        show(Kind::Pressure, tip.tip_pressure, system),
    );
    row(
        "reaction",
        format!(
            "{}  {}  ({}; {} as momentum)",
            show(Kind::Force, tip.reaction, system),
            tip.takes(),
            tip.reaction_form,
            show(Kind::Force, tip.reaction_momentum, system)
        ),
    );
    row(
        "effective reach",
        show(Kind::Length, tip.effective_reach, system),
    );
    row(
        "maximum throw",
        show(Kind::Length, tip.maximum_throw, system),
    );
    if let Some(attached) = &tip.attachment {
        row(
            "attachment",
            format!(
                "{}: expansion {}, {} of foam; reach as the book gives it",
                attached.name,
                attached.expansion.si(),
                show(Kind::Flow, attached.foam, system)
            ),
        );
    }
    if tip.regime.is_some() {
        row(
            "in its range",
            match regime(tip) {
                "in" => "yes".into(),
                word => format!("no, {word} it"),
            },
        );
    }
    if tip.aim_met.is_some() {
        let aims: Vec<String> = tip
            .aim
            .iter()
            .map(|(name, figure)| format!("{} {}", name.replace('_', " "), figure.show(system)))
            .collect();
        row("aim", format!("{}: {}", aims.join(", "), aim(tip)));
    }
    out.push('\n');
}

fn gating(out: &mut String, answer: &LineAnswer, system: System) {
    let Some(gating) = &answer.gating else { return };
    let _ = writeln!(
        out,
        "\nTo give every tip its aim and no more: hold {} and gate",
        show(Kind::Pressure, gating.pump_pressure, system)
    );
    for gate in &gating.gates {
        let takes = show(Kind::Pressure, gate.excess, system);
        let advice = match gate.gate {
            Some(share) => format!(
                "to {} open (takes {takes})",
                show(Kind::Share, share, system)
            ),
            None => format!("with a gate that takes {takes}; none is in the book for it"),
        };
        let _ = writeln!(out, "  the leg of {} {advice}", gate.place);
    }
}

/// The hose coefficients used, and what their published spread does.
pub fn coefficients(
    out: &mut String,
    used: &[CoefficientUsed],
    spread: Option<&Spread>,
    system: System,
) {
    names_of_coefficients(out, used, system);
    let Some(spread) = spread else {
        out.push_str("  No published spread is known for this hose.\n");
        return;
    };
    let _ = writeln!(
        out,
        "  Over the published spread of C the same flow takes {} at the pump;",
        range(spread.pump_pressure, Kind::Pressure, system)
    );
    let flows: Vec<String> = spread
        .flows
        .iter()
        .map(|&flows| range(flows, Kind::Flow, system))
        .collect();
    let _ = writeln!(
        out,
        "  at the same pump pressure the flow would be {}.",
        flows.join(" and ")
    );
}

/// Which coefficient of each hose was used, and why.
pub fn names_of_coefficients(out: &mut String, used: &[CoefficientUsed], system: System) {
    out.push_str("\nHose coefficients used\n");
    for used in used {
        let line = format!(
            "{}: {} ({}; {})",
            used.hose,
            used.used.text(system),
            used.used.why,
            used.used.source
        );
        let _ = writeln!(out, "  {}", fold(&line, "    "));
    }
}

/// Which value of a nozzle or a pump was used, where the book has two.
pub fn items(out: &mut String, used: &[ItemUsed], system: System) {
    let mut two = used.iter().filter(|item| item.both()).peekable();
    if two.peek().is_some() {
        out.push_str("\nNozzles and pumps of which the book has a rating and a test\n");
    }
    for item in two {
        let line = format!(
            "{} {}: {} ({}; {})",
            item.kind(),
            item.name,
            item.text(system),
            item.why(),
            item.source()
        );
        let _ = writeln!(out, "  {}", fold(&line, "    "));
    }
}

pub fn range<Q: Measure>((low, high): (Q, Q), kind: Kind, system: System) -> String {
    format!(
        "{} to {}",
        show(kind, low, system),
        show(kind, high, system)
    )
}

/// The coefficients in one line, for a table of many lines.
fn briefly(answer: &LineAnswer, system: System) -> String {
    let used: Vec<String> = answer
        .coefficients
        .iter()
        .map(|c| {
            let origin = if c.used.measured {
                "measured"
            } else {
                "published"
            };
            format!("{} {}, {origin}", c.hose, c.used.text(system))
        })
        .collect();
    let spread = answer.spread.as_ref().map_or_else(
        || "no published spread is known".to_string(),
        |s| {
            let pump = range(s.pump_pressure, Kind::Pressure, system);
            format!("over the published spread the same flow takes {pump} at the pump")
        },
    );
    format!("Hose: {}; {spread}", used.join("; "))
}

/// Notices, the heaviest first.
pub fn notices(out: &mut String, notices: &[Notice], system: System) {
    for notice in notices {
        let mut line = notice.weight.word().to_uppercase();
        if !notice.place.is_empty() {
            let _ = write!(line, ", {}", notice.place);
        }
        let _ = write!(line, ": {}", notice.text);
        let numbers: Vec<String> = notice
            .numbers
            .iter()
            .map(|(name, figure)| format!("{name} {}", figure.show(system)))
            .collect();
        if !numbers.is_empty() {
            let _ = write!(line, " ({})", numbers.join(", "));
        }
        if !notice.mend.is_empty() {
            let _ = write!(line, ". To do: {}", notice.mend);
        }
        let _ = writeln!(out, "  {}.", fold(&line, "    "));
    }
}

/// An answer before and after a change.
pub fn compared(compared: &Compared, system: System) -> String {
    let (before, after) = (&compared.before, &compared.after);
    let mut out = heading(before);
    out.push('\n');
    let mut rows = table(&["", "As it is", "What if", "Change"], 1);
    let mut row = |name: String, a: study::figure::Figure, b: study::figure::Figure| {
        rows.add_row(vec![
            name,
            a.show(system),
            b.show(system),
            b.less(&a).show_change(system),
        ]);
    };
    row(
        "pump pressure".into(),
        figure::pressure(before.pump_pressure),
        figure::pressure(after.pump_pressure),
    );
    for old in &before.tips {
        let new = after
            .tips
            .iter()
            .find(|t| t.place == old.place && t.line == old.line);
        let Some(new) = new else { continue };
        let at = if before.tips.len() > 1 {
            format!(", {}", old.place)
        } else {
            String::new()
        };
        row(
            format!("flow{at}"),
            figure::flow(old.flow),
            figure::flow(new.flow),
        );
        row(
            format!("tip pressure{at}"),
            figure::pressure(old.tip_pressure),
            figure::pressure(new.tip_pressure),
        );
        row(
            format!("reaction{at}"),
            figure::force(old.reaction),
            figure::force(new.reaction),
        );
        row(
            format!("effective reach{at}"),
            figure::length(old.effective_reach),
            figure::length(new.effective_reach),
        );
        row(
            format!("maximum throw{at}"),
            figure::length(old.maximum_throw),
            figure::length(new.maximum_throw),
        );
    }
    out.push_str(&text(&rows));
    for tip in after.tips.iter().filter(|t| t.line != before.line) {
        let _ = writeln!(
            out,
            "{}, {}: {} at {}",
            tip.line,
            tip.place,
            show(Kind::Flow, tip.flow, system),
            show(Kind::Pressure, tip.tip_pressure, system)
        );
    }
    if !after.notices.is_empty() {
        out.push_str("\nNotices after the change\n");
        notices(&mut out, &after.notices, system);
    }
    coefficients(&mut out, &after.coefficients, after.spread.as_ref(), system);
    let _ = write!(out, "\n{CAUTIONS}");
    out
}
