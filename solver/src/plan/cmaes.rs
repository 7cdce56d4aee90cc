//! A search that learns the shape of the hill it climbs: CMA-ES, asked for points and told how good
//! they were.
//!
//! Points are drawn from a normal distribution whose mean, width and covariance follow the better
//! half of what was drawn before. Only the order of the values counts, never their size, so jumps
//! (a body that touches another) and flat places do no harm.
//!
//! Hansen, "The CMA Evolution Strategy: A Tutorial", arXiv 1604.00772: equations and default
//! parameters are those of its appendix A, without negative weights.
use nalgebra::{DMatrix, DVector, SymmetricEigen};
use rand_pcg::Pcg64Mcg;
use rand_pcg::rand_core::{Rng, SeedableRng};

/// A normal distribution that moves towards the best points drawn from it.
#[derive(Debug, Clone)]
pub struct Cmaes {
    random: Pcg64Mcg,
    mean: DVector<f64>,
    sigma: f64,
    covariance: DMatrix<f64>,
    /// Eigenvectors of the covariance, and the roots of its eigenvalues.
    axes: DMatrix<f64>,
    lengths: DVector<f64>,
    path_sigma: DVector<f64>,
    path_covariance: DVector<f64>,
    weights: Vec<f64>,
    rates: Rates,
    generation: usize,
}

/// Learning rates, all of them functions of the number of dimensions and of points a generation.
#[derive(Debug, Clone, Copy)]
struct Rates {
    effective: f64,
    sigma: f64,
    damping: f64,
    path: f64,
    rank_one: f64,
    rank_many: f64,
    /// Mean length of a standard normal vector.
    expected: f64,
}

impl Cmaes {
    /// A search around `mean` with first steps of about `sigma` in every direction, drawing
    /// `population` points at a time (at least four).
    pub fn new(mean: &[f64], sigma: f64, population: usize, seed: u64) -> Self {
        let n = mean.len();
        let weights = weights(population.max(4));
        Self {
            random: Pcg64Mcg::seed_from_u64(seed),
            mean: DVector::from_column_slice(mean),
            sigma,
            covariance: DMatrix::identity(n, n),
            axes: DMatrix::identity(n, n),
            lengths: DVector::from_element(n, 1.0),
            path_sigma: DVector::zeros(n),
            path_covariance: DVector::zeros(n),
            rates: Rates::new(n as f64, &weights),
            weights,
            generation: 0,
        }
    }

    /// Points a generation that suit `dimensions` unknowns: 4 + 3 ln n (table 1 of the tutorial).
    pub fn usual_population(dimensions: usize) -> usize {
        4 + (3.0 * libm::log(dimensions.max(1) as f64)) as usize
    }

    /// The next points to try.
    pub fn ask(&mut self, population: usize) -> Vec<Vec<f64>> {
        let n = self.mean.len();
        (0..population)
            .map(|_| {
                let z = DVector::from_fn(n, |_, _| normal(&mut self.random));
                let y = &self.axes * self.lengths.component_mul(&z);
                (&self.mean + y * self.sigma).as_slice().to_vec()
            })
            .collect()
    }

    /// Learns from the points of one generation, best first.
    ///
    /// Points may be others than those asked for, for example brought back into their bounds.
    pub fn tell(&mut self, best_first: &[Vec<f64>]) {
        let n = self.mean.len() as f64;
        let r = self.rates;
        let steps: Vec<DVector<f64>> = best_first
            .iter()
            .take(self.weights.len())
            .map(|x| (DVector::from_column_slice(x) - &self.mean) / self.sigma)
            .collect();
        if steps.len() < self.weights.len() {
            return;
        }
        self.generation += 1;
        let mut step = DVector::zeros(self.mean.len());
        for (w, y) in self.weights.iter().zip(&steps) {
            step += y * *w;
        }
        self.mean += &step * self.sigma;

        // equation (43): the step as it would be in a round distribution
        let round = &self.axes
            * (self.axes.transpose() * &step).component_div(&self.lengths.map(|d| d.max(1e-300)));
        self.path_sigma = &self.path_sigma * (1.0 - r.sigma)
            + round * (r.sigma * (2.0 - r.sigma) * r.effective).sqrt();
        let length = self.path_sigma.norm();
        self.sigma *= libm::exp((r.sigma / r.damping * (length / r.expected - 1.0)).min(1.0));

        // equations (45) to (47)
        let settled = (1.0 - libm::pow(1.0 - r.sigma, 2.0 * (self.generation as f64 + 1.0))).sqrt();
        let moving = length / settled < (1.4 + 2.0 / (n + 1.0)) * r.expected;
        let on = if moving { 1.0 } else { 0.0 };
        self.path_covariance = &self.path_covariance * (1.0 - r.path)
            + &step * (on * (r.path * (2.0 - r.path) * r.effective).sqrt());
        let lost = (1.0 - on) * r.path * (2.0 - r.path);
        let keep = 1.0 + r.rank_one * lost - r.rank_one - r.rank_many;
        self.covariance *= keep;
        self.covariance += &self.path_covariance * self.path_covariance.transpose() * r.rank_one;
        for (w, y) in self.weights.iter().zip(&steps) {
            self.covariance += y * y.transpose() * (r.rank_many * *w);
        }
        self.covariance = (&self.covariance + self.covariance.transpose()) * 0.5;
        let eigen = SymmetricEigen::new(self.covariance.clone());
        self.lengths = eigen.eigenvalues.map(|v| v.max(1e-28).sqrt());
        self.axes = eigen.eigenvectors;
    }

    /// The middle of the distribution.
    pub fn mean(&self) -> &[f64] {
        self.mean.as_slice()
    }

    /// The widest spread of the distribution along any of its axes.
    pub fn spread(&self) -> f64 {
        self.sigma * self.lengths.max()
    }
}

impl Rates {
    /// Table 1 of the tutorial, for positive weights that add up to one.
    fn new(n: f64, weights: &[f64]) -> Self {
        let effective = 1.0 / weights.iter().map(|w| w * w).sum::<f64>();
        let sigma = (effective + 2.0) / (n + effective + 5.0);
        let rank_one = 2.0 / ((n + 1.3) * (n + 1.3) + effective);
        let many =
            2.0 * (0.25 + effective + 1.0 / effective - 2.0) / ((n + 2.0) * (n + 2.0) + effective);
        Self {
            effective,
            sigma,
            damping: 1.0 + 2.0 * (((effective - 1.0) / (n + 1.0)).sqrt() - 1.0).max(0.0) + sigma,
            path: (4.0 + effective / n) / (n + 4.0 + 2.0 * effective / n),
            rank_one,
            rank_many: many.min(1.0 - rank_one),
            expected: n.sqrt() * (1.0 - 1.0 / (4.0 * n) + 1.0 / (21.0 * n * n)),
        }
    }
}

/// Weights of the better half, falling with the logarithm of the rank; they add up to one.
fn weights(population: usize) -> Vec<f64> {
    let half = (population as f64 + 1.0) / 2.0;
    let raw: Vec<f64> =
        (1..=population / 2).map(|rank| libm::log(half) - libm::log(rank as f64)).collect();
    let sum: f64 = raw.iter().sum();
    raw.iter().map(|w| w / sum).collect()
}

/// A standard normal number, by Box and Muller (Ann. Math. Stat. 29, 610, 1958).
fn normal(random: &mut Pcg64Mcg) -> f64 {
    // never zero, so that its logarithm is finite
    let u = unit(random).max(f64::MIN_POSITIVE);
    (-2.0 * libm::log(u)).sqrt() * libm::cos(std::f64::consts::TAU * unit(random))
}

/// Even between zero and one, from the upper 53 bits.
fn unit(random: &mut Pcg64Mcg) -> f64 {
    (random.next_u64() >> 11) as f64 / (1u64 << 53) as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Generations until the best value falls below `goal`, or `None` after `most`.
    fn minimise(f: impl Fn(&[f64]) -> f64, start: &[f64], goal: f64, most: usize) -> Option<usize> {
        let population = Cmaes::usual_population(start.len());
        let mut search = Cmaes::new(start, 0.5, population, 7);
        (0..most).find(|_| {
            let mut points = search.ask(population);
            points.sort_by(|a, b| f(a).total_cmp(&f(b)));
            search.tell(&points);
            f(&points[0]) < goal
        })
    }

    // The three functions of the tutorial's section "test functions" and of common use; the least
    // value of each is 0. Budgets are several times what the tutorial's figures show.
    #[test]
    fn finds_the_middle_of_a_sphere() {
        let sphere = |x: &[f64]| x.iter().map(|v| v * v).sum();
        assert!(minimise(sphere, &[1.0, -2.0, 0.5, 3.0], 1e-10, 200).is_some());
    }

    #[test]
    fn learns_axes_a_thousand_times_as_long_as_others() {
        let ellipsoid = |x: &[f64]| {
            let last = x.len() as f64 - 1.0;
            let scaled = x.iter().enumerate();
            scaled.map(|(k, v)| libm::pow(1e6, k as f64 / last) * v * v).sum()
        };
        assert!(minimise(ellipsoid, &[1.0, 1.0, -1.0, 1.0], 1e-10, 600).is_some());
    }

    #[test]
    fn follows_the_bent_valley_of_rosenbrock() {
        let valley = |x: &[f64]| {
            let pairs = x.windows(2);
            pairs.map(|p| 100.0 * (p[1] - p[0] * p[0]).powi(2) + (1.0 - p[0]).powi(2)).sum()
        };
        assert!(minimise(valley, &[-1.0, 1.0, 0.0], 1e-8, 800).is_some());
    }

    #[test]
    fn one_dimension_works() {
        assert!(minimise(|x| (x[0] - 3.0).powi(2), &[0.0], 1e-10, 200).is_some());
    }

    #[test]
    fn same_seed_same_points() {
        let points = |seed| Cmaes::new(&[0.0, 0.0], 1.0, 6, seed).ask(6);
        assert_eq!(points(3), points(3));
        assert_ne!(points(3), points(4));
    }

    #[test]
    fn normal_numbers_have_mean_zero_and_variance_one() {
        let mut random = Pcg64Mcg::seed_from_u64(1);
        let drawn: Vec<f64> = (0..20_000).map(|_| normal(&mut random)).collect();
        let count = drawn.len() as f64;
        let mean = drawn.iter().sum::<f64>() / count;
        let variance = drawn.iter().map(|v| v * v).sum::<f64>() / count - mean * mean;
        // four standard errors: 1/sqrt(n) and sqrt(2/n)
        assert!(mean.abs() < 4.0 / count.sqrt(), "{mean}");
        assert!((variance - 1.0).abs() < 4.0 * (2.0 / count).sqrt(), "{variance}");
    }
}
