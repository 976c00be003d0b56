//! A book's contents, charts, extensions, and hose that does.

use super::CAUTIONS;
use super::line::{coefficients, items, notices};
use super::table::{fold, table, text};
use book::Book;
use hydraulics::units::{Kind, Pressure, System, show};
use serde_json::{Value, json};
use std::fmt::Write;
use study::figure::{self, Figure};
use study::{Chart, Extended, HoseThatDoes};

/// What a book without errors holds.
pub fn contents(book: &Book, file: &std::path::Path) -> String {
    let water = book.draft.len() + book.shuttle.len();
    let counts = [
        ("rigs", book.rig.len()),
        ("hose", book.hose.len()),
        ("nozzles", book.nozzle.len()),
        ("appliances", book.appliance.len()),
        ("gauges", book.gauge.len()),
        ("hydrants", book.hydrant.len()),
        ("drafts and shuttles", water),
        ("standpipes", book.standpipe.len()),
        ("lines", book.line.len()),
        ("scenes", book.scene.len()),
    ];
    let counts: Vec<String> = counts
        .iter()
        .map(|(what, n)| format!("{what} {n}"))
        .collect();
    let text = format!("In order. Of its own it has: {}.", counts.join(", "));
    format!("{}: {}\n{}\n", file.display(), book.name, fold(&text, ""))
}

/// A pump chart.
pub fn chart(chart: &Chart, system: System) -> String {
    let mut out = format!("Pump chart, {}", chart.line);
    if let Some(title) = &chart.title {
        let _ = write!(out, ": {title}");
    }
    let _ = writeln!(
        out,
        "\nPump pressure by length of {} ({}) and height of the tip above the pump",
        chart.hose, chart.place
    );
    let mut over = false;
    for each in &chart.tables {
        let setting = each
            .setting
            .as_ref()
            .map_or(String::new(), |s| format!("setting {s}, "));
        let _ = writeln!(
            out,
            "\n{setting}{} at the tip",
            show(Kind::Flow, each.flow, system)
        );
        let rises: Vec<String> = chart
            .rises
            .iter()
            .map(|&r| show(Kind::Length, r, system))
            .collect();
        let mut head = vec!["length \\ rise"];
        head.extend(rises.iter().map(String::as_str));
        let mut cells = table(&head, 1);
        for (length, row) in chart.lengths.iter().zip(&each.rows) {
            let mut line = vec![show(Kind::Length, *length, system)];
            line.extend(row.iter().map(|cell| {
                over |= cell.over;
                let mark = if cell.over { " !" } else { "" };
                cell.pump_pressure.map_or("none".into(), |p| {
                    format!("{}{mark}", show(Kind::Pressure, p, system))
                })
            }));
            cells.add_row(line);
        }
        out.push_str(&text(&cells));
    }
    if over {
        out.push_str(
            "\n! above the department's ceiling or the hose's service pressure: do not pump it.\n",
        );
    }
    items(&mut out, &chart.items, system);
    coefficients(&mut out, &chart.coefficients, chart.spread.as_ref(), system);
    let _ = write!(out, "\n{CAUTIONS}");
    out
}

/// What adding hose changes.
pub fn extended(extended: &Extended, system: System) -> String {
    let mut out = format!(
        "{}: {} of {} added at {}\n",
        extended.before.line,
        show(Kind::Length, extended.length, system),
        extended.hose,
        extended.place
    );
    out.push_str(if extended.leaves_shutoff {
        "The tip comes off its shut-off; the hose goes between them, and the shut-off stays behind.\n\n"
    } else {
        "Shut the line down, take the nozzle off, add the hose, put the nozzle back on.\n\n"
    });
    let mut rows = table(&["", "As it was", "Same flow", "Same pump pressure"], 1);
    let answers = [
        &extended.before,
        &extended.same_flow,
        &extended.same_pressure,
    ];
    let mut row = |name: &str, figures: [Option<Figure>; 3]| {
        let mut cells = vec![name.to_string()];
        cells.extend(figures.map(|f| f.map_or("-".into(), |f| f.show(system))));
        rows.add_row(cells);
    };
    row(
        "pump pressure",
        answers.map(|a| Some(figure::pressure(a.pump_pressure))),
    );
    let tip = |a: &study::answer::LineAnswer| {
        a.tips
            .iter()
            .find(|t| t.place == extended.place && t.line == a.line)
            .cloned()
    };
    let tips = answers.map(tip);
    let each = |get: fn(&study::answer::TipAnswer) -> Figure| {
        [0, 1, 2].map(|i| tips.get(i).and_then(Option::as_ref).map(get))
    };
    row("flow", each(|t| figure::flow(t.flow)));
    row("tip pressure", each(|t| figure::pressure(t.tip_pressure)));
    row("reaction", each(|t| figure::force(t.reaction)));
    row(
        "effective reach",
        each(|t| figure::length(t.effective_reach)),
    );
    row("maximum throw", each(|t| figure::length(t.maximum_throw)));
    out.push_str(&text(&rows));
    if let Some(short) = extended.short_of() {
        let _ = writeln!(out, "\n{short} That column is the nearest.");
    }
    let _ = write!(
        out,
        "\nThe added hose holds {} of water",
        show(Kind::Volume, extended.water, system)
    );
    if let Some(tank) = extended.tank {
        let share = extended.water / tank;
        let _ = write!(
            out,
            ", {} of the rig's tank ({})",
            show(Kind::Share, share, system),
            show(Kind::Volume, tank, system)
        );
    }
    let _ = write!(
        out,
        ". The water weighs {}",
        show(Kind::Mass, extended.water_weight, system)
    );
    if let Some(weight) = extended.hose_weight {
        let _ = write!(out, ", the dry hose {}", show(Kind::Mass, weight, system));
    }
    out.push_str(".\n");
    match (extended.adapters.as_slice(), extended.fit_unknown) {
        ([], false) => out.push_str("It screws together as it is.\n"),
        ([], true) => {
            out.push_str("Couplings are not written for every end: check the fit by hand.\n")
        }
        (adapters, _) => {
            let _ = writeln!(
                out,
                "It does not screw together; it takes: {}.",
                adapters.join("; ")
            );
        }
    }
    let named = [
        ("the same flow", &extended.same_flow.notices),
        ("the same pump pressure", &extended.same_pressure.notices),
    ];
    for (name, list) in named.into_iter().filter(|n| !n.1.is_empty()) {
        let _ = writeln!(out, "\nNotices at {name}");
        notices(&mut out, list, system);
    }
    let same = &extended.same_flow;
    coefficients(&mut out, &same.coefficients, same.spread.as_ref(), system);
    let _ = write!(out, "\n{CAUTIONS}");
    out
}

type Smallest<'a> = Option<&'a Option<HoseThatDoes>>;

/// The longest and the smallest hose under a ceiling.
pub fn sized(
    line: &str,
    ceiling: Pressure,
    longest: Option<&HoseThatDoes>,
    smallest: Smallest<'_>,
    system: System,
) -> String {
    let top = show(Kind::Pressure, ceiling, system);
    let mut out = format!("{line}, with the pump at {top} at most\n");
    if let Some(found) = longest {
        let _ = writeln!(
            out,
            "The longest {} ({}) that gives every tip its aim: {}, at {}.",
            found.hose,
            found.place,
            show(Kind::Length, found.length, system),
            show(Kind::Pressure, found.pump_pressure, system)
        );
        rests_on(&mut out, found, system);
    }
    match smallest {
        Some(Some(found)) => {
            let _ = writeln!(
                out,
                "The smallest hose that does for the {} ({}): {}, at {}. Check its couplings.",
                show(Kind::Length, found.length, system),
                found.place,
                found.hose,
                show(Kind::Pressure, found.pump_pressure, system)
            );
            rests_on(&mut out, found, system);
        }
        Some(None) => out.push_str("No hose in the book or the catalogue does.\n"),
        None => {}
    }
    let _ = write!(out, "\n{CAUTIONS}");
    out
}

fn rests_on(out: &mut String, found: &HoseThatDoes, system: System) {
    let (low, high) = found.over_spread;
    let used = found
        .used
        .as_ref()
        .map_or_else(String::new, |u| u.text(system));
    let _ = writeln!(
        out,
        "  (by {used}; over the published spread of C it takes {} to {} at the pump)",
        show(Kind::Pressure, low, system),
        show(Kind::Pressure, high, system)
    );
}

/// The same as JSON.
pub fn sized_json(
    line: &str,
    ceiling: Pressure,
    longest: Option<&HoseThatDoes>,
    smallest: Smallest<'_>,
    system: System,
) -> Value {
    json!({
        "line": line,
        "ceiling": figure::pressure(ceiling).json(system),
        "longest": longest.map(|found| found.json(system)),
        "smallest": smallest.and_then(Option::as_ref).map(|found| found.json(system)),
    })
}
