//! One reduction of a test.

use crate::reduce::{Law, Reading, ReduceError, Reduced, reduce};

/// A law, its rows and what came out.
pub(super) struct Reduction {
    pub law: Box<dyn Law>,
    pub rows: Vec<Reading>,
    pub reduced: Reduced,
}

impl Reduction {
    /// Reduces `rows` by `law`.
    pub fn of(law: Box<dyn Law>, rows: Vec<Reading>) -> Result<Self, ReduceError> {
        let reduced = reduce(&law, &rows)?;
        Ok(Reduction { law, rows, reduced })
    }

    /// The parameters.
    pub fn parameters(&self) -> &[f64] {
        &self.reduced.fit.parameters
    }

    /// What the law expects at `row`, and what that may be off by at 95 %.
    pub fn expected(&self, row: &[f64]) -> (f64, f64) {
        let expected = self.reduced.expected(&self.law, row);
        (expected.value, expected.high - expected.value)
    }
}
