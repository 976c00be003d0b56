//! The choices that no other beats in everything.
//!
//! A row of costs (less is better) beats another when it is nowhere worse and
//! somewhere better. Rows that are equal in everything beat each other not: all of them
//! stay. A cost that is not a number counts as the worst there is.
//!
//! Whether a row is beaten is asked of a tree of boxes over all rows: a box whose best
//! corner is somewhere worse than the row holds nothing that beats it, a box whose worst
//! corner beats the row holds nothing else. Being beaten by a row that is beaten itself
//! is being beaten all the same, so that every row is asked for by itself, in parallel,
//! and the answer does not depend on the order.

use rayon::prelude::*;

/// Rows in a box that is not divided further.
const LEAF: usize = 12;
/// Rows against which every row is tried first.
const STRONG: usize = 64;

/// The rows of costs (less is better) that no other row beats, in rising order: none is
/// nowhere worse and somewhere better. Each of `columns` is one aim; all must be equally
/// long. Of rows that are equal in everything all stay; a cost that is not a number
/// counts as the worst.
///
/// ```
/// // The second is worse than the first in both; the third is best in the second aim.
/// let columns = [vec![1.0, 2.0, 3.0], vec![2.0, 3.0, 1.0]];
/// assert_eq!(study::choose::unbeaten(&columns), [0, 2]);
/// ```
pub fn unbeaten(columns: &[Vec<f64>]) -> Vec<usize> {
    let rows = columns.first().map_or(0, Vec::len);
    let all: Vec<u32> = (0..rows as u32).collect();
    let table = Table::new(columns);
    // A few rows that are good in the sum throw most of the others out.
    let strong = table.strong(&all);
    let left: Vec<u32> = all
        .into_par_iter()
        .filter(|row| !strong.iter().any(|other| table.beats(*other, *row)))
        .collect();
    let mut order = left.clone();
    let tree = Tree::new(&table, &mut order);
    left.into_par_iter()
        .filter(|row| !tree.beaten(&table, &order, *row))
        .map(|row| row as usize)
        .collect()
}

/// Costs row by row.
struct Table {
    costs: Vec<f64>,
    aims: usize,
}

impl Table {
    fn new(columns: &[Vec<f64>]) -> Self {
        let rows = columns.first().map_or(0, Vec::len);
        let worst = |cost: f64| if cost.is_nan() { f64::INFINITY } else { cost };
        let mut costs = Vec::with_capacity(rows * columns.len());
        for row in 0..rows {
            costs.extend(columns.iter().map(|column| worst(column[row])));
        }
        Table {
            costs,
            aims: columns.len(),
        }
    }

    fn row(&self, row: u32) -> &[f64] {
        let start = row as usize * self.aims;
        &self.costs[start..start + self.aims]
    }

    fn beats(&self, one: u32, other: u32) -> bool {
        beats(self.row(one), self.row(other))
    }

    /// Rows of which the costs, each between its least and its most, sum up to least.
    fn strong(&self, all: &[u32]) -> Vec<u32> {
        let (low, high) = self.ends(all);
        let sum = |row: u32| -> f64 {
            let scaled = self.row(row).iter().enumerate().map(|(aim, cost)| {
                let width = high[aim] - low[aim];
                match width > 0.0 && width.is_finite() {
                    true => (cost - low[aim]) / width,
                    false => 0.0,
                }
            });
            scaled.sum()
        };
        let mut sums: Vec<(f64, u32)> = all.iter().map(|row| (sum(*row), *row)).collect();
        sums.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        sums.into_iter().take(STRONG).map(|(_, row)| row).collect()
    }

    /// Best and worst corner of some rows.
    fn ends(&self, rows: &[u32]) -> (Vec<f64>, Vec<f64>) {
        let mut low = vec![f64::INFINITY; self.aims];
        let mut high = vec![f64::NEG_INFINITY; self.aims];
        for row in rows {
            for (aim, cost) in self.row(*row).iter().enumerate() {
                low[aim] = low[aim].min(*cost);
                high[aim] = high[aim].max(*cost);
            }
        }
        (low, high)
    }
}

/// Is `one` nowhere worse and somewhere better?
fn beats(one: &[f64], other: &[f64]) -> bool {
    let mut better = false;
    for (a, b) in one.iter().zip(other) {
        if a > b {
            return false;
        }
        better |= a < b;
    }
    better
}

/// A box over some rows.
struct Node {
    rows: std::ops::Range<usize>,
    /// Its two halves.
    halves: Option<(usize, usize)>,
}

struct Tree {
    nodes: Vec<Node>,
    /// Best and worst corner of each box, one after the other.
    corners: Vec<f64>,
}

impl Tree {
    fn new(table: &Table, order: &mut [u32]) -> Self {
        let mut tree = Tree {
            nodes: Vec::new(),
            corners: Vec::new(),
        };
        let all = 0..order.len();
        if !all.is_empty() && table.aims > 0 {
            tree.node(table, order, all);
        }
        tree
    }

    /// Divides a box at the middle row of its widest side.
    fn node(&mut self, table: &Table, order: &mut [u32], rows: std::ops::Range<usize>) -> usize {
        let (low, high) = table.ends(&order[rows.clone()]);
        let number = self.nodes.len();
        let scale = |aim: &usize| {
            let width = high[*aim] - low[*aim];
            width / (low[*aim].abs() + high[*aim].abs()).max(f64::MIN_POSITIVE)
        };
        let widest = (0..table.aims).max_by(|a, b| scale(a).total_cmp(&scale(b)));
        let aim = widest.unwrap_or(0);
        let apart = high[aim] > low[aim];
        self.corners.extend(low.iter().chain(&high));
        self.nodes.push(Node {
            rows: rows.clone(),
            halves: None,
        });
        if rows.len() <= LEAF || !apart {
            return number;
        }
        let middle = rows.len() / 2;
        let cost = |row: &u32| table.row(*row)[aim];
        order[rows.clone()]
            .select_nth_unstable_by(middle, |a, b| cost(a).total_cmp(&cost(b)).then(a.cmp(b)));
        let near = self.node(table, order, rows.start..rows.start + middle);
        let far = self.node(table, order, rows.start + middle..rows.end);
        self.nodes[number].halves = Some((near, far));
        number
    }

    fn beaten(&self, table: &Table, order: &[u32], row: u32) -> bool {
        let costs = table.row(row);
        let mut open: Vec<usize> = Vec::with_capacity(64);
        open.extend((!self.nodes.is_empty()).then_some(0));
        while let Some(number) = open.pop() {
            let corner = 2 * number * table.aims;
            let (low, high) = self.corners[corner..corner + 2 * table.aims].split_at(table.aims);
            if low.iter().zip(costs).any(|(low, own)| low > own) {
                continue;
            }
            if beats(high, costs) {
                return true;
            }
            let node = &self.nodes[number];
            match node.halves {
                Some((near, far)) => open.extend([far, near]),
                None => {
                    let mut rows = order[node.rows.clone()].iter();
                    if rows.any(|other| beats(table.row(*other), costs)) {
                        return true;
                    }
                }
            }
        }
        false
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Every row against every other.
    fn plainly(columns: &[Vec<f64>]) -> Vec<usize> {
        let rows = columns.first().map_or(0, Vec::len);
        let row = |n: usize| -> Vec<f64> { columns.iter().map(|c| c[n]).collect() };
        let beaten = |n: usize| (0..rows).any(|other| beats(&row(other), &row(n)));
        (0..rows).filter(|n| !beaten(*n)).collect()
    }

    /// Up to `aims` columns of up to 150 costs, few of them different, so that many tie.
    fn columns() -> impl Strategy<Value = Vec<Vec<f64>>> {
        (1..=10_usize, 1..150_usize, 1..40_i32).prop_flat_map(|(aims, rows, different)| {
            let cost = (0..different).prop_map(f64::from);
            proptest::collection::vec(proptest::collection::vec(cost, rows), aims)
        })
    }

    proptest! {
        #[test]
        fn law_the_tree_finds_what_trying_all_against_all_finds(columns in columns()) {
            prop_assert_eq!(unbeaten(&columns), plainly(&columns));
        }
    }

    #[test]
    fn equal_rows_all_stay_and_no_number_is_the_worst() {
        let columns = vec![vec![1.0, 1.0, 2.0, f64::NAN], vec![3.0, 3.0, 3.0, 1.0]];
        assert_eq!(unbeaten(&columns), [0, 1, 3]);
        assert_eq!(unbeaten(&[vec![], vec![]]), [0_usize; 0]);
        assert_eq!(unbeaten(&[]), [0_usize; 0]);
    }

    #[test]
    fn law_a_row_that_beats_all_is_alone() {
        let column: Vec<f64> = (0..5000).map(|n| f64::from((n * 7919) % 5000)).collect();
        let best = column.iter().position(|c| *c == 0.0).unwrap();
        assert_eq!(unbeaten(&[column.clone(), column]), [best]);
    }
}
