//! Drawings of the demo's comparison, held against its answer.
#![allow(clippy::unwrap_used)]

mod boxes;

use book::comparison::{AimKind, Comparison};
use hydraulics::units::{System, psi};
use picture::{Drawing, Over, days, overlaid, side_by_side, strips, trade_off, whose_doubt};
use std::sync::LazyLock;
use study::choose::{Chosen, OfLine, Quiet, bounds, curves};
use study::doubt::{Doubted, of_choice};

static DEMO: LazyLock<(book::Book, Comparison, Chosen, Doubted)> = LazyLock::new(|| {
    let bytes = include_bytes!("../../../books/saltmarsh-bend.toml");
    let book = book::read(bytes, "saltmarsh-bend.toml").unwrap();
    let bytes = include_bytes!("../../../books/saltmarsh-bend-crosslays.toml");
    let mut asked = book::comparison::read_for(bytes, "crosslays.toml", &book).unwrap();
    asked.doubt.draws = Some(0);
    let chosen = study::choose::choose(&book, &asked, &Quiet).unwrap();
    let doubted = of_choice(&book, &asked, &chosen.choices[0].on, 1000, &Quiet).unwrap();
    (book, asked, chosen, doubted)
});

fn all(system: System) -> Vec<(String, Drawing)> {
    let (book, asked, chosen, doubted) = &*DEMO;
    let bounds = bounds(book, asked);
    let mut all = Vec::new();
    for (x, _) in &chosen.aims {
        for (y, _) in &chosen.aims {
            let drawing = trade_off(chosen, &bounds, (*x, *y), system);
            all.push((format!("trade {} {}", x.key(), y.key()), drawing));
        }
    }
    all.push(("side".into(), side_by_side(chosen, &[], system)));
    all.push(("strips".into(), strips(chosen, &[], system)));
    for aim in AimKind::ALL {
        all.push((
            format!("doubt {}", aim.key()),
            whose_doubt(doubted, aim, system),
        ));
        let drawing = days(doubted, aim, &bounds, system);
        all.extend(drawing.map(|drawing| (format!("days {}", aim.key()), drawing)));
    }
    let choices = chosen.choices.iter().take(4).chain(&chosen.today);
    let on: Vec<(&str, &OfLine)> = choices.map(|c| (c.code.as_str(), &c.on[0])).collect();
    let of: Vec<&OfLine> = on.iter().map(|on| on.1).collect();
    let found = curves(book, &chosen.lines[0], &of, (psi(80.0), psi(200.0))).unwrap();
    let named: Vec<_> = on.iter().map(|on| on.0).zip(&found).collect();
    for over in [Over::Flow, Over::TipPressure, Over::Reaction] {
        let low = Some(psi(100.0));
        let drawing = overlaid(&chosen.lines[0], &named, over, (&bounds, low), system);
        all.push((format!("overlaid {over:?}"), drawing));
    }
    all
}

#[test]
fn no_texts_of_the_demos_comparison_overlap() {
    for system in [System::Us, System::Si] {
        for (name, drawing) in all(system) {
            boxes::keep(&format!("demo {name} {system:?}"), &drawing);
            assert_eq!(
                boxes::overlaps(&drawing),
                Vec::<String>::new(),
                "{name} {system:?}"
            );
            for word in ["NaN", "inf\"", "\"-0\""] {
                assert!(!drawing.svg.contains(word), "{name}: {word}");
            }
        }
    }
}

#[test]
fn the_curve_of_the_best_choice_passes_what_the_choice_gives() {
    let (book, _, chosen, _) = &*DEMO;
    let best = &chosen.choices[0];
    let line = &chosen.lines[0];
    let found = curves(book, line, &[&best.on[0]], (psi(80.0), psi(200.0))).unwrap();
    let gives = best
        .results
        .iter()
        .find(|result| result.line == *line)
        .unwrap();
    let off = |a: f64, b: f64| (a - b).abs() / b;
    assert!(off(found[0].present.flow.value, gives.flow.value) < 1e-6);
}
