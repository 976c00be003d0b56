//! What changed between two revisions, in words.
#![allow(clippy::unwrap_used)]

use book::{Book, Conditions};
use hydraulics::units::{Kind, System, show};
use study::changes;

const DEMO: &str = include_str!("../../../books/saltmarsh-bend.toml");

fn read(text: &str) -> Book {
    book::read(text.as_bytes(), "test.toml").unwrap()
}

/// What the demo's history says after each text was replaced by another, once.
fn told(system: System, edits: &[(&str, &str)]) -> Vec<String> {
    let mut text = DEMO.to_string();
    for (from, to) in edits {
        assert!(text.contains(from), "the demo has no {from}");
        text = text.replacen(from, to, 1);
    }
    changes(&read(DEMO), &read(&text), system)
}

fn us(edits: &[(&str, &str)]) -> Vec<String> {
    told(System::Us, edits)
}

/// A line of 200 ft of 2.5 in hose and a 1-1/8 in tip at 50 psi, its text changed.
fn plain(from: &str, to: &str) -> Book {
    let text = r#"
        [book]
        name = "Plain"
        [hose.large]
        size = "2.5 in"
        coefficient = 2
        [line.left]
        parts = [
          { hose = "large", length = "200 ft" },
          { nozzle = "1-1/8 in smooth bore" },
        ]
        aim = { tip_pressure = "50 psi" }
    "#;
    assert!(text.contains(from), "no {from}");
    read(&text.replacen(from, to, 1))
}

#[test]
fn book_longer_hose_moves_the_pump_by_its_friction_loss() {
    // Case NZ-U-21: a 1-1/8 in tip at 50 psi gives 266 gpm; C 2 then takes
    // 2 x 2.66^2 = 14.2 psi of each 100 ft. 50 + 28.3 and 50 + 56.6 psi.
    let (before, after) = (plain("200 ft", "200 ft"), plain("200 ft", "400 ft"));
    assert_eq!(
        changes(&before, &after, System::Us),
        ["left: 200 to 400 ft; pump pressure 78 to 107 psi"]
    );
    assert_eq!(
        changes(&before, &after, System::Si),
        ["left: 61.0 to 121.9 m; pump pressure 5.4 to 7.3 bar"]
    );
}

#[test]
fn book_a_new_coefficient_is_told_with_what_it_moves() {
    // The same line: 50 + 3 x 2.66^2 x 2 = 92.4 psi.
    let (before, after) = (plain("= 2\n", "= 2\n"), plain("= 2\n", "= 3\n"));
    assert_eq!(
        changes(&before, &after, System::Us),
        ["hose large: coefficient 2 to 3; so left: pump pressure 78 to 92 psi"]
    );
    assert_eq!(
        changes(&after, &before, System::Si),
        ["hose large: coefficient 3 to 2; so left: pump pressure 6.4 to 5.4 bar"]
    );
}

#[test]
fn where_the_pump_pressure_is_stated_the_flow_is_told() {
    let with = |psi: &str| {
        let aim = "aim = { tip_pressure = \"50 psi\" }";
        plain(aim, &format!("pump_pressure = \"{psi}\""))
    };
    let [hundred, more] = [with("100 psi"), with("120 psi")];
    let flow = |book: &Book| {
        let answer = study::solve(book, "left", &Conditions::default()).unwrap();
        show(Kind::Flow, answer.flow, System::Us)
    };
    let flows = (flow(&hundred), flow(&more));
    let short = flows.0.trim_end_matches(" gpm");
    assert_eq!(
        changes(&hundred, &more, System::Us),
        [format!(
            "left: stated pump pressure 100 to 120 psi; flow {short} to {}",
            flows.1
        )]
    );
    let stated = changes(&plain("200", "200"), &hundred, System::Us);
    assert_eq!(stated.len(), 1);
    assert!(
        stated[0].starts_with(
            "left: stated pump pressure none to 100 psi; aim 50 psi at the tip to none; \
             pump pressure 78 to 100 psi; flow 266 to "
        ),
        "{stated:?}"
    );
}

#[test]
fn nothing_changed_says_nothing() {
    let demo = read(DEMO);
    assert!(changes(&demo, &demo, System::Us).is_empty());
    let comments = format!(
        "# another comment\n{}",
        DEMO.replace("# ---- Rigs", "# ---- Pumpers")
    );
    assert_ne!(comments, DEMO);
    assert!(changes(&demo, &read(&comments), System::Us).is_empty());
    assert!(changes(&Book::default(), &Book::default(), System::Si).is_empty());
}

#[test]
fn a_line_of_the_demo_is_told_as_crews_call_it() {
    let long = "parts = [\n  { hose = \"attack\", length = \"150 ft\" },\n  { nozzle = \"breakaway\" },\n]";
    let longer = long.replace("150", "200");
    assert_eq!(
        us(&[(long, &longer)]),
        ["Rear crosslay, tip that unscrews: 150 to 200 ft; pump pressure 98 to 114 psi"]
    );
}

#[test]
fn each_kind_of_change_to_a_line_has_its_words() {
    let nozzle = "{ nozzle = \"twin\", setting = \"high\" },";
    for (from, to, said) in [
        (
            nozzle,
            "{ nozzle = \"twin\", setting = \"low\" },",
            "setting high to low; pump pressure",
        ),
        (
            nozzle,
            "{ nozzle = \"bumper\", setting = \"125 gpm\" },",
            "nozzle twin swapped for bumper; setting high to 125 gpm; pump",
        ),
        (
            nozzle,
            "{ nozzle = \"twin\", setting = \"high\", gate = \"50 %\" },",
            "gate fully open to 50 %; pump pressure",
        ),
        (
            nozzle,
            "{ nozzle = \"twin\", setting = \"high\", rise = \"20 ft\" },",
            "nozzle rise none to 20 ft; pump pressure",
        ),
        (
            nozzle,
            "{ nozzle = \"twin\", setting = \"high\", flush = true },",
            "regulator working to on flush; pump pressure",
        ),
        (
            nozzle,
            "{ hose = \"attack\", length = \"50 ft\" },\n{ nozzle = \"twin\", setting = \"high\" },",
            "50 ft of attack hose added as part 2; pump pressure",
        ),
        (
            "aim = { flow = \"150 gpm\", reaction_at_most = \"95 lbf\" }",
            "aim = { flow = \"180 gpm\", reaction_at_most = \"75 lbf\" }",
            "aim 150 to 180 gpm; reaction at most 95 to 75 lbf; pump pressure",
        ),
    ] {
        let told = us(&[(from, to)]);
        let start = format!("Left crosslay, automatic nozzle: {said}");
        assert_eq!(told.len(), 1, "{told:?}");
        assert!(told[0].starts_with(&start), "{told:?} is not {start}");
    }
}

#[test]
fn a_rig_or_a_title_changes_no_pressure() {
    let title = "title = \"Left crosslay, automatic nozzle\"\nrig = \"pumper-1\"";
    assert_eq!(
        us(&[(title, "title = \"Left\"\nrig = \"pumper-2\"")]),
        [
            "Left: title from \"Left crosslay, automatic nozzle\" to \"Left\"; rig pumper-1 to pumper-2"
        ]
    );
}

#[test]
fn a_part_of_several_is_told_with_its_place() {
    let branch = "{ hose = \"attack\", length = \"100 ft\" },\n      { nozzle = \"twin\", setting = \"low\", rise = \"20 ft\" },";
    let longer = branch.replace("100 ft", "200 ft").replace("20 ft", "30 ft");
    let told = us(&[(branch, &longer)]);
    let start = "Apartment bundle, second floor: 100 to 200 ft (part 3, branch 1, part 1); \
                 nozzle rise 20 to 30 ft (part 3, branch 1, part 2); pump pressure ";
    assert!(told[0].starts_with(start), "{told:?}");
}

#[test]
fn regress_a_longer_leg_or_branch_did_not_move() {
    let legs = "    [{ hose = \"supply\", length = \"200 ft\" }],\n";
    let of = |first: &str, second: &str| {
        let rows = format!("{legs}{legs}");
        assert!(DEMO.contains(&rows));
        let row = |length: &str| legs.replace("200 ft", length);
        read(&DEMO.replacen(&rows, &format!("{}{}", row(first), row(second)), 1))
    };
    let before = read(DEMO);
    for (after, leg) in [(of("250 ft", "200 ft"), 1), (of("200 ft", "250 ft"), 2)] {
        let told = changes(&before, &after, System::Us);
        let place = format!("200 to 250 ft (part 1, leg {leg}, part 1)");
        assert!(told[0].contains(&place), "{told:?}");
        assert!(!told[0].contains("moved"), "{told:?}");
    }
    let row = |length: &str| {
        format!("[{{ hose = '1.75 in', length = '{length}' }}, {{ nozzle = '150 gpm at 50 psi' }}]")
    };
    let of = |first: &str, second: &str| {
        let (first, second) = (row(first), row(second));
        read(&format!(
            "[book]\nname = 'x'\n[line.a]\nparts = [{{ appliance = 'gated wye 2.5 to 1.5 in' }}, \
             {{ branches = [{first}, {second}] }}]\n"
        ))
    };
    let told = changes(&of("100 ft", "100 ft"), &of("150 ft", "100 ft"), System::Us);
    assert!(
        told[0].contains("100 to 150 ft (part 2, branch 1, part 1)"),
        "{told:?}"
    );
    assert!(!told[0].contains("moved"), "{told:?}");
    // Two of a kind in one row.
    let of = |first: &str| {
        read(&format!(
            "[book]\nname = 'x'\n[line.a]\nparts = [{{ hose = '2.5 in', length = '{first}' }}, \
             {{ hose = '2.5 in', length = '100 ft' }}, {{ nozzle = '1-1/8 in smooth bore' }}]\n"
        ))
    };
    let told = changes(&of("100 ft"), &of("200 ft"), System::Us);
    assert!(told[0].contains("100 to 200 ft (part 1)"), "{told:?}");
    assert!(!told[0].contains("moved"), "{told:?}");
}

#[test]
fn parts_taken_out_moved_and_swapped_are_told() {
    let foam = "{ appliance = \"eductor 95 gpm\", ratio = \"3 %\" },\n  { hose = \"attack\", length = \"150 ft\" },";
    let moved = "{ hose = \"attack\", length = \"150 ft\" },\n  { appliance = \"eductor 95 gpm\", ratio = \"3 %\" },";
    let told = us(&[(foam, moved)]);
    assert!(
        told[0].starts_with(
            "Foam line, eductor at the pump: eductor 95 gpm moved from part 1 to part 2"
        ),
        "{told:?}"
    );
    let legs = "    [{ hose = \"supply\", length = \"200 ft\" }],\n    [{ hose = \"supply\", length = \"200 ft\" }],";
    let one = "    [{ hose = \"supply\", length = \"200 ft\" }],";
    let told = us(&[(legs, one)]);
    assert!(
        told[0].starts_with(
            "Portable monitor on twin supply: part 1, leg 2 taken out: 200 ft of supply hose; pump pressure "
        ),
        "{told:?}"
    );
    let large = "{ hose = \"large\", length = \"200 ft\" },";
    let told = us(&[(large, &large.replace("large", "supply"))]);
    assert!(
        told[0].starts_with("Large line: hose large swapped for supply; pump pressure "),
        "{told:?}"
    );
    assert_eq!(told.len(), 1);
}

#[test]
fn an_item_names_the_lines_it_moves_and_how_many_more() {
    let told = us(&[("coefficient = 14.2", "coefficient = 12")]);
    assert_eq!(told.len(), 1, "{told:?}");
    let start = "hose attack: measured coefficient 14.2 to 12; \
                 so Left crosslay, automatic nozzle: pump pressure ";
    assert!(told[0].starts_with(start), "{told:?}");
    // Seven lines of the demo: the eductor of the foam line takes up what its hose
    // asks less, and past the eductor of the long one it is the flow that moves.
    assert_eq!(told[0].split("; ").count(), 1 + 1 + 6, "{told:?}");
    assert!(told[0].contains("past the eductor: flow "), "{told:?}");
    assert!(told[0].ends_with("; and 1 more line"), "{told:?}");
    assert!(!told[0].contains("Large line"), "{told:?}");
}

#[test]
fn several_items_are_told_one_by_one_and_their_effect_together() {
    let told = us(&[
        ("coefficient = 14.2", "coefficient = 12"),
        ("bore = \"1-1/8 in\"", "bore = \"1 in\""),
        ("tank = \"750 gal\"", "tank = \"500 gal\""),
    ]);
    assert_eq!(told[0], "hose attack: measured coefficient 14.2 to 12");
    assert_eq!(told[1], "nozzle inch-and-an-eighth: bore 1-1/8 to 1 in");
    assert_eq!(told[2], "rig pumper-1: tank 750 to 500 gal");
    assert!(
        told[3].starts_with("these together: Left crosslay"),
        "{told:?}"
    );
    assert_eq!(told.len(), 4);
}

#[test]
fn an_item_that_moves_nothing_is_told_alone() {
    for (from, to, said) in [
        (
            "one = \"60 lbf\"",
            "one = \"65 lbf\"",
            "department: crew one 60 to 65 lbf",
        ),
        (
            "pump_ceiling = \"250 psi\"",
            "pump_ceiling = \"225 psi\"",
            "department: pump ceiling 250 to 225 psi",
        ),
        (
            "static = \"72 psi\"",
            "static = \"70 psi\"",
            "hydrant mill-street: static 72 to 70 psi",
        ),
        (
            "pitot = \"31 psi\"",
            "pitot = \"30 psi\"",
            "hydrant mill-street: outlet 1, pitot 31 to 30 psi",
        ),
        (
            "note = \"First out; carries the crosslays and the foam line.\"",
            "",
            "rig pumper-1: note taken out",
        ),
        (
            "flow = \"1040 gpm\"",
            "flow = \"1050 gpm\"",
            "rig pumper-3: pump point 3, flow 1040 to 1050 gpm",
        ),
        (
            "lift = \"9 ft\"",
            "lift = \"10 ft\"",
            "draft mill-pond: lift 9 to 10 ft",
        ),
        (
            "attachment.low = { expansion = 8,",
            "attachment.low = { expansion = 10,",
            "nozzle foam: attachment low, expansion 8 to 10",
        ),
        (
            "[rig.pumper-2]",
            "[rig.spare]\ntank = \"500 gal\"\n[rig.pumper-2]",
            "new rig: spare",
        ),
        ("band = \"4 psi\"", "", "nozzle twin: band taken out"),
    ] {
        assert_eq!(us(&[(from, to)]), [said]);
    }
}

#[test]
fn a_department_is_renamed() {
    assert_eq!(
        us(&[(
            "name = \"Saltmarsh Bend Fire and Rescue\"",
            "name = \"Bend\""
        )]),
        ["department renamed from Saltmarsh Bend Fire and Rescue to Bend"]
    );
}

#[test]
fn lines_that_come_and_go_are_told() {
    let two = plain(
        "[line.left]",
        "[line.right]\nparts = [{ hose = \"large\", length = \"200 ft\" }, { nozzle = \"1-1/8 in smooth bore\" }]\naim = { tip_pressure = \"50 psi\" }\n[line.left]\ntitle = \"Left\"",
    );
    let one = plain("[line.left]", "[line.left]\ntitle = \"Left\"");
    assert_eq!(
        changes(&one, &two, System::Us),
        ["new line: right; pump pressure 78 psi"]
    );
    assert_eq!(changes(&two, &one, System::Us), ["line taken out: right"]);
    let renamed = plain("[line.left]", "[line.front]\ntitle = \"Left\"");
    assert_eq!(
        changes(&one, &renamed, System::Us),
        ["line left renamed front"]
    );
}

#[test]
fn scenes_are_told_in_words() {
    for (from, to, said) in [
        (
            "length = \"800 ft\"",
            "length = \"900 ft\"",
            "Warehouse on Mill Street: relay from one hydrant, wyed lines and a monitor: rig pumper-1, rig pumper-2, hose main-supply, length 800 to 900 ft",
        ),
        (
            "  { line = \"left-crosslay\" },\n",
            "",
            "Warehouse on Mill Street: relay from one hydrant, wyed lines and a monitor: rig pumper-1, line left-crosslay taken out",
        ),
        (
            "{ line = \"high-rise-pack\", standpipe = \"harbour-tower\", floor = 11 }",
            "{ line = \"high-rise-pack\", standpipe = \"harbour-tower\", floor = 10 }",
            "Harbour Tower: standpipe, crews on floors 5 and 11: rig pumper-2, line high-rise-pack, floor 11 to 10",
        ),
        (
            "lines = [{ line = \"foam\" }, ",
            "lines = [{ line = \"foam\", gate = \"50 %\" }, ",
            "Fuel spill at the marina: one foam line: rig pumper-1, line foam, gate 50 % added",
        ),
        (
            "duration = \"60 min\"",
            "duration = \"90 min\"",
            "Barn on County Road: tanker shuttle to a portable tank: duration 60 to 90 min",
        ),
        (
            "lines = [{ line = \"large\" }, { line = \"right-crosslay\" }]",
            "lines = [{ line = \"left-crosslay\" }, { line = \"right-crosslay\" }]",
            "Field fire: one rig drafts from the mill pond: rig pumper-2, line left-crosslay in place of line large",
        ),
        (
            "intake = [{ draft = \"mill-pond\" }]",
            "intake = [{ tank = true }]",
            "Field fire: one rig drafts from the mill pond: rig pumper-2, tank in place of draft mill-pond",
        ),
    ] {
        assert_eq!(us(&[(from, to)]), [said]);
    }
}

#[test]
fn a_title_of_two_lines_stays_one_sentence() {
    let told = us(&[("title = \"Large line\"", "title = \"Large\\nline\"")]);
    assert_eq!(told, ["Large line: title \"Large line\" to \"Large line\""]);
}

#[test]
fn law_there_and_back_name_the_same_things() {
    let demo = read(DEMO);
    let edited = DEMO
        .replace("length = \"150 ft\"", "length = \"175 ft\"")
        .replace("coefficient = 15.5", "coefficient = 15")
        .replace("static = \"85 psi\"", "static = \"80 psi\"");
    let edited = read(&edited);
    let there = changes(&demo, &edited, System::Us);
    let back = changes(&edited, &demo, System::Us);
    let subjects = |said: &[String]| {
        let subject = |s: &String| s.split(": ").next().unwrap_or("").to_string();
        said.iter().map(subject).collect::<Vec<_>>()
    };
    assert!(there.len() > 5, "{there:?}");
    assert_eq!(subjects(&there), subjects(&back));
    assert_eq!(there, changes(&demo, &edited, System::Us));
}
