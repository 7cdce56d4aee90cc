//! A part that turns or swings: it takes several positions in turn, and its rates average.
//!
//! Each position is a layout and a solve of its own. The metal that every stretch of a position
//! gets (current density, efficiency and the position's share of the time) is laid onto the
//! stretches of the first position by arc length along the outline, which moves with the body: a
//! stretch's metal goes to those it overlaps, in proportion to the overlap. So metal is neither
//! lost nor made, whatever the neighbours of the moment do to the stretches.
//!
//! Limits: the part rests in each position and jumps to the next; stretches that are dry in the
//! first position cannot show what they get in another (their metal still counts in the mass).
use rayon::prelude::*;
use shapes::{Point, Vec2};

use crate::deposit::{BodyDeposit, Deposit, Efficiency, deposit};
use crate::faraday::Metal;
use crate::layout::Layout;
use crate::quantity::Time;
use crate::solution::{BodyResult, Solution, Spread, Stretch};
use crate::solve::{Progress, SolveError, SolveSettings, solve};
use crate::spread::Evenness;

/// Where moving bodies stand for a share of the time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placement {
    /// Turn, degrees anticlockwise.
    pub turn_deg: f64,
    /// The point turned about, m.
    pub about: Point,
    /// Shift after the turn, m.
    pub shift: Vec2,
    /// Share of the time, 0 to 1; those of all positions add up to 1.
    pub share: f64,
}

impl Placement {
    /// `layout` with these bodies moved to this place.
    pub fn apply(&self, layout: &Layout, moving: &[usize]) -> Layout {
        let mut out = layout.clone();
        for &body in moving {
            if let Some(body) = out.bodies.get_mut(body) {
                let turned = body.outline.turned_about(self.turn_deg, self.about);
                body.outline = turned.moved(self.shift);
            }
        }
        out
    }
}

/// One solved position with its share of the time.
#[derive(Debug, Clone, Copy)]
pub struct Position<'a> {
    /// What is in the tank then.
    pub layout: &'a Layout,
    /// The answer there.
    pub solution: &'a Solution,
    /// Share of the time, 0 to 1.
    pub share: f64,
}

/// Solves every layout, several at a time; the order of the answers is that of the layouts.
///
/// # Errors
/// The index of the first layout that fails, with the reason.
pub fn solve_all(
    layouts: &[Layout],
    settings: &SolveSettings,
    progress: &(dyn Fn(usize, Progress) + Sync),
) -> Result<Vec<Solution>, (usize, SolveError)> {
    let solved: Vec<Result<Solution, SolveError>> = layouts
        .par_iter()
        .enumerate()
        .map(|(k, layout)| solve(layout, settings, &mut |p| progress(k, p)))
        .collect();
    solved.into_iter().enumerate().map(|(k, s)| s.map_err(|error| (k, error))).collect()
}

/// The metal after a run of `time` shared out over `positions`, on the stretches of the first.
///
/// `None` without positions. O(stretches² × positions).
pub fn averaged(
    positions: &[Position],
    metal: &Metal,
    efficiency: &Efficiency,
    time: Time,
) -> Option<Deposit> {
    let first = positions.first()?;
    let shared = |p: &Position| Time::new(p.share * time.si());
    let each: Vec<Deposit> =
        positions.iter().map(|p| deposit(p.solution, metal, efficiency, shared(p))).collect();
    if positions.len() == 1 {
        return each.into_iter().next();
    }
    let bodies = first.solution.bodies.iter().enumerate().filter_map(|(b, body)| {
        let given: Vec<(&Position, &BodyDeposit)> =
            positions.iter().zip(&each).filter_map(|(p, d)| Some((p, d.of_body(b)?))).collect();
        on_body(first.layout, b, body, &given, metal)
    });
    Some(Deposit { bodies: bodies.collect() })
}

/// The greatest current density over all positions on each stretch of the first, A/m²; one list
/// for each body.
pub fn peaks(positions: &[Position]) -> Vec<Vec<f64>> {
    let Some(first) = positions.first() else { return Vec::new() };
    let body = |(b, body): (usize, &BodyResult)| {
        let target = &body.stretches;
        let mut most = vec![f64::NEG_INFINITY; target.len()];
        for position in positions {
            let Some(result) = position.solution.bodies.get(b) else { continue };
            let rows = &result.stretches;
            let current: Vec<f64> =
                rows.iter().map(|s| s.current_density_a_m2 * s.area_m2).collect();
            let laid = lay(first.layout, b, rows, &current, target);
            for (most, (sum, row)) in most.iter_mut().zip(laid.iter().zip(target)) {
                *most = most.max(sum / row.area_m2);
            }
        }
        most
    };
    first.solution.bodies.iter().enumerate().map(body).collect()
}

fn on_body(
    layout: &Layout,
    b: usize,
    body: &BodyResult,
    given: &[(&Position, &BodyDeposit)],
    metal: &Metal,
) -> Option<BodyDeposit> {
    let target = &body.stretches;
    let (mut volume, mut doubt) = (vec![0.0; target.len()], vec![0.0; target.len()]);
    let (mut mass, mut mass_doubt, mut useful, mut inward) = (0.0, 0.0, 0.0, 0.0);
    for (position, deposit) in given {
        let rows = &position.solution.bodies[b].stretches;
        let times = |values: &[f64]| -> Vec<f64> {
            values.iter().zip(rows).map(|(v, row)| v * row.area_m2).collect()
        };
        let laid = lay(layout, b, rows, &times(&deposit.thickness_m), target);
        let unsure = lay(layout, b, rows, &times(&deposit.uncertainty_m), target);
        for (k, (v, u)) in laid.into_iter().zip(unsure).enumerate() {
            volume[k] += v;
            doubt[k] += u;
        }
        mass += deposit.mass_kg;
        mass_doubt += deposit.mass_uncertainty_kg;
        let into: f64 = rows.iter().map(|s| s.current_density_a_m2.max(0.0) * s.area_m2).sum();
        inward += position.share * into;
        useful += position.share * into * deposit.efficiency.unwrap_or(0.0);
    }
    let over = |sums: Vec<f64>| -> Vec<f64> {
        sums.iter().zip(target).map(|(sum, row)| sum / row.area_m2).collect()
    };
    let (thickness_m, uncertainty_m) = (over(volume), over(doubt));
    let areas: Vec<f64> = target.iter().map(|s| s.area_m2).collect();
    let places: Vec<Point> = target.iter().map(|s| s.at).collect();
    let mut thickness = Spread::of(&thickness_m, &areas, &places, &uncertainty_m)?;
    let per_metre = metal.density_kg_m3() * body.area_m2;
    thickness.mean = mass / per_metre;
    thickness.mean_uncertainty = mass_doubt / per_metre;
    Some(BodyDeposit {
        body: b,
        evenness: Evenness::of(&thickness_m, &areas),
        mass_kg: mass,
        mass_uncertainty_kg: mass_doubt,
        efficiency: (inward > 0.0).then(|| useful / inward),
        thickness_m,
        uncertainty_m,
        thickness,
    })
}

/// Lays amounts on stretches of a body onto other stretches of it, in proportion to the overlap
/// along each loop. An amount that meets no stretch of the target is left out.
fn lay(
    layout: &Layout,
    body: usize,
    rows: &[Stretch],
    amounts: &[f64],
    target: &[Stretch],
) -> Vec<f64> {
    let loops = layout.bodies[body].outline.loops();
    let mut out = vec![0.0; target.len()];
    let mut found: Vec<(usize, f64)> = Vec::new();
    for (row, amount) in rows.iter().zip(amounts) {
        let Some(total) = loops.get(row.loop_index).map(|curve| curve.length()) else { continue };
        found.clear();
        for (k, other) in target.iter().enumerate() {
            if other.loop_index == row.loop_index {
                let shared = overlap(row, other, total);
                if shared > 0.0 {
                    found.push((k, shared));
                }
            }
        }
        let whole: f64 = found.iter().map(|(_, shared)| shared).sum();
        for &(k, shared) in &found {
            out[k] += amount * shared / whole;
        }
    }
    out
}

/// Length that two stretches of a loop have in common, m.
fn overlap(a: &Stretch, b: &Stretch, total: f64) -> f64 {
    // the nearer way round between the two middles
    let apart = (b.s_m - a.s_m).rem_euclid(total);
    let apart = apart.min(total - apart);
    let least = a.length_m.min(b.length_m);
    let shared = (0.5 * (a.length_m + b.length_m) - apart).min(least);
    // touching ends are rounding, not overlap
    if shared > 1e-9 * least { shared } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::layout::{Drive, Role, Supply};
    use crate::quantity::{Current, CurrentDensity};
    use crate::sample::{body, layout, linear, rect, tafel};
    use shapes::Outline;

    fn bar_beside_an_anode() -> Layout {
        let centre = Point::new(0.06, 0.05);
        let bar = Outline::disc(centre, 0.02).expect("a disc");
        let mut layout = layout(vec![
            body("bar", Role::Part, bar, tafel(1.0, 0.1)),
            body("anode", Role::Anode, rect(0.15, 0.02, 0.16, 0.08), linear(1e-4)),
        ]);
        layout.supplies = vec![Supply::all(Drive::MeanDensity(CurrentDensity::a_dm2(3.0)))];
        layout
    }

    fn around(count: usize) -> Vec<Placement> {
        let place = |k: usize| Placement {
            turn_deg: 360.0 * k as f64 / count as f64,
            about: Point::new(0.06, 0.05),
            shift: Vec2::ZERO,
            share: 1.0 / count as f64,
        };
        (0..count).map(place).collect()
    }

    fn run(layout: &Layout, places: &[Placement], efficiency: &Efficiency) -> (Deposit, f64) {
        let layouts: Vec<Layout> = places.iter().map(|p| p.apply(layout, &[0])).collect();
        let settings = SolveSettings { accuracy: 0.02, ..SolveSettings::default() };
        let solved = solve_all(&layouts, &settings, &|_, _| ()).expect("solves");
        let rows = layouts.iter().zip(&solved).zip(places);
        let positions: Vec<Position> = rows
            .map(|((layout, solution), place)| Position { layout, solution, share: place.share })
            .collect();
        let mean = positions.iter().map(|p| p.share * p.solution.bodies[0].current_a).sum();
        let nickel = Metal::named("Ni").expect("known");
        let time = Time::new(3600.0);
        (averaged(&positions, nickel, efficiency, time).expect("positions"), mean)
    }

    /// A round bar beside an anode, turned by thirty degrees eleven times: harmonics below the
    /// twelfth of its uneven deposit average out, and the twelfth is small.
    #[test]
    fn a_round_bar_turned_through_a_full_turn_is_plated_evenly() {
        let layout = bar_beside_an_anode();
        let efficiency = Efficiency::constant(0.95).expect("a share");
        let (still, _) = run(&layout, &around(1), &efficiency);
        let (turned, _) = run(&layout, &around(12), &efficiency);
        let varies = |d: &Deposit| d.bodies[0].evenness.expect("metal").coefficient_of_variation;
        assert!(varies(&still) > 0.1, "{}", varies(&still));
        assert!(varies(&turned) < 2e-3, "{}", varies(&turned));
    }

    #[test]
    fn positions_neither_lose_nor_make_metal() {
        let mut layout = bar_beside_an_anode();
        layout.supplies = vec![Supply::all(Drive::Current(Current::new(3.0)))];
        let mut places = around(5);
        for (place, share) in places.iter_mut().zip([0.1, 0.3, 0.2, 0.15, 0.25]) {
            place.share = share;
            place.shift = Vec2::new(0.02 * share, -0.05 * share);
        }
        let share = 0.93;
        let (deposit, current) = run(&layout, &places, &Efficiency::constant(share).expect("one"));
        let bar = &deposit.bodies[0];
        // ampere-hours × efficiency × equivalent of nickel, M / (n F)
        let expected = 3.0 * 3600.0 * share * 58.693e-3 / (2.0 * 96_485.332_123);
        assert!((current / 3.0 - 1.0).abs() < 1e-9);
        assert!((bar.mass_kg / expected - 1.0).abs() < 1e-9, "{}", bar.mass_kg);
        // and the stretches of the first position hold all of it
        let first = places[0].apply(&layout, &[0]);
        let settings = SolveSettings { accuracy: 0.02, ..SolveSettings::default() };
        let rows =
            solve(&first, &settings, &mut |_| ()).expect("solves").bodies[0].stretches.clone();
        let volume: f64 = bar.thickness_m.iter().zip(&rows).map(|(t, row)| t * row.area_m2).sum();
        assert!((volume * 8908.0 / expected - 1.0).abs() < 1e-9);
    }

    #[test]
    fn overlaps_go_round_the_end_of_a_loop() {
        let stretch = |s_m: f64, length_m: f64| Stretch {
            loop_index: 0,
            s_m,
            length_m,
            area_m2: length_m,
            at: Point::ZERO,
            normal: [0.0, 1.0],
            potential_v: 0.0,
            overpotential_v: 0.0,
            current_density_a_m2: 0.0,
            uncertainty_a_m2: 0.0,
        };
        // [0.95, 1.05] and [0, 0.1] on a loop of length 1 share 0.05
        let shared = overlap(&stretch(0.0, 0.1), &stretch(0.05, 0.1), 1.0);
        assert!((shared - 0.05).abs() < 1e-12);
        let shared = overlap(&stretch(0.98, 0.1), &stretch(0.05, 0.1), 1.0);
        assert!((shared - 0.03).abs() < 1e-12, "{shared}");
        // a short one inside a long one
        assert_eq!(overlap(&stretch(0.5, 0.02), &stretch(0.52, 0.2), 1.0), 0.02);
        assert_eq!(overlap(&stretch(0.2, 0.1), &stretch(0.3, 0.1), 1.0), 0.0);
    }
}
