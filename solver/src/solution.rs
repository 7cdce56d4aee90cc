//! What a solve gives back: densities along every outline, currents, potentials, the field.

use shapes::Point;

use crate::field::Field;
use crate::layout::{Role, Symmetry};

/// The answer to one [`Layout`](crate::Layout).
#[derive(Debug, Clone)]
pub struct Solution {
    /// One entry for each body of the layout, in that order.
    pub bodies: Vec<BodyResult>,
    /// How the section goes on out of the page.
    pub symmetry: Symmetry,
    /// One entry for each supply of the layout, in that order.
    pub supplies: Vec<SupplyResult>,
    /// Potential and current density anywhere in the bath.
    pub field: Field,
    /// (sum of currents into the bath) / (sum of their magnitudes / 2); zero but for rounding.
    pub current_balance: f64,
    /// Ratio of polarization to solution resistance.
    pub wagner: Wagner,
    /// How the answer was reached.
    pub stats: SolveStats,
}

impl Solution {
    /// Current of all supplies together, A.
    pub fn total_current_a(&self) -> f64 {
        self.supplies.iter().map(|s| s.current_a).sum()
    }

    /// Power of all supplies together, W.
    pub fn total_power_w(&self) -> f64 {
        self.supplies.iter().map(|s| s.power_w).sum()
    }
}

/// One body's share of the answer.
#[derive(Debug, Clone)]
pub struct BodyResult {
    /// The body's name.
    pub name: String,
    /// The body's role.
    pub role: Role,
    /// Net current from the bath into the metal, A (positive on cathodes).
    pub current_a: f64,
    /// Uncertainty of `current_a`, A.
    pub current_uncertainty_a: f64,
    /// Wetted area, m²: that of its stretches.
    pub area_m2: f64,
    /// Potential of the metal against the first supply's cathode bus, V; `None` for insulators and
    /// screens.
    pub metal_potential_v: Option<f64>,
    /// Voltage lost in its hook, tab or contact, V, positive where it delivers (anodes) or takes
    /// (cathodes) current.
    pub contact_v: f64,
    /// Rows along the wetted outline, loop after loop, in order of arc length.
    /// Empty for insulators and screens.
    pub stretches: Vec<Stretch>,
    /// Mean, least and greatest current density, A/m², positive into the metal.
    pub density: Spread,
}

/// One short stretch of a wetted outline; values are means over it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Which closed loop of the outline (0 = outer).
    pub loop_index: usize,
    /// Arc length of the stretch's middle along its loop, m.
    pub s_m: f64,
    /// Length of the (wetted part of the) stretch, m.
    pub length_m: f64,
    /// Its area, m²: length × depth, or around the axis of an axial section.
    pub area_m2: f64,
    /// Middle of the stretch, m.
    pub at: Point,
    /// Unit normal at the middle, out of the metal into the bath.
    pub normal: [f64; 2],
    /// Potential of the bath at the surface, V, against the cathode bus.
    pub potential_v: f64,
    /// Metal potential − bath potential − rest potential, V.
    pub overpotential_v: f64,
    /// Current density from the bath into the metal, A/m² (metal deposits where positive).
    pub current_density_a_m2: f64,
    /// Uncertainty of the current density, A/m².
    pub uncertainty_a_m2: f64,
}

/// Mean, least and greatest of a quantity over a surface, with places and uncertainty.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Mean weighted by area.
    pub mean: f64,
    /// Least value over the stretches.
    pub min: f64,
    /// Greatest value over the stretches.
    pub max: f64,
    /// Where the least value is, m.
    pub min_at: Point,
    /// Where the greatest value is, m.
    pub max_at: Point,
    /// Uncertainty of the mean (same unit as the mean).
    pub mean_uncertainty: f64,
    /// Uncertainty of the least value.
    pub min_uncertainty: f64,
    /// Uncertainty of the greatest value.
    pub max_uncertainty: f64,
}

/// A supply at the answer.
///
/// The five shares add up to `voltage_v`. Where a supply feeds several anodes (cathodes), a share
/// is the mean over them, weighted by the current through each stretch of their surface.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct SupplyResult {
    /// The supply's name.
    pub name: String,
    /// Current that it delivers, A. That of its anodes, unless another supply feeds them too.
    pub current_a: f64,
    /// Uncertainty of the current, A.
    pub current_uncertainty_a: f64,
    /// Voltage at its terminals, V.
    pub voltage_v: f64,
    /// Uncertainty of the voltage at its terminals, V.
    pub voltage_uncertainty_v: f64,
    /// Voltage between its anode bus and its cathode bus, V: at the terminals less the leads.
    pub bath_voltage_v: f64,
    /// Uncertainty of the voltage between the buses, V.
    pub bath_voltage_uncertainty_v: f64,
    /// Mean of the anodes' overpotential + rest potential, V.
    pub anode_v: f64,
    /// Drop in the solution, V: mean bath potential at the anodes less that at the cathodes.
    pub solution_v: f64,
    /// Mean of the cathodes' −(overpotential + rest potential) and of the thieves' offset, V.
    pub cathode_v: f64,
    /// Drop in leads and bars, V.
    pub leads_v: f64,
    /// Mean drop in hooks, tabs and contacts of anodes and cathodes, V.
    pub contacts_v: f64,
    /// Power at its terminals, W.
    pub power_w: f64,
    /// Uncertainty of the power, W.
    pub power_uncertainty_w: f64,
    /// Current as a share of the rating, if there is one.
    pub current_use: Option<f64>,
    /// Voltage at the terminals as a share of the rating, if there is one.
    pub voltage_use: Option<f64>,
    /// Whether a rectifier can do this.
    pub state: SupplyState,
}

impl SupplyResult {
    /// True if it delivers more than its rating says.
    pub fn is_overloaded(&self) -> bool {
        [self.current_use, self.voltage_use].into_iter().flatten().any(|share| share > 1.0)
    }
}

/// Whether a rectifier can do what the answer asks of it. The equations know no rectifier: they
/// let current run backwards where other supplies or metals of different nobility push it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum SupplyState {
    /// It delivers current at a positive voltage.
    #[default]
    Delivers,
    /// Current would flow back into its positive pole.
    CurrentReversed,
    /// The current would flow without it: its voltage would have to be negative.
    VoltageReversed,
}

/// Wagner number with the length it was formed with: `Wa = κ (dη/di) / L`, dη/di at the mean
/// current density of the parts (Wagner 1951; IUPAC Gold Book C01456).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wagner {
    /// κ · dη/di / length.
    pub number: f64,
    /// Half the largest extent of the parts, m.
    pub length_m: f64,
}

/// How an answer was reached.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SolveStats {
    /// Unknowns of the last system.
    pub unknowns: usize,
    /// Leaf cells of the last grid.
    pub cells: usize,
    /// Newton steps over all grids.
    pub newton_steps: usize,
    /// Grids solved.
    pub grids: usize,
    /// Depth of the last quadtree.
    pub levels: usize,
    /// Side of the smallest cell, m.
    pub finest_cell_m: f64,
    /// Estimated relative error of the local current density on the parts: 95th percentile over
    /// the stretches outside corner tips.
    pub estimated_error: f64,
    /// Largest such error.
    pub worst_error: f64,
}
