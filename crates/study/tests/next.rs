//! What happens next to a line, said before it is chosen.
#![allow(clippy::unwrap_used, clippy::panic)]

use book::{Added, Book, Conditions, Path};
use hydraulics::units::{Kind, Length, Measure, Pressure, Ratio, System, figure, parse};
use study::notice::Weight;
use study::{Changed, Gain, Next, WhatIf, what_next};

const SYSTEMS: [System; 2] = [System::Us, System::Si];

fn demo() -> Book {
    let bytes = include_bytes!("../../../books/saltmarsh-bend.toml");
    book::read(bytes, "saltmarsh-bend.toml").unwrap()
}

/// One line of 1.75 in hose at C 15.5 with a fixed nozzle of 150 gpm, off one rig.
fn plain(more: &str) -> Book {
    let text = format!(
        r#"
[book]
name = "Plain"
[rig.front]
pump = "1000 gpm"
[hose.attack]
size = "1.75 in"
coefficient = 15.5
[nozzle.tip]
kind = "fixed"
flow = "150 gpm"
pressure = "100 psi"
[line.left]
rig = "front"
parts = [{{ hose = "attack", length = "200 ft" }}, {{ nozzle = "tip" }}]
aim = {{ flow = "150 gpm" }}
{more}
"#
    );
    book::read(text.as_bytes(), "plain.toml").unwrap()
}

fn next(book: &Book, line: &str, conditions: &Conditions) -> Vec<Next> {
    what_next(book, line, conditions, System::Us).unwrap()
}

fn the<'a>(list: &'a [Next], code: &str) -> &'a Next {
    let found = list.iter().find(|next| next.code == code);
    found.unwrap_or_else(|| panic!("no {code}"))
}

fn gain<'a>(next: &'a Next, name: &str) -> &'a Gain {
    let found = next.figures.iter().find(|gain| gain.name == name);
    found.unwrap_or_else(|| panic!("no {name} in {next:#?}"))
}

/// The figures before and after, in the units of `system`.
fn both(next: &Next, name: &str, system: System) -> (f64, f64) {
    let gain = gain(next, name).json(system);
    let number = |of: &str| gain[of]["value"].as_f64().unwrap();
    (number("before"), number("after"))
}

#[test]
fn book_fifty_and_a_hundred_feet_of_attack_hose_take_what_the_print_says() {
    // Case SRC-01 of friction_us.csv (pump-operator exam notes, seen): 200 ft of
    // 1.75 in at C 15.5 and 150 gpm take 69.75 psi; so 50 ft take a quarter of it,
    // 17.4 psi, and 100 ft a half.
    let list = next(&plain(""), "left", &Conditions::default());
    let name = "pump pressure for the same flow";
    for (next, title, takes) in [
        (&list[0], "50 ft more hose at the tip", 17.4375),
        (&list[1], "100 ft more hose at the tip", 34.875),
    ] {
        assert_eq!(next.title, title);
        let (before, after) = both(next, name, System::Us);
        assert!((before - 169.75).abs() < 0.01, "{before}");
        assert!((after - before - takes).abs() < 0.01, "{after}");
        let (before, after) = both(next, "flow at the same pump pressure", System::Us);
        // With the square law: 150 sqrt(169.75 / (169.75 + takes)).
        let expected = 150.0 * (169.75 / (169.75 + takes)).sqrt();
        assert!((before - 150.0).abs() < 0.01 && (after - expected).abs() < 0.05);
    }
}

#[test]
fn law_a_lower_pump_pressure_goes_by_the_root() {
    let list = next(&plain(""), "left", &Conditions::default());
    let lower = the(&list, "pump_lower");
    assert_eq!(lower.title, "The pump 20 psi lower");
    let (before, after) = both(lower, "flow", System::Us);
    let expected = before * (149.75_f64 / 169.75).sqrt();
    assert!((after - expected).abs() < 0.05, "{after}");
    // The aim is missed now, and was not.
    assert!(lower.notices.iter().any(|n| n.code == "aim_missed"));
}

#[test]
fn law_the_change_gives_what_was_said_once_it_is_made() {
    let book = demo();
    for line in book.line.keys() {
        let now = Conditions::default();
        let held = study::solve(&book, line, &now).unwrap().pump_pressure;
        for next in next(&book, line, &now) {
            let Some(change) = &next.change else { continue };
            let Some(then) = change.conditions(&now, held) else {
                assert_eq!(next.code, "hydrant_weaker");
                continue;
            };
            let answer = study::solve(&book, line, &then).unwrap();
            let said = match next.code {
                "extend" => gain(&next, "flow at the same pump pressure").after,
                "second_line" => continue,
                _ => gain(&next, "flow").after,
            };
            let place = if next.code == "extend" {
                next.place.clone()
            } else {
                answer.tips[0].place.clone()
            };
            let tip = answer.tips.iter().find(|t| t.place == place).unwrap();
            let got = study::figure::flow(tip.flow);
            let off = said.less(&got).json(System::Us)["value"].as_f64().unwrap();
            assert!(off.abs() < 1e-3, "{line}, {}: {off}", next.title);
        }
    }
}

#[test]
fn every_demo_line_has_every_item_in_both_systems() {
    let book = demo();
    for system in SYSTEMS {
        for line in book.line.keys() {
            let list = what_next(&book, line, &Conditions::default(), system).unwrap();
            for code in [
                "extend",
                "kink",
                "screen",
                "pump_lower",
                "second_line",
                "hydrant_weaker",
            ] {
                let next = the(&list, code);
                assert_eq!(
                    next.refused.is_some(),
                    next.figures.is_empty(),
                    "{line} {code}"
                );
                assert_eq!(
                    next.refused.is_some(),
                    next.change.is_none(),
                    "{line} {code}"
                );
                let heavy = |n: &study::notice::Notice| n.weight > Weight::Remark;
                assert!(next.notices.iter().all(heavy), "{line} {code}");
                let said = next.json(system).to_string();
                assert!(
                    !said.contains("null,\"unit") && !said.contains("NaN"),
                    "{line}: {said}"
                );
                if code != "hydrant_weaker" {
                    assert_eq!(next.refused, None, "{line} {code}");
                }
            }
        }
    }
    let si = what_next(&book, "left-crosslay", &Conditions::default(), System::Si).unwrap();
    assert_eq!(si[0].title, "15 m more hose at the tip");
    assert_eq!(the(&si, "pump_lower").title, "The pump 1.5 bar lower");
}

#[test]
fn a_line_of_several_tips_is_extended_at_the_first_and_at_the_worst() {
    let book = demo();
    let list = next(&book, "apartment", &Conditions::default());
    let extends: Vec<&Next> = list.iter().filter(|n| n.code == "extend").collect();
    let worst = match study::solve(&book, "apartment", &Conditions::default())
        .unwrap()
        .basis
    {
        study::answer::Basis::Aim { worst } => worst,
        other => panic!("{other:?}"),
    };
    let first = "part 3, branch 1, part 2";
    let expected = if worst == first { 2 } else { 4 };
    assert_eq!(extends.len(), expected);
    assert_eq!(extends[0].place, first);
    assert!(extends.iter().any(|next| next.place == worst));
    // The hose at the end of the branch, not the supply line.
    assert!(matches!(&extends[0].change, Some(Changed::Added(_, added)) if added.hose == "attack"));
    let kink = the(&list, "kink");
    assert_eq!(kink.place, "part 3, branch 1, part 1");
    assert_eq!(kink.figures.len(), 4);
}

#[test]
fn regress_hose_added_twice_adds_up() {
    // A second extension took the place of the first.
    let (book, by) = (plain(""), Length::of_si(15.24));
    let tip: Path = "part 2".parse().unwrap();
    let mut once = Conditions {
        pump_pressure: Some(parse(Kind::Pressure, "169.75 psi").unwrap()),
        ..Default::default()
    };
    once.changes.entry(tip.clone()).or_default().added = Some(Added {
        hose: "attack".into(),
        length: by,
    });
    let list = next(&book, "left", &once);
    let Some(Changed::Added(path, added)) = &list[0].change else {
        panic!("{:?}", list[0])
    };
    assert_eq!(*path, tip);
    assert!((added.length.value - 30.48).abs() < 1e-9);
    // 300 ft in all: 250 and 50, by the square law from 100 psi for 150 gpm.
    let (_, after) = both(&list[0], "flow at the same pump pressure", System::Us);
    let expected = 150.0 * (169.75_f64 / (100.0 + 34.875 * 3.0)).sqrt();
    assert!((after - expected).abs() < 0.05, "{after} {expected}");
    let other = study::extend(&book, "left", None, ("2.5 in", by), &once).unwrap_err();
    assert!(other.to_string().contains("was added at part 2 already"));
}

#[test]
fn what_is_there_already_can_be_taken_away() {
    let (book, now) = (plain(""), Conditions::default());
    let list = next(&book, "left", &now);
    let held = study::solve(&book, "left", &now).unwrap().pump_pressure;
    for code in ["kink", "screen"] {
        let bad = the(&list, code);
        let (clean, worse) = both(bad, "flow", System::Us);
        assert!(worse < clean - 0.1, "{code}: {worse}");
        let then = bad.change.as_ref().unwrap().conditions(&now, held).unwrap();
        let back = next(&book, "left", &then);
        let back = the(&back, code);
        let (before, after) = both(back, "flow", System::Us);
        assert!(
            (before - worse).abs() < 1e-3 && (after - clean).abs() < 1e-3,
            "{code}"
        );
    }
}

#[test]
fn law_a_second_line_takes_from_the_first_when_the_throttle_is_left() {
    // The pump's curve falls from 1.25 of its rated net to its rated net at its
    // rated flow, 1,000 gpm at 150 psi: 37.5 psi x (Q / 1000)^2 below no flow, at
    // any speed. Two like lines thus have what is left of 169.75 psi and what the
    // pump gave up: p = 169.75 + 37.5 (0.15^2 - 4 x 0.15^2 p / 169.75).
    let list = next(&plain(""), "left", &Conditions::default());
    let second = the(&list, "second_line");
    assert_eq!(second.change, Some(Changed::Second("left".into())));
    let left = "without a governor, throttle left as it was, tank water";
    let named = |what: &str| format!("{left}: {what}");
    let (before, after) = both(second, &named("pump pressure"), System::Us);
    let fall = 37.5 * 0.15 * 0.15;
    let expected = (169.75 + fall) / (1.0 + 4.0 * fall / 169.75);
    assert!((before - 169.75).abs() < 0.01);
    // The tank's pipe takes a little as well.
    assert!(
        after < expected + 0.01 && after > expected - 5.0,
        "{after} {expected}"
    );
    let flow = both(second, &named("flow"), System::Us);
    assert!((flow.1 - 150.0 * (after / 169.75).sqrt()).abs() < 0.05);
    let new = gain(second, &named("flow of the second line"));
    assert!(new.before.is_none());
    assert!(second.words[1].contains("throttle left as it was"));
}

#[test]
fn regress_a_second_line_says_first_what_choosing_it_gives() {
    for (book, line) in [(plain(""), "left"), (demo(), "left-crosslay")] {
        let now = study::solve(&book, line, &Conditions::default()).unwrap();
        let list = next(&book, line, &Conditions::default());
        let second = the(&list, "second_line");
        let change = second.change.as_ref().unwrap();
        let chosen = change.conditions(&Conditions::default(), now.pump_pressure);
        let chosen = study::solve(&book, line, &chosen.unwrap()).unwrap();
        let wanted = [
            figure(Kind::Flow, chosen.tips[0].flow, System::Us),
            figure(Kind::Pressure, chosen.tips[0].tip_pressure, System::Us),
            figure(Kind::Pressure, chosen.pump_pressure, System::Us),
        ];
        for (gain, wanted) in second.figures.iter().zip(wanted) {
            assert!(gain.name.starts_with("with a governor holding pressure: "));
            let after = gain.json(System::Us)["after"]["value"].as_f64().unwrap();
            assert!(
                (after - wanted).abs() < 0.1,
                "{} {after} {wanted}",
                gain.name
            );
        }
        let rest = second.figures.iter().skip(3);
        let named = |gain: &Gain| gain.name.starts_with("without a governor, throttle left");
        assert!(rest.clone().count() > 3 && rest.clone().all(named));
    }
}

#[test]
fn regress_a_kink_is_straightened_before_the_pump_is_raised() {
    let list = next(&plain(""), "left", &Conditions::default());
    let kink = the(&list, "kink");
    assert!(kink.words[0].contains("straighten the kink first"));
    let missed = kink.notices.iter().find(|n| n.code == "aim_missed");
    let mend = &missed.unwrap().mend;
    assert!(
        mend.starts_with("first find and straighten the kink"),
        "{mend}"
    );
    assert!(kink.notices.iter().any(|n| n.code == "kinked"));
    for notice in &kink.notices {
        assert!(!notice.mend.starts_with("raise"), "{}", notice.mend);
    }
}

#[test]
fn regress_no_pump_pressure_is_shown_for_an_eductor_that_stops_drawing() {
    // As much hose as lets it just draw; 100 ft more and it does not.
    let of = |length: u32| {
        let text = format!(
            "[book]\nname = 'x'\n[hose.attack]\nsize = '1.75 in'\ncoefficient = 15.5\n\
             [nozzle.tip]\nkind = 'fixed'\nflow = '95 gpm'\npressure = '100 psi'\n\
             [appliance.foam]\nkind = 'eductor'\nflow = '95 gpm'\ninlet_pressure = '200 psi'\n\
             [line.left]\nparts = [{{ appliance = 'foam', ratio = '3 %' }}, \
             {{ hose = 'attack', length = '{length} ft' }}, {{ nozzle = 'tip' }}]\n"
        );
        book::read(text.as_bytes(), "x").unwrap_or_else(|e| panic!("{e:?}"))
    };
    let draws = |length| {
        let answer = study::solve(&of(length), "left", &Conditions::default()).unwrap();
        answer.eductors[0].draws
    };
    let longest = (1..40).map(|n| 25 * n).filter(|&n| draws(n)).max().unwrap();
    let book = of(longest);
    let list = next(&book, "left", &Conditions::default());
    let far = &list[1];
    let name = "pump pressure for the same flow";
    assert!(far.title.starts_with("100 ft more"));
    assert!(far.figures.iter().all(|gain| gain.name != name));
    assert!(far.words.iter().any(|w| w.contains("draws no concentrate")));
    assert!(
        far.notices
            .iter()
            .any(|n| n.code == "eductor_does_not_draw")
    );
    // Where it draws on, the pressure is there.
    let short = next(&of(25), "left", &Conditions::default());
    assert_eq!(gain(&short[1], name).name, name);
    let answer = study::solve(&book, "left", &Conditions::default()).unwrap();
    let near = answer
        .notices
        .iter()
        .find(|n| n.code == "eductor_near_its_end");
    let numbers: Vec<&str> = near.unwrap().numbers.iter().map(|(n, _)| *n).collect();
    assert_eq!(numbers, ["outlet", "at most"]);
    let answer = study::solve(&of(25), "left", &Conditions::default()).unwrap();
    assert!(
        answer
            .notices
            .iter()
            .all(|n| n.code != "eductor_near_its_end")
    );
}

#[test]
fn a_tank_that_cannot_feed_two_lines_is_said() {
    let list = next(&demo(), "apartment", &Conditions::default());
    let second = the(&list, "second_line");
    let (before, after) = both(
        second,
        "without a governor, throttle left as it was, tank water: intake pressure",
        System::Us,
    );
    assert!(after < before);
    assert!(second.words.iter().any(|w| w.contains("good for 500 gpm")));
    let list = next(&demo(), "left-crosslay", &Conditions::default());
    let words = &the(&list, "second_line").words;
    assert!(!words.iter().any(|w| w.contains("good for")), "{words:?}");
}

#[test]
fn the_second_line_is_another_of_the_same_rig_that_is_not_open() {
    let book = demo();
    let mut now = Conditions::default();
    let second = |list: &[Next]| match &the(list, "second_line").change {
        Some(Changed::Second(line)) => line.clone(),
        other => panic!("{other:?}"),
    };
    assert_eq!(
        second(&next(&book, "left-crosslay", &now)),
        "right-crosslay"
    );
    now.also.push(book::Opened {
        line: "right-crosslay".into(),
        ..Default::default()
    });
    let third = next(&book, "left-crosslay", &now);
    assert_eq!(second(&third), "rear-crosslay");
    let two = the(&third, "second_line");
    assert_eq!(two.refused, None);
    let left = "without a governor, throttle left as it was, tank water: flow";
    let (before, after) = both(two, left, System::Us);
    assert!(after < before);
}

#[test]
fn a_weaker_hydrant_needs_a_scene_with_one() {
    let book = demo();
    let none = "no scene of the book brings this line water from a hydrant";
    for (line, scene) in [
        ("left-crosslay", Some("mill-street")),
        ("high-rise-pack", Some("harbour-tower")),
        ("foam", Some("spill")),
        // Only a draft, and no scene at all.
        ("large", None),
        ("bumper", None),
    ] {
        let list = next(&book, line, &Conditions::default());
        let weaker = the(&list, "hydrant_weaker");
        match (scene, &weaker.change) {
            (
                Some(scene),
                Some(Changed::Hydrants {
                    scene: found,
                    share,
                }),
            ) => {
                assert_eq!((found.as_str(), *share), (scene, Ratio::of_si(0.6)));
                let (before, after) = both(weaker, "intake pressure", System::Us);
                assert!(after <= before, "{line}");
            }
            (None, None) => assert_eq!(weaker.refused.as_deref(), Some(none), "{line}"),
            other => panic!("{line}: {other:?}"),
        }
    }
}

#[test]
fn what_cannot_be_said_says_why() {
    let book = plain(
        "[line.alone]\nparts = [{ hose = \"attack\", length = \"100 ft\" }, { nozzle = \"tip\" }]\n\
         [line.bare]\nrig = \"front\"\nparts = [{ nozzle = \"tip\" }]",
    );
    let now = Conditions::default();
    let alone = next(&book, "alone", &now);
    let why = the(&alone, "second_line").refused.clone().unwrap();
    assert!(why.contains("off which rig"), "{why}");
    let bare = next(&book, "bare", &now);
    for code in ["extend", "kink"] {
        assert!(
            the(&bare, code)
                .refused
                .as_ref()
                .unwrap()
                .contains("no hose")
        );
    }
    assert_eq!(the(&bare, "pump_lower").refused, None);
    let mut off = Conditions {
        pump_pressure: Some(Pressure::of_si(0.0)),
        ..Default::default()
    };
    let dry = next(&book, "left", &off);
    assert!(
        the(&dry, "pump_lower")
            .refused
            .as_ref()
            .unwrap()
            .contains("no pressure")
    );
    off.changes
        .entry("part 9".parse().unwrap())
        .or_default()
        .kink = Some(Ratio::of_si(0.1));
    assert!(what_next(&book, "left", &off, System::Us).is_err());
}

#[test]
fn a_shut_tip_is_not_asked_what_it_would_do() {
    let book = demo();
    let shut = |place: &str, now: &mut Conditions| {
        let change = now.changes.entry(place.parse().unwrap()).or_default();
        change.gate = Some(Ratio::of_si(0.0));
    };
    let mut now = Conditions::default();
    shut("part 2", &mut now);
    for next in next(&book, "left-crosslay", &now) {
        assert!(next.refused.is_some(), "{}", next.title);
    }
    let mut one = Conditions::default();
    shut("part 3, branch 1, part 2", &mut one);
    let list = next(&book, "apartment", &one);
    let extends = list.iter().filter(|next| next.code == "extend");
    for extend in extends {
        assert_eq!(extend.place, "part 3, branch 2, part 2");
        assert_eq!(extend.refused, None);
    }
    let all = [WhatIf::Kink("part 1".parse().unwrap(), Ratio::of_si(0.4))];
    assert!(study::what_if(&book, "apartment", &one, &all).is_ok());
}
