//! What the trade would try: each proposal a change of the tank with a few free dimensions.
use shapes::Vec2;

use super::Subject;
use super::diagnosis::Diagnosis;
use super::edit::{Edit, apply};
use super::judge::Standing;
use crate::layout::{Layout, Role};
use crate::plan::Answer;
use crate::plan::room::fits;
use crate::sensitivity::Case;

/// What kind of help it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// Anodes nearer or farther.
    Distance,
    /// Anodes shorter or longer.
    Length,
    /// A second anode on the dark side.
    SecondAnode,
    /// An anode in the hollow, on the same rectifier.
    InsideAnode,
    /// An anode in the hollow on a rectifier of its own.
    InsideOwnSupply,
    /// An anode that follows the hollow at an even gap.
    Conforming,
    /// Shields before the hot edges.
    Shield,
    /// Thieves beside the hot edges.
    Thief,
    /// The part turned.
    Turn,
    /// Less current for longer.
    LessCurrent,
    /// Another bath.
    Bath,
}

/// What a free dimension measures.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Measure {
    /// A length, m.
    Length,
    /// A share of a whole.
    Share,
    /// An angle, degrees.
    Angle,
}

/// A free dimension.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Dim {
    /// What it is, in a word or two.
    pub name: &'static str,
    /// What it measures.
    pub measure: Measure,
    /// Least value tried.
    pub low: f64,
    /// Greatest value tried.
    pub high: f64,
    /// Values are whole multiples of this.
    pub step: f64,
}

impl Dim {
    /// A dimension of which at least one whole step fits between the ends; `None` if none does.
    pub(super) fn new(
        name: &'static str,
        measure: Measure,
        low: f64,
        high: f64,
        step: f64,
    ) -> Option<Self> {
        let (low, high) = ((low / step - 1e-6).ceil() * step, (high / step + 1e-6).floor() * step);
        (low <= high && low.is_finite() && high.is_finite()).then_some(Self {
            name,
            measure,
            low,
            high,
            step,
        })
    }

    /// The whole multiple of the step nearest to a place between the ends, 0 to 1.
    pub(super) fn value(&self, place: f64) -> f64 {
        let value = self.low + place.clamp(0.0, 1.0) * (self.high - self.low);
        ((value / self.step).round() * self.step).clamp(self.low, self.high)
    }
}

/// Makes edits of values of the dimensions; `None` where they make no sense.
pub(super) type Build<'a> = Box<dyn Fn(&[f64]) -> Option<Vec<Edit>> + Send + Sync + 'a>;

/// A change with free dimensions.
pub struct Proposal<'a> {
    /// What kind of help it is.
    pub kind: Kind,
    /// Its free dimensions.
    pub dims: Vec<Dim>,
    pub(super) build: Build<'a>,
    /// The case to start from instead of the job's own.
    pub(super) case: Option<&'a Case>,
}

/// What proposals are made from.
pub(super) struct Scene<'a> {
    pub subject: &'a Subject,
    /// The first position.
    pub layout: &'a Layout,
    pub diagnosis: &'a Diagnosis,
    pub solved: &'a Answer,
    pub base: &'a Standing,
    pub clearance: f64,
}

impl<'a> Scene<'a> {
    pub fn parts(&self) -> impl Iterator<Item = usize> + use<'a> {
        of_role(self.layout, |role| role == Role::Part)
    }

    pub fn anodes(&self) -> impl Iterator<Item = usize> + use<'a> {
        of_role(self.layout, |role| role == Role::Anode)
    }

    /// Bodies drawn together of which the first is one of `bodies`.
    pub fn groups_of(&self, bodies: impl Iterator<Item = usize>) -> Vec<Vec<usize>> {
        let mut out: Vec<Vec<usize>> = Vec::new();
        for body in bodies {
            let group = self.subject.groups.iter().find(|g| g.contains(&body));
            let group = group.cloned().unwrap_or_else(|| vec![body]);
            if !out.contains(&group) {
                out.push(group);
            }
        }
        out
    }

    /// The box around all parts.
    pub fn parts_box(&self) -> shapes::Rect {
        let boxes = self.parts().map(|b| self.layout.bodies[b].outline.bounds());
        boxes.reduce(|a, b| a.union(b)).unwrap_or(shapes::Rect::ZERO)
    }

    /// Thickness of the thinnest anode's box, between two and ten steps or its own.
    pub fn bar_m(&self) -> f64 {
        let thin = self.anodes().map(|b| {
            let bounds = self.layout.bodies[b].outline.bounds();
            bounds.width().min(bounds.height())
        });
        self.whole(thin.fold(f64::INFINITY, f64::min).clamp(2.0 * self.step(), 40.0 * self.step()))
    }

    pub fn step(&self) -> f64 {
        self.subject.step_m
    }

    /// The nearest whole multiple of the step.
    pub fn whole(&self, value: f64) -> f64 {
        (value / self.step()).round() * self.step()
    }

    /// The nearest point with whole coordinates.
    pub fn whole_point(&self, at: shapes::Point) -> shapes::Point {
        shapes::Point::new(self.whole(at.x), self.whole(at.y))
    }

    /// A name that no body has yet.
    pub fn name(&self, wanted: &str) -> String {
        let taken = |name: &str| self.layout.bodies.iter().any(|b| b.name == name);
        let numbered = (2..).map(|k| format!("{wanted} {k}"));
        std::iter::once(wanted.to_owned())
            .chain(numbered)
            .find(|name| !taken(name))
            .unwrap_or_default()
    }

    /// How far `bodies` can be shifted along `way`, m, in steps of a sixtieth of the tank.
    pub fn travel(&self, bodies: &[usize], way: Vec2) -> f64 {
        let step = self.layout.tank.diagonal() / 60.0;
        let free = |k: u32| {
            let by = way * (step * f64::from(k));
            let moved = Edit::Move { bodies: bodies.to_vec(), by };
            let after = apply(self.layout, &[moved]);
            after.is_some_and(|after| fits(self.layout, &after, bodies, self.clearance))
        };
        step * f64::from((1..60).take_while(|k| free(*k)).last().unwrap_or(0))
    }
}

fn of_role(layout: &Layout, is: fn(Role) -> bool) -> impl Iterator<Item = usize> + use<'_> {
    (0..layout.bodies.len()).filter(move |&b| is(layout.bodies[b].role))
}

/// The bodies, of the layout after them, that `edits` add, move, turn or make anew.
pub(super) fn changed(before: &Layout, edits: &[Edit]) -> Vec<usize> {
    let mut next = before.bodies.len();
    let mut out = Vec::new();
    for edit in edits {
        match edit {
            Edit::Add { .. } => {
                out.push(next);
                next += 1;
            }
            Edit::Move { bodies, .. } => out.extend(bodies),
            Edit::Turn { body, .. } | Edit::Reshape { body, .. } => out.push(*body),
            Edit::OwnSupply { .. } | Edit::Drive { .. } | Edit::Run { .. } => {}
        }
    }
    out.sort_unstable();
    out.dedup();
    out
}

/// A direction in whole degrees, a right angle where it is nearly one.
pub(super) fn tidy(way: Vec2) -> f64 {
    let degrees = libm::atan2(way.y, way.x).to_degrees();
    let right = 90.0 * (degrees / 90.0).round();
    if (degrees - right).abs() < 12.0 { right } else { degrees.round() }
}

/// Unit vector in a direction; exact at right angles.
pub(super) fn unit(degrees: f64) -> Vec2 {
    match degrees.rem_euclid(360.0) {
        0.0 => Vec2::new(1.0, 0.0),
        90.0 => Vec2::new(0.0, 1.0),
        180.0 => Vec2::new(-1.0, 0.0),
        270.0 => Vec2::new(0.0, -1.0),
        other => {
            let (sin, cos) = libm::sincos(other.to_radians());
            Vec2::new(cos, sin)
        }
    }
}
