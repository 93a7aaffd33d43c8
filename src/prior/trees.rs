//! Standing trees: installers keep pipe off the stems, and go round.
//!
//! A tree is a soft obstacle: pipe may be older than the tree, or roots were cut. A way that passes too near is priced,
//! and the way round the stem is offered beside it. Pipe to a head that stands under the tree has to come near, so the
//! keep-off of a way is no more than a share of the distance from the stem to the nearer of the way's ends.

use crate::evidence;
use crate::geometry::{Point, Polygon, distance_to_segment};
use crate::settings::Settings;
use std::f64::consts::FRAC_PI_8;

/// A way that comes this much nearer than the keep-off still keeps it, metres: rounding.
const ROUNDING_M: f64 = 1e-6;

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
    pub fn new(trees: &[evidence::Tree], settings: &Settings) -> Self {
        let stem = |tree: &evidence::Tree| (tree.at, 0.5 * tree.stem_diameter_m + settings.tree_clearance_m);
        Self {
            stems: trees.iter().map(stem).collect(),
            factor: settings.tree_factor,
            end_share: settings.tree_end_share,
        }
    }

    /// Price of a path as a weight factor: one factor for each stem that it passes too near.
    pub fn hindrance(&self, corners: &[Point]) -> f64 {
        let (Some(&first), Some(&last)) = (corners.first(), corners.last()) else { return 1.0 };
        let passed = self.stems.iter().filter(|&&(at, keep_m)| {
            let keep_m = self.keep_off(at, keep_m, first, last) - ROUNDING_M;
            corners.windows(2).any(|leg| distance_to_segment(at, leg[0], leg[1]) < keep_m)
        });
        passed.fold(1.0, |price, _| price * self.factor)
    }

    /// Octagons round the keep-offs for ways between `a` and `b`, whose edges are the nearest such a way should come.
    pub fn outlines(&self, a: Point, b: Point) -> Vec<Polygon> {
        let octagon = |&(at, keep_m): &(Point, f64)| {
            let corner_m = self.keep_off(at, keep_m, a, b) / FRAC_PI_8.cos();
            let corner = |k: u8| at + Point::unit(f64::from(2 * k + 1) * FRAC_PI_8) * corner_m;
            (corner_m > ROUNDING_M).then(|| Polygon::new((0..8).map(corner).collect()))
        };
        self.stems.iter().filter_map(octagon).collect()
    }

    fn keep_off(&self, at: Point, keep_m: f64, a: Point, b: Point) -> f64 {
        keep_m.min(self.end_share * at.distance(a).min(at.distance(b)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tree(x: f64, y: f64) -> evidence::Tree {
        evidence::Tree { at: Point::new(x, y), stem_diameter_m: 0.4 }
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
        for outline in trees.outlines(head, Point::new(-6.0, 0.5)) {
            assert!(!outline.contains(head), "the way round has somewhere to start");
            assert!((outline.distance_to_boundary(Point::default()) - 0.6).abs() < 1e-12);
        }
    }
}
