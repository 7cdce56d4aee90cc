//! What the specification is compared with: the significant surface of each part.

use solver::{BodyResult, Role, Spread};

use super::Context;

/// Thickness (without a run: current density) on the significant surface of a part, and elsewhere.
#[derive(Debug, Clone, Copy)]
pub struct Judged {
    /// On the significant surface.
    pub spread: Spread,
    /// On the rest; `None` where there is no rest.
    pub elsewhere: Option<Spread>,
}

impl<'a> Context<'a> {
    /// The values along a body, with their uncertainties, and the spread over all of them.
    fn values(&self, index: usize, body: &BodyResult) -> Option<(Vec<f64>, Vec<f64>, Spread)> {
        if self.deposit.is_some() {
            let on = self.deposit_on(index)?;
            return Some((on.thickness_m.clone(), on.uncertainty_m.clone(), on.thickness));
        }
        let rows = body.stretches.iter();
        let (values, doubts) = rows.map(|s| (s.current_density_a_m2, s.uncertainty_a_m2)).unzip();
        Some((values, doubts, body.density))
    }

    /// For each row of a body whether it is significant; `None` where all of them are.
    pub(super) fn marks_on(&self, index: usize) -> Option<&'a [bool]> {
        self.significant_on(index).filter(|rows| !rows.iter().all(|on| *on))
    }

    /// For each row of a part whether it is significant, where that is known.
    pub(super) fn significant_on(&self, index: usize) -> Option<&'a [bool]> {
        let part = self.solution.bodies.get(index)?.role == Role::Part;
        self.significant.filter(|_| part)?.get(index).map(Vec::as_slice)
    }

    /// Current density over the significant rows of a body.
    pub(super) fn significant_density(&self, body: &BodyResult, on: &[bool]) -> Option<Spread> {
        let rows = body.stretches.iter();
        let (values, doubts): (Vec<f64>, Vec<f64>) =
            rows.map(|s| (s.current_density_a_m2, s.uncertainty_a_m2)).unzip();
        Spread::of_rows(body, on, &values, &doubts)
    }

    /// What is judged on a part; `None` where nothing on it is significant.
    pub(super) fn judged(&self, index: usize) -> Option<Judged> {
        let body = self.solution.bodies.get(index)?;
        let (values, doubts, spread) = self.values(index, body)?;
        let Some(on) = self.marks_on(index) else {
            return Some(Judged { spread, elsewhere: None });
        };
        let spread = Spread::of_rows(body, on, &values, &doubts)?;
        Some(Judged { spread, elsewhere: self.elsewhere(index) })
    }

    /// What lies outside the significant surface of a part.
    pub(super) fn elsewhere(&self, index: usize) -> Option<Spread> {
        let body = self.solution.bodies.get(index)?;
        let (values, doubts, _) = self.values(index, body)?;
        let off: Vec<bool> = self.marks_on(index)?.iter().map(|on| !on).collect();
        Spread::of_rows(body, &off, &values, &doubts)
    }
}

#[cfg(test)]
mod tests {
    use shapes::{Outline, Point};
    use solver::quantity::Length;
    use solver::{Role, Span};

    use super::super::mock::{Mock, body, plate, rect, solved};
    use super::super::{Context, Want, judge, summary_json, surface_csv, verdict};

    /// An angle section, its nook turned to the anode and out of reach of a ball of 20 mm.
    fn angle() -> Mock {
        let corners =
            [(0.2, 0.06), (0.21, 0.06), (0.21, 0.13), (0.28, 0.13), (0.28, 0.14), (0.2, 0.14)];
        let outline = Outline::polygon(&corners.map(Point::from), 0.0).unwrap();
        let mut part = body("angle", Role::Part, outline);
        let reach = part.outline.touchable(0.01);
        let span = |r: shapes::Reach| Span { loop_index: r.loop_index, from_m: r.from, to_m: r.to };
        part.significant.only = Some(reach.into_iter().map(span).collect());
        let anode = body("anode", Role::Anode, rect(0.2, 0.01, 0.3, 0.01));
        plate(solved("Angle", rect(0.2, 0.1, 0.4, 0.2), vec![anode, part], 300.0), 30.0)
    }

    #[test]
    fn the_specification_is_about_the_significant_surface() {
        let mock = angle();
        let rows = mock.layout.significant_rows(&mock.solution);
        let plain = mock.context();
        let marked = Context { significant: Some(&rows), ..plain };
        let everywhere = plain.judged(1).expect("a part").spread;
        let judged = marked.judged(1).expect("a part");
        let rest = judged.elsewhere.expect("the nook");
        // the thinnest place of all is in the nook, which does not count
        assert_eq!(rest.min, everywhere.min);
        assert!(judged.spread.min > 1.2 * everywhere.min, "{judged:?}");
        let nook = Point::new(0.21, 0.13);
        assert!(
            (rest.min_at - nook).hypot() < 0.01 && (judged.spread.min_at - nook).hypot() > 0.00999
        );
        let min_thickness = Some(Length::new(0.5 * (judged.spread.min + rest.min)));
        let want = Want { min_thickness, max_thickness: None };
        assert_eq!(judge(&Context { want, ..plain }).min_thickness_met, Some(false));
        assert_eq!(judge(&Context { want, ..marked }).min_thickness_met, Some(true));
        let told = verdict(&Context { want, ..marked }, &[]).join("\n");
        assert!(told.contains("angle, significant surface: "), "{told}");
        assert!(told.contains("angle, elsewhere (not judged): "), "{told}");
    }

    #[test]
    fn tables_say_what_is_significant() {
        let mock = angle();
        let rows = mock.layout.significant_rows(&mock.solution);
        let context = Context { significant: Some(&rows), ..mock.context() };
        let text = summary_json(&context).unwrap();
        let summary: serde_json::Value = serde_json::from_str(&text).unwrap();
        let part = &summary["bodies"][1];
        let number = |value: &serde_json::Value| value.as_f64().unwrap();
        // 10 mm on either side of the nook do not count; the section is 0.3 m deep
        let missing = number(&part["area_m2"]) - number(&part["significant_area_m2"]);
        assert!((missing - 0.02 * 0.3).abs() < 1e-7, "{missing}");
        let (all, judged) = (&part["thickness_um"], &part["significant_thickness_um"]);
        assert!(number(&judged["min"]) > number(&all["min"]));
        assert!(summary["bodies"][0]["significant_area_m2"].is_null());
        let table = String::from_utf8(surface_csv(&context).unwrap()).unwrap();
        let marks = |word: &str| table.lines().filter(|l| l.contains(word)).count();
        let off = rows[1].iter().filter(|on| !**on).count();
        assert_eq!((marks(",no,"), marks(",yes,")), (off, rows[1].len() - off));
    }
}
