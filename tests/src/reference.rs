//! A layout with its true answer.
use std::path::PathBuf;
use std::sync::Arc;

use shapes::Point;
use solver::{Layout, Stretch};

/// Mean current density over a stretch of a body's outline (A/m², positive into the metal), or
/// `None` where the stretch does not lie on the wetted outline of the reference.
pub type MeanDensity = Arc<dyn Fn(usize, &Stretch) -> Option<f64> + Send + Sync>;

/// A layout with its true answer.
pub struct Reference {
    /// Short name.
    pub name: String,
    /// What is to be solved.
    pub layout: Layout,
    /// Sharp corners and ends of wetted stretches, m.
    pub corners: Vec<Point>,
    /// True mean density over any stretch of a body.
    pub density: MeanDensity,
    /// True net current into each body, A; `None` for insulators and screens.
    pub currents_a: Vec<Option<f64>>,
    /// True current through the anodes, A.
    pub current_a: f64,
    /// True voltage between the buses, V.
    pub voltage_v: f64,
    /// Error of this reference itself in local density, relative (0 for closed forms).
    pub own_error: f64,
}

/// All body-fitted references of `tests/reference`, sorted by name.
///
/// # Panics
/// If a fixture cannot be read: the checks cannot go on without it.
pub fn load_fixtures() -> Vec<Reference> {
    load("fixtures")
}

/// The answers of a general-purpose finite-element library (`tests/peer`) to layouts that no number
/// of the solver was chosen on, sorted by name.
///
/// # Panics
/// If a fixture cannot be read: the checks cannot go on without it.
pub fn load_held_out() -> Vec<Reference> {
    load("fixtures/held_out")
}

fn load(folder: &str) -> Vec<Reference> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(folder);
    let mut paths: Vec<PathBuf> = std::fs::read_dir(&folder)
        .unwrap_or_else(|e| panic!("{}: {e}", folder.display()))
        .map(|entry| entry.expect("a readable folder").path())
        .filter(|p| p.extension().is_some_and(|e| e == "json"))
        .collect();
    paths.sort();
    paths.iter().map(|p| crate::fixture::read(p)).collect()
}
