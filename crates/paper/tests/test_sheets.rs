//! Plans and reports of tests, read back from the PDF and looked at.
#![allow(clippy::unwrap_used)]

mod common;
#[path = "common/tested.rs"]
mod tested;

use common::{demo, keep, on, pixels, text};
use hydraulics::units::System;
use paper::{Code, Kind, Sheet, Size, Tested, Units, test_report};
use study::figure::Figure;
use study::proof::{
    Day, Measured, Place, Plan, PlanPoint, Proof, Subject, Test, Wish, plan, prove,
};

/// The reader of PDFs puts spaces into some words.
fn bare(text: &str) -> String {
    text.replace([' ', '\u{200b}', '\u{a0}'], "")
}

#[track_caller]
fn says(read: &str, text: &str) {
    assert!(bare(read).contains(&bare(text)), "\"{text}\" in {read}");
}

const DAY: [(&str, &str); 3] = [
    ("Weather, wind", "dry, 12 C, light wind from the west"),
    ("At the pump", ""),
    ("At the gauges", ""),
];

fn report(test: &Test, proof: &Proof, units: Units) -> Sheet {
    let tested = Tested {
        test,
        proof,
        suspects: &[],
        after: None,
        day: &DAY,
    };
    test_report(&demo(), &tested, units)
}

/// Ink within 2 mm of an edge of the page, on any page.
fn over_the_edge(sheet: &Sheet, size: Size, name: &str) -> Vec<usize> {
    let document = paper::typeset(sheet, &on(size)).unwrap();
    keep(
        &document,
        &format!("{name}-{}-{}", size.word(), sheet.units.word()),
    );
    let mut wrong = Vec::new();
    for page in 0..document.pages().len() {
        let (width, height, grey) = pixels(&document, page, 1.0);
        let rim = 6;
        let ink = |x: usize, y: usize| grey[y * width + x] < 200;
        let rows = (0..height).any(|y| (0..rim).chain(width - rim..width).any(|x| ink(x, y)));
        let columns = (0..width).any(|x| (0..rim).chain(height - rim..height).any(|y| ink(x, y)));
        if rows || columns {
            wrong.push(page + 1);
        }
    }
    wrong
}

fn measured(value: &Measured, system: System) -> String {
    match value {
        Measured::Figure(figure) => tested::shown(*figure, system),
        number => number.show(system).replace('-', "\u{2212}"),
    }
}

#[test]
fn a_report_prints_the_figures_of_its_proof() {
    prints_its_proof(&tested::test(12), &tested::proof(12));
    let book = demo();
    let day = Day {
        tests: vec![tested::test(12)],
    };
    let proved = prove(&book, &day);
    assert!(
        !proved.proofs[0].found.is_empty(),
        "{:?}",
        proved.proofs[0].notices
    );
    prints_its_proof(&day.tests[0], &proved.proofs[0]);
}

fn prints_its_proof(test: &Test, proof: &Proof) {
    for (units, system) in [(Units::Us, System::Us), (Units::Si, System::Si)] {
        let read = text(&report(test, proof, units), Size::A4);
        for found in &proof.found {
            says(&read, &measured(&found.value, system));
            let [low, high] = found.between.map(|end| measured(&end, system));
            says(&read, &format!("95 % between {low} and {high}"));
            says(&read, &measured(found.book.as_ref().unwrap(), system));
            says(&read, &found.book_is);
        }
        for bound in &proof.bounds {
            says(&read, &bound.verdict.word().to_uppercase());
            for figure in bound.value.into_iter().chain(bound.least).chain(bound.most) {
                says(&read, &tested::shown(figure, system));
            }
            says(&read, bound.source);
            bound.settle.iter().for_each(|settle| says(&read, settle));
        }
        for seen in &proof.points {
            for (place, figure) in &seen.read {
                let shown = tested::shown(*figure, system);
                let number = match ["rise", "length"].contains(place) {
                    true => format!("{place} {shown}"),
                    // A column with a large flow has no tenths.
                    false => {
                        let column = proof.points.iter().flat_map(|p| &p.read);
                        let large =
                            |(at, f): &(&str, Figure)| at == place && f.value(System::Us) >= 500.0;
                        let plain = column.clone().any(large);
                        let shown = if plain { figure.show(system) } else { shown };
                        shown.split(' ').next().unwrap().to_string()
                    }
                };
                says(&read, &number);
            }
        }
        for seen in &proof.points {
            says(&read, &seen.remark);
            let left_out = seen.left_out.iter();
            left_out.for_each(|why| says(&read, &format!("left out: {why}")));
        }
        says(&read, &proof.law);
    }
}

/// The demo with another measured coefficient of its attack hose.
fn accepted() -> book::Book {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../books/saltmarsh-bend.toml"
    );
    let text = std::fs::read_to_string(path).unwrap();
    let other = text.replace(
        "measured = { coefficient = 14.2, date = \"2026-05-11\"",
        "measured = { coefficient = 13.6, date = \"2026-05-09\"",
    );
    assert_ne!(text, other);
    book::read(other.as_bytes(), "accepted.toml").unwrap()
}

#[test]
fn reports_stay_on_the_page_and_can_be_looked_at() {
    let after = accepted();
    let suspects = tested::suspects();
    for (name, count, reduced) in [
        ("short", 12, true),
        ("long", 60, true),
        ("not-reduced", 1, false),
    ] {
        let test = tested::test(count);
        let proof = if reduced {
            tested::proof(count)
        } else {
            tested::not_reduced()
        };
        for units in Units::ALL {
            for size in Size::ALL {
                if size == Size::Pocket && (name, units) != ("not-reduced", Units::Us) {
                    // All reports come on full pages.
                    assert_ne!(Kind::TestReport.size(size, units), size);
                    continue;
                }
                let whole = Tested {
                    test: &test,
                    proof: &proof,
                    suspects: if reduced { &suspects } else { &[] },
                    after: (name == "short" && units != Units::Si).then_some(&after),
                    day: &DAY,
                };
                let sheet = test_report(&demo(), &whole, units);
                let wrong = over_the_edge(&sheet, size, &format!("report-{name}"));
                assert!(wrong.is_empty(), "{name}, {}: {wrong:?}", size.word());
            }
        }
    }
}

#[test]
fn a_report_of_long_names_and_other_alphabets_stays_on_the_page() {
    let long = "donaudampfschifffahrtsgesellschaftsschlauch-Östlich-Служба-Πυροσβεστική";
    let mut test = tested::test(9);
    let mut proof = tested::proof(9);
    let subject = study::proof::Subject::Hose {
        hose: long.into(),
        find: study::proof::Find::C,
    };
    (test.subject, proof.subject) = (subject.clone(), subject);
    test.readings
        .iter_mut()
        .for_each(|r| r.gauge = format!("{} {long} {}", r.gauge, "W".repeat(60)));
    proof
        .points
        .iter_mut()
        .for_each(|p| p.remark = format!("{long}{long}"));
    proof.law = format!("{long} {}", "ξ".repeat(90));
    for size in [Size::A4, Size::Letter] {
        let sheet = report(&test, &proof, Units::Both);
        let wrong = over_the_edge(&sheet, size, "report-names");
        assert!(wrong.is_empty(), "{}: {wrong:?}", size.word());
        says(&text(&sheet, size), "Πυροσβεστική");
    }
}

#[test]
fn a_report_says_which_book_and_which_lines_changed_when_it_was_accepted() {
    let (before, after) = (demo(), accepted());
    let (test, proof) = (tested::test(12), tested::proof(12));
    let whole = Tested {
        test: &test,
        proof: &proof,
        suspects: &[],
        after: Some(&after),
        day: &[],
    };
    let read = text(&test_report(&before, &whole, Units::Us), Size::A4);
    // C 13.6 for 14.2 at 150 gpm through 200 ft: 2.7 psi less.
    says(&read, "13.6");
    for line in ["left-crosslay", "right-crosslay"] {
        let pump = |book: &book::Book| {
            let answer = study::solve(book, line, &book::Conditions::default()).unwrap();
            study::figure::pressure(answer.pump_pressure).show(System::Us)
        };
        assert_ne!(pump(&before), pump(&after), "{line}");
        let title = before.line[line].title.as_deref().unwrap_or(line);
        says(
            &read,
            &format!("{title} {} {}", pump(&before), pump(&after)),
        );
    }
    let unchanged = before.line["monitor"].title.as_deref().unwrap_or("monitor");
    assert!(!bare(&read).contains(&bare(unchanged)), "{unchanged}");
    let open = Tested {
        after: None,
        ..whole
    };
    says(
        &text(&test_report(&before, &open, Units::Us), Size::A4),
        "not in the book yet",
    );
}

#[test]
fn what_cannot_be_reduced_has_its_reason_and_readings_and_no_result() {
    let read = text(
        &report(&tested::test(1), &tested::not_reduced(), Units::Us),
        Size::Letter,
    );
    says(&read, "The test could not be reduced");
    says(
        &read,
        "One point is too few for a coefficient. Take at least three, at different flows.",
    );
    says(&read, "10:01 100.0 77.2 50.0");
    for absent in ["What was found", "What it proves", "Friction coefficient C"] {
        assert!(!bare(&read).contains(&bare(absent)), "{absent} in {read}");
    }
}

#[test]
fn gauges_have_their_numbers_and_an_old_calibration_is_said() {
    let mut test = tested::test(5);
    test.date = "2028-05-09".into();
    let mut proof = tested::proof(5);
    proof.date = test.date.clone();
    let read = text(&report(&test, &proof, Units::Us), Size::A4);
    for words in [
        "line-gauge-1 inlet pressure G-104 2.0 psi 3.0 psi 2026-03-02 over a year before",
        "2.0 % of reading",
    ] {
        says(&read, words);
    }
    let read = text(
        &report(&tested::test(5), &tested::proof(5), Units::Us),
        Size::A4,
    );
    assert!(!read.contains("over a year"), "{read}");
}

#[test]
fn a_suspect_gauge_and_a_point_that_stands_out_are_told_with_their_figures() {
    let (test, proof, suspects) = (tested::test(12), tested::proof(12), tested::suspects());
    let whole = Tested {
        test: &test,
        proof: &proof,
        suspects: &suspects,
        after: None,
        day: &[],
    };
    let read = text(&test_report(&demo(), &whole, Units::Us), Size::A4);
    says(
        &read,
        "Gauge line-gauge-2: off by 8.2 psi (95 %: 5.9 psi to 10.5 psi)",
    );
    says(&read, "less than 1 in 10 000");
    says(&read, "Point 7 (10:07) is 9.8 psi off");
}

#[test]
fn law_the_same_test_gives_the_same_bytes_and_another_figure_another_code() {
    let press = |proof: &Proof| {
        paper::press(
            &report(&tested::test(12), proof, Units::Both),
            &on(Size::A4),
        )
        .unwrap()
    };
    let proof = tested::proof(12);
    assert!(press(&proof) == press(&proof));
    let mut other = proof.clone();
    other.points[4].read[1].1 = other.points[4].read[2].1;
    let code = |proof: &Proof| Code::of(&report(&tested::test(12), proof, Units::Us), Some(3));
    assert_ne!(code(&proof), code(&other));
    let typed: Code = code(&proof).to_string().parse().unwrap();
    assert_eq!((typed, typed.kind), (code(&proof), Kind::TestReport));
}

#[test]
fn a_sheet_of_a_test_is_not_made_from_a_book_alone() {
    for kind in Kind::OF_A_TEST {
        assert!(kind.is_of_a_test() && !Kind::ALL.contains(&kind));
        assert_eq!(Kind::called(kind.word()), Some(kind));
        let error = kind.sheet(&demo(), "attack", Units::Us).unwrap_err();
        assert!(error.to_string().contains("from a test day"), "{error}");
    }
}

fn planned(subjects: &[Subject], share: f64) -> Plan {
    let wish = Wish {
        share,
        date: "2026-06-20".into(),
        ..Wish::default()
    };
    plan(&demo(), subjects, &wish).unwrap()
}

fn of_every_kind() -> Vec<Subject> {
    [
        ("hose", "attack"),
        ("nozzle", "twin: high"),
        ("pump", "pumper-1"),
        ("hydrant", "mill-street"),
        ("service test", "attack"),
    ]
    .map(|(kind, about)| Subject::called(kind, about).unwrap())
    .to_vec()
}

#[test]
fn a_plan_has_a_row_of_boxes_for_every_point_and_repeat() {
    let book = demo();
    let plan = planned(&of_every_kind(), 0.05);
    for (units, system) in [(Units::Us, System::Us), (Units::Si, System::Si)] {
        let sheet = paper::test_plan(&book, &plan, "2026-06-20", units);
        let read = text(&sheet, Size::A4);
        for (item, body) in plan
            .items
            .iter()
            .zip(sheet.body["items"].as_array().unwrap())
        {
            let rows = body["rows"].as_array().unwrap();
            assert_eq!(rows.len(), item.points.len() * item.repeats as usize);
            let numbers: Vec<u64> = rows
                .iter()
                .map(|row| row["number"].as_u64().unwrap())
                .collect();
            assert_eq!(numbers, (1..=rows.len() as u64).collect::<Vec<_>>());
            says(&read, &item.layout);
            let sound = rows.iter().filter(|row| row["too_high"] == false);
            let sound: Vec<&str> = sound.map(|row| row["target"].as_str().unwrap()).collect();
            assert!(!sound.is_empty(), "{}", item.title);
            for point in item.points.iter().filter(|point| !is_too_high(point)) {
                let (place, figure) = point.steer;
                says(
                    &read,
                    &format!("set {}", figure.show(system).replace('-', "\u{2212}")),
                );
                for (at, figure) in &point.expected {
                    let boxed = *at != place && !["rise", "length"].contains(&at.word());
                    let shown = figure.show(system).replace('-', "\u{2212}");
                    boxed.then(|| says(&read, &format!("expect {shown}")));
                }
            }
            for at in item.gauges.iter().filter(|at| !at.gauge.is_empty()) {
                let serial = book.gauge[&at.gauge].serial.as_deref();
                serial
                    .into_iter()
                    .chain([at.gauge.as_str()])
                    .for_each(|words| says(&read, words));
            }
        }
        for words in [
            "may stop the test",
            "service pressure",
            "whips",
            "Tie the nozzle",
            "slowly",
            "Ears and eyes",
            "Electricity",
            "frost",
            "authority having jurisdiction",
            "makers' instructions",
            "Water temperature",
            "Weather",
        ] {
            says(&read, words);
        }
    }
}

/// Above the 270 psi of the demo's attack hose.
fn is_too_high(point: &PlanPoint) -> bool {
    let inlet = point.expected.iter().find(|(at, _)| *at == Place::Inlet);
    inlet.is_some_and(|(_, figure)| figure.value(System::Us) > 270.0)
}

#[test]
fn a_point_above_the_service_pressure_has_no_boxes() {
    let mut plan = planned(&of_every_kind()[..1], 0.05);
    let readings = |plan: &Plan| {
        let sheet = paper::test_plan(&demo(), plan, "", Units::Us);
        let rows = sheet.body["items"][0]["rows"].as_array().unwrap().clone();
        rows.iter()
            .map(|row| row["too_high"] == true)
            .collect::<Vec<bool>>()
    };
    let at = |psi: f64| study::figure::pressure(hydraulics::units::psi(psi));
    for point in &mut plan.items[0].points {
        let inlet = point
            .expected
            .iter_mut()
            .find(|(at, _)| *at == Place::Inlet);
        inlet.unwrap().1 = at(if point.number == 2 { 271.0 } else { 270.0 });
    }
    let wrong: Vec<bool> = (1..)
        .take(readings(&plan).len())
        .map(|n| (n - 1) % plan.items[0].points.len() == 1)
        .collect();
    assert_eq!(readings(&plan), wrong);
    let read = text(&paper::test_plan(&demo(), &plan, "", Units::Us), Size::A4);
    says(
        &read,
        "Leave this point out: it would take the hose above its service pressure",
    );
    assert!(!bare(&read).contains("271psi"), "{read}");
}

#[test]
fn plans_stay_on_the_page_and_can_be_looked_at() {
    let book = demo();
    let all = of_every_kind();
    for (name, subjects, share) in [("hose", &all[..1], 0.05), ("all", &all[..], 0.1)] {
        for units in Units::ALL {
            for size in Size::ALL {
                let sheet = paper::test_plan(&book, &planned(subjects, share), "2026-06-20", units);
                let wrong = over_the_edge(&sheet, size, &format!("plan-{name}"));
                assert!(wrong.is_empty(), "{name}, {}: {wrong:?}", size.word());
            }
        }
    }
    let read = text(
        &paper::test_plan(&book, &planned(&all[..1], 0.05), "", Units::Us),
        Size::Pocket,
    );
    says(&read, "this plan comes on a full page, not on pocket paper");
}

#[test]
fn a_plan_without_gauges_and_with_long_names_has_empty_boxes() {
    let long = "donaudampfschifffahrtsgesellschaftsschlauch-Östlich-Служба";
    let text_of_book = format!(
        "[book]\nname = 'Example'\n[hose.'{long}']\nsize = '1.75 in'\ncoefficient = 15.5\n"
    );
    let book = book::read(text_of_book.as_bytes(), "example.toml").unwrap();
    let subject = Subject::called("hose", long).unwrap();
    let plan = plan(&book, &[subject], &Wish::default()).unwrap();
    let sheet = paper::test_plan(&book, &plan, "", Units::Both);
    assert!(over_the_edge(&sheet, Size::A4, "plan-names").is_empty());
    says(
        &text(&sheet, Size::A4),
        "how closely is not known before all gauges are told",
    );
    let gauges = sheet.body["items"][0]["gauges"].as_array().unwrap();
    assert_eq!(gauges.len(), 3);
    assert!(
        gauges
            .iter()
            .all(|g| g["name"] == "" && g["calibrated"].is_null())
    );
    assert_eq!(sheet.body["day"][0], serde_json::json!(["Date", ""]));
}

/// A book whose hose, nozzles and pump were measured, beside what was published.
fn measured_book() -> book::Book {
    let text = "[book]\nname = 'Example'\n\
        [rig.pumper]\npump = '1250 gpm'\n\
        pump_points = [{ flow = '600 gpm', pressure = '250 psi' }, { flow = '1210 gpm', pressure = '150 psi' }]\n\
        pump_tested = '2026-04-02'\n\
        [hose.red]\nsize = '1.75 in'\ncoefficient = 15.5\n\
        measured = { coefficient = 13.6, date = '2026-05-09', source = 'own test' }\n\
        [nozzle.fog]\nkind = 'fixed'\nflow = '150 gpm'\npressure = '50 psi'\n\
        measured = { flow = '143 gpm', uncertainty = '4 gpm', date = '2026-05-10', source = 'own test' }\n\
        [line.left]\nrig = 'pumper'\nparts = [{ hose = 'red', length = '200 ft' }, { nozzle = 'fog' }]\n\
        aim = { tip_pressure = '50 psi' }\n";
    book::read(text.as_bytes(), "measured.toml").unwrap()
}

#[test]
fn ordinary_sheets_say_what_was_measured_and_when() {
    let book = measured_book();
    for (kind, days) in [
        (Kind::LineCard, ["2026-05-09", "2026-05-10"].as_slice()),
        (Kind::Handout, &["2026-05-09", "2026-05-10"]),
        (Kind::PumpChart, &["2026-04-02", "2026-05-09", "2026-05-10"]),
        (Kind::SlideChart, &["2026-05-09", "2026-05-10"]),
        (Kind::Labels, &["2026-05-09", "2026-05-10"]),
        (Kind::Nomogram, &["2026-05-09"]),
        (Kind::NozzleSheet, &["2026-05-10"]),
    ] {
        let subject = kind.subjects(&book)[0];
        let sheet = kind.sheet(&book, subject, Units::Us).unwrap();
        let sources = sheet.sources.join(" ");
        let read = text(&sheet, Size::A4);
        for day in days {
            let told = sheet
                .sources
                .iter()
                .any(|s| s.contains("measured") && s.contains(day));
            assert!(told, "{} does not say {day}: {sources}", kind.word());
            says(&read, day);
        }
    }
    // 150 gpm at 50 psi is the rating; the test found 143.
    let sheet = paper::nozzle_sheet(&book, "fog", Units::Us).unwrap();
    let read = text(&sheet, Size::A4);
    says(&read, "Rated 150 gpm at 50 psi");
    says(&read, "own test, not by the rating");
    let alt = &sheet.drawings[0].alt;
    for words in ["Measured: 143 gpm at 50 psi", "Rated: 150 gpm at 50 psi"] {
        assert!(alt.contains(words), "{words} in {alt}");
    }
}

/// The shipped test day, made up, on which one gauge is off.
fn shipped() -> Day {
    let path = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../books/saltmarsh-bend-test-day.csv"
    );
    let csv = std::fs::read(path).unwrap();
    let taken = study::proof::read_day(&csv, "test-day.csv", &demo(), None).unwrap();
    assert!(taken.problems.is_empty(), "{:?}", taken.problems);
    taken.day
}

#[test]
fn the_reports_of_the_shipped_day_print_their_proofs_and_name_the_bad_gauge() {
    let book = demo();
    let day = shipped();
    let proved = prove(&book, &day);
    assert!(!proved.suspects.is_empty());
    for (test, proof) in day.tests.iter().zip(&proved.proofs) {
        prints_its_proof(test, proof);
        let whole = Tested {
            test,
            proof,
            suspects: &proved.suspects,
            after: None,
            day: &DAY,
        };
        for units in Units::ALL {
            let sheet = test_report(&book, &whole, units);
            let name = format!("day-{}", proof.subject).replace([' ', ':'], "-");
            let wrong = over_the_edge(&sheet, Size::Letter, &name);
            assert!(wrong.is_empty(), "{}: {wrong:?}", proof.subject);
            let read = text(&sheet, Size::Letter);
            for suspect in &proved.suspects {
                let words = bare(&format!("Gauge {}: off by", suspect.gauges.join(" or ")));
                let read_with = suspect.gauges.iter().any(|g| proof.gauges.contains(g));
                assert_eq!(bare(&read).contains(&words), read_with, "{words} in {read}");
            }
        }
    }
}
