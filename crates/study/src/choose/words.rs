//! Choices in words: what they are, why they are in, what they lost on.

use super::asked::{Asked, AskedAim};
use super::places::Places;
use super::{Choice, Limit, Measured, OfLine, Said, aim_name};
use crate::figure::{self, Figure, thousands};
use book::Book;
use book::comparison::AimKind;
use hydraulics::units::{Kind, Length, Mass, Measure, Pressure, System, VolumeRate};

/// "1 choice", "1,234 choices".
pub(super) fn count_of(count: u64, what: &str) -> String {
    match count {
        1 => format!("1 {what}"),
        _ => format!("{} {what}s", thousands(count)),
    }
}

/// The value of an aim as a figure.
pub(super) fn aim_figure(book: &Book, aim: AimKind, value: f64) -> Figure {
    match aim {
        AimKind::Flow | AimKind::FlowAtLowPump => figure::flow(VolumeRate::of_si(value)),
        AimKind::Reach => figure::length(Length::of_si(value)),
        AimKind::Reaction => figure::force(Measure::of_si(value)),
        AimKind::PumpPressure | AimKind::OnePumpPressure => {
            figure::pressure(Pressure::of_si(value))
        }
        AimKind::SteadyWhenGated => figure::share(Measure::of_si(value)),
        AimKind::Weight => figure::mass(Mass::of_si(value)),
        AimKind::Kinds => Figure::count(value, 0),
        AimKind::Price => Figure::price(value, book),
    }
}

/// What is varied of a choice, in words: "attack, 200 ft, twin, high at 150 psi".
pub(super) fn called(asked: &Asked, on: &[OfLine]) -> Said {
    let Some(first) = on.first() else {
        return Said::default();
    };
    let vary = &asked.comparison.vary;
    let mut said = Said::default();
    let mut some = false;
    let mut part = |said: Said, piece: Said| {
        let comma = if some { ", " } else { "" };
        some = true;
        said.words(comma).said(piece)
    };
    if !vary.hose.is_empty() {
        said = part(said, first.hose.as_str().into());
    }
    if !vary.length.is_empty() {
        said = part(said, Said::default().figure(figure::length(first.length)));
    }
    if !vary.nozzle.is_empty() {
        said = part(said, first.nozzle_called().into());
    }
    if !some {
        said = Said::new("the lines as they are");
    }
    match asked.pressures.is_empty() {
        true => said,
        false => said
            .words(" at ")
            .figure(figure::pressure(first.pump_pressure)),
    }
}

/// What it is to be best in an aim.
fn best_words(asked: &Asked, aim: &AskedAim) -> Said {
    match (aim.aim, aim.near) {
        (AimKind::Flow, Some(near)) => Said::new("flow closest to ")
            .figure(figure::flow(VolumeRate::of_si(near)))
            .words(" of all"),
        (AimKind::Flow, None) => "most flow of all".into(),
        (AimKind::FlowAtLowPump, _) => at_low(asked, "most flow of all"),
        (AimKind::Reach, _) => "farthest effective reach of all".into(),
        (AimKind::Reaction, _) => "least reaction of all".into(),
        (AimKind::PumpPressure, _) => "lowest pump pressure of all".into(),
        (AimKind::SteadyWhenGated, _) => "steadiest nozzle pressure of all when gated".into(),
        (AimKind::OnePumpPressure, _) => "the lines' pump pressures lie closest together".into(),
        (AimKind::Weight, _) => "lightest of all, charged".into(),
        (AimKind::Kinds, _) => "fewest kinds of hose and nozzle".into(),
        (AimKind::Price, _) => "least to pay of all".into(),
    }
}

fn at_low(asked: &Asked, words: &str) -> Said {
    match asked.low {
        Some(low) => Said::new(format!("{words} at "))
            .figure(figure::pressure(low))
            .words(" at the pump"),
        None => words.into(),
    }
}

/// An aim by its name, with the low pump pressure in figures.
pub(super) fn aim_words(asked: &Asked, aim: AimKind) -> Said {
    match aim {
        AimKind::FlowAtLowPump => at_low(asked, "flow"),
        _ => aim_name(aim).into(),
    }
}

/// Where a value was found, in words: " (left-crosslay, 20 ft higher)".
fn place(asked: &Asked, measured: &Measured) -> Said {
    let at = &measured.at;
    let mut said = Said::default();
    if at.line.is_empty() || measured.aim == AimKind::PumpPressure {
        return said;
    }
    let mut parts: Vec<Said> = Vec::new();
    if asked.lines.len() > 1 {
        parts.push(at.line.as_str().into());
    }
    if at.rise.value != 0.0 && measured.aim != AimKind::Weight {
        let rise = figure::length(Length::of_si(at.rise.value.abs()));
        let way = if at.rise.value > 0.0 {
            " higher"
        } else {
            " lower"
        };
        parts.push(Said::new("tip ").figure(rise).words(way));
    }
    if at.coefficient != book::Which::Best && measured.aim != AimKind::Weight {
        parts.push(coefficient_words(at.coefficient).into());
    }
    for (index, part) in parts.into_iter().enumerate() {
        said = said.words(if index == 0 { " (" } else { ", " }).said(part);
    }
    match said == Said::default() {
        true => said,
        false => said.words(" at its worst)"),
    }
}

fn coefficient_words(which: book::Which) -> &'static str {
    match which {
        book::Which::Best => "the book's own coefficients",
        book::Which::Measured => "measured coefficients",
        book::Which::Published => "published coefficients",
        book::Which::PublishedLow => "lowest published coefficients",
        book::Which::PublishedHigh => "highest published coefficients",
    }
}

/// Who is best in each aim among the unbeaten: the choice's code, and what it has.
pub(super) struct Best {
    pub code: String,
    pub values: Vec<f64>,
    pub good: Vec<f64>,
}

/// Why a choice is in: what it is best in, what more can be had and what that costs, and
/// how close it comes to its limits.
pub(super) fn why(
    asked: &Asked,
    choice: &Choice,
    own: (&[f64], &[f64]),
    best: &[Best],
    limits: Option<Said>,
) -> Vec<Said> {
    let (values, good) = own;
    let mut sentences = Vec::new();
    let counted = || {
        asked
            .aims
            .iter()
            .enumerate()
            .filter(|(_, a)| a.weight > 0.0)
    };
    for (place_of, aim) in counted() {
        let differs = best.iter().any(|other| other.good[place_of] < 1.0);
        if good[place_of] >= 1.0 && differs {
            let measured = &choice.measured[place_of];
            let said = best_words(asked, aim).words(": ").figure(measured.value);
            sentences.push(said.said(place(asked, measured)));
        }
    }
    let mut others: Vec<(usize, &AskedAim)> = counted().collect();
    others.sort_by(|a, b| b.1.weight.total_cmp(&a.1.weight));
    for (place_of, aim) in others {
        if good[place_of] >= 1.0 || sentences.len() >= 4 {
            continue;
        }
        if let Some(said) = more(asked, (place_of, aim), (values, good), best) {
            sentences.push(said);
        }
    }
    if sentences.is_empty() {
        sentences.push(best_in_all(asked, choice));
    }
    sentences.extend(limits);
    sentences
}

/// A choice that no other betters in anything, and what it comes to.
fn best_in_all(asked: &Asked, choice: &Choice) -> Said {
    let mut said = Said::new("no other choice that keeps the limits is better in anything: ");
    let counted = asked.aims.iter().zip(&choice.measured);
    let counted = counted.filter(|(aim, _)| aim.weight > 0.0);
    for (index, (aim, measured)) in counted.enumerate() {
        said = said
            .words(if index == 0 { "" } else { ", " })
            .said(aim_words(asked, aim.aim))
            .words(" ")
            .figure(measured.value)
            .said(place(asked, measured));
    }
    said
}

/// What the best in one aim has more of, and what it gives up for it.
fn more(
    asked: &Asked,
    (aim_place, aim): (usize, &AskedAim),
    (values, good): (&[f64], &[f64]),
    best: &[Best],
) -> Option<Said> {
    let other = best.get(aim_place)?;
    let gives_up = asked
        .aims
        .iter()
        .enumerate()
        .filter(|(place, aim)| aim.weight > 0.0 && other.good[*place] < good[*place]);
    let lost = |place: usize| good[place] - other.good[place];
    let most = gives_up.max_by(|a, b| {
        let weighed = |(place, aim): &(usize, &AskedAim)| lost(*place) * aim.weight;
        weighed(a).total_cmp(&weighed(b))
    })?;
    let value = |aim, list: &[f64], place: usize| aim_figure(asked.book, aim, list[place]);
    Some(
        Said::new(format!("{}: ", other.code))
            .said(best_words(asked, aim))
            .words(", ")
            .figure(value(aim.aim, &other.values, aim_place))
            .words(" against ")
            .figure(value(aim.aim, values, aim_place))
            .words(" here; but its ")
            .said(aim_words(asked, most.1.aim))
            .words(" is ")
            .figure(value(most.1.aim, &other.values, most.0))
            .words(" against ")
            .figure(value(most.1.aim, values, most.0)),
    )
}

/// What `loser` lost on against `winner`, and where it is ahead.
pub(super) fn against(asked: &Asked, loser: &Choice, winner: &Choice) -> Vec<Said> {
    let mut sentences = Vec::new();
    for ahead in [false, true] {
        let mut said = Said::new(match ahead {
            false => format!("{} loses against {} on ", loser.code, winner.code),
            true => format!("{} is ahead of {} in ", loser.code, winner.code),
        });
        let mut some = false;
        for (place, aim) in asked
            .aims
            .iter()
            .enumerate()
            .filter(|(_, a)| a.weight > 0.0)
        {
            let (own, other) = (&loser.measured[place], &winner.measured[place]);
            let differs = match ahead {
                true => own.good > other.good,
                false => own.good < other.good,
            };
            if !differs {
                continue;
            }
            said = said
                .words(if some { ", " } else { "" })
                .said(aim_words(asked, aim.aim))
                .words(": ")
                .figure(own.value)
                .words(" against ")
                .figure(other.value);
            some = true;
        }
        if some {
            sentences.push(said);
        }
    }
    if sentences.is_empty() {
        sentences.push(Said::new(format!(
            "{} comes to the same as {} in every aim",
            loser.code, winner.code
        )));
    }
    sentences
}

/// How close a choice comes to the limit that is closest.
pub(super) fn closest(limit: Limit, has: Figure, may: Figure, least: bool) -> Said {
    Said::new("it keeps every limit; the closest is ")
        .words(limit.name())
        .words(": ")
        .figure(has)
        .words(if least { "; at least " } else { "; at most " })
        .figure(may)
        .words(" is allowed")
}

/// A value as the command line takes it: within quotes where it has blanks.
fn quoted(text: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || "-_./".contains(c);
    match text.chars().all(plain) && !text.is_empty() {
        true => text.to_string(),
        false => format!("\"{}\"", text.replace('"', "\\\"")),
    }
}

/// The words after `handline solve BOOK` that give what `on` gives; its pump pressure to
/// a thousandth.
///
/// ```
/// use hydraulics::units::{Kind, System, parse};
/// use study::choose::{OfLine, solve_words};
/// let text = br#"
/// [book]
/// name = "Example"
/// [line.left]
/// parts = [{ hose = "1.75 in", length = "200 ft" }, { nozzle = "1 in smooth bore" }]
/// "#;
/// let book = book::read(text, "example.toml")?;
/// let on = OfLine {
///     line: "left".into(),
///     hose: "2.5 in".into(),
///     length: parse(Kind::Length, "150 ft")?,
///     nozzle: "1 in smooth bore".into(),
///     setting: None,
///     pump_pressure: parse(Kind::Pressure, "100 psi")?,
/// };
/// assert_eq!(
///     solve_words(&book, &on, System::Us),
///     r#"left --pump "100 psi" --hose "part 1 = 2.5 in" --length "part 1 = 150 ft""#
/// );
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn solve_words(book: &Book, on: &OfLine, system: System) -> String {
    let number = |kind: Kind, quantity: f64| {
        let unit = kind.unit(system);
        let value = (unit.from_si(quantity) * 1e3).round() / 1e3;
        format!("{value} {}", unit.symbol)
    };
    let pump = number(Kind::Pressure, on.pump_pressure.value);
    let mut words = format!("{} --pump \"{pump}\"", quoted(&on.line));
    let Some(line) = book.line.get(&on.line) else {
        return words;
    };
    let mut add = |option: &str, place: &book::Path, value: &str| {
        words.push_str(&format!(
            " --{option} {}",
            quoted(&format!("{place} = {value}"))
        ));
    };
    for (place, change) in Places::of(line).changes(book, on) {
        if let Some(hose) = &change.hose {
            add("hose", &place, hose);
        }
        if change.extra_length.is_some() {
            add("length", &place, &number(Kind::Length, on.length.value));
        }
        if let Some(nozzle) = &change.nozzle {
            add("nozzle", &place, nozzle);
        }
        if let Some(setting) = &change.setting {
            add("setting", &place, setting);
        }
    }
    words
}
