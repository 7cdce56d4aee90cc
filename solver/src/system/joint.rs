//! Linear systems of a Newton step: the field and the free potentials together.
//!
//! By factorization the free potentials are eliminated by a Schur complement of their own small
//! size; by conjugate gradients they are unknowns like all others. Which of the two is quicker
//! depends on the number of unknowns; the answers agree far below any error that is reported.

use nalgebra::{DMatrix, DVector};

use super::assemble::System;
use super::linear::{Direct, NotPositive, Order, Symmetric};
use super::multigrid::Multigrid;
use crate::solve::Method;

/// Values of the field and of the free potentials.
pub(crate) type Halves = (Vec<f64>, Vec<f64>);

/// The second derivative of the energy: field, border, free potentials.
#[derive(Debug, Clone)]
pub(crate) struct Hessian {
    pub(crate) field: Symmetric,
    /// For each free potential its column over the field.
    pub(crate) border: Vec<Vec<f64>>,
    /// Of the free potentials among themselves.
    pub(crate) own: DMatrix<f64>,
    /// Sums of the field's rows, border included: what holds up a common potential.
    pub(crate) sum: Vec<f64>,
}

impl Hessian {
    fn new(constant: &Symmetric) -> Self {
        let sum = vec![0.0; constant.size()];
        Self { field: constant.clone(), border: Vec::new(), own: DMatrix::zeros(0, 0), sum }
    }

    /// Back to the part that never changes, with `free` free potentials.
    pub(crate) fn reset(&mut self, constant: &Symmetric, free: usize) {
        self.field.values_mut().copy_from_slice(constant.values());
        self.sum.fill(0.0);
        self.own = DMatrix::zeros(free, free);
        self.border.resize(free, Vec::new());
        for column in &mut self.border {
            column.clear();
            column.resize(self.sum.len(), 0.0);
        }
    }

    /// Every entry above the diagonal that is stored, those of free potentials with the field last.
    pub(crate) fn each_pair(&self, mut see: impl FnMut(usize, usize, f64)) {
        self.field.each(|r, c, v| {
            if r != c {
                see(r, c, v);
            }
        });
        let n = self.field.size();
        for (f, column) in self.border.iter().enumerate() {
            for (i, &v) in column.iter().enumerate().filter(|(_, v)| **v != 0.0) {
                see(i, n + f, v);
            }
        }
    }

    /// b − H x; field and free potentials.
    pub(crate) fn residual(&self, b: (&[f64], &[f64]), x: (&[f64], &[f64])) -> Halves {
        let joined = [x.0, x.1].concat();
        let mut product = vec![0.0; joined.len()];
        self.times(&joined, &mut product);
        let left = |b: &[f64], p: &[f64]| b.iter().zip(p).map(|(b, p)| b - p).collect();
        let (field, free) = product.split_at(b.0.len());
        (left(b.0, field), left(b.1, free))
    }

    /// out = H x, free potentials after the field; as exchanges between pairs, so that a common
    /// potential is felt by what grounds it alone.
    pub(crate) fn times(&self, x: &[f64], out: &mut [f64]) {
        let n = self.field.size();
        self.field.exchange(&x[..n], &mut out[..n]);
        out[n..].fill(0.0);
        for (f, column) in self.border.iter().enumerate() {
            let v = x[n + f];
            for (i, a) in column.iter().enumerate().filter(|(_, a)| **a != 0.0) {
                let gain = a * (v - x[i]);
                out[i] += gain;
                out[n + f] -= gain;
            }
        }
        for (o, (s, x)) in out.iter_mut().zip(self.sum.iter().zip(x)) {
            *o += s * x;
        }
    }

    /// Adds values to entries of the field at these positions.
    pub(crate) fn add(&mut self, positions: &[u32], values: &[f64]) {
        let field = self.field.values_mut();
        for (&p, v) in positions.iter().zip(values) {
            field[p as usize] += v;
        }
    }
}

/// The equations with what is needed to solve them.
pub(crate) struct Joint {
    hessian: Hessian,
    engine: Engine,
}

enum Engine {
    Direct { direct: Direct, bordered: Option<Bordered> },
    Multigrid(Box<Multigrid>),
}

/// The elimination of the free potentials.
struct Bordered {
    solved: Vec<Vec<f64>>,
    schur: DMatrix<f64>,
}

/// Up to this many unknowns a factorization is used: it was quicker wherever both were measured.
const CROSSOVER: usize = 4_000_000;

/// A factorization is tried for what conjugate gradients leave unsolved up to this many unknowns.
const FACTORED: usize = 6_000_000;

/// The order in which unknowns are eliminated.
pub(crate) enum Elimination<'a> {
    /// To be found from the pattern.
    Unknown,
    /// That of an earlier solve of the same equations.
    Known(&'a Order),
    /// The unknowns in their order, the pattern of the factor to be found.
    Listed(Vec<u32>),
}

impl Joint {
    /// Prepares for the pattern of `system`, whose order of elimination may be known.
    pub(crate) fn new(
        system: &System,
        free: usize,
        method: Method,
        order: Elimination,
    ) -> Result<Self, NotPositive> {
        let hessian = Hessian::new(&system.constant);
        let iterate = match method {
            Method::Automatic => system.size() > CROSSOVER,
            Method::Direct => false,
            Method::Multigrid => true,
        };
        let engine = if iterate {
            Engine::Multigrid(Box::new(Multigrid::new(system, free)))
        } else {
            let direct = match order {
                Elimination::Known(order) => order.clone(),
                Elimination::Listed(list) => Order::given(&hessian.field, &list)?,
                Elimination::Unknown => Order::new(&hessian.field)?,
            };
            let direct = Direct::ordered(direct);
            Engine::Direct { direct, bordered: None }
        };
        Ok(Self { hessian, engine })
    }

    /// The order of elimination, for another solve of the same system.
    pub(crate) fn order(&self) -> Option<Order> {
        match &self.engine {
            Engine::Direct { direct, .. } => Some(direct.order().clone()),
            Engine::Multigrid(_) => None,
        }
    }

    /// Gives back the memory of matrix and factor once nothing more is to be solved; the order of
    /// elimination stays.
    pub(crate) fn forget(&mut self) {
        self.hessian.field = Symmetric::default();
        self.hessian.border = Vec::new();
        self.hessian.sum = Vec::new();
        match &mut self.engine {
            Engine::Direct { direct, bordered } => {
                direct.forget();
                *bordered = None;
            }
            Engine::Multigrid(multigrid) => multigrid.forget(),
        }
    }

    pub(crate) fn hessian(&self) -> &Hessian {
        &self.hessian
    }

    /// Memory held beside the matrix, bytes.
    pub(crate) fn bytes(&self) -> usize {
        match &self.engine {
            Engine::Direct { direct, .. } => direct.bytes(),
            Engine::Multigrid(multigrid) => multigrid.bytes(),
        }
    }

    /// True if an old factor is cheaper to use than a new one.
    pub(crate) fn keeps_its_factor(&self) -> bool {
        matches!(self.engine, Engine::Direct { .. })
    }

    /// Takes the values that `fill` writes, whatever was made for those before.
    pub(crate) fn refresh(&mut self, fill: impl FnOnce(&mut Hessian)) -> Result<(), NotPositive> {
        if let Engine::Multigrid(multigrid) = &mut self.engine {
            multigrid.outdate();
        }
        self.refactor(fill)
    }

    /// Takes the values that `fill` writes.
    pub(crate) fn refactor(&mut self, fill: impl FnOnce(&mut Hessian)) -> Result<(), NotPositive> {
        fill(&mut self.hessian);
        self.factor()
    }

    /// Factors the values taken last.
    pub(crate) fn factor(&mut self) -> Result<(), NotPositive> {
        match &mut self.engine {
            Engine::Direct { direct, bordered } => {
                *bordered = eliminate(&self.hessian, direct)?;
                Ok(())
            }
            Engine::Multigrid(multigrid) => {
                multigrid.factor(&self.hessian).or_else(|_| self.factor_instead())
            }
        }
    }

    /// A factorization in place of multigrid, where the grid is not too large for it: it alone can
    /// tell a matrix that is not positive definite from rounding.
    fn factor_instead(&mut self) -> Result<(), NotPositive> {
        if self.hessian.sum.len() > FACTORED {
            return Err(NotPositive);
        }
        let direct = Direct::new(&self.hessian.field)?;
        self.engine = Engine::Direct { direct, bordered: None };
        self.factor()
    }

    /// Solves H z = b; returns the field part and the free part.
    ///
    /// Conjugate gradients stop when the energy of the error is `enough` for the energy bᵀz found;
    /// a factorization has no error to speak of.
    pub(crate) fn solve(
        &mut self,
        b: &[f64],
        b_free: &[f64],
        enough: impl Fn(f64) -> f64,
    ) -> Result<(Vec<f64>, Vec<f64>), NotPositive> {
        if let Engine::Multigrid(multigrid) = &mut self.engine {
            if let Ok(Some(answer)) = multigrid.solve(&self.hessian, b, b_free, enough) {
                return Ok(answer);
            }
            self.factor_instead()?;
        }
        Ok(self.solve_roughly(b, b_free))
    }

    /// Most conjugate gradient iterations that a solve has taken; 0 for factorizations.
    pub(crate) fn iterations(&self) -> usize {
        match &self.engine {
            Engine::Direct { .. } => 0,
            Engine::Multigrid(multigrid) => multigrid.iterations,
        }
    }

    /// The same for weights and slopes, of which a few digits are enough.
    pub(crate) fn solve_roughly(&self, b: &[f64], b_free: &[f64]) -> (Vec<f64>, Vec<f64>) {
        match &self.engine {
            Engine::Direct { direct, bordered } => {
                bordered_solve(&self.hessian, direct, bordered.as_ref(), b, b_free)
            }
            Engine::Multigrid(multigrid) => multigrid.solve_roughly(&self.hessian, b, b_free),
        }
    }
}

/// Factors the field's matrix and forms the Schur complement of the free potentials.
fn eliminate(hessian: &Hessian, direct: &mut Direct) -> Result<Option<Bordered>, NotPositive> {
    direct.factor(&hessian.field)?;
    let m = hessian.border.len();
    if m == 0 {
        return Ok(None);
    }
    let columns: Vec<&[f64]> = hessian.border.iter().map(Vec::as_slice).collect();
    let solved = direct.solve(&columns);
    let schur = DMatrix::from_fn(m, m, |a, b| hessian.own[(a, b)] - dot(columns[a], &solved[b]));
    Ok(Some(Bordered { solved, schur }))
}

fn bordered_solve(
    hessian: &Hessian,
    direct: &Direct,
    bordered: Option<&Bordered>,
    b: &[f64],
    b_free: &[f64],
) -> (Vec<f64>, Vec<f64>) {
    let mut z = direct.solve(&[b]).swap_remove(0);
    let Some(border) = bordered else { return (z, Vec::new()) };
    let m = hessian.border.len();
    let rhs = DVector::from_fn(m, |k, _| b_free[k] - dot(&hessian.border[k], &z));
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
