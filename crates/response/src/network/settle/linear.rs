//! A few linear equations.

/// What `rows` times it gives `right`, by elimination with the largest pivot; `None` where there is not
/// one such.
pub fn solved(mut rows: Vec<Vec<f64>>, mut right: Vec<f64>) -> Option<Vec<f64>> {
    let count = right.len();
    for column in 0..count {
        let pivot = (column..count).max_by(|one, other| rows[*one][column].abs().total_cmp(&rows[*other][column].abs()))?;
        rows.swap(column, pivot);
        right.swap(column, pivot);
        if !rows[column][column].is_normal() {
            return None;
        }
        let upper = rows[column].clone();
        for below in column + 1..count {
            let factor = rows[below][column] / upper[column];
            rows[below].iter_mut().zip(&upper).skip(column).for_each(|(one, other)| *one -= factor * other);
            right[below] -= factor * right[column];
        }
    }
    for row in (0..count).rev() {
        let known: f64 = (row + 1..count).map(|at| rows[row][at] * right[at]).sum();
        right[row] = (right[row] - known) / rows[row][row];
    }
    right.iter().all(|found| found.is_finite()).then_some(right)
}

#[cfg(test)]
mod tests {
    use super::solved;

    #[test]
    fn three_equations() {
        // 2y = 4, x + z = 4, x − z = −2
        let rows = vec![vec![0.0, 2.0, 0.0], vec![1.0, 0.0, 1.0], vec![1.0, 0.0, -1.0]];
        assert_eq!(solved(rows, vec![4.0, 4.0, -2.0]), Some(vec![1.0, 2.0, 3.0]));
        assert_eq!(solved(vec![vec![1.0, 2.0], vec![2.0, 4.0]], vec![1.0, 2.0]), None);
    }
}
