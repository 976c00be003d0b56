//! Choices compared: every way to equip some lines that a comparison allows, tried in
//! every case it must cope with; those that no other beats in all aims, ranked; and why
//! the others are not among them.
//!
//! How it goes: `asked` looks the names up and counts; `tried` evaluates each
//! equipment (hose, nozzle, setting, length) on each line in each case, laid out once
//! and solved at all pump pressures, and keeps one column of values for each aim;
//! `unbeaten` finds what no choice beats among those that pass no limit; `shown` ranks
//! them, solves the first ones anew with [`crate::solve`], and says why. Where each line
//! may have a choice of its own, `carry` searches in place of the last two.

mod asked;
mod bounds;
mod carry;
mod curves;
mod evaluate;
mod json;
mod model;
mod places;
mod ranked;
mod reach;
mod run;
mod said;
mod shown;
mod stock;
mod tried;
mod unbeaten;
mod verdict;
mod words;

pub use bounds::{Bound, bounds, kind_of};
pub use curves::{Curve, CurvePoint, curves};
pub use model::{
    Choice, ChooseError, Chosen, Excluded, Limit, LineResult, Measured, OfLine, Quiet, Size, Watch,
    Where, aim_name,
};
pub use places::{conditions_at, conditions_of};
pub use said::Said;
pub use stock::{Buy, Goods, Purchase, to_buy};
pub use unbeaten::unbeaten;
pub use words::solve_words;

use asked::Asked;
use book::Book;
use book::comparison::Comparison;
use evaluate::How;
use reach::Reaches;

/// How large a comparison is, before anything is solved.
///
/// # Errors
/// [`ChooseError::Question`] when it asks for what the book does not have;
/// [`ChooseError::TooLarge`] above a million choices or 20 million operating points.
pub fn size(book: &Book, comparison: &Comparison) -> Result<Size, ChooseError> {
    Asked::new(book, comparison)?.small_enough()
}

/// The most operating points that a trial solves.
const TRIAL: u64 = 2000;

/// Solves a few hundred points of a comparison, spread over its equipment, and gives how
/// many they were: timed, it tells how long the whole will take.
///
/// # Errors
/// As [`size`].
pub fn trial(book: &Book, comparison: &Comparison) -> Result<u64, ChooseError> {
    let asked = Asked::new(book, comparison)?;
    let size = asked.small_enough()?;
    let count = asked.equipment_count();
    let each = (size.points / count.max(1) as u64).max(1);
    let tries = (TRIAL / each).clamp(1, count as u64) as usize;
    let reaches = Reaches::default();
    let how = How {
        reaches: Some(&reaches),
        all: false,
    };
    for number in 0..tries {
        let equipment = asked.equipment(number * count / tries);
        let on = tried::on_lines(&asked, equipment);
        tried::together(&asked, &on, &asked.pressures, how);
    }
    Ok(tries as u64 * each)
}

/// Compares the choices of a comparison.
///
/// # Errors
/// [`ChooseError::Question`] names the place in the comparison that the book cannot
/// answer; [`ChooseError::TooLarge`] as [`size`]; [`ChooseError::Contradiction`] names
/// two limits that cannot both be kept; [`ChooseError::Nothing`] says which limit to
/// relax when no choice keeps them all; [`ChooseError::Stopped`] when `watch` said so.
///
/// ```
/// use book::comparison::{AimKind, Comparison, NozzleChoice, Wanted};
/// use book::Stated;
/// use hydraulics::units::{Kind, System};
/// use study::choose::{Quiet, choose};
/// let text = br#"
/// [book]
/// name = "Example"
/// [line.left]
/// parts = [{ hose = "1.75 in", length = "200 ft" }, { nozzle = "1 in smooth bore" }]
/// pump_pressure = "150 psi"
/// "#;
/// let book = book::read(text, "example.toml")?;
/// let nozzle = |name: &str| NozzleChoice { nozzle: name.into(), setting: None };
/// let mut comparison = Comparison { lines: vec!["left".into()], ..Default::default() };
/// comparison.vary.nozzle = vec![nozzle("7/8 in smooth bore"), nozzle("1 in smooth bore")];
/// let weight = Stated::read(Kind::Share, "1", System::Us)?;
/// comparison.aims.insert(AimKind::Flow, Wanted { weight, near: None });
/// let chosen = choose(&book, &comparison, &Quiet)?;
/// assert_eq!(chosen.choices[0].on[0].nozzle, "1 in smooth bore");
/// assert_eq!((chosen.unbeaten, chosen.beaten), (1, 1));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn choose(
    book: &Book,
    comparison: &Comparison,
    watch: &dyn Watch,
) -> Result<Chosen, ChooseError> {
    let asked = Asked::new(book, comparison)?;
    let size = asked.small_enough()?;
    verdict::contradicts_itself(&asked)?;
    if comparison.each_line {
        return carry::carry(&asked, size, watch);
    }
    let tried = tried::try_all(&asked, watch)?;
    let excluded = verdict::excluded(&asked, &tried);
    verdict::leaves_something(&asked, &tried, &excluded)?;
    shown::chosen(&asked, &tried, (size, excluded), watch)
}
