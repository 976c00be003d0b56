//! Each line its own choice: one pump pressure for all of them, and which hose, nozzle
//! and setting goes on which line.
//!
//! **How it is searched.** [`measure`] evaluates every equipment on every line at every
//! pump pressure and keeps what passes no limit of a line: the line's *ways*. For every
//! pump pressure, and every set of kinds of hose and nozzle that may be used ([`kinds`]),
//! the lines are taken together one after the other, and what is nowhere better than
//! something else is left out at once; [`fold`] says why nothing is lost by that. Over all
//! pressures and sets stays what nothing beats ([`search`]). So the result is that of
//! trying every combination (a test does, on small tables), unless the question is so
//! large that sets or combinations had to be left out; a notice then says how far was
//! looked, and that a better choice may exist.
//!
//! Aims are judged over all lines: by the worst line; kinds over all lines; the price of
//! what all lines need beyond what they carry today and what lies in store. As only the
//! worst line decides, the others could be anything no worse: each gets its own best that
//! leaves all lines together as they are.

pub(super) mod changes;
mod fold;
mod front;
mod kinds;
mod left;
mod measure;
mod search;
#[cfg(test)]
mod search_tests;
mod shown;
mod table;

use super::asked::Asked;
use super::{ChooseError, Chosen, Size, Watch};
use table::Table;

/// Compares the ways to equip each line by itself.
///
/// # Errors
/// As [`super::choose`].
pub(super) fn carry(asked: &Asked, size: Size, watch: &dyn Watch) -> Result<Chosen, ChooseError> {
    let lines = measure::measure(asked, watch)?;
    if lines.table.names > Table::KINDS {
        return super::asked::question(
            "vary",
            format!(
                "the lines could carry {} kinds of hose and nozzle; {} can be told apart",
                lines.table.names,
                Table::KINDS
            ),
            "vary fewer of them",
        );
    }
    let excluded = left::excluded(asked, &lines);
    left::lines_have_ways(asked, &lines, &excluded)?;
    let sought = search::search(&lines.table, watch).ok_or(ChooseError::Stopped)?;
    if sought.found.is_empty() {
        return Err(left::nothing_together(asked, &lines, &excluded));
    }
    shown::chosen(asked, &lines, &sought, (size, excluded), watch)
}
