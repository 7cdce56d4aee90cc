//! A cubic Bézier measured by its arc length.

use kurbo::common::GAUSS_LEGENDRE_COEFFS_16;
use kurbo::{CubicBez, ParamCurve, ParamCurveDeriv, ParamCurveExtrema, Point, Vec2};

/// A cubic Bézier that knows its arc length.
///
/// Arc length is integrated by Gauss-Legendre quadrature of 16 points on a bisected parameter
/// range, to about 1e-14 of the length on smooth curves.
#[derive(Debug, Clone, PartialEq)]
pub struct Cubic {
    bez: CubicBez,
    /// Parameter and arc length at the ends of the pieces integrated at once.
    nodes: Vec<(f64, f64)>,
    /// Parameters between which `y` only rises or only falls, with 0 and 1.
    y_turns: Vec<f64>,
}

/// Bisections of the parameter range at least, so that the nodes also serve as first guesses.
const LEAST_BISECTIONS: u32 = 2;
/// Bisections at most: only the neighbourhood of a cusp is bisected this deep, and what is left
/// there is 2^-14 of the range.
const MOST_BISECTIONS: u32 = 14;

impl Cubic {
    /// Measures a curve.
    pub fn new(bez: CubicBez) -> Cubic {
        let mut nodes = vec![(0.0, 0.0)];
        let reach =
            (bez.p1 - bez.p0).hypot() + (bez.p2 - bez.p1).hypot() + (bez.p3 - bez.p2).hypot();
        // far from the origin the coordinates themselves have fewer digits
        let far = [bez.p0, bez.p1, bez.p2, bez.p3]
            .iter()
            .fold(reach, |far, p| far.max(p.x.abs()).max(p.y.abs()));
        measure(&bez, 0.0, 1.0, far * 2e-15, 0, &mut nodes);
        let mut y_turns = vec![0.0];
        y_turns.extend(y_extremes(&bez));
        y_turns.push(1.0);
        Cubic { bez, nodes, y_turns }
    }

    /// The curve itself.
    pub fn bez(&self) -> CubicBez {
        self.bez
    }

    /// Arc length.
    pub fn length(&self) -> f64 {
        self.nodes.last().map_or(0.0, |node| node.1)
    }

    pub(crate) fn y_turns(&self) -> &[f64] {
        &self.y_turns
    }

    /// Parameters at the ends of the pieces that arc length was integrated on.
    pub(crate) fn node_parameters(&self) -> impl Iterator<Item = f64> {
        self.nodes.iter().map(|node| node.0)
    }

    /// Curve parameter at the arc length `s`: safeguarded Newton iteration.
    pub fn parameter_at(&self, s: f64) -> f64 {
        let length = self.length();
        if s.is_nan() || s <= 0.0 {
            return 0.0;
        }
        if s >= length {
            return 1.0;
        }
        let next = self.nodes.partition_point(|node| node.1 <= s).clamp(1, self.nodes.len() - 1);
        let ((t0, s0), (t1, s1)) = (self.nodes[next - 1], self.nodes[next]);
        let (mut low, mut high) = (t0, t1);
        let mut t = t0 + (t1 - t0) * (s - s0) / (s1 - s0).max(f64::MIN_POSITIVE);
        // Newton doubles the digits each time; bisection alone needs 53 steps
        for _ in 0..60 {
            let excess = s0 + arc_length(&self.bez, t0, t) - s;
            if excess.abs() <= 1e-15 * length {
                break;
            }
            if excess > 0.0 {
                high = t
            } else {
                low = t
            }
            let newton = t - excess / self.derivative(t).hypot();
            let last = t;
            t = if newton > low && newton < high { newton } else { 0.5 * (low + high) };
            if t == last || high - low <= f64::EPSILON {
                break;
            }
        }
        t
    }

    /// Arc length at the parameter `t`.
    pub fn s_at_parameter(&self, t: f64) -> f64 {
        let next = self.nodes.partition_point(|node| node.0 <= t).clamp(1, self.nodes.len() - 1);
        let (t0, s0) = self.nodes[next - 1];
        s0 + arc_length(&self.bez, t0, t)
    }

    pub(crate) fn derivative(&self, t: f64) -> Vec2 {
        self.bez.deriv().eval(t).to_vec2()
    }

    /// Unit vector of travel at the parameter `t`.
    ///
    /// Where the speed vanishes (a control point on its end point) it is the direction of a short
    /// chord from there into the curve.
    pub fn tangent_at_parameter(&self, t: f64) -> Vec2 {
        let derivative = self.derivative(t);
        let direction = if derivative.hypot() > 1e-9 * self.length() {
            derivative
        } else if t < 0.5 {
            self.bez.eval(t + 1e-5) - self.bez.eval(t)
        } else {
            self.bez.eval(t) - self.bez.eval(t - 1e-5)
        };
        let size = direction.hypot();
        if size > 0.0 { direction / size } else { Vec2::new(1.0, 0.0) }
    }

    /// Curvature at the parameter `t`, positive where the curve turns left.
    pub fn curvature_at_parameter(&self, t: f64) -> f64 {
        let mut t = t;
        let mut speed = self.derivative(t);
        if speed.hypot() <= 1e-9 * self.length() {
            t = if t < 0.5 { t + 1e-5 } else { t - 1e-5 };
            speed = self.derivative(t);
        }
        let bend = self.bez.deriv().deriv().eval(t).to_vec2();
        let curvature = speed.cross(bend) / speed.hypot().powi(3);
        if curvature.is_finite() { curvature } else { 0.0 }
    }

    /// The same curve, travelled the other way.
    pub fn reversed(&self) -> Cubic {
        let CubicBez { p0, p1, p2, p3 } = self.bez;
        Cubic::new(CubicBez::new(p3, p2, p1, p0))
    }

    /// Parameter of the point of the curve nearest to `p`.
    ///
    /// The least of the distances at 4 points for each piece of the length integration brackets
    /// the answer; golden section narrows it and Newton finishes it.
    pub(crate) fn nearest_parameter(&self, p: Point) -> f64 {
        const SAMPLES: usize = 4;
        let distance = |t: f64| (self.bez.eval(t) - p).hypot2();
        let mut samples = Vec::with_capacity(self.nodes.len() * SAMPLES);
        for pair in self.nodes.windows(2) {
            let (t0, t1) = (pair[0].0, pair[1].0);
            samples.extend((0..SAMPLES).map(|k| {
                let t = t0 + (t1 - t0) * k as f64 / SAMPLES as f64;
                (t, distance(t))
            }));
        }
        samples.push((1.0, distance(1.0)));
        let mut best = (0.0, f64::INFINITY);
        for (k, &(t, here)) in samples.iter().enumerate() {
            let before = if k == 0 { (0.0, here) } else { samples[k - 1] };
            let after = samples.get(k + 1).copied().unwrap_or((1.0, here));
            if here > before.1 || here > after.1 {
                continue;
            }
            let found = self.polish(p, golden(&distance, before.0, after.0));
            for candidate in [t, found] {
                let d = distance(candidate);
                if d < best.1 {
                    best = (candidate, d);
                }
            }
        }
        best.0
    }

    /// Newton on `(B - p) · B' = 0`, kept only while the distance falls.
    fn polish(&self, p: Point, t: f64) -> f64 {
        let mut t = t;
        let second = self.bez.deriv().deriv();
        for _ in 0..4 {
            let away = self.bez.eval(t) - p;
            let speed = self.derivative(t);
            let slope = speed.hypot2() + away.dot(second.eval(t).to_vec2());
            if slope.is_nan() || slope <= 0.0 {
                break;
            }
            let next = (t - away.dot(speed) / slope).clamp(0.0, 1.0);
            if (self.bez.eval(next) - p).hypot2() > away.hypot2() * (1.0 + 1e-12) {
                break;
            }
            t = next;
        }
        t
    }
}

/// Where `f` is least between `a` and `b`, to about a millionth of the range.
fn golden(f: &impl Fn(f64) -> f64, a: f64, b: f64) -> f64 {
    const RATIO: f64 = 0.618_033_988_749_894_8;
    let (mut a, mut b) = (a, b);
    let (mut c, mut d) = (b - RATIO * (b - a), a + RATIO * (b - a));
    let (mut fc, mut fd) = (f(c), f(d));
    for _ in 0..28 {
        if fc < fd {
            (b, d, fd) = (d, c, fc);
            c = b - RATIO * (b - a);
            fc = f(c);
        } else {
            (a, c, fc) = (c, d, fd);
            d = a + RATIO * (b - a);
            fd = f(d);
        }
    }
    0.5 * (a + b)
}

fn arc_length(bez: &CubicBez, t0: f64, t1: f64) -> f64 {
    let derivative = bez.deriv();
    let (middle, half) = (0.5 * (t0 + t1), 0.5 * (t1 - t0));
    let mut sum = 0.0;
    for &(weight, x) in GAUSS_LEGENDRE_COEFFS_16.iter() {
        sum += weight * derivative.eval(middle + half * x).to_vec2().hypot();
    }
    sum * half
}

fn measure(bez: &CubicBez, t0: f64, t1: f64, slack: f64, depth: u32, nodes: &mut Vec<(f64, f64)>) {
    let middle = 0.5 * (t0 + t1);
    let whole = arc_length(bez, t0, t1);
    let halves = arc_length(bez, t0, middle) + arc_length(bez, middle, t1);
    let unsettled = (whole - halves).abs() > slack;
    if depth >= MOST_BISECTIONS || (depth >= LEAST_BISECTIONS && !unsettled) {
        let before = nodes.last().map_or(0.0, |node| node.1);
        nodes.push((t1, before + halves));
    } else {
        measure(bez, t0, middle, slack, depth + 1, nodes);
        measure(bez, middle, t1, slack, depth + 1, nodes);
    }
}

/// Parameters strictly inside the range at which `y` turns back, in order.
fn y_extremes(bez: &CubicBez) -> Vec<f64> {
    // kurbo returns the extremes of x and y together; an extra stop does no harm
    let mut turns: Vec<f64> = bez.extrema().into_iter().filter(|t| *t > 0.0 && *t < 1.0).collect();
    turns.sort_by(f64::total_cmp);
    turns.dedup();
    turns
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wave() -> Cubic {
        Cubic::new(CubicBez::new((0.0, 0.0), (3.0, 4.0), (-1.0, 5.0), (4.0, 1.0)))
    }

    #[test]
    fn length_of_a_raised_parabola_matches_the_closed_form() {
        // y = x², x from 0 to 1: length = √5/2 + asinh(2)/4
        let quad = kurbo::QuadBez::new((0.0, 0.0), (0.5, 0.0), (1.0, 1.0));
        let curve = Cubic::new(quad.raise());
        let exact = 5f64.sqrt() / 2.0 + 2f64.asinh() / 4.0;
        assert!((curve.length() - exact).abs() < 1e-14);
        // curvature of y = x²: 2 / (1 + 4x²)^1.5
        assert!((curve.curvature_at_parameter(0.5) - 2.0 / 2f64.powf(1.5)).abs() < 1e-13);
    }

    #[test]
    fn parameter_and_arc_length_invert_each_other() {
        let curve = wave();
        for k in 0..=50 {
            let t = f64::from(k) / 50.0;
            assert!((curve.parameter_at(curve.s_at_parameter(t)) - t).abs() < 1e-13);
        }
    }

    #[test]
    fn a_cusp_has_the_right_length_and_a_tangent() {
        // B(t) = ((1-2t)², (1-2t)³)-like cusp: p = (1,1),(-1/3,-1),(-1/3,1),(1,-1) is x = u², y = u³
        let third = 1.0 / 3.0;
        let curve =
            Cubic::new(CubicBez::new((1.0, 1.0), (-third, -1.0), (-third, 1.0), (1.0, -1.0)));
        let exact = 2.0 * (13f64.powf(1.5) - 8.0) / 27.0;
        assert!((curve.length() - exact).abs() < 1e-8, "{} {exact}", curve.length());
        assert!((curve.tangent_at_parameter(0.5).hypot() - 1.0).abs() < 1e-12);
        assert!(curve.curvature_at_parameter(0.5).is_finite());
    }

    #[test]
    fn nearest_is_at_least_as_near_as_every_point_of_a_fine_sampling() {
        let curve = wave();
        for k in 0..200 {
            let p = Point::new(-3.0 + 0.05 * f64::from(k), 4.0 * (0.7 * f64::from(k)).sin());
            let found = (curve.bez.eval(curve.nearest_parameter(p)) - p).hypot();
            let sampled = (0..=4000)
                .map(|j| (curve.bez.eval(f64::from(j) / 4000.0) - p).hypot())
                .fold(f64::INFINITY, f64::min);
            assert!(found <= sampled + 1e-12, "{p}: {found} against {sampled}");
        }
    }
}
