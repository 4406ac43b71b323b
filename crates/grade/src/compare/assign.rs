//! The best pairing of two lists: each row with at most one column and the other way round, the sum of the
//! gains as large as can be. Pairs without a gain stay apart.
//!
//! Method: shortest augmenting paths with potentials, after Kuhn (1955, "The Hungarian method for the
//! assignment problem") and Jonker and Volgenant (1987, "A shortest augmenting path algorithm for dense and
//! sparse linear assignment problems").

/// Pairs (row, column) in order of row; `gain(row, column)` is finite, and a pair is only made above 0.
pub fn best_pairs(rows: usize, columns: usize, gain: impl Fn(usize, usize) -> f64) -> Vec<(usize, usize)> {
    let size = rows + columns;
    // Every row and column has a partner of its own that costs nothing: to stay alone.
    let cost = |i: usize, j: usize| match i < rows && j < columns {
        true => -gain(i, j).max(0.0),
        false => 0.0,
    };
    let partners = assigned(size, cost);
    let mut pairs: Vec<(usize, usize)> = partners
        .into_iter()
        .enumerate()
        .take(columns)
        .filter(|&(column, row)| row < rows && gain(row, column) > 0.0)
        .map(|(column, row)| (row, column))
        .collect();
    pairs.sort_unstable();
    pairs
}

/// Row of each column in the assignment of least cost.
fn assigned(size: usize, cost: impl Fn(usize, usize) -> f64) -> Vec<usize> {
    // Column `size` stands for "no column": it holds the row that is being placed.
    let mut row_of = vec![usize::MAX; size + 1];
    let (mut row_price, mut column_price) = (vec![0.0; size], vec![0.0; size + 1]);
    for row in 0..size {
        row_of[size] = row;
        let from = free_column(size, &mut row_of, &mut row_price, &mut column_price, &cost);
        let mut column = from.0;
        while column != size {
            let before = from.1[column];
            row_of[column] = row_of[before];
            column = before;
        }
    }
    row_of.truncate(size);
    row_of
}

/// The free column that the cheapest path from column `size` reaches, and for each column on the path the one
/// before it; prices are kept such that no pair costs less than its prices.
fn free_column(
    size: usize,
    row_of: &mut [usize],
    row_price: &mut [f64],
    column_price: &mut [f64],
    cost: &impl Fn(usize, usize) -> f64,
) -> (usize, Vec<usize>) {
    let mut least = vec![f64::INFINITY; size];
    let mut before = vec![size; size];
    let mut done = vec![false; size + 1];
    let mut column = size;
    while row_of[column] != usize::MAX {
        done[column] = true;
        let row = row_of[column];
        let mut step = (f64::INFINITY, size);
        for next in (0..size).filter(|j| !done[*j]) {
            let reduced = cost(row, next) - row_price[row] - column_price[next];
            if reduced < least[next] {
                (least[next], before[next]) = (reduced, column);
            }
            if least[next] < step.0 {
                step = (least[next], next);
            }
        }
        for j in 0..=size {
            if done[j] {
                row_price[row_of[j]] += step.0;
                column_price[j] -= step.0;
            } else {
                least[j] -= step.0;
            }
        }
        column = step.1;
    }
    (column, before)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn total(pairs: &[(usize, usize)], gains: &[Vec<f64>]) -> f64 {
        pairs.iter().map(|&(i, j)| gains[i][j]).sum()
    }

    /// The best sum by trying every pairing.
    fn by_trial(gains: &[Vec<f64>], row: usize, taken: &mut Vec<bool>) -> f64 {
        if row == gains.len() {
            return 0.0;
        }
        let mut best = by_trial(gains, row + 1, taken);
        for column in 0..taken.len() {
            if !taken[column] {
                taken[column] = true;
                best = best.max(gains[row][column] + by_trial(gains, row + 1, taken));
                taken[column] = false;
            }
        }
        best
    }

    /// Numbers in [0, 1) from a multiplicative generator (Park and Miller, 1988, "Random number generators:
    /// good ones are hard to find").
    fn chance(seed: &mut u64) -> f64 {
        *seed = *seed * 16_807 % 2_147_483_647;
        *seed as f64 / 2_147_483_647.0
    }

    #[test]
    fn no_pairing_gains_more() {
        let mut seed = 7;
        for (rows, columns) in [(1, 1), (3, 5), (5, 3), (4, 4), (6, 5), (0, 3), (3, 0)] {
            for _ in 0..40 {
                let row = |seed: &mut u64| (0..columns).map(|_| 10.0 * chance(seed) - 4.0).collect();
                let gains: Vec<Vec<f64>> = (0..rows).map(|_| row(&mut seed)).collect();
                let pairs = best_pairs(rows, columns, |i, j| gains[i][j]);
                let best = by_trial(&gains, 0, &mut vec![false; columns]);
                assert!((total(&pairs, &gains) - best).abs() < 1e-9, "{gains:?} {pairs:?}");
                assert!(pairs.iter().all(|&(i, j)| gains[i][j] > 0.0));
            }
        }
    }

    #[test]
    fn a_greedy_choice_is_undone_where_it_costs_more() {
        let gains = [[5.0, 4.0], [4.5, -1.0]];
        assert_eq!(best_pairs(2, 2, |i, j| gains[i][j]), [(0, 1), (1, 0)]);
    }
}
