//! What was found, ranked by other weights: nothing is solved again.

use super::asked::Asked;
use super::shown::set_against;
use super::{Choice, Chosen};
use book::Book;
use book::comparison::Comparison;

impl Chosen {
    /// The same choices in the order of the weights of `comparison`, which must otherwise
    /// be the one that this answers, and count the same aims. Nothing is solved and no day
    /// is drawn: a choice for which none was drawn has no doubt here either. Of more unbeaten
    /// choices than [`Chosen::SHOWN`] only those that were shown are ranked.
    pub fn ranked_by(&self, book: &Book, comparison: &Comparison) -> Chosen {
        let mut chosen = self.clone();
        for (aim, weight) in &mut chosen.aims {
            if let Some(wanted) = comparison.aims.get(aim) {
                *weight = wanted.weight.get().value;
            }
        }
        let weights: Vec<f64> = chosen.aims.iter().map(|(_, weight)| *weight).collect();
        for choice in chosen.choices.iter_mut().chain(&mut chosen.today) {
            choice.score = score(choice, &weights);
        }
        // Of equal ones the one that stood first.
        chosen.choices.sort_by(|a, b| b.score.total_cmp(&a.score));
        if let Ok(asked) = Asked::new(book, comparison) {
            set_against(&asked, &mut chosen.choices);
        }
        let enough = comparison.doubt.days.as_ref();
        let enough = enough.map_or(0.95, |share| share.get().value);
        let holds = |choice: &Choice| {
            let doubted = choice.doubted.as_ref();
            doubted.is_some_and(|doubted| doubted.all_hold.0 >= enough)
        };
        chosen.robust = chosen.choices.iter().position(holds);
        chosen
    }
}

/// The weighted mean of how good a choice is.
fn score(choice: &Choice, weights: &[f64]) -> f64 {
    let all: f64 = weights.iter().sum();
    let goods = choice.measured.iter().map(|measured| measured.good);
    let sum: f64 = goods.zip(weights).map(|(good, weight)| good * weight).sum();
    if all > 0.0 { sum / all } else { 0.0 }
}
