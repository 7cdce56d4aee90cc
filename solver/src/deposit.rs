//! How thick the metal gets: current density, efficiency and time made into a deposit.
//!
//! Thickness grows by Faraday's law, `dt/dτ = i · efficiency(i) · M / (n F ρ)`, where current flows
//! into the metal; where it flows out nothing is deposited (and nothing taken off: what dissolves
//! on a floating metal's far side is not followed). The current is held for the whole time.
//!
//! Limits: the deposit is taken to be thin against the part, so the outline does not move.
use crate::faraday::Metal;
use crate::quantity::{CurrentDensity, Time};
use crate::solution::{BodyResult, Solution, Spread};
use crate::spread::Evenness;

/// Share of the current that deposits metal, against current density.
///
/// Straight lines between the points given, constant before the first and after the last; nothing
/// below the covering threshold, if there is one.
#[derive(Debug, Clone, PartialEq)]
pub struct Efficiency {
    /// (A/m², share), rising in current density; never empty.
    points: Vec<(f64, f64)>,
    /// Covering threshold, A/m².
    threshold: f64,
}

/// Why an efficiency makes no sense.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum EfficiencyError {
    /// No points.
    #[error("the efficiency curve has no points")]
    Empty,
    /// A share beyond 0 to 1.
    #[error("an efficiency lies between 0 and 1 (0 and 100 %), not {share} (point {point})")]
    Share {
        /// Which point, from 1.
        point: usize,
        /// The value.
        share: f64,
    },
    /// A current density that does not rise, is negative, or is not a number.
    #[error(
        "current densities of an efficiency curve start at 0 or above and rise; point {point} ({a_m2} A/m2) does not"
    )]
    Density {
        /// Which point, from 1.
        point: usize,
        /// The value, A/m².
        a_m2: f64,
    },
}

impl Efficiency {
    /// The same share at every current density.
    ///
    /// # Errors
    /// [`EfficiencyError::Share`] outside 0..=1.
    pub fn constant(share: f64) -> Result<Self, EfficiencyError> {
        Self::curve(&[(CurrentDensity::new(0.0), share)])
    }

    /// A curve through measured points, in order of rising current density.
    ///
    /// # Errors
    /// [`EfficiencyError`] names the first point at fault.
    pub fn curve(points: &[(CurrentDensity, f64)]) -> Result<Self, EfficiencyError> {
        let mut before = None;
        let mut plain = Vec::with_capacity(points.len());
        for (k, &(density, share)) in points.iter().enumerate() {
            let (point, a_m2) = (k + 1, density.si());
            if !(0.0..=1.0).contains(&share) {
                return Err(EfficiencyError::Share { point, share });
            }
            let rises = a_m2 >= 0.0 && before.is_none_or(|last| a_m2 > last);
            if !(rises && a_m2.is_finite()) {
                return Err(EfficiencyError::Density { point, a_m2 });
            }
            before = Some(a_m2);
            plain.push((a_m2, share));
        }
        if plain.is_empty() {
            return Err(EfficiencyError::Empty);
        }
        Ok(Self { points: plain, threshold: 0.0 })
    }

    /// The same, but no metal below a covering threshold: chromium, for one, leaves hollows bare.
    ///
    /// The current flows there all the same and makes hydrogen. A part in several positions gets
    /// nothing in those where a place is below it, even if another position has covered that
    /// place: real metal may then grow on, so such places are told too thin.
    #[must_use]
    pub fn with_threshold(self, threshold: CurrentDensity) -> Self {
        Self { threshold: threshold.si(), ..self }
    }

    /// The share at a current density of either sign.
    pub fn at(&self, density: CurrentDensity) -> f64 {
        let i = density.si().abs();
        if i < self.threshold {
            return 0.0;
        }
        let above = self.points.partition_point(|point| point.0 <= i);
        let last = self.points[above.saturating_sub(1)];
        match self.points.get(above) {
            Some(next) if above > 0 => {
                last.1 + (i - last.0) / (next.0 - last.0) * (next.1 - last.1)
            }
            _ => last.1,
        }
    }

    /// Current density that deposits metal, A/m²; zero where current leaves the metal.
    fn useful(&self, a_m2: f64) -> f64 {
        if a_m2 > 0.0 { a_m2 * self.at(CurrentDensity::new(a_m2)) } else { 0.0 }
    }
}

/// What is deposited, how well and for how long.
#[derive(Debug, Clone, PartialEq)]
pub struct DepositSettings {
    /// The metal.
    pub metal: Metal,
    /// Its cathode efficiency.
    pub efficiency: Efficiency,
    /// Plating time.
    pub time: Time,
}

/// The metal on every body.
#[derive(Debug, Clone, PartialEq)]
pub struct Deposit {
    /// One entry for each body with metal and a wetted outline, in order of the layout.
    pub bodies: Vec<BodyDeposit>,
}

/// The metal on one body.
#[derive(Debug, Clone, PartialEq)]
pub struct BodyDeposit {
    /// Index of the body in the layout and the solution.
    pub body: usize,
    /// Thickness on each stretch of the body's result, m.
    pub thickness_m: Vec<f64>,
    /// Uncertainty of each thickness, m: that of the current density carried through efficiency
    /// and Faraday's law. It holds nothing for the efficiency's own error.
    pub uncertainty_m: Vec<f64>,
    /// Mean, least and greatest thickness, m.
    pub thickness: Spread,
    /// Measures of evenness; `None` where nothing is deposited.
    pub evenness: Option<Evenness>,
    /// Metal deposited, kg.
    pub mass_kg: f64,
    /// Uncertainty of the mass, kg.
    pub mass_uncertainty_kg: f64,
    /// Share of the current into the body that deposits metal; `None` where none flows in.
    pub efficiency: Option<f64>,
}

impl Deposit {
    /// The deposit on the body with this index in the layout.
    pub fn of_body(&self, body: usize) -> Option<&BodyDeposit> {
        self.bodies.iter().find(|deposit| deposit.body == body)
    }
}

/// The deposit that `time` at the currents of `solution` leaves on every body.
///
/// O(stretches); never fails: bodies without metal or without a wetted stretch are left out.
pub fn deposit(solution: &Solution, metal: &Metal, efficiency: &Efficiency, time: Time) -> Deposit {
    let bodies = solution.bodies.iter().enumerate().filter_map(|(index, body)| {
        if !body.role.is_metal() {
            return None;
        }
        on_body(index, body, metal, efficiency, time)
    });
    Deposit { bodies: bodies.collect() }
}

fn on_body(
    index: usize,
    body: &BodyResult,
    metal: &Metal,
    efficiency: &Efficiency,
    time: Time,
) -> Option<BodyDeposit> {
    // metres of deposit for each A/m² that deposits metal
    let growth = metal.growth_m_s(CurrentDensity::new(1.0)) * time.si();
    let stretches = &body.stretches;
    let mut thickness_m = Vec::with_capacity(stretches.len());
    let mut uncertainty_m = Vec::with_capacity(stretches.len());
    let (mut useful, mut inward) = (0.0, 0.0);
    for stretch in stretches {
        let (i, by) = (stretch.current_density_a_m2, stretch.uncertainty_a_m2.abs());
        let middle = efficiency.useful(i);
        // the curve may bend inside the uncertainty: the farther end counts
        let up = (efficiency.useful(i + by) - middle).abs();
        let down = (efficiency.useful(i - by) - middle).abs();
        thickness_m.push(growth * middle);
        uncertainty_m.push(growth * up.max(down));
        useful += middle * stretch.area_m2;
        inward += i.max(0.0) * stretch.area_m2;
    }
    let areas: Vec<f64> = stretches.iter().map(|stretch| stretch.area_m2).collect();
    let places: Vec<_> = stretches.iter().map(|stretch| stretch.at).collect();
    let thickness = Spread::of(&thickness_m, &areas, &places, &uncertainty_m)?;
    let mass_per_metre = metal.density_kg_m3() * body.area_m2;
    Some(BodyDeposit {
        body: index,
        evenness: Evenness::of(&thickness_m, &areas),
        mass_kg: thickness.mean * mass_per_metre,
        mass_uncertainty_kg: thickness.mean_uncertainty * mass_per_metre,
        efficiency: (inward > 0.0).then(|| useful / inward),
        thickness_m,
        uncertainty_m,
        thickness,
    })
}

impl DepositSettings {
    /// The deposit that these settings leave at the currents of `solution`.
    pub fn apply(&self, solution: &Solution) -> Deposit {
        deposit(solution, &self.metal, &self.efficiency, self.time)
    }
}

#[cfg(test)]
mod tests;
