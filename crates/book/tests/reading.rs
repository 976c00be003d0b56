//! Bad books: each problem is named at its place, with what would mend it, and
//! nothing panics.

#![allow(clippy::unwrap_used, clippy::panic)]

use book::{Problem, SIZE_LIMIT, Severity, examine, read};
use miette::Diagnostic;

/// A book with `body` after its head, and the problem of its line that is asked
/// for: its code, the text at its span, its message and its mend.
fn problems(body: &str) -> Vec<Problem> {
    let text = format!("[book]\nname = \"Example\"\n{body}");
    examine(text.as_bytes(), "example.toml")
        .problems
        .list()
        .to_vec()
}

/// The one problem of a book.
fn one(body: &str) -> (Problem, String) {
    let text = format!("[book]\nname = \"Example\"\n{body}");
    let all = problems(body);
    assert_eq!(all.len(), 1, "{body}: {all:?}");
    let problem = all[0].clone();
    let at = text[problem.span.clone()].to_string();
    (problem, at)
}

fn parts(parts: &str) -> String {
    format!("[line.a]\nparts = [{parts}]")
}

const HOSE: &str = r#"{ hose = "1.75 in", length = "200 ft" }"#;
const TIP: &str = r#"{ nozzle = "150 gpm at 50 psi" }"#;

#[track_caller]
fn expect(body: &str, code: &str, at: &str, message: &str, mend: &str) {
    let (problem, spot) = one(body);
    assert_eq!(problem.code, code, "{problem:?}");
    assert_eq!(spot, at, "{problem:?}");
    assert!(problem.message.contains(message), "{problem:?}");
    assert!(problem.mend.contains(mend), "{problem:?}");
}

#[test]
fn prices_say_what_they_are_for() {
    let hose =
        |price: &str| format!("[hose.a]\nsize = \"1.75 in\"\ncoefficient = 15.5\nprice = {price}");
    for wrong in ["\"320\"", "\"320 per bundle\"", "\"-3 per 50 ft\""] {
        expect(
            &hose(wrong),
            "bad_price",
            wrong,
            "price of hose \"a\"",
            "320 per 50 ft",
        );
    }
    assert!(problems(&hose("\"320 per 50 ft\"")).is_empty());
    let nozzle = "[nozzle.a]\nkind = \"smooth-bore\"\nbore = \"1 in\"\nstock = 1.5";
    expect(nozzle, "not_whole", "1.5", "stock", "without fraction");
    expect(
        "money = \"US dollars\"",
        "bad_money",
        "\"US dollars\"",
        "money",
        "1 to 8 letters",
    );
}

#[test]
fn a_misspelt_key_is_suggested() {
    let hose = "[hose.a]\nsize = \"1.75 in\"\ncoeficient = 15.5\ncoefficient = 15.5";
    expect(
        hose,
        "unknown_key",
        "coeficient",
        "hose \"a\" has no key",
        "did you mean \"coefficient\"?",
    );
    expect(
        "[hoes.a]",
        "unknown_key",
        "hoes",
        "the book has no key",
        "did you mean \"hose\"?",
    );
}

#[test]
fn a_wrong_or_unknown_unit_is_told() {
    let hose = |length| {
        parts(&format!(
            "{{ hose = \"1.75 in\", length = {length} }}, {TIP}"
        ))
    };
    expect(
        &hose("\"200 psi\""),
        "wrong_unit",
        "\"200 psi\"",
        "measures pressure",
        "\"200 ft\"",
    );
    expect(
        &hose("\"200 fet\""),
        "unknown_unit",
        "\"200 fet\"",
        "not a unit of length",
        "did you mean \"ft\"?",
    );
    expect(
        &hose("\"200 furlongs\""),
        "unknown_unit",
        "\"200 furlongs\"",
        "",
        "units of length are ft, m",
    );
    expect(
        &hose("\"long\""),
        "no_number",
        "\"long\"",
        "no number",
        "write it as \"200 ft\"",
    );
    expect(
        &hose("true"),
        "wrong_type",
        "true",
        "true or false",
        "a number and its unit",
    );
}

#[test]
fn numbers_that_mean_nothing_are_refused_with_the_range() {
    let hose = |length| {
        parts(&format!(
            "{{ hose = \"1.75 in\", length = {length} }}, {TIP}"
        ))
    };
    expect(
        &hose("\"-50 ft\""),
        "negative",
        "\"-50 ft\"",
        "-50 ft",
        "check",
    );
    expect(
        &hose("\"0 ft\""),
        "zero",
        "\"0 ft\"",
        "0 ft, but must be 1 ft to 10000 ft",
        "check",
    );
    expect(
        &hose("\"50 miles\""),
        "out_of_range",
        "\"50 miles\"",
        "1 ft to 10000 ft",
        "check",
    );
    expect(
        &hose("264000"),
        "out_of_range",
        "264000",
        "1 ft to 10000 ft",
        "check",
    );
    expect(&hose("nan"), "no_number", "nan", "no number", "200 ft");
    expect(&hose("inf"), "no_number", "inf", "no number", "200 ft");
    expect(
        &hose("\"1e999 ft\""),
        "not_finite",
        "\"1e999 ft\"",
        "1e999 ft",
        "200 ft",
    );
    let line = format!("[line.a]\npump_pressure = \"10,000 psi\"\nparts = [{HOSE}, {TIP}]");
    expect(
        &line,
        "out_of_range",
        "\"10,000 psi\"",
        "10,000 psi, but must be 1 psi to 600 psi",
        "check",
    );
    let gate = parts(&format!(
        "{HOSE}, {{ nozzle = \"150 gpm at 50 psi\", gate = 50 }}"
    ));
    expect(
        &gate,
        "out_of_range",
        "50",
        "0 % to 100 %",
        "write \"50 %\"",
    );
}

#[test]
fn a_missing_value_is_asked_for() {
    let hose = parts(&format!("{{ hose = \"1.75 in\" }}, {TIP}"));
    expect(
        &hose,
        "missing",
        "{ hose = \"1.75 in\" }",
        "part 1 of line \"a\" has no length",
        "add length = \"200 ft\"",
    );
    expect(
        "[line.a]",
        "missing",
        "[line.a]",
        "line \"a\" has no parts",
        "add parts = [ ... ]",
    );
    let nozzle = "[nozzle.a]\nkind = \"fixed\"\nflow = \"95 gpm\"";
    expect(
        nozzle,
        "missing",
        "[nozzle.a]",
        "nozzle \"a\" has no pressure",
        "pressure = \"100 psi\"",
    );
    let hose = "[hose.a]\nsize = \"1.75 in\"";
    expect(
        hose,
        "missing",
        "[hose.a]",
        "has no friction",
        "coefficient = 15.5",
    );
    let hose = "[hose.a]\nsize = \"1.75 in\"\nbore = \"45 mm\"";
    expect(
        hose,
        "missing",
        "\"45 mm\"",
        "bore but no roughness",
        "roughness",
    );
    let none = read(b"", "empty.toml").unwrap_err();
    assert_eq!(none.list()[0].code, "missing");
    assert_eq!((none.list()[0].line, none.list()[0].column), (1, 1));
}

#[test]
fn a_misspelt_name_is_suggested() {
    let hose = parts(&format!(
        "{{ hose = \"1.75in\", length = \"200 ft\" }}, {TIP}"
    ));
    expect(
        &hose,
        "unknown_name",
        "\"1.75in\"",
        "hose \"1.75in\"",
        "did you mean \"1.75 in\"?",
    );
    let own = format!(
        "[hose.attack]\nsize = \"1.75 in\"\ncoefficient = 15.5\n[line.a]\nparts = [{{ hose = \"atack\", length = \"200 ft\" }}, {TIP}]"
    );
    expect(
        &own,
        "unknown_name",
        "\"atack\"",
        "neither in the book nor",
        "did you mean \"attack\"?",
    );
    let rig = format!("[rig.pumper-1]\n[line.a]\nrig = \"pumper1\"\nparts = [{HOSE}, {TIP}]");
    expect(
        &rig,
        "unknown_name",
        "\"pumper1\"",
        "no rig \"pumper1\"",
        "did you mean \"pumper-1\"?",
    );
    let part = parts(&format!(
        "{{ hoes = \"1.75 in\", length = \"200 ft\" }}, {TIP}"
    ));
    expect(
        &part,
        "unknown_part",
        "hoes",
        "does not say what it is",
        "did you mean \"hose\"?",
    );
}

#[test]
fn a_setting_that_is_not_there_lists_those_that_are() {
    let tip = |rest| {
        parts(&format!(
            "{HOSE}, {{ nozzle = \"automatic 70 to 200 gpm\"{rest} }}"
        ))
    };
    expect(
        &tip(", setting = \"medium\""),
        "unknown_setting",
        "\"medium\"",
        "its settings are high, low",
        "one of high, low",
    );
    expect(
        &tip(", setting = \"hihg\""),
        "unknown_setting",
        "\"hihg\"",
        "no setting \"hihg\"",
        "did you mean \"high\"?",
    );
    expect(
        &tip(""),
        "no_setting",
        "{ nozzle = \"automatic 70 to 200 gpm\" }",
        "several settings",
        "setting = one of",
    );
    let fixed = parts(&format!(
        "{HOSE}, {{ nozzle = \"150 gpm at 50 psi\", setting = \"high\" }}"
    ));
    expect(
        &fixed,
        "unknown_setting",
        "\"high\"",
        "no settings",
        "leave setting out",
    );
    let flush = parts(&format!(
        "{HOSE}, {{ nozzle = \"150 gpm at 50 psi\", flush = true }}"
    ));
    expect(
        &flush,
        "no_regulator",
        "true",
        "cannot be flush",
        "only an automatic nozzle",
    );
    let listed = parts(&format!(
        "{HOSE}, {{ nozzle = \"selectable 30 to 125 gpm\", setting = \"95gpm\" }}"
    ));
    assert!(problems(&listed).is_empty());
}

#[test]
fn a_line_must_end_in_a_tip() {
    expect(
        &parts(""),
        "empty",
        "[]",
        "it has no parts",
        "write its parts",
    );
    expect(
        &parts(HOSE),
        "no_tip",
        HOSE,
        "no tip follows",
        "end the row with a nozzle",
    );
    let after = parts(&format!("{HOSE}, {TIP}, {HOSE}, {TIP}"));
    expect(
        &after,
        "after_tip",
        "\"150 gpm at 50 psi\"",
        "part 2",
        "breaks_at",
    );
    let branches = format!("{{ branches = [[{TIP}]] }}");
    let wye = "{ appliance = \"gated wye 2.5 to 1.5 in\" }";
    let not_last = parts(&format!("{wye}, {branches}, {TIP}"));
    expect(
        &not_last,
        "branches_not_last",
        &format!("[[{TIP}]]"),
        "another part follows",
        "legs",
    );
    let leg = parts(&format!("{{ legs = [[{HOSE}, {TIP}]] }}, {TIP}"));
    let codes: Vec<&str> = problems(&leg).iter().map(|p| p.code).collect();
    assert!(codes.contains(&"tip_in_leg"), "{codes:?}");
    let empty = parts(&format!("{wye}, {{ branches = [[], [{TIP}]] }}"));
    expect(
        &empty,
        "empty",
        "[]",
        "part 2, branch 1 has no parts",
        "write its parts",
    );
    let none = parts(&format!("{wye}, {{ branches = [] }}"));
    expect(
        &none,
        "empty",
        "[]",
        "there are no branches",
        "one row of parts",
    );
}

#[test]
fn a_tip_that_unscrews_can_be_extended() {
    let nozzle = "[nozzle.b]\nkind = \"fixed\"\nflow = \"150 gpm\"\npressure = \"50 psi\"\nshutoff = \"ball\"\ncoupling = \"1.5 in NH\"\nbreaks_at = \"1.5 in NH\"\n";
    let line = parts(&format!(
        "{HOSE}, {{ nozzle = \"b\" }}, {HOSE}, {{ nozzle = \"b\", tip_only = true }}"
    ));
    assert!(problems(&format!("{nozzle}{line}")).is_empty());
    let gate = parts(&format!(
        "{HOSE}, {{ nozzle = \"b\", tip_only = true, gate = 0.5 }}"
    ));
    expect(
        &format!("{nozzle}{gate}"),
        "no_shutoff",
        "0.5",
        "no shut-off here",
        "leave gate out",
    );
    let other = parts(&format!(
        "{HOSE}, {{ nozzle = \"150 gpm at 50 psi\", tip_only = true }}"
    ));
    expect(&other, "no_break", "true", "does not unscrew", "breaks_at");
}

#[test]
fn couplings_that_do_not_fit_name_the_adapter() {
    let down = parts(&format!(
        "{{ hose = \"2.5 in\", length = \"200 ft\" }}, {TIP}"
    ));
    expect(
        &down,
        "misfit",
        TIP,
        "(1.5 in NH female) cannot be screwed on to hose \"2.5 in\" (2.5 in NH male)",
        "{ appliance = \"reducer 2.5 to 1.5 in\" } before it",
    );
    let mended = parts(&format!(
        "{{ hose = \"2.5 in\", length = \"200 ft\" }}, {{ appliance = \"reducer 2.5 to 1.5 in\" }}, {TIP}"
    ));
    assert!(problems(&mended).is_empty());
    let unusual = parts(&format!(
        "{{ hose = \"150 mm\", length = \"60 m\" }}, {TIP}"
    ));
    expect(
        &unusual,
        "misfit",
        TIP,
        "150 mm symmetrical",
        "adapter 150 mm symmetrical to 1.5 in NH male",
    );
    // Branch by branch, on the outlet of its own.
    let wye = parts(&format!(
        "{{ appliance = \"water thief 2.5 in\" }}, {{ branches = [[{HOSE}, {TIP}], [{HOSE}, {TIP}]] }}"
    ));
    let (problem, _) = one(&wye);
    assert_eq!(problem.code, "misfit");
    assert!(
        problem.message.contains("part 2, branch 1, part 1"),
        "{problem:?}"
    );
    let many = parts(&format!(
        "{{ appliance = \"gated wye 2.5 to 1.5 in\" }}, {{ branches = [[{TIP}], [{TIP}], [{TIP}]] }}"
    ));
    assert!(problems(&many).iter().any(|p| p.code == "too_many"));
}

#[test]
fn a_wye_or_siamese_that_is_not_named_is_a_warning() {
    let wye = parts(&format!("{HOSE}, {{ branches = [[{TIP}], [{TIP}]] }}"));
    let (problem, _) = one(&wye);
    assert_eq!(
        (problem.code, problem.severity),
        ("no_wye", Severity::Warning)
    );
    let text = format!("[book]\nname = \"Example\"\n{wye}");
    assert!(read(text.as_bytes(), "example.toml").is_ok());
    let legs = parts(&format!("{{ legs = [[{HOSE}], [{HOSE}]] }}, {HOSE}, {TIP}"));
    assert_eq!(one(&legs).0.code, "no_siamese");
}

#[test]
fn a_test_outside_the_published_spread_is_a_warning() {
    let hose = "[hose.a]\nsize = \"1.75 in\"\ncoefficient = 15.5\nspread = [7, 15.5]\nmeasured = { coefficient = 22 }";
    let (problem, at) = one(hose);
    assert_eq!(
        (problem.code, problem.severity),
        ("outside_spread", Severity::Warning)
    );
    assert_eq!(at, "{ coefficient = 22 }");
}

#[test]
fn duplicates_are_refused_and_the_rest_is_still_checked() {
    let twice =
        "[hose.a]\nsize = \"1.75 in\"\nsize = \"2 in\"\ncoefficient = 15.5\ncolour = \"red\"";
    let found = problems(twice);
    let codes: Vec<&str> = found.iter().map(|p| p.code).collect();
    assert_eq!(codes, ["duplicate_key", "unknown_key"], "{found:?}");
    assert_eq!((found[0].line, found[0].column), (5, 1));
    let again = format!(
        "{}\n{}",
        parts(&format!("{HOSE}, {TIP}")),
        "[line.a]\nparts = []"
    );
    assert!(problems(&again).iter().any(|p| p.code == "duplicate_key"));
}

#[test]
fn ranges_that_fall_are_refused() {
    let nozzle = |flow, pressure| {
        format!(
            "[nozzle.a]\nkind = \"automatic\"\nsetting.high = {{ flow = {flow}, pressure = {pressure} }}"
        )
    };
    let (up, down) = ("[\"70 gpm\", \"200 gpm\"]", "[\"200 gpm\", \"70 gpm\"]");
    expect(
        &nozzle(down, "[\"94 psi\", \"106 psi\"]"),
        "reversed",
        down,
        "falls",
        "low value first",
    );
    expect(
        &nozzle(up, "[\"94 psi\"]"),
        "not_a_pair",
        "[\"94 psi\"]",
        "1 values",
        "two in brackets",
    );
    let steep = "[\"10 psi\", \"400 psi\"]";
    let (problem, _) = one(&nozzle(up, steep));
    assert_eq!(problem.code, "bad_range", "{problem:?}");
    let crew = "crew = { one = \"75 lbf\", two = \"60 lbf\", three = \"95 lbf\" }";
    assert_eq!(one(crew).0.code, "reversed");
}

#[test]
fn keys_of_another_kind_are_refused() {
    let nozzle = "[nozzle.a]\nkind = \"smooth-bore\"\nbore = \"1 in\"\nflow = \"95 gpm\"";
    expect(
        nozzle,
        "not_its_key",
        "\"95 gpm\"",
        "belongs to fixed nozzles",
        "leave flow out",
    );
    let hose = "[hose.a]\nsize = \"1.75 in\"\ncoefficient = 15.5\nbore = \"45 mm\"";
    expect(
        hose,
        "one_of_two",
        "\"45 mm\"",
        "both bore and coefficient",
        "keep bore or coefficient",
    );
    let aim = format!(
        "[line.a]\nparts = [{HOSE}, {TIP}]\naim = {{ flow = \"150 gpm\", reach = \"60 ft\" }}"
    );
    assert_eq!(one(&aim).0.code, "one_of_two");
    let part = parts(&format!("{{ hose = \"1.75 in\", nozzle = \"x\" }}, {TIP}"));
    assert_eq!(one(&part).0.code, "one_of_two");
}

#[test]
fn a_file_that_is_too_large_is_refused_at_once() {
    let bytes = vec![b'#'; 10_000_000];
    let start = std::time::Instant::now();
    let problems = read(&bytes, "large.toml").unwrap_err();
    assert!(start.elapsed().as_millis() < 100);
    let problem = &problems.list()[0];
    assert_eq!(problem.code, "too_large");
    assert_eq!(
        problem.message,
        "the file has 10000 kB; a book has at most 1000 kB"
    );
}

#[test]
fn bytes_that_are_not_text_are_placed() {
    let problems = read(b"[book]\nname = \"B\xfcrg\"\n", "latin.toml").unwrap_err();
    let problem = &problems.list()[0];
    assert_eq!(problem.code, "not_utf8");
    assert_eq!((problem.line, problem.column), (2, 10));
    assert!(problem.message.contains("0xFC"), "{problem:?}");
}

fn nested(depth: usize) -> String {
    let open = "[{ branches = [".repeat(depth);
    let close = "] }]".repeat(depth);
    format!("[line.a]\nparts = {open}[{TIP}]{close}")
}

#[test]
fn rows_that_lie_too_deep_are_refused() {
    assert!(
        problems(&nested(book::DEPTH_LIMIT))
            .iter()
            .all(|p| p.severity == Severity::Warning)
    );
    let (problem, _) = one(&nested(book::DEPTH_LIMIT + 1));
    assert_eq!(problem.code, "too_deep");
    assert!(
        problem.message.contains("9 deep") && problem.mend.contains("limit is 8"),
        "{problem:?}"
    );
    let deep = problems(&nested(1_000));
    let problem = deep
        .iter()
        .find(|p| p.code == "too_deep")
        .unwrap_or_else(|| panic!("{deep:?}"));
    assert!(problem.message.contains("3002 deep"), "{problem:?}");
    assert!(problem.mend.contains("8 deep"), "{problem:?}");
    for text in [
        "[".repeat(500_000),
        "{".repeat(500_000),
        "a={".repeat(300_000),
        "[[a.b]]\n".repeat(10_000),
    ] {
        assert!(read(text.as_bytes(), "deep.toml").is_err());
    }
}

#[test]
fn a_byte_order_mark_and_carriage_returns_are_accepted() {
    let text = "[book]\nname = \"Example\"\nunits = \"uz\"\n";
    let plain = read(text.as_bytes(), "a.toml").unwrap_err();
    let marked = format!("\u{feff}{}", text.replace('\n', "\r\n"));
    let windows = read(marked.as_bytes(), "a.toml").unwrap_err();
    let place = |p: &Problem| (p.line, p.column, p.message.clone());
    assert_eq!(place(&plain.list()[0]), place(&windows.list()[0]));
    assert!(read(marked.replace("uz", "us").as_bytes(), "a.toml").is_ok());
}

#[test]
fn bare_numbers_take_the_units_of_the_book() {
    let line = "[line.a]\nparts = [{ hose = \"65 mm\", length = 60 }, { nozzle = \"950 L/min at 7 bar\", gate = 0.5 }]";
    let text = format!(
        "[book]\nname = \"x\"\nunits = \"si\"\n[hose.a]\nsize = 45\ncoefficient = 24.6\n{line}"
    );
    let book = read(text.as_bytes(), "x").unwrap();
    let size = book.hose["a"].size.get();
    assert!((size.value - 0.045).abs() < 1e-12);
    let book::Part::Hose(hose) = &book.line["a"].parts[0] else {
        panic!()
    };
    assert_eq!(hose.length.get().value, 60.0);
    let book::Part::Nozzle(tip) = &book.line["a"].parts[1] else {
        panic!()
    };
    assert_eq!(tip.gate.as_ref().unwrap().get().value, 0.5);
}

#[test]
fn a_problem_can_be_drawn_with_its_text() {
    let (problem, _) = one("[hose.a]\nsize = \"1.75 psi\"\ncoefficient = 15.5");
    assert_eq!(problem.file(), "example.toml");
    assert_eq!(problem.code().unwrap().to_string(), "wrong_unit");
    let label = problem.labels().unwrap().next().unwrap();
    let source = problem.source_code().unwrap();
    let shown = source.read_span(label.inner(), 0, 0).unwrap();
    assert_eq!(std::str::from_utf8(shown.data()).unwrap(), "\"1.75 psi\"");
    assert_eq!((shown.line() + 1, problem.line), (4, 4));
    assert_eq!(
        format!("{problem:?}").split(' ').next(),
        Some("example.toml:4:8:")
    );
}

#[test]
fn text_that_is_no_toml_says_where() {
    let all = problems("[hose.a\nsize = \"1.75 in\"");
    assert!(all.iter().all(|p| p.code == "not_toml"), "{all:?}");
    assert_eq!(all[0].line, 3);
    let all = problems("[hose.a]\nsize = 1.75 in");
    assert_eq!((all[0].code, all[0].line), ("not_toml", 4));
    let all = problems("[nozzle.mundstück]\nkind = \"fixed\"");
    assert!(all[0].mend.contains("stands in quotes"), "{all:?}");
}

/// `count` copies of `text`, with the number of each in place of #.
fn copies(text: &str, count: usize) -> String {
    (0..count)
        .map(|n| text.replace('#', &n.to_string()))
        .collect()
}

/// Files nearly as long as a book may be, each the worst of its kind.
#[test]
fn long_bad_files_are_refused_with_few_words() {
    let unknown = "{ hose = \"x\", length = 5 }, ";
    let long = "n".repeat(400_000);
    let lines = "[line.l#]\nparts = [{ nozzle = \"n\", setting = \"x#\" }]\n";
    let nozzle = "[nozzle.n]\nkind = \"selectable\"\npressure = 100\n";
    let files = [
        copies("key# = 1\n", 60_000),
        copies("[hose.h#]\ncolour = 1\n", 35_000),
        parts(&copies(unknown, 30_000)),
        parts(&"[".repeat(900_000)),
        format!("[line.{long}]\nparts = [{}]", unknown.repeat(18_000)),
        format!("[hose.{long}]\n{}", parts(&unknown.repeat(18_000))),
        format!(
            "{nozzle}flows = [{}]\n{}",
            copies("1#, ", 30_000),
            copies(lines, 11_000)
        ),
        "\"\"\"".repeat(300_000),
        copies("[hydrant.h#]\nsame_main_as = \"x#\"\n", 20_000),
        copies("[scene.a.rig.r#]\nintake = [{ rig = \"s#\" }]\n", 18_000),
        format!(
            "[scene.a.rig.r]\nlines = [{}]",
            copies("{ line = \"l#\" }, ", 40_000)
        ),
        copies(
            "[scene.s#.rig.r]\nintake = [{ draft = \"d#\" }]\nlines = [{ line = \"l#\" }]\n",
            9_000,
        ),
        format!(
            "[rig.a]\npump_points = [{}]",
            "{ flow = 1 }, ".repeat(60_000)
        ),
    ];
    for file in files {
        let text = format!("[book]\nname = \"Example\"\n{file}");
        assert!(text.len() < SIZE_LIMIT);
        let problems = read(text.as_bytes(), "long.toml").unwrap_err();
        assert!((1..=100).contains(&problems.list().len()));
        assert!(format!("{problems:?}").len() < 10 * SIZE_LIMIT);
    }
}

#[test]
fn the_department_is_spoken_of_as_the_book() {
    let said = |body: &str| {
        let text = format!("[book]\nname = \"x\"\n{body}\n");
        let problems = book::read(text.as_bytes(), "x").unwrap_err();
        problems.list()[0].message.clone()
    };
    for (body, words) in [
        ("units = \"uz\"", "book's units"),
        (
            "pump_ceiling = \"99999 psi\"",
            "the book's pump ceiling is 99999 psi",
        ),
        (
            "crew = { one = \"99999 lbf\", two = \"75 lbf\", three = \"95 lbf\" }",
            "the book's crew limit for one person is 99999 lbf",
        ),
        (
            "crew = { one = \"75 lbf\", two = \"60 lbf\", three = \"95 lbf\" }",
            "the book's crew limits fall",
        ),
        (
            "crew = { one = \"75 lbf\" }",
            "the book's list of crew limits has no two",
        ),
        ("colour = 1", "the book has no key \"colour\""),
    ] {
        assert!(said(body).contains(words), "{}", said(body));
        assert!(!said(body).contains("book of the book"), "{}", said(body));
    }
}

#[test]
fn a_bad_colour_or_mark_is_told_at_its_place() {
    let line = |more: &str| format!("[line.a]\n{more}\nparts = [{HOSE}, {TIP}]");
    expect(
        &line("colour = \"gren\""),
        "bad_colour",
        "\"gren\"",
        "the colour of line \"a\" is \"gren\"",
        "did you mean \"green\"?",
    );
    expect(
        &line("colour = \"#12345\""),
        "bad_colour",
        "\"#12345\"",
        "the colour of line \"a\" is \"#12345\"",
        "write one of red, orange, yellow",
    );
    let (problem, _) = one(&line("mark = \"THIRTEEN CHRS\""));
    assert_eq!((problem.line, problem.column), (4, 8), "{problem:?}");
    assert_eq!(problem.code, "bad_mark");
    assert!(problem.message.contains("has 13 letters"), "{problem:?}");
    assert!(problem.mend.contains("1 to 12 letters"), "{problem:?}");
    for sound in ["colour = \"pink\"\nmark = \"2\"", "colour = \"#A0b1C2\""] {
        assert!(problems(&line(sound)).is_empty(), "{sound}");
    }
    expect(
        &line("color = \"red\""),
        "unknown_key",
        "color",
        "line \"a\" has no key \"color\"",
        "did you mean \"colour\"?",
    );
}

#[test]
fn a_form_that_the_shut_off_belies_is_told() {
    let nozzle =
        |more: &str| format!("[nozzle.b]\nkind = \"smooth-bore\"\nbore = \"1 in\"\n{more}");
    expect(
        &nozzle("form = \"shut-off with grip\""),
        "form_and_shutoff",
        "\"shut-off with grip\"",
        "its shut-off is none",
        "write shutoff",
    );
    expect(
        &nozzle("shutoff = \"ball\"\nform = \"tip\""),
        "form_and_shutoff",
        "\"tip\"",
        "its shut-off is ball",
        "another form",
    );
    expect(
        &nozzle("form = \"tips\""),
        "unknown_word",
        "\"tips\"",
        "the form of nozzle \"b\"",
        "did you mean \"tip\"?",
    );
    assert!(problems(&nozzle("form = \"play pipe\"")).is_empty());
}

fn gauge(body: &str) -> String {
    format!("[gauge.line]\n{body}")
}

#[test]
fn a_gauge_says_what_it_measures_and_how_well() {
    let text = "[book]\nname = \"x\"\n[gauge.line]\nmeasures = \"pressure\"\nserial = \"G-104\"\nstep = 2\naccuracy = [\"1 %\", \"3 psi\"]\nswing = \"1 psi\"\nhighest = \"400 psi\"\ncalibrated = 2026-03-02\n[gauge.meter]\nmeasures = \"flow\"\nserial = 88\nstep = \"5 gpm\"\naccuracy = \"2 %\"\n";
    let book = read(text.as_bytes(), "x").unwrap_or_else(|e| panic!("{e:?}"));
    let (line, meter) = (&book.gauge["line"], &book.gauge["meter"]);
    let psi = hydraulics::units::psi(1.0).value;
    let close = |found: Option<f64>, wanted: f64| (found.unwrap() - wanted).abs() < 1e-6 * wanted;
    for (found, wanted) in line.si().into_iter().zip([2.0, 3.0, 1.0, 400.0]) {
        assert!(close(found, wanted * psi), "{found:?}: {wanted} psi");
    }
    assert_eq!(line.accuracy_share.as_ref().unwrap().text(), "1 %");
    assert_eq!(line.serial.as_deref(), Some("G-104"));
    assert_eq!(line.calibrated.as_deref(), Some("2026-03-02"));
    assert!(meter.is_flow() && !line.is_flow());
    assert_eq!(meter.serial.as_deref(), Some("88"));
    assert_eq!(meter.si()[1], None);
    assert!(close(meter.si()[0], 5.0 * 6.309_019_64e-5));
    assert_eq!(meter.accuracy_share.as_ref().unwrap().get().value, 0.02);
}

#[test]
fn a_gauge_that_cannot_be_is_refused() {
    let pressure = |rest: &str| gauge(&format!("measures = \"pressure\"\n{rest}"));
    expect(
        &gauge("step = \"2 psi\""),
        "missing",
        "[gauge.line]",
        "gauge \"line\" has no measures",
        "add measures = \"pressure\"",
    );
    expect(
        &gauge("measures = \"presure\""),
        "unknown_word",
        "\"presure\"",
        "the measures of gauge \"line\" is \"presure\"",
        "did you mean \"pressure\"?",
    );
    expect(
        &pressure("step = \"5 gpm\""),
        "wrong_unit",
        "\"5 gpm\"",
        "the step of gauge \"line\" is \"5 gpm\"",
        "\"150 psi\"",
    );
    expect(
        &pressure("calibrated = \"2026-02-30\""),
        "bad_date",
        "\"2026-02-30\"",
        "the calibrated of gauge \"line\"",
        "2026-05-11",
    );
    expect(
        &pressure("calibrated = \"last spring\""),
        "bad_date",
        "\"last spring\"",
        "\"last spring\"",
        "year, month and day",
    );
    expect(
        &pressure("accuracy = [\"3 psi\", \"0.2 bar\"]"),
        "one_of_two",
        "\"0.2 bar\"",
        "the accuracy of gauge \"line\" is there twice",
        "[\"3 psi\", \"1 %\"]",
    );
    expect(
        &pressure("accuracy = \"200 %\""),
        "out_of_range",
        "\"200 %\"",
        "200 %, but must be 0 % to 100 %",
        "check the number",
    );
    expect(
        &pressure("step = 0"),
        "zero",
        "0",
        "the step of gauge \"line\" is 0, but must be above nought",
        "leave step out",
    );
    expect(
        &pressure("step = \"60 psi\"\nhighest = \"60 psi\""),
        "bad_range",
        "\"60 psi\"",
        "the step of gauge \"line\" is 60 psi, as much as its whole scale of 60 psi",
        "check both numbers",
    );
    expect(
        &pressure("last_tested = \"2026-03-02\""),
        "unknown_key",
        "last_tested",
        "gauge \"line\" has no key \"last_tested\"",
        "calibrated",
    );
}

fn fixed(measured: &str) -> String {
    format!("[nozzle.a]\nkind = \"fixed\"\nflow = 150\npressure = 50\n{measured}")
}

#[test]
fn a_measured_nozzle_that_cannot_be_is_refused() {
    expect(
        &fixed("measured = { flow = 143, coefficient = 0.97 }"),
        "unknown_key",
        "coefficient",
        "measured of nozzle \"a\" has no key \"coefficient\"",
        "the keys are flow",
    );
}

#[test]
fn a_measured_setting_must_be_one_of_the_nozzles() {
    let twin = "[nozzle.a]\nkind = \"automatic\"\nsetting.high = { flow = [70, 200], pressure = [94, 106] }\nmeasured.hihg = { flow = [72, 190], pressure = [97, 112] }";
    let (problem, _) = one(twin);
    assert_eq!(problem.code, "unknown_setting", "{problem:?}");
    assert_eq!(problem.mend, "did you mean \"high\"?");
    let falls = twin
        .replace("hihg", "high")
        .replace("[97, 112]", "[112, 97]");
    assert!(problems(&falls).iter().any(|p| p.code == "reversed"));
    let dated = fixed("measured = { flow = 143, date = \"2026-13-01\" }");
    expect(
        &dated,
        "bad_date",
        "\"2026-13-01\"",
        "the date of measured of nozzle \"a\"",
        "2026-05-11",
    );
    let far = fixed("measured = { flow = \"143 psi\" }");
    expect(
        &far,
        "wrong_unit",
        "\"143 psi\"",
        "the flow of measured of nozzle \"a\"",
        "gpm",
    );
}

#[test]
fn a_pump_keeps_its_rating_beside_its_own_test() {
    let rig = "[rig.a]\npump = 1250\npump_points = [{ flow = 600, pressure = 250 }, { flow = 1210, pressure = 150 }]\npump_tested = \"2026-04-02\"";
    assert!(problems(rig).is_empty());
    expect(
        "[rig.a]\npump = 1250\npump_tested = \"2026-04-02\"",
        "missing",
        "\"2026-04-02\"",
        "rig \"a\" has pump_tested but no pump_points",
        "pump_points = [",
    );
}
