//! Reads a reference fixture: the layout in neutral words, and for every metal body the cumulative
//! current along its wetted outline.
//!
//! Rows are `[s_mm, current into the metal up to s (A per m of depth), density (A/m²)]`, around an axis
//! both times 2πr; between rows the cumulative current is the cubic through values and slopes, which
//! keeps means over any range good to about 1e-6.
use std::f64::consts::TAU;
use std::path::Path;
use std::sync::Arc;

use serde::Deserialize;
use shapes::{Outline, Point};
use solver::quantity::*;
use solver::{Body, Drive, Kinetics, Law, Layout, Role, Stretch, Supply, Symmetry};

use crate::reference::Reference;

#[derive(Deserialize)]
struct File {
    name: String,
    #[serde(default)]
    symmetry: SymmetryWord,
    tank: Vec<[f64; 2]>,
    kappa: f64,
    depth_mm: f64,
    temperature_k: f64,
    supply: SupplyWords,
    voltage_v: f64,
    current_a: f64,
    corners: Vec<[f64; 2]>,
    self_convergence: SelfConvergence,
    bodies: Vec<BodyWords>,
}

#[derive(Deserialize, Default, Clone, Copy)]
#[serde(rename_all = "lowercase")]
enum SymmetryWord {
    #[default]
    Planar,
    Axial,
}

#[derive(Deserialize)]
#[serde(rename_all = "lowercase")]
enum SupplyWords {
    Current(f64),
    Mean(f64),
    Voltage(f64),
}

#[derive(Deserialize)]
struct SelfConvergence {
    local: f64,
}

#[derive(Deserialize)]
struct BodyWords {
    name: String,
    role: String,
    shape: Shape,
    law: Option<LawWords>,
    offset: Option<f64>,
    kappa: Option<f64>,
    loops: Vec<Vec<Segment>>,
    current_a: Option<f64>,
    #[serde(default)]
    runs: Vec<Run>,
}

#[derive(Deserialize)]
#[serde(untagged)]
enum Shape {
    Rect {
        rect: RectWords,
    },
    Disc {
        disc: DiscWords,
    },
    Ring {
        ring: RingWords,
    },
    Polygon {
        polygon: Vec<[f64; 2]>,
        #[serde(default)]
        corner_radius: f64,
    },
}

#[derive(Deserialize)]
struct RectWords {
    at: [f64; 2],
    size: [f64; 2],
    #[serde(default)]
    corner: f64,
}

#[derive(Deserialize)]
struct DiscWords {
    at: [f64; 2],
    radius: f64,
}

#[derive(Deserialize)]
struct RingWords {
    at: [f64; 2],
    outer: f64,
    inner: f64,
}

#[derive(Deserialize)]
struct LawWords {
    law: String,
    resistance: Option<f64>,
    exchange: Option<f64>,
    slope: Option<f64>,
    alpha_anodic: Option<f64>,
    alpha_cathodic: Option<f64>,
    points: Option<Vec<[f64; 2]>>,
    limiting: Option<f64>,
    #[serde(default)]
    rest: f64,
}

/// A line or an arc of an outline, mm.
#[derive(Deserialize, Clone)]
#[serde(untagged)]
enum Segment {
    Line { from: [f64; 2], to: [f64; 2] },
    Arc { centre: [f64; 2], radius: f64, start: f64, sweep: f64 },
}

#[derive(Deserialize)]
struct Run {
    #[serde(rename = "loop")]
    loop_index: usize,
    rows: Vec<[f64; 3]>,
}

/// Reads one fixture.
///
/// # Panics
/// If the file cannot be read or does not make sense.
pub fn read(path: &Path) -> Reference {
    let text = std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    let file: File =
        serde_json::from_str(&text).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
    let metres = |p: &[f64; 2]| Point::new(p[0] * 1e-3, p[1] * 1e-3);
    let symmetry = match file.symmetry {
        SymmetryWord::Planar => Symmetry::Planar,
        SymmetryWord::Axial => Symmetry::Axial,
    };
    let layout = Layout {
        tank: Outline::polygon(&file.tank.iter().map(metres).collect::<Vec<_>>(), 0.0)
            .expect("a tank"),
        symmetry,
        depth: Length::mm(file.depth_mm),
        conductivity: Conductivity::new(file.kappa),
        temperature: Temperature::kelvin(file.temperature_k),
        bodies: file.bodies.iter().map(body).collect(),
        supplies: vec![Supply::all(match file.supply {
            SupplyWords::Current(v) => Drive::Current(Current::new(v)),
            SupplyWords::Mean(v) => Drive::MeanDensity(CurrentDensity::new(v)),
            SupplyWords::Voltage(v) => Drive::Voltage(Potential::new(v)),
        })],
    };
    let currents_a = file.bodies.iter().map(|b| b.current_a).collect();
    let bodies: Vec<BodyWords> = file.bodies.into_iter().map(BodyWords::joined).collect();
    Reference {
        name: file.name,
        layout,
        corners: file.corners.iter().map(metres).collect(),
        currents_a,
        current_a: file.current_a,
        voltage_v: file.voltage_v,
        own_error: file.self_convergence.local,
        density: Arc::new(move |k, stretch| bodies[k].mean(stretch, symmetry)),
    }
}

fn body(b: &BodyWords) -> Body {
    let point = |p: &[f64; 2]| Point::new(p[0], p[1]);
    let outline = match &b.shape {
        Shape::Rect { rect: r } => Outline::rect(point(&r.at), (r.size[0], r.size[1]), r.corner),
        Shape::Disc { disc: d } => Outline::disc(point(&d.at), d.radius),
        Shape::Ring { ring: r } => Outline::ring(point(&r.at), r.outer, r.inner),
        Shape::Polygon { polygon, corner_radius } => {
            Outline::polygon(&polygon.iter().map(point).collect::<Vec<_>>(), *corner_radius)
        }
    };
    let role = match b.role.as_str() {
        "part" => Role::Part,
        "anode" => Role::Anode,
        "shield" => Role::Shield,
        "thief" => Role::Thief { offset: Potential::new(b.offset.unwrap_or(0.0)) },
        "floating" => Role::Floating,
        "screen" => Role::Screen {
            conductivity: Conductivity::new(b.kappa.expect("a screen's conductivity")),
        },
        other => panic!("unknown role {other}"),
    };
    let law = b.law.as_ref().map_or(NO_LAW, law);
    Body::new(&b.name, role, outline.expect("an outline").scaled(1e-3), law)
}

const NO_LAW: Law = Law { kinetics: Kinetics::None, limiting: None, rest: Potential::new(0.0) };

fn law(l: &LawWords) -> Law {
    let need = |v: Option<f64>| v.expect("a key of the law");
    let kinetics = match l.law.as_str() {
        "none" => Kinetics::None,
        "linear" => Kinetics::Linear { resistance: AreaResistance::new(need(l.resistance)) },
        "tafel" => Kinetics::Tafel {
            exchange: CurrentDensity::new(need(l.exchange)),
            slope: Potential::new(need(l.slope)),
        },
        "butler-volmer" => Kinetics::ButlerVolmer {
            exchange: CurrentDensity::new(need(l.exchange)),
            alpha_anodic: need(l.alpha_anodic),
            alpha_cathodic: need(l.alpha_cathodic),
        },
        "table" => Kinetics::Table {
            points: l
                .points
                .iter()
                .flatten()
                .map(|[eta, i]| (Potential::new(*eta), CurrentDensity::new(*i)))
                .collect(),
        },
        other => panic!("unknown law {other}"),
    };
    Law { kinetics, limiting: l.limiting.map(CurrentDensity::new), rest: Potential::new(l.rest) }
}

impl BodyWords {
    /// With a wetted run that goes on past the start of its loop, stored as two, made one.
    fn joined(mut self) -> Self {
        const SAME_MM: f64 = 1e-6;
        for (k, segments) in self.loops.iter().enumerate() {
            let total: f64 = segments.iter().map(Segment::length).sum();
            let here = |r: &Run| r.loop_index == k;
            let first = self.runs.iter().position(|r| here(r) && r.rows[0][0] < SAME_MM);
            let last = self
                .runs
                .iter()
                .position(|r| here(r) && r.rows[r.rows.len() - 1][0] > total - SAME_MM);
            let (Some(first), Some(last)) = (first, last) else { continue };
            if first == last {
                continue;
            }
            let mut rows = self.runs[last].rows.clone();
            rows.iter_mut().for_each(|r| r[0] -= total);
            let so_far = rows[rows.len() - 1][1];
            let more = self.runs[first].rows[1..].iter();
            rows.extend(more.map(|r| [r[0], r[1] + so_far, r[2]]));
            self.runs[first].rows = rows;
            self.runs.remove(last);
        }
        self
    }

    /// Mean density over a stretch, found by the place of its middle.
    fn mean(&self, stretch: &Stretch, symmetry: Symmetry) -> Option<f64> {
        let at = [stretch.at.x * 1e3, stretch.at.y * 1e3];
        let half = 0.5 * stretch.length_m * 1e3;
        let (distance, loop_index, s) = self
            .loops
            .iter()
            .enumerate()
            .map(|(k, l)| {
                let (d, s) = nearest(l, at);
                (d, k, s)
            })
            .min_by(|a, b| a.0.total_cmp(&b.0))?;
        let segments = &self.loops[loop_index];
        let total: f64 = segments.iter().map(Segment::length).sum();
        // per m of depth, or all around
        let surface = |a: f64, b: f64| match symmetry {
            Symmetry::Planar => (b - a) * 1e-3,
            Symmetry::Axial => around(segments, total, a, b) * 1e-6,
        };
        if distance > 1e-3 + 1e-6 * total {
            return None;
        }
        // how far a stretch may pass the end of the wetted run: rounding and flattening only
        let slack = 1e-4 + 0.02 * half;
        for run in self.runs.iter().filter(|r| r.loop_index == loop_index) {
            let (first, last) = (run.rows[0][0], run.rows[run.rows.len() - 1][0]);
            let closed = last - first > total - 1e-4;
            for turn in [0.0, total, -total] {
                let (a, b) = (s - half + turn, s + half + turn);
                let middle = s + turn;
                if middle < first - slack || middle > last + slack {
                    continue;
                }
                if closed {
                    let up_to = |x: f64| {
                        let whole = run.cumulative(last);
                        let laps = ((x - first) / total).floor();
                        laps * whole + run.cumulative(x - laps * total)
                    };
                    return Some((up_to(b) - up_to(a)) / surface(a, b));
                }
                if a < first - slack || b > last + slack {
                    continue;
                }
                let (a, b) = (a.max(first), b.min(last));
                return Some((run.cumulative(b) - run.cumulative(a)) / surface(a, b));
            }
        }
        None
    }
}

impl Run {
    /// Current per depth up to arc length `s`, A/m.
    fn cumulative(&self, s: f64) -> f64 {
        let upper = self.rows.partition_point(|r| r[0] < s).clamp(1, self.rows.len() - 1);
        let ([s0, c0, j0], [s1, c1, j1]) = (self.rows[upper - 1], self.rows[upper]);
        let h = s1 - s0;
        let t = (s - s0) / h;
        let (m0, m1) = (j0 * h * 1e-3, j1 * h * 1e-3);
        c0 * (1.0 + 2.0 * t) * (1.0 - t).powi(2)
            + m0 * t * (1.0 - t).powi(2)
            + c1 * t * t * (3.0 - 2.0 * t)
            + m1 * t * t * (t - 1.0)
    }
}

impl Segment {
    fn length(&self) -> f64 {
        match self {
            Segment::Line { from, to } => (to[0] - from[0]).hypot(to[1] - from[1]),
            Segment::Arc { radius, sweep, .. } => radius * sweep.abs(),
        }
    }

    /// Surface around the axis x = 0 between two arc lengths of it, mm².
    fn around(&self, a: f64, b: f64) -> f64 {
        match self {
            Segment::Line { from, to } => {
                let t = 0.5 * (a + b) / self.length();
                TAU * (from[0] + t * (to[0] - from[0])) * (b - a)
            }
            Segment::Arc { centre, radius, start, sweep } => {
                let angle = |s: f64| start + s / radius * sweep.signum();
                let turned = radius * sweep.signum() * (angle(b).sin() - angle(a).sin());
                TAU * (centre[0] * (b - a) + radius * turned)
            }
        }
    }

    /// Distance of a point and arc length of the nearest place.
    fn nearest(&self, p: [f64; 2]) -> (f64, f64) {
        match self {
            Segment::Line { from, to } => {
                let (ux, uy) = (to[0] - from[0], to[1] - from[1]);
                let t = ((p[0] - from[0]) * ux + (p[1] - from[1]) * uy) / (ux * ux + uy * uy);
                let t = t.clamp(0.0, 1.0);
                let d = (p[0] - from[0] - t * ux).hypot(p[1] - from[1] - t * uy);
                (d, t * self.length())
            }
            Segment::Arc { centre, radius, start, sweep } => {
                let angle = (p[1] - centre[1]).atan2(p[0] - centre[0]);
                let mid = 0.5 * sweep.abs();
                let along = ((angle - start) * sweep.signum() - mid + 0.5 * TAU).rem_euclid(TAU)
                    - 0.5 * TAU
                    + mid;
                let along = along.clamp(0.0, sweep.abs());
                let a = start + along * sweep.signum();
                let d = (p[0] - centre[0] - radius * a.cos())
                    .hypot(p[1] - centre[1] - radius * a.sin());
                (d, along * radius)
            }
        }
    }
}

/// Surface around the axis between two arc lengths of a loop of length `total`, mm².
fn around(segments: &[Segment], total: f64, a: f64, b: f64) -> f64 {
    let mut sum = 0.0;
    for lap in [-total, 0.0, total] {
        let mut start = lap;
        for segment in segments {
            let end = start + segment.length();
            let (from, to) = (a.max(start) - start, b.min(end) - start);
            sum += if to > from { segment.around(from, to) } else { 0.0 };
            start = end;
        }
    }
    sum
}

fn nearest(segments: &[Segment], p: [f64; 2]) -> (f64, f64) {
    let mut best = (f64::INFINITY, 0.0);
    let mut start = 0.0;
    for segment in segments {
        let (d, s) = segment.nearest(p);
        if d < best.0 {
            best = (d, start + s);
        }
        start += segment.length();
    }
    best
}
