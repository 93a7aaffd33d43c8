//! The hole that will be dug: where the root ball of a tree needs more than was drawn, the hole is as wide and deep as the
//! ball needs, and what was drawn is kept beside it. A chance of the hole drawn would be that of a hole nobody digs.

use super::document::Method;
use super::items::{Dig, Drawn, Plant};
use super::shape::DigShape;
use crate::geometry::{Point, Polygon, convex_hull, distance_to_segment};
use crate::planting::{BallTable, RootBall, TableError, WIDE, root_ball_of_caliper, root_ball_of_container};
use std::f64::consts::PI;

const M_PER_IN: f64 = 0.0254;

/// Corners of the polygon that stands for a round hole where a pit is widened. Numerical choice: it is wider by less than one
/// part in a hundred.
const CORNERS: usize = 24;

impl Plant {
    /// The hole that its ball needs, three balls wide, by caliper or container: `None` where neither is given.
    pub fn hole(&self) -> Option<Result<RootBall, TableError>> {
        match (self.caliper_m, self.container) {
            (Some(caliper_m), _) => {
                Some(root_ball_of_caliper(caliper_m / M_PER_IN, BallTable::ShadeTree, WIDE))
            }
            (None, Some(number)) => Some(root_ball_of_container(number, None, WIDE)),
            (None, None) => None,
        }
    }
}

impl Dig {
    /// A dig for a tree: drawn so, and dug as its ball needs it.
    pub fn for_tree(id: String, shape: DigShape, depth_m: f64, method: Method, tree: Option<Plant>) -> Self {
        Self { id, shape, depth_m, method, tree, drawn: None }.into_dug()
    }

    /// The dig as it will be dug for its tree.
    pub(super) fn into_dug(self) -> Self {
        let needed = self.tree.as_ref().and_then(Plant::hole).and_then(Result::ok);
        let (stem, shape) = (self.stem(), &self.shape);
        match needed {
            Some(ball) if ball.needs_more_than(shape.round_width_m(stem), self.depth_m) => Self {
                shape: shape.widened(stem, 0.5 * ball.hole_width_m),
                depth_m: self.depth_m.max(ball.hole_depth_m),
                drawn: Some(Drawn { shape: shape.clone(), depth_m: self.depth_m }),
                ..self
            },
            _ => self,
        }
    }

    /// The dig as it was drawn.
    pub fn as_drawn(&self) -> Self {
        match &self.drawn {
            None => self.clone(),
            Some(drawn) => {
                Self { shape: drawn.shape.clone(), depth_m: drawn.depth_m, drawn: None, ..self.clone() }
            }
        }
    }

    /// Where its tree stands: the middle of what was drawn.
    pub fn stem(&self) -> Point {
        self.drawn.as_ref().map_or(&self.shape, |drawn| &drawn.shape).footprint().reference()
    }

    /// The same dig elsewhere.
    #[must_use]
    pub fn moved(&self, by: Point) -> Self {
        let drawn = self.drawn.as_ref().map(|it| Drawn { shape: it.shape.moved(by), depth_m: it.depth_m });
        Self { shape: self.shape.moved(by), drawn, ..self.clone() }
    }
}

impl DigShape {
    /// Width of the widest round hole about a place that lies within it, metres; zero where the place itself does not.
    pub fn round_width_m(&self, at: Point) -> f64 {
        let radius = match self {
            Self::Disc { centre, radius_m } => radius_m - centre.distance(at),
            Self::Trench { path, width_m } => {
                let aside = distance_to_path(path, at);
                let to_end = ends(path).map(|end| end.distance(at)).fold(f64::INFINITY, f64::min);
                (0.5 * width_m).min(to_end) - aside
            }
            Self::Pit { outline } if outline.contains(at) => outline.distance_to_boundary(at),
            Self::Pit { .. } => 0.0,
        };
        (2.0 * radius).max(0.0)
    }

    /// The shape widened until a round hole about a place lies within it: a hole and a trench stay what they are, a pit gets
    /// the hull of both.
    fn widened(&self, at: Point, radius_m: f64) -> Self {
        match self {
            Self::Disc { centre, radius_m: drawn } => {
                Self::Disc { centre: *centre, radius_m: drawn.max(radius_m + centre.distance(at)) }
            }
            Self::Trench { path, width_m } => {
                let aside = distance_to_path(path, at);
                let half = radius_m + aside;
                Self::Trench {
                    path: lengthened(path, |end| (half + aside - end.distance(at)).max(0.0)),
                    width_m: width_m.max(2.0 * half),
                }
            }
            Self::Pit { outline } => {
                let reach = radius_m / (PI / CORNERS as f64).cos();
                let round = (0..CORNERS).map(|k| {
                    let angle = 2.0 * PI * k as f64 / CORNERS as f64;
                    at + Point::new(angle.cos(), angle.sin()) * reach
                });
                let all: Vec<Point> = outline.ring.iter().copied().chain(round).collect();
                Self::Pit { outline: Polygon::new(convex_hull(&all)) }
            }
        }
    }
}

fn ends(path: &[Point]) -> impl Iterator<Item = Point> {
    path.first().into_iter().chain(path.last()).copied()
}

fn distance_to_path(path: &[Point], at: Point) -> f64 {
    path.windows(2).map(|leg| distance_to_segment(at, leg[0], leg[1])).fold(f64::INFINITY, f64::min)
}

/// The path with both ends drawn out along their legs.
fn lengthened(path: &[Point], by: impl Fn(Point) -> f64) -> Vec<Point> {
    let mut path = path.to_vec();
    path.dedup();
    let n = path.len();
    if n < 2 {
        return path;
    }
    let out = |end: Point, next: Point| end + (end - next).direction().unwrap_or_default() * by(end);
    let (first, last) = (out(path[0], path[1]), out(path[n - 1], path[n - 2]));
    (path[0], path[n - 1]) = (first, last);
    path
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rng::stream;
    use crate::site::document::TreeSize;
    use rand::RngExt;

    fn dig(shape: DigShape, depth_m: f64, caliper_m: Option<f64>) -> Dig {
        let tree = Some(Plant { caliper_m, ..Plant::of_size(TreeSize::Large) });
        Dig::for_tree("d".to_owned(), shape, depth_m, Method::Hand, tree)
    }

    /// 2 in caliper: 24 in ball, 72 in hole, 13.84 in deep (ANSI Z60.1 and CSU GardenNotes 633, by hand).
    #[test]
    fn a_hole_drawn_too_small_is_dug_as_its_ball_needs() {
        let centre = Point::new(3.0, 4.0);
        let small = dig(DigShape::Disc { centre, radius_m: 0.3 }, 0.3, Some(0.0508));
        let DigShape::Disc { radius_m, .. } = small.shape else { panic!("a hole stays a hole") };
        assert!((radius_m - 36.0 * 0.0254).abs() < 1e-9 && (small.depth_m - 13.84 * 0.0254).abs() < 1e-9);
        assert_eq!(small.as_drawn().shape, DigShape::Disc { centre, radius_m: 0.3 });
        assert_eq!(small.moved(Point::new(1.0, 0.0)).stem(), Point::new(4.0, 4.0));
        let wide = dig(DigShape::Disc { centre, radius_m: 1.0 }, 0.5, Some(0.0508));
        assert_eq!(wide.drawn, None, "one that is large enough stays as drawn");
        assert_eq!(dig(DigShape::Disc { centre, radius_m: 0.3 }, 0.3, None).drawn, None);
    }

    /// 300 random trenches and pits: the round hole about the stem lies within what is dug, and so does what was drawn.
    /// Planted fault: the shape as drawn does not hold it.
    #[test]
    fn whatever_is_drawn_the_hole_of_the_ball_lies_within_what_is_dug() {
        let mut rng = stream(61, 0);
        let mut faulty = 0;
        for k in 0..300 {
            let mut q = || Point::new(rng.random_range(0.0..3.0), rng.random_range(0.0..3.0));
            let corners = [q(), q(), q()];
            let shape = if k % 2 == 0 {
                DigShape::Trench { path: corners[..2 + k / 2 % 2].to_vec(), width_m: 0.4 }
            } else {
                DigShape::Pit { outline: Polygon::new(convex_hull(&corners)) }
            };
            let dug = dig(shape.clone(), 0.3, Some(0.0508));
            let (stem, radius) = (dug.stem(), 36.0 * 0.0254 - 0.005);
            let (ground, drawn) = (dug.shape.footprint(), shape.footprint());
            for step in 0..72 {
                let angle = f64::from(step) * PI / 36.0;
                let rim = stem + Point::new(angle.cos(), angle.sin()) * radius;
                assert!(ground.distance_to_point(rim) < 1e-9, "{shape:?} {rim:?}");
                faulty += usize::from(drawn.distance_to_point(rim) > 1e-9);
            }
            assert!(
                drawn.parts().iter().flat_map(|p| &p.corners).all(|&c| ground.distance_to_point(c) < 1e-9)
            );
        }
        assert!(faulty > 10_000, "{faulty}");
    }
}
