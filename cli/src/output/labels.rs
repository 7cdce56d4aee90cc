//! Finding room for names and numbers: never cut, never over one another, near what they name.

use shapes::{Point, Rect, Vec2};

use super::plane::{Body, closest_in, segment_meets, segments_cross};
pub use super::plane::{Polygon, bounds, overlap};

/// Where a label went.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placed {
    /// The box of the label.
    pub area: Rect,
    /// The label reads upwards.
    pub upright: bool,
    /// Line from the label to what it names, where it does not touch it.
    pub leader: Option<(Point, Point)>,
}

/// What is in the way of labels.
#[derive(Debug, Clone)]
pub struct Placer {
    room: Rect,
    taken: Vec<Rect>,
    leaders: Vec<(Point, Point)>,
    bodies: Vec<Body>,
    walls: Body,
}

/// Clear space kept round a label, pixels.
const CLEAR: f64 = 3.0;
/// Distances from the thing named at which room is looked for, pixels.
const RINGS: [f64; 13] =
    [5.0, 9.0, 14.0, 20.0, 28.0, 38.0, 50.0, 66.0, 86.0, 110.0, 140.0, 180.0, 240.0];
/// Directions tried at each distance; sideways and up come first.
const DIRECTIONS: [(f64, f64); 16] = [
    (1.0, 0.0),
    (-1.0, 0.0),
    (0.0, -1.0),
    (0.0, 1.0),
    (0.9, -0.45),
    (0.9, 0.45),
    (-0.9, -0.45),
    (-0.9, 0.45),
    (0.7, -0.7),
    (0.7, 0.7),
    (-0.7, -0.7),
    (-0.7, 0.7),
    (0.4, -0.9),
    (0.4, 0.9),
    (-0.4, -0.9),
    (-0.4, 0.9),
];

impl Placer {
    /// An empty picture; labels stay within `room` and off the boxes in `taken`.
    pub fn new(room: Rect, taken: Vec<Rect>) -> Self {
        let walls = Body { loops: Vec::new(), bounds: Rect::ZERO };
        Self { room, taken, leaders: Vec::new(), bodies: Vec::new(), walls }
    }

    /// Adds a body to keep off; returns its number.
    pub fn body(&mut self, loops: Vec<Polygon>) -> usize {
        let bounds = bounds(loops.iter().flatten().copied());
        self.bodies.push(Body { loops, bounds });
        self.bodies.len() - 1
    }

    /// True if some of a body's outline or inside can be seen in the room.
    pub fn is_seen(&self, body: usize) -> bool {
        self.bodies[body].meets(self.room)
    }

    /// Adds the tank's walls: labels stand inside or outside, not across them.
    pub fn walls(&mut self, loops: Vec<Polygon>) {
        let bounds = bounds(loops.iter().flatten().copied());
        self.walls = Body { loops, bounds };
    }

    /// Keeps labels off a line.
    pub fn line(&mut self, from: Point, to: Point) {
        self.leaders.push((from, to));
    }

    /// Keeps labels off an area.
    pub fn take(&mut self, area: Rect) {
        self.taken.push(area);
    }

    /// Finds room for a name of `width` × `height` inside a body or, failing that, beside it.
    ///
    /// As a `last` resort a leader may cross other bodies, and the name may lie over one.
    pub fn name(&mut self, body: usize, width: f64, height: f64, last: bool) -> Option<Placed> {
        let found = if last {
            let over = |strict| self.beside(body, width, height, strict, true);
            over(true).or_else(|| over(false))
        } else {
            self.inside(body, width, height)
                .or_else(|| self.beside(body, width, height, true, false))
        };
        found.map(|placed| self.keep(placed))
    }

    /// Finds room for a text of `width` × `height` near a point; `way` is where to look first.
    pub fn near(&mut self, at: Point, way: Vec2, width: f64, height: f64) -> Option<Placed> {
        let mut ways: Vec<Vec2> = DIRECTIONS.iter().map(|d| Vec2::new(d.0, d.1)).collect();
        ways.sort_by(|a, b| b.dot(way).total_cmp(&a.dot(way)));
        let seed = Rect::from_center_size(at, (0.0, 0.0));
        // clear of everything, over bodies, over bodies and walls
        for pass in 0..3 {
            for ring in RINGS {
                for d in &ways {
                    let area =
                        shifted_into(box_beside(seed, *d, ring + 4.0, width, height), self.room);
                    let leader = (closest_in(area, at), at);
                    let free = match pass {
                        0 => self.is_free(area, true),
                        1 => self.is_free(area, false),
                        _ => !self.overlaps_taken(area),
                    };
                    // the mark at the point itself stays visible
                    let free = free && !overlap(area, seed.inflate(7.0, 7.0));
                    if free && self.leader_is_free(leader, None) {
                        return Some(self.keep(Placed {
                            area,
                            upright: false,
                            leader: Some(leader),
                        }));
                    }
                }
            }
        }
        None
    }

    /// As [`Placer::near`] for a text that needs no leader as long as it stays close.
    pub fn close_to(&mut self, at: Point, way: Vec2, width: f64, height: f64) -> Option<Placed> {
        let seed = Rect::from_center_size(at, (0.0, 0.0));
        for ring in [0.0, 3.0, 7.0, 12.0] {
            for sign in [1.0, -1.0, 0.0] {
                let area = box_beside(seed, way * sign, ring, width, height);
                if self.is_free(area, true) {
                    return Some(self.keep(Placed { area, upright: false, leader: None }));
                }
            }
        }
        self.near(at, way, width, height)
    }

    /// Takes an area if nothing is there yet.
    pub fn claim(&mut self, area: Rect) -> bool {
        let free = self.in_room(area)
            && !self.overlaps_taken(area)
            && !self.crosses_wall(area)
            && !self.bodies.iter().any(|b| b.meets(area));
        if free {
            self.taken.push(area);
        }
        free
    }

    fn keep(&mut self, placed: Placed) -> Placed {
        self.taken.push(placed.area.inflate(CLEAR, CLEAR));
        self.leaders.extend(placed.leader);
        placed
    }

    fn inside(&self, index: usize, width: f64, height: f64) -> Option<Placed> {
        let body = &self.bodies[index];
        let mut spots = Vec::new();
        for i in 1..16 {
            for j in 1..16 {
                let at = Point::new(
                    body.bounds.x0 + body.bounds.width() * f64::from(i) / 16.0,
                    body.bounds.y0 + body.bounds.height() * f64::from(j) / 16.0,
                );
                spots.push(at);
            }
        }
        let centre = body.bounds.center();
        spots.sort_by(|a, b| (*a - centre).hypot2().total_cmp(&(*b - centre).hypot2()));
        for (upright, size) in [(false, (width, height)), (true, (height, width))] {
            for at in &spots {
                let area = Rect::from_center_size(*at, size);
                let padded = area.inflate(2.0, 2.0);
                let whole = body.contains(*at) && !body.edge_meets(padded);
                if whole && self.in_room(area) && !self.overlaps_taken(area) {
                    return Some(Placed { area, upright, leader: None });
                }
            }
        }
        None
    }

    fn beside(
        &self,
        index: usize,
        width: f64,
        height: f64,
        strict: bool,
        crossing: bool,
    ) -> Option<Placed> {
        let bounds = self.bodies[index].bounds;
        // a body that sticks out of the picture is named beside what can be seen of it
        let seen = bounds.intersect(self.room);
        let seen = if seen.width() >= 0.0 && seen.height() >= 0.0 { seen } else { bounds };
        for ring in RINGS {
            for area in boxes_around(seen, ring, width, height) {
                if !self.is_free(area, strict) {
                    continue;
                }
                let (from, to, gap) = self.bodies[index].link(area);
                let leader = (from, to);
                if gap <= 9.0 {
                    return Some(Placed { area, upright: false, leader: None });
                }
                if self.leader_is_free(leader, Some(index).filter(|_| !crossing)) {
                    return Some(Placed { area, upright: false, leader: Some(leader) });
                }
            }
        }
        None
    }

    fn in_room(&self, area: Rect) -> bool {
        let r = self.room;
        area.x0 >= r.x0 && area.y0 >= r.y0 && area.x1 <= r.x1 && area.y1 <= r.y1
    }

    fn overlaps_taken(&self, area: Rect) -> bool {
        self.taken.iter().any(|t| overlap(*t, area))
            || self.leaders.iter().any(|l| segment_meets(l.0, l.1, area))
    }

    fn crosses_wall(&self, area: Rect) -> bool {
        self.walls.edge_meets(area.inflate(2.5, 2.5))
    }

    /// Free of labels and walls and, if `strict`, of bodies too.
    fn is_free(&self, area: Rect, strict: bool) -> bool {
        if !self.in_room(area) || self.overlaps_taken(area) || self.crosses_wall(area) {
            return false;
        }
        let padded = area.inflate(CLEAR, CLEAR);
        !strict || self.bodies.iter().all(|b| !b.meets(padded))
    }

    /// A leader crosses no label, no other leader and no body but its own.
    fn leader_is_free(&self, (from, to): (Point, Point), own: Option<usize>) -> bool {
        let short = from.lerp(to, 0.96);
        !self.taken.iter().any(|t| segment_meets(from, short, *t))
            && !self.leaders.iter().any(|l| segments_cross(from, to, l.0, l.1))
            && own.is_none_or(|own| {
                self.bodies.iter().enumerate().all(|(i, b)| i == own || !b.edge_crosses(from, to))
            })
    }
}

/// Boxes of a size around another at a distance: beside each side in its middle and flush with its
/// ends, then off in all directions.
fn boxes_around(seed: Rect, distance: f64, width: f64, height: f64) -> impl Iterator<Item = Rect> {
    let (right, left) = (seed.x1 + distance, seed.x0 - distance - width);
    let (above, below) = (seed.y0 - distance - height, seed.y1 + distance);
    let (middle_x, middle_y) = (seed.center().x - width / 2.0, seed.center().y - height / 2.0);
    let (start_x, end_x) = (seed.x0, seed.x1 - width);
    let (start_y, end_y) = (seed.y0, seed.y1 - height);
    let corners = [
        (right, middle_y),
        (left, middle_y),
        (middle_x, above),
        (middle_x, below),
        (right, start_y),
        (right, end_y),
        (left, start_y),
        (left, end_y),
        (start_x, above),
        (end_x, above),
        (start_x, below),
        (end_x, below),
    ];
    let flush = corners.into_iter().map(move |at| Rect::from_origin_size(at, (width, height)));
    let off = DIRECTIONS
        .into_iter()
        .map(move |(dx, dy)| box_beside(seed, Vec2::new(dx, dy), distance, width, height));
    flush.chain(off)
}

/// The box moved as little as needed to lie in the room.
fn shifted_into(area: Rect, room: Rect) -> Rect {
    let x = (room.x0 - area.x0).max(0.0) + (room.x1 - area.x1).min(0.0);
    let y = (room.y0 - area.y0).max(0.0) + (room.y1 - area.y1).min(0.0);
    area + Vec2::new(x, y)
}

/// A box of a size beside another, touching at `distance` in a direction.
fn box_beside(seed: Rect, way: Vec2, distance: f64, width: f64, height: f64) -> Rect {
    let reach_x = seed.width() / 2.0 + width / 2.0 + distance;
    let reach_y = seed.height() / 2.0 + height / 2.0 + distance;
    // along a diagonal the box touches with a corner, along an axis with its side
    let centre = seed.center() + Vec2::new(way.x * reach_x, way.y * reach_y);
    Rect::from_center_size(centre, (width, height))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn block(x0: f64, y0: f64, x1: f64, y1: f64) -> Vec<Polygon> {
        vec![vec![Point::new(x0, y0), Point::new(x1, y0), Point::new(x1, y1), Point::new(x0, y1)]]
    }

    #[test]
    fn a_name_goes_inside_when_it_fits_upright_in_a_tall_body_and_beside_a_small_one() {
        let mut placer = Placer::new(Rect::new(0.0, 0.0, 400.0, 300.0), Vec::new());
        let wide = placer.body(block(20.0, 20.0, 120.0, 60.0));
        let tall = placer.body(block(200.0, 50.0, 222.0, 250.0));
        let small = placer.body(block(300.0, 100.0, 304.0, 104.0));
        assert!(!placer.name(wide, 50.0, 12.0, false).unwrap().upright);
        assert!(placer.name(tall, 50.0, 12.0, false).unwrap().upright);
        let beside = placer.name(small, 50.0, 12.0, false).unwrap();
        assert!(!overlap(beside.area, Rect::new(300.0, 100.0, 304.0, 104.0)));
        assert!(beside.leader.is_none(), "right beside it, no line is needed");
    }

    /// Thirty bars in a tight row: all get a label, none over a bar or another label.
    #[test]
    fn a_rack_of_thirty_gets_thirty_labels() {
        let room = Rect::new(0.0, 0.0, 900.0, 300.0);
        let mut placer = Placer::new(room, Vec::new());
        let mut bars = Vec::new();
        for k in 0..30 {
            let x = 15.0 + 29.0 * f64::from(k);
            placer.body(block(x, 140.0, x + 10.0, 150.0));
            bars.push(Rect::new(x, 140.0, x + 10.0, 150.0));
        }
        let placed: Vec<Placed> =
            (0..30).map(|k| placer.name(k, 48.0, 12.0, false).unwrap()).collect();
        for (i, a) in placed.iter().enumerate() {
            assert!(room.contains_rect(a.area));
            assert!(bars.iter().all(|b| !overlap(*b, a.area)));
            assert!(placed[..i].iter().all(|b| !overlap(a.area, b.area)));
        }
    }

    #[test]
    fn a_label_in_the_hollow_of_a_cup_is_beside_it_and_not_in_the_bath_by_mistake() {
        // a U: only its walls are metal
        let cup = vec![
            [
                (0.0, 0.0),
                (10.0, 0.0),
                (10.0, 90.0),
                (90.0, 90.0),
                (90.0, 0.0),
                (100.0, 0.0),
                (100.0, 100.0),
                (0.0, 100.0),
            ]
            .map(|(x, y)| Point::new(100.0 + x, 100.0 + y))
            .to_vec(),
        ];
        let mut placer = Placer::new(Rect::new(0.0, 0.0, 300.0, 300.0), Vec::new());
        let body = placer.body(cup);
        let placed = placer.name(body, 40.0, 14.0, false).unwrap();
        assert!(!placer.bodies[body].meets(placed.area));
    }
}
