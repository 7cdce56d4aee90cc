//! Small dense linear systems for the spectral answers.

/// Solves `a x = b` by elimination with partial pivoting; `a` is row-major, n × n.
///
/// # Panics
/// If the sizes do not match or the matrix is singular.
pub fn solve_dense(mut a: Vec<f64>, mut b: Vec<f64>) -> Vec<f64> {
    let n = b.len();
    assert_eq!(a.len(), n * n, "matrix and right-hand side of different size");
    for k in 0..n {
        let p = (k..n)
            .max_by(|&i, &j| a[i * n + k].abs().total_cmp(&a[j * n + k].abs()))
            .expect("k < n");
        assert!(a[p * n + k] != 0.0, "singular matrix");
        if p != k {
            for j in k..n {
                a.swap(p * n + j, k * n + j);
            }
            b.swap(p, k);
        }
        let (head, tail) = a.split_at_mut((k + 1) * n);
        let pivot_row = &head[k * n..];
        for (i, row) in tail.chunks_exact_mut(n).enumerate() {
            let f = row[k] / pivot_row[k];
            if f != 0.0 {
                for j in k..n {
                    row[j] -= f * pivot_row[j];
                }
                b[k + 1 + i] -= f * b[k];
            }
        }
    }
    for k in (0..n).rev() {
        let sum: f64 = (k + 1..n).map(|j| a[k * n + j] * b[j]).sum();
        b[k] = (b[k] - sum) / a[k * n + k];
    }
    b
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn solves_a_system_that_needs_pivoting() {
        let x =
            solve_dense(vec![0.0, 2.0, 1.0, 1.0, -1.0, 0.0, 3.0, 0.0, -2.0], vec![7.0, -1.0, -3.0]);
        for (got, want) in x.iter().zip([1.0, 2.0, 3.0]) {
            assert!((got - want).abs() < 1e-14, "{x:?}");
        }
    }
}
