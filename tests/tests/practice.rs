//! What every plater knows, as tests on small layouts. Common practice, no source: each test states
//! a fact of the trade that the answers must show.
use checks::Pose;
use checks::cases::build::{body, layout, linear, none, rect, tafel};
use checks::proof::answer_at;
use checks::proof::cell::{relative, strip, strip_profile};
use shapes::{Outline, Point, Vec2};
use solver::quantity::*;
use solver::{
    Body, BodyResult, Drive, Efficiency, Evenness, Law, Layout, Metal, Role, Solution, deposit,
};

const KAPPA: f64 = 9.0;
const MEAN: Drive = Drive::MeanDensity(CurrentDensity::new(300.0));
const THIEF: Role = Role::Thief { offset: Potential::new(0.0) };

fn mm(x: f64, y: f64) -> Point {
    Point::new(1e-3 * x, 1e-3 * y)
}

/// Upright rectangle, mm.
fn block(x0: f64, y0: f64, x1: f64, y1: f64) -> Outline {
    rect(1e-3 * x0, 1e-3 * y0, 1e-3 * x1, 1e-3 * y1)
}

fn polygon(points: &[(f64, f64)]) -> Outline {
    let points: Vec<Point> = points.iter().map(|&(x, y)| mm(x, y)).collect();
    Outline::polygon(&points, 0.0).expect("a polygon")
}

fn nickel() -> Law {
    tafel(0.01, 0.12)
}

fn part(outline: Outline) -> Body {
    body("part", Role::Part, outline, nickel())
}

/// Plate on the right of the usual tank.
fn anode() -> Body {
    body("anode", Role::Anode, block(270.0, 40.0, 280.0, 160.0), linear(2e-5))
}

/// Tank of 300 × 200 mm.
fn tank(bodies: Vec<Body>, drive: Drive) -> Layout {
    layout(block(0.0, 0.0, 300.0, 200.0), KAPPA, bodies, drive)
}

fn solved(layout: &Layout) -> Solution {
    answer_at(layout, 0.02)
}

fn usual(bodies: Vec<Body>) -> Solution {
    solved(&tank(bodies, MEAN))
}

/// Density of the stretch nearest to a place, A/m².
fn at(body: &BodyResult, x: f64, y: f64) -> f64 {
    let place = mm(x, y);
    let distance = |s: &&solver::Stretch| s.at.distance(place);
    let nearest = body.stretches.iter().min_by(|a, b| distance(a).total_cmp(&distance(b)));
    nearest.expect("a stretch").current_density_a_m2
}

/// Mean density over the stretches that a rule picks, A/m².
fn mean(body: &BodyResult, on: impl Fn(&solver::Stretch) -> bool) -> f64 {
    let rows = || body.stretches.iter().filter(|s| on(s));
    let length: f64 = rows().map(|s| s.length_m).sum();
    assert!(length > 0.0, "no stretch picked");
    rows().map(|s| s.current_density_a_m2 * s.length_m).sum::<f64>() / length
}

/// Standard deviation over mean of the density on a body.
fn unevenness(body: &BodyResult) -> f64 {
    let (values, lengths): (Vec<f64>, Vec<f64>) =
        body.stretches.iter().map(|s| (s.current_density_a_m2, s.length_m)).unzip();
    Evenness::of(&values, &lengths).expect("a density").coefficient_of_variation
}

fn angle() -> Outline {
    polygon(&[
        (80.0, 60.0),
        (150.0, 60.0),
        (150.0, 72.0),
        (92.0, 72.0),
        (92.0, 140.0),
        (80.0, 140.0),
    ])
}

/// Recess of 40 by 25 mm, its mouth to the right.
fn cup() -> Outline {
    polygon(&[
        (80.0, 75.0),
        (130.0, 75.0),
        (130.0, 85.0),
        (90.0, 85.0),
        (90.0, 110.0),
        (130.0, 110.0),
        (130.0, 120.0),
        (80.0, 120.0),
    ])
}

/// 1. Corners, edges, points and rims get more; inside corners and hollows less.
#[test]
fn outside_corners_get_more_and_inside_corners_less() {
    let s = usual(vec![part(angle()), anode()]);
    let b = &s.bodies[0];
    let face = at(b, 92.0, 106.0);
    assert!(at(b, 150.0, 72.0) > 2.0 * face, "the tip that points at the anode");
    assert!(at(b, 92.0, 140.0) > 1.5 * face, "an edge");
    assert!(at(b, 92.0, 72.0) < 0.3 * face, "the inside corner");
    assert!(at(b, 92.0, 72.0) < 0.5 * at(b, 92.0, 82.0));
}

/// 2. In a cup the rim is thickest, the wall falls off, the bottom gets little; a cup with its mouth
///    away from the anode gets less still.
#[test]
fn a_cup_falls_off_from_rim_to_bottom() {
    let facing = usual(vec![part(cup()), anode()]);
    let b = &facing.bodies[0];
    let wall = [125.0, 117.0, 109.0, 101.0].map(|x| at(b, x, 85.0));
    assert!(at(b, 130.0, 85.0) > wall[0], "the rim");
    let falls: Vec<f64> = wall.windows(2).map(|w| w[1] / w[0]).collect();
    assert!(falls.iter().all(|f| (0.3..0.95).contains(f)), "roughly exponential: {falls:?}");
    let bottom = at(b, 90.0, 97.5);
    assert!(bottom < wall[3] && bottom < 0.3 * b.density.mean, "{bottom}");
    let mut turned = part(cup());
    turned.outline = turned.outline.turned_about(180.0, mm(105.0, 97.5));
    let away = usual(vec![turned, anode()]);
    let hidden = at(&away.bodies[0], 120.0, 97.5);
    assert!(hidden < 0.8 * bottom, "{hidden} {bottom}");
}

/// 3. Anodes on one side leave the far side thin; extra anodes beside the work raise its sides.
#[test]
fn anodes_on_the_other_side_fill_the_far_side() {
    let plate = || part(block(140.0, 60.0, 150.0, 140.0));
    let one = usual(vec![plate(), anode()]);
    let behind = body("behind", Role::Anode, block(20.0, 40.0, 30.0, 160.0), linear(2e-5));
    let two = usual(vec![plate(), anode(), behind]);
    let back = |s: &Solution| at(&s.bodies[0], 140.0, 100.0) / s.bodies[0].density.mean;
    assert!(at(&one.bodies[0], 140.0, 100.0) < 0.7 * at(&one.bodies[0], 150.0, 100.0));
    assert!(back(&two) > 1.3 * back(&one), "{} {}", back(&two), back(&one));
    let beside = |x: f64| block(x, 20.0, x + 10.0, 30.0);
    let side = body("beside", Role::Anode, beside(140.0), linear(2e-5));
    let third = usual(vec![plate(), anode(), side]);
    let end = |s: &Solution| at(&s.bodies[0], 145.0, 60.0) / s.bodies[0].density.mean;
    assert!(end(&third) > 1.1 * end(&one));
}

/// 4. An anode on the axis of a tube plates the inside evenly; 10 of 50 mm off it is 2.3 : 1.
#[test]
fn an_anode_off_the_axis_plates_a_tube_unevenly() {
    let ratio = |off: f64| {
        let tube = Outline::ring(mm(100.0, 100.0), 0.06, 0.05).expect("a tube");
        let rod = Outline::disc(mm(100.0 + off, 100.0), 0.01).expect("a rod");
        let bodies =
            vec![body("tube", Role::Part, tube, none()), body("rod", Role::Anode, rod, none())];
        let cell = Outline::disc(mm(100.0, 100.0), 0.055).expect("a tank");
        let s = solved(&layout(cell, KAPPA, bodies, Drive::Voltage(Potential::new(1.0))));
        s.bodies[0].density.max / s.bodies[0].density.min
    };
    assert!((ratio(0.0) - 1.0).abs() < 0.02);
    assert!((ratio(10.0) / (7.0f64 / 3.0) - 1.0).abs() < 0.02, "{}", ratio(10.0));
}

/// 5. An anode shaped to the part's profile evens the distribution.
#[test]
fn a_conforming_anode_evens_the_distribution() {
    let bar = || part(Outline::disc(mm(150.0, 100.0), 0.03).expect("a bar"));
    let around = Outline::ring(mm(150.0, 100.0), 0.09, 0.08).expect("a ring");
    let follows = usual(vec![bar(), body("anode", Role::Anode, around, linear(2e-5))]);
    let flat = usual(vec![bar(), anode()]);
    let (follows, flat) = (unevenness(&follows.bodies[0]), unevenness(&flat.bodies[0]));
    assert!(follows < 0.1 * flat, "{follows} {flat}");
}

/// 6. A screen before a high spot diverts current; it rises at the screen's own edge.
#[test]
fn a_screen_moves_the_peak_inwards() {
    let plate = || part(block(60.0, 40.0, 70.0, 160.0));
    let shield = body("screen", Role::Shield, block(85.0, 135.0, 89.0, 175.0), none());
    let bare = usual(vec![plate(), anode()]);
    let screened = usual(vec![plate(), shield, anode()]);
    let change = |y: f64| at(&screened.bodies[0], 70.0, y) / at(&bare.bodies[0], 70.0, y);
    assert!(change(160.0) < 0.9, "the guarded end: {}", change(160.0));
    assert!(change(120.0) > 1.02, "inside of the screen's edge: {}", change(120.0));
    // what is taken off here goes elsewhere
    let sum = |s: &Solution| s.bodies[0].current_a;
    assert!((sum(&screened) / sum(&bare) - 1.0).abs() < 1e-9);
}

/// 7. A thief near an edge takes current from that edge, and the same amperes plate more slowly.
#[test]
fn a_thief_takes_from_the_edge_and_from_the_work() {
    let amperes = Drive::Current(Current::new(60.0));
    let plate = || part(block(60.0, 40.0, 70.0, 160.0));
    let thief = body("thief", THIEF, block(62.0, 165.0, 68.0, 171.0), nickel());
    let bare = solved(&tank(vec![plate(), anode()], amperes));
    let guarded = solved(&tank(vec![plate(), thief, anode()], amperes));
    let b = |s: &Solution, y: f64| at(&s.bodies[0], 70.0, y);
    let (edge, middle) =
        (b(&guarded, 160.0) / b(&bare, 160.0), b(&guarded, 100.0) / b(&bare, 100.0));
    assert!(edge < 0.8 * middle, "{edge} {middle}");
    let got = guarded.bodies[0].current_a + guarded.bodies[1].current_a;
    assert!((got / 60.0 - 1.0).abs() < 1e-8 && guarded.bodies[1].current_a > 2.0);
    assert!(guarded.bodies[0].density.mean < bare.bodies[0].density.mean);
}

/// 8. The nearer part gets more, the outer parts of a rack more than the inner ones, and parts that
///    face each other shade one another.
#[test]
fn near_and_outer_parts_get_more_and_parts_shade_each_other() {
    let bar = |name: &str, x: f64, y: f64| {
        body(name, Role::Part, Outline::disc(mm(x, y), 0.01).expect("a bar"), nickel())
    };
    let s = usual(vec![bar("far", 60.0, 100.0), bar("near", 220.0, 100.0), anode()]);
    assert!(s.bodies[1].density.mean > 1.1 * s.bodies[0].density.mean);
    let mut rack: Vec<Body> =
        (0..5).map(|k| bar(&format!("bar {k}"), 120.0, 40.0 + 30.0 * f64::from(k))).collect();
    rack.push(body("anode", Role::Anode, block(270.0, 0.5, 280.0, 199.5), linear(2e-5)));
    let s = usual(rack);
    let [outer, inner] = [0, 2].map(|k: usize| s.bodies[k].density.mean);
    assert!(outer > 1.02 * inner, "{outer} {inner}");
    let plate =
        |name: &str, x: f64| body(name, Role::Part, block(x, 60.0, x + 6.0, 140.0), nickel());
    let alone = usual(vec![plate("a", 120.0), anode()]);
    let pair = usual(vec![plate("a", 120.0), plate("b", 150.0), anode()]);
    let front = |s: &Solution| at(&s.bodies[0], 126.0, 100.0) / s.bodies[0].density.mean;
    assert!(front(&pair) < 0.8 * front(&alone), "{} {}", front(&pair), front(&alone));
}

/// 9. A longer gap evens relief and several parts at the price of voltage; it does not cure the free
///    edge of a flat plate.
#[test]
fn a_longer_gap_evens_relief_but_not_a_free_edge() {
    let stepped = |gap: f64| {
        let step = polygon(&[
            (-10.0, -10.0),
            (20.0, -10.0),
            (20.0, 100.0),
            (40.0, 100.0),
            (40.0, 210.0),
            (-10.0, 210.0),
        ]);
        let x = 40.0 + gap;
        let lid = body("lid", Role::Anode, block(x, -10.0, x + 10.0, 210.0), linear(2e-5));
        let box_ = block(0.0, 0.0, x + 5.0, 200.0);
        let s = solved(&layout(box_, KAPPA, vec![part(step), lid], MEAN));
        let ratio = at(&s.bodies[0], 40.0, 180.0) / at(&s.bodies[0], 20.0, 20.0);
        (ratio, s.supplies[0].voltage_v)
    };
    let (short, long) = (stepped(20.0), stepped(150.0));
    assert!(long.0 < 0.8 * short.0 && long.1 > short.1, "{short:?} {long:?}");
    let edge =
        |gap: f64| relative(&strip_profile(&solved(&strip(2.0, gap, 2.0, none(), vec![]))), 0.95);
    assert!(edge(1.0) > 1.1 * edge(0.25), "{} {}", edge(1.0), edge(0.25));
}

/// 10. More conductive, steeper polarization, lower density, smaller parts: more even. With Tafel's
///     law half the density is worth twice the conductivity.
#[test]
fn conductivity_polarization_density_and_size_rule_evenness() {
    let cell = |kappa: f64, slope: f64, density: f64, size: f64| {
        let mut law = part(angle());
        law.law = tafel(0.01, slope);
        let mut l = tank(vec![law, anode()], Drive::MeanDensity(CurrentDensity::new(density)));
        l.conductivity = Conductivity::new(kappa);
        l.tank = l.tank.scaled(size);
        for b in &mut l.bodies {
            b.outline = b.outline.scaled(size);
        }
        unevenness(&solved(&l).bodies[0])
    };
    let base = cell(9.0, 0.12, 300.0, 1.0);
    let better = [
        cell(18.0, 0.12, 300.0, 1.0),
        cell(9.0, 0.24, 300.0, 1.0),
        cell(9.0, 0.12, 150.0, 1.0),
        cell(9.0, 0.12, 300.0, 0.5),
    ];
    for b in better {
        assert!(b < 0.95 * base, "{better:?} {base}");
        // all four double the Wagner number (the anode's own polarization is next to nothing)
        assert!((b / better[0] - 1.0).abs() < 0.02, "{better:?}");
    }
}

fn metal() -> &'static Metal {
    Metal::named("Ni").expect("nickel")
}

/// 11. Metal is fixed by ampere-hours and efficiency: what evens thickness only moves it.
#[test]
fn evening_moves_metal_and_makes_none() {
    let amperes = Drive::Current(Current::new(60.0));
    let plate = || part(block(60.0, 40.0, 70.0, 160.0));
    let shield = body("screen", Role::Shield, block(85.0, 135.0, 89.0, 175.0), none());
    let efficiency = Efficiency::constant(0.95).expect("a share");
    let time = Time::minutes(20.0);
    let plain = solved(&tank(vec![plate(), anode()], amperes));
    let even = solved(&tank(vec![plate(), shield, anode()], amperes));
    let mass = |s: &Solution| deposit(s, metal(), &efficiency, time).bodies[0].mass_kg;
    assert!((mass(&plain) / mass(&even) - 1.0).abs() < 1e-9);
    let faraday = 60.0 * 1200.0 * 0.95 * metal().mass_per_charge_kg_c();
    assert!((mass(&plain) / faraday - 1.0).abs() < 1e-9);
}

/// 12. Twice the size at the same density is less even, except where shape alone matters.
#[test]
fn size_matters_unless_there_is_no_polarization() {
    let cell = |law: Law, size: f64| {
        let bar = Outline::disc(mm(100.0, 100.0), 0.03).expect("a bar");
        let mut l = tank(vec![body("bar", Role::Part, bar, law), anode()], MEAN);
        l.bodies[1].law = none();
        l.tank = l.tank.scaled(size);
        for b in &mut l.bodies {
            b.outline = b.outline.scaled(size);
        }
        unevenness(&solved(&l).bodies[0])
    };
    // small enough that polarization counts beside the bath
    let (large, small) = (cell(nickel(), 0.2), cell(nickel(), 0.1));
    assert!(large > 1.05 * small, "{large} {small}");
    assert!((cell(none(), 2.0) / cell(none(), 1.0) - 1.0).abs() < 0.02);
}

/// 13. Efficiency that falls with density flattens thickness, one that rises sharpens it; below its
///     threshold chromium leaves bare places.
#[test]
fn efficiency_flattens_or_sharpens() {
    let s = usual(vec![part(cup()), anode()]);
    let curve = |points: &[(f64, f64)]| {
        let points: Vec<_> =
            points.iter().map(|&(i, share)| (CurrentDensity::new(i), share)).collect();
        Efficiency::curve(&points).expect("a curve")
    };
    let spread = |e: &Efficiency| {
        let d = deposit(&s, metal(), e, Time::minutes(30.0)).bodies.swap_remove(0);
        (d.evenness.expect("some deposit").coefficient_of_variation, d.thickness.min)
    };
    let even = spread(&curve(&[(0.0, 0.9)]));
    let falling = spread(&curve(&[(50.0, 0.92), (200.0, 0.75), (1000.0, 0.4)]));
    let rising = spread(&curve(&[(100.0, 0.0), (500.0, 0.1), (2000.0, 0.14)]));
    assert!(falling.0 < 0.9 * even.0 && rising.0 > 1.1 * even.0, "{falling:?} {rising:?}");
    assert!(even.1 > 0.0 && rising.1 == 0.0, "bare places");
}

/// 14. Agitation raises the limiting density; it does not change the distribution of shape alone.
#[test]
fn agitation_does_not_change_the_primary_distribution() {
    let cell = |limit: Option<f64>| {
        let mut p = part(angle());
        p.law.limiting = limit.map(CurrentDensity::new);
        unevenness(&usual(vec![p, anode()]).bodies[0])
    };
    let [still, moved, free] = [cell(Some(900.0)), cell(Some(9000.0)), cell(None)];
    assert!(still < 0.9 * moved && moved < free, "{still} {moved} {free}");
    assert!((moved / free - 1.0).abs() < 0.1, "far from the limit it does not matter");
    // without polarization the shares of the current do not depend on its size either
    let primary = |density: f64| {
        let p = body("part", Role::Part, angle(), none());
        let drive = Drive::MeanDensity(CurrentDensity::new(density));
        let mut l = tank(vec![p, anode()], drive);
        l.bodies[1].law = none();
        unevenness(&solved(&l).bodies[0])
    };
    assert!((primary(100.0) / primary(700.0) - 1.0).abs() < 1e-6);
}

/// 15. Symmetric geometry gives symmetric thickness; neither the order of points nor a turn of the
///     tank changes it; what leaves the anodes arrives at the cathodes.
#[test]
fn symmetry_order_and_turning_change_nothing() {
    let plate = block(60.0, 40.0, 70.0, 160.0);
    let s = usual(vec![part(plate), anode()]);
    let b = &s.bodies[0];
    for y in [41.0, 60.0, 90.0] {
        let (low, high) = (at(b, 70.0, y), at(b, 70.0, 200.0 - y));
        assert!((low / high - 1.0).abs() < 0.04, "{y}: {low} {high}");
    }
    assert!(s.current_balance.abs() < 1e-10);
    let forwards =
        [(80.0, 60.0), (150.0, 60.0), (150.0, 72.0), (92.0, 72.0), (92.0, 140.0), (80.0, 140.0)];
    let mut backwards = forwards;
    backwards.reverse();
    let [p, q] = [&forwards, &backwards].map(|f| usual(vec![part(polygon(f)), anode()]));
    let peak = |s: &Solution| (s.bodies[0].density.max, s.bodies[0].density.max_uncertainty);
    assert!((peak(&p).0 - peak(&q).0).abs() <= peak(&p).1 + peak(&q).1);
    let pose = Pose { angle: 0.7, shift: Vec2::new(0.05, 0.11) };
    let straight = tank(vec![part(angle()), anode()], MEAN);
    let mut turned = straight.clone();
    turned.tank = pose.outline(&turned.tank);
    for b in &mut turned.bodies {
        b.outline = pose.outline(&b.outline);
    }
    let t = solved(&turned);
    let (v, w) = (&p.supplies[0], &t.supplies[0]);
    let slack = v.voltage_uncertainty_v + w.voltage_uncertainty_v;
    assert!((v.voltage_v - w.voltage_v).abs() <= slack, "{} {}", v.voltage_v, w.voltage_v);
    assert!((unevenness(&p.bodies[0]) / unevenness(&t.bodies[0]) - 1.0).abs() < 0.02);
}

/// 16. Unwired metal between anode and work is plated where it faces the anode and dissolves on the
///     other side.
#[test]
fn unwired_metal_is_bipolar() {
    let bar = body("bar", Role::Floating, block(150.0, 70.0, 180.0, 130.0), linear(1e-4));
    let s = usual(vec![part(block(40.0, 40.0, 50.0, 160.0)), bar, anode()]);
    let b = &s.bodies[1];
    assert!(at(b, 180.0, 100.0) > 0.0, "the anode's side takes current");
    assert!(at(b, 150.0, 100.0) < 0.0, "the work's side gives it");
    assert!(b.current_a.abs() < 1e-9 * s.bodies[0].current_a);
    let facing = mean(b, |r| r.normal[0] > 0.9);
    assert!(facing > 0.3 * s.bodies[0].density.mean);
}

/// 17. Anodes that reach past the work burn its edge; shorter ones help only at small gaps.
#[test]
fn short_anodes_help_only_at_small_gaps() {
    let edge = |gap: f64, reach: f64| {
        relative(&strip_profile(&solved(&strip(1.5, gap, reach, none(), vec![]))), 0.9)
    };
    assert!(edge(0.25, 1.5) > 1.05 * edge(0.25, 1.0));
    assert!(edge(0.25, 0.6) < 0.7 * edge(0.25, 1.0), "a small gap");
    assert!(edge(1.0, 0.6) > 0.95 * edge(1.0, 1.0), "a large gap");
}

/// 18. Edges thicken with time: the peak-to-mean ratio drifts as the outline grows, and more so the
///     more metal goes on.
#[test]
fn the_peak_drifts_as_the_outline_grows() {
    let bar = Outline::rect(mm(100.0, 100.0), (0.03, 0.03), 0.003).expect("a bar");
    let solve_bar = |outline: Outline| usual(vec![part(outline), anode()]);
    let first = solve_bar(bar);
    let ratio = |s: &Solution| s.bodies[0].density.max / s.bodies[0].density.mean;
    // every stretch moves out by its own thickness; `most` is that at the peak
    let grown = |most: f64| {
        let b = &first.bodies[0];
        let points: Vec<Point> = b
            .stretches
            .iter()
            .map(|s| {
                let out = Vec2::new(s.normal[0], s.normal[1]);
                s.at + out * (most * s.current_density_a_m2 / b.density.max)
            })
            .collect();
        solve_bar(Outline::polygon(&points, 0.0).expect("a grown bar"))
    };
    let drift = |most: f64| (ratio(&grown(most)) - ratio(&first)).abs();
    let (little, much) = (drift(0.3e-3), drift(1.5e-3));
    assert!(much > 0.01 * ratio(&first) && much > 1.5 * little, "{little} {much}");
}
