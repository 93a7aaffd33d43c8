//! Standing trees: installers keep pipe off the stems, and go round.
//!
//! A tree is a soft obstacle: pipe may be older than the tree, or roots were cut. A way that passes too near is priced,
//! and the way round the stem is offered beside it. Pipe to a head that stands under the tree has to come near, so the
//! keep-off of a way is no more than a share of the distance from the stem to the nearer of the way's ends.

use crate::geometry::{Point, Polygon, convex_hull, distance_to_segment};
use crate::settings::Settings;
use crate::site;
use std::f64::consts::FRAC_PI_8;

/// A way that comes this much nearer than the keep-off still keeps it, metres: rounding.
const ROUNDING_M: f64 = 1e-6;

/// A way round some trees takes in further trees that it passes at most this often. Numerical choice.
const GROWTHS: usize = 4;

/// Ways through a grove are looked for among this many trees; they pay for the others that they pass. Numerical choice.
const MOST_OUTLINES: usize = 6;

/// The stems of a site.
#[derive(Default)]
pub struct Trees {
    /// Each stem with its keep-off from the middle, metres.
    stems: Vec<(Point, f64)>,
    factor: f64,
    end_share: f64,
}

impl Trees {
    /// The trees of a site under its settings.
    pub fn new(trees: &[site::Tree], settings: &Settings) -> Self {
        let stem = |tree: &site::Tree| (tree.at, 0.5 * tree.stem_diameter_m + settings.tree_clearance_m);
        Self {
            stems: trees.iter().map(stem).collect(),
            factor: settings.tree_factor,
            end_share: settings.tree_end_share,
        }
    }

    /// Price of a path as a weight factor: one factor for each stem that it passes too near.
    pub fn hindrance(&self, corners: &[Point]) -> f64 {
        let (Some(&a), Some(&b)) = (corners.first(), corners.last()) else { return 1.0 };
        let passed = self.stems.iter().filter(|stem| self.is_passed(stem, a, b, corners));
        passed.fold(1.0, |price, _| price * self.factor)
    }

    /// The shorter of the ways round the trees between `a` and `b`, on one side or the other, that `is_free` allows:
    /// along the hull of both ends and of the octagons about the stems. `None` if that does not keep off all trees.
    pub fn round(&self, a: Point, b: Point, is_free: impl Fn(&[Point]) -> bool) -> Option<Vec<Point>> {
        let ways = [false, true].into_iter().filter_map(|on_left| self.round_side(a, b, on_left));
        let free = ways.filter(|(way, _)| is_free(way));
        free.min_by(|(_, p), (_, q)| p.total_cmp(q)).map(|(way, _)| way)
    }

    /// The way on one side, with its length.
    fn round_side(&self, a: Point, b: Point, on_left: bool) -> Option<(Vec<Point>, f64)> {
        let (mut way, mut held) = (vec![a, b], vec![a, b]);
        for _ in 0..GROWTHS {
            let passed: Vec<_> = self.stems.iter().filter(|stem| self.is_passed(stem, a, b, &way)).collect();
            if passed.is_empty() {
                let length_m = way.windows(2).map(|leg| leg[0].distance(leg[1])).sum();
                return Some((way, length_m));
            }
            held.extend(passed.into_iter().flat_map(|&(at, keep_m)| self.octagon(at, keep_m, a, b)));
            let mut ring = convex_hull(&held);
            let start = ring.iter().position(|&p| p == a)?;
            ring.rotate_left(start);
            let end = ring.iter().position(|&p| p == b)?;
            // Counter-clockwise from a: first the side to the right of a-b, then that to the left.
            way = if on_left {
                std::iter::once(a).chain(ring.drain(end..).rev()).collect()
            } else {
                ring.drain(..=end).collect()
            };
        }
        None
    }

    /// Octagons about the stems near the straight line between `a` and `b`, the nearest first and no more than
    /// [`MOST_OUTLINES`], for ways between them: their edges are as near as such a way should come.
    pub fn outlines(&self, a: Point, b: Point, nearby_m: f64) -> Vec<Polygon> {
        let gap = |&(at, keep_m): &(Point, f64)| (distance_to_segment(at, a, b) - keep_m, at, keep_m);
        let mut near: Vec<_> = self.stems.iter().map(gap).filter(|(gap_m, ..)| *gap_m < nearby_m).collect();
        near.sort_by(|p, q| p.0.total_cmp(&q.0));
        near.truncate(MOST_OUTLINES);
        let outline = |(_, at, keep_m)| Polygon::new(self.octagon(at, keep_m, a, b).to_vec());
        near.into_iter().map(outline).filter(|outline| outline.area() > ROUNDING_M).collect()
    }

    fn octagon(&self, at: Point, keep_m: f64, a: Point, b: Point) -> [Point; 8] {
        let corner_m = self.keep_off(at, keep_m, a, b) / FRAC_PI_8.cos();
        let (near, far) = (corner_m * FRAC_PI_8.sin(), corner_m * FRAC_PI_8.cos());
        [
            (far, near),
            (near, far),
            (-near, far),
            (-far, near),
            (-far, -near),
            (-near, -far),
            (near, -far),
            (far, -near),
        ]
        .map(|(x, y)| at + Point::new(x, y))
    }

    fn is_passed(&self, &(at, keep_m): &(Point, f64), a: Point, b: Point, corners: &[Point]) -> bool {
        let near = |leg: &[Point]| distance_to_segment(at, leg[0], leg[1]) < keep_m - ROUNDING_M;
        if !corners.windows(2).any(near) {
            return false;
        }
        let keep_m = self.keep_off(at, keep_m, a, b) - ROUNDING_M;
        corners.windows(2).any(|leg| distance_to_segment(at, leg[0], leg[1]) < keep_m)
    }

    fn keep_off(&self, at: Point, keep_m: f64, a: Point, b: Point) -> f64 {
        keep_m.min(self.end_share * at.distance(a).min(at.distance(b)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tree(x: f64, y: f64) -> site::Tree {
        site::Tree { at: Point::new(x, y), stem_diameter_m: 0.4 }
    }

    #[test]
    fn a_way_pays_once_for_each_stem_that_it_passes_too_near() {
        let trees = Trees::new(&[tree(5.0, 1.6), tree(9.0, -1.0), tree(9.0, 4.0)], &Settings::default());
        let way = |y: f64| [Point::new(0.0, y), Point::new(20.0, y)];
        assert_eq!(trees.hindrance(&way(0.0)), 0.3 * 0.3, "1.6 m and 1.0 m off the middle, keep-off 1.7 m");
        assert_eq!(trees.hindrance(&way(-0.2)), 0.3);
        assert_eq!(trees.hindrance(&way(7.0)), 1.0);
        assert_eq!(Trees::default().hindrance(&way(0.0)), 1.0);
    }

    #[test]
    fn a_head_under_the_tree_is_reached_without_a_price_and_from_the_far_side_with_one() {
        let trees = Trees::new(&[tree(0.0, 0.0)], &Settings::default());
        let head = Point::new(1.0, 0.0);
        assert_eq!(trees.hindrance(&[head, Point::new(6.0, 0.5)]), 1.0);
        assert_eq!(trees.hindrance(&[head, Point::new(-6.0, 0.5)]), 0.3);
        for outline in trees.outlines(head, Point::new(-6.0, 0.5), 1.0) {
            assert!(!outline.contains(head), "the way round has somewhere to start");
            assert!((outline.distance_to_boundary(Point::default()) - 0.6).abs() < 1e-12);
        }
    }

    #[test]
    fn the_way_round_a_group_is_clear_of_all_and_of_what_is_forbidden() {
        let trees = Trees::new(&[tree(4.0, 0.5), tree(5.5, -1.0), tree(6.5, 3.0)], &Settings::default());
        let (a, b) = (Point::new(0.0, 0.0), Point::new(12.0, 0.0));
        let way = trees.round(a, b, |_| true).expect("a way");
        assert_eq!((way[0], way[way.len() - 1], trees.hindrance(&way)), (a, b, 1.0));
        assert!(way[1..way.len() - 1].iter().all(|p| p.y < 0.0), "below is shorter: {way:?}");
        let above = |way: &[Point]| way.iter().all(|p| p.y > -1.0);
        let way = trees.round(a, b, above).expect("a way above");
        assert_eq!((way[0], way[way.len() - 1], trees.hindrance(&way)), (a, b, 1.0));
        assert!(above(&way) && way.len() > 3);
        assert_eq!(trees.round(a, b, |_| false), None);
        assert_eq!(trees.round(a, Point::new(0.0, 9.0), |_| true).map(|way| way.len()), Some(2));
    }
}
