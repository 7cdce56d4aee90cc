//! One symmetric V-cycle: an approximate inverse of the matrix.

use super::levels::Levels;
use super::order::Order;
use super::rows::Rows;
use crate::system::joint::Hessian;
use crate::system::linear::{Direct, NotPositive};

/// A diagonal entry that has changed by this factor asks for a new cycle.
const CHANGED: f64 = 1.5;

/// The matrices of all levels.
pub(super) struct Cycle {
    levels: Vec<Rows>,
    coarsest: Direct,
}

/// Vectors of one level.
#[derive(Debug, Default)]
struct Vectors {
    /// Right side, then residual.
    r: Vec<f64>,
    /// What the way down finds.
    x: Vec<f64>,
    /// What the way up adds.
    y: Vec<f64>,
}

/// Vectors of all levels, for one cycle after the other.
pub(super) struct Work(Vec<Vectors>);

impl Work {
    /// Numbers in it.
    pub(super) fn len(&self) -> usize {
        self.0.iter().map(|v| v.r.len() + v.x.len() + v.y.len()).sum()
    }

    /// Numbers in one vector of the first level.
    pub(super) fn size(&self) -> usize {
        self.0.first().map_or(0, |v| v.r.len())
    }
}

impl Cycle {
    /// Builds all levels' matrices, Pᵀ A P each, and the smoothers.
    pub(super) fn new(shape: &Levels, hessian: &Hessian) -> Result<Self, NotPositive> {
        let mut matrix = Rows::joint(hessian, &shape.order);
        let plain = Order::default();
        let mut levels = Vec::with_capacity(shape.steps.len());
        for step in &shape.steps {
            let coarse = matrix.galerkin(step);
            let order = if levels.is_empty() { &shape.order } else { &plain };
            levels.push(matrix.ready(order).ok_or(NotPositive)?);
            matrix = coarse;
        }
        let last = matrix.symmetric();
        let mut coarsest = Direct::new(&last)?;
        coarsest.factor(&last)?;
        Ok(Self { levels, coarsest })
    }

    /// Memory held, bytes.
    pub(super) fn bytes(&self) -> usize {
        self.levels.iter().map(Rows::bytes).sum::<usize>() + self.coarsest.bytes()
    }

    /// True if the matrix has changed little since.
    pub(super) fn fits(&self, shape: &Levels, hessian: &Hessian) -> bool {
        // without levels it is the factor of one matrix
        let Some(first) = self.levels.first() else { return false };
        let near = |(i, now): (usize, f64)| {
            let then = first.diagonal(shape.order.place(i));
            now < CHANGED * then && then < CHANGED * now
        };
        diagonal(hessian).enumerate().all(near)
    }

    /// Memory for its vectors.
    pub(super) fn work(&self) -> Work {
        // the first level's `y` is lent by the caller
        let y = |l: usize, n: usize| if l == 0 { Vec::new() } else { vec![0.0; n] };
        let zeros =
            |(l, n): (usize, usize)| Vectors { r: vec![0.0; n], x: vec![0.0; n], y: y(l, n) };
        let sizes = self.levels.iter().map(Rows::size).enumerate();
        Work(sizes.map(zeros).chain([Vectors::default()]).collect())
    }

    /// An approximate solution of A x = b into `x`.
    pub(super) fn apply(&self, shape: &Levels, work: &mut Work, b: &[f64], x: &mut Vec<f64>) {
        let Some(first) = work.0.first_mut() else { return };
        first.r.resize(b.len(), 0.0);
        b.iter().enumerate().for_each(|(i, b)| first.r[shape.order.place(i)] = *b);
        // what `x` held is not wanted any more
        std::mem::swap(x, &mut first.y);
        self.descend(shape, &mut work.0);
        let Vectors { x: found, y, .. } = &mut work.0[0];
        std::mem::swap(x, y);
        x.iter_mut().enumerate().for_each(|(i, x)| *x = found[shape.order.place(i)]);
    }

    /// Solves for the right side of the first of these levels, the last of which is the coarsest.
    fn descend(&self, shape: &Levels, work: &mut [Vectors]) {
        let Some((own, below)) = work.split_first_mut() else { return };
        let l = self.levels.len() - below.len();
        let Some(next) = below.first_mut() else {
            own.x = self.coarsest.solve(&[&own.r]).swap_remove(0);
            return;
        };
        let plain = Order::default();
        let order = if l == 0 { &shape.order } else { &plain };
        let (matrix, step) = (&self.levels[l], &shape.steps[l]);
        matrix.forward(order, &mut own.r, &mut own.x);
        next.r.resize(step.coarse(), 0.0);
        step.restrict(&own.r, &mut next.r);
        self.descend(shape, below);
        step.product(&below[0].x, &mut own.y);
        matrix.backward(order, &mut own.r, &mut own.y);
        own.x.iter_mut().zip(&own.y).for_each(|(x, y)| *x += y);
    }
}

fn diagonal(hessian: &Hessian) -> impl Iterator<Item = f64> + '_ {
    hessian.field.diagonal().chain((0..hessian.border.len()).map(|f| hessian.own[(f, f)]))
}
