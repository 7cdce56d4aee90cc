//! Pictures of many kinds of layouts: none may have a cut, lost or covered label.

use shapes::{Outline, Point, Rect, Vec2};
use solver::quantity::{Conductivity, Length, Potential};
use solver::{Role, Span};

use super::drawing::Drawing;
use super::mock::{Mock, body, channel, concentric, plate, rect, solved};
use super::{
    Context, DisplayUnits, Want, deposit_picture, labels, layout_picture, map, profile_picture,
};

fn cup(x: f64, y: f64, size: f64, wall: f64) -> Outline {
    let (l, r, b, t) = (x - size / 2.0, x + size / 2.0, y - size / 2.0, y + size / 2.0);
    let points = [
        (l, b),
        (r, b),
        (r, t),
        (l, t),
        (l, t - wall),
        (r - wall, t - wall),
        (r - wall, b + wall),
        (l, b + wall),
    ];
    Outline::polygon(&points.map(|(x, y)| Point::new(x, y)), 0.0).unwrap()
}

fn cases() -> Vec<(&'static str, Mock)> {
    let cup_job = solved(
        "Deep cup facing one anode",
        rect(0.3, 0.2, 0.6, 0.4),
        vec![
            body("left", Role::Anode, rect(0.015, 0.2, 0.01, 0.3)),
            body("cup", Role::Part, cup(0.3, 0.2, 0.1, 0.01)),
        ],
        400.0,
    );
    let bars = rect(0.2, 0.3, 0.02, 0.02).repeated(30, Vec2::new(0.055, 0.0));
    let mut rack = vec![
        body("front anode", Role::Anode, rect(1.0, 0.02, 1.8, 0.02)),
        body("back anode", Role::Anode, rect(1.0, 0.58, 1.8, 0.02)),
    ];
    rack.extend(
        bars.into_iter().enumerate().map(|(k, b)| body(&format!("bar {}", k + 1), Role::Part, b)),
    );
    let rack =
        solved("Rack of thirty bars between two anodes", rect(1.0, 0.3, 2.0, 0.6), rack, 400.0);
    let zoo = solved(
        "Everything that can hang in a tank, with a long title to see how it is broken over lines when it does not fit",
        rect(1.5, 0.6, 3.0, 1.2),
        vec![
            body("anode bank", Role::Anode, rect(0.05, 0.6, 0.05, 1.0)),
            body("angle bracket", Role::Part, cup(1.6, 0.6, 0.5, 0.05)),
            body(
                "robber bar",
                Role::Thief { offset: Potential::new(0.0) },
                rect(1.1, 0.9, 0.2, 0.02),
            ),
            body("edge shield", Role::Shield, rect(0.9, 0.3, 0.004, 0.4)),
            body(
                "loose washer",
                Role::Floating,
                Outline::ring(Point::new(2.4, 0.3), 0.1, 0.05).unwrap(),
            ),
            body(
                "bag",
                Role::Screen { conductivity: Conductivity::new(3.0) },
                rect(0.25, 0.6, 0.1, 1.1),
            ),
            body("far anode", Role::Anode, rect(2.95, 0.6, 0.05, 0.8)),
        ],
        300.0,
    );
    let tiny = solved(
        "Pin in a beaker",
        rect(0.025, 0.025, 0.05, 0.05),
        vec![
            body("strip", Role::Anode, rect(0.003, 0.025, 0.001, 0.04)),
            body("pin", Role::Part, Outline::disc(Point::new(0.035, 0.025), 0.004).unwrap()),
        ],
        300.0,
    );
    let tall = solved(
        "Long rod in a deep narrow tank",
        rect(0.15, 1.5, 0.3, 3.0),
        vec![
            body("anode", Role::Anode, rect(0.02, 1.5, 0.02, 2.8)),
            body("rod", Role::Part, rect(0.2, 1.6, 0.02, 2.2)),
        ],
        300.0,
    );
    let flat = solved(
        "Strip line",
        rect(1.5, 0.15, 3.0, 0.3),
        vec![
            body("upper anode", Role::Anode, rect(1.5, 0.29, 2.6, 0.01)),
            body("strip", Role::Part, rect(1.5, 0.1, 2.4, 0.002)),
        ],
        200.0,
    );
    vec![
        ("cup", plate(cup_job, 25.0)),
        ("rack", plate(rack, 30.0)),
        ("zoo", zoo),
        ("tiny", plate(tiny, 5.0)),
        ("tall", plate(tall, 60.0)),
        ("flat", plate(flat, 60.0)),
        ("channel", plate(channel(0.5, 0.2, 400.0), 20.0)),
        ("concentric", plate(concentric(0.02, 0.1, 90.0), 20.0)),
        ("marked", marked()),
    ]
}

/// A bracket with a stopped-off back and a nook that no ball of 20 mm reaches.
fn marked() -> Mock {
    let mut part = body("bracket", Role::Part, cup(0.3, 0.2, 0.14, 0.01));
    let curve = &part.outline.loops()[0];
    let back = curve.nearest(Point::new(0.37, 0.16)).0;
    part.masked = vec![Span { loop_index: 0, from_m: back, to_m: back + 0.1 }];
    let span = |r: shapes::Reach| Span { loop_index: r.loop_index, from_m: r.from, to_m: r.to };
    part.significant.only = Some(part.outline.touchable(0.01).into_iter().map(span).collect());
    let anode = body("anode", Role::Anode, rect(0.015, 0.2, 0.01, 0.3));
    let tank = rect(0.3, 0.2, 0.6, 0.4);
    plate(solved("Bracket with a stopped-off back", tank, vec![anode, part], 400.0), 25.0)
}

fn pictures(mock: &Mock) -> Vec<(&'static str, Drawing)> {
    let mut pictures = Vec::new();
    for units in [DisplayUnits::Metric, DisplayUnits::Us] {
        let mean = mock.deposit.as_ref().and_then(|(_, d)| d.bodies.last());
        let want = Want {
            min_thickness: mean.map(|m| Length::new(0.8 * m.thickness.mean)),
            max_thickness: None,
        };
        let rows = mock.layout.significant_rows(&mock.solution);
        let context = Context { units, want, significant: Some(&rows), ..mock.context() };
        let kinds = match units {
            DisplayUnits::Metric => ["map", "deposit", "layout", "profile"],
            DisplayUnits::Us => ["map-us", "deposit-us", "layout-us", "profile-us"],
        };
        pictures.push((kinds[0], map::draw(&context).0));
        pictures.push((kinds[1], deposit_picture::deposit_drawing(&context)));
        pictures.push((kinds[3], profile_picture::profile_drawing(&context)));
        pictures.push((kinds[2], layout_picture::layout_drawing(&mock.title, &mock.layout, units)));
    }
    pictures
}

/// In every picture every text lies on the page and no two texts overlap.
#[test]
fn no_label_is_cut_or_covers_another() {
    for (name, mock) in cases() {
        for (kind, drawing) in pictures(&mock) {
            let page = Rect::new(0.0, 0.0, drawing.width, drawing.height);
            for (i, text) in drawing.texts().iter().enumerate() {
                assert!(page.contains_rect(text.area), "{name} {kind}: {text:?} is cut");
                for other in &drawing.texts()[..i] {
                    let hit = labels::overlap(text.area.inflate(-0.5, -0.5), other.area);
                    assert!(!hit, "{name} {kind}: {:?} covers {:?}", text.text, other.text);
                }
            }
        }
    }
}

/// Every body's name appears in the map and in the layout.
#[test]
fn every_body_is_named() {
    for (name, mock) in cases() {
        let map = map::draw(&mock.context()).0;
        let layout =
            layout_picture::layout_drawing(&mock.title, &mock.layout, DisplayUnits::Metric);
        for (kind, drawing) in [("map", map), ("layout", layout)] {
            for body in &mock.layout.bodies {
                let written = drawing.texts().iter().any(|t| t.text.starts_with(&body.name));
                assert!(written, "{name} {kind}: {} has no name", body.name);
            }
        }
    }
}
