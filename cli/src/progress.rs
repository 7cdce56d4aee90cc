//! The progress line of a long solve: on a terminal only, and only after half a second.

use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use solver::Progress;

/// A solve shorter than this shows nothing.
const PATIENCE: Duration = Duration::from_millis(500);

/// Shows how far a solve has come.
pub struct ProgressLine {
    started: Instant,
    bar: Option<ProgressBar>,
    wanted: bool,
    accuracy: f64,
}

impl ProgressLine {
    /// A line that appears only if `wanted`; `accuracy` is the goal that it shows.
    pub fn new(wanted: bool, accuracy: f64) -> Self {
        Self { started: Instant::now(), bar: None, wanted, accuracy }
    }

    /// One more grid is solved.
    pub fn update(&mut self, progress: &Progress) {
        if !self.wanted || self.started.elapsed() < PATIENCE {
            return;
        }
        let bar = self.bar.get_or_insert_with(|| {
            let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::stderr());
            bar.set_style(ProgressStyle::default_spinner());
            bar
        });
        bar.set_message(format!(
            "grid {}: {} unknowns, estimated error {:.2} % (goal {:.2} %)",
            progress.grid,
            progress.unknowns,
            100.0 * progress.estimated_error,
            100.0 * self.accuracy
        ));
        bar.tick();
    }

    /// Takes the line away.
    pub fn finish(self) {
        if let Some(bar) = self.bar {
            bar.finish_and_clear();
        }
    }
}
