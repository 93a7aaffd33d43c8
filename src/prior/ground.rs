//! The ground that pipe is laid through: what blocks a way, what it costs to cross, and the ways round.
//!
//! No run passes through a building or a pool. One that would gets the shortest way round instead; one that crosses
//! paving, or leaves the site, may be sleeved straight at a price or go round.

use crate::geometry::{Point, Polygon, ShiftedPath, Ways};
use crate::layout::Route;

/// Paths shorter than this inside paving or outside the boundary cost nothing: the accuracy of a surveyed edge.
const FREE_LENGTH_M: f64 = 0.3;

/// A way round is offered when it is at most this many times as long as the straight one plus the clearance's detour.
const LONGEST_DETOUR: f64 = 3.0;

/// Obstacles and boundary, ready for questions about ways.
pub struct Ground {
    solids: Vec<Polygon>,
    paving: Vec<Polygon>,
    boundary: Option<Polygon>,
    round_solids: Ways,
    round_all: Ways,
    crossing_factor: f64,
}

/// How the ways of one kind of run are weighted.
#[derive(Clone, Copy, Debug)]
pub struct Manner {
    /// Share of elbowed ways, either corner alike.
    pub elbow_share: f64,
    /// Both legs of an elbow are longer than this, metres.
    pub elbow_leg_m: f64,
    /// Decay of weight per metre of detour.
    pub detour_rate_per_m: f64,
    /// Grid bearing, radians.
    pub bearing_rad: f64,
}

/// One weighted way.
pub struct Way {
    /// Corners from end to end.
    pub corners: Vec<Point>,
    /// Weight relative to an unhindered run.
    pub weight: f64,
}

impl Ground {
    /// The ground with these solid obstacles (buildings, pools), paving and boundary.
    pub fn new(
        solids: Vec<Polygon>,
        paving: Vec<Polygon>,
        boundary: Option<Polygon>,
        clearance_m: f64,
        crossing_factor: f64,
    ) -> Self {
        let all: Vec<Polygon> = solids.iter().chain(&paving).cloned().collect();
        let round_solids = Ways::new(&solids, clearance_m, None);
        let round_all = Ways::new(&all, clearance_m, None);
        Self { solids, paving, boundary, round_solids, round_all, crossing_factor }
    }

    /// Index of a solid obstacle that a straight way would pass through.
    pub fn blocked_by(&self, a: Point, b: Point) -> Option<usize> {
        self.solids.iter().position(|solid| solid.blocks(a, b))
    }

    /// The parts of the line from a to b outside all solids, as intervals of 0 to 1.
    pub fn clear_intervals(&self, a: Point, b: Point) -> Vec<(f64, f64)> {
        let mut blocked: Vec<(f64, f64)> =
            self.solids.iter().flat_map(|solid| solid.inside_intervals(a, b)).collect();
        blocked.sort_by(|x, y| x.0.total_cmp(&y.0));
        let mut clear = Vec::new();
        let mut from = 0.0;
        for (start, end) in blocked {
            if start > from {
                clear.push((from, start));
            }
            from = f64::max(from, end);
        }
        if from < 1.0 {
            clear.push((from, 1.0));
        }
        clear
    }

    /// Price of a path as a weight factor: one crossing of paving, one way out of the site.
    pub fn price(&self, corners: &[Point]) -> f64 {
        let legs = || corners.windows(2).map(|w| (w[0], w[1]));
        let inside = |polygon: &Polygon| -> f64 {
            legs().map(|(a, b)| spans(&polygon.inside_intervals(a, b)) * a.distance(b)).sum()
        };
        let mut price = 1.0;
        if self.paving.iter().map(inside).sum::<f64>() > FREE_LENGTH_M {
            price *= self.crossing_factor;
        }
        if let Some(boundary) = &self.boundary {
            let length: f64 = legs().map(|(a, b)| a.distance(b)).sum();
            if length - inside(boundary) > FREE_LENGTH_M {
                price *= self.crossing_factor;
            }
        }
        price
    }

    /// Every way a pipe may take between two points. Empty if there is none.
    pub fn ways(&self, a: Point, b: Point, manner: &Manner) -> Vec<Way> {
        let straight_m = a.distance(b);
        let mut plain = vec![(vec![a, b], 1.0)];
        let axis = Point::unit(manner.bearing_rad);
        let along = axis * (b - a).dot(axis);
        let across = b - a - along;
        if manner.elbow_share > 0.0 && along.norm().min(across.norm()) > manner.elbow_leg_m {
            plain[0].1 = 1.0 - manner.elbow_share;
            plain.push((vec![a, a + along, b], 0.5 * manner.elbow_share));
            plain.push((vec![a, a + across, b], 0.5 * manner.elbow_share));
        }
        let (mut ways, mut lost, mut priced) = (Vec::new(), 0.0, 0.0);
        for (corners, share) in plain {
            if corners.windows(2).any(|w| self.blocked_by(w[0], w[1]).is_some()) {
                lost += share;
                continue;
            }
            let price = self.price(&corners);
            if price < 1.0 {
                priced += share;
            }
            ways.push(Way { corners, weight: share * price });
        }
        let mut detour = |round: &Ways, share: f64, longest_m: f64| {
            let Some(corners) = round.shortest(a, b) else { return };
            let length_m: f64 = corners.windows(2).map(|w| w[0].distance(w[1])).sum();
            if length_m <= longest_m {
                let decay = (-manner.detour_rate_per_m * (length_m - straight_m)).exp();
                let weight = share * decay * self.price(&corners);
                ways.push(Way { corners, weight });
            }
        };
        if lost > 0.0 {
            detour(&self.round_solids, lost, f64::INFINITY);
        }
        if priced > 0.0 && lost < 1.0 {
            detour(&self.round_all, priced, LONGEST_DETOUR * straight_m + 2.0);
        }
        ways
    }

    /// Turns weighted ways into a run's routes and their total weight; `None` if nothing is left.
    pub fn routes(&self, ways: Vec<Way>) -> Option<(Vec<Route>, f64)> {
        let total: f64 = ways.iter().map(|way| way.weight).sum();
        if total <= 0.0 {
            return None;
        }
        let route = |way: Way| Route {
            share: way.weight / total,
            path: ShiftedPath::new(&way.corners),
            paved: self.paved(&way.corners),
        };
        Some((ways.into_iter().filter(|way| way.weight > 0.0).map(route).collect(), total))
    }

    /// For each leg, its parts under paving; empty when there are none.
    fn paved(&self, corners: &[Point]) -> Vec<Vec<(f64, f64)>> {
        let leg = |w: &[Point]| {
            let mut parts: Vec<_> = self.paving.iter().flat_map(|p| p.inside_intervals(w[0], w[1])).collect();
            crate::geometry::merge_intervals(&mut parts);
            parts
        };
        let legs = corners.windows(2).filter(|w| w[0].distance(w[1]) > 0.0);
        let paved: Vec<_> = legs.map(leg).collect();
        if paved.iter().all(Vec::is_empty) { Vec::new() } else { paved }
    }
}

fn spans(intervals: &[(f64, f64)]) -> f64 {
    intervals.iter().map(|(start, end)| end - start).sum()
}
