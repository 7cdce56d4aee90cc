//! What the lesson reads off a solved job: bottom and rim of the recess, paths of the current.

use solver::plan::Measured;
use solver::quantity::Time;
use solver::{Deposit, Solution, current_tubes};

use super::jobs::{HALF_WIDTH_MM, MIDDLE_MM, MOUTH_MM, Recess};
use crate::commands::report::{self, Solved};
use crate::diagnostic::Source;
use crate::job::{self, Resolved};

/// A solved job of the lesson.
pub struct Reading {
    /// What was asked.
    pub recess: Recess,
    /// The job as read.
    pub job: Resolved,
    /// The answer.
    pub solved: Solved,
    /// The metal after the run.
    pub deposit: (Time, Deposit),
    /// Thickness in the middle of the bottom, m.
    pub bottom: Measured,
    /// Greatest thickness, m.
    pub rim: Measured,
}

/// Why the lesson has no answer: a fault of this program, for its jobs are its own.
#[derive(Debug, thiserror::Error)]
pub enum LessonError {
    /// A job is refused.
    #[error("the lesson's job `{0}` is refused: {1}")]
    Job(String, String),
    /// A job has no answer.
    #[error("the lesson's job `{0}` has no answer: {1}")]
    Solve(String, solver::SolveError),
    /// A job deposits nothing.
    #[error("the lesson's job `{0}` deposits nothing")]
    Nothing(String),
    /// A picture failed.
    #[error(transparent)]
    Picture(#[from] crate::output::PictureError),
    /// The template failed.
    #[error("the page could not be filled in: {0}")]
    Page(#[from] askama::Error),
    /// The animation could not be written.
    #[error("the animation could not be written: {0}")]
    Animation(#[from] png::EncodingError),
}

impl Reading {
    /// Solves the job of `recess`.
    ///
    /// # Errors
    /// [`LessonError`].
    pub fn new(title: &str, recess: Recess) -> Result<Self, LessonError> {
        let source = Source { name: format!("{title}.toml"), text: recess.job(title) };
        let job = job::resolve(&source).map_err(|faults| {
            let said = faults.iter().map(|f| f.message.clone()).collect::<Vec<_>>().join("; ");
            LessonError::Job(title.to_owned(), said)
        })?;
        let solution = solver::solve(&job.layout, &job.settings, &mut |_| {})
            .map_err(|error| LessonError::Solve(title.to_owned(), error))?;
        let significant = job.layout.significant_rows(&solution);
        let solved = Solved { positions: job.positions(), solutions: vec![solution], significant };
        let nothing = || LessonError::Nothing(title.to_owned());
        let deposit = report::deposit(&job, &solved).ok().flatten().ok_or_else(nothing)?;
        let (solution, metal) = (solved.first(), deposit.1.of_body(0).ok_or_else(nothing)?);
        let at = |row: usize| Measured {
            value: metal.thickness_m[row],
            doubt: metal.uncertainty_m[row],
        };
        let rows = 0..solution.bodies[0].stretches.len();
        let by = |a: &usize, b: &usize| metal.thickness_m[*a].total_cmp(&metal.thickness_m[*b]);
        let bottom = nearest(solution, bottom_of(&recess)).ok_or_else(nothing)?;
        let rim = rows.max_by(by).ok_or_else(nothing)?;
        let (bottom, rim) = (at(bottom), at(rim));
        Ok(Self { recess, job, solved, deposit, bottom, rim })
    }

    /// Bottom over rim.
    pub fn evenness(&self) -> Measured {
        let value = self.bottom.value / self.rim.value;
        Measured { value, doubt: (self.bottom.doubt + value * self.rim.doubt) / self.rim.value }
    }

    /// Current and voltage of the first rectifier.
    pub fn supply(&self) -> (f64, f64) {
        let supply = self.solved.first().supplies.first();
        supply.map_or((0.0, 0.0), |s| (s.current_a, s.voltage_v))
    }

    /// The Wagner number.
    pub fn wagner(&self) -> f64 {
        self.solved.first().wagner.number
    }

    /// The way of the current to four places of the part.
    pub fn paths(&self) -> Vec<PathTo> {
        let solution = self.solved.first();
        let tubes = current_tubes(solution, TUBES);
        let anode = solution.supplies.first().map_or(0.0, |s| s.bath_voltage_v - s.anode_v);
        Place::ALL
            .iter()
            .filter_map(|place| {
                let row = nearest(solution, place.at(&self.recess))?;
                let stretch = &solution.bodies[0].stretches[row];
                let density = stretch.current_density_a_m2;
                let landed: Vec<f64> = tubes
                    .iter()
                    .filter(|t| t.to == Some(0))
                    .filter(|t| {
                        t.points.last().is_some_and(|p| Place::of(&self.recess, *p) == *place)
                    })
                    .map(|t| length(&t.points))
                    .collect();
                let bath_v = anode - stretch.potential_v;
                Some(PathTo {
                    place: *place,
                    tubes: landed.len(),
                    length_m: (!landed.is_empty())
                        .then(|| landed.iter().sum::<f64>() / landed.len() as f64),
                    density_a_m2: density,
                    bath_v,
                    bath_ohm_m2: bath_v / density,
                    surface_ohm_m2: -stretch.overpotential_v / density,
                })
            })
            .collect()
    }
}

/// Tubes that the current is cut into.
pub const TUBES: usize = 60;

/// A place of the part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// Around the mouth.
    Rim,
    /// The sides of the recess.
    Wall,
    /// The bottom of the recess.
    Bottom,
    /// Everything else.
    Outside,
}

impl Place {
    /// In the order of the table.
    pub const ALL: [Self; 4] = [Self::Outside, Self::Rim, Self::Wall, Self::Bottom];

    /// The name.
    pub fn word(self) -> &'static str {
        match self {
            Self::Rim => "the rim of the mouth",
            Self::Wall => "half way down the recess",
            Self::Bottom => "the bottom of the recess",
            Self::Outside => "the middle of the back",
        }
    }

    /// The point that stands for it, m.
    fn at(self, recess: &Recess) -> [f64; 2] {
        let bottom = MOUTH_MM + recess.depth_mm;
        let mm = match self {
            Self::Rim => [MOUTH_MM, MIDDLE_MM + HALF_WIDTH_MM + 4.0],
            Self::Wall => [MOUTH_MM + 0.5 * recess.depth_mm, MIDDLE_MM + HALF_WIDTH_MM],
            Self::Bottom => [bottom, MIDDLE_MM],
            Self::Outside => [bottom + 8.0, MIDDLE_MM],
        };
        mm.map(|v| v * 1e-3)
    }

    fn of(recess: &Recess, p: shapes::Point) -> Self {
        let (x, y) = (p.x * 1e3 - MOUTH_MM, (p.y * 1e3 - MIDDLE_MM).abs());
        if x < 2.5 {
            Self::Rim
        } else if y > HALF_WIDTH_MM + 1.0 {
            Self::Outside
        } else if x < recess.depth_mm - 2.5 {
            Self::Wall
        } else {
            Self::Bottom
        }
    }
}

/// How the current gets to a place.
#[derive(Debug, Clone, Copy)]
pub struct PathTo {
    /// Where to.
    pub place: Place,
    /// Tubes, of [`TUBES`], that end there.
    pub tubes: usize,
    /// Their mean length.
    pub length_m: Option<f64>,
    /// Current density at the place.
    pub density_a_m2: f64,
    /// Volts lost in the bath on the way, from the anodes' mean.
    pub bath_v: f64,
    /// Resistance of the way for a square metre of the place.
    pub bath_ohm_m2: f64,
    /// The same of the surface.
    pub surface_ohm_m2: f64,
}

fn bottom_of(recess: &Recess) -> [f64; 2] {
    Place::Bottom.at(recess)
}

/// The stretch of the part nearest to a point, m.
fn nearest(solution: &Solution, [x, y]: [f64; 2]) -> Option<usize> {
    let stretches = &solution.bodies.first()?.stretches;
    let far = |k: usize| (stretches[k].at.x - x).hypot(stretches[k].at.y - y);
    (0..stretches.len()).min_by(|a, b| far(*a).total_cmp(&far(*b)))
}

fn length(points: &[shapes::Point]) -> f64 {
    points.windows(2).map(|p| p[0].distance(p[1])).sum()
}
