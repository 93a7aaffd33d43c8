//! Shortest ways round obstacles: the visibility graph of their corners (Lozano-Perez and Wesley 1979), searched by A*.
//!
//! The bends stand off the corners by a clearance. Where there is no room for it (a passage, a corner by the lawn's
//! edge) a bend yields towards its corner, because installers squeeze through too. Straight legs need no clearance,
//! they only must not enter an obstacle: heads stand by walls.

use super::bounds::{Bounds, apart, bounds_of};
use super::offset_corners::off_corners;
use super::{Point, Polygon};

/// The shares of the clearance tried in turn for a bend that has no room at the full one. Common practice, no source.
const SQUEEZE: [f64; 4] = [1.0, 0.5, 0.25, 0.1];

/// Free ways on ground with obstacles, precomputed for many questions.
#[derive(Clone, Debug)]
pub struct Ways {
    obstacles: Vec<(Bounds, Polygon)>,
    inside: Option<Polygon>,
    bends: Vec<Point>,
    /// For each bend, the bends it sees and how far off they are, metres.
    sees: Vec<Vec<(usize, f64)>>,
}

impl Ways {
    /// Prepares the ways round `obstacles`, with bends `clearance_m` metres off their corners, and within the closed
    /// polygon `inside` if one is given.
    pub fn new(obstacles: &[Polygon], clearance_m: f64, inside: Option<&Polygon>) -> Self {
        Self::at_clearances(obstacles.iter().map(|obstacle| (obstacle, clearance_m)), clearance_m, inside)
    }

    /// The same where each obstacle has a clearance of its own, and the corners of `inside` have `inside_clearance_m`.
    pub fn at_clearances<'a>(
        obstacles: impl Iterator<Item = (&'a Polygon, f64)> + Clone,
        inside_clearance_m: f64,
        inside: Option<&Polygon>,
    ) -> Self {
        let mut ways = Self {
            obstacles: obstacles.clone().map(|(o, _)| (o.bounds(), o.clone())).collect(),
            inside: inside.cloned(),
            bends: Vec::new(),
            sees: Vec::new(),
        };
        let mut stands = Vec::new();
        for (obstacle, clearance_m) in obstacles {
            stands.extend(off_corners(&obstacle.turning_corners(), clearance_m));
        }
        if let Some(inside) = inside {
            // Seen from within, the outline is the obstacle: its reflex corners are bends.
            let mut ring = inside.turning_corners();
            ring.reverse();
            stands.extend(off_corners(&ring, inside_clearance_m));
        }
        for (corner, off) in stands {
            let bend = SQUEEZE.iter().map(|&share| corner.towards(off, share)).find(|&p| ways.free(p));
            ways.bends.extend(bend);
        }
        ways.sees = vec![Vec::new(); ways.bends.len()];
        for i in 0..ways.bends.len() {
            for j in i + 1..ways.bends.len() {
                let (a, b) = (ways.bends[i], ways.bends[j]);
                if ways.clear(a, b) {
                    let length = a.distance(b);
                    ways.sees[i].push((j, length));
                    ways.sees[j].push((i, length));
                }
            }
        }
        ways
    }

    /// Whether a bend may stand at `p`: in no obstacle's interior, and inside.
    fn free(&self, p: Point) -> bool {
        let in_obstacle = self.obstacles.iter().any(|(bounds, obstacle)| {
            !apart(*bounds, (p, p)) && obstacle.contains(p) && obstacle.distance_to_boundary(p) > 1e-9
        });
        !in_obstacle && self.inside.as_ref().is_none_or(|inside| inside.contains(p))
    }

    /// Whether the straight leg a-b enters no obstacle and does not leave the ground.
    pub fn clear(&self, a: Point, b: Point) -> bool {
        let box_of_leg = bounds_of([a, b]);
        self.obstacles.iter().all(|(bounds, obstacle)| apart(*bounds, box_of_leg) || !obstacle.blocks(a, b))
            && self.inside.as_ref().is_none_or(|inside| inside.covers(a, b))
    }

    /// The shortest way over clear legs, both ends included, or `None` when there is none: an end inside an obstacle,
    /// off the ground, or shut in.
    pub fn shortest(&self, from: Point, to: Point) -> Option<Vec<Point>> {
        if self.clear(from, to) {
            return Some(vec![from, to]);
        }
        let n = self.bends.len();
        let mut search = Search { cost: vec![f64::INFINITY; n], before: vec![None; n], done: vec![false; n] };
        for (k, &bend) in self.bends.iter().enumerate() {
            if self.clear(from, bend) {
                search.cost[k] = from.distance(bend);
            }
        }
        let mut best: Option<(usize, f64)> = None;
        while let Some((here, least)) = search.most_promising(|k| self.bends[k].distance(to)) {
            if best.is_some_and(|(_, total)| total <= least) {
                break; // straight-line distance never overstates what is left to go
            }
            search.done[here] = true;
            if self.clear(self.bends[here], to) {
                best = Some((here, least));
                continue; // any other way on from here is longer
            }
            for &(next, length) in &self.sees[here] {
                let cost = search.cost[here] + length;
                if cost < search.cost[next] {
                    search.cost[next] = cost;
                    search.before[next] = Some(here);
                }
            }
        }
        let (last, _) = best?;
        let mut way = vec![to];
        let mut step = Some(last);
        while let Some(k) = step {
            way.push(self.bends[k]);
            step = search.before[k];
        }
        way.push(from);
        way.reverse();
        Some(way)
    }
}

/// A* over a dense set of nodes: some tens of bends, for which scanning beats a heap.
struct Search {
    cost: Vec<f64>,
    before: Vec<Option<usize>>,
    done: Vec<bool>,
}

impl Search {
    /// The open node with the least cost so far plus distance to go, and that sum.
    fn most_promising(&self, to_go: impl Fn(usize) -> f64) -> Option<(usize, f64)> {
        (0..self.cost.len())
            .filter(|&k| !self.done[k] && self.cost[k].is_finite())
            .map(|k| (k, self.cost[k] + to_go(k)))
            .min_by(|a, b| a.1.total_cmp(&b.1))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rng::stream;
    use approx::assert_relative_eq;
    use rand::RngExt;

    fn p(x: f64, y: f64) -> Point {
        Point::new(x, y)
    }

    fn outline(corners: &[[f64; 2]]) -> Polygon {
        Polygon::new(corners.iter().map(|&c| c.into()).collect())
    }

    fn length(way: &[Point]) -> f64 {
        way.windows(2).map(|leg| leg[0].distance(leg[1])).sum()
    }

    fn square() -> Polygon {
        outline(&[[0., 0.], [2., 0.], [2., 2.], [0., 2.]])
    }

    #[test]
    fn round_a_square_the_way_bends_at_its_corners() {
        // Rounding only: 1e-12 relative.
        let tight = Ways::new(&[square()], 0.0, None);
        let way = tight.shortest(p(-1., 1.), p(3., 1.)).expect("a way");
        assert_relative_eq!(length(&way), 2.0 + 2.0 * 2f64.sqrt(), max_relative = 1e-12);
        let wide = Ways::new(&[square()], 0.5, None);
        let way = wide.shortest(p(-1., 1.), p(3., 1.)).expect("a way");
        assert_relative_eq!(length(&way), 3.0 + 2.0 * (0.25f64 + 1.5 * 1.5).sqrt(), max_relative = 1e-12);
        assert_eq!(wide.shortest(p(-1., 3.), p(3., 3.)).map(|w| w.len()), Some(2), "nothing in the way");
        // A head against the wall goes along it and round, without clearance on its own leg.
        let way = wide.shortest(p(0., 1.), p(3., 1.)).expect("a way");
        assert_eq!(way.len(), 4);
        assert!(wide.shortest(p(1., 1.), p(3., 1.)).is_none(), "an end in the building");
    }

    #[test]
    fn round_an_ell_the_way_skips_the_inner_corner() {
        let ell = outline(&[[0., 0.], [4., 0.], [4., 1.], [1., 1.], [1., 3.], [0., 3.]]);
        let ways = Ways::new(&[ell], 0.0, None);
        // From the notch round the top of the tall arm; both ends see a corner of it.
        let way = ways.shortest(p(2., 2.), p(-1., 2.)).expect("a way");
        assert_relative_eq!(length(&way), 2f64.sqrt() + 1.0 + 2f64.sqrt(), max_relative = 1e-12);
    }

    #[test]
    fn the_way_stays_inside_and_bends_at_reflex_corners() {
        let lawn = outline(&[[0., 0.], [5., 0.], [5., 4.], [4., 4.], [4., 1.], [1., 1.], [1., 4.], [0., 4.]]);
        let ways = Ways::new(&[], 0.0, Some(&lawn));
        let way = ways.shortest(p(0.5, 4.), p(4.5, 4.)).expect("a way");
        assert_relative_eq!(length(&way), 3.0 + 2.0 * (0.25f64 + 9.0).sqrt(), max_relative = 1e-12);
        assert!(ways.shortest(p(0.5, 4.), p(2.5, 3.)).is_none(), "an end off the lawn");
        assert!(ways.clear(p(1., 1.), p(4., 1.)) && !ways.clear(p(0.5, 3.), p(4.5, 3.)));
        // The short way round the square leaves the ground: the long one is taken.
        let ground = outline(&[[-2., -5.], [4., -5.], [4., 1.9], [-2., 1.9]]);
        let way =
            Ways::new(&[square()], 0.0, Some(&ground)).shortest(p(-1., 1.5), p(3., 1.5)).expect("a way");
        assert_relative_eq!(length(&way), 2.0 + 2.0 * (1.0f64 + 2.25).sqrt(), max_relative = 1e-12);
    }

    #[test]
    fn a_passage_narrower_than_the_clearance_is_still_a_way() {
        let left = outline(&[[-10., 0.], [-0.2, 0.], [-0.2, 1.], [-10., 1.]]);
        let right = outline(&[[0.2, 0.], [10., 0.], [10., 1.], [0.2, 1.]]);
        let ways = Ways::new(&[left, right], 0.45, None);
        let way = ways.shortest(p(-3., -1.), p(-3., 2.)).expect("a way");
        assert!(length(&way) < 9.0, "{way:?}");
    }

    #[test]
    fn no_way_beats_exhaustive_search_over_the_same_legs() {
        // n = 60 grounds of 4 boxes, against all-pairs shortest paths (Floyd and Warshall) over the same legs; 1e-9 m.
        let mut rng = stream(21, 0);
        for _ in 0..60 {
            let boxes: Vec<Polygon> = (0..4)
                .map(|_| {
                    let (x, y) = (rng.random_range(0.0..8.0), rng.random_range(0.0..8.0));
                    let (w, h) = (rng.random_range(0.5..4.0), rng.random_range(0.5..4.0));
                    outline(&[[x, y], [x + w, y], [x + w, y + h], [x, y + h]])
                })
                .collect();
            let ways = Ways::new(&boxes, 0.2, None);
            let (from, to) = (p(-1., rng.random_range(0.0..9.0)), p(13., rng.random_range(0.0..9.0)));
            let mut nodes = ways.bends.clone();
            nodes.extend([from, to]);
            let n = nodes.len();
            let mut d = vec![vec![f64::INFINITY; n]; n];
            for i in 0..n {
                for j in 0..n {
                    if i == j || ways.clear(nodes[i], nodes[j]) {
                        d[i][j] = nodes[i].distance(nodes[j]);
                    }
                }
            }
            for k in 0..n {
                for i in 0..n {
                    for j in 0..n {
                        d[i][j] = d[i][j].min(d[i][k] + d[k][j]);
                    }
                }
            }
            let way = ways.shortest(from, to).expect("open ground");
            assert_eq!((way[0], way[way.len() - 1]), (from, to));
            assert!(way.windows(2).all(|leg| ways.clear(leg[0], leg[1])));
            assert_relative_eq!(length(&way), d[n - 2][n - 1], epsilon = 1e-9);
        }
    }
}
