//! Tafel and Butler-Volmer: current densities that grow by a factor for every few millivolts.
//!
//! With natural slopes b (V per factor e), exchange current density i0 and limit L:
//! one-sided `j_kin = i0 exp(η/b)`, two-sided `j_kin = i0 (exp(η/b_a) − exp(−η/b_c))`, and in both
//! `j = j_kin / (1 + |j_kin|/L)`.
use super::omega::{bounded_omega, omega};
use super::{Series, linear};

/// exp of this is the largest factor ever formed: far beyond any current that a bath resistance
/// lets through, far below overflow.
const MOST: f64 = 600.0;
/// exp of minus this still is a normal number.
const LEAST: f64 = 690.0;

/// j and dj/dη behind a limit, from the kinetic ones.
pub(super) fn limited(j_kin: f64, dj_kin: f64, limit: f64) -> (f64, f64) {
    let w = 1.0 / (1.0 + j_kin.abs() / limit);
    // rounding must not carry it past the limit
    ((j_kin * w).clamp(-limit, limit), dj_kin * w * w)
}

/// One-sided Tafel law in its anodic form.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Tafel {
    /// Exchange current density, A/m².
    pub exchange: f64,
    /// Overpotential for a factor e, V.
    pub b: f64,
}

impl Tafel {
    pub fn kinetic(&self, eta: f64) -> (f64, f64) {
        let j = self.exchange * libm::exp((eta / self.b).clamp(-LEAST, MOST));
        (j, j / self.b)
    }

    /// η at a kinetic current density > 0.
    pub fn eta(&self, j_kin: f64) -> f64 {
        self.b * libm::log(j_kin / self.exchange)
    }

    /// What [`in_series`](Self::in_series) adds to s / b, the same for all s.
    pub fn offset(&self, limit: f64, r: f64) -> f64 {
        let Self { exchange, b } = *self;
        if limit == f64::INFINITY {
            libm::log(exchange / (b / r))
        } else {
            -libm::log(limit / exchange)
        }
    }

    /// Solves η + r j(η) = s, by the (bounded) omega function.
    pub fn in_series(&self, limit: f64, s: f64, r: f64, offset: f64) -> Series {
        let b = self.b;
        if limit == f64::INFINITY {
            let scale = b / r;
            // u = r j / b
            let u = omega(s / b + offset);
            let j = u * scale;
            // of the two expressions for η the one without cancellation
            let eta = if u * b > 0.5 * s.abs() { self.eta(j) } else { s - u * b };
            let dj_ds = (u / (1.0 + u) / r).max(f64::MIN_POSITIVE);
            return Series { j, dj_ds, eta };
        }
        let c = r * limit / b;
        let (v, w) = bounded_omega(s / b + offset, c);
        let j = limit * v;
        let eta = if r * j > 0.5 * s.abs() && w > 0.0 { self.eta(j / w) } else { s - r * j };
        let steep = limit / b * v * w;
        Series { j, dj_ds: (steep / (1.0 + r * steep)).max(f64::MIN_POSITIVE), eta }
    }
}

/// Butler-Volmer law, or a Tafel law that works both ways.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct TwoSided {
    /// Exchange current density, A/m².
    pub exchange: f64,
    /// Anodic overpotential for a factor e, V.
    pub anodic: f64,
    /// Cathodic overpotential for a factor e, V.
    pub cathodic: f64,
}

impl TwoSided {
    pub fn kinetic(&self, eta: f64) -> (f64, f64) {
        let a = libm::expm1((eta / self.anodic).min(MOST));
        let c = libm::expm1((-eta / self.cathodic).min(MOST));
        let slope = (1.0 + a) / self.anodic + (1.0 + c) / self.cathodic;
        (self.exchange * (a - c), self.exchange * slope)
    }

    /// dη/dj at η = 0.
    fn resistance(&self) -> f64 {
        1.0 / (self.exchange * (1.0 / self.anodic + 1.0 / self.cathodic))
    }

    fn mirrored(&self) -> Self {
        Self { anodic: self.cathodic, cathodic: self.anodic, ..*self }
    }

    /// η at a kinetic current density of either sign: Newton on the logarithm of j, which is
    /// concave in η, inside the bracket that the two Tafel branches give.
    pub fn eta(&self, j_kin: f64) -> f64 {
        if j_kin < 0.0 {
            return -self.mirrored().eta(-j_kin);
        }
        let ratio = j_kin / self.exchange;
        if ratio < 1e-12 {
            return j_kin * self.resistance();
        }
        // i0 (e^(η/b) − 1) ≤ j ≤ i0 e^(η/b)
        let mut low = (self.anodic * libm::log(ratio)).max(0.0);
        let mut high = self.anodic * libm::log1p(ratio);
        let mut eta = high.min(j_kin * self.resistance()).max(low);
        for _ in 0..80 {
            let (j, dj) = self.kinetic(eta);
            if j < j_kin {
                low = low.max(eta);
            } else {
                high = high.min(eta);
            }
            let step = if j > 0.0 { -j / dj * libm::log(j / j_kin) } else { f64::NAN };
            let next = eta + step;
            let inside = next >= low && next <= high;
            let next = if inside { next } else { 0.5 * (low + high) };
            let moved = (next - eta).abs();
            eta = next;
            if moved <= 2.0 * f64::EPSILON * eta {
                break;
            }
        }
        eta
    }

    /// Solves η + r j(η) = s by bracketed Newton steps from `guess`, or from the better of the
    /// linear and the Tafel answer when the guess turns out to be far off.
    pub fn in_series(&self, limit: f64, s: f64, r: f64, guess: f64) -> Series {
        if s < 0.0 {
            let m = self.mirrored().in_series(limit, -s, r, -guess);
            return Series { j: -m.j, eta: -m.eta, ..m };
        }
        if s == 0.0 {
            return Series { j: 0.0, dj_ds: 1.0 / (self.resistance() + r), eta: 0.0 };
        }
        let scale = self.anodic.min(self.cathodic);
        // a limit below the exchange current density bends the curve sooner than the exponents do
        let bend = scale.min(self.resistance() * limit);
        let (mut low, mut high) = (0.0f64, s);
        let trusted = guess > low && guess < high;
        let mut eta = if trusted { guess } else { self.start(limit, s, r) };
        let mut may_restart = trusted;
        let (mut j, mut dj) = (0.0, 0.0);
        // Newton needs 2 to 6; the bound lets pure bisection get from 1e6 V to rounding
        for _ in 0..120 {
            let (j_kin, dj_kin) = self.kinetic(eta);
            (j, dj) = limited(j_kin, dj_kin, limit);
            let residual = eta + r * j - s;
            if residual > 0.0 {
                high = eta;
            } else {
                low = eta;
            }
            let step = -residual / (1.0 + r * dj);
            let next = eta + step;
            // after this step the relative error of j is about (step/bend)²/2
            if step * step <= 1e-16 * bend * next.abs().min(bend)
                || step.abs() <= 2.0 * f64::EPSILON * next.abs()
            {
                break;
            }
            // far up the exponential every Newton step is one scale down
            eta = if may_restart && step.abs() > 0.5 * scale {
                may_restart = false;
                self.start(limit, s, r).clamp(low, high)
            } else if next > low && next < high {
                next
            } else {
                0.5 * (low + high)
            };
        }
        finish(eta, j, dj, s, r)
    }

    /// A starting value within about a third of a natural slope: the linear law where that keeps
    /// close to the origin, otherwise the Tafel branch.
    fn start(&self, limit: f64, s: f64, r: f64) -> f64 {
        let resistance = self.resistance();
        // both estimates are about 15 % off in j here
        let near = 2.0 * self.exchange * resistance;
        let straight = linear::in_series(resistance, limit, s, r).eta;
        if straight < near {
            return straight;
        }
        let branch = Tafel { exchange: self.exchange, b: self.anodic };
        let branch = branch.in_series(limit, s, r, branch.offset(limit, r)).eta;
        branch.max(near).min(s)
    }
}

/// The last Newton step, taken without evaluating the law again: j from the tangent, which is as
/// good as η for flat laws and as good as (s − η)/r for steep ones.
pub(super) fn finish(eta: f64, j: f64, dj: f64, s: f64, r: f64) -> Series {
    let whole = 1.0 + r * dj;
    let dj_ds = (dj / whole).min(1.0 / r).max(f64::MIN_POSITIVE);
    Series { j: (j + dj * (s - eta)) / whole, dj_ds, eta: eta + (s - eta - r * j) / whole }
}
