//! Any sequence of edits: nothing panics, and what comes out is sound.

use crate::amending::tables;
use crate::{BOOKS, demo, hose, nozzle, path, ways};
use book::{
    AppliancePart, Book, Conditions, Edit, Part, Path, Severity, Stated, Step, amend, check, edit,
    edit_and_adapt, layout, read,
};
use hydraulics::units::{Kind, System, psi};
use proptest::collection::vec;
use proptest::prelude::*;
use proptest::sample::Index;
use proptest::test_runner::RngSeed;

fn appliance(name: &str) -> Part {
    Part::Appliance(AppliancePart {
        appliance: name.into(),
        ..AppliancePart::default()
    })
}

fn part() -> impl Strategy<Value = Part> {
    let pool = vec![
        hose("attack", "50 ft"),
        hose("large", "100 ft"),
        hose("2.5 in", "25 m"),
        hose("neighbour", "20 m"),
        hose("nobody", "50 ft"),
        hose("attack", "0 ft"),
        nozzle("twin", Some("low")),
        nozzle("fifteen-sixteenths", None),
        nozzle("150 gpm at 50 psi", None),
        nozzle("breakaway", None),
        nozzle("bumper", Some("9 gpm")),
        appliance("gated wye 2.5 to 1.5 in"),
        appliance("siamese 2.5 in"),
        appliance("reducer 2.5 to 1.5 in"),
        appliance("eductor 95 gpm"),
        Part::Branches(vec![]),
        Part::Branches(vec![vec![nozzle("150 gpm at 50 psi", None)]]),
        Part::Legs(vec![
            vec![hose("attack", "50 ft")],
            vec![hose("attack", "60 ft")],
        ]),
    ];
    proptest::sample::select(pool)
}

fn any_path() -> impl Strategy<Value = Path> {
    let step = prop_oneof![
        (0..4usize).prop_map(Step::Part),
        (0..3usize).prop_map(Step::Branch),
        (0..3usize).prop_map(Step::Leg),
        (0..3usize).prop_map(Step::Outlet),
        Just(Step::Part(usize::MAX)),
    ];
    vec(step, 0..6).prop_map(Path)
}

/// A change, given the ways of its line.
#[derive(Debug, Clone)]
struct Change {
    line: Index,
    way: Index,
    stray: Option<Path>,
    kind: u8,
    parts: Vec<Part>,
}

fn change() -> impl Strategy<Value = Change> {
    let stray = proptest::option::weighted(0.1, any_path());
    let all = (
        any::<Index>(),
        any::<Index>(),
        stray,
        0..18u8,
        vec(part(), 1..3),
    );
    all.prop_map(|(line, way, stray, kind, parts)| Change {
        line,
        way,
        stray,
        kind,
        parts,
    })
}

impl Change {
    fn edit(&self, book: &Book) -> (String, Edit) {
        let names: Vec<&String> = book.line.keys().collect();
        let Some(name) = (!names.is_empty()).then(|| self.line.get(&names).to_string()) else {
            return ("gone".into(), Edit::Delete);
        };
        let ways = ways(&book.line[&name].parts, &Path::default());
        let at = self
            .stray
            .clone()
            .unwrap_or_else(|| self.way.get(&ways).clone());
        let one = self.parts[0].clone();
        let stated = |text| Stated::read(Kind::Pressure, text, System::Us).unwrap();
        let edit = match self.kind {
            0 | 1 => Edit::Put(at, one),
            2 | 3 => Edit::Insert(at, self.parts.clone()),
            4 | 5 => Edit::Remove(at),
            6 => Edit::Earlier(at),
            7 => Edit::Later(at),
            8 => Edit::Divide {
                at,
                appliance: None,
            },
            9 => Edit::Divide {
                at,
                appliance: one.name().map(String::from),
            },
            10 => Edit::AddRow(at),
            11 => Edit::Twin(at),
            12 => Edit::Title(Some("A \"new\" title # here\r\n".into())),
            13 => Edit::PumpPressure(Some(stated("145 psi"))),
            14 => Edit::Marking(book::marking("red", "A").unwrap()),
            15 => Edit::Copy(format!("{name} 2")),
            16 => Edit::Rename(format!("{name}'")),
            _ => Edit::Delete,
        };
        (name, edit)
    }
}

/// Every line holds together, and is laid out and solved.
fn sound(book: &Book) -> Result<(), TestCaseError> {
    let faults = check(book);
    let errors: Vec<_> = faults
        .iter()
        .filter(|f| f.severity == Severity::Error)
        .collect();
    prop_assert!(errors.is_empty(), "{:?}", errors);
    Ok(())
}

fn solved(book: &Book, name: &str) -> Result<(), TestCaseError> {
    let held = Conditions {
        pump_pressure: Some(psi(150.0)),
        ..Conditions::default()
    };
    if let Ok(laid) = layout(book, name, &held) {
        let left = lay::solve(&laid.lay).residual;
        prop_assert!(
            left.flow.value < 1e-9 && left.pressure.value < 1.0,
            "{:?}",
            left
        );
    }
    Ok(())
}

/// Every table but that of the line is there to the byte.
fn untouched(was: &str, is: &str, line: &str) -> Result<(), TestCaseError> {
    let bodies = |text: &str| -> Vec<(String, String)> {
        let said = |l: &&str| !l.trim().is_empty() && !l.starts_with('#');
        let body = |text: String| text.lines().filter(said).collect::<Vec<_>>().join("\n");
        let all = tables(text).into_iter();
        all.map(|(header, text)| (header, body(text))).collect()
    };
    let is = bodies(is);
    for (header, body) in bodies(was) {
        let own = header == format!("[line.{line}]") || header == format!("[line.\"{line}\"]");
        prop_assert!(own || is.contains(&(header, body.clone())), "{}", body);
    }
    Ok(())
}

/// The part at a way.
fn part_at<'a>(parts: &'a [Part], steps: &[Step]) -> Option<&'a Part> {
    let (Step::Part(n), rest) = steps.split_first()? else {
        return None;
    };
    let part = parts.get(n - 1)?;
    match (part, rest) {
        (part, []) => Some(part),
        (Part::Branches(rows) | Part::Legs(rows), [Step::Branch(k) | Step::Leg(k), rest @ ..]) => {
            part_at(&rows[k - 1], rest)
        }
        _ => None,
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, rng_seed: RngSeed::Fixed(20_261_126), ..ProptestConfig::default() })]

    /// And the file that is amended along holds the same book at every step.
    #[test]
    fn law_any_edits_give_a_sound_book_or_none(
        start in 0..BOOKS.len(),
        changes in vec((change(), any::<bool>()), 1..12),
    ) {
        let mut text = BOOKS[start].1.to_string();
        let mut book = read(text.as_bytes(), "x").unwrap();
        for (change, adapt) in changes {
            let (name, change) = change.edit(&book);
            let after = match adapt {
                true => edit_and_adapt(&book, &name, &change).map(|(after, _)| after),
                false => edit(&book, &name, &change),
            };
            let after = match after {
                Ok(after) => after,
                Err(error) => {
                    prop_assert!(!error.to_string().is_empty() && !error.mend().is_empty(), "{:?}", error);
                    continue;
                }
            };
            sound(&after)?;
            solved(&after, &name)?;
            let amended = amend(&text, &book, &after);
            let back = read(amended.as_bytes(), "x").map_err(|e| TestCaseError::fail(format!("{e:?}")))?;
            prop_assert_eq!(&back, &after, "{:?}\n{}", change, amended);
            // The first line of the file is a comment: it was not written anew.
            prop_assert_eq!(amended.lines().next(), text.lines().next(), "{:?}\n{}", change, amended);
            if !matches!(change, Edit::Rename(_) | Edit::Delete) {
                untouched(&text, &amended, &name)?;
            }
            (text, book) = (amended, after);
        }
    }

    #[test]
    fn law_what_is_put_in_and_taken_out_leaves_the_line_as_it_was(
        line in any::<Index>(), way in any::<Index>(), part in part(),
    ) {
        let book = demo();
        let names: Vec<&String> = book.line.keys().collect();
        let name = line.get(&names).as_str();
        let all = ways(&book.line[name].parts, &Path::default());
        let at = way.get(&all).clone();
        if let Ok(mut more) = edit(&book, name, &Edit::Insert(at.clone(), vec![part.clone()])) {
            // Behind legs a siamese came before it, which goes after it.
            let mut next = at.clone();
            if let Some(Step::Part(n)) = next.0.last_mut() {
                *n += 1;
            }
            if part_at(&more.line[name].parts, &at.0) != Some(&part) {
                more = edit(&more, name, &Edit::Remove(next)).unwrap();
            }
            prop_assert_eq!(edit(&more, name, &Edit::Remove(at)).unwrap(), book);
        }
    }

    #[test]
    fn law_what_is_moved_there_and_back_stands_where_it_stood(
        line in any::<Index>(), way in any::<Index>(),
    ) {
        let book = demo();
        let names: Vec<&String> = book.line.keys().collect();
        let name = line.get(&names).as_str();
        let all = ways(&book.line[name].parts, &Path::default());
        let at = way.get(&all).clone();
        if let Ok(moved) = edit(&book, name, &Edit::Later(at.clone())) {
            let mut next = at;
            match next.0.last_mut() {
                Some(Step::Part(n) | Step::Branch(n) | Step::Leg(n)) => *n += 1,
                other => panic!("{other:?}"),
            }
            prop_assert_eq!(edit(&moved, name, &Edit::Earlier(next)).unwrap(), book);
        }
    }
}

#[test]
fn rows_that_lie_too_deep_are_refused() {
    let mut book = demo();
    let mut at = path("part 2");
    let mut deep = 0;
    while let Ok(after) = edit(
        &book,
        "right-crosslay",
        &Edit::Divide {
            at: at.clone(),
            appliance: None,
        },
    ) {
        book = after;
        deep += 1;
        at = match at.0.split_last() {
            Some((Step::Part(n), row)) => Path(row.to_vec())
                .then(Step::Part(n + 1))
                .then(Step::Branch(1))
                .then(Step::Part(1)),
            other => panic!("{other:?}"),
        };
    }
    assert_eq!(deep, book::DEPTH_LIMIT);
}
