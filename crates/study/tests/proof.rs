//! A flow-test day: reduced against a book; a bad gauge found; what a plan foretold.
#![allow(clippy::unwrap_used, clippy::panic, clippy::print_stdout)]

mod proof_day;

use hydraulics::units::{Kind, System};
use proof_day::{Asked, Chance, csv, day, demo, hose, nozzle, offsets, shipped, tests, truth};
use study::proof::{
    AcceptError, Accepting, Day, Find, Found, Leave, LeftOut, Place, Proof, Proved, Subject, Wish,
    accept, effects, plan, prove, prove_with, read_day, subjects_of,
};
use study::reduce::Verdict;

#[test]
fn book_the_printed_measured_line_through_a_file() {
    let book = book::read(b"[book]\nname = 'Example'\n", "example.toml").unwrap();
    let us = "test,date,flow (gpm),inlet (psi),outlet (psi),length (ft)\n\
        hose 1.75 in,2026-05-11,161,99,50,200\n";
    // The same in metric units: 161 gpm, 49 psi, 200 ft.
    let si = "test,date,flow (L/min),inlet (bar),outlet (bar),length (m)\n\
        hose 1.75 in,2026-05-11,609.45,6.8258,3.4474,60.96\n";
    for csv in [us, si] {
        let day = read_day(csv.as_bytes(), "day.csv", &book, None)
            .unwrap()
            .day;
        let proved = prove(&book, &day);
        let c = &proved.proofs[0].found[0];
        // Printed: C 9.5 (case FL-U-09).
        assert!((c.value.number(System::Us) - 9.5).abs() <= 0.051, "{c:?}");
    }
}

/// The shipped file's text.
fn file() -> String {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../books/saltmarsh-bend-test-day.csv"
    );
    if std::env::var_os("WRITE_TEST_DAY").is_some() {
        std::fs::write(path, csv(&shipped())).unwrap();
    }
    std::fs::read_to_string(path).unwrap()
}

#[test]
fn the_shipped_day_is_what_the_simulation_makes() {
    assert_eq!(file(), csv(&shipped()));
    let taken = read_day(file().as_bytes(), "day.csv", &demo(), None).unwrap();
    assert_eq!(taken.problems, []);
    assert_eq!(taken.rows, taken.taken);
}

fn proved(leave: &Leave) -> Proved {
    let day = read_day(file().as_bytes(), "day.csv", &demo(), None)
        .unwrap()
        .day;
    prove_with(&demo(), &day, leave)
}

fn of<'a>(proved: &'a Proved, subject: &str) -> &'a Proof {
    let mut proofs = proved.proofs.iter();
    proofs.find(|p| p.subject.to_string() == subject).unwrap()
}

fn holds(found: &Found, truth: f64) {
    let [low, high] = found.between.map(|end| end.number(System::Us));
    assert!(
        low <= truth && truth <= high,
        "{} is {truth}, found {low} to {high}",
        found.name
    );
}

/// Evidence: the simulation's own invented truth.
#[test]
fn law_the_bad_gauge_of_the_shipped_day_is_found_and_without_it_the_truth_comes_out() {
    let plain = proved(&Leave::default());
    let [suspect] = plain.suspects.as_slice() else {
        panic!("{:?}", plain.suspects);
    };
    assert_eq!(suspect.gauges, ["line-gauge-1"]);
    let [_, low, high] = suspect.off.map(|f| f.value(System::Us));
    // 12 psi, give or take the 3 psi within which the gauge was anyway.
    assert!(low < 12.0 && 12.0 < high + 3.0, "{low} to {high} psi");
    let touched = of(&plain, "hose attack");
    assert_eq!(touched.notices[0].code, "gauge_suspect");
    // What the bad gauge made of the flow of the tip is wrong.
    let rated = &of(&plain, "nozzle breakaway").found[1];
    assert!(rated.between[1].number(System::Us) < 141.0, "{rated:?}");
    let corrected = proved(&Leave {
        gauges: vec!["line-gauge-1".into()],
        ..Leave::default()
    });
    let truths = [
        ("hose attack", 0, 13.6),
        ("hose large", 0, 1.85),
        ("nozzle fifteen-sixteenths", 0, 0.97),
        ("nozzle twin: high", 1, 96.0),
        ("nozzle twin: high", 3, 109.0),
        ("nozzle twin: low", 1, 47.0),
        ("nozzle twin: low", 3, 58.0),
        ("nozzle breakaway", 1, 141.0),
        ("hydrant mill-street", 0, 70.0),
        ("pump pumper-1", 0, 266.0),
        ("pump pumper-1", 1, 217.0),
        ("pump pumper-1", 2, 164.0),
    ];
    for (subject, at, truth) in truths {
        holds(&of(&corrected, subject).found[at], truth);
    }
    let verdict = |subject| of(&corrected, subject).verdict();
    assert_eq!(verdict("nozzle twin: high"), Some(Verdict::Pass));
    assert_eq!(verdict("pump pumper-1"), Some(Verdict::Pass));
}

/// How many of `days` simulated days have a suspect that is the bad gauge, how many have
/// it alone, and how many name a gauge where all are sound.
fn rates(gauge: &'static str, psi: f64, days: u64) -> [u32; 3] {
    let (book, truth) = (demo(), truth());
    let smooth = |asked: &Asked| !asked.subject.to_string().contains("twin");
    let tests: Vec<Asked> = tests().into_iter().filter(smooth).collect();
    let off = Kind::Pressure.unit(System::Us).to_si(psi);
    let (mut alarms, mut found, mut named) = (0, 0, 0);
    for seed in 0..days {
        let mut chance = Chance::new(seed);
        let sound = offsets(&book, &mut chance, &[]);
        let sound = day(&book, &truth, &tests, &sound, &mut chance);
        alarms += u32::from(!prove(&book, &sound).suspects.is_empty());
        let bad = offsets(&book, &mut chance, &[(gauge, off)]);
        let bad = day(&book, &truth, &tests, &bad, &mut chance);
        let suspects = prove(&book, &bad).suspects;
        let first = suspects
            .first()
            .map(|s| s.gauges.as_slice())
            .unwrap_or_default();
        found += u32::from(first.iter().any(|g| g == gauge));
        named += u32::from(first == [gauge.to_string()]);
    }
    println!("{gauge} {psi} psi: found {found}, alone {named}, false {alarms} of {days}");
    [found, named, alarms]
}

#[test]
fn law_bad_gauges_are_found_and_sound_ones_left_alone() {
    let days = 40;
    let cases = [
        // Comes out: found on 40, 39 and 23 of 40 days, alone on 39, 39 and 21; no sound
        // gauge named on 120. 8 psi is not much on a gauge that may be off by 3.
        ("line-gauge-1", 12.0, 0.95, 0.9),
        ("line-gauge-2", -12.0, 0.9, 0.9),
        ("line-gauge-2", 8.0, 0.5, 0.45),
    ];
    for (gauge, psi, least_found, least_named) in cases {
        let [found, named, alarms] = rates(gauge, psi, days);
        assert!(
            f64::from(found) >= least_found * days as f64,
            "{gauge}: {found}"
        );
        assert!(
            f64::from(named) >= least_named * days as f64,
            "{gauge}: {named}"
        );
        // One day in a hundred is the level.
        assert!(alarms <= 1, "{gauge}: {alarms} false alarms");
    }
}

#[test]
fn law_simulated_days_have_the_truth_within_their_intervals() {
    let (book, truth) = (demo(), truth());
    let mut asked = [Asked {
        subject: hose("attack"),
        gauges: vec![
            (Place::Flow, "flow-meter"),
            (Place::Inlet, "line-gauge-1"),
            (Place::Outlet, "line-gauge-2"),
        ],
        repeats: 2,
    }];
    let wish = Wish {
        gauges: asked[0]
            .gauges
            .iter()
            .map(|(p, g)| (*p, g.to_string()))
            .collect(),
        share: 0.001,
        most_repeats: 2,
        ..Wish::default()
    };
    let planned = plan(&truth, &[hose("attack")], &wish).unwrap();
    asked[0].repeats = planned.items[0].repeats;
    let foretold = planned.items[0].expected[0].half.number(System::Us) / 1.96;
    let (mut inside, mut squares, days) = (0, 0.0, 300);
    for seed in 0..days {
        let mut chance = Chance::new(1000 + seed);
        let off = offsets(&book, &mut chance, &[]);
        let day = day(&book, &truth, &asked, &off, &mut chance);
        let found = prove(&book, &day).proofs[0].found[0].clone();
        let [low, high] = found.between.map(|end| end.number(System::Us));
        inside += u32::from(low <= 13.6 && 13.6 <= high);
        squares += (found.value.number(System::Us) - 13.6).powi(2);
    }
    let scatter = (squares / f64::from(days as u32)).sqrt();
    println!("inside {inside} of {days}, scatter {scatter:.3}, foretold {foretold:.3}");
    // Offsets that lie evenly within the accuracy are kinder than the normal errors that
    // the interval counts with, so that it holds the truth a little more often.
    assert!(inside >= 282, "{inside} of {days}");
    // Planned by a book that has the truth. The scatter of 300 days is known to 4 %, and
    // the plan takes the law straight over what the gauges are off by.
    assert!(
        (scatter / foretold - 1.0).abs() < 0.12,
        "{scatter} against {foretold}"
    );
}

#[test]
fn a_plan_says_when_no_repeats_help_and_which_gauge_stands_in_the_way() {
    let book = demo();
    let subjects = subjects_of(&book, "left-crosslay").unwrap();
    assert_eq!(subjects, [hose("attack"), nozzle("twin", Some("high"))]);
    let easy = Wish {
        share: 0.2,
        ..Wish::default()
    };
    let easy = &plan(&book, &subjects[..1], &easy).unwrap().items[0];
    assert!(easy.expected[0].reached && easy.repeats == 1, "{easy:?}");
    let hard = Wish {
        share: 0.005,
        ..Wish::default()
    };
    let hard = &plan(&book, &subjects[..1], &hard).unwrap().items[0];
    let c = &hard.expected[0];
    assert!(!c.reached && c.floor > 0.005, "{c:?}");
    let notice = hard
        .notices
        .iter()
        .find(|n| n.code == "gauge_too_wide")
        .unwrap();
    assert!(book.gauge.contains_key(&notice.place), "{notice:?}");
    // Points: shut, then flows that span those of the lines.
    assert_eq!(easy.points[0].steer.1.value(System::Us), 0.0);
    let flows: Vec<f64> = easy
        .points
        .iter()
        .map(|p| p.steer.1.value(System::Us))
        .collect();
    assert!(flows.windows(2).all(|w| w[0] < w[1]), "{flows:?}");
    let unknown = Wish {
        gauges: [(Place::Inlet, "none".to_string())].into(),
        ..Wish::default()
    };
    let error = plan(&book, &subjects[..1], &unknown).unwrap_err();
    assert!(error.to_string().contains("no gauge \"none\""), "{error}");
}

#[test]
fn every_kind_of_test_can_be_planned_and_the_plan_reduced() {
    let book = demo();
    let subjects = [
        hose("attack"),
        Subject::Hose {
            hose: "large".into(),
            find: Find::Exponent,
        },
        nozzle("twin", Some("low")),
        nozzle("bumper", Some("95 gpm")),
        nozzle("fifteen-sixteenths", None),
        Subject::Pump {
            rig: "pumper-1".into(),
        },
        Subject::Hydrant {
            hydrant: "harbour-square".into(),
        },
        Subject::Service {
            hose: "attack".into(),
        },
    ];
    let plan = plan(&book, &subjects, &Wish::default()).unwrap();
    for item in &plan.items {
        assert!(!item.expected.is_empty(), "{} expects nothing", item.title);
        for value in &item.expected {
            assert!(value.share.is_finite(), "{}: {value:?}", item.title);
        }
        for system in [System::Us, System::Si] {
            let json = item.object(system).to_string();
            assert!(!json.contains("NaN"), "{json}");
        }
    }
}

fn accepting<'a>(proved: &'a Proved, corrected: &'a [String]) -> Accepting<'a> {
    Accepting {
        source: "own flow test (invented)".into(),
        go_on: false,
        suspects: &proved.suspects,
        corrected,
    }
}

#[test]
fn what_was_found_stands_beside_the_published_value_and_lines_change() {
    let book = demo();
    let gauges = ["line-gauge-1".to_string()];
    let corrected = proved(&Leave {
        gauges: gauges.to_vec(),
        ..Leave::default()
    });
    let how = accepting(&corrected, &gauges);
    let after = accept(&book, of(&corrected, "hose attack"), &how).unwrap();
    let item = &after.hose["attack"];
    assert_eq!(item.friction, book.hose["attack"].friction);
    let measured = item.measured.as_ref().unwrap();
    assert_eq!(measured.date.as_deref(), Some("2026-09-19"));
    assert!(measured.uncertainty.is_some());
    let source = measured.source.as_deref().unwrap();
    assert!(
        source.contains("readings of line-gauge-1 corrected"),
        "{source}"
    );
    let effects = effects(&book, &after);
    let left = effects.iter().find(|e| e.line == "left-crosslay").unwrap();
    assert!(
        left.words(System::Us)
            .starts_with("left-crosslay: pump pressure")
    );
    assert!(effects.iter().all(|e| e.line != "large"), "{effects:?}");
    // Everything that has a place goes in, and the file is read as it was meant.
    let mut all = book.clone();
    for proof in corrected.proofs.iter().filter(|p| p.has_a_place()) {
        all = accept(&all, proof, &how).unwrap();
    }
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../books/saltmarsh-bend.toml"
    );
    let text = std::fs::read_to_string(path).unwrap();
    let amended = book::amend(&text, &book, &all);
    assert_eq!(book::read(amended.as_bytes(), "new.toml").unwrap(), all);
    assert!(amended.contains("# Saltmarsh Bend Fire and Rescue does not exist."));
    assert_eq!(all.rig["pumper-1"].pump_points.len(), 3);
    assert_eq!(all.nozzle["twin"].measured.len(), 2);
}

#[test]
fn what_must_not_go_into_the_book_is_refused_with_its_reason() {
    let book = demo();
    let plain = proved(&Leave::default());
    let how = accepting(&plain, &[]);
    let refused = accept(&book, of(&plain, "hose attack"), &how).unwrap_err();
    assert!(matches!(refused, AcceptError::Suspect { .. }), "{refused}");
    let all_the_same = Accepting {
        go_on: true,
        ..how.clone()
    };
    assert!(accept(&book, of(&plain, "hose attack"), &all_the_same).is_ok());
    let how = Accepting::default();
    let reduce = |csv: &str| {
        let day = read_day(csv.as_bytes(), "day.csv", &book, None)
            .unwrap()
            .day;
        prove(&book, &day).proofs.remove(0)
    };
    let head = "test,date,flow (gpm),inlet (psi),outlet (psi),length (ft),gauge\n";
    let exponent = reduce(&format!(
        "{head}hose exponent attack,2026-05-11,100,82,50,200,\n\
         hose exponent attack,2026-05-11,150,118,50,200,\n\
         hose exponent attack,2026-05-11,200,172,50,200,\n"
    ));
    assert_eq!(exponent.found.len(), 2);
    let refused = accept(&book, &exponent, &how).unwrap_err().to_string();
    assert!(
        refused.contains("lines are worked out by the coefficient C"),
        "{refused}"
    );
    // A trickle loses less than the gauges can tell.
    let trickle = reduce(
        "test,date,flow (gpm),inlet (psi),outlet (psi),length (ft),inlet gauge,outlet gauge\n\
         hose attack,2026-05-11,30,52,50,200,line-gauge-1,line-gauge-2\n\
         hose attack,2026-05-11,40,56,50,200,line-gauge-1,line-gauge-2\n",
    );
    let refused = accept(&book, &trickle, &how).unwrap_err();
    assert!(
        matches!(refused, AcceptError::ProvesNothing { .. }),
        "{refused}"
    );
    let service =
        reduce("test,date,held (psi),held for (min)\nservice test attack,2026-05-11,300,5\n");
    assert_eq!(service.bounds.len(), 2);
    let refused = accept(&book, &service, &how).unwrap_err().to_string();
    assert!(refused.contains("goes into the records"), "{refused}");
    let empty = reduce(&format!("{head}hose attack,2026-05-11,0,50,50,200,\n"));
    assert!(empty.found.is_empty());
    let refused = accept(&book, &empty, &how).unwrap_err();
    assert!(matches!(refused, AcceptError::Nothing { .. }), "{refused}");
}

#[test]
fn an_outlier_is_named_counted_and_left_out_only_when_told() {
    let book = demo();
    let mut csv = String::from("test,date,flow (gpm),inlet (psi),outlet (psi),length (ft)\n");
    for (flow, loss) in [
        (100, 28),
        (120, 41),
        (140, 56),
        (160, 73),
        (180, 92),
        (200, 144),
    ] {
        csv.push_str(&format!(
            "hose attack,2026-05-11,{flow},{},50,200\n",
            50 + loss
        ));
    }
    let day: Day = read_day(csv.as_bytes(), "day.csv", &book, None)
        .unwrap()
        .day;
    let with = &prove(&book, &day).proofs[0];
    assert!(with.points[5].stands_out && with.points[5].left_out.is_none());
    let notice = with
        .notices
        .iter()
        .find(|n| n.code == "stands_out")
        .unwrap();
    assert!(notice.place.starts_with("point 6"), "{notice:?}");
    assert!(notice.mend.contains("without it"), "{notice:?}");
    let leave = Leave {
        points: vec![LeftOut {
            subject: hose("attack"),
            point: 6,
            why: "needle stuck".into(),
        }],
        gauges: Vec::new(),
    };
    let without = &prove_with(&book, &day, &leave).proofs[0];
    assert_eq!(without.points[5].left_out.as_deref(), Some("needle stuck"));
    assert!((without.found[0].value.number(System::Us) - 14.2).abs() < 0.1);
    assert!(with.found[0].value.number(System::Us) > 15.0);
}

#[test]
fn old_and_unknown_calibrations_are_told() {
    let book = demo();
    let day = |date: &str| {
        let csv = format!(
            "test,date,flow (gpm),nozzle (psi),flow gauge,nozzle gauge\n\
             nozzle breakaway,{date},150,50,flow-meter,pump-panel\n\
             nozzle breakaway,,120,32,,\n"
        );
        let day = read_day(csv.as_bytes(), "day.csv", &book, None)
            .unwrap()
            .day;
        let notices = prove(&book, &day).proofs[0].notices.clone();
        notices.iter().map(|n| n.code).collect::<Vec<_>>()
    };
    assert!(!day("2026-05-11").contains(&"calibration_old"));
    assert!(day("2027-05-11").contains(&"calibration_old"));
    assert!(day("2026-05-11").contains(&"calibration_unknown"));
    assert!(day("2026-01-11").contains(&"calibration_after"));
}

#[test]
fn flows_by_pitot_find_what_flows_by_meter_find() {
    let book = demo();
    let tip = book
        .nozzle("fifteen-sixteenths")
        .unwrap()
        .item
        .at(None)
        .unwrap();
    let (mut metered, mut pitot) = (String::new(), String::new());
    for psi in [35.0, 45.0, 55.0, 65.0] {
        let flow = tip.flow(hydraulics::units::psi(psi));
        let flow = hydraulics::units::figure(Kind::Flow, flow, System::Us);
        let loss = 14.0 * (flow / 100.0).powi(2) * 2.0;
        metered.push_str(&format!(
            "hose attack,2026-05-11,{flow:.3},,,{:.2},50.00,200\n",
            50.0 + loss
        ));
        pitot.push_str(&format!(
            "hose attack,2026-05-11,,{psi:.1},fifteen-sixteenths,{:.2},50.00,200\n",
            50.0 + loss
        ));
    }
    let found = |rows: &str| {
        let head =
            "test,date,flow (gpm),pitot (psi),pitot tip,inlet (psi),outlet (psi),length (ft)\n";
        let csv = format!("{head}{rows}");
        let day = read_day(csv.as_bytes(), "day.csv", &book, None)
            .unwrap()
            .day;
        prove(&book, &day).proofs.remove(0)
    };
    let (metered, pitot) = (found(&metered), found(&pitot));
    let value = |proof: &Proof| proof.found[0].value.number(System::Us);
    assert!((value(&metered) - 14.0).abs() < 0.01, "{}", value(&metered));
    assert!((value(&pitot) - 14.0).abs() < 0.01, "{}", value(&pitot));
    // The tip's coefficient is known to a per cent, and C goes with its square.
    let half = |proof: &Proof| {
        let [low, high] = proof.found[0].between.map(|end| end.number(System::Us));
        (high - low) / 2.0 / value(proof)
    };
    assert!((0.01..0.03).contains(&half(&pitot)), "{}", half(&pitot));
    // Drawn along the flow, in either case.
    let along = |proof: &Proof| proof.drawn.as_ref().unwrap().points[3].x[0];
    assert!((along(&metered) / along(&pitot) - 1.0).abs() < 1e-3);
}

#[test]
fn a_pitot_below_nought_is_told_by_its_point_and_not_used() {
    let book = demo();
    // What a needle may show beside its stop; a file with less is refused by its row.
    let csv = "test,date,flow (gpm),pitot (psi),pitot tip,inlet (psi),outlet (psi),length (ft)\n\
        hose attack,2026-05-11,,45,fifteen-sixteenths,132,50,200\n\
        hose attack,2026-05-11,,-0.5,fifteen-sixteenths,132,50,200\n\
        hose attack,2026-05-11,,55,fifteen-sixteenths,150,50,200\n";
    let day = read_day(csv.as_bytes(), "day.csv", &book, None)
        .unwrap()
        .day;
    let proof = prove(&book, &day).proofs.remove(0);
    assert_eq!(proof.found.len(), 1);
    let mut notices = proof.notices.iter();
    let told = notices.find(|n| n.code == "point_incomplete").unwrap();
    assert_eq!(told.place, "point 2");
    assert!(told.text.contains("below nought"), "{told:?}");
}

#[test]
fn a_pump_tested_at_one_point_of_its_rating_is_found_there() {
    let book = demo();
    let csv = "test,date,flow (gpm),intake (psi),discharge (psi)\n\
        pump pumper-1,2026-05-11,1250,20,184\npump pumper-1,2026-05-11,1250,20,186\n";
    let day = read_day(csv.as_bytes(), "day.csv", &book, None)
        .unwrap()
        .day;
    let proof = prove(&book, &day).proofs.remove(0);
    let [net] = proof.found.as_slice() else {
        panic!("{:?}", proof.notices);
    };
    assert!(net.name.contains("1250 gpm"), "{}", net.name);
    assert!((net.value.number(System::Us) - 165.0).abs() < 0.1);
}
