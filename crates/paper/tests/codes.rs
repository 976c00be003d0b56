//! Short codes.
#![allow(clippy::unwrap_used)]

mod common;

use common::demo;
use paper::{Code, CodeError, Kind, Units};
use proptest::prelude::*;

fn code(revision: Option<u32>) -> Code {
    let card = paper::line_card(&demo(), "large", Units::Us).unwrap();
    Code::of(&card, revision)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    #[test]
    fn law_a_code_read_back_is_itself(revision in 1_u32.., lower: bool) {
        let code = code(Some(revision));
        let text = code.to_string();
        let text = if lower { text.to_lowercase().replace('-', " ") } else { text };
        prop_assert_eq!(text.parse::<Code>().unwrap(), code);
    }

    #[test]
    fn law_one_wrong_letter_or_two_swapped_are_found(revision in 0_u32.., place in 0_usize..16, other in 0_usize..23) {
        let text = code(Some(revision)).to_string().replace('-', "");
        let letters: Vec<char> = text.chars().collect();
        let place = place % (letters.len() - 1);
        let letter = "346789ACDEFHJKMNPRTVWXY".chars().nth(other).unwrap();
        let mut wrong = letters.clone();
        wrong[place] = letter;
        let typed: String = wrong.iter().collect();
        prop_assert_eq!(typed.parse::<Code>().is_ok(), typed == text);
        let mut swapped = letters;
        swapped.swap(place, place + 1);
        let typed: String = swapped.iter().collect();
        prop_assert_eq!(typed.parse::<Code>().is_ok(), typed == text);
    }
}

#[test]
fn a_code_is_short_and_has_no_letters_that_look_alike() {
    for revision in [None, Some(1), Some(22), Some(400), Some(u32::MAX)] {
        let text = code(revision).to_string();
        assert!(
            text.len() <= 21
                && !text.contains([
                    '0', 'O', '1', 'I', 'L', '2', 'Z', '5', 'S', 'B', 'G', 'Q', 'U'
                ]),
            "{text}"
        );
    }
    assert_eq!(code(Some(7)).to_string().len(), 11);
    let kinds: std::collections::BTreeSet<char> = Kind::ALL.iter().map(|k| k.letter()).collect();
    assert_eq!(kinds.len(), Kind::ALL.len());
}

#[test]
fn a_code_that_cannot_be_says_why() {
    assert_eq!("CO3".parse::<Code>(), Err(CodeError::Letter('O')));
    assert_eq!("C33".parse::<Code>(), Err(CodeError::Length(3)));
    assert_eq!("".parse::<Code>(), Err(CodeError::Length(0)));
    let text = code(Some(7)).to_string();
    let longer = format!("{}3{}", &text[..1], &text[1..]);
    assert_eq!(longer.parse::<Code>(), Err(CodeError::Check));
}

#[test]
fn only_sheets_with_a_changed_number_get_another_digest() {
    let book = demo();
    let mut changed = book.clone();
    let other = demo().hose["large"].clone();
    changed.hose["attack"] = book::HoseItem {
        measured: None,
        ..changed.hose["attack"].clone()
    };
    changed.hose["large"] = other;
    for kind in Kind::ALL {
        for subject in kind.subjects(&book) {
            let before = kind.sheet(&book, subject, Units::Us).unwrap();
            let after = kind.sheet(&changed, subject, Units::Us).unwrap();
            let same = before.told == after.told && before.sources == after.sources;
            assert_eq!(Code::of(&before, Some(1)).fits(&after), same, "{subject}");
            let stale = match kind {
                Kind::PumpChart | Kind::Labels => subject != "pumper-3",
                Kind::LineCard | Kind::Handout => ![
                    "large",
                    "monitor",
                    "standpipe",
                    "high-rise-pack",
                    "neighbour",
                ]
                .contains(&subject),
                // No slide chart can be made of some, so that none gets wrong.
                Kind::SlideChart => [
                    "left-crosslay",
                    "right-crosslay",
                    "rear-crosslay",
                    "rear-crosslay-extended",
                    "bumper",
                ]
                .contains(&subject),
                Kind::Nomogram => subject == "attack",
                Kind::NozzleSheet | Kind::PurchaseStatement => false,
                // Of a test or a comparison, not of the book alone.
                Kind::TestPlan | Kind::TestReport | Kind::ComparisonReport => false,
            };
            assert_eq!(!same, stale, "{subject}");
        }
    }
}
