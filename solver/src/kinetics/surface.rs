//! A checked polarization law, ready for the solver's inner loop.
use super::exponential::{Tafel, TwoSided, limited};
use super::{Kinetics, Law, linear, table::Curve};
use crate::layout::Role;
use crate::quantity::Temperature;

/// Boltzmann constant over elementary charge, V/K: both exact since the SI of 2019.
const BOLTZMANN_OVER_CHARGE: f64 = 1.380_649e-23 / 1.602_176_634e-19;

/// Which way current crosses a surface; decides the branch of a one-sided law.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Direction {
    /// From the metal into the bath.
    Anode,
    /// From the bath into the metal.
    Cathode,
    /// Either, at different places (metal without a wire).
    Both,
}

impl Direction {
    /// The working direction of a role; `None` for bodies without metal.
    pub fn of(role: Role) -> Option<Self> {
        match role {
            Role::Part | Role::Thief { .. } => Some(Self::Cathode),
            Role::Anode => Some(Self::Anode),
            Role::Floating => Some(Self::Both),
            Role::Shield | Role::Screen { .. } => None,
        }
    }
}

/// Why a law makes no sense.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LawError {
    /// A number is missing its sign, is absurd, or is not a number.
    #[error("the {what} must lie between {least:e} and {greatest:e} {unit}, not {value}")]
    OutOfRange {
        /// Which number.
        what: &'static str,
        /// What it is.
        value: f64,
        /// Least value allowed.
        least: f64,
        /// Greatest value allowed.
        greatest: f64,
        /// Its unit.
        unit: &'static str,
    },
    /// A table without a point beside the origin.
    #[error("the table needs at least one point beside the origin")]
    TableEmpty,
    /// A table that stands still or goes down.
    #[error(
        "point {point} of the table does not rise above the one before it (a table starts at the origin)"
    )]
    TableNotRising {
        /// Which point of the table as given, from 1.
        point: usize,
    },
}

/// A surface in series with a sheet of bath.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Series {
    /// Current density from the metal into the bath, A/m².
    pub j: f64,
    /// Its derivative by the whole potential drop, S/m²; in (0, 1/r].
    pub dj_ds: f64,
    /// Share of the drop at the surface, V.
    pub eta: f64,
}

/// Bend of the knee of a limited surface without polarization, as a share of the resistance in
/// series: a thousandth of a layer that itself is a small share of a cell.
pub(crate) const KNEE: f64 = 1e-3;

/// A polarization law checked and in SI numbers.
///
/// Signs: η = metal potential − bath potential at the surface − [`rest`](Self::rest); j from the
/// metal into the bath.
#[derive(Debug, Clone, PartialEq)]
pub struct Surface {
    curve: Shape,
    /// Limiting current density, A/m²; infinite when there is none.
    limit: f64,
    rest: f64,
}

#[derive(Debug, Clone, PartialEq)]
enum Shape {
    Ideal,
    Linear(f64),
    Anodic(Tafel),
    Cathodic(Tafel),
    TwoSided(TwoSided),
    Table(Curve),
}

fn within(
    what: &'static str,
    value: f64,
    (least, greatest): (f64, f64),
    unit: &'static str,
) -> Result<f64, LawError> {
    if value >= least && value <= greatest {
        Ok(value)
    } else {
        Err(LawError::OutOfRange { what, value, least, greatest, unit })
    }
}

// Ranges far wider than any bath, narrow enough that no product of two of them overflows.
const EXCHANGE: (f64, f64) = (1e-30, 1e12);
const SLOPE: (f64, f64) = (1e-6, 1e3);
const RESISTANCE: (f64, f64) = (1e-15, 1e6);
const TRANSFER: (f64, f64) = (1e-3, 1e2);
const LIMIT: (f64, f64) = (1e-12, 1e12);
const REST: (f64, f64) = (-1e3, 1e3);
const KELVIN: (f64, f64) = (1.0, 1e4);
const TABLE_ETA: (f64, f64) = (0.0, 1e3);
const TABLE_J: (f64, f64) = (0.0, 1e12);

impl Surface {
    /// Checks `law` and prepares it for one working direction at one bath temperature.
    ///
    /// # Errors
    /// [`LawError`] names the first number out of range or the table point that does not rise.
    pub fn new(
        law: &Law,
        direction: Direction,
        temperature: Temperature,
    ) -> Result<Self, LawError> {
        let rest = within("rest potential", law.rest.si(), REST, "V")?;
        let limit = match law.limiting {
            Some(limit) => within("limiting current density", limit.si(), LIMIT, "A/m2")?,
            None => f64::INFINITY,
        };
        let exchange_of = |i0: f64| within("exchange current density", i0, EXCHANGE, "A/m2");
        let curve = match &law.kinetics {
            Kinetics::None => Shape::Ideal,
            Kinetics::Linear { resistance } => Shape::Linear(within(
                "polarization resistance",
                resistance.si(),
                RESISTANCE,
                "ohm m2",
            )?),
            Kinetics::Tafel { exchange, slope } => {
                let exchange = exchange_of(exchange.si())?;
                let slope = within("Tafel slope", slope.si(), SLOPE, "V per decade")?;
                let b = slope / std::f64::consts::LN_10;
                match direction {
                    Direction::Anode => Shape::Anodic(Tafel { exchange, b }),
                    Direction::Cathode => Shape::Cathodic(Tafel { exchange, b }),
                    Direction::Both => {
                        Shape::TwoSided(TwoSided { exchange, anodic: b, cathodic: b })
                    }
                }
            }
            Kinetics::ButlerVolmer { exchange, alpha_anodic, alpha_cathodic } => {
                let exchange = exchange_of(exchange.si())?;
                let anodic = within("anodic transfer coefficient", *alpha_anodic, TRANSFER, "")?;
                let cathodic =
                    within("cathodic transfer coefficient", *alpha_cathodic, TRANSFER, "")?;
                let kelvin = within("bath temperature", temperature.si(), KELVIN, "K")?;
                let thermal = BOLTZMANN_OVER_CHARGE * kelvin;
                Shape::TwoSided(TwoSided {
                    exchange,
                    anodic: thermal / anodic,
                    cathodic: thermal / cathodic,
                })
            }
            Kinetics::Table { points } => {
                let mut plain = Vec::with_capacity(points.len());
                for (eta, j) in points {
                    let eta = within("overpotential in the table", eta.si(), TABLE_ETA, "V")?;
                    let j = within("current density in the table", j.si(), TABLE_J, "A/m2")?;
                    plain.push((eta, j));
                }
                Shape::Table(Curve::new(&plain)?)
            }
        };
        Ok(Self { curve, limit, rest })
    }

    /// Limiting current density, A/m².
    pub fn limit(&self) -> Option<f64> {
        (self.limit < f64::INFINITY).then_some(self.limit)
    }

    /// Rest potential, V.
    pub fn rest(&self) -> f64 {
        self.rest
    }

    /// True without polarization up to a limit, at which the current stops dead.
    pub(crate) fn has_knee(&self) -> bool {
        self.is_ideal() && self.limit < f64::INFINITY
    }

    /// True for the law without polarization, where j is no function of η.
    pub fn is_ideal(&self) -> bool {
        self.curve == Shape::Ideal
    }

    /// j and dj/dη without the limit.
    fn kinetic(&self, eta: f64) -> (f64, f64) {
        match &self.curve {
            Shape::Ideal => (0.0, f64::MAX),
            Shape::Linear(resistance) => (eta / resistance, 1.0 / resistance),
            Shape::Anodic(tafel) => tafel.kinetic(eta),
            Shape::Cathodic(tafel) => {
                let (j, dj) = tafel.kinetic(-eta);
                (-j, dj)
            }
            Shape::TwoSided(law) => law.kinetic(eta),
            Shape::Table(curve) => curve.kinetic(eta),
        }
    }

    /// Current density from the metal into the bath, A/m², and its derivative by η, S/m².
    ///
    /// Exponents are held so that nothing overflows: beyond e^600 times the exchange current
    /// density the curve is flat. An [ideal](Self::is_ideal) surface carries any current at η = 0;
    /// it answers 0 with the largest slope there is.
    pub fn current(&self, eta: f64) -> (f64, f64) {
        let (j_kin, dj_kin) = self.kinetic(eta);
        limited(j_kin, dj_kin, self.limit)
    }

    /// Overpotential at current density `j`, V; `None` at or beyond the limit, or where a one-sided
    /// law never goes.
    pub fn overpotential(&self, j: f64) -> Option<f64> {
        let left = 1.0 - j.abs() / self.limit;
        if !j.is_finite() || left <= 0.0 {
            return None;
        }
        let j_kin = j / left;
        match &self.curve {
            Shape::Ideal => Some(0.0),
            Shape::Linear(resistance) => Some(resistance * j_kin),
            Shape::Anodic(tafel) => (j_kin > 0.0).then(|| tafel.eta(j_kin)),
            Shape::Cathodic(tafel) => (j_kin < 0.0).then(|| -tafel.eta(-j_kin)),
            Shape::TwoSided(law) => Some(law.eta(j_kin)),
            Shape::Table(curve) => Some(curve.eta(j_kin)),
        }
    }

    /// dη/dj at current density `j`, ohm m²: the polarization resistance of Wagner's number.
    ///
    /// Zero for an ideal surface. Always finite: a one-sided law is read no lower than a millionth
    /// of its exchange current density, and a limited one no closer to the limit than 1e-9 of it.
    pub fn slope_at(&self, j: f64) -> f64 {
        let left = (1.0 - j.abs() / self.limit).max(1e-9);
        let j = j.clamp(-self.limit, self.limit);
        let j_kin = j / left;
        // i = i_kin / (1 + i_kin/L) has di_kin/di = 1 / (1 − i/L)²
        let stretch = 1.0 / (left * left);
        match &self.curve {
            Shape::Ideal => 0.0,
            Shape::Linear(resistance) => resistance * stretch,
            Shape::Anodic(t) => t.b / j_kin.max(1e-6 * t.exchange) * stretch,
            Shape::Cathodic(t) => t.b / (-j_kin).max(1e-6 * t.exchange) * stretch,
            Shape::TwoSided(law) => stretch / law.kinetic(law.eta(j_kin)).1,
            Shape::Table(curve) => {
                // a monotone cubic may stand still inside an interval
                stretch / curve.kinetic(curve.eta(j_kin)).1.max(f64::MIN_POSITIVE.sqrt())
            }
        }
    }

    /// The surface in series with a sheet of bath of area resistance `r` (thickness over
    /// conductivity): solves `eta + r j(eta) = s`.
    ///
    /// `s` is the whole drop less the rest potential, V, any finite number; `r` > 0 in ohm m²;
    /// `guess_eta` is where to begin, any number. j and η are good to a few roundings of s and of
    /// the exponent, dj/ds to about 1e-8. Never fails, never gives NaN or infinity; some tens of
    /// nanoseconds.
    ///
    /// No polarization behind a limit would be a sharp knee, at which Newton's method can step back
    /// and forth for ever: it bends over a thousandth of `r` instead.
    pub fn in_series(&self, s: f64, r: f64, guess_eta: f64) -> Series {
        self.in_series_bent(s, r, self.offset(r), guess_eta, KNEE)
    }

    /// What of a law in series with `r` is the same for all `s`.
    pub(crate) fn offset(&self, r: f64) -> f64 {
        match &self.curve {
            Shape::Anodic(tafel) | Shape::Cathodic(tafel) => tafel.offset(self.limit, r),
            _ => 0.0,
        }
    }

    /// The same with another bend of a sharp knee, as a share of `r`, and the [`offset`](Self::offset) of
    /// `r` known.
    pub(crate) fn in_series_bent(
        &self,
        s: f64,
        r: f64,
        offset: f64,
        guess_eta: f64,
        bend: f64,
    ) -> Series {
        match &self.curve {
            Shape::Ideal if self.limit == f64::INFINITY => linear::in_series(0.0, self.limit, s, r),
            Shape::Ideal => linear::in_series(bend * r, self.limit, s, r),
            Shape::Linear(resistance) => linear::in_series(*resistance, self.limit, s, r),
            Shape::Anodic(tafel) => tafel.in_series(self.limit, s, r, offset),
            Shape::Cathodic(tafel) => {
                let m = tafel.in_series(self.limit, -s, r, offset);
                Series { j: -m.j, eta: -m.eta, ..m }
            }
            Shape::TwoSided(law) => law.in_series(self.limit, s, r, guess_eta),
            Shape::Table(curve) => curve.in_series(self.limit, s, r, guess_eta),
        }
    }
}

#[cfg(test)]
#[expect(clippy::disallowed_methods, reason = "an independent check of libm's functions")]
mod tests;
