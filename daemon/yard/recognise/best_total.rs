//! Gives each field at most one column and each column at most one field, so that all together explain the most.

/// The place of the column that each row of weights gets, so that the sum is the greatest there is; `None` for a row
/// that gets none. A weight of 0 or less means that the two do not go together.
///
/// Rows of different lengths are filled up with 0. The way is that of Kuhn (1955) and Munkres (1957) with the
/// shortest augmenting paths of Jonker and Volgenant (1987); from memory, and held against trying all ways.
pub(super) fn best_total(weights: &[Vec<i64>]) -> Vec<Option<usize>> {
    let rows = weights.len();
    let columns = weights.iter().map(Vec::len).max().unwrap_or(0).max(rows);
    let cost = |row: usize, column: usize| -weights[row].get(column).copied().unwrap_or(0).max(0);
    // Rows and columns count from 1: place 0 stands for `none yet`.
    let (mut of_row, mut of_column) = (vec![0; rows + 1], vec![0; columns + 1]);
    let mut row_of = vec![0; columns + 1];
    for row in 1..=rows {
        row_of[0] = row;
        let mut least = vec![i64::MAX; columns + 1];
        let mut way = vec![0; columns + 1];
        let mut is_used = vec![false; columns + 1];
        let mut at = 0;
        while row_of[at] != 0 {
            is_used[at] = true;
            let here = row_of[at];
            let (mut step, mut next) = (i64::MAX, 0);
            for column in (1..=columns).filter(|column| !is_used[*column]) {
                let rest = cost(here - 1, column - 1) - of_row[here] - of_column[column];
                if rest < least[column] {
                    (least[column], way[column]) = (rest, at);
                }
                if least[column] < step {
                    (step, next) = (least[column], column);
                }
            }
            for column in 0..=columns {
                if is_used[column] {
                    of_row[row_of[column]] += step;
                    of_column[column] -= step;
                } else if column > 0 {
                    least[column] -= step;
                }
            }
            at = next;
        }
        while at != 0 {
            row_of[at] = row_of[way[at]];
            at = way[at];
        }
    }
    let mut chosen = vec![None; rows];
    for (column, row) in row_of.iter().enumerate().skip(1).filter(|(_, row)| **row != 0) {
        chosen[row - 1] = (cost(row - 1, column - 1) < 0).then_some(column - 1);
    }
    chosen
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::dice::Dice;

    /// The greatest sum of all ways there are.
    fn by_trying_all(weights: &[Vec<i64>], taken: &mut Vec<usize>) -> i64 {
        let Some((first, others)) = weights.split_first() else { return 0 };
        let mut best = by_trying_all(others, taken);
        for (column, weight) in first.iter().enumerate().filter(|(_, weight)| **weight > 0) {
            if !taken.contains(&column) {
                taken.push(column);
                best = best.max(weight + by_trying_all(others, taken));
                taken.pop();
            }
        }
        best
    }

    #[test]
    fn no_other_way_explains_more() {
        let mut dice = Dice::of(4);
        for case in 0..3_000 {
            let (rows, columns) = (dice.below(6) as usize, dice.below(6) as usize);
            let mut weight = || if dice.below(3) == 0 { 0 } else { dice.below(12) as i64 };
            let weights: Vec<Vec<i64>> =
                (0..rows).map(|_| (0..columns).map(|_| weight()).collect()).collect();
            let chosen = best_total(&weights);
            let total: i64 =
                chosen.iter().zip(&weights).filter_map(|(column, row)| Some(row[(*column)?])).sum();
            let mut columns: Vec<usize> = chosen.iter().copied().flatten().collect();
            columns.sort_unstable();
            columns.dedup();
            assert_eq!(
                columns.len(),
                chosen.iter().flatten().count(),
                "case {case}: a column is given twice"
            );
            assert_eq!(total, by_trying_all(&weights, &mut Vec::new()), "case {case}: {weights:?}");
        }
    }

    #[test]
    fn a_field_steps_back_where_both_together_explain_more() {
        // By the best score first the other one would get nothing.
        assert_eq!(best_total(&[vec![10, 9], vec![9, 0]]), [Some(1), Some(0)]);
        assert_eq!(best_total(&[vec![0, 0], vec![0, 5]]), [None, Some(1)]);
        assert_eq!(best_total(&[]), []);
    }
}
