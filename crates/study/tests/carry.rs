//! Each line its own choice, on the demo's lines: the winner is what `solve` gives, and
//! no single swap of a line makes it better.
#![allow(clippy::unwrap_used, clippy::panic, clippy::print_stdout)]

use book::comparison::{AimKind, Comparison, NozzleChoice, Steps, Wanted};
use book::{Book, Stated};
use hydraulics::units::{Kind, Measure, Pressure, System};
use std::collections::BTreeSet;
use study::choose::{
    Choice, ChooseError, Chosen, Goods, Limit, OfLine, Quiet, choose, conditions_of, to_buy,
};
use study::solve;

fn demo() -> Book {
    let text = include_bytes!("../../../books/saltmarsh-bend.toml");
    book::read(text, "saltmarsh-bend.toml").unwrap()
}

fn stated<Q: Measure>(kind: Kind, text: &str) -> Stated<Q> {
    Stated::read(kind, text, System::Us).unwrap()
}

fn nozzle(name: &str) -> NozzleChoice {
    NozzleChoice {
        nozzle: name.into(),
        setting: None,
    }
}

/// One pump pressure for the preconnects of the two pumpers.
fn whole_carry() -> Comparison {
    let lines = ["left-crosslay", "right-crosslay", "rear-crosslay", "large"];
    let mut comparison = Comparison {
        title: Some("One pump pressure for every preconnect".into()),
        lines: lines.map(String::from).to_vec(),
        each_line: true,
        ..Comparison::default()
    };
    comparison.vary.nozzle = [
        "twin",
        "fifteen-sixteenths",
        "breakaway",
        "inch-and-an-eighth",
    ]
    .map(nozzle)
    .to_vec();
    comparison.vary.pump_pressure = Steps::Range {
        from: stated(Kind::Pressure, "90 psi"),
        to: stated(Kind::Pressure, "170 psi"),
        step: stated(Kind::Pressure, "5 psi"),
    };
    comparison.cases.low_pump_pressure = Some(stated(Kind::Pressure, "90 psi"));
    // Two people and a loop or a strap hold the large line; the crew limits would not.
    comparison.limits.reaction = Some(stated(Kind::Force, "140 lbf"));
    comparison.limits.flow = Some(stated(Kind::Flow, "100 gpm"));
    for (aim, weight) in [
        (AimKind::Flow, "3"),
        (AimKind::FlowAtLowPump, "2"),
        (AimKind::Reaction, "2"),
        (AimKind::Kinds, "1"),
        (AimKind::Price, "1"),
    ] {
        let weight = stated(Kind::Share, weight);
        comparison.aims.insert(aim, Wanted { weight, near: None });
    }
    comparison
}

fn chosen(comparison: &Comparison) -> Chosen {
    choose(&demo(), comparison, &Quiet).unwrap_or_else(|error| panic!("{error}"))
}

fn close(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-6 * a.abs().max(b.abs())
}

#[test]
fn law_what_each_line_gives_is_what_solve_gives() {
    let book = demo();
    let chosen = chosen(&whole_carry());
    assert!(chosen.choices.len() > 1);
    for choice in chosen.choices.iter().take(5) {
        let pump = choice.pump_pressure.unwrap();
        assert_eq!(choice.on.len(), 4);
        for (on, result) in choice.on.iter().zip(&choice.results) {
            assert_eq!(on.pump_pressure, pump);
            let answer = solve(&book, &on.line, &conditions_of(&book, on).unwrap()).unwrap();
            assert!(close(answer.flow.value, result.flow.value));
            let tip = &answer.tips[0];
            assert!(close(tip.reaction.value, result.reaction.value));
            assert!(close(tip.effective_reach.value, result.reach.value));
        }
        // The aims are those of the worst line.
        let flows = choice.results.iter().map(|r| r.flow.value);
        let least = flows.fold(f64::INFINITY, f64::min);
        let measured = choice.measured.iter().find(|m| m.aim == AimKind::Flow);
        let shown = measured.unwrap().value.value(System::Us);
        assert!((shown - least / 6.309_019_64e-5).abs() < 0.01, "{shown}");
    }
}

fn kinds(on: &[OfLine]) -> usize {
    let names = on.iter().flat_map(|on| [&on.hose, &on.nozzle]);
    names.collect::<BTreeSet<_>>().len()
}

#[test]
fn law_a_limit_on_kinds_and_on_the_price_is_kept() {
    let book = demo();
    let mut comparison = whole_carry();
    comparison.limits.kinds = Some(4);
    comparison.limits.price = Some(stated(Kind::Share, "1500"));
    let chosen = chosen(&comparison);
    for choice in &chosen.choices {
        assert!(kinds(&choice.on) <= 4, "{:?}", choice.on);
        let price = to_buy(&book, &choice.on).price().unwrap();
        assert!(price <= 1500.0, "{price}");
        let measured = choice.measured.iter().find(|m| m.aim == AimKind::Price);
        let shown = measured.unwrap().value.value(System::Us);
        assert!((shown - price).abs() < 1e-6, "{shown} {price}");
    }
}

/// What a choice comes to, worked out from `solve` alone.
fn plainly(book: &Book, on: &[OfLine], low: Pressure) -> Vec<f64> {
    let mut flow = f64::INFINITY;
    let mut at_low = f64::INFINITY;
    let mut reaction: f64 = 0.0;
    for on in on {
        let mut conditions = conditions_of(book, on).unwrap();
        let answer = solve(book, &on.line, &conditions).unwrap();
        flow = flow.min(answer.flow.value);
        reaction = reaction.max(answer.tips[0].reaction.value);
        conditions.pump_pressure = Some(low);
        at_low = at_low.min(solve(book, &on.line, &conditions).unwrap().flow.value);
    }
    let price = to_buy(book, on).price().unwrap();
    vec![-flow, -at_low, reaction, kinds(on) as f64, price]
}

#[test]
fn law_nothing_tried_by_hand_beats_the_first_choice() {
    let book = demo();
    let comparison = whole_carry();
    let chosen = chosen(&comparison);
    let first = &chosen.choices[0];
    let low = comparison.cases.low_pump_pressure.unwrap().get();
    let own = plainly(&book, &first.on, low);
    let settings = [
        ("twin", Some("high")),
        ("twin", Some("low")),
        ("fifteen-sixteenths", None),
        ("breakaway", None),
        ("inch-and-an-eighth", None),
    ];
    let mut tried = 0;
    for line in 0..4 {
        for (nozzle, setting) in settings {
            let mut on = first.on.clone();
            // The large line's coupling is another.
            if (line == 3) != (nozzle == "inch-and-an-eighth") {
                continue;
            }
            on[line].nozzle = nozzle.into();
            on[line].setting = setting.map(String::from);
            let other = plainly(&book, &on, low);
            let fits = other[2] <= 140.0 * 4.448_221_6 && -other[0] >= 6.309e-3;
            let better = other.iter().zip(&own).any(|(a, b)| *a < b - 1e-6 * b.abs());
            let no_worse = other
                .iter()
                .zip(&own)
                .all(|(a, b)| *a <= b + 1e-9 * b.abs());
            assert!(
                !(fits && better && no_worse),
                "{on:?}: {other:?} beats {own:?}"
            );
            tried += 1;
        }
    }
    assert!(tried > 10);
}

#[test]
fn what_is_carried_today_stands_beside_it_with_what_each_change_brings() {
    let chosen = chosen(&whole_carry());
    let today = chosen.today.as_ref().unwrap();
    assert_eq!(today.on[0].nozzle, "twin");
    assert_eq!(today.results.len(), 4);
    for choice in chosen.choices.iter().take(3) {
        println!("== {} score {:.3}", choice.code, choice.score);
        for said in [&choice.why, &choice.against, &choice.to_change] {
            for said in said {
                println!("  {}", said.text(System::Us));
            }
        }
    }
    for notice in &chosen.notices {
        println!("notice: {}", notice.text);
    }
    for excluded in &chosen.excluded {
        println!("excluded: {}", excluded.text.text(System::Us));
    }
    let changed = |choice: &&Choice| {
        let pairs = choice.on.iter().zip(&today.on);
        pairs.filter(|(a, b)| a.nozzle != b.nozzle).count() > 0
    };
    let choice = chosen.choices.iter().take(25).find(changed).unwrap();
    let texts: Vec<String> = choice
        .to_change
        .iter()
        .map(|said| said.text(System::Us))
        .collect();
    assert!(
        texts.iter().any(|text| text.contains(" instead of ")),
        "{texts:?}"
    );
    let si = choice.to_change.iter().map(|said| said.text(System::Si));
    assert!(si.collect::<String>().contains("bar"), "no bar");
}

#[test]
fn what_to_buy_counts_what_lies_in_store_and_what_becomes_free() {
    let book = demo();
    let chosen = chosen(&whole_carry());
    let mut on = chosen.today.unwrap().on;
    for line in [0, 2] {
        on[line].nozzle = "fifteen-sixteenths".into();
        on[line].setting = None;
    }
    let purchase = to_buy(&book, &on);
    // Two more are needed, and one lies in store.
    assert_eq!(purchase.from_store[0].pieces, 1);
    assert_eq!((purchase.buy.len(), purchase.buy[0].pieces), (1, 1));
    assert_eq!(purchase.buy[0].what, Goods::Nozzle);
    assert_eq!(purchase.price(), Some(620.0));
    let free: Vec<&str> = purchase.left_over.iter().map(|b| b.name.as_str()).collect();
    assert_eq!(free, ["breakaway", "twin"]);
    let said = purchase.said(&book);
    let said: Vec<String> = said.iter().map(|said| said.text(System::Us)).collect();
    assert_eq!(said[0], "to buy: 1 piece of fifteen-sixteenths, 620 USD");
}

#[test]
fn limits_that_cannot_be_kept_say_what_to_relax() {
    let mut comparison = whole_carry();
    comparison.limits.kinds = Some(2);
    let Err(error) = choose(&demo(), &comparison, &Quiet) else {
        panic!("two kinds cannot do for hose of two sizes");
    };
    let ChooseError::Nothing { message, mend, .. } = &error else {
        panic!("{error:?}");
    };
    assert!(mend.contains("allow 4 kinds"), "{message}: {mend}");
    let mut comparison = whole_carry();
    comparison.limits.flow = Some(stated(Kind::Flow, "250 gpm"));
    let Err(ChooseError::Nothing {
        message, excluded, ..
    }) = choose(&demo(), &comparison, &Quiet)
    else {
        panic!("no such flow can be had");
    };
    assert!(message.contains("no way to equip line"), "{message}");
    assert!(
        excluded
            .iter()
            .any(|excluded| excluded.limit == Limit::Flow)
    );
}

#[test]
fn the_same_on_one_thread_and_on_several() {
    let comparison = whole_carry();
    let on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        let chosen = pool.unwrap().install(|| chosen(&comparison));
        let told =
            |choice: &Choice| format!("{:?}{:?}{:?}", choice.on, choice.measured, choice.to_change);
        chosen.choices.iter().map(told).collect::<Vec<_>>()
    };
    assert_eq!(on(1), on(3));
}

/// The demo's file: one pump pressure for every preconnect of a pumper, one hose and two
/// nozzles at most.
#[test]
fn law_the_demos_whole_carry_is_what_solve_gives() {
    let book = demo();
    let file = include_bytes!("../../../books/saltmarsh-bend-whole-carry.toml");
    let comparison = book::comparison::read_for(file, "whole-carry.toml", &book).unwrap();
    let chosen = choose(&book, &comparison, &Quiet).unwrap_or_else(|error| panic!("{error}"));
    assert!(
        chosen
            .notices
            .iter()
            .all(|notice| notice.code != "not_everything")
    );
    let first = &chosen.choices[0];
    for said in first
        .why
        .iter()
        .chain(&first.against)
        .chain(&first.to_change)
    {
        println!("  {}", said.text(System::Us));
    }
    assert!(kinds(&first.on) <= 3, "{:?}", first.on);
    let pump = first.pump_pressure.unwrap();
    for (on, result) in first.on.iter().zip(&first.results) {
        assert_eq!(on.pump_pressure, pump);
        let answer = solve(&book, &on.line, &conditions_of(&book, on).unwrap()).unwrap();
        let tip = &answer.tips[0];
        assert!(close(tip.flow.value, result.flow.value));
        assert!(tip.reaction <= book.crew_limits()[2]);
        assert!(tip.flow.value >= 120.0 * 6.309_019e-5);
        assert!(close(tip.tip_pressure.value, result.tip_pressure.value));
    }
}
