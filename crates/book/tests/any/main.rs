//! For all books: what is written reads as it was. For any bytes: they are read
//! or refused, and nothing panics.

#![allow(clippy::unwrap_used, clippy::panic)]

mod equipment;
mod lines;
mod quantities;
mod scenes;
mod water;

use book::{Book, Conditions, Crew, SceneConditions, Stated, layout, read, scene, schema, write};
use hydraulics::units::{Kind, System, psi};
use proptest::collection::vec;
use proptest::option::of;
use proptest::prelude::*;
use proptest::sample::Index;
use proptest::test_runner::RngSeed;
use quantities::{about, named, pressure, quantity, text};
use std::sync::LazyLock;

static VALIDATOR: LazyLock<jsonschema::Validator> =
    LazyLock::new(|| jsonschema::validator_for(&schema()).unwrap());

/// The department: its name, its water, what its crews can hold.
fn head() -> impl Strategy<Value = Book> {
    let pounds = |n: u32| Stated::read(Kind::Force, &format!("{n} lbf"), System::Us).unwrap();
    let crew = about().prop_map(move |about| Crew {
        one: pounds(60),
        two: pounds(75),
        three: pounds(95),
        about,
    });
    let water = quantity(Kind::Temperature, 33.0..60.0, &["F", "C", ""]);
    let money = of(prop_oneof![Just("USD".to_string()), "[a-z$€£]{1,8}"]);
    (text(), about(), of(water), of(crew), of(pressure()), money).prop_map(
        |(name, about, water, crew, pump_ceiling, money)| Book {
            money,
            name,
            about,
            water,
            crew,
            pump_ceiling,
            ..Book::default()
        },
    )
}

fn equipment() -> impl Strategy<Value = Book> {
    let carried = (
        named(equipment::hose(), 0..4),
        named(equipment::nozzle(), 0..4),
        named(equipment::appliance(), 0..4),
        named(equipment::rig(), 0..4),
        named(equipment::gauge(), 0..3),
    );
    let found = (
        water::hydrants(),
        named(water::draft(), 0..2),
        named(water::shuttle(), 0..2),
        named(water::standpipe(), 0..3),
    );
    (head(), carried, found).prop_map(|(book, carried, found)| {
        let (hose, nozzle, appliance, rig, gauge) = carried;
        let (hydrant, draft, shuttle, standpipe) = found;
        lines::equipped(Book {
            hose,
            nozzle,
            appliance,
            gauge,
            rig,
            hydrant,
            draft,
            shuttle,
            standpipe,
            ..book
        })
    })
}

fn a_book() -> impl Strategy<Value = Book> {
    let lines = vec((named(lines::line(), 1..2), of(any::<Index>())), 0..4);
    let book = (equipment(), lines).prop_map(|(mut book, lines)| {
        let rigs: Vec<String> = book.rig.keys().cloned().collect();
        for (line, rig) in lines {
            let rig = rig.filter(|_| !rigs.is_empty());
            for (name, mut line) in line {
                line.rig = rig.map(|index| index.get(&rigs).clone());
                book.line.insert(name, line);
            }
        }
        book
    });
    book.prop_flat_map(scenes::with_scenes)
        .prop_map(|mut book| {
            // A scene may not have the name of a line.
            let lines: Vec<String> = book.line.keys().cloned().collect();
            book.scene.retain(|name, _| !lines.contains(name));
            book
        })
}

const DEMO: &str = include_str!("../../../../books/saltmarsh-bend.toml");

/// Reading what was written gives the same book.
fn comes_back(bytes: &[u8]) -> Result<(), TestCaseError> {
    if let Ok(first) = read(bytes, "any.toml") {
        let text = write(&first);
        let second = read(text.as_bytes(), "written.toml");
        let second = second.map_err(|e| TestCaseError::fail(format!("{e:?}\n{text}")))?;
        prop_assert_eq!(first, second, "{}", text);
    }
    Ok(())
}

/// A stretch of the demo book, to put in place of another.
fn patch() -> impl Strategy<Value = Vec<u8>> {
    let demo = DEMO.as_bytes();
    prop_oneof![
        vec(any::<u8>(), 0..6),
        (0..demo.len(), 0..40usize)
            .prop_map(move |(at, n)| { demo[at..demo.len().min(at + n)].to_vec() }),
        prop_oneof![
            "[\\[\\]{}\"'=,.\n#-]",
            "-?[0-9]{1,4}",
            "\"[0-9.]{1,3} [a-zA-Z/]{1,5}\""
        ]
        .prop_map(String::into_bytes),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, rng_seed: RngSeed::Fixed(20_261_126), ..ProptestConfig::default() })]

    /// And an editor with the schema finds nothing wrong with it.
    #[test]
    fn law_any_book_reads_as_it_was_written(book in a_book()) {
        let text = write(&book);
        match read(text.as_bytes(), "written.toml") {
            Ok(back) => prop_assert_eq!(back, book, "{}", text),
            Err(problems) => prop_assert!(false, "{:?}\n{}", problems, text),
        }
        let values = serde_json::to_value(toml::from_str::<toml::Table>(&text).unwrap()).unwrap();
        let errors: Vec<String> = VALIDATOR.iter_errors(&values).map(|e| e.to_string()).collect();
        prop_assert!(errors.is_empty(), "{:?}\n{}", errors, text);
    }
}

/// Lays out and solves every line and scene of `book`.
fn lay_out(book: &Book) -> Result<(), TestCaseError> {
    let held = Conditions {
        pump_pressure: Some(psi(150.0)),
        ..Conditions::default()
    };
    let line = |name: &String| layout(book, name, &held).map(|laid| laid.lay);
    let scene =
        |name: &String| scene(book, name, &SceneConditions::default()).map(|laid| laid.layout.lay);
    for lay in book
        .line
        .keys()
        .map(line)
        .chain(book.scene.keys().map(scene))
    {
        let lay = lay.map_err(|e| TestCaseError::fail(format!("{e}\n{}", write(book))))?;
        let left = lay::solve(&lay).residual;
        // Far below what a gauge shows, and a drop a minute.
        let solved = left.flow.value < 1e-9 && left.pressure.value < 1.0;
        prop_assert!(solved, "{:?}\n{}", left, write(book));
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, rng_seed: RngSeed::Fixed(20_261_126), ..ProptestConfig::default() })]

    #[test]
    fn law_any_book_is_laid_out_and_solved(book in a_book()) {
        lay_out(&book)?;
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4000, failure_persistence: None, rng_seed: RngSeed::Fixed(20_261_126), ..ProptestConfig::default() })]

    #[test]
    fn law_a_changed_demo_book_is_read_or_refused(
        patches in vec((0..DEMO.len(), 0..30usize, patch()), 1..3)
    ) {
        let mut bytes = DEMO.as_bytes().to_vec();
        for (at, length, patch) in patches {
            let start = at.min(bytes.len());
            let end = bytes.len().min(start + length);
            bytes.splice(start..end, patch);
        }
        comes_back(&bytes)?;
    }

    #[test]
    fn law_any_bytes_are_read_or_refused(bytes in vec(any::<u8>(), 0..200), text in "[\\[\\]{}\"'=,.a-c\n# 0-9-]{0,120}") {
        comes_back(&bytes)?;
        comes_back(text.as_bytes())?;
    }
}
