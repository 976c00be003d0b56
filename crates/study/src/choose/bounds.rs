//! What aims measure, and limits as values of the aims that they bound.

use super::Limit;
use crate::figure::{self, Figure};
use book::Book;
use book::comparison::{AimKind, Comparison};
use hydraulics::units::{Force, Kind};

/// A limit on what an aim measures: a least value where more of the aim is better, a
/// greatest one otherwise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bound {
    /// The limit.
    pub limit: Limit,
    /// The aim whose value it bounds.
    pub aim: AimKind,
    /// The least or the greatest value.
    pub figure: Figure,
}

/// What an aim measures; `None` for a count (kinds) and for a price.
///
/// ```
/// use book::comparison::AimKind;
/// use hydraulics::units::Kind;
/// assert_eq!(study::choose::kind_of(AimKind::Reaction), Some(Kind::Force));
/// assert_eq!(study::choose::kind_of(AimKind::Price), None);
/// ```
pub fn kind_of(aim: AimKind) -> Option<Kind> {
    match aim {
        AimKind::Flow | AimKind::FlowAtLowPump => Some(Kind::Flow),
        AimKind::Reach => Some(Kind::Length),
        AimKind::Reaction => Some(Kind::Force),
        AimKind::PumpPressure | AimKind::OnePumpPressure => Some(Kind::Pressure),
        AimKind::SteadyWhenGated => Some(Kind::Share),
        AimKind::Weight => Some(Kind::Mass),
        AimKind::Kinds | AimKind::Price => None,
    }
}

/// The limits of `comparison` that bound an aim; of a crew and a stated reaction the
/// stricter.
///
/// ```
/// use book::comparison::{Comparison, Limits};
/// let comparison = Comparison {
///     limits: Limits { people: Some(2), ..Limits::default() },
///     ..Comparison::default()
/// };
/// let bounds = study::choose::bounds(&book::Book::default(), &comparison);
/// assert_eq!(bounds[0].figure.show(hydraulics::units::System::Us), "75 lbf");
/// ```
pub fn bounds(book: &Book, comparison: &Comparison) -> Vec<Bound> {
    let limits = &comparison.limits;
    let flow = limits.flow.as_ref().map(|q| figure::flow(q.get()));
    let low = limits.flow_at_low_pump.as_ref();
    let pump = limits.pump_pressure.as_ref();
    let kinds = limits.kinds.map(|kinds| Figure::count(f64::from(kinds), 0));
    let price = limits
        .price
        .as_ref()
        .map(|p| Figure::price(p.get().value, book));
    let all = [
        (Limit::Flow, AimKind::Flow, flow),
        (
            Limit::FlowAtLowPump,
            AimKind::FlowAtLowPump,
            low.map(|q| figure::flow(q.get())),
        ),
        (
            Limit::Reach,
            AimKind::Reach,
            limits.reach.as_ref().map(|l| figure::length(l.get())),
        ),
        (
            Limit::Reaction,
            AimKind::Reaction,
            reaction(book, comparison).map(figure::force),
        ),
        (
            Limit::PumpPressure,
            AimKind::PumpPressure,
            pump.map(|p| figure::pressure(p.get())),
        ),
        (
            Limit::Weight,
            AimKind::Weight,
            limits.weight.as_ref().map(|m| figure::mass(m.get())),
        ),
        (Limit::Kinds, AimKind::Kinds, kinds),
        (Limit::Price, AimKind::Price, price),
    ];
    let bound = |(limit, aim, figure): (Limit, AimKind, Option<Figure>)| {
        figure.map(|figure| Bound { limit, aim, figure })
    };
    all.into_iter().filter_map(bound).collect()
}

/// The greatest reaction: what is stated, or what the people can hold.
fn reaction(book: &Book, comparison: &Comparison) -> Option<Force> {
    let stated = comparison.limits.reaction.as_ref().map(|f| f.get());
    let people = comparison.limits.people.map(usize::from);
    let held = people.and_then(|people| book.crew_limits().get(people.checked_sub(1)?).copied());
    stated
        .into_iter()
        .chain(held)
        .reduce(|a, b| if b < a { b } else { a })
}
