//! Handouts read back: the sum adds up, answers are the solver's.
#![allow(clippy::unwrap_used)]

mod common;

use book::{Added, Conditions, Path};
use common::{demo, text};
use hydraulics::units::{Length, Measure, System};
use paper::{Size, Units};
use study::figure;

fn bare(text: &str) -> String {
    text.replace([' ', '\u{200b}'], "")
}

/// A figure as it is printed.
fn number(text: &str) -> f64 {
    text.replace('\u{2212}', "-")
        .replace(',', "")
        .parse()
        .unwrap()
}

#[test]
fn law_the_printed_sum_of_every_handout_adds_up() {
    let book = demo();
    for line in book.line.keys() {
        for units in Units::ALL {
            let sheet = paper::handout(&book, line, units).unwrap();
            let sum = &sheet.body["sum"];
            let whole = sum["whole"]["value"].as_str().unwrap();
            let gauge = number(sheet.body["pump"]["value"].as_str().unwrap());
            let step = if units == Units::Si { 0.1 } else { 1.0 };
            assert!(
                (number(whole) - gauge).abs() <= 0.51 * step,
                "{line}: {whole}"
            );
            let terms = sum["terms"].as_array().unwrap();
            assert!(terms.len() > 1, "{line}");
            let total: f64 = terms
                .iter()
                .map(|t| number(t["shown"]["value"].as_str().unwrap()))
                .sum();
            assert!(
                (total - number(whole)).abs() < 1e-6,
                "{line}: {total} {whole}"
            );
            if units == Units::Both {
                let also = |v: &serde_json::Value| {
                    number(v["also"].as_str().unwrap().split(' ').next().unwrap())
                };
                let total: f64 = terms.iter().map(|t| also(&t["shown"])).sum();
                assert!((total - also(&sum["whole"])).abs() < 1e-6, "{line}");
            }
        }
    }
}

#[test]
fn the_figures_of_a_handout_are_those_of_solve() {
    let book = demo();
    for (units, system) in [(Units::Us, System::Us), (Units::Si, System::Si)] {
        for line in ["left-crosslay", "apartment", "foam", "neighbour"] {
            let sheet = paper::handout(&book, line, units).unwrap();
            let read = bare(&text(&sheet, Size::A4));
            let answer = study::solve(&book, line, &Conditions::default()).unwrap();
            let pump = figure::pressure(answer.pump_pressure).show(system);
            assert!(
                read.contains(&bare(&format!("PUMP PRESSURE {pump}"))),
                "{line}: {read}"
            );
            for tip in &answer.tips {
                for figure in [
                    figure::flow(tip.flow),
                    figure::pressure(tip.tip_pressure),
                    figure::force(tip.reaction),
                    figure::length(tip.effective_reach),
                ] {
                    assert!(
                        read.contains(&bare(&figure.show(system))),
                        "{line}: {figure:?}"
                    );
                }
            }
        }
    }
}

#[test]
fn book_a_class_can_work_the_friction_out_by_hand() {
    // The trade's form FL = C (Q/100)^2 (L/100): 14.2 x 1.5^2 x 2 = 63.9 psi.
    let sheet = paper::handout(&demo(), "left-crosslay", Units::Us).unwrap();
    let read = bare(&text(&sheet, Size::A4));
    let rule = "C 14.2 × (150/100)² × (200/100), in psi";
    assert!(read.contains(&bare(rule)), "{read}");
    let hose = &sheet.body["sum"]["terms"][1];
    let shown = number(hose["shown"]["value"].as_str().unwrap());
    assert!((shown - 63.9).abs() < 0.3, "{shown}");
}

#[test]
fn the_answers_at_the_foot_are_the_solvers() {
    let book = demo();
    let sheet = paper::handout(&book, "left-crosslay", Units::Us).unwrap();
    let read = bare(&text(&sheet, Size::A4));
    let now = study::solve(&book, "left-crosslay", &Conditions::default()).unwrap();
    let tip: Path = now.tips[0].place.parse().unwrap();
    let hundred = Added {
        hose: "attack".into(),
        length: Length::of_si(30.48),
    };
    let mut longer = Conditions::default();
    longer.changes.entry(tip.clone()).or_default().added = Some(hundred);
    let more = study::solve(&book, "left-crosslay", &longer).unwrap();
    let more = figure::pressure(more.pump_pressure).show(System::Us);
    assert!(
        read.contains(&bare(&format!("The pump must hold {more}."))),
        "{more}: {read}"
    );
    let low = Conditions {
        pump_pressure: Some(now.pump_pressure - hydraulics::units::psi(20.0)),
        ..Conditions::default()
    };
    let low = study::solve(&book, "left-crosslay", &low).unwrap();
    let flow = figure::flow(low.tips[0].flow).show(System::Us);
    assert!(
        read.contains(&bare(&format!("Then: flow {flow}"))),
        "{flow}: {read}"
    );
    let mut higher = Conditions::default();
    higher.changes.entry(tip).or_default().extra_rise = Some(Length::of_si(3.048));
    let higher = study::solve(&book, "left-crosslay", &higher).unwrap();
    let higher = figure::pressure(higher.pump_pressure).show(System::Us);
    assert!(
        read.contains(&bare(&format!("{higher}."))),
        "{higher}: {read}"
    );
}

#[test]
fn the_profile_on_paper_is_the_one_on_the_screen_and_pages_are_few() {
    let book = demo();
    for line in book.line.keys() {
        let sheet = paper::handout(&book, line, Units::Us).unwrap();
        let conditions = Conditions::default();
        let layout = book::layout(&book, line, &conditions).unwrap();
        let answer = study::solve(&book, line, &conditions).unwrap();
        let drawing = picture::profile(&layout, &answer, System::Us);
        assert_eq!(sheet.drawings[0].svg, drawing.svg, "{line}");
        let pressed = paper::press(&sheet, &common::on(Size::A4)).unwrap();
        assert!(pressed.pages <= 3, "{line}: {}", pressed.pages);
    }
}
