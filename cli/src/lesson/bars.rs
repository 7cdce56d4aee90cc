//! Bars that compare bottom and rim from case to case.

use std::fmt::Write;

use super::reading::Reading;
use crate::output::three;

const WIDTH: f64 = 640.0;
const LEFT: f64 = 190.0;
const RIGHT: f64 = 60.0;
const ROW: f64 = 46.0;

/// A drawing for the page, in its colours. `names` stand beside the bars.
pub fn svg(names: &[String], readings: &[&Reading], alt: &str) -> String {
    let most = readings.iter().map(|r| r.rim.value).fold(0.0, f64::max).max(1e-12);
    let length = |thickness: f64| (WIDTH - LEFT - RIGHT) * thickness / most;
    let height = 10.0 + ROW * readings.len() as f64;
    let mut svg = format!(
        "<svg class=\"bars\" role=\"img\" aria-label=\"{}\" viewBox=\"0 0 {WIDTH} {height}\">",
        escaped(alt)
    );
    for (k, (name, reading)) in names.iter().zip(readings).enumerate() {
        let y = 8.0 + ROW * k as f64;
        // writing to a string cannot fail
        let _ = write!(
            svg,
            "<text class=\"name\" x=\"{}\" y=\"{}\">{}</text>",
            LEFT - 10.0,
            y + 20.0,
            escaped(name)
        );
        for (row, class, value) in
            [(0.0, "rim", reading.rim.value), (1.0, "bottom", reading.bottom.value)]
        {
            let top = y + 17.0 * row;
            let _ = write!(
                svg,
                "<rect class=\"{class}\" x=\"{LEFT}\" y=\"{top:.1}\" width=\"{:.1}\" height=\"14\"/>\
                 <text x=\"{:.1}\" y=\"{:.1}\">{} µm</text>",
                length(value).max(0.5),
                LEFT + length(value) + 5.0,
                top + 11.5,
                three(value * 1e6)
            );
        }
    }
    svg.push_str("</svg>");
    svg
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('"', "&quot;")
}
