//! The tank side of a run: what the solver's verdict needs to know of the job and its bath.

use solver::verdict::{BathLimits, Evidence, Reach, Specification};
use solver::{Role, Verdict};

use super::Context;
use crate::job::AnodeKind;

impl Context<'_> {
    /// Metal, anodes, heat and hydrogen of the run.
    ///
    /// With several positions currents are those of the first; thickness is that of all.
    pub(super) fn account(&self) -> Verdict {
        Verdict::new(&self.evidence())
    }

    /// The run that just reaches the least thickness that is wanted.
    pub(super) fn reach(&self) -> Option<Reach> {
        Reach::of(&self.evidence())
    }

    fn evidence(&self) -> Evidence<'_> {
        let bath = &self.findings.bath;
        let soluble = bath.anode_kind != Some(AnodeKind::Insoluble);
        Evidence {
            layout: self.layout,
            solution: self.solution,
            run: self.deposit.map(|run| (run.time, run.deposit)),
            significant: self.significant,
            specification: Specification {
                min_thickness: self.want.min_thickness,
                max_thickness: self.want.max_thickness,
            },
            limits: BathLimits {
                anode_max: bath.anode_limit,
                area_ratio: bath.area_ratio.map(|(low, high)| [low, high]),
                hydrogen_share: bath.hydrogen_share.unwrap_or(0.0),
                anode_kg_c: self.findings.metal_kg_c.filter(|_| soluble),
            },
        }
    }

    /// Metal on thieves, kg.
    pub(super) fn thief_metal_kg(&self) -> f64 {
        let bodies = self.solution.bodies.iter().enumerate();
        let thieves = bodies.filter(|(_, body)| matches!(body.role, Role::Thief { .. }));
        thieves.filter_map(|(k, _)| self.deposit_on(k)).map(|on| on.mass_kg).sum()
    }

    /// Greatest current through the hook of one part, with its name, A.
    pub(super) fn busiest_hook(&self) -> Option<(&str, f64)> {
        let parts = self.solution.bodies.iter().filter(|body| body.role == Role::Part);
        let hooks = parts.map(|body| (body.name.as_str(), body.current_a));
        hooks.max_by(|a, b| a.1.total_cmp(&b.1))
    }
}

/// What a Wagner number means, in words (bands as usually taught: Newman; Ibl; Landolt, from
/// memory).
pub fn wagner_words(number: f64) -> &'static str {
    if number < 0.1 {
        "near primary: the shape rules, edges get most"
    } else if number < 1.0 {
        "mixed: shape and polarization both count"
    } else if number < 5.0 {
        "polarization evens much out"
    } else {
        "practically even, whatever the shape"
    }
}
