//! The tightest convex line around points.

use kurbo::Point;

/// Indices of the points that are corners of the convex hull, anticlockwise; none of them lies on
/// a straight side.
///
/// Andrew, Information Processing Letters 9 (1979) 216-219.
pub fn hull(points: &[Point]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..points.len()).collect();
    order.sort_by(|&a, &b| {
        let (p, q) = (points[a], points[b]);
        p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y)).then(a.cmp(&b))
    });
    let half = |order: &mut dyn Iterator<Item = usize>| {
        let mut kept: Vec<usize> = Vec::new();
        for next in order {
            while let [.., a, b] = kept[..]
                && (points[b] - points[a]).cross(points[next] - points[b]) <= 0.0
            {
                kept.pop();
            }
            kept.push(next);
        }
        kept.pop();
        kept
    };
    let mut all = half(&mut order.iter().copied());
    all.extend(half(&mut order.iter().rev().copied()));
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_hull_of_a_dented_square_is_the_square() {
        let points = [(0.0, 0.0), (2.0, 0.0), (2.0, 2.0), (1.0, 0.5), (0.0, 2.0), (1.0, 0.0)];
        let points = points.map(|(x, y)| Point::new(x, y));
        assert_eq!(hull(&points), [0, 1, 2, 4]);
        assert!(hull(&[]).is_empty());
    }
}
