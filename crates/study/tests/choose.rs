//! Choices compared, on the demo department (invented) and on small books.
#![allow(clippy::unwrap_used, clippy::panic, clippy::print_stdout)]

use book::comparison::{AimKind, Comparison, NozzleChoice, Steps, Wanted};
use book::{Book, Stated, Which};
use hydraulics::units::{Kind, Length, Measure, Pressure, System, figure, psi};
use std::sync::atomic::{AtomicU64, Ordering};
use study::choose::{
    Choice, ChooseError, Chosen, Limit, Quiet, Watch, choose, conditions_at, conditions_of, size,
    solve_words, trial,
};

fn demo() -> Book {
    let bytes = include_bytes!("../../../books/saltmarsh-bend.toml");
    book::read(bytes, "saltmarsh-bend.toml").unwrap()
}

fn of(text: &str) -> Book {
    book::read(text.as_bytes(), "test.toml").unwrap()
}

fn stated<Q: Measure>(kind: Kind, text: &str) -> Stated<Q> {
    Stated::read(kind, text, System::Us).unwrap()
}

fn pressure(text: &str) -> Stated<Pressure> {
    stated(Kind::Pressure, text)
}

fn wanted(weight: &str) -> Wanted {
    Wanted {
        weight: stated(Kind::Share, weight),
        near: None,
    }
}

fn nozzle(name: &str) -> NozzleChoice {
    NozzleChoice {
        nozzle: name.into(),
        setting: None,
    }
}

fn range(from: &str, to: &str, step: &str) -> Steps<Pressure> {
    Steps::Range {
        from: pressure(from),
        to: pressure(to),
        step: pressure(step),
    }
}

/// Which nozzle and hose for the crosslays of a three-person crew with a 175 psi
/// ceiling, usable down to 100 psi at the pump?
fn crosslays() -> Comparison {
    let mut asked = Comparison {
        title: Some("Crosslays".into()),
        lines: ["left-crosslay", "right-crosslay", "rear-crosslay"]
            .map(String::from)
            .to_vec(),
        ..Comparison::default()
    };
    asked.vary.hose = vec!["attack".into(), "2 in".into()];
    asked.vary.nozzle = [
        "twin",
        "fifteen-sixteenths",
        "breakaway",
        "7/8 in smooth bore",
    ]
    .map(nozzle)
    .to_vec();
    asked.vary.pump_pressure = range("100 psi", "200 psi", "5 psi");
    asked.cases.rise = vec![stated(Kind::Length, "20 ft")];
    asked.cases.coefficient = vec![Which::PublishedLow, Which::PublishedHigh];
    asked.cases.low_pump_pressure = Some(pressure("100 psi"));
    asked.cases.gated = Some(stated(Kind::Share, "50 %"));
    asked.limits.people = Some(3);
    asked.limits.pump_pressure = Some(pressure("175 psi"));
    asked.limits.flow = Some(stated(Kind::Flow, "110 gpm"));
    asked.limits.flow_at_low_pump = Some(stated(Kind::Flow, "90 gpm"));
    for (aim, weight) in [
        (AimKind::FlowAtLowPump, "2"),
        (AimKind::Reaction, "2"),
        (AimKind::Flow, "3"),
        (AimKind::Reach, "1"),
        (AimKind::Weight, "1"),
        (AimKind::SteadyWhenGated, "0"),
        (AimKind::OnePumpPressure, "0"),
        (AimKind::Kinds, "0"),
        (AimKind::PumpPressure, "1"),
    ] {
        asked.aims.insert(aim, wanted(weight));
    }
    asked
}

fn found(book: &Book, asked: &Comparison) -> Chosen {
    choose(book, asked, &Quiet).unwrap()
}

fn refused(book: &Book, asked: &Comparison) -> ChooseError {
    match choose(book, asked, &Quiet) {
        Ok(chosen) => panic!("{} choices were left", chosen.unbeaten + chosen.beaten),
        Err(error) => error,
    }
}

fn us(said: &[study::choose::Said]) -> Vec<String> {
    said.iter().map(|said| said.text(System::Us)).collect()
}

fn value(chosen: &Chosen, choice: &Choice, aim: AimKind) -> f64 {
    let place = chosen.aims.iter().position(|(own, _)| *own == aim).unwrap();
    choice.measured[place].value.value(System::Us)
}

#[test]
fn the_demo_question_has_an_explained_answer() {
    let (book, asked) = (demo(), crosslays());
    let chosen = found(&book, &asked);
    let first = &chosen.choices[0];
    println!("{:#?}", us(&first.why));
    println!("{:#?}", us(&first.against));
    for excluded in &chosen.excluded {
        println!("{}", excluded.text.text(System::Us));
    }
    for choice in chosen.choices.iter().take(5) {
        let on = &choice.on[0];
        println!(
            "{} {:.3} {} {} {}",
            choice.code,
            choice.score,
            on.hose,
            on.nozzle_called(),
            study::figure::pressure(on.pump_pressure).show(System::Us)
        );
    }
    println!("{} unbeaten, {} beaten", chosen.unbeaten, chosen.beaten);
    assert_eq!(chosen.size.choices, 2 * 5 * 21);
    // Three rises and coefficients make six cases; each pressure open and gated, and
    // once at the low pump pressure.
    assert_eq!(chosen.size.points, 10 * 3 * 6 * (2 * 21 + 1));
    assert!(first.pump_pressure.unwrap() <= psi(175.0 + 1e-9));
    assert!(value(&chosen, first, AimKind::Reaction) <= 95.0);
    assert!(value(&chosen, first, AimKind::FlowAtLowPump) >= 90.0);
    assert!(first.past.is_empty());
    assert!(!first.why.is_empty() && !first.against.is_empty());
    // The best by weight are in order, and none is beaten by another that is shown.
    assert!(chosen.choices.is_sorted_by(|a, b| a.score >= b.score));
    let every: u64 = chosen.unbeaten + chosen.beaten;
    let out = chosen.excluded.iter().map(|e| e.choices).max().unwrap();
    assert!(every < chosen.size.choices && out <= chosen.size.choices - every);
    // No choice above the ceiling is in, and all of them are counted.
    let ceiling = chosen
        .excluded
        .iter()
        .find(|e| e.limit == Limit::PumpPressure);
    assert_eq!(ceiling.unwrap().choices, 2 * 5 * 5);
    let today = chosen.today.as_ref().unwrap();
    assert_eq!(today.on[0].nozzle, "twin");
}

#[test]
fn the_numbers_agree_with_solve() {
    let (book, asked) = (demo(), crosslays());
    let chosen = found(&book, &asked);
    let mut compared = 0;
    for choice in chosen.choices.iter().take(12) {
        let worst = |aim: AimKind| {
            let place = chosen.aims.iter().position(|(own, _)| *own == aim).unwrap();
            &choice.measured[place]
        };
        for (aim, low) in [
            (AimKind::Flow, false),
            (AimKind::Reaction, false),
            (AimKind::Reach, false),
            (AimKind::FlowAtLowPump, true),
        ] {
            let measured = worst(aim);
            let on = choice
                .on
                .iter()
                .find(|on| on.line == measured.at.line)
                .unwrap();
            let mut conditions = conditions_at(&book, on, &measured.at).unwrap();
            if low {
                conditions.pump_pressure = Some(psi(100.0));
            }
            let answer = study::solve(&book, &on.line, &conditions).unwrap();
            let tip = &answer.tips[0];
            let full = match aim {
                AimKind::Flow | AimKind::FlowAtLowPump => study::figure::flow(tip.flow),
                AimKind::Reach => study::figure::length(tip.effective_reach),
                _ => study::figure::force(tip.reaction),
            };
            let (a, b) = (full.value(System::Us), measured.value.value(System::Us));
            // Figures are rounded to a ten-thousandth of their unit.
            assert!(
                (a - b).abs() <= 1e-6 * a + 1.1e-4,
                "{}: {a} and {b}",
                aim.key()
            );
            compared += 1;
        }
        for (on, result) in choice.on.iter().zip(&choice.results) {
            let answer = study::solve(&book, &on.line, &conditions_of(&book, on).unwrap()).unwrap();
            let miss = (answer.flow - result.flow).value.abs();
            assert!(miss <= 1e-9 * answer.flow.value);
            assert!(result.flows.0 <= answer.flow * (1.0 + 1e-6));
            assert!(result.flows.1 >= answer.flow * (1.0 - 1e-6));
        }
    }
    assert!(compared >= 12);
    assert!(!chosen.notices.iter().any(|n| n.code == "solutions_differ"));
}

/// The words for `solve` ask the same question as the choice.
#[test]
fn solve_is_told_in_words_what_the_choice_is() {
    let book = demo();
    let mut asked = crosslays();
    asked.vary.length = vec![
        stated(Kind::Length, "150 ft"),
        stated(Kind::Length, "250 ft"),
    ];
    let chosen = found(&book, &asked);
    for choice in chosen.choices.iter().take(6) {
        for (on, result) in choice.on.iter().zip(&choice.results) {
            let words = solve_words(&book, on, System::Us);
            let mut asked = study::ask::Asked::default();
            for option in words.split(" --").skip(1) {
                let (name, value) = option.split_once(' ').unwrap();
                let value = value.trim_matches('"').to_string();
                match name {
                    "pump" => asked.pump.push(value),
                    "hose" => asked.hose.push(value),
                    "nozzle" => asked.nozzle.push(value),
                    "setting" => asked.setting.push(value),
                    "length" => asked.length.push(value),
                    other => panic!("{other}"),
                }
            }
            let answer = asked.line(&book, &on.line).unwrap();
            let flow = answer.last().flow;
            assert!(
                (flow - result.flow).value.abs() <= 1e-5 * flow.value,
                "{words}"
            );
        }
    }
}

/// A hundred lay-outs by hand: hose, nozzle and pressure of the demo, against the same
/// written as a book of its own.
#[test]
fn law_a_choice_is_the_line_written_so() {
    let book = demo();
    let mut asked = crosslays();
    asked.vary.length = vec![
        stated(Kind::Length, "150 ft"),
        stated(Kind::Length, "250 ft"),
    ];
    asked.limits = Default::default();
    let chosen = found(&book, &asked);
    let text = String::from_utf8(include_bytes!("../../../books/saltmarsh-bend.toml").to_vec());
    for choice in chosen.choices.iter().take(20) {
        let on = &choice.on[0];
        let feet = figure(Kind::Length, on.length, System::Us);
        let setting = on.setting.as_ref().map(|s| format!(", setting = \"{s}\""));
        let written = format!(
            "{}\n[line.same]\nparts = [{{ hose = \"{}\", length = \"{feet} ft\" }}, {{ nozzle = \"{}\"{} }}]\n",
            text.as_ref().unwrap(),
            on.hose,
            on.nozzle,
            setting.unwrap_or_default()
        );
        let conditions = book::Conditions {
            pump_pressure: Some(on.pump_pressure),
            ..Default::default()
        };
        let same = study::solve(&of(&written), "same", &conditions).unwrap();
        let miss = (same.flow - choice.results[0].flow).value.abs();
        assert!(miss <= 1e-6 * same.flow.value);
    }
}

#[test]
fn law_the_unbeaten_are_those_that_none_beats() {
    let book = demo();
    let mut asked = crosslays();
    asked.vary.pump_pressure = range("100 psi", "200 psi", "20 psi");
    // Everything that is in when each choice is tried by itself.
    let all = found(&book, &asked);
    let mut single = Vec::new();
    for hose in asked.vary.hose.clone() {
        for nozzle in asked.vary.nozzle.clone() {
            for pump in (100..=200).step_by(20) {
                let settings = book.nozzle(&nozzle.nozzle).unwrap().item.settings();
                let settings: Vec<Option<String>> = match settings.as_slice() {
                    [] => vec![None],
                    all => all.iter().map(|s| Some(s.to_string())).collect(),
                };
                for setting in settings {
                    let mut one = asked.clone();
                    one.vary.hose = vec![hose.clone()];
                    one.vary.nozzle = vec![NozzleChoice {
                        setting,
                        ..nozzle.clone()
                    }];
                    one.vary.pump_pressure = Steps::List(vec![pressure(&format!("{pump} psi"))]);
                    if let Ok(chosen) = choose(&book, &one, &Quiet) {
                        single.push(chosen.choices[0].clone());
                    }
                }
            }
        }
    }
    let cost = |choice: &Choice, aim: &(AimKind, f64)| {
        let place = all.aims.iter().position(|own| own == aim).unwrap();
        let value = choice.measured[place].value.value(System::Us);
        if aim.0.more_is_better() {
            -value
        } else {
            value
        }
    };
    let counted: Vec<_> = all
        .aims
        .iter()
        .filter(|(_, weight)| *weight > 0.0)
        .collect();
    let beats = |a: &Choice, b: &Choice| {
        let pairs = || counted.iter().map(|aim| (cost(a, aim), cost(b, aim)));
        pairs().all(|(a, b)| a <= b) && pairs().any(|(a, b)| a < b)
    };
    let left: Vec<&Choice> = single
        .iter()
        .filter(|b| !single.iter().any(|a| beats(a, b)))
        .collect();
    assert_eq!(all.unbeaten + all.beaten, single.len() as u64);
    assert_eq!(all.unbeaten, left.len() as u64);
    for choice in left {
        let same = |other: &Choice| {
            let lines = other.on.iter().zip(&choice.on);
            lines.into_iter().all(|(a, b)| {
                (&a.hose, &a.nozzle, &a.setting) == (&b.hose, &b.nozzle, &b.setting)
                    && (a.pump_pressure - b.pump_pressure).value.abs() < 1.0
            })
        };
        assert!(all.choices.iter().any(same), "{:?}", choice.on[0]);
    }
}

#[test]
fn what_cannot_be_screwed_together_is_left_out() {
    let book = demo();
    let mut asked = crosslays();
    asked.vary.hose = vec!["attack".into(), "large".into()];
    let chosen = found(&book, &asked);
    let fits = chosen
        .excluded
        .iter()
        .find(|e| e.limit == Limit::Couplings)
        .unwrap();
    assert!(fits.choices >= 21 && fits.has_and_may.is_none());
    assert!(
        chosen
            .choices
            .iter()
            .all(|c| c.on.iter().all(|on| on.hose == "attack"))
    );
}

#[test]
fn names_that_are_not_known_name_the_nearest() {
    let book = demo();
    let mut asked = crosslays();
    asked.vary.hose = vec!["atack".into()];
    match refused(&book, &asked) {
        ChooseError::Question {
            place,
            mend,
            message,
        } => {
            assert_eq!(place, "vary.hose");
            assert_eq!(
                message,
                "neither the book nor the catalogue has a hose \"atack\""
            );
            assert_eq!(mend, "did you mean \"attack\"?");
        }
        other => panic!("{other:?}"),
    }
    let mut asked = crosslays();
    asked.lines = vec!["left-croslay".into()];
    assert_eq!(
        refused(&book, &asked).mend(),
        "did you mean \"left-crosslay\"?"
    );
    let mut asked = crosslays();
    asked.vary.nozzle = vec![NozzleChoice {
        nozzle: "twin".into(),
        setting: Some("middle".into()),
    }];
    let told = refused(&book, &asked).to_string();
    assert!(told.contains("high, low"), "{told}");
    let mut asked = crosslays();
    asked.cases.low_pump_pressure = None;
    let ChooseError::Question { mend, .. } = refused(&book, &asked) else {
        panic!()
    };
    assert!(mend.contains("cases.low_pump_pressure"));
    let mut asked = crosslays();
    asked.aims.clear();
    assert!(matches!(
        refused(&book, &asked),
        ChooseError::Question { .. }
    ));
}

#[test]
fn limits_that_contradict_each_other_are_named() {
    let book = demo();
    // 200 gpm need more reaction than one person may hold, with every nozzle.
    let mut asked = crosslays();
    asked.limits.people = Some(1);
    asked.limits.flow = Some(stated(Kind::Flow, "200 gpm"));
    match refused(&book, &asked) {
        ChooseError::Contradiction {
            limits,
            message,
            mend,
        } => {
            println!("{message} / {mend}");
            assert_eq!(limits, (Limit::Flow, Limit::Reaction));
            assert!(
                message.contains("200 gpm") && message.contains("60 lbf"),
                "{message}"
            );
            assert!(mend.contains("lbf"), "{mend}");
        }
        other => panic!("{other:?}"),
    }
    let mut asked = crosslays();
    asked.limits.tip_pressure = Some(pressure("180 psi"));
    let ChooseError::Contradiction { limits, .. } = refused(&book, &asked) else {
        panic!()
    };
    assert_eq!(limits, (Limit::TipPressure, Limit::PumpPressure));
    // Each alone leaves choices, both together none; known only by trying.
    let mut asked = crosslays();
    asked.limits.flow_at_low_pump = None;
    asked.limits.pump_pressure = Some(pressure("100 psi"));
    asked.limits.flow = Some(stated(Kind::Flow, "180 gpm"));
    match refused(&book, &asked) {
        ChooseError::Contradiction {
            limits,
            message,
            mend,
        } => {
            println!("{message} / {mend}");
            assert_eq!(limits, (Limit::PumpPressure, Limit::Flow));
            assert!(mend.contains("relax"), "{mend}");
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn an_empty_result_says_what_to_relax_and_by_how_much() {
    let book = demo();
    let mut asked = crosslays();
    asked.vary.nozzle = vec![nozzle("fifteen-sixteenths")];
    asked.vary.hose = vec!["attack".into()];
    asked.vary.pump_pressure = range("100 psi", "150 psi", "10 psi");
    asked.limits.flow_at_low_pump = None;
    asked.limits.flow = Some(stated(Kind::Flow, "190 gpm"));
    let (excluded, mend) = match refused(&book, &asked) {
        ChooseError::Nothing {
            excluded,
            mend,
            message,
        } => {
            println!("{message} / {mend}");
            (excluded, mend)
        }
        other => panic!("{other:?}"),
    };
    assert_eq!(excluded[0].limit, Limit::Flow);
    assert_eq!(excluded[0].choices, 6);
    let (has, may) = excluded[0].has_and_may.unwrap();
    assert_eq!(may.show(System::Us), "190 gpm");
    assert!(mend.contains("from 190 gpm to"), "{mend}");
    // Relaxed so, a choice is left.
    let floor = has.value(System::Us).floor();
    asked.limits.flow = Some(stated(Kind::Flow, &format!("{floor} gpm")));
    assert_eq!(found(&book, &asked).unbeaten, 1);
}

#[test]
fn a_comparison_that_is_too_large_says_so_before_it_starts() {
    let book = demo();
    let mut asked = crosslays();
    let feet = |n: u32| stated::<Length>(Kind::Length, &format!("{} ft", 50 + n));
    asked.vary.length = (0..1000).map(feet).collect();
    asked.vary.pump_pressure = range("50 psi", "200 psi", "1 psi");
    let told = size(&book, &asked).unwrap_err();
    println!("{told} / {}", told.mend());
    match told {
        ChooseError::TooLarge {
            size,
            message,
            mend,
        } => {
            assert_eq!(size.choices, 10 * 1000 * 151);
            assert!(message.contains("1,510,000 choices"), "{message}");
            assert!(mend.contains("1000 lengths"), "{mend}");
        }
        other => panic!("{other:?}"),
    }
    let asked = crosslays();
    let all = size(&book, &asked).unwrap();
    let tried = trial(&book, &asked).unwrap();
    assert!(tried > 100 && tried <= all.points);
}

#[derive(Default)]
struct Counted {
    told: AtomicU64,
    stop_after: Option<u64>,
}

impl Watch for Counted {
    fn progress(&self, _: &'static str, done: u64, all: u64) {
        assert!(done <= all);
        self.told.fetch_add(1, Ordering::Relaxed);
    }

    fn is_stopped(&self) -> bool {
        let told = self.told.load(Ordering::Relaxed);
        self.stop_after.is_some_and(|most| told >= most)
    }
}

#[test]
fn progress_is_told_now_and_then_and_a_stop_stops() {
    let (book, mut asked) = (demo(), crosslays());
    let feet = |n: u32| stated::<Length>(Kind::Length, &format!("{} ft", 50 + n));
    asked.vary.length = (0..60).map(feet).collect();
    asked.vary.pump_pressure = range("100 psi", "175 psi", "75 psi");
    let watch = Counted::default();
    choose(&book, &asked, &watch).unwrap();
    let told = watch.told.load(Ordering::Relaxed);
    assert!((20..=110).contains(&told), "{told}");
    let watch = Counted {
        stop_after: Some(1),
        ..Counted::default()
    };
    assert_eq!(
        choose(&book, &asked, &watch).unwrap_err(),
        ChooseError::Stopped
    );
}

#[test]
fn law_threads_change_nothing() {
    let (book, asked) = (demo(), crosslays());
    let on = |threads| {
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        pool.install(|| found(&book, &asked))
            .json(System::Us)
            .to_string()
    };
    assert_eq!(on(1), on(3));
}

#[test]
fn without_varied_pressure_each_line_has_its_own() {
    let (book, mut asked) = (demo(), crosslays());
    asked.vary.pump_pressure = Steps::default();
    asked.limits.flow = None;
    asked.limits.flow_at_low_pump = None;
    let chosen = found(&book, &asked);
    let choice = &chosen.choices[0];
    for on in &choice.on {
        let conditions = book::Conditions {
            pump_pressure: None,
            ..conditions_of(&book, on).unwrap()
        };
        let own = study::solve(&book, &on.line, &conditions)
            .unwrap()
            .pump_pressure;
        let own = own.min(psi(175.0));
        assert!((own - on.pump_pressure).abs() < psi(1e-3), "{}", on.line);
    }
}

#[test]
fn lines_with_several_tips_and_eductors_are_judged_at_all_of_them() {
    let book = demo();
    let mut asked = crosslays();
    asked.lines = vec!["apartment".into()];
    asked.limits = Default::default();
    asked.vary.nozzle = vec![nozzle("breakaway"), nozzle("fifteen-sixteenths")];
    asked.vary.hose = vec!["attack".into()];
    let chosen = found(&book, &asked);
    let choice = &chosen.choices[0];
    let conditions = conditions_of(&book, &choice.on[0]).unwrap();
    let answer = study::solve(&book, "apartment", &conditions).unwrap();
    assert_eq!(answer.tips.len(), 2);
    assert!(
        answer
            .tips
            .iter()
            .all(|tip| tip.nozzle == choice.on[0].nozzle)
    );
    // The worse tip counts, in the case that was worst.
    let flow = &choice.measured[0];
    assert_eq!(flow.aim, AimKind::Flow);
    let at = conditions_at(&book, &choice.on[0], &flow.at).unwrap();
    let answer = study::solve(&book, "apartment", &at).unwrap();
    let least = answer
        .tips
        .iter()
        .map(|tip| tip.flow.value)
        .fold(f64::INFINITY, f64::min);
    let least = study::figure::flow(Measure::of_si(least)).value(System::Us);
    assert!((least - flow.value.value(System::Us)).abs() < 1e-6 * least + 1.1e-4);
    let mut asked = crosslays();
    asked.lines = vec!["foam".into()];
    asked.limits = Default::default();
    asked.vary.hose = vec!["attack".into()];
    asked.vary.nozzle = vec![nozzle("foam"), nozzle("95 gpm at 100 psi")];
    asked.vary.length = vec![
        stated(Kind::Length, "150 ft"),
        stated(Kind::Length, "600 ft"),
    ];
    asked.vary.pump_pressure = Steps::List(vec![pressure("200 psi")]);
    let chosen = found(&book, &asked);
    let out = chosen
        .excluded
        .iter()
        .find(|e| e.limit == Limit::Eductor)
        .unwrap();
    assert!(out.choices >= 1, "{:?}", chosen.excluded);
}

/// Five ways to flow 500 gpm with one line, as a training article prints them with
/// their reaction ("Tricks of the Trade: Handlines", page 5, seen; case NR-02 is one of
/// them): 1-1/4 in at 115 psi 282 lbf, 1-3/8 in at 80 psi 237, 1-1/2 in at 55 psi 194,
/// a combination nozzle at 80 psi 226 and at 100 psi 253.
#[test]
fn book_five_nozzles_for_500_gpm() {
    let book = of(r#"
        [book]
        name = "Print"
        [hose.short]
        size = "5 in"
        coefficient = 0.08
        [nozzle.at-80]
        kind = "fixed"
        flow = "500 gpm"
        pressure = "80 psi"
        [nozzle.at-100]
        kind = "fixed"
        flow = "500 gpm"
        pressure = "100 psi"
        [nozzle.quarter]
        kind = "smooth-bore"
        bore = "1-1/4 in"
        [nozzle.three-eighths]
        kind = "smooth-bore"
        bore = "1-3/8 in"
        [nozzle.half]
        kind = "smooth-bore"
        bore = "1-1/2 in"
        [line.blitz]
        parts = [{ hose = "short", length = "1 ft" }, { nozzle = "half" }]
        "#);
    let printed = [
        ("half", 55, 194.0),
        ("at-80", 80, 226.0),
        ("three-eighths", 80, 237.0),
        ("at-100", 100, 253.0),
        ("quarter", 115, 282.0),
    ];
    let mut asked = Comparison {
        lines: vec!["blitz".into()],
        ..Comparison::default()
    };
    asked.aims.insert(AimKind::Reaction, wanted("1"));
    asked.aims.insert(AimKind::Flow, wanted("0"));
    for (name, pump, reaction) in printed {
        asked.vary.nozzle = vec![nozzle(name)];
        asked.vary.pump_pressure = Steps::List(vec![pressure(&format!("{pump} psi"))]);
        let chosen = found(&book, &asked);
        let one = &chosen.choices[0];
        let pushes = value(&chosen, one, AimKind::Reaction);
        assert!((pushes - reaction).abs() < 0.7, "{name}: {pushes} lbf");
        let flow = value(&chosen, one, AimKind::Flow);
        assert!((flow - 500.0).abs() < 6.0, "{name}: {flow} gpm");
    }
    // All of them at all of the pressures: 500 gpm, to a hundredth, with least reaction.
    asked.vary.nozzle = printed.map(|(name, ..)| nozzle(name)).to_vec();
    let all = [55, 80, 100, 115].map(|pump| pressure(&format!("{pump} psi")));
    asked.vary.pump_pressure = Steps::List(all.to_vec());
    asked.limits.flow = Some(stated(Kind::Flow, "495 gpm"));
    let chosen = found(&book, &asked);
    assert_eq!(chosen.choices[0].on[0].nozzle, "half");
    let told = chosen.choices[0].why[0].text(System::Us);
    assert_eq!(
        told,
        "no other choice that keeps the limits is better in anything: reaction 194 lbf"
    );
    // Past 237 lbf the 1-1/2 in at 55 psi and the combination nozzle at 80 psi are left.
    asked.limits.reaction = Some(stated(Kind::Force, "230 lbf"));
    let chosen = found(&book, &asked);
    assert_eq!(chosen.unbeaten + chosen.beaten, 2);
}

/// Friction loss printed for 200 gpm in 100 ft (case FL-U-01: 8 psi in 2.5 in hose, C 2)
/// and the smooth-bore tables: at one tip and one pump pressure the larger hose gives
/// more flow; the flows are those of the printed formulas.
#[test]
fn book_two_sizes_of_hose_with_one_tip() {
    let book = of(r#"
        [book]
        name = "Print"
        [hose.small]
        size = "1.75 in"
        coefficient = 15.5
        [hose.large]
        size = "2.5 in"
        coefficient = 2
        [line.left]
        parts = [{ hose = "small", length = "200 ft" }, { nozzle = "1 in smooth bore" }]
        "#);
    let mut asked = Comparison {
        lines: vec!["left".into()],
        ..Comparison::default()
    };
    asked.vary.hose = vec!["small".into(), "large".into()];
    asked.vary.pump_pressure = Steps::List(vec![pressure("100 psi")]);
    asked.aims.insert(AimKind::Flow, wanted("1"));
    asked.aims.insert(AimKind::Weight, wanted("1"));
    let chosen = found(&book, &asked);
    assert_eq!(chosen.unbeaten, 2);
    for choice in &chosen.choices {
        let c = if choice.on[0].hose == "small" {
            15.5
        } else {
            2.0
        };
        let q = value(&chosen, choice, AimKind::Flow);
        // FL = C (Q/100)^2 L/100 and Q = 29.7 d^2 sqrt(NP) (IFSTA; NFA formulas).
        let np = (q / 29.7).powi(2);
        let fl = c * (q / 100.0_f64).powi(2) * 2.0;
        assert!((np + fl - 100.0).abs() < 0.15, "{q} gpm: {np} + {fl}");
    }
}

/// Twenty thousand choices over eight lines; says how long each part took.
#[test]
fn a_large_comparison_is_tried_whole() {
    let mut text = String::from("[book]\nname = 'Eight'\n");
    for line in 0..8 {
        text.push_str(&format!(
            "[line.l{line}]\nparts = [{{ hose = '1.75 in', length = '{} ft' }}, {{ nozzle = '15/16 in smooth bore', rise = '{line} ft' }}]\n",
            100 + 25 * line
        ));
    }
    let book = of(&text);
    let mut asked = crosslays();
    asked.lines = (0..8).map(|line| format!("l{line}")).collect();
    asked.vary.hose = vec!["1.75 in".into(), "2 in".into(), "2.5 in".into()];
    asked.vary.nozzle = [
        "7/8 in smooth bore",
        "15/16 in smooth bore",
        "1 in smooth bore",
        "150 gpm at 50 psi",
    ]
    .map(nozzle)
    .to_vec();
    let feet = |n: u32| stated::<Length>(Kind::Length, &format!("{} ft", 50 + 10 * n));
    asked.vary.length = (0..20).map(feet).collect();
    asked.vary.pump_pressure = range("60 psi", "200 psi", "2 psi");
    asked.cases.gated = None;
    asked.cases.coefficient = vec![Which::PublishedHigh];
    asked.aims.shift_remove(&AimKind::SteadyWhenGated);
    asked.limits = Default::default();
    let started = std::time::Instant::now();
    let tried = trial(&book, &asked).unwrap();
    let each = started.elapsed().as_secs_f64() / tried as f64;
    println!("{tried} points tried, {:.0} ns each", 1e9 * each);
    let started = std::time::Instant::now();
    let chosen = found(&book, &asked);
    println!(
        "{} choices, {} points: {:.2} s; {} unbeaten",
        chosen.size.choices,
        chosen.size.points,
        started.elapsed().as_secs_f64(),
        chosen.unbeaten
    );
    assert_eq!(chosen.size.choices, 3 * 4 * 20 * 71);
    let out: u64 = chosen.excluded.iter().map(|e| e.alone).sum();
    assert!(chosen.unbeaten + chosen.beaten + out <= chosen.size.choices);
    assert!(chosen.unbeaten > 200 && chosen.choices.len() == Chosen::SHOWN);
    assert!(chosen.notices.iter().any(|n| n.code == "more_than_shown"));
}

/// Thirty thousand made-up rows of seven aims that pull against each other: those
/// that are left stand against each other, and what was left out is beaten by one of
/// them.
#[test]
fn law_many_rows_are_sorted_out() {
    let mut state = 12_345_u64;
    let mut drawn = || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        ((state >> 33) as f64 / f64::from(1_u32 << 31)).clamp(0.0, 1.0)
    };
    let mut columns = vec![Vec::new(); 7];
    for _ in 0..30_000 {
        let (a, b, c, d) = (drawn(), drawn(), drawn(), drawn());
        let row = [
            a,
            b,
            -(a + 0.5 * b).sqrt() * (0.8 + 0.2 * d),
            c * b,
            -a * c - 0.1 * d,
            (20.0 * d).round(),
            (a - 0.5).abs(),
        ];
        // Two figures only, so that many tie.
        for (column, cost) in columns.iter_mut().zip(row) {
            column.push((cost * 20.0).round());
        }
    }
    let started = std::time::Instant::now();
    let left = study::choose::unbeaten(&columns);
    println!(
        "{} left, {:.2} s",
        left.len(),
        started.elapsed().as_secs_f64()
    );
    let row = |n: usize| -> Vec<f64> { columns.iter().map(|column| column[n]).collect() };
    let beats = |a: &[f64], b: &[f64]| {
        a.iter().zip(b).all(|(a, b)| a <= b) && a.iter().zip(b).any(|(a, b)| a < b)
    };
    let rows: Vec<Vec<f64>> = left.iter().map(|n| row(*n)).collect();
    assert!(rows.len() > 100 && rows.len() < 30_000);
    for own in rows.iter().step_by(rows.len() / 60 + 1) {
        assert!(!rows.iter().any(|other| beats(other, own)));
    }
    let inside: std::collections::BTreeSet<usize> = left.iter().copied().collect();
    let out = (0..30_000).filter(|n| !inside.contains(n));
    for n in out.step_by(11) {
        let own = row(n);
        assert!(rows.iter().any(|other| beats(other, &own)), "{n}");
    }
}

/// The committed file of the demo's question: the answer is one that a chief can follow.
#[test]
fn the_demo_file_is_answered() {
    let book = demo();
    let bytes = include_bytes!("../../../books/saltmarsh-bend-crosslays.toml");
    let asked = book::comparison::read_for(bytes, "saltmarsh-bend-crosslays.toml", &book).unwrap();
    let chosen = found(&book, &asked);
    for choice in chosen.choices.iter().take(3) {
        println!("{:#?}", us(&choice.why));
        println!("{:#?}", us(&choice.against));
    }
    for excluded in &chosen.excluded {
        println!("{}", excluded.text.text(System::Us));
        println!("{}", excluded.text.text(System::Si));
    }
    let first = &chosen.choices[0];
    assert!(first.pump_pressure.unwrap() <= psi(175.0 + 1e-9));
    assert!(first.past.is_empty());
    for result in &first.results {
        assert!(result.people.is_some(), "{}", result.line);
    }
    // Every sentence reads in both systems of units.
    for said in first.why.iter().chain(&first.against) {
        assert_ne!(said.text(System::Us), "");
        assert!(!said.text(System::Si).contains("psi"));
        assert!(!said.text(System::Si).contains("gpm"));
    }
    // What the nearest misses by is never said to be nothing.
    for excluded in &chosen.excluded {
        let text = excluded.text.text(System::Us);
        assert!(!text.contains(": 0 "), "{text}");
    }
}

/// Little reaction is no merit of a line without water.
#[test]
fn a_line_without_water_is_no_choice() {
    let (book, mut asked) = (demo(), crosslays());
    asked.limits = Default::default();
    asked.cases.low_pump_pressure = None;
    asked.aims.shift_remove(&AimKind::FlowAtLowPump);
    asked.cases.rise = vec![stated(Kind::Length, "60 ft")];
    asked.vary.pump_pressure = Steps::List(vec![pressure("25 psi"), pressure("120 psi")]);
    let chosen = found(&book, &asked);
    let dry = chosen.excluded.iter().find(|e| e.limit == Limit::NoAnswer);
    assert_eq!(dry.unwrap().choices, 10);
    let wet = |choice: &Choice| choice.results.iter().all(|r| r.flow.value > 1e-4);
    assert!(chosen.choices.iter().all(wet));
}

/// Each limit by itself leaves out just the choices that pass it.
#[test]
fn law_each_limit_leaves_out_what_passes_it_and_nothing_else() {
    let book = demo();
    let mut free = crosslays();
    free.limits = Default::default();
    free.limits.past_service_pressure = true;
    free.limits.pump_pressure = Some(pressure("300 psi"));
    free.vary.pump_pressure = range("80 psi", "290 psi", "30 psi");
    free.vary.length = vec![
        stated(Kind::Length, "150 ft"),
        stated(Kind::Length, "300 ft"),
    ];
    free.aims.insert(AimKind::Kinds, wanted("0"));
    let all = found(&book, &free);
    let count = |chosen: &Chosen| chosen.unbeaten + chosen.beaten;
    let mut tried = 0;
    let mut only = |limit: Limit, set: &dyn Fn(&mut Comparison)| {
        let mut asked = free.clone();
        set(&mut asked);
        let chosen = found(&book, &asked);
        let out = chosen.excluded.iter().find(|e| e.limit == limit);
        let out = out.unwrap_or_else(|| panic!("{} leaves out nothing", limit.key()));
        assert_eq!(out.choices, out.alone, "{}", limit.key());
        assert_eq!(count(&chosen) + out.choices, count(&all), "{}", limit.key());
        let (has, may) = out.has_and_may.unwrap();
        assert_ne!(has.show(System::Us), may.show(System::Us));
        tried += 1;
        chosen
    };
    let within = |chosen: &Chosen, aim: AimKind, most: f64| {
        let keeps = |choice: &Choice| value(chosen, choice, aim) <= most + 1e-3;
        assert!(chosen.choices.iter().all(keeps), "{}", aim.key());
    };
    let chosen = only(Limit::Reaction, &|asked| asked.limits.people = Some(2));
    within(&chosen, AimKind::Reaction, 75.0);
    let chosen = only(Limit::PumpPressure, &|asked| {
        asked.limits.pump_pressure = Some(pressure("175 psi"));
    });
    within(&chosen, AimKind::PumpPressure, 175.0);
    let chosen = only(Limit::Flow, &|asked| {
        asked.limits.flow = Some(stated(Kind::Flow, "120 gpm"));
    });
    let least = |choice: &Choice| value(&chosen, choice, AimKind::Flow) >= 120.0 - 1e-3;
    assert!(chosen.choices.iter().all(least));
    let chosen = only(Limit::Reach, &|asked| {
        asked.limits.reach = Some(stated(Kind::Length, "50 ft"));
    });
    let far = |choice: &Choice| value(&chosen, choice, AimKind::Reach) >= 50.0 - 1e-3;
    assert!(chosen.choices.iter().all(far));
    let chosen = only(Limit::FlowAtLowPump, &|asked| {
        asked.limits.flow_at_low_pump = Some(stated(Kind::Flow, "100 gpm"));
    });
    let low = |choice: &Choice| value(&chosen, choice, AimKind::FlowAtLowPump) >= 100.0 - 1e-3;
    assert!(chosen.choices.iter().all(low));
    let chosen = only(Limit::Weight, &|asked| {
        asked.limits.weight = Some(stated(Kind::Mass, "300 lb"));
    });
    within(&chosen, AimKind::Weight, 300.0);
    let chosen = only(Limit::TipPressure, &|asked| {
        asked.limits.tip_pressure = Some(pressure("40 psi"));
    });
    let tips = |choice: &Choice| choice.results.iter().all(|r| r.tip_pressure >= psi(39.99));
    assert!(chosen.choices.iter().all(tips));
    only(Limit::TipPressureAtLowPump, &|asked| {
        asked.limits.tip_pressure_at_low_pump = Some(pressure("30 psi"));
    });
    // The hose is the first part: its inlet has the pump's pressure.
    let chosen = only(Limit::OutletPressure, &|asked| {
        asked.limits.outlet_pressure = Some(pressure("150 psi"));
    });
    within(&chosen, AimKind::PumpPressure, 150.0);
    // The demo's attack hose is rated 270 psi; every tip gets shut.
    let chosen = only(Limit::ServicePressure, &|asked| {
        asked.limits.past_service_pressure = false;
    });
    let rated = |choice: &Choice| {
        choice.on[0].hose != "attack" || choice.pump_pressure.unwrap() <= psi(270.01)
    };
    assert!(chosen.choices.iter().all(rated));
    assert_eq!(tried, 10);
}
