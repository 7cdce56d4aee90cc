//! Newton's method on the convex energy, field and free potentials together.
//!
//! The energy is strictly convex, so Newton steps with a line search on its slope converge from
//! anywhere. Free potentials are eliminated by a Schur complement of their own small size; the
//! field's matrix stays symmetric positive definite.

use nalgebra::{DMatrix, DVector};

use crate::circuit::{Circuit, Terminal};
use crate::system::assemble::{System, rank_one};
use crate::system::basis::{NODES, PAIRS};
use crate::system::linear::{Direct, NotPositive, Symmetric};

/// Field and free potentials, with the overpotential at each metal point as memory.
#[derive(Debug, Clone)]
pub(crate) struct State {
    pub(crate) u: Vec<f64>,
    pub(crate) free: Vec<f64>,
    pub(crate) eta: Vec<f64>,
}

/// Why Newton's method gave up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Stalled {
    /// The matrix was not positive definite (thinner layers help).
    NotPositive,
    /// Too many steps.
    Slow,
}

impl From<NotPositive> for Stalled {
    fn from(_: NotPositive) -> Self {
        Self::NotPositive
    }
}

/// Slope of the energy.
struct Slope {
    field: Vec<f64>,
    free: Vec<f64>,
    /// Sum of the magnitudes of all currents into the bath, A/m.
    traffic: f64,
}

/// What the Hessian needs beside the slope.
struct Curvature {
    values: Vec<f64>,
    /// ∂slope(field)/∂free, one column per free potential.
    columns: Vec<Vec<f64>>,
    /// ∂slope(free)/∂free, diagonal.
    diagonal: Vec<f64>,
}

const MAX_STEPS: usize = 80;

/// A factored system at its solution, for further right sides.
pub(crate) struct Solved {
    pub(crate) state: State,
    pub(crate) steps: usize,
    direct: Direct,
    bordered: Option<Bordered>,
}

/// The elimination of the free potentials.
struct Bordered {
    columns: Vec<Vec<f64>>,
    solved: Vec<Vec<f64>>,
    schur: DMatrix<f64>,
}

impl Solved {
    /// Solves H z = b for a right side on the field (zero on the free potentials); returns the
    /// field part and the free part.
    pub(crate) fn back_solve(&self, b: &[f64], b_free: &[f64]) -> (Vec<f64>, Vec<f64>) {
        joint_solve(&self.direct, self.bordered.as_ref(), b, b_free)
    }
}

fn joint_solve(
    direct: &Direct,
    bordered: Option<&Bordered>,
    b: &[f64],
    b_free: &[f64],
) -> (Vec<f64>, Vec<f64>) {
    let mut z = direct.solve(&[b]).swap_remove(0);
    let Some(border) = bordered else { return (z, Vec::new()) };
    let m = border.columns.len();
    let rhs = DVector::from_fn(m, |k, _| b_free[k] - dot(&border.columns[k], &z));
    let lu = border.schur.clone().lu();
    let y = lu.solve(&rhs).unwrap_or_else(|| DVector::zeros(m));
    for k in 0..m {
        for (zi, si) in z.iter_mut().zip(&border.solved[k]) {
            *zi -= y[k] * si;
        }
    }
    (z, y.iter().copied().collect())
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| x * y).sum()
}

/// Slope at a state; `product` is the constant matrix times `u`.
fn slope(
    system: &System,
    circuit: &Circuit,
    product: &[f64],
    state: &mut State,
    mut curvature: Option<&mut Curvature>,
) -> Slope {
    let mut field = product.to_vec();
    let mut free: Vec<f64> = circuit.injected.iter().map(|i| -i).collect();
    let mut traffic = 0.0;
    for (piece, map) in system.boundary.metal.iter().zip(&system.metal_maps) {
        let u = map.gather(&state.u);
        let mut local = [0.0; NODES];
        let mut k = [0.0; PAIRS];
        for (q, point) in (piece.first..).zip(&system.boundary.points[piece.first..piece.end]) {
            let Some(e) = &circuit.electrodes[point.body as usize] else { continue };
            let metal = match e.terminal {
                Terminal::Fixed(v) => v,
                Terminal::Free(n) => state.free[n],
            };
            let s = metal - e.rest - dot(&point.m, &u);
            let series = e.surface.in_series(s, point.series, state.eta[q]);
            state.eta[q] = series.eta;
            let current = point.weight * series.j;
            traffic += current.abs();
            for (l, m) in local.iter_mut().zip(&point.m) {
                *l -= current * m;
            }
            let conductance = point.weight * series.dj_ds;
            if let Some(c) = curvature.as_deref_mut() {
                rank_one(&mut k, &point.m, conductance);
                if let Terminal::Free(n) = e.terminal {
                    c.diagonal[n] += conductance;
                    map.scatter(&point.m.map(|m| -conductance * m), &mut c.columns[n]);
                }
            }
            if let Terminal::Free(n) = e.terminal {
                free[n] += current;
            }
        }
        map.scatter(&local, &mut field);
        if let Some(c) = curvature.as_deref_mut() {
            map.scatter_matrix(&k, &mut c.values);
        }
    }
    Slope { field, free, traffic }
}

/// Minimises the energy from `start`.
///
/// Converged when the Newton decrement is 1e-20 of the electrical power or no longer falls, and
/// the currents balance to 1e-12 of their traffic.
pub(crate) fn minimise(
    system: &System,
    circuit: &Circuit,
    start: State,
) -> Result<Solved, Stalled> {
    let n = system.size();
    let m = circuit.injected.len();
    let mut state = start;
    let mut matrix: Symmetric = system.constant.clone();
    let mut direct = Direct::new(&matrix)?;
    let mut bordered: Option<Bordered> = None;
    let mut product = vec![0.0; n];
    let mut last_decrement = f64::INFINITY;
    let mut stale = false;
    for step in 1..=MAX_STEPS {
        system.constant.multiply(&state.u, &mut product);
        let now = if stale {
            slope(system, circuit, &product, &mut state, None)
        } else {
            let mut c = Curvature {
                values: system.constant.values().to_vec(),
                columns: vec![vec![0.0; n]; m],
                diagonal: vec![0.0; m],
            };
            let now = slope(system, circuit, &product, &mut state, Some(&mut c));
            matrix.values_mut().copy_from_slice(&c.values);
            direct.factor(&matrix)?;
            bordered = (m > 0).then(|| {
                let refs: Vec<&[f64]> = c.columns.iter().map(Vec::as_slice).collect();
                let solved = direct.solve(&refs);
                let schur = DMatrix::from_fn(m, m, |a, b| {
                    let own = if a == b { c.diagonal[a] } else { 0.0 };
                    own - dot(&c.columns[a], &solved[b])
                });
                Bordered { columns: c.columns, solved, schur }
            });
            now
        };
        let down: Vec<f64> = now.field.iter().map(|x| -x).collect();
        let down_free: Vec<f64> = now.free.iter().map(|x| -x).collect();
        let (p, p_free) = joint_solve(&direct, bordered.as_ref(), &down, &down_free);
        let decrement = dot(&p, &down) + dot(&p_free, &down_free);
        let power = scale(&state, now.traffic);
        let flat = decrement <= 1e-20 * power;
        let balanced = down.iter().sum::<f64>().abs() <= 1e-12 * now.traffic
            && down_free.iter().all(|f| f.abs() <= 1e-12 * now.traffic);
        let stuck = step > 2 && decrement > 0.5 * last_decrement && decrement <= 1e-14 * power;
        if std::env::var("TRACEN").is_ok() {
            eprintln!(
                "step {step} dec {decrement:.3e} power {power:.3e} bal {:.2e} stale {stale} free {:?}",
                down.iter().sum::<f64>().abs() / now.traffic,
                state.free
            );
        }
        if (flat && balanced) || stuck {
            return Ok(Solved { state, steps: step, direct, bordered });
        }
        line_search(system, circuit, &product, &mut state, (&p, &p_free), decrement);
        // near the end one factor serves several steps
        stale = decrement <= 1e-8 * power && (!stale || decrement <= 0.01 * last_decrement);
        last_decrement = decrement;
    }
    Err(Stalled::Slow)
}

/// A power to compare the decrement with, W/m: traffic times the spread of potentials.
fn scale(state: &State, traffic: f64) -> f64 {
    let spread = |v: &[f64]| {
        let low = v.iter().copied().fold(f64::INFINITY, f64::min);
        let high = v.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        (high - low).max(0.0)
    };
    let volts = spread(&state.u).max(state.free.iter().fold(0.0, |a: f64, v| a.max(v.abs())));
    (traffic * volts.max(1e-6)).max(f64::MIN_POSITIVE)
}

/// Moves `state` along `(p, p_free)`: the whole step unless the energy's slope there says that
/// the minimum has been passed by far; then back to where the slope has fallen to a half.
fn line_search(
    system: &System,
    circuit: &Circuit,
    product: &[f64],
    state: &mut State,
    (p, p_free): (&[f64], &[f64]),
    decrement: f64,
) {
    let mut along = vec![0.0; p.len()];
    system.constant.multiply(p, &mut along);
    let base = state.clone();
    let try_step = |t: f64, state: &mut State| -> f64 {
        for (u, (b, d)) in state.u.iter_mut().zip(base.u.iter().zip(p)) {
            *u = b + t * d;
        }
        for (v, (b, d)) in state.free.iter_mut().zip(base.free.iter().zip(p_free)) {
            *v = b + t * d;
        }
        let there: Vec<f64> = product.iter().zip(&along).map(|(a, b)| a + t * b).collect();
        let s = slope(system, circuit, &there, state, None);
        dot(&s.field, p) + dot(&s.free, p_free)
    };
    // the slope is −decrement at 0 and rises with t
    let mut high = 1.0;
    let mut rise = try_step(1.0, state);
    if rise <= 0.5 * decrement {
        return;
    }
    let mut low = 0.0;
    let mut fall = -decrement;
    for _ in 0..30 {
        let secant = low + (high - low) * (-fall / (rise - fall));
        let t = secant.clamp(low + 0.1 * (high - low), high - 0.1 * (high - low));
        let s = try_step(t, state);
        if s.abs() <= 0.5 * decrement {
            return;
        }
        if s > 0.0 {
            high = t;
            rise = s;
        } else {
            low = t;
            fall = s;
        }
    }
}
