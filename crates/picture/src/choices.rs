//! What the drawings of choices share: their values, and their words.

use crate::frame::Axis;
use book::comparison::AimKind;
use hydraulics::units::{Kind, System, show};
use study::choose::{Bound, Choice, Chosen, Limit, Measured, OfLine, aim_name, kind_of};
use study::figure::Figure;

/// Which way an aim gets better.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Better {
    More,
    Less,
    /// Close to a stated value.
    Near,
}

impl Better {
    pub fn words(self) -> &'static str {
        match self {
            Better::More => "more is better",
            Better::Less => "less is better",
            Better::Near => "near what is asked for is better",
        }
    }
}

/// Which way `aim` gets better among the choices: a flow that is to come close to a
/// stated one is seen by how good each is.
pub(crate) fn better(chosen: &Chosen, aim: AimKind) -> Better {
    if !aim.more_is_better() {
        return Better::Less;
    }
    if aim != AimKind::Flow {
        return Better::More;
    }
    let all = chosen.choices.iter().filter_map(|c| measured(c, aim));
    let mut all: Vec<(f64, f64)> = all
        .map(|m| (m.figure_number(System::Us), m.good))
        .filter(|(value, good)| value.is_finite() && good.is_finite())
        .collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    let rising = all.windows(2).all(|two| match two {
        [a, b] => b.1 >= a.1 - 1e-9,
        _ => true,
    });
    if rising { Better::More } else { Better::Near }
}

/// What a choice comes to under an aim.
pub(crate) fn measured(choice: &Choice, aim: AimKind) -> Option<&Measured> {
    choice.measured.iter().find(|m| m.aim == aim)
}

/// Numbers and words of a value.
pub(crate) trait Read {
    fn figure_number(&self, system: System) -> f64;
    fn shown(&self, system: System) -> String;
}

impl Read for Measured {
    fn figure_number(&self, system: System) -> f64 {
        self.value.value(system)
    }

    fn shown(&self, system: System) -> String {
        self.value.show(system)
    }
}

/// The value of a choice under an aim; `None` where it is no number.
pub(crate) fn value(choice: &Choice, aim: AimKind, system: System) -> Option<f64> {
    let value = measured(choice, aim)?.figure_number(system);
    value.is_finite().then_some(value)
}

/// The same in words; empty where it is not measured.
pub(crate) fn said(choice: &Choice, aim: AimKind, system: System) -> String {
    match (value(choice, aim, system), measured(choice, aim)) {
        (Some(_), Some(measured)) => measured.shown(system),
        _ => String::new(),
    }
}

/// What a choice puts on the lines: "attack, 200 ft, twin, high; 150 psi".
pub(crate) fn what(choice: &Choice, system: System) -> String {
    let text = |of: &OfLine| {
        let length = show(Kind::Length, of.length, system);
        format!("{}, {length}, {}", of.hose, of.nozzle_called())
    };
    let pressed = |of: &OfLine| {
        let pressure = show(Kind::Pressure, of.pump_pressure, system);
        format!("{} at {pressure}", text(of))
    };
    let texts = |each: &dyn Fn(&OfLine) -> String| -> Vec<String> {
        let texts: Vec<String> = choice.on.iter().map(each).collect();
        match texts.as_slice() {
            [first, rest @ ..] if rest.iter().all(|other| other == first) => vec![first.clone()],
            _ => {
                let named = choice.on.iter().zip(texts);
                named
                    .map(|(of, text)| format!("{}: {text}", of.line))
                    .collect()
            }
        }
    };
    match choice.pump_pressure {
        Some(pressure) => {
            let mut texts = texts(&text);
            texts.push(format!(
                "{} at the pump",
                show(Kind::Pressure, pressure, system)
            ));
            texts.join("; ")
        }
        None => texts(&pressed).join("; "),
    }
}

/// "At most 75 lbf".
pub(crate) fn bound_words(bound: &Bound, system: System) -> String {
    let least = match bound.aim.more_is_better() {
        true => "at least",
        false => "at most",
    };
    format!("{least} {}", bound.figure.show(system))
}

/// The limits on an aim that are numbers, with their place in the reader's units.
pub(crate) fn bounds_of(bounds: &[Bound], aim: AimKind, system: System) -> Vec<(f64, &Bound)> {
    let of = bounds.iter().filter(|bound| bound.aim == aim);
    let at = of.map(|bound| (bound.figure.value(system), bound));
    at.filter(|(value, _)| value.is_finite()).collect()
}

/// The limit on an aim, by which days are counted.
pub(crate) fn limit_of(aim: AimKind) -> Option<Limit> {
    match aim {
        AimKind::Flow => Some(Limit::Flow),
        AimKind::FlowAtLowPump => Some(Limit::FlowAtLowPump),
        AimKind::Reach => Some(Limit::Reach),
        AimKind::Reaction => Some(Limit::Reaction),
        AimKind::PumpPressure => Some(Limit::PumpPressure),
        AimKind::Weight => Some(Limit::Weight),
        AimKind::Kinds => Some(Limit::Kinds),
        AimKind::Price => Some(Limit::Price),
        AimKind::SteadyWhenGated | AimKind::OnePumpPressure => None,
    }
}

/// An axis of the values of `aim`, in the unit of `like`, one of them.
pub(crate) fn axis(
    (aim, like): (AimKind, Option<&Figure>),
    system: System,
    ends: (f64, f64),
    pixels: (f64, f64),
) -> Axis {
    let name = titled(aim);
    match kind_of(aim) {
        Some(kind) => Axis::new((&name, kind, system), ends, pixels),
        None => {
            let unit = like.map_or("", |like| like.unit(system));
            Axis::counted((&name, unit), ends, pixels)
        }
    }
}

/// An aim at the start of a sentence.
pub(crate) fn titled(aim: AimKind) -> String {
    capital(aim_name(aim))
}

pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    let first = letters.next().into_iter().flat_map(char::to_uppercase);
    first.chain(letters).collect()
}

/// "No choice", "1 choice", "12 choices".
pub(crate) fn many(count: usize) -> String {
    match count {
        0 => "no choice".to_string(),
        1 => "1 choice".to_string(),
        count => format!("{count} choices"),
    }
}

/// The ends of a scale for `values`, which has some extent even where they are all the
/// same.
pub(crate) fn extent(values: impl Iterator<Item = f64>) -> (f64, f64) {
    let none = (f64::INFINITY, f64::NEG_INFINITY);
    let values = values.filter(|value| value.is_finite());
    let (low, high) = values.fold(none, |ends, v| (ends.0.min(v), ends.1.max(v)));
    if low > high {
        return (0.0, 1.0);
    }
    let least = (0.02 * low.abs().max(high.abs())).max(1e-3);
    match high - low < least {
        true if low >= 0.0 => ((low - least).max(0.0), high + least),
        true => (low - least, high + least),
        false => (low, high),
    }
}

/// A share of days: "97 %", never all of them where one missed.
pub(crate) fn days_share(share: f64) -> String {
    match share {
        share if !share.is_finite() => "no share known".into(),
        share if share >= 1.0 => "100 %".into(),
        share if share > 0.995 => format!("{:.1} %", (share * 1000.0).floor() / 10.0),
        share if share <= 0.0 => "0 %".into(),
        share if share < 0.005 => "under 1 %".into(),
        share => format!("{:.0} %", 100.0 * share),
    }
}
