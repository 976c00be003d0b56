//! Values of a test as a sheet shows them.

use hydraulics::units::System;
use study::fact::Said;
use study::figure::Figure;
use study::proof::Measured;

use crate::paper::Units;
use crate::words::Shown;

/// `measured` in the units of a sheet.
pub(crate) fn shown(measured: &Measured, units: Units) -> Shown {
    match measured {
        Measured::Figure(figure) => units.show(precise(*figure)),
        number => {
            let (value, unit) = number_in(number, units.first());
            let also = units
                .second()
                .map(|system| joined(number_in(number, system)));
            let first = joined((value.clone(), unit));
            Shown {
                value,
                unit: unit.into(),
                also: also.filter(|also| *also != first),
            }
        }
    }
}

/// In one run of text: "9.5 (0.38)", "49.2 psi (3.39 bar)".
pub(crate) fn text(measured: &Measured, units: Units) -> String {
    let shown = shown(measured, units);
    let first = joined((shown.value, &shown.unit));
    match shown.also {
        Some(also) => format!("{first} ({also})"),
        None => first,
    }
}

/// The same to be remembered: in both systems.
pub(crate) fn said(measured: &Measured) -> Said {
    match measured {
        Measured::Figure(figure) => Said::Figure(precise(*figure)),
        number => {
            let [us, si] = [System::Us, System::Si].map(|system| joined(number_in(number, system)));
            Said::Text(match us == si {
                true => us,
                false => format!("{us} (metric {si})"),
            })
        }
    }
}

fn joined((value, unit): (String, &str)) -> String {
    format!("{value} {unit}").trim_end().to_string()
}

fn number_in(measured: &Measured, system: System) -> (String, &'static str) {
    match measured {
        Measured::Figure(figure) => (figure.show(system), ""),
        Measured::Number {
            us,
            us_unit,
            si,
            si_unit,
            decimals: [us_decimals, si_decimals],
        } => {
            let (value, unit, decimals) = match system {
                System::Us => (*us, *us_unit, *us_decimals),
                System::Si => (*si, *si_unit, *si_decimals),
            };
            let value = hydraulics::units::decimal(value, decimals);
            (value.replace('-', "\u{2212}"), unit)
        }
    }
}

/// "9.1 (0.36) and 9.9 (0.40)".
pub(crate) fn between(ends: &[Measured; 2], units: Units) -> String {
    let [low, high] = ends;
    format!("{} and {}", text(low, units), text(high, units))
}

/// A figure of a test, to a decimal more than a fireground needs.
pub(crate) fn figure(figure: Figure, units: Units) -> String {
    units.show(precise(figure)).text()
}

/// To a decimal more than a fireground needs, but for flows of which nobody reads one.
pub(crate) fn precise(figure: Figure) -> Figure {
    match is_precise(figure) {
        true => figure.fine(),
        false => figure,
    }
}

/// Is a decimal more of it worth reading?
pub(crate) fn is_precise(figure: Figure) -> bool {
    figure.value(System::Us).abs() < 500.0
}
