//! Rows of a table that have the same trouble, told once.

use super::RowProblem;
use std::collections::BTreeMap;
use std::fmt;

/// One trouble, and the rows that have it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Together<'a> {
    /// The first row's problem.
    pub problem: &'a RowProblem,
    /// Its rows, as a spreadsheet counts them; none where the whole file is meant.
    pub rows: Vec<usize>,
}

impl Together<'_> {
    /// "3 to 14, 20"; empty where the whole file is meant.
    pub fn rows_words(&self) -> String {
        let mut runs: Vec<(usize, usize)> = Vec::new();
        for &row in &self.rows {
            match runs.last_mut() {
                Some((_, last)) if *last + 1 == row => *last = row,
                _ => runs.push((row, row)),
            }
        }
        let words = runs.iter().map(|(first, last)| match first == last {
            true => first.to_string(),
            false => format!("{first} to {last}"),
        });
        words.collect::<Vec<_>>().join(", ")
    }
}

impl fmt::Display for Together<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let text = self.problem.to_string();
        let first = self.rows.first().copied().unwrap_or_default();
        let one = format!("{}, row {first}", self.problem.file);
        match text.strip_prefix(&one).filter(|_| self.rows.len() > 1) {
            Some(rest) => write!(f, "{}, rows {}{rest}", self.problem.file, self.rows_words()),
            None => f.write_str(&text),
        }
    }
}

/// `problems` with those that differ only by their row put together, in the order in which
/// each was met first.
///
/// ```
/// use study::intake::{RowProblem, together};
/// let short = RowProblem::file("day.csv", "the inlet pressure is missing", "write it");
/// let all: Vec<RowProblem> = [3, 4, 5, 9].map(|row| short.clone().in_row(row)).into();
/// let told = together(&all);
/// assert_eq!(told.len(), 1);
/// assert_eq!(
///     told[0].to_string(),
///     "day.csv, rows 3 to 5, 9: the inlet pressure is missing; write it"
/// );
/// ```
pub fn together(problems: &[RowProblem]) -> Vec<Together<'_>> {
    let mut told: Vec<Together<'_>> = Vec::new();
    let mut met: BTreeMap<[&str; 5], usize> = BTreeMap::new();
    for problem in problems {
        let place = told.len();
        let at = match problem.row {
            Some(_) => *met.entry(alone(problem)).or_insert(place),
            None => place,
        };
        match told.get_mut(at) {
            Some(like) => like.rows.extend(problem.row),
            None => told.push(Together {
                problem,
                rows: problem.row.into_iter().collect(),
            }),
        }
    }
    told
}

/// A problem without its row.
fn alone(problem: &RowProblem) -> [&str; 5] {
    [
        &problem.file,
        &problem.column,
        &problem.text,
        &problem.message,
        &problem.mend,
    ]
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;

    #[test]
    fn nothing_is_lost_and_other_troubles_stay_apart() {
        let one = |row, message: &str| RowProblem::file("a.csv", message, "").in_row(row);
        let whole = RowProblem::file("a.csv", "is short", "");
        let all = [one(2, "a"), one(3, "b"), whole.clone(), one(4, "a"), whole];
        let told = together(&all);
        let said: Vec<String> = told.iter().map(ToString::to_string).collect();
        assert_eq!(
            said,
            [
                "a.csv, rows 2, 4: a",
                "a.csv, row 3: b",
                "a.csv: is short",
                "a.csv: is short"
            ]
        );
        let rows: usize = told.iter().map(|one| one.rows.len().max(1)).sum();
        assert_eq!(rows, all.len());
    }
}
