//! Bad hydrants, standpipes, rigs, appliances and scenes: each problem is named at
//! its place, with what would mend it.

#![allow(clippy::unwrap_used, clippy::panic)]

use book::{Problem, examine};

const HEAD: &str = "[book]\nname = \"Example\"\n";

/// The problems of the book with `body`.
fn problems(body: &str) -> Vec<Problem> {
    let text = format!("{HEAD}{body}");
    examine(text.as_bytes(), "example.toml")
        .problems
        .list()
        .to_vec()
}

/// The line and column, in characters, of what stands between « and ».
fn marked(body: &str) -> (usize, usize) {
    let before = format!("{HEAD}{}", body.split('«').next().unwrap());
    let line = before.matches('\n').count() + 1;
    let column = before.chars().rev().take_while(|c| *c != '\n').count() + 1;
    (line, column)
}

/// The book with `body` has one problem: `code`, at what stands between « and »,
/// with these words in its message and its mend.
#[track_caller]
fn expect(body: &str, code: &str, message: &str, mend: &str) {
    let plain = body.replace(['«', '»'], "");
    let all = problems(&plain);
    assert_eq!(all.len(), 1, "{plain}\n{all:?}");
    let problem = &all[0];
    let at = body.split(['«', '»']).nth(1).expect("a marked place");
    let spot = &format!("{HEAD}{plain}")[problem.span.clone()];
    assert_eq!(problem.code, code, "{problem:?}");
    assert_eq!(spot, at, "{problem:?}");
    assert_eq!((problem.line, problem.column), marked(body), "{problem:?}");
    assert!(problem.message.contains(message), "{problem:?}");
    assert!(problem.mend.contains(mend), "{problem:?}");
}

/// What the scenes of these tests name.
const FIRE_GROUND: &str = r#"
[rig.pumper-1]
pump = "1250 gpm"
[rig.pumper-2]
pump = "1500 gpm"
[hydrant.corner]
static = "70 psi"
residual = "50 psi"
flow = "1000 gpm"
[draft.pond]
lift = "8 ft"
[shuttle.farm]
tankers = 3
tank = "3000 gal"
distance = "2 mi"
fill = "3 min"
dump = "2 min"
dump_tank = "6000 gal"
[standpipe.tower]
floors = 12
floor_height = "10 ft"
riser = "6 in"
[line.large]
parts = [{ hose = "2.5 in", length = "200 ft" }, { nozzle = "1-1/8 in smooth bore" }]
"#;

const SUPPLY: &str = r#"parts = [{ hose = "5 in", length = "50 ft" }]"#;

/// A scene with pumper-1 at the hydrant, and `rest` on it.
fn at_the_hydrant(rest: &str) -> String {
    format!(
        "{FIRE_GROUND}[scene.mill.rig.pumper-1]\nintake = [{{ hydrant = \"corner\", {SUPPLY} }}]\n{rest}"
    )
}

/// A scene with pumper-1, and this in its intake.
fn intake(intake: &str) -> String {
    format!("{FIRE_GROUND}[scene.mill.rig.pumper-1]\nintake = [{intake}]\n")
}

#[test]
fn a_good_scene_has_no_problem() {
    let relay = format!(
        "[scene.mill.rig.pumper-2]\nintake = [{{ rig = \"pumper-1\", {SUPPLY} }}]\nlines = [{{ line = \"large\", foam = 0.03 }}]\n"
    );
    let rest = format!(
        "lines = [{{ line = \"large\", standpipe = \"tower\", floor = 12 }}]\nstandpipes = [{{ standpipe = \"tower\", {SUPPLY} }}]\n{relay}"
    );
    let all = problems(&at_the_hydrant(&rest));
    assert!(all.is_empty(), "{all:?}");
    for from in [
        "{ tank = true }",
        "{ draft = \"pond\" }",
        "{ shuttle = \"farm\" }",
    ] {
        let all = problems(&intake(from));
        assert!(all.is_empty(), "{all:?}");
    }
}

// ---- Names -------------------------------------------------------------------

#[test]
fn a_misspelt_source_is_suggested() {
    for (from, named, near) in [
        ("hydrant = «\"cornr\"»", "no hydrant \"cornr\"", "corner"),
        ("draft = «\"pnod\"»", "no draft \"pnod\"", "pond"),
        ("shuttle = «\"frm\"»", "no shuttle \"frm\"", "farm"),
    ] {
        let laid = match from.starts_with("hydrant") {
            true => format!("{{ {from}, {SUPPLY} }}"),
            false => format!("{{ {from} }}"),
        };
        expect(
            &intake(&laid),
            "unknown_name",
            &format!("intake 1 of rig \"pumper-1\" of scene \"mill\": there is {named}"),
            &format!("did you mean \"{near}\"?"),
        );
    }
    let far = intake(&format!("{{ hydrant = «\"quarry\"», {SUPPLY} }}"));
    expect(&far, "unknown_name", "\"quarry\"", "the book has corner");
    let none = "[rig.p]\npump = 1000\n[scene.mill.rig.p]\nintake = [{ draft = «\"pond\"» }]\n";
    expect(
        none,
        "unknown_name",
        "no draft",
        "the book has none yet; add it",
    );
}

#[test]
fn a_relay_comes_from_a_rig_at_work() {
    let relay = |rig: &str| {
        let other = "[scene.mill.rig.pumper-2]\nintake = [{ tank = true }]\n";
        intake(&format!("{{ rig = {rig}, {SUPPLY} }}")) + other
    };
    assert!(problems(&relay("\"pumper-2\"")).is_empty());
    // The rig itself is not suggested.
    expect(
        &relay("«\"pumper\"»"),
        "unknown_name",
        "there is no rig at work \"pumper\"",
        "did you mean \"pumper-2\"?",
    );
    expect(
        &relay("«\"ladder-7\"»"),
        "unknown_name",
        "there is no rig at work \"ladder-7\"",
        "the scene has pumper-2",
    );
    expect(
        &intake(&format!("{{ rig = «\"pumper-2\"», {SUPPLY} }}")),
        "unknown_name",
        "rig \"pumper-2\" is not at work in this scene",
        "add [scene.mill.rig.pumper-2]",
    );
}

#[test]
fn a_misspelt_rig_line_or_standpipe_is_suggested() {
    let rig = format!("{FIRE_GROUND}[scene.mill.rig.«pumper1»]\nintake = [{{ tank = true }}]\n");
    expect(
        &rig,
        "unknown_name",
        "scene \"mill\": there is no rig \"pumper1\"",
        "did you mean \"pumper-1\"?",
    );
    expect(
        &at_the_hydrant("lines = [{ line = «\"lrage\"» }]\n"),
        "unknown_name",
        "line 1 of rig \"pumper-1\" of scene \"mill\": there is no line \"lrage\"",
        "did you mean \"large\"?",
    );
    expect(
        &at_the_hydrant("lines = [{ line = \"large\", standpipe = «\"towr\"», floor = 3 }]\n"),
        "unknown_name",
        "no standpipe \"towr\"",
        "did you mean \"tower\"?",
    );
    expect(
        &at_the_hydrant(&format!(
            "standpipes = [{{ standpipe = «\"towr\"», {SUPPLY} }}]\n"
        )),
        "unknown_name",
        "standpipe 1 of rig \"pumper-1\" of scene \"mill\": there is no standpipe \"towr\"",
        "did you mean \"tower\"?",
    );
}

#[test]
fn a_supply_line_is_checked_as_any_other() {
    expect(
        &intake("{ hydrant = \"corner\", parts = [{ hose = «\"5.5in\"», length = \"50 ft\" }] }"),
        "unknown_name",
        "intake 1 of rig \"pumper-1\" of scene \"mill\": part 1 names hose \"5.5in\"",
        "did you mean",
    );
    expect(
        &intake("{ hydrant = \"corner\", parts = «[]» }"),
        "empty",
        "it has no parts",
        "[{ hose = \"supply\", length = \"100 ft\" }]",
    );
    expect(
        &intake(
            "{ hydrant = \"corner\", parts = [{ hose = \"2.5 in\", length = \"50 ft\" }, { nozzle = «\"1-1/8 in smooth bore\"» }] }",
        ),
        "tip_in_leg",
        "ends a supply line, but a supply line has no tip",
        "leave the nozzle out",
    );
    let rows = "«[[{ hose = \"3 in\", length = \"50 ft\" }]]»";
    expect(
        &intake(&format!(
            "{{ hydrant = \"corner\", parts = [{{ branches = {rows} }}] }}"
        )),
        "tip_in_leg",
        "branches within a supply line",
        "write legs in place of branches",
    );
}

// ---- Intakes -----------------------------------------------------------------

#[test]
fn water_comes_from_one_place() {
    expect(
        &intake(&format!(
            "{{ hydrant = \"corner\", draft = «\"pond\"», {SUPPLY} }}"
        )),
        "one_of_two",
        "intake 1 of rig \"pumper-1\" of scene \"mill\" is from hydrant and draft at once",
        "as an intake of its own",
    );
    expect(
        &intake("«{ parts = [] }»"),
        "missing",
        "does not say from where",
        "write one of hydrant, rig, draft, shuttle, or tank = true",
    );
    expect(
        &intake("{ tank = «false» }"),
        "missing",
        "not from the tank, and from nowhere else",
        "write one of hydrant, rig, draft, shuttle, or tank = true",
    );
    expect(
        &intake("{ tank = true }, «{ tank = true }»"),
        "duplicate_key",
        "rig \"pumper-1\" of scene \"mill\" takes water from its tank twice",
        "keep one of the two",
    );
    expect(
        &format!("{FIRE_GROUND}[scene.mill.rig.pumper-1]\nintake = «[]»\n"),
        "empty",
        "rig \"pumper-1\" of scene \"mill\" has no water",
        "[{ tank = true }]",
    );
    expect(
        &intake("{ tank = «1» }"),
        "wrong_type",
        "tank of intake 1",
        "write true or false",
    );
}

#[test]
fn only_a_hydrant_and_a_relay_have_a_supply_line() {
    expect(
        &intake("«{ hydrant = \"corner\" }»"),
        "missing",
        "intake 1 of rig \"pumper-1\" of scene \"mill\" has no parts",
        "add parts = [{ hose = \"supply\", length = \"100 ft\" }]",
    );
    let parts = "«[{ hose = \"5 in\", length = \"50 ft\" }]»";
    expect(
        &intake(&format!("{{ draft = \"pond\", parts = {parts} }}")),
        "not_its_key",
        "its water comes without a supply line",
        "belongs to the draft or the shuttle",
    );
}

#[test]
fn rigs_do_not_feed_each_other_in_a_circle() {
    let relay = |one: &str, other: &str| {
        format!(
            "{FIRE_GROUND}[scene.mill.rig.pumper-1]\nintake = [{{ tank = true }}, {{ rig = {one}, {SUPPLY} }}]\n[scene.mill.rig.pumper-2]\nintake = [{{ rig = {other}, {SUPPLY} }}]\n"
        )
    };
    expect(
        &relay("«\"pumper-2\"»", "\"pumper-1\""),
        "relay_circle",
        "rig \"pumper-1\" of scene \"mill\" is fed by rig \"pumper-2\", which is fed by it",
        "let the first rig of a relay take its water from",
    );
    expect(
        &relay("«\"pumper-1\"»", "\"pumper-1\""),
        "relay_circle",
        "is fed by itself",
        "let the first rig",
    );
    // Of two relays into a rig, the one that closes the circle.
    let good = format!("{{ rig = \"pumper-3\", {SUPPLY} }}, {{ rig = «\"pumper-2\"»");
    let three = relay("«\"pumper-2\"»", "\"pumper-1\"")
        .replace("{ rig = «\"pumper-2\"»", &good)
        .replace("[hydrant.", "[rig.pumper-3]\npump = 1000\n[hydrant.");
    expect(
        &format!("{three}[scene.mill.rig.pumper-3]\nintake = [{{ tank = true }}]\n"),
        "relay_circle",
        "is fed by rig \"pumper-2\", which is fed by it",
        "let the first rig",
    );
}

// ---- Missing parts -----------------------------------------------------------

#[test]
fn a_scene_asks_for_what_it_needs() {
    expect(
        "«[scene.mill]»\n",
        "missing",
        "scene \"mill\" has no rig",
        "",
    );
    expect(
        "[scene.mill]\nrig = «{}»\n",
        "empty",
        "scene \"mill\" has no rigs",
        "[scene.mill-street.rig.pumper-1]",
    );
    expect(
        &format!("{FIRE_GROUND}«[scene.mill.rig.pumper-1]»\n"),
        "missing",
        "rig \"pumper-1\" of scene \"mill\" has no intake",
        "intake",
    );
    expect(
        "[rig.brush]\ntank = \"300 gal\"\n[scene.mill.rig.«brush»]\nintake = [{ tank = true }]\n",
        "missing",
        "scene \"mill\": rig \"brush\" has no pump",
        "write pump = \"1250 gpm\" at [rig.brush]",
    );
    expect(
        &at_the_hydrant("lines = [«{ gate = 0.5 }»]\n"),
        "missing",
        "line 1 of rig \"pumper-1\" of scene \"mill\" has no line",
        "line",
    );
    expect(
        &at_the_hydrant("standpipes = [«{ standpipe = \"tower\" }»]\n"),
        "missing",
        "standpipe 1 of rig \"pumper-1\" of scene \"mill\" has no parts",
        "parts",
    );
    expect(
        &at_the_hydrant("speed = «\"80 %\"»\npump_pressure = \"150 psi\"\n"),
        "one_of_two",
        "has both speed and pump_pressure",
        "keep speed or pump_pressure",
    );
    let many = "{ line = \"large\" }, ".repeat(51);
    expect(
        &at_the_hydrant(&format!("lines = «[{many}]»\n")),
        "too_many",
        "has 51 lines; at most 50 are allowed",
        "divide the scene",
    );
}

#[test]
fn a_spill_and_a_fire_ask_for_what_they_need() {
    expect(
        &at_the_hydrant(
            "[scene.mill.spill]\narea = \"3000 ft2\"\nfuel = «\"polr\"»\nratio = 0.03\n",
        ),
        "unknown_word",
        "fuel of spill of scene \"mill\" is \"polr\"",
        "did you mean \"polar\"?",
    );
    expect(
        &at_the_hydrant("«[scene.mill.spill]»\nfuel = \"polar\"\nratio = 0.03\n"),
        "missing",
        "spill of scene \"mill\" has no area",
        "add area = \"3000 ft2\"",
    );
    let fire = |rest: &str| {
        at_the_hydrant(&format!(
            "[scene.mill.fire]\nlength = \"60 ft\"\nwidth = \"40 ft\"\nheight = \"10 ft\"\n{rest}\n"
        ))
    };
    assert!(problems(&fire("floors = 2\nhazard = 5\nconstruction_type = \"V\"")).is_empty());
    expect(
        &fire("hazard = «8»"),
        "out_of_range",
        "8, but must be 3 to 7",
        "check",
    );
    expect(
        &fire("construction_type = «\"VI\"»"),
        "unknown_word",
        "\"VI\"",
        "",
    );
    expect(
        &fire("construction = «\"frames\"»"),
        "unknown_word",
        "\"frames\"",
        "did you mean \"frame\"?",
    );
}

// ---- Standpipes --------------------------------------------------------------

#[test]
fn a_line_off_a_standpipe_has_its_floor() {
    let line = |line: &str| {
        at_the_hydrant(&format!(
            "lines = [{line}]\nstandpipes = [{{ standpipe = \"tower\", {SUPPLY} }}]\n"
        ))
    };
    expect(
        &line("{ line = \"large\", standpipe = \"tower\", floor = «13» }"),
        "out_of_range",
        "line 1 of rig \"pumper-1\" of scene \"mill\" is on floor 13, but standpipe \"tower\" has 12 floors",
        "check the floor, or the standpipe's floors",
    );
    expect(
        &line("«{ line = \"large\", standpipe = \"tower\" }»"),
        "missing",
        "line 1 of rig \"pumper-1\" of scene \"mill\" has no floor",
        "add floor = 5",
    );
    expect(
        &line("{ line = \"large\", floor = «5» }"),
        "missing",
        "has floor but no standpipe",
        "add standpipe",
    );
    expect(
        &line("{ line = \"large\", standpipe = \"tower\", floor = «2.5» }"),
        "not_whole",
        "is 2.5, and no whole number",
        "without fraction",
    );
}

#[test]
fn a_standpipe_is_fed_once_by_the_rig_of_its_lines() {
    let line = "lines = [{ line = \"large\", standpipe = «\"tower\"», floor = 5 }]\n";
    expect(
        &at_the_hydrant(line),
        "standpipe_not_fed",
        "line 1 of rig \"pumper-1\" of scene \"mill\" comes off standpipe \"tower\", which rig \"pumper-1\" of scene \"mill\" does not feed",
        "add standpipes = [{ standpipe = \"tower\", parts = [...] }] to the rig",
    );
    expect(
        &at_the_hydrant(&format!(
            "standpipes = [{{ standpipe = \"tower\", {SUPPLY} }}, {{ standpipe = «\"tower\"», {SUPPLY} }}]\n"
        )),
        "duplicate_key",
        "rig \"pumper-1\" of scene \"mill\" feeds standpipe \"tower\" twice",
        "both lines to it as { legs",
    );
}

#[test]
fn a_standpipe_asks_for_what_it_needs() {
    let pipe = |floors: &str, rest: &str| {
        format!(
            "[standpipe.tower]\nfloors = {floors}\nfloor_height = \"10 ft\"\nriser = \"6 in\"\n{rest}"
        )
    };
    assert!(
        problems(&pipe(
            "12",
            "regulating = [{ floors = [1, 12], setting = 100 }]"
        ))
        .is_empty()
    );
    expect(
        "«[standpipe.tower]»\nfloors = 12\nriser = \"6 in\"\n",
        "missing",
        "standpipe \"tower\" has no floor height",
        "add floor_height = ",
    );
    expect(
        &pipe("«12.5»", ""),
        "not_whole",
        "12.5, and no whole number",
        "",
    );
    expect(
        &pipe("«true»", ""),
        "wrong_type",
        "a number, as 14, is wanted",
        "a number, as 14",
    );
    expect(
        &pipe("12", "regulating = [{ floors = «[1, 15]», setting = 100 }]"),
        "out_of_range",
        "regulating 1 of standpipe \"tower\" is on floors up to 15, but there are 12 floors",
        "check these floors",
    );
    expect(
        &pipe("12", "regulating = [{ floors = «[6, 1]», setting = 100 }]"),
        "reversed",
        "falls from its first value",
        "low value first",
    );
    expect(
        &pipe("12", "regulating = [«{ floors = [1, 6] }»]"),
        "missing",
        "regulating 1 of standpipe \"tower\" has no setting",
        "add setting = \"150 psi\"",
    );
}

// ---- Hydrants ----------------------------------------------------------------

#[test]
fn a_test_without_a_drop_is_refused() {
    let test = |residual: &str| {
        format!("[hydrant.a]\nstatic = \"60 psi\"\nresidual = {residual}\nflow = \"900 gpm\"\n")
    };
    for residual in ["«\"60 psi\"»", "«\"5 bar\"»"] {
        expect(
            &test(residual),
            "no_drop",
            "says nothing about its main",
            "write the lower pressure, read while water flowed, as residual",
        );
    }
    // What could not be read is not found at fault a second time.
    expect(
        &test("«\"5 bra\"»"),
        "unknown_unit",
        "5 bra",
        "did you mean \"bar\"?",
    );
}

#[test]
fn a_hydrant_asks_for_its_test() {
    let body = "«[hydrant.a]»\nresidual = \"50 psi\"\nflow = \"900 gpm\"\n";
    expect(
        body,
        "missing",
        "hydrant \"a\" has no static",
        "add static = \"70 psi\"",
    );
    let body = "«[hydrant.a]»\nstatic = \"70 psi\"\nflow = \"900 gpm\"\n";
    expect(
        body,
        "missing",
        "hydrant \"a\" has no residual",
        "add residual = \"50 psi\"",
    );
    let test =
        |rest: &str| format!("[hydrant.a]\nstatic = \"70 psi\"\nresidual = \"50 psi\"\n{rest}\n");
    expect(
        &test("").replace("[hydrant.a]", "«[hydrant.a]»"),
        "missing",
        "hydrant \"a\" has no flow",
        "or outlets = [{ size = \"2.5 in\", pitot = \"28 psi\" }]",
    );
    let outlet = |more: &str| format!("outlets = [{{ size = \"2.5 in\", {more} }}]");
    assert!(problems(&test(&outlet("pitot = 28, count = 2"))).is_empty());
    expect(
        &test(&format!("{}\nflow = «900»", outlet("pitot = 28"))),
        "one_of_two",
        "both flow and outlets",
        "keep flow or outlets",
    );
    expect(
        &test("outlets = «[]»"),
        "empty",
        "no outlets that flowed",
        "write flow = ",
    );
    expect(
        &test("outlets = «5»"),
        "wrong_type",
        "outlets of hydrant \"a\"",
        "a list of tables",
    );
    expect(
        &test("outlets = [«{ size = \"2.5 in\" }»]"),
        "missing",
        "outlet 1 of hydrant \"a\" has no pitot",
        "add pitot = ",
    );
    expect(
        &test(&outlet(
            "pitot = 28, shape = \"square\", coefficient = «0.8»",
        )),
        "one_of_two",
        "both coefficient and shape",
        "keep coefficient or shape",
    );
    expect(
        &test(&outlet("pitot = 28, shape = «\"sqare\"»")),
        "unknown_word",
        "sqare",
        "did you mean \"square\"?",
    );
    expect(
        &test(&outlet("pitot = 28, count = «1.5»")),
        "not_whole",
        "1.5",
        "",
    );
}

#[test]
fn a_main_is_that_of_a_hydrant_that_was_tested() {
    let tested = "[hydrant.corner]\nstatic = 70\nresidual = 50\nflow = 900\n";
    let near = |name: &str| format!("{tested}[hydrant.b]\nsame_main_as = {name}\n");
    assert!(problems(&near("\"corner\"")).is_empty());
    expect(
        &near("«\"cornr\"»"),
        "unknown_name",
        "hydrant \"b\": there is no hydrant \"cornr\"",
        "did you mean \"corner\"?",
    );
    expect(
        &near("«\"quarry\"»"),
        "unknown_name",
        "no hydrant \"quarry\"",
        "those with a test are corner",
    );
    // A bare number is a name too.
    expect(
        &near("«12»"),
        "unknown_name",
        "no hydrant \"12\"",
        "those with a test are corner",
    );
    expect(
        &near("«\"b\"»"),
        "unknown_name",
        "hydrant \"b\" has no test of its own",
        "name the hydrant that was tested",
    );
    expect(
        "[hydrant.b]\nsame_main_as = «\"c\"»\n",
        "unknown_name",
        "no hydrant \"c\"",
        "add the hydrant that was tested",
    );
    expect(
        &format!("{}residual = «50»\n", near("\"corner\"")),
        "one_of_two",
        "both residual and same_main_as",
        "keep residual or same_main_as",
    );
}

#[test]
fn a_draft_and_a_shuttle_ask_for_what_they_need() {
    expect(
        "«[draft.pond]»\n",
        "missing",
        "draft \"pond\" has no lift",
        "add lift = ",
    );
    expect(
        "[draft.pond]\nlift = «\"40 ft\"»\n",
        "out_of_range",
        "40 ft, but must be 0 ft to 34 ft",
        "check",
    );
    let shuttle = "[shuttle.s]\ntankers = TANKERS\ntank = \"3000 gal\"\ndistance = \"2 mi\"\nfill = FILL\ndump = \"2 min\"\ndump_tank = \"6000 gal\"\n";
    let with =
        |tankers: &str, fill: &str| shuttle.replace("TANKERS", tankers).replace("FILL", fill);
    assert!(problems(&with("3", "\"3 min\"")).is_empty());
    expect(
        &with("«2.5»", "3"),
        "not_whole",
        "tankers of shuttle \"s\" is 2.5",
        "",
    );
    expect(
        &with("«0»", "3"),
        "zero",
        "0, but must be 1 to 100",
        "check",
    );
    expect(&with("3", "«\"3 psi\"»"), "wrong_unit", "3 psi", "15 min");
    let less = shuttle
        .replace("tankers = TANKERS\n", "")
        .replace("FILL", "3");
    let less = less.replace("[shuttle.s]", "«[shuttle.s]»");
    expect(
        &less,
        "missing",
        "shuttle \"s\" has no tankers",
        "add tankers = 10",
    );
}

// ---- Rigs and appliances -----------------------------------------------------

#[test]
fn a_pump_test_falls_from_point_to_point() {
    let rig = |points: &str, rest: &str| format!("[rig.a]\npump_points = {points}\n{rest}");
    let one = "{ flow = 1000, pressure = 150 }";
    let two = "{ flow = 700, pressure = 200 }";
    assert!(problems(&rig(&format!("[{two}, {one}]"), "")).is_empty());
    for (points, message) in [
        (
            format!("[{one}, {two}]"),
            "from point to point flow must rise",
        ),
        (
            format!("[{one}, {one}]"),
            "from point to point flow must rise",
        ),
        (
            format!("[{one}]"),
            "a pump's capability needs two points or more, this has 1",
        ),
        (
            "[]".to_string(),
            "a pump's capability needs two points or more, this has 0",
        ),
    ] {
        expect(
            &rig(&format!("«{points}»"), ""),
            "bad_points",
            &format!("rig \"a\": {message}"),
            "the smallest flow with the highest pressure first",
        );
    }
    // A point that cannot be read is named, and nothing else.
    expect(
        &rig(
            &format!("[{two}, {{ flow = 1000, pressure = «\"150 gpm\"» }}]"),
            "",
        ),
        "wrong_unit",
        "pressure of pump point 2 of rig \"a\"",
        "psi",
    );
    expect(
        &rig(&format!("[{two}, «{{ flow = 1000 }}»]"), ""),
        "missing",
        "pump point 2 of rig \"a\" has no pressure",
        "add pressure",
    );
    expect(
        &rig(&format!("[{two}, {one}]"), "pump_rated_at = «\"10 bar\"»\n"),
        "missing",
        "rig \"a\" has pump_rated_at but no pump",
        "add pump = \"2000 L/min\"",
    );
    expect(
        "[rig.a]\npump_rated_at = «\"10 bar\"»\n",
        "missing",
        "rig \"a\" has pump_rated_at but no pump",
        "add pump = \"2000 L/min\"",
    );
}

#[test]
fn an_eductor_and_a_regulating_valve_have_keys_of_their_own() {
    let eductor = |rest: &str| {
        format!(
            "[appliance.e]\nkind = \"eductor\"\nflow = \"95 gpm\"\ninlet_pressure = \"200 psi\"\n{rest}"
        )
    };
    assert!(problems(&eductor("back_pressure = \"70 %\"")).is_empty());
    for share in ["«\"100 %\"»", "«0»"] {
        expect(
            &eductor(&format!("back_pressure = {share}")),
            "bad_share",
            "appliance \"e\": the limit of back-pressure must be above 0 and below 100 %",
            "write back_pressure = \"65 %\"",
        );
    }
    expect(
        "«[appliance.e]»\nkind = \"eductor\"\nflow = \"95 gpm\"\n",
        "missing",
        "appliance \"e\" has no inlet pressure",
        "add inlet_pressure = \"200 psi\"",
    );
    expect(
        "«[appliance.v]»\nkind = \"regulating-valve\"\n",
        "missing",
        "appliance \"v\" has no setting",
        "add setting = \"100 psi\"",
    );
    for (key, kind) in [
        ("flow = «95»", "eductor"),
        ("inlet_pressure = «200»", "eductor"),
        ("back_pressure = «0.65»", "eductor"),
        ("setting = «100»", "regulating-valve"),
    ] {
        let word = key.split(' ').next().unwrap();
        expect(
            &format!("[appliance.w]\nkind = \"wye\"\n{key}\n"),
            "not_its_key",
            &format!("appliance \"w\" is no {kind}, but has {word}"),
            &format!("leave {word} out, or write kind = \"{kind}\""),
        );
    }
}

#[test]
fn a_ratio_is_set_on_an_eductor_only() {
    let line = |appliance: &str, ratio: &str| {
        format!(
            "[appliance.e]\nkind = \"eductor\"\nflow = 95\ninlet_pressure = 200\n[line.a]\nparts = [{{ appliance = \"{appliance}\", ratio = {ratio} }}, {{ nozzle = \"150 gpm at 50 psi\" }}]\n"
        )
    };
    assert!(problems(&line("e", "\"3 %\"")).is_empty());
    expect(
        &line("appliance from 350 gpm", "«\"3 %\"»"),
        "not_its_key",
        "line \"a\": part 1: appliance \"appliance from 350 gpm\" is no eductor",
        "leave ratio out, or name an eductor",
    );
}

#[test]
fn an_attachment_is_one_of_the_nozzles_own() {
    let nozzle = "[nozzle.n]\nkind = \"fixed\"\nflow = 95\npressure = 100\nshutoff = \"ball\"\ncoupling = \"1.5 in NH\"\nbreaks_at = \"1.5 in NH\"\n";
    let tube = "attachment.low-tube = { expansion = 8, reach = \"60 ft\" }\n";
    let tip = |attachment: &str| {
        format!(
            "[line.a]\nparts = [{{ hose = \"1.75 in\", length = 200 }}, {{ nozzle = \"n\", attachment = {attachment} }}]\n"
        )
    };
    let with = |attachment: &str| format!("{nozzle}{tube}{}", tip(attachment));
    assert!(problems(&with("\"low-tube\"")).is_empty());
    expect(
        &with("«\"lowtube\"»"),
        "unknown_name",
        "line \"a\": part 2: nozzle \"n\" has no attachment \"lowtube\"",
        "did you mean \"low-tube\"?",
    );
    expect(
        &with("«\"sprayer\"»"),
        "unknown_name",
        "\"sprayer\"",
        "it has low-tube",
    );
    expect(
        &format!("{nozzle}{}", tip("«\"tube\"»")),
        "unknown_name",
        "part 2: nozzle \"n\" takes no attachment",
        "give the nozzle attachment.tube = { expansion = ",
    );
    // Left behind in the line there is only the shut-off.
    let extended = format!(
        "{nozzle}{tube}[line.a]\nparts = [{{ nozzle = \"n\", attachment = «\"low-tube\"» }}, {{ hose = \"1.75 in\", length = 200 }}, {{ nozzle = \"n\", tip_only = true }}]\n"
    );
    expect(
        &extended,
        "not_its_key",
        "only the shut-off of nozzle \"n\" is here",
        "put the attachment on the tip at the end",
    );
    expect(
        &format!("{nozzle}attachment.tube = «{{ expansion = 8 }}»\n"),
        "missing",
        "attachment \"tube\" of nozzle \"n\" has no reach",
        "add reach = ",
    );
    expect(
        &format!("{nozzle}attachment.tube = {{ expansion = «0.5», reach = 60 }}\n"),
        "out_of_range",
        "0.5, but must be 1 to 1000",
        "check",
    );
}

#[test]
fn a_height_beside_a_rise_gets_a_warning() {
    let body = format!(
        "{FIRE_GROUND}[scene.hill.rig.pumper-1]\nheight = \"-50 ft\"\nintake = [{{ hydrant = \"corner\", parts = [{{ hose = \"5 in\", length = \"50 ft\", rise = \"50 ft\" }}] }}]\nlines = [{{ line = \"large\" }}]\n"
    );
    let all = problems(&body);
    assert_eq!(all.len(), 1, "{all:?}");
    assert_eq!(all[0].code, "height_and_rise");
    assert_eq!(all[0].severity, book::Severity::Warning);
}

#[test]
fn a_scene_may_not_have_the_name_of_a_line() {
    let body = format!(
        "{FIRE_GROUND}[scene.large]\n[scene.large.rig.pumper-1]\nintake = [{{ tank = true }}]\nlines = [{{ line = \"large\" }}]\n"
    );
    let all = problems(&body);
    let taken = all.iter().find(|p| p.code == "name_taken").unwrap();
    assert!(
        taken
            .message
            .contains("scene \"large\" has the name of a line")
    );
    assert!(taken.line > 20 && taken.mend.contains("another name"));
}
