//! What a sequence of baths leaves on the parts: each layer and the total, judged and reported.

mod chart;
mod csv_table;
mod json;
mod picture;
mod words;

#[cfg(test)]
mod tests;

use shapes::{Outline, Point};
use solver::{Profile, Spread, Stack};

use super::Context;
use super::format::DisplayUnits;
use crate::job::{Demand, Limit};

pub use csv_table::stack_csv;
pub use json::{Summary, stack_json};
pub use picture::{stack_drawing, stack_png};
pub use words::stack_verdict;

/// What every writer of a sequence gets to see.
#[derive(Debug, Clone, Copy)]
pub struct StackContext<'a> {
    /// The sequence's title.
    pub title: &'a str,
    /// The layers in order of plating.
    pub layers: &'a [LayerRun<'a>],
    /// The parts, each with all layers on it; never empty.
    pub parts: &'a [PartStack<'a>],
    /// Everything that is wanted.
    pub demands: &'a [Demand],
    /// Units that people read.
    pub units: DisplayUnits,
}

/// One bath of a sequence.
#[derive(Debug, Clone, Copy)]
pub struct LayerRun<'a> {
    /// Its name.
    pub name: &'a str,
    /// Begins the names of its files.
    pub file_name: &'a str,
    /// Symbol of the metal, such as `Ni`.
    pub symbol: &'a str,
    /// Its own job and answer.
    pub context: Context<'a>,
}

impl LayerRun<'_> {
    /// How long it takes, s.
    fn seconds(&self) -> f64 {
        self.context.deposit.map_or(0.0, |run| run.time.si())
    }

    /// Current of all supplies, A.
    fn current_a(&self) -> f64 {
        self.context.solution.total_current_a()
    }

    /// Voltage of the first supply, V.
    fn voltage_v(&self) -> f64 {
        self.context.solution.supplies.first().map_or(0.0, |supply| supply.voltage_v)
    }

    /// Charge, A h.
    fn ampere_hours(&self) -> f64 {
        self.current_a() * self.seconds() / 3600.0
    }

    /// Energy, W h.
    fn watt_hours(&self) -> f64 {
        self.context.solution.total_power_w() * self.seconds() / 3600.0
    }

    /// Metal on a part, kg.
    fn mass_kg(&self, part: &str) -> f64 {
        let bodies = &self.context.solution.bodies;
        let body = bodies.iter().position(|body| body.name == part);
        let run = self.context.deposit;
        let on = body.and_then(|body| run.and_then(|run| run.deposit.of_body(body)));
        on.map_or(0.0, |on| on.mass_kg)
    }
}

/// One part with all its layers.
#[derive(Debug, Clone)]
pub struct PartStack<'a> {
    /// Its name.
    pub name: &'a str,
    /// Its outline as it hangs in the first layer's tank.
    pub outline: &'a Outline,
    /// The layers on it.
    pub stack: Stack,
}

/// How one demand stands.
#[derive(Debug, Clone)]
pub struct Standing<'a> {
    /// What is wanted.
    pub demand: &'a Demand,
    /// Every part, in order.
    pub parts: Vec<PartStanding>,
}

/// How one part stands against one demand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PartStanding {
    /// The value that counts: thickness, m, or a share.
    pub value: f64,
    /// Its numerical uncertainty.
    pub uncertainty: f64,
    /// Where it is, m.
    pub at: Point,
    /// True if the demand is met.
    pub met: bool,
}

impl Standing<'_> {
    /// True if every part meets it.
    pub fn met(&self) -> bool {
        self.parts.iter().all(|part| part.met)
    }

    /// The part that stands worst, by index; `None` without parts.
    pub fn worst(&self) -> Option<(usize, PartStanding)> {
        let most = matches!(self.demand.limit, Limit::Most(_));
        let order = |part: &PartStanding| if most { -part.value } else { part.value };
        let parts = self.parts.iter().copied().enumerate();
        parts.min_by(|a, b| order(&a.1).total_cmp(&order(&b.1)))
    }

    /// By how much the time of the demand's layers must grow to meet a least thickness.
    pub fn time_factor(&self) -> Option<f64> {
        let Limit::Least(wanted) = self.demand.limit else { return None };
        let (_, worst) = self.worst()?;
        (worst.value > 0.0).then(|| wanted.si() / worst.value)
    }
}

/// Judges every demand.
pub fn judge_stack<'a>(context: &StackContext<'a>) -> Vec<Standing<'a>> {
    let standing = |demand: &'a Demand| Standing {
        demand,
        parts: context.parts.iter().filter_map(|part| stand(&part.stack, demand)).collect(),
    };
    context.demands.iter().map(standing).collect()
}

fn stand(stack: &Stack, demand: &Demand) -> Option<PartStanding> {
    let sum = stack.sum(&demand.layers)?;
    let judged = match demand.limit {
        Limit::LowestShare(_) => share_of_lowest(stack, &sum, demand.layers.first().copied()?),
        Limit::Least(_) | Limit::Most(_) => sum,
    };
    let spread: Spread = stack.on_significant(&judged)?;
    let least = (spread.min, spread.min_uncertainty, spread.min_at);
    let (wanted, (value, uncertainty, at), most) = match demand.limit {
        Limit::Least(length) => (length.si(), least, false),
        Limit::LowestShare(share) => (share, least, false),
        Limit::Most(length) => {
            (length.si(), (spread.max, spread.max_uncertainty, spread.max_at), true)
        }
    };
    let met = if most { value <= wanted } else { value >= wanted };
    Some(PartStanding { value, uncertainty, at, met })
}

/// The share that one layer has in a sum, place by place; 0 where there is nothing.
fn share_of_lowest(stack: &Stack, sum: &Profile, lowest: usize) -> Profile {
    let mut share = sum.clone();
    let Some(layer) = stack.layers.get(lowest) else { return share };
    for (k, total) in sum.thickness_m.iter().enumerate() {
        let own = layer.thickness_m.get(k).copied().unwrap_or(0.0);
        let by = layer.uncertainty_m.get(k).copied().unwrap_or(0.0);
        let part = if *total > 0.0 { own / total } else { 0.0 };
        share.thickness_m[k] = part;
        share.uncertainty_m[k] =
            if *total > 0.0 { (by + part * sum.uncertainty_m[k]) / total } else { 0.0 };
    }
    share
}
