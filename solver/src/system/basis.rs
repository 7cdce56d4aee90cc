//! Biquadratic shape functions of a cell and exact integrals of their products over any polygon.
//!
//! Nodes sit at 0, ½ and 1 each way, number i + 3 j. Integrands of the cell energy are polynomials
//! of degree four at most in each coordinate; they are integrated exactly over a clipped cell by
//! weights on 5 × 5 Gauss points, found from a contour integral around the piece (Green's theorem),
//! so a piece is never triangulated.

use std::sync::LazyLock;

use crate::grid::clip::Piece;

/// Nodes of a cell.
pub(crate) const NODES: usize = 9;
/// Entries of a symmetric 9 × 9 matrix, upper triangle by rows.
pub(crate) const PAIRS: usize = NODES * (NODES + 1) / 2;

/// Values and derivatives of the three quadratic Lagrange polynomials at `x`.
pub(crate) fn line(x: f64) -> ([f64; 3], [f64; 3]) {
    (
        [(1.0 - 2.0 * x) * (1.0 - x), 4.0 * x * (1.0 - x), x * (2.0 * x - 1.0)],
        [4.0 * x - 3.0, 4.0 - 8.0 * x, 4.0 * x - 1.0],
    )
}

/// Shape functions and their gradients (per cell side) at a point in cell coordinates.
pub(crate) fn shape(p: [f64; 2]) -> ([f64; NODES], [[f64; 2]; NODES]) {
    let ((lx, dx), (ly, dy)) = (line(p[0]), line(p[1]));
    let mut n = [0.0; NODES];
    let mut g = [[0.0; 2]; NODES];
    for j in 0..3 {
        for i in 0..3 {
            n[i + 3 * j] = lx[i] * ly[j];
            g[i + 3 * j] = [dx[i] * ly[j], lx[i] * dy[j]];
        }
    }
    (n, g)
}

/// Gauss-Legendre points and weights on 0..1, five points (Abramowitz & Stegun, table 25.4).
pub(crate) const GAUSS5: [(f64, f64); 5] = [
    (0.046_910_077_030_668_004, 0.118_463_442_528_094_54),
    (0.230_765_344_947_158_45, 0.239_314_335_249_683_24),
    (0.5, 0.284_444_444_444_444_44),
    (0.769_234_655_052_841_5, 0.239_314_335_249_683_24),
    (0.953_089_922_969_332, 0.118_463_442_528_094_54),
];

/// Four points, for boundary terms.
const GAUSS4: [(f64, f64); 4] = [
    (0.069_431_844_202_973_71, 0.173_927_422_568_726_93),
    (0.330_009_478_207_571_87, 0.326_072_577_431_273_07),
    (0.669_990_521_792_428_1, 0.326_072_577_431_273_07),
    (0.930_568_155_797_026_3, 0.173_927_422_568_726_93),
];

/// Six points, for contour integrals around pieces of an axial section.
const GAUSS6: [(f64, f64); 6] = [
    (0.033_765_242_898_423_99, 0.085_662_246_189_585_17),
    (0.169_395_306_766_867_74, 0.180_380_786_524_069_3),
    (0.380_690_406_958_401_55, 0.233_956_967_286_345_52),
    (0.619_309_593_041_598_5, 0.233_956_967_286_345_52),
    (0.830_604_693_233_132_3, 0.180_380_786_524_069_3),
    (0.966_234_757_101_576, 0.085_662_246_189_585_17),
];

/// Three points (Abramowitz & Stegun, table 25.4, on 0..1).
const GAUSS3: [(f64, f64); 3] = [
    (0.112_701_665_379_258_31, 0.277_777_777_777_777_8),
    (0.5, 0.444_444_444_444_444_4),
    (0.887_298_334_620_741_7, 0.277_777_777_777_777_8),
];

/// Two points.
const GAUSS2: [(f64, f64); 2] = [(0.211_324_865_405_187_1, 0.5), (0.788_675_134_594_812_9, 0.5)];

/// Points for a boundary term along a straight run of `length` cell sides.
///
/// The squares of traces are polynomials of degree eight at most along the run: what these rules
/// miss of them is below 1e-3 of the term in all three classes. A circle has some ten chords in
/// a cell, and laws cost more than anything else at a point.
pub(crate) fn along_run(length: f64) -> &'static [(f64, f64)] {
    if length > 0.35 {
        &GAUSS4
    } else if length > 0.12 {
        &GAUSS3
    } else {
        &GAUSS2
    }
}

/// What is the same for every cell, made once.
struct Tables {
    /// Monomial coefficients of the Lagrange polynomials on the Gauss points.
    lagrange: [[f64; 5]; 5],
    /// Products of gradients at each of the 25 points, upper triangle.
    products: Vec<[f64; PAIRS]>,
    /// Stiffness of a whole cell.
    whole: [f64; PAIRS],
    /// The same weighted with x.
    whole_x: [f64; PAIRS],
}

static TABLES: LazyLock<Tables> = LazyLock::new(|| {
    let lagrange = std::array::from_fn(|i| {
        let mut c = [0.0; 5];
        c[0] = 1.0;
        for (degree, k) in (0..5).filter(|&k| k != i).enumerate() {
            let (xi, xk) = (GAUSS5[i].0, GAUSS5[k].0);
            // multiply by (x − xk) / (xi − xk)
            for d in (0..=degree + 1).rev() {
                let low = if d > 0 { c[d - 1] } else { 0.0 };
                let same = if d <= degree { c[d] } else { 0.0 };
                c[d] = (low - xk * same) / (xi - xk);
            }
        }
        c
    });
    let mut products = Vec::with_capacity(25);
    let (mut whole, mut whole_x) = ([0.0; PAIRS], [0.0; PAIRS]);
    for (y, wy) in GAUSS5 {
        for (x, wx) in GAUSS5 {
            let (_, g) = shape([x, y]);
            let mut row = [0.0; PAIRS];
            let mut k = 0;
            for a in 0..NODES {
                for b in a..NODES {
                    row[k] = g[a][0] * g[b][0] + g[a][1] * g[b][1];
                    whole[k] += wx * wy * row[k];
                    whole_x[k] += wx * wy * x * row[k];
                    k += 1;
                }
            }
            products.push(row);
        }
    }
    Tables { lagrange, products, whole, whole_x }
});

/// The stiffness of a whole cell in a section of breadth `b`, upper triangle by rows.
pub(crate) fn whole_stiffness_in(b: [f64; 2]) -> [f64; PAIRS] {
    std::array::from_fn(|k| b[0] * TABLES.whole[k] + b[1] * TABLES.whole_x[k])
}

/// ∫ ∇N_a · ∇N_b over the whole cell; in the plane it does not depend on the cell's size.
pub(crate) fn whole_stiffness() -> &'static [f64; PAIRS] {
    &TABLES.whole
}

/// The node in the middle of a cell.
pub(crate) const MIDDLE: usize = 4;

/// What the value in the middle of a whole cell, in a section of breadth `b`, follows from the other
/// eight where nothing else acts on it: the value of least energy.
pub(crate) fn middle(b: [f64; 2]) -> [f64; NODES] {
    let entry = |k: usize| b[0] * TABLES.whole[k] + b[1] * TABLES.whole_x[k];
    let pivot = entry(pair(MIDDLE, MIDDLE));
    std::array::from_fn(|k| if k == MIDDLE { 0.0 } else { -entry(pair(k, MIDDLE)) / pivot })
}

/// Weights on the 25 Gauss points that integrate degree four in each coordinate, times the breadth
/// `b[0] + b[1] x` of the section, over a piece.
fn weights(piece: &Piece, b: [f64; 2]) -> [f64; 25] {
    let lagrange = &TABLES.lagrange;
    // along an edge the integrand has degree nine, or ten where the breadth grows
    let rule: &[(f64, f64)] = if b[1] == 0.0 { &GAUSS5 } else { &GAUSS6 };
    let mut w = [0.0; 25];
    for lp in &piece.loops {
        for (k, c) in lp.iter().enumerate() {
            let (p, q) = (c.at, lp[(k + 1) % lp.len()].at);
            let rise = q[1] - p[1];
            if rise == 0.0 {
                continue;
            }
            for &(t, wt) in rule {
                let (x, y) = (p[0] + t * (q[0] - p[0]), p[1] + t * rise);
                let mut primitive = [0.0; 5];
                let mut value = [0.0; 5];
                for i in 0..5 {
                    let c = &lagrange[i];
                    let antiderivative = c[0]
                        + x * (c[1] / 2.0 + x * (c[2] / 3.0 + x * (c[3] / 4.0 + x * c[4] / 5.0)));
                    let times_x = c[0] / 2.0
                        + x * (c[1] / 3.0 + x * (c[2] / 4.0 + x * (c[3] / 5.0 + x * c[4] / 6.0)));
                    primitive[i] = x * (b[0] * antiderivative + b[1] * x * times_x) * rise * wt;
                    value[i] = c[0] + y * (c[1] + y * (c[2] + y * (c[3] + y * c[4])));
                }
                for j in 0..5 {
                    for i in 0..5 {
                        w[i + 5 * j] += primitive[i] * value[j];
                    }
                }
            }
        }
    }
    w
}

/// ∫ (b₀ + b₁ x) ∇N_a · ∇N_b over a piece, upper triangle by rows; `b` is the breadth of the
/// section in the cell.
pub(crate) fn stiffness(piece: &Piece, b: [f64; 2]) -> [f64; PAIRS] {
    if piece.is_whole() {
        return whole_stiffness_in(b);
    }
    let w = weights(piece, b);
    let mut k = [0.0; PAIRS];
    for (wq, row) in w.iter().zip(&TABLES.products) {
        for (kk, r) in k.iter_mut().zip(row) {
            *kk += wq * r;
        }
    }
    k
}

/// ∫ (b₀ + b₁ x) over a piece, in cell areas.
pub(crate) fn volume(piece: &Piece, b: [f64; 2]) -> f64 {
    if b[1] == 0.0 {
        return b[0] * piece.fraction;
    }
    if piece.is_whole() {
        return b[0] + 0.5 * b[1];
    }
    // Green's theorem again: ∮ x²/2 dy
    let mut moment = 0.0;
    for lp in &piece.loops {
        for (k, c) in lp.iter().enumerate() {
            let (p, q) = (c.at, lp[(k + 1) % lp.len()].at);
            moment += (p[0] * p[0] + p[0] * q[0] + q[0] * q[0]) / 6.0 * (q[1] - p[1]);
        }
    }
    (b[0] * piece.fraction + b[1] * moment).max(0.0)
}

/// A symmetric matrix in full, from its upper triangle by rows.
pub(crate) fn full(upper: &[f64; PAIRS]) -> [[f64; NODES]; NODES] {
    std::array::from_fn(|a| std::array::from_fn(|b| upper[pair(a, b)]))
}

/// Index of entry (a, b) in an upper triangle by rows.
pub(crate) fn pair(a: usize, b: usize) -> usize {
    let (a, b) = if a <= b { (a, b) } else { (b, a) };
    a * NODES - a * (a + 1) / 2 + b
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grid::clip::Corner;

    fn polygon(points: &[[f64; 2]]) -> Piece {
        let mut p = Piece::whole(0);
        p.loops = vec![points.iter().map(|&at| Corner { at, edge: None }).collect()];
        p
    }

    #[test]
    fn weights_integrate_degree_four_in_each_coordinate() {
        // over the triangle (0,0), (1,0), (0,1): ∫ x^a y^b = a! b! / (a + b + 2)!
        let w = weights(&polygon(&[[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]), [1.0, 0.0]);
        let factorial = |n: usize| (1..=n).map(|k| k as f64).product::<f64>();
        for a in 0..=4 {
            for b in 0..=4 {
                let mut sum = 0.0;
                for j in 0..5 {
                    for i in 0..5 {
                        sum +=
                            w[i + 5 * j] * GAUSS5[i].0.powi(a as i32) * GAUSS5[j].0.powi(b as i32);
                    }
                }
                let exact = factorial(a) * factorial(b) / factorial(a + b + 2);
                assert!((sum - exact).abs() < 1e-14, "x^{a} y^{b}: {sum} against {exact}");
            }
        }
    }

    #[test]
    fn a_growing_breadth_is_integrated_exactly_too() {
        // over the same triangle, each monomial times 0.3 + 1.7 x
        let triangle = polygon(&[[0.0, 0.0], [1.0, 0.0], [0.0, 1.0]]);
        let w = weights(&triangle, [0.3, 1.7]);
        let factorial = |n: usize| (1..=n).map(|k| k as f64).product::<f64>();
        let exact = |a: usize, b: usize| factorial(a) * factorial(b) / factorial(a + b + 2);
        for (a, b) in (0..25).map(|k| (k % 5, k / 5)) {
            let at = |k: usize| (GAUSS5[k % 5].0.powi(a as i32), GAUSS5[k / 5].0.powi(b as i32));
            let sum: f64 = (0..25).map(|k| w[k] * at(k).0 * at(k).1).sum();
            let want = 0.3 * exact(a, b) + 1.7 * exact(a + 1, b);
            assert!((sum - want).abs() < 1e-14, "x^{a} y^{b}: {sum} against {want}");
        }
        let whole = Piece { fraction: 0.5, ..triangle };
        assert!((volume(&whole, [0.3, 1.7]) - (0.3 / 2.0 + 1.7 / 6.0)).abs() < 1e-15);
    }

    #[test]
    fn a_square_given_as_polygon_has_the_stiffness_of_a_whole_cell() {
        let square = polygon(&[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]]);
        for breadth in [[1.0, 0.0], [0.7, 2.3]] {
            let (k, whole) = (stiffness(&square, breadth), stiffness(&Piece::whole(0), breadth));
            for (a, b) in k.iter().zip(&whole) {
                assert!((a - b).abs() < 1e-13);
            }
            assert!((volume(&square, breadth) - volume(&Piece::whole(0), breadth)).abs() < 1e-15);
        }
    }

    #[test]
    fn constants_have_no_energy() {
        for a in 0..NODES {
            let row: f64 = (0..NODES).map(|b| whole_stiffness()[pair(a, b)]).sum();
            assert!(row.abs() < 1e-14);
        }
    }
}
