//! What screws on to what, and the adapter where it does not.

use super::entry::{Entry, Item, Kind, entries};
use book::{Book, Origin, Part, Parts, Severity, Stated, Step};
use hydraulics::coupling::Coupling;

/// Both ends of a piece of equipment; none where it has none or none is written.
pub(super) struct Ends {
    pub inlets: Vec<Coupling>,
    pub outlets: Vec<Coupling>,
}

pub(super) fn ends(entry: &Entry<'_>) -> Ends {
    let one = |stated: &Option<Stated<Coupling>>| stated.iter().map(Stated::get).collect();
    let all = |stated: &[Stated<Coupling>]| stated.iter().map(Stated::get).collect();
    match entry.item {
        Item::Hose(item) => Ends {
            inlets: one(&item.inlet),
            outlets: one(&item.outlet),
        },
        Item::Nozzle(item) => Ends {
            inlets: one(&item.coupling),
            outlets: one(&item.breaks_at),
        },
        Item::Appliance(item) => Ends {
            inlets: all(&item.inlets),
            outlets: all(&item.outlets),
        },
        _ => Ends {
            inlets: Vec::new(),
            outlets: Vec::new(),
        },
    }
}

/// Whether two ends go together.
#[derive(Debug, PartialEq)]
pub(super) enum Joint {
    /// One of the two has no such end, or none is written.
    Unknown,
    Fits,
    /// The adapter that would mend it.
    Adapter(String),
}

/// Does any of the outlets take any of the inlets?
pub(super) fn joint(outlets: &[Coupling], inlets: &[Coupling]) -> Joint {
    let (Some(outlet), Some(inlet)) = (outlets.first(), inlets.first()) else {
        return Joint::Unknown;
    };
    let fits = outlets.iter().any(|o| inlets.iter().any(|i| o.fits(i)));
    match outlet.adapter_to(inlet).filter(|_| !fits) {
        None => Joint::Fits,
        Some(adapter) => Joint::Adapter(adapter),
    }
}

/// Another item, and how it goes with the one that is looked at.
pub(super) struct Pairing<'a> {
    pub other: Entry<'a>,
    /// The other one after this one.
    pub after: Joint,
    /// The other one before this one.
    pub before: Joint,
}

/// How the book's own hose, nozzles and appliances, and what of the catalogue its
/// lines use, go with `entry`.
pub(super) fn pairings<'a>(book: &'a Book, entry: &Entry<'_>) -> Vec<Pairing<'a>> {
    let here = ends(entry);
    let kinds = [Kind::Hose, Kind::Nozzle, Kind::Appliance];
    let others = kinds.into_iter().flat_map(|kind| entries(book, kind));
    let used = |other: &Entry<'_>| {
        other.origin == Origin::Own || !super::uses::uses(book, other).lines.is_empty()
    };
    let pairing = |other: Entry<'a>| {
        let there = ends(&other);
        Pairing {
            after: joint(&here.outlets, &there.inlets),
            before: joint(&there.outlets, &here.inlets),
            other,
        }
    };
    let known = |p: &Pairing<'_>| p.after != Joint::Unknown || p.before != Joint::Unknown;
    others.filter(used).map(pairing).filter(known).collect()
}

/// A place in a line where a joint is not as it should be.
pub(super) struct Misfit {
    pub line: String,
    pub message: String,
    pub mend: String,
    pub severity: Severity,
}

/// Every joint of the book's lines that is amiss at this piece of equipment.
pub(super) fn misfits(book: &Book, entry: &Entry<'_>) -> Vec<Misfit> {
    let joints = ["misfit", "no_wye", "no_siamese", "too_many"];
    let faults = book::check(book).into_iter();
    let faults = faults.filter(|fault| joints.contains(&fault.code));
    let touches = |fault: &book::Fault| {
        let parts = book.line.get(&fault.line).map(|line| &line.parts);
        let quoted = format!("{} \"{}\"", entry.kind.word(), entry.name);
        let part = parts.and_then(|parts| at(parts, &fault.path.0));
        let here = part.is_some_and(|part| {
            part.kind() == entry.kind.word() && part.name() == Some(entry.name)
        });
        here || fault.message.contains(&quoted)
    };
    faults
        .filter(touches)
        .map(|fault| Misfit {
            line: fault.line,
            message: fault.message,
            mend: fault.mend,
            severity: fault.severity,
        })
        .collect()
}

/// The part at the end of a way.
fn at<'a>(parts: &'a Parts, steps: &[Step]) -> Option<&'a Part> {
    let (Step::Part(number), rest) = steps.split_first()? else {
        return None;
    };
    let part = parts.get(number.checked_sub(1)?)?;
    let (row, rest) = match rest.split_first() {
        None => return Some(part),
        Some((Step::Branch(row) | Step::Leg(row), rest)) => (row, rest),
        Some(_) => return None,
    };
    let (Part::Branches(rows) | Part::Legs(rows)) = part else {
        return None;
    };
    at(rows.get(row.checked_sub(1)?)?, rest)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::equipment::entry::entry;

    fn demo() -> Book {
        let text = include_bytes!("../../../../books/saltmarsh-bend.toml");
        book::read(text, "saltmarsh-bend.toml").unwrap()
    }

    #[test]
    fn what_does_not_fit_is_told_with_its_adapter() {
        let book = demo();
        let large = entry(&book, Kind::Hose, "large").unwrap();
        let all = pairings(&book, &large);
        let with = |name: &str| all.iter().find(|p| p.other.name == name).unwrap();
        assert_eq!(with("inch-and-an-eighth").after, Joint::Fits);
        assert_eq!(with("supply").before, Joint::Fits);
        let adapter = "adapter 2.5 in NH female to 1.5 in NH male";
        assert_eq!(with("twin").after, Joint::Adapter(adapter.into()));
        assert_eq!(with("twin").before, Joint::Unknown);
    }

    #[test]
    fn law_two_ends_fit_as_their_couplings_do() {
        let book = demo();
        for kind in [Kind::Hose, Kind::Appliance] {
            for one in entries(&book, kind) {
                for pairing in pairings(&book, &one) {
                    let (here, there) = (ends(&one), ends(&pairing.other));
                    let fit = here
                        .outlets
                        .iter()
                        .any(|o| there.inlets.iter().any(|i| o.fits(i)));
                    assert_eq!(pairing.after == Joint::Fits, fit, "{}", pairing.other.name);
                }
            }
        }
    }

    #[test]
    fn a_joint_that_does_not_fit_is_found_in_its_line() {
        let mut book = demo();
        let parts = &mut book.line.get_mut("large").unwrap().parts;
        let twin = book::NozzlePart {
            nozzle: "twin".into(),
            ..Default::default()
        };
        parts[1] = Part::Nozzle(twin);
        for (kind, name) in [(Kind::Hose, "large"), (Kind::Nozzle, "twin")] {
            let found = misfits(&book, &entry(&book, kind, name).unwrap());
            assert_eq!(found.len(), 1, "{name}");
            assert_eq!(found[0].line, "large");
            assert!(
                found[0].mend.contains("reducer 2.5 to 1.5 in"),
                "{}",
                found[0].mend
            );
        }
        assert!(misfits(&book, &entry(&book, Kind::Hose, "supply").unwrap()).is_empty());
    }
}
