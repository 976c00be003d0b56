//! What nothing beats by the columns alone.

use super::super::unbeaten::unbeaten;
use super::table::{COLUMNS, Worst, no_worse};

/// Up to so many everything is compared with everything.
const FEW: usize = 150;

/// Those of `all` that no other is nowhere worse than; of equal ones the first. They must
/// stand in order ([`super::table::in_order`]), and stay in it.
pub(super) fn front<T>(all: Vec<T>, worst: impl Fn(&T) -> &Worst) -> Vec<T> {
    front_with(all, worst, |_| 0.0)
}

/// The same with one more value, which must be in order where the others are equal.
pub(super) fn front_with<T>(
    mut all: Vec<T>,
    worst: impl Fn(&T) -> &Worst,
    more: impl Fn(&T) -> f64,
) -> Vec<T> {
    all.dedup_by(|next, first| worst(next) == worst(first));
    if all.len() <= FEW {
        let mut kept: Vec<T> = Vec::new();
        for one in all {
            let beats =
                |other: &T| no_worse(worst(other), worst(&one)) && more(other) <= more(&one);
            if !kept.iter().rev().any(beats) {
                kept.push(one);
            }
        }
        return kept;
    }
    let column = |column: usize| -> Vec<f64> {
        let values = all.iter().map(|one| worst(one).get(column).copied());
        values.map(Option::unwrap_or_default).collect()
    };
    let columns: Vec<Vec<f64>> = (0..COLUMNS)
        .map(column)
        .chain([all.iter().map(more).collect()])
        .filter(|values| values.iter().any(|value| Some(value) != values.first()))
        .collect();
    let mut rows = unbeaten(&columns).into_iter().peekable();
    let mut place = 0;
    all.retain(|_| {
        place += 1;
        rows.next_if(|row| row + 1 == place).is_some()
    });
    all
}

#[cfg(test)]
mod tests {
    use super::super::table::{NOTHING, in_order};
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn law_many_are_sifted_as_few_are(
            values in proptest::collection::vec(proptest::array::uniform3(0..9_i32), 0..700)
        ) {
            let worst = |values: &[i32; 3]| {
                let mut worst = NOTHING;
                for (into, value) in worst.iter_mut().zip(values) {
                    *into = f64::from(*value);
                }
                worst
            };
            let mut all: Vec<Worst> = values.iter().map(worst).collect();
            all.sort_by(|a, b| in_order(a, b));
            let mut plainly: Vec<Worst> = Vec::new();
            for one in &all {
                if !plainly.iter().any(|other| no_worse(other, one)) {
                    plainly.push(*one);
                }
            }
            prop_assert_eq!(front(all, |worst| worst), plainly);
        }
    }
}
