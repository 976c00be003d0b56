//! Questions asked of the demo department, and laws that every answer keeps.
//! The demo is invented; where its numbers repeat printed ones, the source is
//! named.
#![allow(clippy::unwrap_used)]

use book::{Book, Conditions, Path, Which};
use hydraulics::units::{Kind, Length, Measure, Pressure, Ratio, System, figure, parse};
use study::WhatIf;
use study::answer::{Basis, LineAnswer};

fn demo() -> Book {
    let bytes = include_bytes!("../../../books/saltmarsh-bend.toml");
    book::read(bytes, "saltmarsh-bend.toml").unwrap()
}

fn of(text: &str) -> Book {
    book::read(text.as_bytes(), "test.toml").unwrap()
}

fn solve(line: &str) -> LineAnswer {
    study::solve(&demo(), line, &Conditions::default()).unwrap()
}

fn psi(pressure: Pressure) -> f64 {
    figure(Kind::Pressure, pressure, System::Us)
}

fn gpm(flow: hydraulics::units::VolumeRate) -> f64 {
    figure(Kind::Flow, flow, System::Us)
}

fn codes(answer: &LineAnswer) -> Vec<&'static str> {
    answer.notices.iter().map(|n| n.code).collect()
}

#[test]
fn book_wye_of_equal_legs() {
    // Case PDP-WYE-01 (driver/operator lesson, Rohnert Park, seen): 200 ft of 2.5
    // in (C 2) at 300 gpm, two legs of 150 ft of 1.75 in (C 10) at 150 gpm: 70 psi
    // of hose loss, nozzle pressure not included.
    let book = of(r#"
        [book]
        name = "Wye"
        [hose.supply]
        size = "2.5 in"
        coefficient = 2
        [hose.attack]
        size = "1.75 in"
        coefficient = 10
        [nozzle.tip]
        kind = "fixed"
        flow = "150 gpm"
        pressure = "100 psi"
        [line.wye]
        parts = [
          { hose = "supply", length = "200 ft" },
          { branches = [
            [{ hose = "attack", length = "150 ft" }, { nozzle = "tip" }],
            [{ hose = "attack", length = "150 ft" }, { nozzle = "tip" }],
          ] },
        ]
        aim = { flow = "150 gpm" }
    "#);
    let answer = study::solve(&book, "wye", &Conditions::default()).unwrap();
    assert!((psi(answer.pump_pressure) - 100.0 - 70.0).abs() < 0.5);
    assert!(answer.gating.is_none());
}

#[test]
fn field_measured_coefficient_of_a_line() {
    // Case FL-U-09 (fire apparatus magazine, seen): 200 ft of 1.75 in, 7/8 in tip
    // at 50 psi, 161 gpm, 49 psi measured: C 9.5.
    let book = of(r#"
        [book]
        name = "Measured"
        [hose.attack]
        size = "1.75 in"
        coefficient = 15.5
        measured = { coefficient = 9.45, date = "2013-09-01", source = "case FL-U-09" }
        [nozzle.tip]
        kind = "smooth-bore"
        bore = "7/8 in"
        [line.one]
        parts = [{ hose = "attack", length = "200 ft" }, { nozzle = "tip" }]
        aim = { tip_pressure = "50 psi" }
    "#);
    let answer = study::solve(&book, "one", &Conditions::default()).unwrap();
    assert!((gpm(answer.flow) - 161.0).abs() < 0.5);
    assert!((psi(answer.pump_pressure) - 99.0).abs() < 0.5);
    assert!(answer.coefficients[0].used.measured);
    let published = Conditions {
        which: Which::Published,
        ..Default::default()
    };
    let answer = study::solve(&book, "one", &published).unwrap();
    assert!(!answer.coefficients[0].used.measured);
    assert!(psi(answer.pump_pressure) > 125.0);
}

#[test]
fn law_every_demo_line_meets_its_aim_and_converges() {
    let book = demo();
    assert!(book.line.len() >= 9 && book.rig.len() == 3);
    // One line shows what must not be done: an eductor with too much hose past it.
    for line in book.line.keys().filter(|line| *line != "foam-too-long") {
        let answer = solve(line);
        assert!(answer.converged, "{line}");
        assert!(
            answer.tips.iter().all(|t| t.aim_met == Some(true)),
            "{line}"
        );
        assert!(
            !answer.coefficients.is_empty(),
            "{line} names no coefficient"
        );
        assert!(matches!(
            answer.basis,
            Basis::Aim { .. } | Basis::Eductor { .. }
        ));
    }
}

#[test]
fn law_gating_as_advised_gives_every_tip_its_aim() {
    let (book, plain) = (demo(), solve("apartment"));
    let gating = plain.gating.unwrap();
    assert!(gating.pump_pressure < plain.pump_pressure);
    let mut conditions = Conditions {
        pump_pressure: Some(gating.pump_pressure),
        ..Default::default()
    };
    // The gated wye's first outlet serves the first branch.
    let outlet: Path = "part 2, outlet 1".parse().unwrap();
    conditions.changes.entry(outlet).or_default().gate = gating.gates[0].gate;
    let gated = study::solve(&book, "apartment", &conditions).unwrap();
    assert!(
        (gpm(gated.tips[0].flow) - 150.0).abs() < 0.2,
        "{}",
        gpm(gated.tips[0].flow)
    );
    assert!((psi(gated.tips[1].tip_pressure) - 50.0).abs() < 0.2);
}

#[test]
fn law_gating_an_automatic_nozzle_keeps_its_pressure() {
    let book = demo();
    let tip: Path = "part 2".parse().unwrap();
    let gate = WhatIf::Gate(tip, Ratio::of_si(0.4));
    let compared = study::what_if(&book, "left-crosslay", &Conditions::default(), &[gate]).unwrap();
    let (before, after) = (&compared.before.tips[0], &compared.after.tips[0]);
    assert!(gpm(after.flow) < 0.85 * gpm(before.flow));
    assert!((psi(after.tip_pressure) - psi(before.tip_pressure)).abs() < 8.0);
}

#[test]
fn law_a_second_line_on_the_same_pump_changes_nothing_at_a_held_pressure() {
    let second = WhatIf::SecondLine("right-crosslay".into());
    let compared =
        study::what_if(&demo(), "left-crosslay", &Conditions::default(), &[second]).unwrap();
    assert_eq!(compared.after.tips.len(), 2);
    let (before, after) = (&compared.before.tips[0], &compared.after.tips[0]);
    assert!((gpm(before.flow) - gpm(after.flow)).abs() < 1e-6);
}

#[test]
fn law_what_ifs_move_the_right_way() {
    let at = |text: &str| text.parse::<Path>().unwrap();
    let share = Ratio::of_si;
    let worse = [
        WhatIf::PumpOff(parse(Kind::Pressure, "-15 psi").unwrap()),
        WhatIf::Gate(at("part 2"), share(0.5)),
        WhatIf::Kink(at("part 1"), share(0.6)),
        WhatIf::Screen(at("part 2"), share(0.6)),
        WhatIf::Rise(at("part 2"), parse(Kind::Length, "30 ft").unwrap()),
    ];
    for change in worse {
        let compared = study::what_if(
            &demo(),
            "left-crosslay",
            &Conditions::default(),
            std::slice::from_ref(&change),
        )
        .unwrap();
        assert!(compared.after.flow < compared.before.flow, "{change:?}");
    }
    let low = WhatIf::Setting(at("part 2"), "low".into());
    let compared =
        study::what_if(&demo(), "left-crosslay", &Conditions::default(), &[low]).unwrap();
    assert!(compared.after.flow > compared.before.flow);
}

#[test]
fn law_extending_at_the_same_flow_adds_the_friction_of_the_hose() {
    let book = demo();
    let by: Length = parse(Kind::Length, "100 ft").unwrap();
    let extended = study::extend(
        &book,
        "rear-crosslay",
        None,
        ("attack", by),
        &Conditions::default(),
    )
    .unwrap();
    let more = psi(extended.same_flow.pump_pressure) - psi(extended.before.pump_pressure);
    assert!((more - 14.2 * 1.5 * 1.5).abs() < 1e-6, "{more}");
    assert!(extended.same_pressure.flow < extended.before.flow);
    assert!(extended.leaves_shutoff && extended.adapters.is_empty() && !extended.fit_unknown);
    let other = study::extend(
        &book,
        "rear-crosslay",
        None,
        ("large", by),
        &Conditions::default(),
    )
    .unwrap();
    assert_eq!(other.adapters.len(), 2, "{:?}", other.adapters);
}

#[test]
fn law_the_longest_hose_takes_just_the_ceiling() {
    let ceiling: Pressure = parse(Kind::Pressure, "175 psi").unwrap();
    let found = study::longest(&demo(), "right-crosslay", &Conditions::default(), ceiling).unwrap();
    assert!((psi(found.pump_pressure) - 175.0).abs() < 1e-3);
    let feet = figure(Kind::Length, found.length, System::Us);
    assert!(feet > 200.0 && feet < 300.0);
    let smallest = study::smallest(&demo(), "large", &Conditions::default(), ceiling)
        .unwrap()
        .unwrap();
    assert!(smallest.pump_pressure <= ceiling);
}

#[test]
fn regress_a_chart_gives_no_pressure_where_an_eductor_stops_drawing() {
    let book = demo();
    let foam = study::solve(&book, "foam", &Conditions::default()).unwrap();
    let longest = foam.eductors[0].longest_past.unwrap();
    let by = |more: f64| longest + Length::of_si(more);
    let lengths = [by(-15.0), by(-1.0), by(1.0), by(15.0)];
    let level = [Length::of_si(0.0)];
    let chart = study::chart(&book, "foam", &Conditions::default(), &lengths, &level).unwrap();
    let given = chart.tables[0].rows.iter();
    let given: Vec<bool> = given.map(|row| row[0].pump_pressure.is_some()).collect();
    assert_eq!(given, [true, true, false, false]);
}

#[test]
fn law_the_chart_agrees_with_solve() {
    let (book, line) = (demo(), "left-crosslay");
    let lengths = ["150 ft", "200 ft"].map(|t| parse(Kind::Length, t).unwrap());
    let rises = ["0 ft", "20 ft"].map(|t| parse(Kind::Length, t).unwrap());
    let chart = study::chart(&book, line, &Conditions::default(), &lengths, &rises).unwrap();
    assert_eq!(chart.tables.len(), 2);
    let cell = chart.tables[0].rows[1][0].pump_pressure.unwrap();
    assert!((cell - solve(line).pump_pressure).value.abs() < 1.0);
    let lifted = chart.tables[0].rows[1][1].pump_pressure.unwrap();
    assert!((psi(lifted - cell) - 20.0 * 0.433).abs() < 0.05);
}

#[test]
fn notices_name_the_limit_that_is_passed() {
    let at = |text: &str| Conditions {
        pump_pressure: Some(parse(Kind::Pressure, text).unwrap()),
        ..Default::default()
    };
    let high = study::solve(&demo(), "left-crosslay", &at("300 psi")).unwrap();
    let list = codes(&high);
    for code in [
        "pump_ceiling",
        "above_service_pressure",
        "above_range",
        "reaction_over_aim",
    ] {
        assert!(list.contains(&code), "{code} is missing from {list:?}");
    }
    let low = study::solve(&demo(), "left-crosslay", &at("60 psi")).unwrap();
    assert!(codes(&low).contains(&"below_range") && codes(&low).contains(&"aim_missed"));
    let dry = study::solve(&demo(), "standpipe", &at("10 psi")).unwrap();
    assert!(codes(&dry).contains(&"dry_tip"));
    let mut shut = at("100 psi");
    shut.changes
        .entry("part 2".parse().unwrap())
        .or_default()
        .gate = Some(Ratio::of_si(0.0));
    let shut = study::solve(&demo(), "right-crosslay", &shut).unwrap();
    assert!(codes(&shut).contains(&"tip_shut") && shut.flow.value == 0.0);
}

#[test]
fn law_both_systems_tell_the_same() {
    let answer = solve("left-crosslay");
    let number = |json: serde_json::Value| json["tips"][0]["flow"]["value"].as_f64().unwrap();
    let (us, si) = (
        number(answer.json(System::Us)),
        number(answer.json(System::Si)),
    );
    assert!((us * 3.785_411_784 - si).abs() < 1e-3);
    assert_eq!(
        answer.json(System::Us).to_string(),
        solve("left-crosslay").json(System::Us).to_string()
    );
}
