//! B-splines, rational or not, as cubic Béziers.
//!
//! De Boor's algorithm (C. de Boor, *A Practical Guide to Splines*, chapter X) on homogeneous
//! coordinates gives point and derivative; each knot span becomes the cubic with the same ends
//! and end derivatives, halved until it follows the spline. A cubic without weights is exact.

use kurbo::{CubicBez, ParamCurve, Point, Vec2};

use crate::segment::Segment;

/// A B-spline of any degree.
pub(super) struct Spline<'a> {
    pub(super) degree: usize,
    pub(super) knots: &'a [f64],
    pub(super) points: &'a [Point],
    /// One for each point, or empty.
    pub(super) weights: &'a [f64],
}

/// Béziers follow the spline within this share of the extent of its points.
const SHARE: f64 = 1e-7;
/// Halvings of one knot span at most.
const MOST_HALVINGS: u32 = 12;
/// Greatest degree that is read; drawing programs write 3, seldom 5.
const MOST_DEGREE: usize = 15;

impl Spline<'_> {
    /// The spline as Béziers.
    ///
    /// # Errors
    /// What is wrong with its numbers.
    pub(super) fn segments(&self) -> Result<Vec<Segment>, &'static str> {
        self.check()?;
        let p = self.degree;
        let low = self.points.iter().fold(Vec2::new(f64::INFINITY, f64::INFINITY), |m, q| {
            Vec2::new(m.x.min(q.x), m.y.min(q.y))
        });
        let extent = self.points.iter().map(|q| (q.to_vec2() - low).hypot()).fold(0.0, f64::max);
        let mut out = Vec::new();
        for k in p..self.points.len() {
            let (a, b) = (self.knots[k], self.knots[k + 1]);
            if b > a {
                self.span(k, a, b, SHARE * extent, MOST_HALVINGS, &mut out);
            }
        }
        if out.is_empty() { Err("its knots span nothing") } else { Ok(out) }
    }

    fn check(&self) -> Result<(), &'static str> {
        let (p, n) = (self.degree, self.points.len());
        if !(1..=MOST_DEGREE).contains(&p) {
            return Err("its degree is not between 1 and 15");
        }
        if n <= p {
            return Err("it has too few control points for its degree");
        }
        if self.knots.len() != n + p + 1 {
            return Err("the number of its knots does not fit its control points");
        }
        let finite =
            self.knots.iter().all(|k| k.is_finite()) && self.points.iter().all(|q| q.is_finite());
        if !finite || self.knots.windows(2).any(|pair| pair[1] < pair[0]) {
            return Err("its knots do not rise");
        }
        if !self.weights.is_empty()
            && (self.weights.len() != n || !self.weights.iter().all(|w| *w > 0.0 && w.is_finite()))
        {
            return Err("its weights are not all above zero");
        }
        Ok(())
    }

    fn span(&self, k: usize, a: f64, b: f64, tolerance: f64, left: u32, out: &mut Vec<Segment>) {
        let ((p0, d0), (p3, d3)) = (self.at(k, a), self.at(k, b));
        let third = (b - a) / 3.0;
        let bez = CubicBez::new(p0, p0 + third * d0, p3 - third * d3, p3);
        let follows = [0.25, 0.5, 0.75]
            .iter()
            .all(|t| (self.at(k, a + t * (b - a)).0 - bez.eval(*t)).hypot() <= tolerance);
        if follows || left == 0 {
            out.push(Segment::cubic(bez));
        } else {
            let middle = 0.5 * (a + b);
            self.span(k, a, middle, tolerance, left - 1, out);
            self.span(k, middle, b, tolerance, left - 1, out);
        }
    }

    /// Point and derivative at `t` in the knot span `k`.
    fn at(&self, k: usize, t: f64) -> (Point, Vec2) {
        let p = self.degree;
        let weight = |i: usize| self.weights.get(i).copied().unwrap_or(1.0);
        let mut d: Vec<[f64; 3]> = (0..=p)
            .map(|j| {
                let i = k - p + j;
                let w = weight(i);
                [w * self.points[i].x, w * self.points[i].y, w]
            })
            .collect();
        let mut slope = [0.0; 3];
        for r in 1..=p {
            for j in (r..=p).rev() {
                let (low, high) = (self.knots[j + k - p], self.knots[j + 1 + k - r]);
                let alpha = (t - low) / (high - low);
                if r == p {
                    let speed = p as f64 / (high - low);
                    slope = std::array::from_fn(|c| speed * (d[j][c] - d[j - 1][c]));
                }
                d[j] = std::array::from_fn(|c| (1.0 - alpha) * d[j - 1][c] + alpha * d[j][c]);
            }
        }
        let [x, y, w] = d[p];
        let at = Point::new(x / w, y / w);
        let rate = Vec2::new(slope[0] - slope[2] * at.x, slope[1] - slope[2] * at.y) / w;
        (at, rate)
    }
}
