//! Strips flush with insulating walls, without polarization and with.
use super::cell::{WIDTH, relative, strip, strip_profile};
use super::{Row, Section, answer};
use crate::cases::build::{linear, none};
use crate::closed_form::polarized_strip::{PolarizedStrip, Surroundings, TABLE};
use crate::closed_form::strips::{FlushStrips, single_strip};

/// Half a channel: by symmetry its mid-plane is an equipotential, the lid of a box.
fn channel(ratio: f64) -> Vec<Row> {
    // box in strip widths: half the gap high, four gaps beyond the ends
    let gap = 1.0 / ratio;
    let solution = answer(&strip(1.0 + 8.0 * gap, 0.5 * gap, 1.0 + 8.0 * gap, none(), vec![]));
    let profile = strip_profile(&solution);
    let exact = FlushStrips { l: WIDTH, h: gap * WIDTH };
    let problem = format!("C2: strips of length L flush with a channel of gap h, L/h = {ratio}");
    let mut rows: Vec<Row> = [0.0, 0.5, 0.9]
        .into_iter()
        .map(|place| {
            let want = exact.relative_density(0.5 * place * WIDTH);
            let quantity = format!("i/i_avg at 2x/L = {place}");
            Row::relative(&problem, quantity, want, relative(&profile, place), 0.01)
        })
        .collect();
    let resistance = 2.0 * solution.supplies[0].voltage_v / solution.supplies[0].current_a;
    let want = exact.resistance_times_conductivity();
    let got = resistance * super::cell::KAPPA;
    rows.push(Row::relative(problem, "resistance × κ × depth", want, got, 0.002));
    rows
}

fn single() -> Vec<Row> {
    let solution = answer(&strip(48.0, 24.0, 48.0, none(), vec![]));
    let profile = strip_profile(&solution);
    [0.0, 0.5, 0.9, 0.98]
        .into_iter()
        .map(|place| {
            let want = single_strip(0.5 * place, 1.0);
            let quantity = format!("i/i_avg at 2x/L = {place}");
            let problem = "C3: single strip in an insulating plane, far anode (box of 48 × 24 L)";
            Row::relative(problem, quantity, want, relative(&profile, place), 0.01)
        })
        .collect()
}

/// Share of the width whose mean stands for the edge.
const EDGE: f64 = 0.01;

fn secondary(wagner: f64, centre: f64) -> Vec<Row> {
    let law = linear(wagner * WIDTH / super::cell::KAPPA);
    let profile = strip_profile(&answer(&strip(48.0, 24.0, 48.0, law, vec![])));
    let problem = format!("strip of width L in an insulating plane, Wa = κb/L = {wagner}");
    let exact = PolarizedStrip::new(wagner, Surroundings::HalfPlane, 120);
    const POINTS: usize = 20;
    let edge = (0..POINTS)
        .map(|k| 0.5 - EDGE * (k as f64 + 0.5) / POINTS as f64)
        .map(|x| exact.relative_density(x) / POINTS as f64)
        .sum();
    let half = 0.5 * WIDTH;
    let got = profile.mean(half - EDGE * WIDTH, half) / profile.whole();
    vec![
        Row::relative(&problem, "i/i_avg at the centre", centre, relative(&profile, 0.0), 0.006),
        Row::relative(problem, "i/i_avg, mean of the last 1 % of the width", edge, got, 0.01),
    ]
}

/// C2, C3 and the strip with linear polarization.
pub fn sections() -> Vec<Section> {
    let mut primary: Vec<Row> =
        [0.25, 0.5, 1.0, 2.0, 4.0, 8.0].into_iter().flat_map(channel).collect();
    primary.extend(single());
    vec![
        Section {
            title: "Flush strips without polarization",
            source: "Wagner (1951), J. Electrochem. Soc. 98, 116; Newman & Thomas-Alyea, \
                     Electrochemical Systems, ch. 18 (from memory)",
            note: "",
            rows: primary,
        },
        Section {
            title: "Strip with linear polarization",
            source: "computed: centre from a table made by another program (±0.3 %), edge from the \
                     integral equation in `closed_form/polarized_strip.rs`",
            note: "",
            rows: TABLE.into_iter().flat_map(|(wa, centre, _)| secondary(wa, centre)).collect(),
        },
    ]
}
