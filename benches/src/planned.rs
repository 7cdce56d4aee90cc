//! A job as a planner varies it: five bodies, anodes and current changed from layout to layout.

use shapes::{Outline, Point, ShapeError, Vec2};
use solver::quantity::{Conductivity, Current, Length, Potential, Temperature};
use solver::{Body, Drive, Layout, Role, Supply, Symmetry};

use crate::{body, mm, nickel, soluble};

/// Layout `number`: anodes nearer or farther, higher or lower, more or less current.
///
/// Places are spread evenly but irregularly (multiples of irrational numbers); number 0 is the
/// middle of the ranges.
///
/// # Panics
/// Never: the sizes are constant and make shapes.
pub fn planned(number: usize) -> Layout {
    let step = |x: f64| (0.5 + x * number as f64).fract() - 0.5;
    let left = mm(38.0 + 30.0 * step(0.754_877_666), 100.0 + 30.0 * step(0.569_840_291));
    let right = mm(262.0 + 30.0 * step(0.618_033_989), 100.0 + 30.0 * step(0.324_717_957));
    let amps = 6.0 * (1.0 + 0.5 * step(0.430_159_709));
    let bodies = bodies(left, right).expect("constant sizes make shapes");
    Layout {
        tank: Outline::rect(mm(150.0, 100.0), (0.3, 0.2), 0.0).expect("a tank has a size"),
        symmetry: Symmetry::Planar,
        depth: Length::mm(200.0),
        conductivity: Conductivity::new(9.1),
        temperature: Temperature::celsius(55.0),
        bodies,
        supplies: vec![Supply::all(Drive::Current(Current::new(amps)))],
    }
}

/// `layout` with its second body moved by some metres.
pub fn moved(layout: &Layout, by: Vec2) -> Layout {
    let pose = checks::Pose { angle: 0.0, shift: by };
    let mut layout = layout.clone();
    if let Some(body) = layout.bodies.get_mut(1) {
        body.outline = pose.outline(&body.outline);
    }
    layout
}

fn bodies(left: Point, right: Point) -> Result<Vec<Body>, ShapeError> {
    // a channel section open to the left
    let part = [
        (130.0, 65.0),
        (185.0, 65.0),
        (185.0, 135.0),
        (130.0, 135.0),
        (130.0, 125.0),
        (170.0, 125.0),
        (170.0, 75.0),
        (130.0, 75.0),
    ];
    let part = Outline::polygon(&part.map(|(x, y)| mm(x, y)), 0.0)?;
    let anode = |at| Outline::rect(at, (0.012, 0.09), 0.0);
    Ok(vec![
        body("channel", Role::Part, part, nickel()),
        body("left", Role::Anode, anode(left)?, soluble()),
        body("right", Role::Anode, anode(right)?, soluble()),
        body(
            "shield",
            Role::Shield,
            Outline::rect(mm(108.0, 55.0), (0.003, 0.03), 0.0)?,
            soluble(),
        ),
        body(
            "thief",
            Role::Thief { offset: Potential::new(0.0) },
            Outline::disc(mm(122.0, 147.0), 0.003)?,
            nickel(),
        ),
    ])
}
