//! A case with its answers, and what one second of it deposits.
use shapes::{Point, Vec2};

use crate::deposit::Deposit;
use crate::layout::{Layout, Role};
use crate::positions::{Position, averaged, peaks, solve_all};
use crate::quantity::{CurrentDensity, Length, Time};
use crate::sensitivity::Case;
use crate::solution::{Solution, Stretch};
use crate::solve::{SolveError, SolveSettings};
use crate::warm::{Warm, solve_from};

/// A solved case.
#[derive(Debug, Clone)]
pub struct Answer {
    /// Its answers, position by position.
    pub solutions: Vec<Solution>,
    /// Significant stretches of each body in the first.
    pub significant: Vec<Vec<bool>>,
    /// What one second deposits; `None` without a metal.
    pub second: Option<Deposit>,
}

/// A significant stretch of a part.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Row {
    pub body: usize,
    pub at: Point,
    /// Out of the metal into the bath.
    pub outward: Vec2,
    pub area_m2: f64,
    /// Growth, m/s.
    pub rate: f64,
    /// Its uncertainty, m/s.
    pub doubt: f64,
}

impl Answer {
    /// Solves a case. A part that rests starts from the answer of a layout like it, if there is one.
    ///
    /// # Errors
    /// As [`solve`](crate::solve()); [`SolveError::Layout`] for a case without positions.
    pub fn new(
        case: &Case,
        settings: &SolveSettings,
        warm: Option<&Warm>,
    ) -> Result<Self, SolveError> {
        let solutions = match (case.positions.as_slice(), warm) {
            ([], _) => return Err(SolveError::Layout("a case without positions".into())),
            ([(layout, _)], Some(warm)) => vec![solve_from(layout, settings, warm)?],
            (positions, _) => {
                let layouts: Vec<Layout> = positions.iter().map(|(l, _)| l.clone()).collect();
                solve_all(&layouts, settings, &|_, _| ()).map_err(|(_, error)| error)?
            }
        };
        Ok(Self::of(case, solutions))
    }

    /// The answer to a case that has been solved; there must be a solution for each position.
    pub fn of(case: &Case, solutions: Vec<Solution>) -> Self {
        let first = case.positions.first().zip(solutions.first());
        let significant = first.map(|((layout, _), s)| layout.significant_rows(s));
        let second = case.plating.as_ref().and_then(|(metal, efficiency, _)| {
            averaged(&positions(case, &solutions), metal, efficiency, Time::new(1.0))
        });
        Self { significant: significant.unwrap_or_default(), second, solutions }
    }

    /// Significant stretches of all parts; none without a metal.
    pub(crate) fn rows(&self) -> Vec<Row> {
        let (Some(first), Some(second)) = (self.solutions.first(), &self.second) else {
            return Vec::new();
        };
        let parts = second.bodies.iter().filter(|d| first.bodies[d.body].role == Role::Part);
        parts
            .flat_map(|d| {
                let stretches = &first.bodies[d.body].stretches;
                let marks = &self.significant[d.body];
                let kept = (0..stretches.len()).filter(|k| marks.get(*k).copied().unwrap_or(true));
                kept.map(move |k| Row {
                    body: d.body,
                    at: stretches[k].at,
                    outward: Vec2::new(stretches[k].normal[0], stretches[k].normal[1]),
                    area_m2: stretches[k].area_m2,
                    rate: d.thickness_m[k],
                    doubt: d.uncertainty_m[k],
                })
            })
            .collect()
    }

    /// Mean over the positions, by their shares of the time.
    pub(crate) fn mean(&self, case: &Case, of: &dyn Fn(&Solution) -> f64) -> f64 {
        case.positions.iter().zip(&self.solutions).map(|((_, share), s)| share * of(s)).sum()
    }

    /// Metal deposited in a second on bodies of a role, kg/s.
    pub(crate) fn metal_kg_s(&self, of: &dyn Fn(Role) -> bool) -> f64 {
        let Some(second) = &self.second else { return 0.0 };
        let bodies = second.bodies.iter();
        let bodies = bodies.filter(|d| of(self.solutions[0].bodies[d.body].role));
        bodies.map(|d| d.mass_kg).sum()
    }

    /// Metal beyond `least` on the parts and all metal on thieves after `seconds`, kg.
    pub(crate) fn beyond_kg(&self, seconds: f64, least: Length) -> f64 {
        let Some(second) = &self.second else { return 0.0 };
        let bodies = &self.solutions[0].bodies;
        let each = second.bodies.iter().map(|d| {
            let kg = seconds * d.mass_kg;
            let stretches = &bodies[d.body].stretches;
            let rows = || d.thickness_m.iter().zip(stretches);
            let all: f64 = rows().map(|(t, s)| t * s.area_m2).sum();
            match bodies[d.body].role {
                Role::Thief { .. } => kg,
                Role::Part if all > 0.0 => {
                    let beyond =
                        |(t, s): (&f64, &Stretch)| (seconds * t - least.si()).max(0.0) * s.area_m2;
                    kg * rows().map(beyond).sum::<f64>() / (seconds * all)
                }
                _ => 0.0,
            }
        });
        each.sum()
    }

    /// The densities that decide how the parts' stretches are plated: with several positions the
    /// greatest of them, since one good position covers and one bad one burns.
    pub(crate) fn densities(&self, case: &Case) -> Vec<PartDensity> {
        let Some(first) = self.solutions.first() else { return Vec::new() };
        let peaks = peaks(&positions(case, &self.solutions));
        let parts = first.bodies.iter().zip(peaks).filter(|(b, _)| b.role == Role::Part);
        let rows = parts.flat_map(|(body, peaks)| {
            peaks.into_iter().zip(&body.stretches).map(|(a_m2, s)| PartDensity {
                a_m2,
                doubt_a_m2: s.uncertainty_a_m2,
                area_m2: s.area_m2,
            })
        });
        rows.collect()
    }
}

/// The current density on a stretch of a part.
#[derive(Debug, Clone, Copy)]
pub(crate) struct PartDensity {
    pub a_m2: f64,
    pub doubt_a_m2: f64,
    pub area_m2: f64,
}

/// By what the current would have to be multiplied for no more than `share` of the area to lie
/// above `limit`, if densities follow the current in proportion; 1 at most.
pub(crate) fn bearable(rows: &[PartDensity], limit: CurrentDensity, share: f64) -> f64 {
    let mut rows: Vec<&PartDensity> = rows.iter().collect();
    rows.sort_by(|a, b| b.a_m2.total_cmp(&a.a_m2));
    let area: f64 = rows.iter().map(|r| r.area_m2).sum();
    let mut sum = 0.0;
    let worst = rows.iter().find(|r| {
        sum += r.area_m2;
        sum > share * area
    });
    // the next cooler stretch must stay below
    worst.filter(|w| w.a_m2 > 0.0).map_or(1.0, |w| (limit.si() / w.a_m2).min(1.0))
}

fn positions<'a>(case: &'a Case, solutions: &'a [Solution]) -> Vec<Position<'a>> {
    let rows = case.positions.iter().zip(solutions);
    rows.map(|((layout, share), solution)| Position { layout, solution, share: *share }).collect()
}
