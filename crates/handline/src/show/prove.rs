//! A plan of a test day, what its readings say, and what was taken into the book.

use super::CAUTIONS;
use super::line::notices;
use super::table::{fold, table, text};
use crate::prove::Accepted;
use book::Book;
use hydraulics::units::System;
use std::fmt::Write;
use std::path::Path;
use study::intake::together;
use study::proof::{Place, Plan, PlanItem, Proof, Proved, Role, Taken};

/// A plan.
pub fn plan(book: &Book, plan: &Plan, system: System) -> String {
    let mut out = format!("Plan of a test day, {}\n", book.name);
    if book.about.invented {
        out.push_str("(invented)\n");
    }
    for item in &plan.items {
        planned(&mut out, item, system);
    }
    out.push_str("\nOn the day\n");
    notices(&mut out, &plan.cautions, system);
    let _ = write!(out, "\n{CAUTIONS}");
    out
}

fn planned(out: &mut String, item: &PlanItem, system: System) {
    let _ = writeln!(out, "\n{}\n{}\n", item.title, fold(&item.layout, ""));
    let mut gauges = table(&["What is read", "Gauge", "Where"], 3);
    for at in &item.gauges {
        let gauge = match (at.gauge.as_str(), at.place) {
            ("", Place::Rise) => "level or tape",
            ("", Place::Length) => "tape",
            ("", Place::Minutes) => "watch",
            ("", _) => "none at hand",
            (gauge, _) => gauge,
        };
        gauges.add_row(vec![at.place.word(), gauge, &at.words]);
    }
    out.push_str(&text(&gauges));
    let places: Vec<_> = item.gauges.iter().map(|at| at.place).collect();
    let mut head = vec!["Point", "Set"];
    head.extend(places.iter().map(|place| place.word()));
    let mut points = table(&head, 2);
    for point in &item.points {
        let (place, figure) = &point.steer;
        let set = format!("{} {}", place.word(), figure.show(system));
        let mut row = vec![point.number.to_string(), set];
        row.extend(places.iter().map(|place| {
            let expected = point.expected.iter().find(|(at, _)| at == place);
            expected.map_or("-".into(), |(_, figure)| figure.show(system))
        }));
        points.add_row(row);
    }
    let _ = writeln!(out, "\nExpected, by the book\n{}", text(&points));
    let mut last = "";
    for point in &item.points {
        if point.target != last {
            let said = fold(
                &format!("from point {} on: {}", point.number, point.target),
                "    ",
            );
            let _ = writeln!(out, "  {said}.");
        }
        last = &point.target;
    }
    let times = match item.repeats {
        1 => "once".to_string(),
        repeats => format!("{repeats} times"),
    };
    let _ = writeln!(
        out,
        "\nRead every point {times}. That will find, with 95 % certainty:"
    );
    for value in &item.expected {
        let wanted = 100.0 * value.wanted;
        let reached = match value.reached {
            true => String::new(),
            false => format!(" (wanted {wanted:.1} %)"),
        };
        let _ = writeln!(
            out,
            "  {} to {:.1} % either way, {}{reached}",
            value.name,
            100.0 * value.share,
            value.half.show(system)
        );
    }
    notices(out, &item.notices, system);
}

/// What of a file could not be used: rows with the same trouble together, and, where
/// rows are short of something, the columns that were taken for nothing.
pub fn unused(taken: &Taken) -> String {
    let told = together(&taken.problems);
    let mut out: String = told.iter().map(|one| format!("{one}\n")).collect();
    let columns = taken.matching.columns.iter();
    let idle: Vec<String> = columns
        .filter(|column| column.role == Role::Ignored && !column.head.is_empty())
        .map(|column| format!("\"{}\"", column.head))
        .collect();
    if !told.is_empty() && !idle.is_empty() {
        let _ = writeln!(
            out,
            "Columns that were not used: {}; name a column by what was read, as \"inlet (psi)\"",
            idle.join(", ")
        );
    }
    out
}

/// What a day's readings say.
pub fn proved(book: &Book, taken: &Taken, proved: &Proved, points: bool, system: System) -> String {
    let mut out = format!("Test day, {}\n", book.name);
    if book.about.invented {
        out.push_str("(invented)\n");
    }
    let _ = writeln!(out, "{} of {} rows could be used.", taken.taken, taken.rows);
    for suspect in &proved.suspects {
        let [off, low, high] = suspect.off.map(|figure| figure.show_change(system));
        let said = format!(
            "GAUGE IN DOUBT: {}. It is off by {off} ({low} to {high}); sound gauges look like \
             that one day in {:.0}",
            suspect.words,
            1.0 / suspect.chance.max(1e-9)
        );
        let _ = writeln!(out, "\n{}.", fold(&said, "  "));
    }
    notices(&mut out, &proved.notices, system);
    for proof in &proved.proofs {
        one(&mut out, proof, points, system);
    }
    let _ = write!(out, "\n{CAUTIONS}");
    out
}

fn one(out: &mut String, proof: &Proof, points: bool, system: System) {
    let _ = writeln!(out, "\n{}, {}", proof.subject, proof.date);
    if !proof.law.is_empty() {
        let _ = writeln!(out, "  {}", fold(&proof.law, "    "));
    }
    if !proof.found.is_empty() {
        let mut rows = table(
            &["Found", "Measured", "95 %: from", "to", "Book", "That is"],
            1,
        );
        for found in &proof.found {
            let [low, high] = found.between.map(|end| end.show(system));
            let told = match (&found.book, found.told_apart) {
                (None, _) => "-",
                (Some(_), true) => "another",
                (Some(_), false) => "not told apart",
            };
            rows.add_row(vec![
                found.name.clone(),
                found.value.show(system),
                low,
                high,
                found.book.map_or("-".into(), |book| book.show(system)),
                match found.book {
                    Some(_) => format!("{told} ({})", found.book_is),
                    None => told.into(),
                },
            ]);
        }
        out.push_str(&text(&rows));
    }
    for bound in &proof.bounds {
        let said = format!("VERDICT {} [{}]", bound.words(system), bound.source);
        let _ = writeln!(out, "  {}", fold(&said, "    "));
    }
    notices(out, &proof.notices, system);
    if points {
        seen(out, proof, system);
    }
}

fn seen(out: &mut String, proof: &Proof, system: System) {
    let first = proof.points.first();
    let names: Vec<&str> = first.map_or(Vec::new(), |p| p.read.iter().map(|r| r.0).collect());
    let mut head = vec!["Point", "Time"];
    head.extend(&names);
    head.extend(["off by", ""]);
    let mut rows = table(&head, 2);
    for point in &proof.points {
        let mut row = vec![point.point.to_string(), point.time.clone()];
        row.extend(names.iter().map(|name| {
            let read = point.read.iter().find(|r| r.0 == *name);
            read.map_or("-".into(), |(_, figure)| figure.show(system))
        }));
        row.push(point.residual.show_change(system));
        row.push(match (&point.left_out, point.stands_out) {
            (Some(why), _) => format!("left out: {why}"),
            (None, true) => "stands out".into(),
            (None, false) => String::new(),
        });
        rows.add_row(row);
    }
    out.push_str(&text(&rows));
}

/// What was taken into the book, and which lines change.
pub fn accepted(accepted: &Accepted, out_file: Option<&Path>, system: System) -> String {
    let mut out = String::from("\nInto the book\n");
    for subject in &accepted.taken {
        let _ = writeln!(out, "  taken: {subject}");
    }
    for error in &accepted.refused {
        let _ = writeln!(out, "  {}", fold(&format!("not taken: {error}"), "    "));
    }
    if !accepted.taken.is_empty() {
        match accepted.effects.as_slice() {
            [] => out.push_str("No line changes.\n"),
            effects => {
                out.push_str("Lines that change\n");
                for effect in effects {
                    let _ = writeln!(out, "  {}", fold(&effect.words(system), "    "));
                }
            }
        }
    }
    match (out_file, accepted.taken.is_empty()) {
        (Some(file), false) => {
            let _ = writeln!(out, "The changed book is in {}.", file.display());
        }
        (Some(_), true) => out.push_str("Nothing was taken, and no book was written.\n"),
        (None, false) => {
            out.push_str("Nothing is written: give --out NEWBOOK to have the changed book.\n");
        }
        (None, true) => {}
    }
    out
}
