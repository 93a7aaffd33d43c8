//! The part of one segment that lies near another: how long a pipe keeps to a drawn line, or to a flag.

use super::Point;

/// The part of the segment a-b within `reach_m` metres of the closed segment c-d, as an interval of 0 to 1 along a-b;
/// `None` if there is none. Points near a segment form a convex set, so the part is one interval.
pub fn near_interval(a: Point, b: Point, c: Point, d: Point, reach_m: f64) -> Option<(f64, f64)> {
    let mut near: Option<(f64, f64)> = None;
    let mut add = |part: Option<(f64, f64)>| {
        if let Some((from, to)) = part {
            near = Some(near.map_or((from, to), |(low, high)| (low.min(from), high.max(to))));
        }
    };
    add(in_disc(a, b, c, reach_m));
    if let Some(along) = (d - c).direction() {
        add(in_disc(a, b, d, reach_m));
        let (from, step) = (a - c, b - a);
        let strip = between(from.cross(along), step.cross(along), (-reach_m, reach_m), (0.0, 1.0));
        add(strip.and_then(|part| between(from.dot(along), step.dot(along), (0.0, c.distance(d)), part)));
    }
    near
}

/// The part of a-b within `radius_m` of a centre.
fn in_disc(a: Point, b: Point, centre: Point, radius_m: f64) -> Option<(f64, f64)> {
    let (step, from) = (b - a, a - centre);
    let (square, half, rest) = (step.dot(step), from.dot(step), from.dot(from) - radius_m * radius_m);
    if square <= 0.0 {
        return (rest <= 0.0).then_some((0.0, 1.0));
    }
    let root_square = half * half - square * rest;
    if root_square < 0.0 {
        return None;
    }
    let root = root_square.sqrt();
    let (low, high) = (((-half - root) / square).max(0.0), ((-half + root) / square).min(1.0));
    (low <= high).then_some((low, high))
}

/// The part of the interval `within` where `from + t step` lies in `range`.
fn between(from: f64, step: f64, range: (f64, f64), within: (f64, f64)) -> Option<(f64, f64)> {
    if step == 0.0 {
        return (range.0..=range.1).contains(&from).then_some(within);
    }
    let (t_0, t_1) = ((range.0 - from) / step, (range.1 - from) / step);
    let (low, high) = (t_0.min(t_1).max(within.0), t_0.max(t_1).min(within.1));
    (low <= high).then_some((low, high))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::distance_to_segment;
    use crate::rng::stream;
    use rand::RngExt;

    #[test]
    fn the_part_holds_exactly_the_points_that_are_near() {
        // n = 500 pairs, a tenth of them to a single point, 200 points each; points within 1e-9 of the reach are let off.
        let mut rng = stream(31, 0);
        let mut inside = 0;
        for k in 0..500 {
            let mut p = || Point::new(rng.random_range(-1.0..1.0), rng.random_range(-1.0..1.0));
            let (a, b, c) = (p(), p(), p());
            let d = if k % 10 == 0 { c } else { p() };
            let reach = 0.4;
            let part = near_interval(a, b, c, d, reach);
            for t in (0..200).map(|i| f64::from(i) / 199.0) {
                let gap = distance_to_segment(a.towards(b, t), c, d) - reach;
                let claimed = part.is_some_and(|(low, high)| (low..=high).contains(&t));
                assert!(gap.abs() < 1e-9 || claimed == (gap < 0.0), "{gap} {part:?} {t}");
                inside += usize::from(claimed);
            }
        }
        assert!((10_000..90_000).contains(&inside), "{inside} of 100,000 points are near");
    }

    #[test]
    fn a_single_point_is_near_or_not() {
        let p = Point::new;
        assert_eq!(near_interval(p(0., 0.), p(0., 0.), p(0.3, -1.), p(0.3, 1.), 0.3), Some((0.0, 1.0)));
        assert_eq!(near_interval(p(0., 0.), p(0., 0.), p(0.3, -1.), p(0.3, 1.), 0.2), None);
    }
}
