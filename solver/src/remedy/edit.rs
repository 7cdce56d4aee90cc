//! What is done to a tank to help the thin places: a body added, moved, turned or made anew, a
//! rectifier added, less current, another length of run.
//!
//! An [`Edit`] is abstract: [`apply`] makes a new [`Layout`] of it, and a caller that keeps job
//! files can write the same change into one.
use shapes::{Outline, Point, StripEnds, Vec2};

use crate::layout::{Body, Drive, Layout, Rating, Role, Supply};
use crate::quantity::{Current, CurrentDensity, Potential, Resistance};

/// A simple shape of a body that is made for the purpose. Metres.
#[derive(Debug, Clone, PartialEq)]
pub enum Form {
    /// A bar or plate.
    Rect {
        /// Its centre.
        at: Point,
        /// Width and height before the turn.
        size: (f64, f64),
        /// Turn about its centre, degrees anticlockwise.
        turn_deg: f64,
    },
    /// A rod.
    Disc {
        /// Its centre.
        at: Point,
        /// Its radius.
        radius: f64,
    },
    /// A bent sheet along a line.
    Strip {
        /// The middle of the sheet.
        points: Vec<Point>,
        /// Its thickness.
        thickness: f64,
    },
}

impl Form {
    /// The outline; `None` where it makes no sense.
    pub fn outline(&self) -> Option<Outline> {
        match self {
            Self::Rect { at, size, turn_deg } => {
                let plain = Outline::rect(*at, *size, 0.0).ok()?;
                Some(if *turn_deg == 0.0 { plain } else { plain.turned(*turn_deg) })
            }
            Self::Disc { at, radius } => Outline::disc(*at, *radius).ok(),
            Self::Strip { points, thickness } => {
                Outline::strip(points, *thickness, StripEnds::Flat).ok()
            }
        }
    }
}

/// One change. Bodies and supplies are indices into the layout that is changed.
#[derive(Debug, Clone, PartialEq)]
pub enum Edit {
    /// A new body behind all others.
    Add {
        /// What it does.
        role: Role,
        /// Its name.
        name: String,
        /// Its shape.
        form: Form,
        /// The body whose polarization law it shares.
        like: usize,
    },
    /// Bodies drawn together are shifted.
    Move {
        /// Which.
        bodies: Vec<usize>,
        /// How far, m.
        by: Vec2,
    },
    /// A body is turned.
    Turn {
        /// Which.
        body: usize,
        /// Degrees anticlockwise.
        degrees: f64,
        /// About this point, m.
        about: Point,
    },
    /// A body gets another shape.
    Reshape {
        /// Which.
        body: usize,
        /// The new shape.
        form: Form,
    },
    /// The last body, an anode, is taken to a rectifier of its own; what that gives is taken off
    /// the first rectifier if that holds a current.
    OwnSupply {
        /// Name of the new rectifier.
        name: String,
        /// Name of the first one from now on, if it has none of its own.
        main: String,
        /// What the new rectifier gives.
        current: Current,
    },
    /// Every rectifier is set to this share of what it gives.
    Drive {
        /// The share.
        factor: f64,
    },
    /// The run lasts as long as this, s. Says nothing about the layout.
    Run {
        /// The time.
        seconds: f64,
    },
}

/// `layout` with all `edits` made, in order; `None` where a shape makes no sense, a body is not
/// there, or a current would turn round.
pub fn apply(layout: &Layout, edits: &[Edit]) -> Option<Layout> {
    let mut out = layout.clone();
    for edit in edits {
        one(&mut out, edit)?;
    }
    Some(out)
}

fn one(out: &mut Layout, edit: &Edit) -> Option<()> {
    match edit {
        Edit::Add { role, name, form, like } => {
            let law = out.bodies.get(*like)?.law.clone();
            let index = out.bodies.len();
            out.bodies.push(Body::new(name.clone(), *role, form.outline()?, law));
            let first = out.supplies.first_mut()?;
            // an empty list stands for all bodies of that pole
            let list = match role {
                Role::Anode => &mut first.anodes,
                Role::Thief { .. } => &mut first.cathodes,
                _ => return Some(()),
            };
            if !list.is_empty() {
                list.push(index);
            }
        }
        Edit::Move { bodies, by } => {
            for &body in bodies {
                let body = out.bodies.get_mut(body)?;
                body.outline = body.outline.moved(*by);
            }
        }
        Edit::Turn { body, degrees, about } => {
            let body = out.bodies.get_mut(*body)?;
            body.outline = body.outline.turned_about(*degrees, *about);
        }
        Edit::Reshape { body, form } => out.bodies.get_mut(*body)?.outline = form.outline()?,
        Edit::OwnSupply { name, main, current } => own_supply(out, name, main, *current)?,
        Edit::Drive { factor } => {
            let sound = *factor > 0.0 && factor.is_finite();
            for supply in out.supplies.iter_mut().filter(|_| sound) {
                supply.drive = scaled(supply.drive, *factor);
            }
            sound.then_some(())?;
        }
        Edit::Run { .. } => {}
    }
    Some(())
}

fn own_supply(out: &mut Layout, name: &str, main: &str, current: Current) -> Option<()> {
    let [first] = out.supplies.as_slice() else { return None };
    let anode = out.bodies.len().checked_sub(1).filter(|&b| out.bodies[b].role == Role::Anode)?;
    let mut first = first.clone();
    first.anodes = out.anodes_of(&first);
    first.anodes.retain(|&b| b != anode);
    first.cathodes = out.cathodes_of(&first);
    first.name = main.to_owned();
    first.drive = match first.drive {
        Drive::Current(all) => {
            let left = all.si() - current.si();
            Drive::Current((left > 0.0).then(|| Current::new(left))?)
        }
        Drive::MeanDensity(mean) => Drive::MeanDensity(mean),
        Drive::Voltage(_) => return None,
    };
    let second = Supply {
        name: name.to_owned(),
        drive: Drive::Current(current),
        anodes: vec![anode],
        cathodes: first.cathodes.clone(),
        lead: Resistance::new(0.0),
        rating: Rating::default(),
    };
    out.supplies = vec![first, second];
    Some(())
}

fn scaled(drive: Drive, factor: f64) -> Drive {
    match drive {
        Drive::Current(a) => Drive::Current(Current::new(factor * a.si())),
        Drive::MeanDensity(i) => Drive::MeanDensity(CurrentDensity::new(factor * i.si())),
        Drive::Voltage(v) => Drive::Voltage(Potential::new(factor * v.si())),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sample::{body, layout, linear, rect};

    fn tank() -> Layout {
        let mut out = layout(vec![
            body("part", Role::Part, rect(0.08, 0.03, 0.12, 0.07), linear(1e-3)),
            body("anode", Role::Anode, rect(0.01, 0.02, 0.02, 0.08), linear(2e-3)),
        ]);
        out.supplies = vec![Supply::all(Drive::Current(Current::new(10.0)))];
        out
    }

    fn rod() -> Edit {
        let form = Form::Disc { at: Point::new(0.16, 0.05), radius: 0.005 };
        Edit::Add { role: Role::Anode, name: "rod".into(), form, like: 1 }
    }

    #[test]
    fn a_rod_on_its_own_rectifier_takes_its_current_off_the_first() {
        let own = Edit::OwnSupply {
            name: "inside".into(),
            main: "main".into(),
            current: Current::new(3.0),
        };
        let out = apply(&tank(), &[rod(), own]).expect("makes sense");
        assert!(out.check().is_ok());
        assert_eq!(out.bodies[2].law, out.bodies[1].law);
        let drives: Vec<Drive> = out.supplies.iter().map(|s| s.drive).collect();
        let amps = |a: f64| Drive::Current(Current::new(a));
        assert_eq!(drives, [amps(7.0), amps(3.0)]);
        assert_eq!(
            (&out.supplies[0].anodes[..], &out.supplies[1].anodes[..]),
            (&[1][..], &[2][..])
        );
        let greedy = Edit::OwnSupply {
            name: "inside".into(),
            main: "main".into(),
            current: Current::new(10.0),
        };
        assert_eq!(apply(&tank(), &[rod(), greedy]).map(|l| l.bodies.len()), None);
    }

    #[test]
    fn a_named_list_of_anodes_takes_the_new_one_in() {
        let mut layout = tank();
        layout.supplies[0].anodes = vec![1];
        let out = apply(&layout, &[rod(), Edit::Drive { factor: 0.5 }]).expect("makes sense");
        assert_eq!(out.supplies[0].anodes, [1, 2]);
        assert_eq!(out.supplies[0].drive, Drive::Current(Current::new(5.0)));
        assert!(apply(&layout, &[Edit::Drive { factor: 0.0 }]).is_none());
        let nobody = Edit::Move { bodies: vec![9], by: Vec2::ZERO };
        assert!(apply(&layout, &[nobody]).is_none());
    }
}
