use shapes::Point;

use super::*;
use crate::quantity::Conductivity;
use crate::sample::{
    KAPPA, PLATES_APART, body, domain, ideal, layout, linear, plates, rect, two_blocks,
};

/// Shoelace area to the left of the edges of a material, m².
fn area(domain: &Domain, material: u16) -> f64 {
    let tick = domain.lattice.tick_m();
    let twice = |e: &Edge| e.a[0] as f64 * e.b[1] as f64 - e.a[1] as f64 * e.b[0] as f64;
    let own = domain.edges.iter().filter(|e| e.material == material);
    0.5 * own.map(twice).sum::<f64>() * tick * tick
}

fn metal_length(layout: &Layout, domain: &Domain, of: usize) -> f64 {
    let plan = SurfacePlan::new(layout);
    let chords = domain.chord_lengths(plan.stretches.len());
    plan.stretches.iter().zip(chords).filter(|(s, _)| s.body == of).map(|(_, c)| c).sum()
}

fn check_links(domain: &Domain) {
    for (i, e) in domain.edges.iter().enumerate() {
        let next = &domain.edges[e.next as usize];
        assert_eq!(e.b, next.a);
        assert_eq!(next.prev as usize, i);
        assert_eq!(e.material, next.material);
        assert!(e.a != e.b && e.a.iter().chain(&e.b).all(|t| t % 2 == 1));
    }
}

#[test]
fn free_bodies_leave_the_tank_less_their_areas() {
    let layout = two_blocks();
    let d = domain(&layout);
    check_links(&d);
    let solid: f64 = layout.bodies.iter().map(|b| b.outline.area()).sum();
    assert!((area(&d, 0) - (layout.tank.area() - solid)).abs() < 1e-9);
    for (b, body) in layout.bodies.iter().enumerate() {
        assert!((metal_length(&layout, &d, b) - body.outline.perimeter()).abs() < 1e-6);
    }
}

#[test]
fn plates_through_the_wall_are_wetted_inside_the_tank_only() {
    let layout = plates(ideal(), ideal());
    let d = domain(&layout);
    check_links(&d);
    assert!((area(&d, 0) - PLATES_APART * 0.1).abs() < 1e-9);
    for b in 0..2 {
        assert!((metal_length(&layout, &d, b) - 0.1).abs() < 1e-6);
    }
}

#[test]
fn what_touches_a_body_covers_its_surface() {
    let mut layout = two_blocks();
    // against the right side of the part (x = 0.052, 44 mm high), 20 mm of it
    layout.bodies.push(body("stop", Role::Shield, rect(0.052, 0.03, 0.06, 0.05), ideal()));
    let d = domain(&layout);
    check_links(&d);
    let free = layout.bodies[0].outline.perimeter() - 0.02;
    assert!((metal_length(&layout, &d, 0) - free).abs() < 1e-6);
    let solid: f64 = layout.bodies.iter().map(|b| b.outline.area()).sum();
    assert!((area(&d, 0) - (layout.tank.area() - solid)).abs() < 1e-9);
}

#[test]
fn a_screen_is_a_material_of_its_own_with_a_border_on_either_side() {
    let mut layout = two_blocks();
    let screen = rect(0.081, 0.02, 0.113, 0.071);
    let role = Role::Screen { conductivity: Conductivity::new(0.2 * KAPPA) };
    layout.bodies.push(body("basket", role, screen.clone(), ideal()));
    let d = domain(&layout);
    check_links(&d);
    assert_eq!(d.kappa, [KAPPA, 0.2 * KAPPA]);
    assert!((area(&d, 1) - screen.area()).abs() < 1e-9);
    let tick = d.lattice.tick_m();
    let border = |material: u16| -> f64 {
        let own = d.edges.iter().filter(|e| e.material == material && e.tag == Tag::Interface);
        own.map(|e| ((e.b[0] - e.a[0]) as f64).hypot((e.b[1] - e.a[1]) as f64) * tick).sum()
    };
    for material in [0, 1] {
        assert!((border(material) - screen.perimeter()).abs() < 1e-7);
    }
}

#[test]
fn stretches_count_their_arcs_not_their_chords() {
    let rod = Outline::disc(Point::new(0.09, 0.05), 0.02).unwrap();
    let layout = layout(vec![body("rod", Role::Part, rod, ideal())]);
    let plan = SurfacePlan::new(&layout);
    // chords as coarse as the stretches allow
    let d = Domain::new(&layout, &plan, &|_| 1e-4);
    let chords = d.chord_lengths(plan.stretches.len());
    let around: f64 = chords.iter().zip(&d.stretch).map(|(c, r)| c * r).sum();
    let exact = std::f64::consts::TAU * 0.02;
    assert!((around / exact - 1.0).abs() < 1e-9, "{around}");
    assert!((chords.iter().sum::<f64>() / exact - 1.0).abs() > 1e-6, "chords must differ");
}

#[test]
fn every_metal_edge_lies_on_the_stretch_it_names() {
    let layout = plates(linear(1e-3), ideal());
    let (d, plan) = (domain(&layout), SurfacePlan::new(&layout));
    let mut seen = vec![false; plan.stretches.len()];
    for e in &d.edges {
        let Tag::Metal { body, stretch } = e.tag else { continue };
        let s = &plan.stretches[stretch as usize];
        let curve = &layout.bodies[body as usize].outline.loops()[s.loop_index];
        assert_eq!((s.body, e.owner), (body as usize, body));
        let mid = d.lattice.metres(e.a).midpoint(d.lattice.metres(e.b));
        let (at, nearest) = curve.nearest(mid);
        assert!((nearest - mid).hypot() < 1e-8);
        let past = (at - s.from).rem_euclid(curve.length());
        assert!(past < s.to - s.from + 1e-8);
        seen[stretch as usize] = true;
    }
    // and every stretch whose middle is wetted is named
    for (s, seen) in plan.stretches.iter().zip(seen) {
        let curve = &layout.bodies[s.body].outline.loops()[0];
        let middle = curve.point_at((0.5 * (s.from + s.to)).rem_euclid(curve.length()));
        let inside = (0.0..=0.2).contains(&middle.x) && (0.001..0.099).contains(&middle.y);
        assert!(seen || !inside, "{middle:?}");
    }
}

#[test]
fn hairs_are_what_is_narrower_than_stated_on_average() {
    let ring = |width: f64| {
        [[0.0, 0.0], [width, 0.0], [width, 0.1], [0.0, 0.1]].map(|[x, y]| Point::new(x, y))
    };
    assert!(is_hair(&ring(1e-9), 1.1e-9) && !is_hair(&ring(1e-9), 0.9e-9));
    // a slanted one, and one around a corner
    let wedge = [[0.0, 0.0], [0.1, 0.1], [0.1, 0.1 + 1e-9]].map(|[x, y]| Point::new(x, y));
    assert!(is_hair(&wedge, 1e-9));
    // a hole is no piece of anything
    let mut hole = ring(1e-9);
    hole.reverse();
    assert!(!is_hair(&hole, 1e-6));
}
