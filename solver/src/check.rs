//! The border of the solver: everything wrong with a layout, in one list.
//!
//! Collects all faults instead of stopping at the first, each with the bodies and the place it
//! concerns, so that a caller can point at the lines of a job. After a clean check nobody asks
//! again whether a length is negative or an outline crosses itself.
use std::fmt;

use shapes::{Outline, Point};

use crate::kinetics::{Direction, LawError, Surface};
use crate::layout::{Body, Drive, Layout, Role, Symmetry};

/// One thing wrong with a layout. Bodies are indices into [`Layout::bodies`], places in metres.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum LayoutFault {
    /// Nothing to plate.
    #[error("there is no part in the tank: nothing to plate")]
    NoPart,
    /// Nothing to plate from.
    #[error("there is no anode in the tank: no current can flow")]
    NoAnode,
    /// The tank's outline has a coordinate that is no number.
    #[error("the outline of the tank has a coordinate that is not an ordinary number")]
    TankNotFinite,
    /// The tank encloses nothing.
    #[error("the tank encloses no area")]
    TankEmpty,
    /// The tank's outline crosses itself.
    #[error("the outline of the tank crosses itself at {}", Mm(*.at))]
    TankCrossesItself {
        /// Where.
        at: Point,
    },
    /// The tank of an axial section reaches across the axis.
    #[error(
        "the tank reaches to x = {} mm, across the axis: in an axial section x is the radius; draw the half with x from 0 on, the other half is implied",
        short(*.x_m * 1e3)
    )]
    TankBeyondAxis {
        /// Its least x, m.
        x_m: f64,
    },
    /// A body of an axial section lies beyond the axis.
    #[error(
        "{name:?} lies beyond the axis: in an axial section x is the radius; draw the half with x from 0 on, the other half is implied"
    )]
    BodyBeyondAxis {
        /// Which body.
        body: usize,
        /// Its name.
        name: String,
    },
    /// A body's outline has a coordinate that is no number.
    #[error("the outline of {name:?} has a coordinate that is not an ordinary number")]
    BodyNotFinite {
        /// Which body.
        body: usize,
        /// Its name.
        name: String,
    },
    /// A body's outline encloses nothing.
    #[error("the outline of {name:?} encloses no area")]
    BodyEmpty {
        /// Which body.
        body: usize,
        /// Its name.
        name: String,
    },
    /// A body's outline crosses itself.
    #[error("the outline of {name:?} crosses itself at {}", Mm(*.at))]
    BodyCrossesItself {
        /// Which body.
        body: usize,
        /// Its name.
        name: String,
        /// Where.
        at: Point,
    },
    /// A body has no part of itself in the tank.
    #[error("{name:?} lies outside the tank")]
    BodyOutside {
        /// Which body.
        body: usize,
        /// Its name.
        name: String,
    },
    /// A solid body leaves no room for the bath.
    #[error("{name:?} fills the whole tank: there is no room for the bath")]
    BodyFillsTank {
        /// Which body.
        body: usize,
        /// Its name.
        name: String,
    },
    /// Two bodies are in the same place.
    #[error(
        "{} and {} overlap by {} mm2, for example at {}; they may touch, but not lie in each other",
        Quoted(&.names[0]), Quoted(&.names[1]), short(.area_m2 * 1e6), Mm(*.at)
    )]
    Overlap {
        /// The two bodies, the earlier first.
        bodies: [usize; 2],
        /// Their names.
        names: [String; 2],
        /// A point in both.
        at: Point,
        /// Area that they share, m².
        area_m2: f64,
    },
    /// Two bodies have one name.
    #[error("two bodies are called {name:?}: give each a name of its own")]
    SameName {
        /// The two bodies, the earlier first.
        bodies: [usize; 2],
        /// The name.
        name: String,
    },
    /// A polarization law makes no sense.
    #[error("the polarization law of {name:?}: {error}")]
    Law {
        /// Which body.
        body: usize,
        /// Its name.
        name: String,
        /// What is wrong.
        error: LawError,
    },
    /// A masked or significant stretch that is not on the outline.
    #[error("a marked stretch of {name:?} does not lie on its outline")]
    Span {
        /// Which body.
        body: usize,
        /// Its name.
        name: String,
    },
    /// Nothing is left to carry current.
    #[error("the whole outline of {name:?} is masked: no current can reach its metal")]
    AllMasked {
        /// Which body.
        body: usize,
        /// Its name.
        name: String,
    },
    /// Depth of the section.
    #[error("the depth of the section must be greater than zero, not {} m", short(*.depth_m))]
    Depth {
        /// As given, m.
        depth_m: f64,
    },
    /// Conductivity of the bath.
    #[error("the conductivity of the bath must be greater than zero, not {} S/m", short(*.s_m))]
    Conductivity {
        /// As given, S/m.
        s_m: f64,
    },
    /// Temperature of the bath.
    #[error("the temperature of the bath must be above absolute zero, not {} K", short(*.kelvin))]
    Temperature {
        /// As given, K.
        kelvin: f64,
    },
    /// Conductivity inside a screen.
    #[error(
        "the conductivity inside the screen {name:?} must be greater than zero, not {} S/m; use a shield where no current may pass",
        short(*.s_m)
    )]
    ScreenConductivity {
        /// Which body.
        body: usize,
        /// Its name.
        name: String,
        /// As given, S/m.
        s_m: f64,
    },
    /// Offset of a thief.
    #[error("the offset of the thief {name:?} must be an ordinary number of volts, not {volts}")]
    ThiefOffset {
        /// Which body.
        body: usize,
        /// Its name.
        name: String,
        /// As given, V.
        volts: f64,
    },
    /// The supply's setting.
    #[error(
        "the {what} of the supply must be greater than zero, not {}: anodes give the current and parts take it, so no sign is needed",
        short(*.value)
    )]
    Supply {
        /// Which setting: "current", "mean current density" or "voltage".
        what: &'static str,
        /// As given, SI.
        value: f64,
    },
}

impl Layout {
    /// Everything wrong with the layout: an empty answer means it can be meshed and solved.
    ///
    /// Bodies may stick through the tank wall, touch each other and touch the wall. Screens may
    /// lie over other bodies, which then win; two screens may not overlap.
    ///
    /// # Errors
    /// All faults: those of the whole layout first, then body by body, then pairs of bodies.
    ///
    /// O(bodies² · segments) at worst; pairs with disjoint boxes cost nothing.
    pub fn check(&self) -> Result<(), Vec<LayoutFault>> {
        let mut faults = Vec::new();
        self.check_numbers(&mut faults);
        let tank_is_sound = self.check_tank(&mut faults);
        if !self.bodies.iter().any(|body| body.role == Role::Part) {
            faults.push(LayoutFault::NoPart);
        }
        if !self.bodies.iter().any(|body| body.role == Role::Anode) {
            faults.push(LayoutFault::NoAnode);
        }
        let mut sound = Vec::with_capacity(self.bodies.len());
        for (index, body) in self.bodies.iter().enumerate() {
            self.check_body_numbers(index, body, &mut faults);
            let outline_is_sound = check_outline(index, body, &mut faults);
            if outline_is_sound {
                check_spans(index, body, &mut faults);
            }
            if tank_is_sound && outline_is_sound {
                self.check_place(index, body, &mut faults);
            }
            sound.push(outline_is_sound);
        }
        for second in 0..self.bodies.len() {
            for first in 0..second {
                self.check_pair([first, second], sound[first] && sound[second], &mut faults);
            }
        }
        if faults.is_empty() { Ok(()) } else { Err(faults) }
    }

    fn check_numbers(&self, faults: &mut Vec<LayoutFault>) {
        let depth_m = self.depth.si();
        if self.symmetry == Symmetry::Planar && !positive(depth_m) {
            faults.push(LayoutFault::Depth { depth_m });
        }
        let s_m = self.conductivity.si();
        if !positive(s_m) {
            faults.push(LayoutFault::Conductivity { s_m });
        }
        let kelvin = self.temperature.si();
        if !positive(kelvin) {
            faults.push(LayoutFault::Temperature { kelvin });
        }
        let (what, value) = match self.supplies[0].drive {
            Drive::Current(current) => ("current", current.si()),
            Drive::MeanDensity(density) => ("mean current density", density.si()),
            Drive::Voltage(voltage) => ("voltage", voltage.si()),
        };
        if !positive(value) {
            faults.push(LayoutFault::Supply { what, value });
        }
    }

    /// True where the tank's outline can be compared with others.
    fn check_tank(&self, faults: &mut Vec<LayoutFault>) -> bool {
        let x_m = self.tank.bounds().x0;
        let axial = self.symmetry == Symmetry::Axial;
        let fault = match flaw(&self.tank) {
            None if axial && x_m < -self.hair() => LayoutFault::TankBeyondAxis { x_m },
            None => return true,
            Some(Flaw::NotFinite) => LayoutFault::TankNotFinite,
            Some(Flaw::Empty) => LayoutFault::TankEmpty,
            Some(Flaw::Crosses(at)) => LayoutFault::TankCrossesItself { at },
        };
        faults.push(fault);
        false
    }

    fn check_body_numbers(&self, body: usize, given: &Body, faults: &mut Vec<LayoutFault>) {
        let name = || given.name.clone();
        match given.role {
            Role::Screen { conductivity } if !positive(conductivity.si()) => {
                let s_m = conductivity.si();
                faults.push(LayoutFault::ScreenConductivity { body, name: name(), s_m });
            }
            Role::Thief { offset } if !offset.si().is_finite() => {
                let volts = offset.si();
                faults.push(LayoutFault::ThiefOffset { body, name: name(), volts });
            }
            _ => {}
        }
        // an impossible temperature is a fault of its own, once, not one of every law
        let Some(direction) = Direction::of(given.role).filter(|_| positive(self.temperature.si()))
        else {
            return;
        };
        if let Err(error) = Surface::new(&given.law, direction, self.temperature) {
            faults.push(LayoutFault::Law { body, name: name(), error });
        }
    }

    /// Lengths below this are rounding, m.
    fn hair(&self) -> f64 {
        1e-9 * self.tank.diagonal()
    }

    fn check_place(&self, body: usize, given: &Body, faults: &mut Vec<LayoutFault>) {
        let name = || given.name.clone();
        let screen = matches!(given.role, Role::Screen { .. });
        if self.symmetry == Symmetry::Axial && given.outline.bounds().x1 <= self.hair() {
            faults.push(LayoutFault::BodyBeyondAxis { body, name: name() });
            return;
        }
        match self.tank.overlap(&given.outline) {
            // metal that lines the wall from outside is an electrode in the wall
            None if given.role.is_metal() && lines(&given.outline, &self.tank) => {}
            None => faults.push(LayoutFault::BodyOutside { body, name: name() }),
            Some(shared) if !screen && shared.area >= (1.0 - 1e-9) * self.tank.area() => {
                faults.push(LayoutFault::BodyFillsTank { body, name: name() });
            }
            Some(_) => {}
        }
    }

    fn check_pair(&self, bodies: [usize; 2], sound: bool, faults: &mut Vec<LayoutFault>) {
        let [a, b] = bodies.map(|index| &self.bodies[index]);
        if a.name == b.name {
            faults.push(LayoutFault::SameName { bodies, name: a.name.clone() });
        }
        let [first, second] = [a, b].map(|body| matches!(body.role, Role::Screen { .. }));
        if !sound || first != second {
            return;
        }
        if let Some(shared) = a.outline.overlap(&b.outline) {
            faults.push(LayoutFault::Overlap {
                bodies,
                names: [a.name.clone(), b.name.clone()],
                at: shared.at,
                area_m2: shared.area,
            });
        }
    }
}

/// Places along an outline at which it is compared with a wall.
const SAMPLES: usize = 400;

/// True if an outline runs along a wall over some length, not only at a point.
fn lines(outline: &Outline, wall: &Outline) -> bool {
    let near = 1e-9 * wall.diagonal();
    outline.loops().iter().any(|curve| {
        let on = |k: usize| {
            let s = curve.length() * k as f64 / SAMPLES as f64;
            wall.distance(curve.point_at(s)) < near
        };
        (0..SAMPLES).any(|k| on(k) && on(k + 1))
    })
}

/// True where the body's outline can be compared with others.
fn check_outline(body: usize, given: &Body, faults: &mut Vec<LayoutFault>) -> bool {
    let name = || given.name.clone();
    let fault = match flaw(&given.outline) {
        None => return true,
        Some(Flaw::NotFinite) => LayoutFault::BodyNotFinite { body, name: name() },
        Some(Flaw::Empty) => LayoutFault::BodyEmpty { body, name: name() },
        Some(Flaw::Crosses(at)) => LayoutFault::BodyCrossesItself { body, name: name(), at },
    };
    faults.push(fault);
    false
}

fn check_spans(body: usize, given: &Body, faults: &mut Vec<LayoutFault>) {
    let name = || given.name.clone();
    if !given.has_sound_spans() {
        faults.push(LayoutFault::Span { body, name: name() });
    } else if given.role.is_metal() && given.is_masked_all_over() {
        faults.push(LayoutFault::AllMasked { body, name: name() });
    }
}

enum Flaw {
    NotFinite,
    Empty,
    Crosses(Point),
}

fn flaw(outline: &Outline) -> Option<Flaw> {
    if !outline.is_finite() {
        return Some(Flaw::NotFinite);
    }
    if let Some(at) = outline.self_crossing() {
        return Some(Flaw::Crosses(at));
    }
    (!positive(outline.area())).then_some(Flaw::Empty)
}

fn positive(value: f64) -> bool {
    value > 0.0 && value.is_finite()
}

/// A place in millimetres, as a drawing has it.
struct Mm(Point);

impl fmt::Display for Mm {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "({} mm, {} mm)", short(self.0.x * 1e3), short(self.0.y * 1e3))
    }
}

struct Quoted<'a>(&'a str);

impl fmt::Display for Quoted<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?}", self.0)
    }
}

/// At most six significant digits: enough to find the place, short enough to read.
fn short(value: f64) -> String {
    let magnitude = libm::log10(value.abs());
    if value == 0.0 || !(-4.0..6.0).contains(&magnitude) {
        return match value {
            0.0 => "0".to_owned(),
            _ if value.is_finite() => format!("{value:.3e}"),
            _ => value.to_string(),
        };
    }
    let decimals = (5.0 - magnitude.floor()).max(0.0) as usize;
    let text = format!("{value:.decimals$}");
    match text.contains('.') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }
}

#[cfg(test)]
mod tests;
