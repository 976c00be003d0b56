//! The same line with one thing changed, the pump left as it was.

use crate::answer::LineAnswer;
use crate::operating::{StudyError, solve};
use book::{Book, Change, Conditions, Opened, Path};
use hydraulics::nozzle::Regulator;
use hydraulics::units::{Length, Measure, Pressure, Ratio};

/// One thing that can change. A `place` is a part of the line; the empty path
/// is the pump outlet.
#[derive(Debug, Clone, PartialEq)]
pub enum WhatIf {
    /// Pump pressure off by so much.
    PumpOff(Pressure),
    /// A gate at a position.
    Gate(Path, Ratio),
    /// A nozzle on another setting.
    Setting(Path, String),
    /// A kink that closes a share of a hose.
    Kink(Path, Ratio),
    /// A share of a nozzle's screen blocked.
    Screen(Path, Ratio),
    /// The regulator of an automatic nozzle in another state.
    Regulator(Path, Regulator),
    /// So much higher.
    Rise(Path, Length),
    /// A hose so much longer.
    Longer(Path, Length),
    /// Another hose in its place.
    Hose(Path, String),
    /// Another nozzle in its place.
    Nozzle(Path, String),
    /// A second line opened on the same pump.
    SecondLine(String),
}

/// An answer before and after a change.
#[derive(Debug, Clone, PartialEq)]
pub struct Compared {
    /// As the book has it.
    pub before: LineAnswer,
    /// With the change, at the same pump pressure (but for [`WhatIf::PumpOff`]).
    pub after: LineAnswer,
}

/// What `line` gives before and after `changes`, all made at once.
///
/// # Errors
/// [`StudyError`] when the line or a part that is named is not there.
///
/// ```
/// use hydraulics::units::{parse, Kind};
/// use study::WhatIf;
/// let text = br#"
/// [book]
/// name = "Example"
/// [line.left]
/// parts = [{ hose = "2.5 in", length = "200 ft" }, { nozzle = "1-1/8 in smooth bore" }]
/// "#;
/// let book = book::read(text, "example.toml")?;
/// let change = WhatIf::PumpOff(parse(Kind::Pressure, "-10 psi")?);
/// let compared = study::what_if(&book, "left", &Default::default(), &[change])?;
/// assert!(compared.after.flow < compared.before.flow);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn what_if(
    book: &Book,
    line: &str,
    conditions: &Conditions,
    changes: &[WhatIf],
) -> Result<Compared, StudyError> {
    let before = solve(book, line, conditions)?;
    let mut changed = Conditions {
        pump_pressure: Some(before.pump_pressure),
        ..conditions.clone()
    };
    for change in changes {
        apply(&mut changed, change);
    }
    let after = solve(book, line, &changed)?;
    Ok(Compared { before, after })
}

pub(crate) fn apply(conditions: &mut Conditions, change: &WhatIf) {
    let zero = Length::of_si(0.0);
    match change {
        WhatIf::PumpOff(by) => {
            let from = conditions.pump_pressure.unwrap_or_default();
            conditions.pump_pressure = Some(Pressure::of_si((from + *by).value.max(0.0)));
        }
        WhatIf::Gate(path, share) => at(conditions, path).gate = Some(*share),
        WhatIf::Setting(path, name) => at(conditions, path).setting = Some(name.clone()),
        WhatIf::Kink(path, share) => at(conditions, path).kink = Some(*share),
        WhatIf::Screen(path, share) => at(conditions, path).screen_blocked = Some(*share),
        WhatIf::Regulator(path, state) => at(conditions, path).regulator = Some(*state),
        WhatIf::Rise(path, by) => {
            let change = at(conditions, path);
            change.extra_rise = Some(change.extra_rise.unwrap_or(zero) + *by);
        }
        WhatIf::Longer(path, by) => {
            let change = at(conditions, path);
            change.extra_length = Some(change.extra_length.unwrap_or(zero) + *by);
        }
        WhatIf::Hose(path, name) => at(conditions, path).hose = Some(name.clone()),
        WhatIf::Nozzle(path, name) => at(conditions, path).nozzle = Some(name.clone()),
        WhatIf::SecondLine(name) => conditions.also.push(Opened {
            line: name.clone(),
            ..Default::default()
        }),
    }
}

fn at<'a>(conditions: &'a mut Conditions, path: &Path) -> &'a mut Change {
    conditions.changes.entry(path.clone()).or_default()
}
