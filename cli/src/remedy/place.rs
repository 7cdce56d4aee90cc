//! Where something is, in the words of the report and with its coordinates.

use shapes::{Outline, Point};
use solver::{Layout, Role};

use crate::output::{DisplayUnits, Places, place_words};

/// A layout whose places are told.
pub struct Where<'a> {
    layout: &'a Layout,
    places: Places,
    /// Units in which people read.
    pub units: DisplayUnits,
}

impl<'a> Where<'a> {
    /// Places of the parts of a layout.
    pub fn new(layout: &'a Layout, units: DisplayUnits) -> Self {
        Self { layout, places: Places::of(layout), units }
    }

    fn parts(&self) -> impl Iterator<Item = (usize, &'a Outline)> {
        let bodies = self.layout.bodies.iter().enumerate();
        bodies.filter(|(_, b)| b.role == Role::Part).map(|(k, b)| (k, &b.outline))
    }

    /// The place of the parts that is nearest to a point: "the bottom of the recess of `bell`".
    fn words(&self, p: Point) -> Option<String> {
        let near = self.parts().map(|(b, outline)| (b, outline, outline.nearest(p)));
        let (body, outline, (index, s, at)) =
            near.min_by(|a, b| (a.2.2 - p).hypot2().total_cmp(&(b.2.2 - p).hypot2()))?;
        let normal = outline.loops().get(index)?.outward_at(s);
        let words = place_words(&self.places.whereabouts(body, at, normal)?);
        let several = self.parts().count() > 1;
        let name = &self.layout.bodies[body].name;
        Some(match words.split_once(", ") {
            _ if !several => words,
            Some((side, along)) => format!("{side} of `{name}`, {along}"),
            None => format!("{words} of `{name}`"),
        })
    }

    /// A place of a part, with its coordinates in brackets.
    pub fn place(&self, p: Point) -> String {
        let coordinates = self.units.place_text(p);
        match self.words(p) {
            Some(words) => format!("{words} ({coordinates})"),
            None => format!("({coordinates})"),
        }
    }

    /// How far a body with its middle at `middle` is from the parts, and from which place of them.
    pub fn beside(&self, outline: &Outline, middle: Point) -> Option<String> {
        let gap = self.parts().map(|(_, part)| part.gap(outline)).fold(f64::INFINITY, f64::min);
        let words = self.words(middle)?;
        gap.is_finite().then(|| format!("{} from {words}", self.units.clearance_text(gap)))
    }
}
