//! Where a pass can be made: across the lines of some draws, on ground that a crew can walk.

use crate::geometry::{Point, Polygon};
use crate::inference::Layouts;
use crate::site::document::ObstacleKind;
use std::collections::HashSet;
use std::f64::consts::PI;

/// Places are looked for along the lines of so many draws, a step apart. Numerical choices.
const LOOKED_AT: usize = 100;
const STEP_M: f64 = 0.5;

/// A pass of which the site leaves less than this share is not made: it would hardly cross the line. Design.
const LEAST_SHARE: f64 = 2.0 / 3.0;

/// Passes of this length, metres, across the lines of some draws, evenly spread, a step apart along each; each place and way once.
pub(super) fn places(layouts: &Layouts, length_m: f64) -> Vec<[Point; 2]> {
    let (draws, site) = (layouts.draws(), layouts.site());
    let (mut seen, mut places) = (HashSet::new(), Vec::new());
    let blocked = |kind| matches!(kind, ObstacleKind::Building | ObstacleKind::Pool);
    let walls: Vec<&Polygon> =
        site.obstacles.iter().filter(|it| blocked(it.kind)).map(|it| &it.outline).collect();
    for draw in draws.iter().step_by(draws.len().div_ceil(LOOKED_AT)) {
        for ends in draw.metal.iter().flat_map(|line| line.path.windows(2)) {
            let Some(along) = (ends[1] - ends[0]).direction() else { continue };
            let long = ends[0].distance(ends[1]);
            let count = (long / STEP_M).ceil().max(1.0) as usize;
            for k in 0..count {
                let at = ends[0].towards(ends[1], (k as f64 + 0.5) / count as f64);
                let turn = (along.y.atan2(along.x).rem_euclid(PI) / (PI / 8.0)).round() as i64 % 8;
                let cell = |x: f64| (x / STEP_M).floor() as i64;
                let half = along.left() * (0.5 * length_m);
                let Some(pass) = walkable([at - half, at + half], site.boundary.as_ref(), &walls) else {
                    continue;
                };
                if seen.insert((cell(at.x), cell(at.y), turn)) {
                    places.push(pass);
                }
            }
        }
    }
    places
}

/// The part of a pass about its middle that lies within the boundary and outside walls, if enough of it does.
fn walkable(ends: [Point; 2], boundary: Option<&Polygon>, walls: &[&Polygon]) -> Option<[Point; 2]> {
    let middle = |(from, to): &(f64, f64)| *from < 0.5 && 0.5 < *to;
    let (mut from, mut to) = match boundary {
        None => (0.0, 1.0),
        Some(ground) => ground.inside_intervals(ends[0], ends[1]).into_iter().find(middle)?,
    };
    for (enters, leaves) in walls.iter().flat_map(|wall| wall.inside_intervals(ends[0], ends[1])) {
        if leaves <= 0.5 {
            from = from.max(leaves);
        } else if enters >= 0.5 {
            to = to.min(enters);
        } else {
            return None;
        }
    }
    let at = |t: f64| {
        if t <= 0.0 {
            ends[0]
        } else if t >= 1.0 {
            ends[1]
        } else {
            ends[0].towards(ends[1], t)
        }
    };
    (to - from >= LEAST_SHARE).then(|| [at(from), at(to)])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(low: f64, high: f64) -> Polygon {
        Polygon::new([[low, low], [high, low], [high, high], [low, high]].map(Point::from).to_vec())
    }

    fn pass(x: f64, y: f64) -> [Point; 2] {
        [Point::new(x - 0.75, y), Point::new(x + 0.75, y)]
    }

    /// By hand, to 1e-12. Planted fault: the pass as it was before it was clipped leaves the boundary by a quarter of a metre.
    #[test]
    fn a_pass_stays_within_the_boundary() {
        let ground = square(0.0, 10.0);
        let kept = walkable(pass(0.5, 5.0), Some(&ground), &[]).expect("5 parts in 6 are left");
        assert!(kept[0].distance(Point::new(0.0, 5.0)) < 1e-12 && kept[1] == pass(0.5, 5.0)[1]);
        assert!(!ground.covers(pass(0.5, 5.0)[0], pass(0.5, 5.0)[1]) && ground.covers(kept[0], kept[1]));
        assert_eq!(walkable(pass(5.0, 5.0), Some(&ground), &[]), Some(pass(5.0, 5.0)), "as it was");
        assert_eq!(walkable(pass(0.5, 5.0), None, &[]), Some(pass(0.5, 5.0)), "no boundary, no clip");
    }

    /// A stump does not cross a line. Planted fault: half of the pass would be left, and would do for a least share of a half.
    #[test]
    fn a_pass_that_is_cut_short_is_dropped() {
        let ground = square(0.0, 10.0);
        assert!(walkable(pass(0.3, 5.0), Some(&ground), &[]).is_some(), "1.05 of 1.5 m");
        assert_eq!(walkable(pass(0.2, 5.0), Some(&ground), &[]), None, "0.95 of 1.5 m");
        assert_eq!(walkable(pass(0.0, 5.0), Some(&ground), &[]), None, "half of it");
        assert_eq!(walkable(pass(-0.1, 5.0), Some(&ground), &[]), None, "its middle is outside");
    }

    /// Planted fault: walls left out keep the whole pass.
    #[test]
    fn a_pass_ends_at_a_wall() {
        let (ground, house) = (square(0.0, 10.0), square(4.0, 6.0));
        let kept = walkable(pass(3.5, 5.0), Some(&ground), &[&house]).expect("5 parts in 6 are left");
        assert!(kept[1].distance(Point::new(4.0, 5.0)) < 1e-12);
        assert_eq!(walkable(pass(3.5, 5.0), Some(&ground), &[]), Some(pass(3.5, 5.0)));
        let kept = walkable(pass(6.5, 5.0), None, &[&house]).expect("from the other side");
        assert!(kept[0].distance(Point::new(6.0, 5.0)) < 1e-12);
        assert_eq!(walkable(pass(5.0, 5.0), Some(&ground), &[&house]), None, "under the house");
    }
}
