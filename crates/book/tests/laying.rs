//! A line laid out is the line in the book, and each change changes what it says.

#![allow(clippy::unwrap_used, clippy::panic)]

use book::{
    Added, Book, Change, Conditions, Layout, LayoutError, Opened, PartKind, Path, Which, layout,
    read,
};
use hydraulics::nozzle::{Regime, Regulator};
use hydraulics::units::{Kind, Length, Measure, Pressure, Ratio, parse};

fn psi(value: f64) -> Pressure {
    parse(Kind::Pressure, &format!("{value} psi")).unwrap()
}

fn feet(value: f64) -> Length {
    parse(Kind::Length, &format!("{value} ft")).unwrap()
}

fn path(text: &str) -> Path {
    text.parse().unwrap()
}

fn demo() -> Book {
    read(include_bytes!("../../../books/saltmarsh-bend.toml"), "demo").unwrap()
}

fn at(pressure: f64) -> Conditions {
    Conditions {
        pump_pressure: Some(psi(pressure)),
        ..Conditions::default()
    }
}

fn changed(pressure: f64, place: &str, change: Change) -> Conditions {
    let mut conditions = at(pressure);
    conditions.changes.insert(path(place), change);
    conditions
}

/// Flow of each tip in gpm.
fn flows(layout: &Layout) -> Vec<f64> {
    let answer = lay::solve(&layout.lay);
    assert_eq!(answer.stopped, lay::Stopped::Converged);
    let gpm = |si: f64| si * 60_000.0 / 3.785_411_784;
    layout
        .tips
        .iter()
        .map(|t| gpm(answer.flow(t.part).value))
        .collect()
}

fn tip_flow(line: &str, conditions: &Conditions) -> f64 {
    flows(&layout(&demo(), line, conditions).unwrap())[0]
}

#[test]
fn book_two_legs_of_2_5_in_hose_have_c_0_5() {
    // Case CO-05 (seen): two parallel 2.5 in lines, C 0.5.
    let text = "[book]\nname = \"x\"\n[hose.twin]\nsize = \"2.5 in\"\ncoefficient = 0.5\n\
        [line.legs]\nparts = [{ legs = [[{ hose = \"2.5 in\", length = 300 }], [{ hose = \"2.5 in\", length = 300 }]] }, { appliance = \"siamese 2.5 in\" }, { nozzle = \"1-1/8 in smooth bore\" }]\n\
        [line.twin]\nparts = [{ hose = \"twin\", length = 300 }, { appliance = \"siamese 2.5 in\" }, { nozzle = \"1-1/8 in smooth bore\" }]\n";
    let book = read(text.as_bytes(), "x").unwrap();
    let flow = |line| flows(&layout(&book, line, &at(120.0)).unwrap())[0];
    assert!((flow("legs") / flow("twin") - 1.0).abs() < 1e-4);
}

#[test]
fn parts_and_tips_keep_their_place_in_the_book() {
    let layout = layout(&demo(), "apartment", &at(150.0)).unwrap();
    let listed: Vec<String> = layout
        .parts
        .iter()
        .map(|p| format!("{}: {} {}", p.path, p.kind.word(), p.name))
        .collect();
    assert_eq!(
        listed,
        [
            "part 1: hose supply",
            "part 2: appliance gated wye 2.5 to 1.5 in",
            "part 2, outlet 1: gate gated wye 2.5 to 1.5 in",
            "part 2, outlet 2: gate gated wye 2.5 to 1.5 in",
            "part 3, branch 1, part 1: hose attack",
            "part 3, branch 1, part 2: nozzle twin",
            "part 3, branch 2, part 1: hose attack",
            "part 3, branch 2, part 2: nozzle fifteen-sixteenths",
        ]
    );
    let [first, second] = layout.tips.as_slice() else {
        panic!()
    };
    assert_eq!(first.setting.as_deref(), Some("low"));
    assert!((first.height - feet(20.0)).value.abs() < 1e-9);
    // The tip's own aim comes before the line's.
    assert_ne!(first.aim, second.aim);
    // The rise lies in the hose, so that the pressure at the inlet is the tip's.
    let inlet = layout.lay.height(first.inlet);
    assert!((inlet - first.height).value.abs() < 1e-9);
}

#[test]
fn a_measured_coefficient_is_used_and_named() {
    let with = |which| {
        let conditions = Conditions { which, ..at(150.0) };
        let layout = layout(&demo(), "right-crosslay", &conditions).unwrap();
        let used = layout.parts[0].used.clone().unwrap();
        (
            used.text(Default::default()),
            used.measured,
            flows(&layout)[0],
        )
    };
    let (text, measured, best) = with(Which::Best);
    assert_eq!((text.as_str(), measured), ("C 14.2", true));
    let (text, measured, published) = with(Which::Published);
    assert_eq!((text.as_str(), measured), ("C 15.5", false));
    let (_, _, low) = with(Which::PublishedLow);
    assert!(published < best && best < low);
}

#[test]
fn each_change_moves_the_flow_its_way() {
    let plain = tip_flow("right-crosslay", &at(150.0));
    let share = |value| Some(Ratio::of_si(value));
    let less = [
        (
            "part 1",
            Change {
                kink: share(0.7),
                ..Change::default()
            },
        ),
        (
            "part 1",
            Change {
                extra_length: Some(feet(100.0)),
                ..Change::default()
            },
        ),
        (
            "part 1",
            Change {
                extra_rise: Some(feet(30.0)),
                ..Change::default()
            },
        ),
        (
            "part 2",
            Change {
                extra_rise: Some(feet(30.0)),
                ..Change::default()
            },
        ),
        (
            "part 2",
            Change {
                gate: share(0.5),
                ..Change::default()
            },
        ),
        (
            "part 2",
            Change {
                screen_blocked: share(0.6),
                ..Change::default()
            },
        ),
        (
            "part 2",
            Change {
                nozzle: Some("3/4 in smooth bore".into()),
                ..Change::default()
            },
        ),
        (
            "pump outlet",
            Change {
                gate: share(0.3),
                ..Change::default()
            },
        ),
    ];
    for (place, change) in less {
        let flow = tip_flow("right-crosslay", &changed(150.0, place, change.clone()));
        assert!(
            flow < plain - 1.0,
            "{place}: {change:?}: {flow} against {plain}"
        );
    }
    let wider = Change {
        hose: Some("2 in".into()),
        ..Change::default()
    };
    assert!(tip_flow("right-crosslay", &changed(150.0, "part 1", wider)) > plain + 1.0);
    let shut = Change {
        gate: share(0.0),
        ..Change::default()
    };
    assert_eq!(
        tip_flow("right-crosslay", &changed(150.0, "part 2", shut)),
        0.0
    );
}

#[test]
fn an_automatic_nozzle_changes_with_setting_and_regulator() {
    let plain = tip_flow("left-crosslay", &at(150.0));
    let low = Change {
        setting: Some("low".into()),
        ..Change::default()
    };
    assert!(tip_flow("left-crosslay", &changed(150.0, "part 2", low)) > plain);
    let flush = Change {
        regulator: Some(Regulator::Flush),
        ..Change::default()
    };
    assert!(tip_flow("left-crosslay", &changed(150.0, "part 2", flush)) > plain);
    let band = |regulator| {
        let conditions = Conditions {
            regulator,
            ..at(150.0)
        };
        tip_flow("left-crosslay", &conditions)
    };
    assert!(band(Regulator::Opening) < plain && plain < band(Regulator::Closing));
    let layout = layout(&demo(), "left-crosslay", &at(150.0)).unwrap();
    let answer = lay::solve(&layout.lay);
    let tip = &layout.tips[0];
    assert_eq!(
        tip.tip.nozzle.regime(answer.flow(tip.part)),
        Some(Regime::In)
    );
}

#[test]
fn a_gate_on_one_outlet_favours_the_other_branch() {
    let flows_at =
        |conditions: &Conditions| flows(&layout(&demo(), "apartment", conditions).unwrap());
    let open = flows_at(&at(120.0));
    let change = Change {
        gate: Some(Ratio::of_si(0.3)),
        ..Change::default()
    };
    let gated = flows_at(&changed(120.0, "part 2, outlet 2", change));
    assert!(gated[1] < open[1] && gated[0] > open[0]);
}

#[test]
fn hose_is_added_behind_a_shut_off_where_the_tip_unscrews() {
    let added = Change {
        added: Some(Added {
            hose: "attack".into(),
            length: feet(100.0),
        }),
        gate: Some(Ratio::of_si(0.8)),
        ..Change::default()
    };
    let kinds = |line: &str| {
        let layout = layout(&demo(), line, &changed(150.0, "part 2", added.clone())).unwrap();
        assert!(layout.parts.iter().filter(|p| p.added).count() == 1);
        assert!(flows(&layout)[0] < tip_flow(line, &at(150.0)));
        let gated = layout.tips[0].tip.shutoff.is_some();
        (
            layout.parts.iter().map(|p| p.kind).collect::<Vec<_>>(),
            gated,
        )
    };
    use PartKind::{Hose, Nozzle, Shutoff};
    assert_eq!(
        kinds("rear-crosslay"),
        (vec![Hose, Shutoff, Hose, Nozzle], false)
    );
    assert_eq!(kinds("right-crosslay"), (vec![Hose, Hose, Nozzle], true));
}

#[test]
fn law_a_line_extended_in_the_book_is_the_line_extended_by_a_change() {
    let mut change = Change {
        added: Some(Added {
            hose: "attack".into(),
            length: feet(100.0),
        }),
        ..Change::default()
    };
    change.nozzle = None;
    let mut book = demo();
    // The same tip at the end of the extension in both.
    let line = &mut book.line["rear-crosslay-extended"];
    let book::Part::Nozzle(tip) = &mut line.parts[3] else {
        panic!()
    };
    tip.nozzle = "breakaway".into();
    tip.setting = None;
    tip.tip_only = true;
    let written = flows(&layout(&book, "rear-crosslay-extended", &at(150.0)).unwrap());
    let asked = flows(&layout(&book, "rear-crosslay", &changed(150.0, "part 2", change)).unwrap());
    assert!((written[0] - asked[0]).abs() < 1e-6);
}

#[test]
fn law_lines_on_one_pump_held_at_its_pressure_do_not_disturb_each_other() {
    let mut conditions = at(150.0);
    conditions.also.push(Opened {
        line: "right-crosslay".into(),
        ..Opened::default()
    });
    let both = layout(&demo(), "left-crosslay", &conditions).unwrap();
    assert_eq!(both.tips[1].line, "right-crosslay");
    let both = flows(&both);
    assert!((both[0] - tip_flow("left-crosslay", &at(150.0))).abs() < 1e-6);
    assert!((both[1] - tip_flow("right-crosslay", &at(150.0))).abs() < 1e-6);
}

#[test]
fn what_the_book_lacks_is_named() {
    let fails =
        |line: &str, conditions: Conditions| layout(&demo(), line, &conditions).unwrap_err();
    let error = fails("left-croslay", at(1.0));
    assert_eq!(
        error.to_string(),
        "the book has no line \"left-croslay\"; did you mean \"left-crosslay\"?"
    );
    let gate = Change {
        gate: Some(Ratio::of_si(0.5)),
        ..Change::default()
    };
    for place in ["part 7", "part 2, outlet 1", "part 3"] {
        let error = fails("left-crosslay", changed(1.0, place, gate.clone()));
        assert!(matches!(error, LayoutError::NoPart { .. }), "{error}");
    }
    // A master tip has no shut-off to gate.
    let error = fails("monitor", changed(1.0, "part 3", gate));
    assert!(matches!(error, LayoutError::NoPart { .. }), "{error}");
    let setting = Change {
        setting: Some("medium".into()),
        ..Change::default()
    };
    let error = fails("left-crosslay", changed(1.0, "part 2", setting));
    assert!(
        error.to_string().contains("its settings are high, low"),
        "{error}"
    );
    let hose = Change {
        hose: Some("rope".into()),
        ..Change::default()
    };
    assert!(matches!(
        fails("large", changed(1.0, "part 1", hose)),
        LayoutError::NoItem { .. }
    ));
    let shorter = Change {
        extra_length: Some(feet(-900.0)),
        ..Change::default()
    };
    let error = fails("large", changed(1.0, "part 1", shorter));
    assert!(
        error.to_string().contains("length must not be below zero"),
        "{error}"
    );
    let mut conditions = at(1.0);
    conditions.also.push(Opened {
        line: "large".into(),
        ..Opened::default()
    });
    assert!(matches!(
        fails("left-crosslay", conditions),
        LayoutError::OtherRig { .. }
    ));
}

#[test]
fn law_a_pump_pressure_is_asked_for_or_the_books() {
    let mut book = demo();
    let supply = |book: &Book, conditions: &Conditions| {
        let layout = layout(book, "large", conditions).unwrap();
        lay::solve(&layout.lay).pressure(layout.supply).unwrap()
    };
    assert_eq!(supply(&book, &Conditions::default()).value, 0.0);
    book.line["large"].pump_pressure =
        Some(book::Stated::read(Kind::Pressure, "110 psi", Default::default()).unwrap());
    assert!(
        (supply(&book, &Conditions::default()) - psi(110.0))
            .value
            .abs()
            < 1e-6
    );
    assert!((supply(&book, &at(90.0)) - psi(90.0)).value.abs() < 1e-6);
}

#[test]
fn a_measured_nozzle_is_laid_and_its_rating_when_asked_for() {
    let text = b"[book]\nname = \"x\"\n[nozzle.fog]\nkind = \"fixed\"\nflow = \"150 gpm\"\npressure = \"50 psi\"\nmeasured = { flow = \"140 gpm\", uncertainty = \"4 gpm\", date = \"2026-05-11\", source = \"own test\" }\n[line.a]\nparts = [{ hose = \"1.75 in\", length = \"1 ft\" }, { nozzle = \"fog\" }]\n";
    let book = book::read(text, "x").unwrap_or_else(|e| panic!("{e:?}"));
    let flow = |which, rated| {
        let conditions = Conditions {
            pump_pressure: Some(hydraulics::units::psi(50.0)),
            which,
            rated,
            ..Conditions::default()
        };
        let laid = layout(&book, "a", &conditions).unwrap();
        let answer = lay::solve(&laid.lay);
        let tip = &laid.tips[0];
        (
            answer.flow(tip.part).value / 6.309_019_64e-5,
            tip.used.clone(),
        )
    };
    // A foot of hose takes next to nothing.
    let (best, used) = flow(book::Which::Best, false);
    assert!((best - 140.0).abs() < 1.0, "{best}");
    assert_eq!(
        (used.why, used.source.as_str()),
        ("measured on this nozzle", "own test, 2026-05-11")
    );
    for (which, rated) in [
        (book::Which::Published, false),
        (book::Which::PublishedLow, true),
    ] {
        let (flow, used) = flow(which, rated);
        assert!((flow - 150.0).abs() < 1.0, "{flow}");
        assert!(!used.measured && used.both);
    }
    assert!(flow(book::Which::PublishedHigh, false).1.measured);
}

#[test]
fn a_scene_pumps_by_the_test_of_the_pump_and_by_its_rating_when_asked_for() {
    let text = b"[book]\nname = \"x\"\n[rig.a]\npump = \"1000 gpm\"\npump_points = [{ flow = 400, pressure = 240 }, { flow = 900, pressure = 150 }]\ntank = \"500 gal\"\n[line.l]\nrig = \"a\"\nparts = [{ hose = \"1.75 in\", length = \"100 ft\" }, { nozzle = \"150 gpm at 50 psi\" }]\n[scene.s.rig.a]\nintake = [{ tank = true }]\npump_pressure = \"120 psi\"\nlines = [{ line = \"l\" }]\n";
    let book = book::read(text, "x").unwrap_or_else(|e| panic!("{e:?}"));
    let used = |which| {
        let conditions = book::SceneConditions {
            which,
            ..book::SceneConditions::default()
        };
        book::scene(&book, "s", &conditions).unwrap().rigs[0]
            .used
            .clone()
    };
    let best = used(book::Which::Best);
    assert!(best.measured && best.both && best.pump.points().len() == 2);
    let rated = used(book::Which::Published);
    assert!(!rated.measured && rated.pump.points().len() == 3);
}
