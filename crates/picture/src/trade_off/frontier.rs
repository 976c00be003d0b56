//! Which of some spots no other beats in both directions, joined as steps.

use crate::canvas::Spot;
use crate::choices::Better;

/// The corners of the steps through the spots that none beats; between two of them what
/// can be had is no better than the first upward until the second is reached. Nothing
/// where a direction has no better end.
pub fn steps(spots: &[Spot], better: (Better, Better)) -> Vec<Spot> {
    let (Some(along), Some(up)) = (sign(better.0), sign(better.1)) else {
        return Vec::new();
    };
    // Larger is better in both from here on.
    let mut best: Vec<Spot> = spots.iter().map(|s| (along * s.0, up * s.1)).collect();
    best.sort_by(|a, b| b.0.total_cmp(&a.0).then(b.1.total_cmp(&a.1)));
    let mut corners: Vec<Spot> = Vec::new();
    for spot in best {
        match corners.last().copied() {
            Some(last) if spot.1 <= last.1 => {}
            Some(last) => corners.extend([(spot.0, last.1), spot]),
            None => corners.push(spot),
        }
    }
    let back = |spot: Spot| (along * spot.0, up * spot.1);
    corners.into_iter().map(back).collect()
}

fn sign(better: Better) -> Option<f64> {
    match better {
        Better::More => Some(1.0),
        Better::Less => Some(-1.0),
        Better::Near => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn steps_pass_over_what_is_beaten() {
        // Little along and much up is better; (3, 2) is beaten by (2, 4).
        let spots = [(3.0, 2.0), (1.0, 1.0), (2.0, 4.0), (5.0, 6.0)];
        let found = steps(&spots, (Better::Less, Better::More));
        let expected = [(1.0, 1.0), (2.0, 1.0), (2.0, 4.0), (5.0, 4.0), (5.0, 6.0)];
        assert_eq!(found, expected);
    }

    #[test]
    fn no_steps_where_a_direction_has_no_better_end() {
        assert!(steps(&[(1.0, 1.0), (2.0, 2.0)], (Better::Near, Better::More)).is_empty());
    }
}
