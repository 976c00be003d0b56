//! How something doubtful is spread, in words.

use hydraulics::units::{Measure, Pressure};
use study::doubt::{Spread, Unsure, UnsureOf};
use study::figure::{self, Figure};

use super::plain;
use crate::paper::Units;

/// Standard deviations to either side that hold 95 % of a normal distribution.
const WIDE: f64 = 1.96;

/// "−8 % to +8 % off the book's value on 95 % of days".
pub(crate) fn spread(unsure: &Unsure, units: Units) -> String {
    if matches!(unsure.of, UnsureOf::Regulator(_)) {
        return "anywhere in its band, from closing to opening".into();
    }
    let text = |value| match unsure.factor {
        true => signed(value - 1.0),
        false => value_text(&unsure.of, value, units),
    };
    let of = if unsure.factor {
        " off the book's value"
    } else {
        ""
    };
    match unsure.spread {
        Spread::Exact(value) => format!("{}{of}, known", text(value)),
        Spread::Even(low, high) => {
            format!(
                "anything from {} to {}{of}, all as likely",
                text(low),
                text(high)
            )
        }
        Spread::Normal {
            mean,
            sd,
            low,
            high,
        } => {
            let [from, to] = [mean - WIDE * sd, mean + WIDE * sd];
            let (from, to) = (from.max(low), to.min(high));
            format!("{} to {}{of} on 95 % of days", text(from), text(to))
        }
        Spread::Triangle(low, most, high) => format!(
            "{} to {}{of}, most often {}",
            text(low),
            text(high),
            text(most)
        ),
        Spread::Sometimes(chance, most) => format!(
            "on {} % of days, then anything up to {}",
            plain(100.0 * chance),
            text(most)
        ),
    }
}

/// "−7 %".
fn signed(share: f64) -> String {
    let percent = 100.0 * share;
    match percent > 0.0 {
        true => format!("+{} %", plain_short(percent)),
        false => format!("{} %", plain_short(percent)),
    }
}

/// To a tenth.
fn plain_short(number: f64) -> String {
    plain((number * 10.0).round() / 10.0)
}

/// A value that is not a factor, in SI.
fn value_text(of: &UnsureOf, si: f64, units: Units) -> String {
    let figure: Option<Figure> = match of {
        UnsureOf::Pump(_) | UnsureOf::Nozzle(_) => {
            Some(figure::pressure(Pressure::of_si(si)).fine())
        }
        UnsureOf::Rise(_) | UnsureOf::Length => Some(figure::length(Measure::of_si(si))),
        UnsureOf::Gate(_) | UnsureOf::Kink(_) => Some(figure::share(Measure::of_si(si))),
        UnsureOf::Hose(_) | UnsureOf::Regulator(_) => None,
    };
    match figure {
        Some(figure) => units.show(figure).text(),
        None => plain(si),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn unsure(of: UnsureOf, spread: Spread, factor: bool) -> Unsure {
        Unsure {
            of,
            name: String::new(),
            spread,
            factor,
            source: String::new(),
            mend: String::new(),
        }
    }

    #[test]
    fn spreads_are_told_in_words_with_their_units() {
        let hose = UnsureOf::Hose("attack".into());
        let psi = hydraulics::units::psi(1.0).value;
        let normal = |mean: f64, sd: f64| Spread::Normal {
            mean,
            sd,
            low: mean - 10.0 * sd,
            high: mean + 10.0 * sd,
        };
        for (unsure, text) in [
            (
                unsure(hose, Spread::Even(0.5, 1.1), true),
                "anything from \u{2212}50 % to +10 % off the book's value, all as likely",
            ),
            (
                unsure(UnsureOf::Pump(String::new()), normal(0.0, 2.5 * psi), false),
                "\u{2212}4.9 psi to 4.9 psi on 95 % of days",
            ),
            (
                unsure(
                    UnsureOf::Kink(String::new()),
                    Spread::Sometimes(0.1, 0.5),
                    false,
                ),
                "on 10 % of days, then anything up to 50 %",
            ),
        ] {
            assert_eq!(spread(&unsure, Units::Us), text);
        }
    }
}
