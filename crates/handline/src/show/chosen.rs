//! The answer to a comparison: what to carry, why, what it beat, and how sure it is.

use super::CAUTIONS;
use super::line::notices;
use super::table::{fold, is_too_wide, table, text};
use crate::compare::for_shell;
use book::Book;
use book::comparison::{AimKind, Comparison};
use comfy_table::Table;
use hydraulics::units::System;
use std::fmt::Write;
use std::path::Path;
use std::time::Duration;
use study::choose::{Choice, Chosen, Excluded, OfLine, Said, aim_name, solve_words};
use study::doubt::{Doubted, on_days};
use study::figure::{self, many, thousands};

/// What was asked.
pub struct Asked<'a> {
    /// The department.
    pub book: &'a Book,
    /// Its file.
    pub file: &'a Path,
    /// The question.
    pub comparison: &'a Comparison,
    /// Units of the answer.
    pub system: System,
}

/// Unbeaten choices that are listed; all of them are in the JSON and the tables.
const LISTED: usize = 10;

/// The choice that is the answer: the first that holds on enough days, else the first.
pub fn answer(chosen: &Chosen) -> Option<&Choice> {
    chosen.choices.get(chosen.robust.unwrap_or(0))
}

/// The commands that show what `choice` gives on each line.
pub fn solve_commands(asked: &Asked<'_>, choice: &Choice) -> Vec<String> {
    let file = for_shell(asked.file);
    let command = |on: &OfLine| {
        let words = solve_words(asked.book, on, asked.system);
        format!("handline solve {file} {words}")
    };
    choice.on.iter().map(command).collect()
}

/// The whole answer.
pub fn chosen(asked: &Asked<'_>, chosen: &Chosen) -> String {
    let mut out = String::new();
    heading(&mut out, asked, chosen);
    if let Some(choice) = answer(chosen) {
        first(&mut out, asked, chosen, choice);
    }
    unbeaten(&mut out, asked, chosen);
    today(&mut out, asked, chosen);
    if !chosen.excluded.is_empty() {
        let _ = writeln!(out, "\nLeft out");
        out.push_str(&explained(&chosen.excluded, asked.system));
    }
    if let Some(choice) = answer(chosen) {
        if let Some(doubted) = &choice.doubted {
            sure(&mut out, asked, choice, doubted);
        }
        let _ = writeln!(out, "\nTo see {} line by line", choice.code);
        for command in solve_commands(asked, choice) {
            let _ = writeln!(out, "  {command}");
        }
    }
    if !chosen.notices.is_empty() {
        out.push('\n');
        notices(&mut out, &chosen.notices, asked.system);
    }
    let _ = write!(out, "\n{CAUTIONS}");
    out
}

fn heading(out: &mut String, asked: &Asked<'_>, chosen: &Chosen) {
    let title = chosen.title.as_deref().unwrap_or("Comparison");
    let _ = writeln!(out, "{title}\n{}", asked.book.name);
    if asked.book.about.invented {
        out.push_str("(invented)\n");
    }
    let lines = chosen.lines.join(", ");
    let (all, unbeaten) = (thousands(chosen.size.choices), thousands(chosen.unbeaten));
    let beaten = many(chosen.beaten);
    let tried = match asked.comparison.each_line {
        true => format!(
            "{all} ways to equip and pump each of {lines}. Of the choices for all lines together \
             no other beats {unbeaten} in everything; {beaten} more that were looked at keep the \
             limits and are beaten."
        ),
        false => {
            let sound = chosen.unbeaten + chosen.beaten;
            let past = thousands(chosen.size.choices.saturating_sub(sound));
            format!(
                "{all} choices tried on {lines}: no other beats {unbeaten} in everything, {beaten} \
                 are beaten, {past} pass a limit."
            )
        }
    };
    let _ = writeln!(out, "{}", fold(&tried, ""));
}

/// The answer: what to carry, what it gives, why.
fn first(out: &mut String, asked: &Asked<'_>, chosen: &Chosen, choice: &Choice) {
    let system = asked.system;
    let held = held(asked, choice);
    let _ = writeln!(out, "\nAnswer: {}", called(choice, system));
    if let Some(held) = held {
        let _ = writeln!(out, "  {}", fold(&held, "    "));
    }
    if chosen.robust.is_some_and(|place| place > 0) {
        let said = "It is not ranked first, but the first that holds on enough days.";
        let _ = writeln!(out, "  {said}");
    }
    out.push('\n');
    gives(out, choice, system);
    said(out, "\nWhy", &choice.why, system);
    let lost = match chosen.choices.get(1) {
        Some(second) if chosen.robust.unwrap_or(0) == 0 => {
            format!("\nWhat {}, ranked second, lost on", second.code)
        }
        _ => "\nWhat it lost on against the one ranked before it".into(),
    };
    said(out, &lost, &choice.against, system);
    said(
        out,
        "\nAgainst what is carried today",
        &choice.to_change,
        system,
    );
}

fn said(out: &mut String, head: &str, sentences: &[Said], system: System) {
    if sentences.is_empty() {
        return;
    }
    let _ = writeln!(out, "{head}");
    for sentence in sentences {
        let _ = writeln!(out, "  {}", fold(&sentence.text(system), "    "));
    }
}

/// What each line has and gives.
fn gives(out: &mut String, choice: &Choice, system: System) {
    let low = choice.results.iter().any(|result| result.low.is_some());
    let mut head = vec![
        "Line", "Hose", "Nozzle", "Pump", "Flow", "At tip", "Reaction", "People", "Reach",
    ];
    if low {
        head.extend(["Low: flow", "at tip"]);
    }
    let mut rows = table(&head, 3);
    for (on, result) in choice.on.iter().zip(&choice.results) {
        let mut row = vec![
            on.line.clone(),
            format!("{} {}", figure::length(on.length).show(system), on.hose),
            on.nozzle_called(),
            figure::pressure(on.pump_pressure).show(system),
            figure::flow(result.flow).show(system),
            figure::pressure(result.tip_pressure).show(system),
            figure::force(result.reaction).show(system),
            result
                .people
                .map_or("over 3".into(), |people| people.to_string()),
            figure::length(result.reach).show(system),
        ];
        if low {
            row.extend(match result.low {
                Some((flow, tip)) => [
                    figure::flow(flow).show(system),
                    figure::pressure(tip).show(system),
                ],
                None => ["-".into(), "-".into()],
            });
        }
        rows.add_row(row);
    }
    table_or_cards(out, &rows, &head);
}

/// The table, or on a narrow screen each of its rows in words.
pub(super) fn table_or_cards(out: &mut String, rows: &Table, head: &[&str]) {
    if !is_too_wide(rows) {
        out.push_str(&text(rows));
        return;
    }
    for row in rows.row_iter() {
        let cells = row.cell_iter().zip(head).map(|(cell, head)| match *head {
            "" => cell.content(),
            head => format!("{head} {}", cell.content()),
        });
        let words = cells.collect::<Vec<_>>().join(", ");
        let _ = writeln!(out, "  {}", fold(&words, "    "));
    }
}

/// What a choice is in a few words: lines that are equipped alike are told once.
fn called(choice: &Choice, system: System) -> String {
    let mut parts: Vec<(String, Vec<&str>)> = Vec::new();
    for on in &choice.on {
        let words = equipment(choice, on, system);
        match parts.iter_mut().find(|(other, _)| *other == words) {
            Some((_, lines)) => lines.push(&on.line),
            None => parts.push((words, vec![&on.line])),
        }
    }
    let all: Vec<String> = match parts.as_slice() {
        [(words, _)] => vec![words.clone()],
        many => many
            .iter()
            .map(|(words, lines)| format!("{}: {words}", lines.join(", ")))
            .collect(),
    };
    let pump = choice.pump_pressure.map_or(String::new(), |pressure| {
        format!(", pump {}", figure::pressure(pressure).show(system))
    });
    format!("{}{pump} ({})", all.join("; "), choice.code)
}

/// Hose and nozzle; the length where it differs from line to line is left to the table.
fn equipment(choice: &Choice, on: &OfLine, system: System) -> String {
    let same = choice.on.iter().all(|other| other.length == on.length);
    let hose = match (on.hose.is_empty(), same) {
        (true, _) => String::new(),
        (false, true) => format!("{} {}, ", figure::length(on.length).show(system), on.hose),
        (false, false) => format!("{}, ", on.hose),
    };
    format!("{hose}{}", on.nozzle_called())
}

fn unbeaten(out: &mut String, asked: &Asked<'_>, chosen: &Chosen) {
    let system = asked.system;
    let _ = writeln!(out, "\nNo other choice beats these in everything");
    let names: Vec<String> = chosen.aims.iter().map(aim_head).collect();
    let mut head = vec!["", "Choice", "Pump"];
    head.extend(names.iter().map(String::as_str));
    let days = chosen.choices.iter().any(|choice| choice.doubted.is_some());
    if days {
        head.push("Holds on");
    }
    let mut rows = table(&head, 2);
    for (place, choice) in chosen.choices.iter().take(LISTED).enumerate() {
        rows.add_row(row(choice, (place + 1).to_string(), days, system));
    }
    table_or_cards(out, &rows, &head);
    let more = chosen.unbeaten.saturating_sub(LISTED as u64);
    if more > 0 {
        let _ = writeln!(
            out,
            "and {} more: --json or --out FILE.xlsx shows them",
            thousands(more)
        );
    }
    let _ = writeln!(
        out,
        "Each figure is that of the worst line and case; (x 3) counts three times as much as (x 1)."
    );
}

/// "Flow x 3".
fn aim_head((aim, weight): &(AimKind, f64)) -> String {
    let name = match aim {
        AimKind::FlowAtLowPump => "flow at low pump",
        AimKind::SteadyWhenGated => "change when gated",
        AimKind::OnePumpPressure => "pump pressures apart",
        AimKind::Weight => "weight",
        AimKind::Kinds => "kinds",
        other => aim_name(*other),
    };
    let mut letters = name.chars();
    let first = letters.next().map(|c| c.to_ascii_uppercase());
    let name: String = first.into_iter().chain(letters).collect();
    format!("{name} (x {weight})")
}

fn row(choice: &Choice, rank: String, days: bool, system: System) -> Vec<String> {
    let own = |on: &OfLine| figure::pressure(on.pump_pressure).show(system);
    let pump = match choice.pump_pressure {
        Some(pressure) => figure::pressure(pressure).show(system),
        None => choice.on.iter().map(own).collect::<Vec<_>>().join(", "),
    };
    let plain = Choice {
        pump_pressure: None,
        ..choice.clone()
    };
    let mut row = vec![rank, called(&plain, system), pump];
    row.extend(choice.measured.iter().map(|m| m.value.show(system)));
    if days {
        row.push(match &choice.doubted {
            Some(doubted) => on_days(doubted.all_hold.0),
            None => "-".into(),
        });
    }
    row
}

fn today(out: &mut String, asked: &Asked<'_>, chosen: &Chosen) {
    let system = asked.system;
    let Some(today) = &chosen.today else {
        return;
    };
    let _ = writeln!(out, "\nAs carried today");
    gives(out, today, system);
    let values: Vec<String> = chosen
        .aims
        .iter()
        .zip(&today.measured)
        .map(|((aim, _), measured)| format!("{} {}", aim_name(*aim), measured.value.show(system)))
        .collect();
    if !values.is_empty() {
        let _ = writeln!(out, "  {}", fold(&values.join(", "), "    "));
    }
    for (limit, has, may) in &today.past {
        let text = format!(
            "passes a limit, {}: has {}, may have {}",
            limit.name(),
            has.show(system),
            may.show(system)
        );
        let _ = writeln!(out, "  {}", fold(&text, "    "));
    }
    if today.past.is_empty() {
        let _ = writeln!(out, "  passes no limit");
    }
}

/// What excluded choices, limit by limit.
fn explained(excluded: &[Excluded], system: System) -> String {
    let mut out = left_out(excluded);
    for one in excluded {
        let _ = writeln!(out, "  {}", fold(&one.text.text(system), "    "));
    }
    out
}

/// How many choices each limit excluded.
pub fn left_out(excluded: &[Excluded]) -> String {
    let mut rows = table(&["Limit", "Pass it", "Pass only it"], 1);
    for one in excluded {
        rows.add_row(vec![
            one.limit.name().to_string(),
            thousands(one.choices),
            thousands(one.alone),
        ]);
    }
    text(&rows)
}

/// "It holds on 96 % of 10,000 days drawn."
fn held(asked: &Asked<'_>, choice: &Choice) -> Option<String> {
    let doubted = choice.doubted.as_ref()?;
    let (often, half) = doubted.all_hold;
    let wanted = asked.comparison.doubt.days.as_ref();
    let wanted = wanted.map_or(0.95, |days| hydraulics::units::Measure::si(days.get()));
    let enough = match often >= wanted {
        true => "as is asked",
        false => "less than is asked",
    };
    Some(format!(
        "keeps every limit on {} of {} days drawn (give or take {}), {enough}: {}",
        on_days(often),
        thousands(doubted.draws),
        on_days(half),
        on_days(wanted)
    ))
}

/// How sure it is, and whose doubt it is.
fn sure(out: &mut String, asked: &Asked<'_>, choice: &Choice, doubted: &Doubted) {
    let system = asked.system;
    let _ = writeln!(
        out,
        "\nHow sure: {} days drawn for {}",
        thousands(doubted.draws),
        choice.code
    );
    let mut rows = table(
        &[
            "Over the days",
            "Mean",
            "5 % below",
            "Half below",
            "95 % below",
        ],
        1,
    );
    for held in &doubted.over_days {
        let [low, middle, high] = &held.quantiles;
        let row = [&held.mean, low, middle, high].map(|f| f.show(system));
        let name = aim_name(held.aim).to_string();
        rows.add_row(std::iter::once(name).chain(row).collect::<Vec<_>>());
    }
    if !doubted.over_days.is_empty() {
        out.push_str(&text(&rows));
    }
    if !doubted.holds.is_empty() {
        let mut rows = table(&["Limit", "Kept on", "Give or take"], 1);
        for (limit, often, half) in &doubted.holds {
            rows.add_row(vec![
                limit.name().to_string(),
                on_days(*often),
                on_days(*half),
            ]);
        }
        let _ = write!(out, "\n{}", text(&rows));
    }
    if !doubted.words.is_empty() {
        out.push_str("\nWhose doubt it is\n");
    }
    for words in &doubted.words {
        let _ = writeln!(out, "  {}", fold(words, "    "));
    }
    notices(out, &doubted.notices, system);
}

/// A time as a person says it: "40 s", "12 minutes", "3 days".
pub fn long(time: Duration) -> String {
    let seconds = time.as_secs_f64();
    let (number, unit) = match seconds {
        s if s < 90.0 => (s.ceil(), "s"),
        s if s < 5_400.0 => ((s / 60.0).round(), "minutes"),
        s if s < 172_800.0 => ((s / 3_600.0).round(), "hours"),
        s => ((s / 86_400.0).round(), "days"),
    };
    format!("{number:.0} {unit}")
}
