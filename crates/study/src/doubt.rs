//! How sure an answer is: what is doubtful about a line on its day, drawn again and
//! again, and whose doubt it is.
//!
//! A day is one draw of everything that is [`Unsure`]: a row of even numbers between 0
//! and 1, each brought to a value by the quantile function of its [`Spread`]. The rows
//! come from ChaCha streams, one for each chunk of days and numbered like it, and the
//! chunks are put together in their order: the same seed gives the same answer to the
//! last bit, however many threads work on it. Nothing is kept of a day but counts, sums
//! and moments.
//!
//! Whose doubt it is: first-order and total indices by Saltelli's sampling with Jansen's
//! estimators (Jansen 1999; Saltelli et al. 2010, table 2, (c) and (f)), each with its
//! asymptotic 95 % interval ([`indices`]).

mod choice;
mod days;
mod indices;
mod json;
mod line;
mod model;
mod scene;
mod spread;
mod tally;
mod unsure;
mod words;

pub use choice::{CHOICES_DRAWN, days, days_for, of_choice, of_choices};
pub use indices::{Index, indices, solutions};
pub use model::{
    Doubted, Held, Histogram, SceneDoubted, Share, Spread, TipDoubted, Unsure, UnsureOf,
};
pub use scene::{of_changed_scene, of_scene};
pub use tally::half_of_chance;
pub use unsure::spreads;
pub use words::on_days;
