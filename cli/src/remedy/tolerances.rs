//! Tolerances as typed, and what they move: a ranked chart, a table, and in words what must be held.

use shapes::{Point, Rect};
use solver::quantity::Length;
use solver::tolerance::Tolerances;
use solver::{Figures, Leaning, Sensitivity};

use crate::output::{
    Anchor, DisplayUnits, Drawing, FAINT, PictureError, TextStyle, duration, line, rectangle, three,
};
use crate::units;

/// Reads `conductivity=10%` or `position=5 mm`; a sign ± before the number is left out.
///
/// # Errors
/// What is wrong, and what is allowed.
pub fn set(tolerances: &mut Tolerances, text: &str) -> Result<(), String> {
    let known = "conductivity, polarization, position, current";
    let Some((name, value)) = text.split_once('=') else {
        return Err(format!(
            "`{text}` is no tolerance: write name=value, such as conductivity=10%; names: {known}"
        ));
    };
    let value = value.trim().trim_start_matches(['±', '+']).trim();
    let bad = |why: String| format!("tolerance `{}`: {why}", name.trim());
    let share = || match units::parse::<solver::quantity::Fraction>(value) {
        Ok(share) if (0.0..0.9).contains(&share.si()) => Ok(share.si()),
        Ok(_) => Err(bad("from 0 % to below 90 %".into())),
        Err(error) => Err(bad(error.message() + ", like 10 %")),
    };
    match name.trim() {
        "conductivity" => tolerances.conductivity = share()?,
        "polarization" | "kinetics" => tolerances.polarization = share()?,
        "current" => tolerances.current = share()?,
        "position" => match units::parse::<Length>(value) {
            Ok(far) if far.si() >= 0.0 => tolerances.position = far,
            Ok(_) => return Err(bad("a length of zero or more".into())),
            Err(error) => return Err(bad(error.message() + ", like 5 mm")),
        },
        other => return Err(format!("no tolerance is called `{other}`; names: {known}")),
    }
    Ok(())
}

/// Largest relative move of least or greatest thickness, of the time to the wanted one.
pub fn metal(leaning: &Leaning, base: &Figures) -> f64 {
    let share = |new: Option<f64>, old: Option<f64>| {
        new.zip(old).map_or(0.0, |(n, o)| if n == o { 0.0 } else { (n / o - 1.0).abs() })
    };
    let greatest = leaning.low.iter().chain(&leaning.high);
    let greatest = greatest.map(|f| share(f.greatest_m, base.greatest_m)).fold(0.0, f64::max);
    leaning.metal_moves(base).max(greatest)
}

/// The weightiest first; equal ones in the order that they were tried in.
pub fn ranked(found: &mut Sensitivity) {
    let base = found.base;
    let key = |l: &Leaning| (metal(l, &base), l.voltage_moves(&base));
    found.leanings.sort_by(|a, b| {
        let (a, b) = (key(a), key(b));
        b.0.total_cmp(&a.0).then(b.1.total_cmp(&a.1))
    });
}

fn change(
    end: Option<&Figures>,
    base: &Figures,
    of: &dyn Fn(&Figures) -> Option<f64>,
) -> Option<f64> {
    let (new, old) = (of(end?)?, of(base)?);
    (old != 0.0).then(|| new / old - 1.0)
}

fn signed(share: Option<f64>) -> String {
    match share {
        None => "no answer".into(),
        Some(s) if s.abs() < 5e-5 => "0 %".into(),
        Some(s) => format!("{}{} %", if s > 0.0 { "+" } else { "−" }, three(100.0 * s.abs())),
    }
}

/// Everything, line by line; `doubt` is the numerical uncertainty, as a share.
pub fn words(
    title: &str,
    found: &Sensitivity,
    left_out: &[String],
    tolerances: &Tolerances,
    doubt: f64,
    units: DisplayUnits,
) -> Vec<String> {
    let base = &found.base;
    let mut out = vec![format!("{title}: what moves the result")];
    let mut start = vec![format!("{} V", three(base.voltage_v))];
    if let (Some(least), Some(most)) = (base.least_m, base.greatest_m) {
        let (least, most) = (units.thickness_text(least), units.thickness_text(most));
        start.push(format!("{least} at the thinnest significant place, {most} at the thickest"));
    }
    if let Some(seconds) = base.seconds_to_want {
        start.push(format!("wanted thickness after {}", duration(seconds)));
    }
    out.push(format!("As drawn: {}.", start.join("; ")));
    out.push(format!("Places: each body ± {}.", units.clearance_text(tolerances.position.si())));
    for l in &found.leanings {
        let ends = |of: &dyn Fn(&Figures) -> Option<f64>| {
            let (low, high) = (change(l.low.as_ref(), base, of), change(l.high.as_ref(), base, of));
            format!("{} / {}", signed(low), signed(high))
        };
        out.push(format!(
            "  {}: thinnest {}, thickest {}, volts {}",
            l.name,
            ends(&|f| f.least_m),
            ends(&|f| f.greatest_m),
            ends(&|f| Some(f.voltage_v))
        ));
    }
    let names = |keep: &dyn Fn(f64) -> bool| -> String {
        let kept = found.leanings.iter().filter(|l| keep(metal(l, base)));
        kept.map(|l| l.name.as_str()).collect::<Vec<_>>().join(", ")
    };
    let tight = names(&|m| m >= HOLD.max(2.0 * doubt));
    let loose = names(&|m| m < doubt);
    if tight.is_empty() {
        out.push(format!("Nothing moves the thickness by {:.0} % or more.", 100.0 * HOLD));
    } else {
        out.push(format!("Hold tightly (5 % of thickness or more): {tight}."));
    }
    if !loose.is_empty() {
        let doubt = three(100.0 * doubt);
        out.push(format!("Does not matter for the thickness (below the numerical uncertainty, {doubt} %): {loose}."));
    }
    if !left_out.is_empty() {
        out.push(format!("Not tried, there is no room to move it: {}.", left_out.join(", ")));
    }
    out
}

/// A move of the thickness from which a tolerance must be held tightly (common practice, no source).
const HOLD: f64 = 0.05;

/// `sensitivity.csv`.
///
/// # Errors
/// Only for a fault of this program.
pub fn csv(found: &Sensitivity) -> Result<Vec<u8>, csv::Error> {
    let mut out = csv::Writer::from_writer(Vec::new());
    out.write_record([
        "what",
        "end",
        "least_um",
        "greatest_um",
        "minutes_to_want",
        "voltage_v",
        "current_a",
    ])?;
    let mut row = |what: &str, end: &str, f: Option<&Figures>| {
        let text = |v: Option<f64>| v.map_or(String::new(), |v| v.to_string());
        out.write_record([
            what.to_owned(),
            end.to_owned(),
            text(f.and_then(|f| f.least_m).map(|m| 1e6 * m)),
            text(f.and_then(|f| f.greatest_m).map(|m| 1e6 * m)),
            text(f.and_then(|f| f.seconds_to_want).map(|s| s / 60.0)),
            text(f.map(|f| f.voltage_v)),
            text(f.map(|f| f.current_a)),
        ])
    };
    row("as drawn", "", Some(&found.base))?;
    for l in &found.leanings {
        row(&l.name, "low", l.low.as_ref())?;
        row(&l.name, "high", l.high.as_ref())?;
    }
    out.into_inner().map_err(|error| csv::Error::from(error.into_error()))
}

/// Bars shown at most.
const BARS: usize = 24;
const ROW: f64 = 30.0;
const LOW: &str = "#3b6fb6";
const HIGH: &str = "#d9822b";

/// `sensitivity.png`: for every tolerance, how far it moves the least thickness (the voltage, where
/// nothing is plated), the weightiest on top.
///
/// # Errors
/// [`PictureError`]: only for a fault of this program.
pub fn png(
    title: &str,
    found: &Sensitivity,
    doubt: f64,
    far: &str,
) -> Result<Vec<u8>, PictureError> {
    draw(title, found, doubt, far).png()
}

fn draw(title: &str, found: &Sensitivity, doubt: f64, far: &str) -> Drawing {
    let base = &found.base;
    let plated = base.least_m.is_some_and(|m| m > 0.0);
    let of = |f: &Figures| if plated { f.least_m } else { Some(f.voltage_v) };
    let rows: Vec<&Leaning> = found.leanings.iter().take(BARS).collect();
    let ends =
        |l: &Leaning| [change(l.low.as_ref(), base, &of), change(l.high.as_ref(), base, &of)];
    let most = rows.iter().flat_map(|l| ends(l)).flatten().map(f64::abs).fold(doubt, f64::max);
    let small = TextStyle::new(13.0);
    let widest = rows.iter().map(|l| text_width(&l.name, small)).fold(80.0, f64::max);
    let (left, plot, side) = (24.0 + widest, 460.0, 70.0);
    let middle = left + side + 0.5 * plot;
    let width = (middle + 0.5 * plot + side + 24.0)
        .max(48.0 + text_width(title, TextStyle::new(18.0).bold()));
    let top = 96.0;
    let bottom = top + ROW * rows.len() as f64;
    let mut page = Drawing::new(width, bottom + 84.0);
    page.text(Point::new(24.0, 32.0), title, TextStyle::new(18.0).bold());
    let what = if plated { "least thickness on the significant surface" } else { "voltage" };
    page.text(
        Point::new(24.0, 56.0),
        &format!("How far each tolerance moves the {what}; bodies ± {far}"),
        TextStyle::new(14.0),
    );
    let x = |share: f64| middle + 0.5 * plot * share / most;
    let band = Rect::new(x(-doubt), top - 6.0, x(doubt), bottom + 2.0);
    page.add(rectangle(band).set("fill", "#e8e8e8"));
    for (k, l) in rows.iter().enumerate() {
        let y = top + ROW * k as f64;
        let base_line = y + 17.0;
        page.text(Point::new(left, base_line), &l.name, small.anchored(Anchor::End));
        let [low, high] = ends(l);
        let mut labels: [Vec<String>; 2] = [Vec::new(), Vec::new()];
        let mut tips = [middle, middle];
        for (end, colour, top) in [(low, LOW, y + 4.0), (high, HIGH, y + 13.0)] {
            let Some(share) = end else { continue };
            let (a, b) = (x(share.min(0.0)), x(share.max(0.0)));
            page.add(rectangle(Rect::new(a, top, b.max(a + 1.0), top + 8.0)).set("fill", colour));
            let side = usize::from(share > 0.0);
            labels[side].push(signed(end));
            tips[side] = if side == 1 { tips[1].max(b) } else { tips[0].min(a) };
        }
        let [minus, plus] = labels.map(|l| l.join(", "));
        if !minus.is_empty() {
            let at = Point::new(tips[0] - 6.0, base_line);
            page.text(at, &minus, TextStyle::new(12.0).anchored(Anchor::End));
        }
        if !plus.is_empty() {
            page.text(Point::new(tips[1] + 6.0, base_line), &plus, TextStyle::new(12.0));
        }
    }
    page.add(
        line(Point::new(middle, top - 6.0), Point::new(middle, bottom + 2.0)).set("stroke", FAINT),
    );
    let y = bottom + 28.0;
    for (at, colour, text) in [(24.0, LOW, "at the lower end"), (170.0, HIGH, "at the upper end")] {
        page.add(rectangle(Rect::new(at, y - 10.0, at + 12.0, y + 2.0)).set("fill", colour));
        page.text(Point::new(at + 18.0, y + 1.0), text, small);
    }
    page.add(rectangle(Rect::new(316.0, y - 10.0, 328.0, y + 2.0)).set("fill", "#e8e8e8"));
    let text = format!("numerical uncertainty, ± {} %", three(100.0 * doubt));
    page.text(Point::new(334.0, y + 1.0), &text, small);
    if found.leanings.len() > BARS {
        let text = format!("{} smaller ones are in sensitivity.csv", found.leanings.len() - BARS);
        page.text(Point::new(24.0, y + 26.0), &text, small.coloured(FAINT));
    }
    page
}

fn text_width(text: &str, style: TextStyle) -> f64 {
    crate::output::text_area(Point::ZERO, text, style).width()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn figures(least_um: f64, volts: f64) -> Figures {
        Figures {
            voltage_v: volts,
            current_a: 10.0,
            least_m: Some(1e-6 * least_um),
            greatest_m: Some(30e-6),
            seconds_to_want: None,
        }
    }

    fn found() -> Sensitivity {
        let leaning = |name: &str, low, high| Leaning {
            name: name.into(),
            low: Some(low),
            high: Some(high),
            voltage_only: false,
        };
        Sensitivity {
            base: figures(10.0, 5.0),
            leanings: vec![
                leaning("current ± 3 %", figures(9.7, 4.9), figures(10.3, 5.1)),
                leaning("left row across", figures(8.0, 5.2), figures(11.0, 4.9)),
                leaning("right row up and down", figures(10.0, 5.0), figures(10.01, 5.0)),
            ],
        }
    }

    #[test]
    fn the_weightiest_comes_first_and_what_does_not_matter_is_named() {
        let mut found = found();
        ranked(&mut found);
        assert_eq!(found.leanings[0].name, "left row across");
        let lines = words("Job", &found, &[], &Tolerances::default(), 0.02, DisplayUnits::Metric);
        let text = lines.join("\n");
        assert!(
            text.contains("Hold tightly (5 % of thickness or more): left row across."),
            "{text}"
        );
        assert!(text.contains("uncertainty, 2.00 %): right row up and down."), "{text}");
        assert!(text.contains("thinnest −20.0 % / +10.0 %"), "{text}");
    }

    #[test]
    fn no_label_of_the_chart_is_cut_or_covered() {
        let mut found = found();
        ranked(&mut found);
        let page = draw("A job with a rather long title", &found, 0.02, "5 mm");
        let boxes: Vec<Rect> = page.texts().iter().map(|t| t.area).collect();
        for (k, a) in boxes.iter().enumerate() {
            assert!(a.x0 >= 0.0 && a.x1 <= page.width && a.y0 >= 0.0 && a.y1 <= page.height);
            for b in &boxes[k + 1..] {
                let apart = a.x1 <= b.x0 || b.x1 <= a.x0 || a.y1 <= b.y0 || b.y1 <= a.y0;
                assert!(apart, "{a:?} {b:?}");
            }
        }
    }

    #[test]
    fn tolerances_are_read_with_or_without_a_sign() {
        let mut t = Tolerances::default();
        set(&mut t, "conductivity=±15%").expect("a share");
        set(&mut t, "position = 0.25 in").expect("a length");
        assert!((t.conductivity - 0.15).abs() < 1e-12 && (t.position.to_mm() - 6.35).abs() < 1e-9);
        assert!(set(&mut t, "colour=3%").expect_err("unknown").contains("names: conductivity"));
        assert!(set(&mut t, "current=95%").is_err() && set(&mut t, "current").is_err());
        assert!(set(&mut t, "position=5").is_err() && set(&mut t, "position=-5 mm").is_err());
    }
}
