//! The demo's comparison, asked for real: what its report and tables say is what `study`
//! answers for a line equipped so.
#![allow(clippy::unwrap_used, clippy::panic)]

mod common;

use std::path::Path;

use book::comparison::Comparison;
use common::{demo, keep, on, text};
use hydraulics::units::System;
use paper::tables::{self, Entry};
use paper::{Size, Units};
use study::choose::{Chosen, Quiet, conditions_of};
use study::figure;

/// Days that are drawn here: enough for shares to a few per cent.
const DAYS: u64 = 400;

fn asked() -> Comparison {
    read("saltmarsh-bend-crosslays.toml")
}

fn read(file: &str) -> Comparison {
    let books = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../books");
    let bytes = std::fs::read(books.join(file)).unwrap();
    let mut asked = book::comparison::read_for(&bytes, "crosslays.toml", &demo()).unwrap();
    asked.doubt.draws = Some(DAYS);
    asked
}

fn found(asked: &Comparison) -> Chosen {
    let book = demo();
    let mut chosen = study::choose::choose(&book, asked, &Quiet).unwrap();
    chosen.robust = study::doubt::of_choices(&book, asked, &mut chosen.choices, &Quiet).unwrap();
    chosen
}

/// The reader of PDFs puts spaces into some words.
fn bare(text: &str) -> String {
    text.replace([' ', '\u{200b}', '\u{a0}'], "")
}

#[test]
fn the_report_of_the_demo_agrees_with_solve_in_every_figure_of_its_answer() {
    let (book, asked) = (demo(), asked());
    let chosen = found(&asked);
    let answer = &chosen.choices[chosen.robust.unwrap_or(0)];
    for (units, system) in [(Units::Us, System::Us), (Units::Si, System::Si)] {
        let sheet = paper::comparison_report(&book, "crosslays", &asked, &chosen, units);
        let document = paper::typeset(&sheet, &on(Size::Letter)).unwrap();
        keep(&document, &format!("demo-{}", units.word()));
        let read = bare(&text(&sheet, Size::Letter));
        for on in &answer.on {
            let solved = study::solve(&book, &on.line, &conditions_of(&book, on).unwrap()).unwrap();
            let tip = &solved.tips[0];
            let row = [
                on.line.clone(),
                figure::flow(tip.flow).show(system),
                figure::pressure(tip.tip_pressure).show(system),
                figure::force(tip.reaction).show(system),
            ];
            let row = bare(&row.join(" "));
            assert!(read.contains(&row), "{row} in {read}");
            let pump = figure::pressure(solved.pump_pressure).show(system);
            assert!(
                read.contains(&bare(&format!("Pump pressure {pump}"))),
                "{pump} in {read}"
            );
        }
        let (share, _) = answer.doubted.as_ref().unwrap().all_hold;
        let share = format!("{:.1}%ofthedayskeepalllimits", 100.0 * share);
        assert!(
            share.starts_with("100") || read.contains(&share),
            "{share} in {read}"
        );
        for excluded in &chosen.excluded {
            assert!(read.contains(&bare(&excluded.nearest.text(system))));
        }
        assert!(read.contains(&bare(&format!("{DAYS} days drawn"))));
    }
}

#[test]
fn the_tables_of_the_demo_agree_with_solve_in_every_row_that_is_shown() {
    let (book, mut asked) = (demo(), asked());
    asked.doubt.draws = Some(0);
    let chosen = found(&asked);
    let all = tables::of_comparison(&book, "crosslays", &asked, &chosen, Units::Us);
    let table = all.table("By line").unwrap();
    let at = |head: &str| {
        let found = table.columns.iter().position(|c| c.head() == head);
        found.unwrap_or_else(|| panic!("no {head}"))
    };
    let rows = chosen
        .choices
        .iter()
        .chain(&chosen.today)
        .flat_map(|choice| &choice.on);
    let mut rows = rows.zip(&table.rows).step_by(7).take(30).peekable();
    assert!(rows.peek().is_some());
    for (on, row) in rows {
        let solved = study::solve(&book, &on.line, &conditions_of(&book, on).unwrap()).unwrap();
        let Entry::Number(flow) = row[at("flow (gpm)")] else {
            panic!("no flow in {row:?}")
        };
        let expected = figure::flow(solved.tips[0].flow).value(System::Us);
        assert!(
            (flow - expected).abs() < 1e-3,
            "{flow} and {expected} for {on:?}"
        );
        assert_eq!(row[at("line")], Entry::Text(on.line.clone()));
    }
}

#[test]
fn the_report_on_the_whole_carry_names_what_each_line_gets_and_what_is_bought() {
    let book = demo();
    let mut asked = read("saltmarsh-bend-whole-carry.toml");
    asked.doubt.draws = Some(100);
    let chosen = found(&asked);
    let answer = &chosen.choices[chosen.robust.unwrap_or(0)];
    let sheet = paper::comparison_report(&book, "whole-carry", &asked, &chosen, Units::Us);
    let document = paper::typeset(&sheet, &on(Size::A4)).unwrap();
    keep(&document, "demo-whole");
    let read = bare(&text(&sheet, Size::A4));
    for on in &answer.on {
        assert!(read.contains(&bare(&on.line)) && read.contains(&bare(&on.nozzle)));
    }
    for said in &answer.to_change {
        let words = said.text(System::Us);
        assert!(read.contains(&bare(&words)[1..]), "{words}");
    }
}
