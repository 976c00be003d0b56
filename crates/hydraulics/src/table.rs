//! Printed tables of a few points.

/// The value at `x`, linear between the points of `table` (sorted by their
/// first number) and level outside it; zero for an empty one.
pub(crate) fn between(table: &[(f64, f64)], x: f64) -> f64 {
    let after = table.iter().position(|point| point.0 >= x);
    match (after, table.last()) {
        (Some(0), _) => table.first().map_or(0.0, |first| first.1),
        (Some(i), _) => match table.get(i.saturating_sub(1)..=i) {
            Some([(x0, y0), (x1, y1)]) => y0 + (y1 - y0) * (x - x0) / (x1 - x0),
            _ => 0.0,
        },
        (None, Some(last)) => last.1,
        (None, None) => 0.0,
    }
}

/// Whether `value` is below a printed `limit`; one that only a change of units
/// has brought under it is not.
pub(crate) fn below(value: f64, limit: f64) -> bool {
    value < limit - 1e-9 * limit.abs()
}

#[cfg(test)]
mod tests {
    use super::{below, between};

    #[test]
    fn law_linear_between_points_and_level_outside() {
        let table = [(1.0, 10.0), (3.0, 20.0), (4.0, 0.0)];
        let found = [0.0, 1.0, 2.0, 3.0, 3.5, 9.0].map(|x| between(&table, x));
        assert_eq!(found, [10.0, 10.0, 15.0, 20.0, 10.0, 0.0]);
    }

    #[test]
    fn law_a_limit_is_met_in_any_unit() {
        assert!(!below(250.0 * 0.3048 / 0.3048, 250.0));
        assert!(below(249.99, 250.0));
    }
}
