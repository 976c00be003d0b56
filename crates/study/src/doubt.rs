//! How sure an answer is: what is doubtful about a line on its day, drawn again and
//! again, and whose doubt it is.

mod model;

pub use model::{Doubted, Held, Histogram, Share, Spread, Unsure, UnsureOf};
