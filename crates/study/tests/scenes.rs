//! Whole scenes: the demo's, and small ones that have no physical answer or pass
//! a limit. Each must say so at the place, with the number.
#![allow(clippy::unwrap_used, clippy::panic)]

use book::{Book, Feeds, Outlet, SceneConditions};
use hydraulics::units::{Kind, Measure, Ratio, System, VolumeRate, psi, show};
use study::notice::Notice;
use study::{SceneAnswer, solve_scene, what_if_scene};

fn demo() -> Book {
    let bytes = include_bytes!("../../../books/saltmarsh-bend.toml");
    book::read(bytes, "saltmarsh-bend.toml").unwrap()
}

/// A small book, what every one of these scenes needs beside `more`.
fn small(more: &str) -> Book {
    let text = format!(
        r#"
[book]
name = "Example"
pump_ceiling = "250 psi"
[rig.front]
pump = "1000 gpm"
tank = "500 gal"
concentrate = "10 gal"
[rig.back]
pump = "1000 gpm"
[hydrant.good]
static = "70 psi"
residual = "60 psi"
flow = "1000 gpm"
[hydrant.weak]
static = "50 psi"
residual = "25 psi"
flow = "300 gpm"
[line.large]
parts = [{{ hose = "2.5 in", length = "200 ft" }}, {{ nozzle = "1-1/8 in smooth bore" }}]
[line.blitz]
parts = [{{ hose = "3 in, 2.5 in couplings", length = "200 ft" }}, {{ nozzle = "1-3/8 in smooth bore" }}]
{more}
"#
    );
    match book::read(text.as_bytes(), "small.toml") {
        Ok(book) => book,
        Err(problems) => panic!("{problems:?}"),
    }
}

fn answer(book: &Book) -> SceneAnswer {
    let name = book.scene.keys().next().unwrap();
    solve_scene(book, name, &SceneConditions::default()).unwrap()
}

fn notice<'a>(answer: &'a SceneAnswer, code: &str) -> &'a Notice {
    let found = answer.notices.iter().find(|n| n.code == code);
    found.unwrap_or_else(|| panic!("no {code} in {:#?}", answer.notices))
}

fn us(kind: Kind, value: impl Measure) -> String {
    show(kind, value, System::Us)
}

#[test]
fn law_every_demo_scene_converges_and_keeps_what_flows() {
    let book = demo();
    assert!(book.scene.len() >= 4);
    for name in book.scene.keys() {
        let answer = solve_scene(&book, name, &SceneConditions::default()).unwrap();
        assert!(answer.converged, "{name}");
        let sum = |flows: &mut dyn Iterator<Item = VolumeRate>| {
            flows.fold(VolumeRate::of_si(0.0), |a, b| a + b)
        };
        let out = sum(&mut answer.tips.iter().map(|t| t.flow));
        let from = sum(&mut answer.sources.iter().map(|s| s.flow));
        assert!((out - from).value.abs() < 1e-9, "{name}");
        let used: Vec<f64> = answer.limits.iter().map(|l| l.used).collect();
        assert!(used.windows(2).all(|two| two[0] >= two[1]), "{name}");
        for system in [System::Us, System::Si] {
            let json = answer.json(system).to_string();
            assert!(json.contains("\"limits\""), "{name}");
        }
    }
}

#[test]
fn law_the_relay_keeps_its_residual_and_every_aim_is_met() {
    let answer = solve_scene(&demo(), "mill-street", &SceneConditions::default()).unwrap();
    assert!(answer.tips.iter().all(|t| t.aim_met == Some(true)));
    let fed = answer.rigs.iter().find(|r| r.name == "pumper-1").unwrap();
    assert_eq!(us(Kind::Pressure, fed.intake), "20 psi");
    assert!(answer.limits.iter().all(|l| !l.passed()));
    // The wyed line and the monitor need less than the crosslay: they are gated.
    let gated = fed.outlets.iter().filter(|o| o.gated).count();
    assert_eq!(gated, 2);
    assert!(answer.relays[0].longest.unwrap() > answer.relays[0].length);
}

#[test]
fn law_a_change_leaves_the_other_pumps_and_outlets_as_they_were() {
    let book = demo();
    let mut change = SceneConditions::default();
    let outlet = Outlet {
        rig: "pumper-1".into(),
        feeds: Feeds::Line("left-crosslay".into()),
    };
    change.outlets.insert(outlet, Ratio::of_si(0.3));
    let plain = SceneConditions::default();
    let compared = what_if_scene(&book, "mill-street", &plain, &change).unwrap();
    let flow = |answer: &SceneAnswer, line: &str| {
        let tip = answer.tips.iter().find(|t| t.line == line).unwrap();
        tip.flow
    };
    let (before, after) = (&compared.before, &compared.after);
    assert!(flow(after, "left-crosslay") < flow(before, "left-crosslay"));
    let change = flow(after, "monitor") - flow(before, "monitor");
    assert!(change.value.abs() < 1e-4);
    for (old, new) in before.rigs.iter().zip(&after.rigs) {
        assert_eq!(old.setting, new.setting);
    }
    // A weaker main lets every intake fall.
    let weaker = SceneConditions {
        hydrants: Some(Ratio::of_si(0.5)),
        ..Default::default()
    };
    let compared = what_if_scene(&book, "mill-street", &plain, &weaker).unwrap();
    assert!(compared.after.rigs[0].intake < compared.before.rigs[0].intake);
}

#[test]
fn law_a_regulating_outlet_holds_at_and_above_its_setting_only() {
    let book = demo();
    let at = |pressure: f64| {
        let mut conditions = SceneConditions::default();
        conditions
            .pump_pressure
            .insert("pumper-2".into(), psi(pressure));
        solve_scene(&book, "harbour-tower", &conditions).unwrap()
    };
    let low = at(90.0);
    assert!(!low.standpipes[0].floors[0].regulates);
    let below = low.standpipes[0].floors[0].pressure;
    assert!(below < psi(65.0));
    notice(&low, "valve_below_setting");
    for pressure in [160.0, 200.0] {
        let floor = at(pressure).standpipes[0].floors[0].clone();
        assert!(floor.regulates);
        assert!((floor.pressure - psi(65.0)).value.abs() < 400.0);
    }
}

#[test]
fn law_no_standpipe_is_pumped_above_its_rating_without_a_notice() {
    let mut conditions = SceneConditions::default();
    conditions
        .pump_pressure
        .insert("pumper-2".into(), psi(250.0));
    let outlet = Outlet {
        rig: "pumper-2".into(),
        feeds: Feeds::Standpipe("harbour-tower".into()),
    };
    conditions.outlets.insert(outlet, Ratio::of_si(1.0));
    let answer = solve_scene(&demo(), "harbour-tower", &conditions).unwrap();
    let said = notice(&answer, "standpipe_rated");
    assert!(said.numbers.iter().any(|(name, _)| *name == "at most"));
}

#[test]
fn says_that_a_pump_is_asked_past_its_curve() {
    let book = small(
        r#"
[scene.past]
open_outlets = true
[scene.past.rig.front]
intake = [{ hydrant = "good", parts = [{ hose = "5 in", length = "50 ft" }] }]
pump_pressure = "245 psi"
lines = [{ line = "blitz" }, { line = "blitz" }, { line = "large" }]
"#,
    );
    let answer = answer(&book);
    assert!(answer.converged);
    let said = notice(&answer, "pump_past_curve");
    assert_eq!(said.place, "front");
    assert!(answer.rigs[0].discharge < psi(244.0));
    let near = (answer.rigs[0].net - answer.rigs[0].capability).value.abs();
    assert!(near < 200.0, "stands on its capability, off by {near} Pa");
    notice(&answer, "pump_capability");
}

#[test]
fn says_that_a_hydrant_is_drawn_to_nothing_and_the_pump_starves() {
    let book = small(
        r#"
[scene.dry.rig.front]
intake = [{ hydrant = "weak", parts = [{ hose = "3 in, 2.5 in couplings", length = "300 ft" }] }]
lines = [{ line = "blitz" }, { line = "blitz" }]
"#,
    );
    let answer = answer(&book);
    assert!(answer.converged);
    notice(&answer, "pump_starved");
    notice(&answer, "supply_intake");
    let intake = answer.rigs[0].intake;
    assert!(intake >= answer.rigs[0].least_intake - psi(0.01));
    // The main gives what it has; nothing is made up.
    let main = answer.sources[0].main.clone().unwrap();
    assert!(main.flow.value > 0.0 && main.residual > psi(0.0));
}

#[test]
fn says_that_a_draft_is_too_high() {
    let book = small(
        r#"
[draft.cliff]
lift = "27 ft"
altitude = "5000 ft"
loss = { pressure = "2 psi", flow = "1000 gpm" }
[scene.cliff.rig.front]
intake = [{ draft = "cliff" }]
lines = [{ line = "large" }]
"#,
    );
    let answer = answer(&book);
    assert!(answer.converged);
    assert!(
        answer
            .notices
            .iter()
            .any(|n| n.code == "draft_too_high" || n.code == "pump_starved")
    );
    assert!(
        answer
            .limits
            .iter()
            .any(|l| l.code == "suction" && l.used > 0.99)
    );
}

#[test]
fn says_why_an_eductor_does_not_draw() {
    let scene = |parts: &str| {
        small(&format!(
            r#"
[line.foam]
parts = [{{ appliance = "eductor 95 gpm", ratio = "3 %" }}, {parts}]
[scene.spill.rig.front]
intake = [{{ tank = true }}]
lines = [{{ line = "foam" }}]
"#
        ))
    };
    let hose = |feet: u32| format!("{{ hose = \"1.75 in\", length = \"{feet} ft\" }}");
    let nozzle = "{ nozzle = \"95 gpm at 100 psi\" }";
    let good = answer(&scene(&format!("{}, {nozzle}", hose(150))));
    assert!(good.eductors[0].draws);
    let long = answer(&scene(&format!("{}, {nozzle}", hose(400))));
    assert!(
        notice(&long, "eductor_does_not_draw")
            .text
            .contains("too much hose")
    );
    let small_tip = "{ nozzle = \"60 gpm at 100 psi\" }";
    let small_tip = answer(&scene(&format!("{}, {small_tip}", hose(150))));
    assert!(
        notice(&small_tip, "eductor_does_not_draw")
            .text
            .contains("too small")
    );
    notice(&small_tip, "nozzle_does_not_match");
    let high = "{ nozzle = \"95 gpm at 100 psi\", rise = \"60 ft\" }";
    let high = answer(&scene(&format!("{}, {high}", hose(150))));
    assert!(
        notice(&high, "eductor_does_not_draw")
            .text
            .contains("too high")
    );
    let gated = "{ nozzle = \"95 gpm at 100 psi\", gate = \"20 %\" }";
    let gated = answer(&scene(&format!("{}, {gated}", hose(150))));
    assert!(
        notice(&gated, "eductor_does_not_draw")
            .text
            .contains("gated")
    );
}

#[test]
fn says_that_tank_and_concentrate_run_out() {
    let book = small(
        r#"
[scene.tank]
duration = "10 min"
spill = { area = "900 ft2", fuel = "polar", ratio = "3 %" }
[scene.tank.rig.front]
intake = [{ tank = true }]
lines = [{ line = "large" }]
"#,
    );
    let answer = answer(&book);
    let said = notice(&answer, "water_runs_out");
    assert!(
        said.numbers
            .iter()
            .any(|(name, f)| *name == "dry after" && f.show(System::Us) == "1.9 min")
    );
    notice(&answer, "concentrate");
    notice(&answer, "spill_rate");
}

#[test]
fn law_two_hydrants_on_one_main_share_its_residual() {
    let book = small(
        r#"
[hydrant.next]
same_main_as = "good"
[scene.two.rig.front]
intake = [{ hydrant = "good", parts = [{ hose = "5 in", length = "50 ft" }] }]
lines = [{ line = "large" }]
[scene.two.rig.back]
intake = [{ hydrant = "next", parts = [{ hose = "5 in", length = "50 ft" }] }]
lines = [{ line = "blitz" }]
"#,
    );
    let answer = answer(&book);
    let mains: Vec<_> = answer
        .sources
        .iter()
        .map(|s| s.main.clone().unwrap())
        .collect();
    assert_eq!(mains[0].residual, mains[1].residual);
    let drawn = answer.sources[0].flow + answer.sources[1].flow;
    assert!((mains[0].flow - drawn).value.abs() < 1e-12);
    assert!(mains[0].residual < psi(70.0));
}

#[test]
fn regress_a_relay_brings_its_residual_though_the_rig_has_a_tank_too() {
    let scene = |first: &str, second: &str| {
        small(&format!(
            r#"
[scene.both.rig.back]
intake = [{{ hydrant = "good", parts = [{{ hose = "5 in", length = "25 ft" }}] }}]
[scene.both.rig.front]
intake = [{first}, {second}]
lines = [{{ line = "blitz" }}]
"#
        ))
    };
    let relay =
        "{ rig = \"back\", parts = [{ hose = \"3 in, 2.5 in couplings\", length = \"600 ft\" }] }";
    let tank = "{ tank = true }";
    for (first, second) in [(relay, tank), (tank, relay)] {
        let answer = answer(&scene(first, second));
        let front = answer.rigs.iter().find(|r| r.name == "front").unwrap();
        assert_eq!(us(Kind::Pressure, front.intake), "20 psi", "{first}");
    }
}

#[test]
fn regress_altitude_shortens_a_draft() {
    let scene = |altitude: &str| {
        small(&format!(
            r#"
[draft.pond]
lift = "18 ft"
altitude = "{altitude}"
loss = {{ pressure = "3 psi", flow = "1000 gpm" }}
[scene.high.rig.front]
intake = [{{ draft = "pond" }}]
lines = [{{ line = "blitz" }}, {{ line = "blitz" }}]
"#
        ))
    };
    let most = |altitude: &str| {
        let answer = answer(&scene(altitude));
        answer.sources[0].draft.clone().unwrap().most.unwrap()
    };
    // 10.8 psi to hold, 7.8 for the lift, 3 psi of suction loss at 1000 gpm.
    let low = most("0 ft");
    assert!(low > hydraulics::units::gpm(990.0) && low < hydraulics::units::gpm(1015.0));
    // -22 inHg at sea level leaves 3.9 psi absolute; at 5,000 ft the air has 12.2 psi:
    // 8.3 to hold, 7.8 for the lift, so sqrt((8.34 - 7.80) / 3) of 1000 gpm.
    let high = most("5000 ft");
    assert!(high > hydraulics::units::gpm(400.0) && high < hydraulics::units::gpm(440.0));
    let none = answer(&scene("10000 ft"));
    assert!(notice(&none, "draft_too_high").text.contains("primed"));
}

#[test]
fn regress_soft_supply_hose_goes_flat() {
    let book = demo();
    let mut change = SceneConditions::default();
    change.pump_pressure.insert("pumper-2".into(), psi(60.0));
    let plain = SceneConditions::default();
    let after = what_if_scene(&book, "mill-street", &plain, &change)
        .unwrap()
        .after;
    let fed = after.rigs.iter().find(|r| r.name == "pumper-1").unwrap();
    assert!(fed.intake > psi(-0.5) && fed.intake < psi(1.0));
    assert!(
        fed.discharge < psi(155.0),
        "it cannot hold what it is set to"
    );
    notice(&after, "relay_intake");
    notice(&after, "pump_starved");
}

#[test]
fn regress_foam_is_that_of_the_line_that_makes_it() {
    let text = r#"
[rig.foam]
pump = "1000 gpm"
concentrate = "50 gal"
proportioner = "6 gpm"
[line.hand]
parts = [{ hose = "1.75 in", length = "150 ft" }, { nozzle = "150 gpm at 75 psi" }]
aim = { flow = "150 gpm" }
[scene.second]
spill = { area = "900 ft2", fuel = "hydrocarbon", ratio = "3 %" }
[scene.second.rig.foam]
intake = [{ hydrant = "good", parts = [{ hose = "5 in", length = "50 ft" }] }]
lines = [{ line = "hand", gate = "20 %" }, { line = "hand", foam = "3 %" }]
"#;
    let rich = answer(&small(&text.replace("foam = \"3 %\"", "foam = \"30 %\"")));
    assert_eq!(notice(&rich, "ratio_above_usual").place, "hand (2)");
    let answer = answer(&small(text));
    assert!(answer.notices.iter().all(|n| n.code != "ratio_above_usual"));
    assert_eq!(answer.foam[0].line, "hand (2)");
    assert_eq!(us(Kind::Flow, answer.foam[0].solution), "150 gpm");
    // 150 gpm at 3 % is 4.5 gpm: 50 gal last 11.1 of the 15 minutes.
    let said = notice(&answer, "foam_lasts");
    assert_eq!(said.numbers[0].1.show(System::Us), "11.1 min");
}

#[test]
fn regress_a_valve_set_to_what_is_required_still_sets_the_pump() {
    let book = small(
        r#"
[standpipe.tower]
floors = 14
floor_height = "10 ft"
riser = "6 in"
required = "100 psi"
regulating = [{ floors = [1, 10], setting = "100 psi" }]
outlet_loss = { pressure = "6 psi", flow = "250 gpm" }
[scene.high.rig.front]
intake = [{ hydrant = "good", parts = [{ hose = "5 in", length = "50 ft" }] }]
standpipes = [{ standpipe = "tower", parts = [{ hose = "3 in, 2.5 in couplings", length = "100 ft" }] }]
lines = [
  { line = "large", standpipe = "tower", floor = 3 },
  { line = "large", standpipe = "tower", floor = 14 },
]
"#,
    );
    let answer = answer(&book);
    let floors = &answer.standpipes[0].floors;
    assert!(floors.iter().all(|f| f.pressure > psi(99.8)), "{floors:?}");
}

#[test]
fn regress_two_rigs_relay_into_one() {
    let book = small(
        r#"
[rig.third]
pump = "1000 gpm"
[scene.two.rig.back]
intake = [{ hydrant = "good", parts = [{ hose = "5 in", length = "25 ft" }] }]
[scene.two.rig.third]
intake = [{ hydrant = "good", parts = [{ hose = "5 in", length = "25 ft" }] }]
[scene.two.rig.front]
intake = [
  { rig = "back", parts = [{ hose = "3 in, 2.5 in couplings", length = "500 ft" }] },
  { rig = "third", parts = [{ hose = "3 in, 2.5 in couplings", length = "800 ft" }] },
]
lines = [{ line = "blitz" }, { line = "blitz" }]
"#,
    );
    let answer = answer(&book);
    let lengths: Vec<String> = answer
        .relays
        .iter()
        .map(|r| us(Kind::Length, r.length))
        .collect();
    assert_eq!(lengths, ["500 ft", "800 ft"]);
    let front = answer.rigs.iter().find(|r| r.name == "front").unwrap();
    assert!(
        front.intake > psi(19.8),
        "{}",
        us(Kind::Pressure, front.intake)
    );
    assert!(answer.tips.iter().all(|t| t.flow.value > 0.0));
}

#[test]
fn law_twin_supply_lines_lose_a_quarter() {
    let scene = |intake: &str| {
        small(&format!(
            r#"
[scene.twin.rig.back]
intake = [{{ hydrant = "good", parts = [{{ hose = "5 in", length = "25 ft" }}] }}]
pump_pressure = "120 psi"
[scene.twin.rig.front]
intake = [{{ rig = "back", parts = [{intake}] }}]
lines = [{{ line = "blitz" }}]
"#
        ))
    };
    let hose = "{ hose = \"3 in, 2.5 in couplings\", length = \"600 ft\" }";
    let one = answer(&scene(hose));
    let two = answer(&scene(&format!("{{ legs = [[{hose}], [{hose}]] }}")));
    let lost = |answer: &SceneAnswer| {
        let relay = &answer.relays[0];
        let outlet = answer
            .rigs
            .iter()
            .find(|r| r.name == "back")
            .unwrap()
            .outlets[0]
            .pressure;
        (outlet - relay.intake).value / (relay.flow.value * relay.flow.value)
    };
    assert!((lost(&two) / lost(&one) - 0.25).abs() < 0.01);
}
