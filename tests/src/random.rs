//! Random layouts: every role, law, shape and supply, over three decades of size, with bodies that
//! touch each other, stick through walls, and sit inside rings and screens.
use shapes::{Outline, Point, StripEnds, Vec2};
use solver::quantity::*;
use solver::{Body, Drive, Kinetics, Law, Layout, Role, Span, Supply, Symmetry};

use crate::dice::Dice;

/// The layout of a seed; it passes [`Layout::check`] nearly always.
pub fn layout(seed: u64) -> Layout {
    let mut dice = Dice::new(seed);
    let extent = dice.decades(0.01, 5.0);
    let size = if dice.chance(0.5) {
        (extent, extent * dice.within(0.2, 1.0))
    } else {
        (extent * dice.within(0.2, 1.0), extent)
    };
    let tank = tank(&mut dice, size);
    let kappa = dice.decades(0.5, 80.0);
    let mut bodies: Vec<Body> = Vec::new();
    let wanted = 2 + dice.pick(5);
    for k in 0..wanted {
        let role = match k {
            0 => Role::Part,
            1 => Role::Anode,
            _ => role(&mut dice, kappa),
        };
        for _ in 0..30 {
            let outline = outline(&mut dice, size, &tank, &bodies, role);
            if fits(&tank, &bodies, role, &outline) {
                let name = format!("{} {k}", role.word());
                bodies.push(Body::new(name, role, outline, law(&mut dice)));
                break;
            }
        }
    }
    let depth = dice.decades(0.05, 2.0);
    let density = dice.decades(10.0, 1000.0);
    let perimeter: f64 =
        bodies.iter().filter(|b| b.role == Role::Part).map(|b| b.outline.perimeter()).sum();
    let drive = match dice.pick(3) {
        0 => Drive::Current(Current::new(density * perimeter * depth)),
        1 => Drive::MeanDensity(CurrentDensity::new(density)),
        _ => Drive::Voltage(Potential::new(dice.within(0.2, 12.0))),
    };
    for b in &mut bodies {
        if dice.chance(0.25) {
            b.law.limiting = Some(CurrentDensity::new(density * dice.decades(1.05, 30.0)));
        }
    }
    Layout {
        tank,
        symmetry: Symmetry::Planar,
        depth: Length::new(depth),
        conductivity: Conductivity::new(kappa),
        temperature: Temperature::celsius(dice.within(15.0, 70.0)),
        bodies,
        supplies: vec![Supply::all(drive)],
    }
}

/// The layout of a seed with what [`layout`] leaves out: sections around an axis, masks, resistance of
/// contacts and leads, several supplies. It passes [`Layout::check`] nearly always.
pub fn varied(seed: u64) -> Layout {
    let mut layout = layout(seed);
    let mut dice = Dice::new(seed.rotate_left(32) ^ 0x5bd1);
    if dice.chance(0.4) {
        around_axis(&mut layout);
    }
    for body in layout.bodies.iter_mut().filter(|b| b.role.is_metal()) {
        if dice.chance(0.3) {
            body.masked.push(span(&mut dice, &body.outline));
        }
    }
    // resistances that take some millivolts to a volt at the current to expect
    let current = expected(&layout, dice.decades(10.0, 1000.0));
    let resistance = |dice: &mut Dice| Resistance::new(dice.decades(1e-3, 1.0) / current);
    for body in &mut layout.bodies {
        if dice.chance(0.3) {
            body.contact = resistance(&mut dice);
        }
    }
    for _ in 0..10 {
        let one = layout.supplies.clone();
        if dice.chance(0.5) {
            layout.supplies = supplies(&mut dice, &layout);
        }
        for supply in &mut layout.supplies {
            if dice.chance(0.4) {
                supply.lead = resistance(&mut dice);
            }
        }
        if layout.check().is_ok() {
            break;
        }
        layout.supplies = one;
    }
    layout
}

/// Moves a layout to the axis of an axial section; its supply follows the surface.
fn around_axis(layout: &mut Layout) {
    let to_axis = Vec2::new(-layout.tank.bounds().x0, 0.0);
    layout.tank = layout.tank.moved(to_axis);
    for b in &mut layout.bodies {
        b.outline = b.outline.moved(to_axis);
    }
    for supply in &mut layout.supplies {
        if let Drive::Current(current) = &mut supply.drive {
            let per_metre = current.si() / layout.depth.si();
            let around = std::f64::consts::TAU * layout.tank.bounds().center().x;
            *current = Current::new(per_metre * around);
        }
    }
    layout.symmetry = Symmetry::Axial;
}

/// Up to three quarters of one loop.
fn span(dice: &mut Dice, outline: &Outline) -> Span {
    let loop_index = dice.pick(outline.loops().len());
    let total = outline.loops()[loop_index].length();
    let from_m = dice.within(0.0, total);
    Span { loop_index, from_m, to_m: from_m + dice.within(0.02, 0.75) * total }
}

/// The current of the parts at some mean density, A.
fn expected(layout: &Layout, density: f64) -> f64 {
    let around = match layout.symmetry {
        Symmetry::Planar => layout.depth.si(),
        Symmetry::Axial => std::f64::consts::TAU * layout.tank.bounds().center().x,
    };
    let parts = layout.bodies.iter().filter(|b| b.role == Role::Part);
    density * around * parts.map(|b| b.outline.perimeter()).sum::<f64>()
}

/// Two or three supplies, each with some of the anodes, parts and thieves; some metal is on several.
fn supplies(dice: &mut Dice, layout: &Layout) -> Vec<Supply> {
    let density = dice.decades(10.0, 1000.0);
    let current = expected(layout, density);
    let count = 2 + dice.pick(2);
    let mut all: Vec<Supply> = (0..count)
        .map(|k| {
            let drive = match dice.pick(3) {
                0 => Drive::Current(Current::new(current * dice.within(0.1, 0.6))),
                1 => Drive::MeanDensity(CurrentDensity::new(density)),
                _ => Drive::Voltage(Potential::new(dice.within(0.2, 12.0))),
            };
            Supply { name: format!("supply {k}"), ..Supply::all(drive) }
        })
        .collect();
    for (b, body) in layout.bodies.iter().enumerate() {
        let mut on: Vec<usize> = vec![dice.pick(count)];
        if dice.chance(0.2) {
            on.push(dice.pick(count));
        }
        on.dedup();
        for s in on {
            match body.role {
                Role::Anode => all[s].anodes.push(b),
                Role::Part | Role::Thief { .. } => all[s].cathodes.push(b),
                Role::Shield | Role::Floating | Role::Screen { .. } => {}
            }
        }
    }
    // an empty list means all: what has none of its own shares those of others
    all
}

/// The layout of a seed with linear polarization on all metal and neither rest potentials nor limits:
/// what drives it is its supply alone, and everything is in proportion to that.
pub fn ohmic(seed: u64) -> Layout {
    let mut layout = layout(seed);
    let mut dice = Dice::new(!seed);
    let extent = layout.tank.diagonal();
    for b in &mut layout.bodies {
        // a polarization length between a thousandth of the tank and all of it
        let resistance = extent * dice.decades(1e-3, 1.0) / layout.conductivity.si();
        b.law = Law {
            kinetics: Kinetics::Linear { resistance: AreaResistance::new(resistance) },
            limiting: None,
            rest: Potential::new(0.0),
        };
        if let Role::Thief { offset } = &mut b.role {
            *offset = Potential::new(0.0);
        }
    }
    layout
}

fn role(dice: &mut Dice, kappa: f64) -> Role {
    match dice.pick(7) {
        0 => Role::Part,
        1 => Role::Anode,
        2 | 3 => Role::Shield,
        4 => {
            let offset = if dice.chance(0.5) { 0.0 } else { dice.within(-0.3, 0.3) };
            Role::Thief { offset: Potential::new(offset) }
        }
        5 => Role::Floating,
        _ => Role::Screen { conductivity: Conductivity::new(kappa * dice.decades(1e-3, 0.9)) },
    }
}

fn tank(dice: &mut Dice, (w, h): (f64, f64)) -> Outline {
    let at = match dice.pick(3) {
        0 => Point::new(0.5 * w, 0.5 * h),
        1 => Point::ZERO,
        _ => Point::new(dice.within(-10.0, 10.0), dice.within(-10.0, 10.0)),
    };
    let corner = |x: f64, y: f64| Point::new(at.x + (x - 0.5) * w, at.y + (y - 0.5) * h);
    let found = match dice.pick(8) {
        0 => Outline::disc(at, 0.5 * w.min(h)),
        1 => Outline::rect(at, (w, h), 0.1 * w.min(h)),
        2 => Outline::polygon(
            &[
                corner(0.0, 0.0),
                corner(1.0, 0.0),
                corner(1.0, 0.4),
                corner(0.5, 0.4),
                corner(0.5, 1.0),
                corner(0.0, 1.0),
            ],
            0.0,
        ),
        3 => Outline::rect(at, (w, h), 0.0).map(|o| o.turned(dice.within(0.0, 90.0))),
        _ => Outline::rect(at, (w, h), 0.0),
    };
    found.expect("a tank")
}

fn law(dice: &mut Dice) -> Law {
    let kinetics = match dice.pick(5) {
        0 => Kinetics::None,
        1 => Kinetics::Linear { resistance: AreaResistance::new(dice.decades(1e-7, 1e-1)) },
        2 => Kinetics::Tafel {
            exchange: CurrentDensity::new(dice.decades(1e-6, 1e2)),
            slope: Potential::new(dice.decades(0.015, 0.3)),
        },
        3 => Kinetics::ButlerVolmer {
            exchange: CurrentDensity::new(dice.decades(1e-4, 1e3)),
            alpha_anodic: dice.within(0.2, 1.8),
            alpha_cathodic: dice.within(0.2, 1.8),
        },
        _ => {
            let (mut eta, mut j) = (0.0, 0.0);
            let points = (0..2 + dice.pick(6))
                .map(|_| {
                    eta += dice.decades(0.01, 0.3);
                    j += dice.decades(1.0, 500.0);
                    (Potential::new(eta), CurrentDensity::new(j))
                })
                .collect();
            Kinetics::Table { points }
        }
    };
    let rest = if dice.chance(0.5) { 0.0 } else { dice.within(-1.0, 1.0) };
    Law { kinetics, limiting: None, rest: Potential::new(rest) }
}

/// A shape around the origin, about `size` across.
fn shape(dice: &mut Dice, size: f64) -> Outline {
    let flat = size * dice.decades(0.02, 1.0);
    let o = Point::ZERO;
    let found = match dice.pick(8) {
        0 => Outline::rect(o, (size, flat), 0.0),
        1 => Outline::rect(o, (size, flat), flat * dice.decades(0.01, 0.499)),
        2 => Outline::disc(o, 0.5 * size),
        3 => Outline::ring(o, 0.5 * size, 0.5 * size * dice.within(0.3, 0.95)),
        4 => {
            let n = 3 + dice.pick(6);
            let points: Vec<Point> = (0..n)
                .map(|k| {
                    let angle =
                        std::f64::consts::TAU * (k as f64 + dice.within(0.0, 0.7)) / n as f64;
                    o + Vec2::from_angle(angle) * (size * dice.within(0.2, 0.5))
                })
                .collect();
            let corner = if dice.chance(0.5) { 0.0 } else { 0.02 * size };
            Outline::polygon(&points, corner).or_else(|_| Outline::polygon(&points, 0.0))
        }
        5 => {
            let bend = dice.within(-0.4, 0.4) * size;
            let points =
                [Point::new(-0.5 * size, 0.0), Point::new(0.0, bend), Point::new(0.5 * size, 0.0)];
            let ends = if dice.chance(0.5) { StripEnds::Flat } else { StripEnds::Round };
            Outline::strip(&points, 0.1 * size, ends)
        }
        6 => {
            let r = 0.5 * size;
            let (a, b) = (r * dice.within(0.3, 1.0), r * dice.within(0.1, 0.5));
            Outline::path(&format!(
                "M {r} 0 C {r} {a} {b} {r} 0 {r} C {} {r} {} {b} {} 0 L 0 {} Z",
                -b, -r, -r, -a
            ))
        }
        _ => Outline::rect(o, (size, size * dice.decades(2e-4, 0.02)), 0.0),
    };
    let found = found.or_else(|_| Outline::disc(o, 0.5 * size)).expect("a shape");
    match dice.pick(3) {
        0 => found,
        1 => found.turned(90.0),
        _ => found.turned(dice.within(0.0, 360.0)),
    }
}

fn outline(
    dice: &mut Dice,
    (w, h): (f64, f64),
    tank: &Outline,
    bodies: &[Body],
    role: Role,
) -> Outline {
    let across = w.min(h) * dice.decades(0.03, 0.7);
    let shape = shape(dice, across);
    let wall = tank.bounds();
    let own = shape.bounds();
    let other = (!bodies.is_empty()).then(|| &bodies[dice.pick(bodies.len())]);
    match (dice.pick(8), other) {
        // through a wall, or flush with it
        (0, _) => shape.moved(on_wall(dice, tank).to_vec2()),
        (1, _) => shape.moved(Vec2::new(wall.x0 - own.x0, dice.within(wall.y0, wall.y1))),
        (2, _) => shape.moved(Vec2::new(dice.within(wall.x0, wall.x1), wall.y1 - own.y1)),
        // side to side with another body
        (3, Some(b)) => {
            let box_ = b.outline.bounds();
            shape.moved(Vec2::new(box_.x1 - own.x0, dice.within(box_.y0, box_.y1)))
        }
        (4, Some(b)) => {
            let box_ = b.outline.bounds();
            shape.moved(Vec2::new(dice.within(box_.x0, box_.x1), box_.y0 - own.y1))
        }
        // around or inside another body
        (5, Some(b)) if matches!(role, Role::Screen { .. }) => {
            let box_ = b.outline.bounds();
            let grow = dice.within(1.0, 1.5);
            Outline::rect(box_.center(), (grow * box_.width(), grow * box_.height()), 0.0)
                .expect("a box")
        }
        (5, Some(b)) => {
            shape.scaled(dice.within(0.05, 0.5)).moved(b.outline.bounds().center().to_vec2())
        }
        _ => {
            let p = Vec2::new(dice.within(wall.x0, wall.x1), dice.within(wall.y0, wall.y1));
            shape.moved(p)
        }
    }
}

fn on_wall(dice: &mut Dice, tank: &Outline) -> Point {
    let curve = &tank.loops()[0];
    curve.point_at(dice.within(0.0, curve.length()))
}

fn fits(tank: &Outline, bodies: &[Body], role: Role, outline: &Outline) -> bool {
    let screen = |r: Role| matches!(r, Role::Screen { .. });
    tank.overlap(outline).is_some()
        && bodies
            .iter()
            .filter(|b| screen(b.role) == screen(role))
            .all(|b| b.outline.overlap(outline).is_none())
}
