//! Places of a part in words: the bottom of the recess, the edge at corner 3, the left side half
//! way up. Left, right, upper and lower are those of the drawing; corners have the numbers that the
//! layout shows.

use shapes::{Bend, Compass, Landmarks, Point, Region, Vec2, Whereabouts};
use solver::{BodyResult, Layout, Role, Stretch, Symmetry};

/// A part is told from its surroundings by words once its landmarks are known.
#[derive(Debug)]
pub struct Places {
    marks: Vec<Option<Landmarks>>,
}

impl Places {
    /// The landmarks of every cathode of a layout.
    pub fn of(layout: &Layout) -> Self {
        let round = layout.symmetry == Symmetry::Axial;
        let cathode = |role: Role| matches!(role, Role::Part | Role::Thief { .. });
        let marks = layout
            .bodies
            .iter()
            .map(|body| cathode(body.role).then(|| Landmarks::of(&body.outline, round)))
            .collect();
        Self { marks }
    }

    /// A stretch of a cathode in words that begin with "the".
    pub fn words(&self, body: usize, stretch: &Stretch) -> Option<String> {
        let normal = Vec2::new(stretch.normal[0], stretch.normal[1]);
        Some(words(&self.whereabouts(body, stretch.at, normal)?))
    }

    /// Where a place of a cathode is.
    pub fn whereabouts(&self, body: usize, at: Point, normal: Vec2) -> Option<Whereabouts> {
        self.marks.get(body)?.as_ref()?.at(at, normal)
    }
}

/// The stretch of a body that is nearest to a place.
pub fn stretch_at(body: &BodyResult, place: Point) -> Option<(usize, &Stretch)> {
    let gap = |s: &Stretch| (s.at - place).hypot2();
    body.stretches.iter().enumerate().min_by(|a, b| gap(a.1).total_cmp(&gap(b.1)))
}

/// From here on a recess is at its bottom.
const BOTTOM: f64 = 0.85;
/// From here on a place is deep in it.
const DEEP: f64 = 0.5;

/// Whereabouts in words that begin with "the".
pub fn words(place: &Whereabouts) -> String {
    let recess = |mouth: Compass, several: bool| {
        if several { format!("the {} recess", mouth.word()) } else { "the recess".to_owned() }
    };
    match place.region {
        Region::Recess { depth, mouth, one_of_several } => {
            let recess = recess(mouth, one_of_several);
            match (depth, place.bend) {
                (d, Some(Bend { outward: false, .. })) if d >= BOTTOM => {
                    format!("the nook at the bottom of {recess}")
                }
                (d, _) if d >= BOTTOM => format!("the bottom of {recess}"),
                (_, Some(Bend { outward: true, corner })) => {
                    format!("the edge{} inside {recess}", numbered(corner))
                }
                (d, _) if d >= DEEP => format!("the wall deep inside {recess}"),
                _ => format!("the wall just inside the mouth of {recess}"),
            }
        }
        Region::Rim { mouth, one_of_several } => {
            let corner = place.bend.and_then(|bend| bend.corner);
            format!("the rim of {}{}", recess(mouth, one_of_several), numbered(corner))
        }
        Region::Hole => format!("the {} side of the hole", opposite(place.towards).word()),
        Region::Bore => "the bore".into(),
        Region::Angle | Region::Outside => match place.bend {
            Some(Bend { outward: true, corner: Some(number) }) => {
                format!("the edge at corner {number}")
            }
            Some(Bend { outward: true, corner: None }) => {
                format!("the {} edge", place.towards.word())
            }
            Some(Bend { outward: false, corner }) => format!("the nook{}", numbered(corner)),
            None if place.region == Region::Angle => {
                format!("the inside of the angle, {}", along(place))
            }
            None => format!("the {} side{}", place.towards.word(), side(place)),
        },
    }
}

fn numbered(corner: Option<usize>) -> String {
    corner.map_or(String::new(), |number| format!(" at corner {number}"))
}

/// Of a hole's wall that looks right one says the left side.
fn opposite(way: Compass) -> Compass {
    match way {
        Compass::Right => Compass::Left,
        Compass::UpperRight => Compass::LowerLeft,
        Compass::Up => Compass::Down,
        Compass::UpperLeft => Compass::LowerRight,
        Compass::Left => Compass::Right,
        Compass::LowerLeft => Compass::UpperRight,
        Compass::Down => Compass::Up,
        Compass::LowerRight => Compass::UpperLeft,
    }
}

/// Where along a straight side; nothing for a slanting one.
fn side(place: &Whereabouts) -> String {
    match place.towards {
        Compass::Left | Compass::Right | Compass::Up | Compass::Down => {
            format!(", {}", along(place))
        }
        _ => String::new(),
    }
}

fn along(place: &Whereabouts) -> &'static str {
    let third = |x: f64, words: [&'static str; 3]| {
        if x < 0.35 {
            words[0]
        } else if x <= 0.65 {
            words[1]
        } else {
            words[2]
        }
    };
    match place.towards {
        Compass::Up | Compass::Down => {
            third(place.across, ["towards its left end", "in the middle", "towards its right end"])
        }
        _ => third(place.up, ["towards its lower end", "half way up", "towards its upper end"]),
    }
}

/// The same words at the beginning of a sentence.
pub fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

#[cfg(test)]
mod tests {
    use shapes::Outline;

    use super::*;

    fn told(outline: &Outline, x: f64, y: f64) -> String {
        let (index, s, p) = outline.nearest(Point::new(x, y));
        let normal = outline.loops()[index].outward_at(s);
        words(&Landmarks::of(outline, false).at(p, normal).unwrap())
    }

    #[test]
    fn places_are_named_as_one_would_point_at_them() {
        let channel = Outline::path("M0 0H40V50H35V5H5V50H0Z").unwrap();
        let angle = Outline::path("M0 0H40V5H5V40H0Z").unwrap();
        let disc = Outline::disc(Point::ORIGIN, 10.0).unwrap();
        let frame = Outline::path("M0 0H10V10H0Z M2 2H8V8H2Z").unwrap();
        let found = [
            (&channel, 20.0, 5.0),
            (&channel, 5.2, 5.0),
            (&channel, 5.0, 20.0),
            (&channel, 35.0, 40.0),
            (&channel, 35.0, 50.0),
            (&channel, 0.0, 25.0),
            (&channel, 0.0, 0.0),
            (&angle, 5.0, 5.0),
            (&angle, 32.0, 5.0),
            (&angle, 5.0, 0.0),
            (&disc, 7.0, 7.0),
            (&frame, 2.0, 5.0),
        ]
        .map(|(outline, x, y)| told(outline, x, y));
        assert_eq!(
            found,
            [
                "the bottom of the recess",
                "the nook at the bottom of the recess",
                "the wall deep inside the recess",
                "the wall just inside the mouth of the recess",
                "the rim of the recess at corner 4",
                "the left side, half way up",
                "the edge at corner 1",
                "the nook at corner 4",
                "the inside of the angle, towards its right end",
                "the lower side, towards its left end",
                "the upper right side",
                "the left side of the hole",
            ]
        );
    }
}
