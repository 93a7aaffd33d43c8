//! The ground that pipe is laid through: what blocks a way, what it costs to cross, and the ways round.
//!
//! No run passes through a building or a pool. One that would gets the shortest way round instead; one that crosses
//! paving, or leaves the site, may be sleeved straight at a price or go round; one that passes a tree too near may do
//! so at a price or go round. On top of that comes what drawings and swept ground say: it changes how probable a way
//! is, not which ways there are.

mod outline;
pub mod silence;
pub mod sketches;
pub mod standing_trees;
pub mod way;

use crate::geometry::{Point, Polygon, ShiftedPath, Ways};
use crate::layout::{CLEAR, Route};
use outline::{Outline, SURE_M};
use silence::Silence;
use sketches::Drawings;
use standing_trees::Trees;
use way::{BareWay, Manner, Way, shared_out};

/// Paths shorter than this inside paving or outside the boundary cost nothing: the accuracy of a surveyed edge.
const FREE_LENGTH_M: f64 = 0.3;

/// Offsets are tried so far to either side for solids and the boundary, in such steps, metres. Numerical choice: beyond
/// four standard deviations of swing pipe; the last step may enter, as a wall is surveyed no better.
const OFFSET_FAR_M: f64 = 1.3;
const OFFSET_STEP_M: f64 = 0.1;

/// A way round is offered when it is at most this many times as long as the straight one plus the clearance's detour.
const LONGEST_DETOUR: f64 = 3.0;

/// Ways round trees are first looked for among obstacles this near to the box of both ends, metres. Numerical choice.
const NEARBY_M: f64 = 4.0;

/// Obstacles, boundary, trees, drawings and swept ground, ready for questions about ways.
pub struct Ground {
    solids: Vec<Outline>,
    paving: Vec<Outline>,
    boundary: Option<Outline>,
    round_solids: Ways,
    round_all: Ways,
    clearance_m: f64,
    crossing_factor: f64,
    trees: Trees,
    drawings: Drawings,
    silence: Silence,
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
        let (trees, drawings, silence) = (Trees::default(), Drawings::default(), Silence::default());
        let outlines = |polygons: Vec<Polygon>| polygons.into_iter().map(Outline::new).collect();
        Self {
            solids: outlines(solids),
            paving: outlines(paving),
            boundary: boundary.map(Outline::new),
            round_solids,
            round_all,
            clearance_m,
            crossing_factor,
            trees,
            drawings,
            silence,
        }
    }

    /// The same ground with trees to keep off, drawn lines, and swept ground that stayed silent.
    pub fn with_evidence(self, trees: Trees, drawings: Drawings, silence: Silence) -> Self {
        Self { trees, drawings, silence, ..self }
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

    /// Price of a path as a weight factor, before any drawing: crossings, and trees passed too near. Never above one.
    pub fn price(&self, corners: &[Point]) -> f64 {
        self.crossing(corners) * self.trees.hindrance(corners)
    }

    /// The drawn lines.
    pub fn drawings(&self) -> &Drawings {
        &self.drawings
    }

    /// What trees and drawings make of a straight step that a crew considers, as a weight factor.
    pub fn inclination(&self, corners: &[Point]) -> f64 {
        self.trees.hindrance(corners) * self.drawings.likelihood_ratio(corners)
    }

    /// One crossing of paving, one way out of the site.
    fn crossing(&self, corners: &[Point]) -> f64 {
        let mut price = 1.0;
        let paved_m = |exact| self.paving.iter().map(|paving| inside_m(paving, corners, exact)).sum();
        if exceeds(paved_m, FREE_LENGTH_M) {
            price *= self.crossing_factor;
        }
        if let Some(boundary) = &self.boundary
            && exceeds(|exact| length(corners) - inside_m(boundary, corners, exact), FREE_LENGTH_M)
        {
            price *= self.crossing_factor;
        }
        price
    }

    /// Every way a pipe may take between two points, its weight falling by `detour_rate_per_m` with each metre of
    /// detour. Empty if there is none.
    pub fn ways(&self, a: Point, b: Point, manner: &Manner, detour_rate_per_m: f64) -> Vec<Way> {
        let priced = |way: BareWay| {
            let weight = way.weight(detour_rate_per_m);
            Way { corners: way.corners, weight, evidence: way.evidence }
        };
        self.bare_ways(a, b, manner).into_iter().map(priced).collect()
    }

    /// The same before detours are priced.
    pub fn bare_ways(&self, a: Point, b: Point, manner: &Manner) -> Vec<BareWay> {
        let straight_m = a.distance(b);
        let mut plain = vec![(vec![a, b], 1.0)];
        let axis = Point::unit(manner.angle_rad);
        let along = axis * (b - a).dot(axis);
        let across = b - a - along;
        if manner.elbow_share > 0.0 && along.norm().min(across.norm()) > manner.elbow_leg_m {
            plain[0].1 = 1.0 - manner.elbow_share;
            plain.push((vec![a, a + along, b], 0.5 * manner.elbow_share));
            plain.push((vec![a, a + across, b], 0.5 * manner.elbow_share));
        }
        // Shares of the plain ways that solids block, that cross paving or the boundary, that pass trees.
        let (mut lost, mut crossing, mut passing) = (0.0, 0.0, 0.0);
        let mut ways = Vec::new();
        for (corners, share) in plain {
            if corners.windows(2).any(|w| self.blocked_by(w[0], w[1]).is_some()) {
                lost += share;
                continue;
            }
            let (cross, pass) = (self.crossing(&corners), self.trees.hindrance(&corners));
            crossing += if cross < 1.0 { share } else { 0.0 };
            passing += if pass < 1.0 { share } else { 0.0 };
            ways.push(self.way(corners, share, None, cross * pass, manner));
        }
        let mut longest_m = LONGEST_DETOUR * straight_m + 2.0;
        let mut detour = |corners: Vec<Point>, share: f64, longest_m: f64| {
            let length_m = length(&corners);
            if length_m <= longest_m {
                let price = self.price(&corners);
                ways.push(self.way(corners, share, Some(length_m - straight_m), price, manner));
            }
        };
        let mut past_trees = Vec::new();
        if let Some(corners) = (lost > 0.0).then(|| self.round_solids.shortest(a, b)).flatten() {
            if self.trees.hindrance(&corners) < 1.0 {
                passing += lost;
                longest_m = longest_m.max(LONGEST_DETOUR * length(&corners) + 2.0);
            }
            detour(corners, lost, f64::INFINITY);
        }
        if let Some(corners) = (crossing > 0.0 && lost < 1.0).then(|| self.round_all.shortest(a, b)).flatten()
        {
            if self.trees.hindrance(&corners) < 1.0 {
                past_trees.extend(self.round_trees(a, b, true).map(|corners| (corners, crossing)));
            }
            detour(corners, crossing, longest_m);
        }
        if passing > 0.0 {
            past_trees.extend(self.round_trees(a, b, false).map(|corners| (corners, passing)));
        }
        past_trees.dedup_by(|second, first| second.0 == first.0);
        for (corners, share) in past_trees {
            detour(corners, share, longest_m);
        }
        ways
    }

    fn way(
        &self,
        corners: Vec<Point>,
        share: f64,
        detour_m: Option<f64>,
        price: f64,
        manner: &Manner,
    ) -> BareWay {
        let silence = if manner.wire { self.silence.unheard(&corners) } else { 1.0 };
        let evidence = self.drawings.likelihood_ratio(&corners) * silence;
        BareWay { corners, share, detour_m, price, evidence }
    }

    /// A short way that keeps off the trees and enters no solid, nor paving where that is asked. Mostly the hull round
    /// the trees will do; else the shortest way among all that stands near, or among everything.
    fn round_trees(&self, a: Point, b: Point, and_paving: bool) -> Option<Vec<Point>> {
        let paving = if and_paving { &self.paving[..] } else { &[] };
        let kept_off = self.solids.iter().chain(paving).map(|outline| (outline.polygon(), self.clearance_m));
        let free = |way: &[Point]| {
            way.windows(2).all(|w| kept_off.clone().all(|(outline, _)| !outline.blocks(w[0], w[1])))
        };
        if let Some(way) = self.trees.round(a, b, free) {
            return Some(way);
        }
        let trees = self.trees.outlines(a, b, NEARBY_M);
        let all = kept_off.clone().chain(trees.iter().map(|outline| (outline, 0.0)));
        let nearby = all.clone().filter(|(outline, _)| {
            let (low, high) = outline.bounds();
            low.x < a.x.max(b.x) + NEARBY_M
                && low.y < a.y.max(b.y) + NEARBY_M
                && high.x > a.x.min(b.x) - NEARBY_M
                && high.y > a.y.min(b.y) - NEARBY_M
        });
        let way = Ways::at_clearances(nearby, 0.0, None).shortest(a, b)?;
        if free(&way) { Some(way) } else { Ways::at_clearances(all, 0.0, None).shortest(a, b) }
    }

    /// Turns weighted ways into a run's routes and their total weight; `None` if nothing is left.
    pub fn routes(&self, ways: Vec<Way>) -> Option<(Vec<Route>, f64)> {
        let route = |way: &Way| self.route(&way.corners);
        shared_out(ways.iter().map(|way| (way.weight, way)), route)
    }

    /// The route along these corners, without a share.
    pub fn route(&self, corners: &[Point]) -> Route {
        let path = ShiftedPath::new(corners);
        let clear = self.clear_offsets(&path);
        Route { share: 0.0, paved: self.paved(corners), path, clear }
    }

    /// The offsets at which a path enters no solid and does not leave the site further than a boundary is known, by
    /// steps outward from where it is drawn.
    fn clear_offsets(&self, path: &ShiftedPath) -> (f64, f64) {
        let (low, high) = path.bounds(OFFSET_FAR_M);
        let corners = [low, Point::new(high.x, low.y), high, Point::new(low.x, high.y)];
        let near: Vec<&Outline> = self.solids.iter().filter(|solid| !solid.apart(&corners)).collect();
        let edge = self
            .boundary
            .as_ref()
            .filter(|boundary| (0..4).any(|k| !boundary.covers(corners[k], corners[(k + 1) % 4])));
        if near.is_empty() && edge.is_none() {
            return CLEAR;
        }
        let outside_m = |corners: &[Point], exact: bool| -> f64 {
            let off = |edge: &Outline, a: Point, b: Point| {
                if exact {
                    (1.0 - edge.inside_share(a, b)) * a.distance(b)
                } else {
                    edge.quick_outside_m(a, b)
                }
            };
            edge.map_or(0.0, |edge| corners.windows(2).map(|w| off(edge, w[0], w[1])).sum())
        };
        let drawn = path.at(0.0);
        let drawn_m = outside_m(&drawn, false);
        let strays = |corners: &[Point]| {
            let further_m = outside_m(corners, false) - drawn_m;
            if (further_m - FREE_LENGTH_M).abs() < SURE_M {
                return outside_m(corners, true) > outside_m(&drawn, true) + FREE_LENGTH_M;
            }
            further_m > FREE_LENGTH_M
        };
        let allowed = |offset: f64| {
            let corners = path.at(offset);
            let entered = corners.windows(2).any(|w| near.iter().any(|solid| solid.blocks(w[0], w[1])));
            !entered && !strays(&corners)
        };
        let limit = |side: f64| {
            let steps = (OFFSET_FAR_M / OFFSET_STEP_M) as usize;
            let blocked = (1..=steps).map(|k| k as f64 * OFFSET_STEP_M).find(|&far| !allowed(side * far));
            blocked.map_or(f64::INFINITY, |far| far)
        };
        (-limit(-1.0), limit(1.0))
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

fn length(corners: &[Point]) -> f64 {
    corners.windows(2).map(|w| w[0].distance(w[1])).sum()
}

/// Length of a path in the interior of an outline, metres.
fn inside_m(outline: &Outline, corners: &[Point], exact: bool) -> f64 {
    let of_leg = |a: Point, b: Point| {
        if exact { outline.inside_share(a, b) * a.distance(b) } else { outline.quick_inside_m(a, b) }
    };
    corners.windows(2).map(|w| of_leg(w[0], w[1])).sum()
}

/// Whether a measure exceeds a limit; it is taken exactly only where rounding might decide.
fn exceeds(measure: impl Fn(bool) -> f64, limit: f64) -> bool {
    let quick = measure(false);
    if (quick - limit).abs() < SURE_M { measure(true) > limit } else { quick > limit }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::distance_to_segment;
    use crate::settings::Settings;
    use crate::site::{Sketch, Tree};

    const MANNER: Manner = Manner { elbow_share: 0.0, elbow_leg_m: 0.35, angle_rad: 0.0, wire: false };

    fn p(x: f64, y: f64) -> Point {
        Point::new(x, y)
    }

    fn ground(solids: Vec<Polygon>, paving: Vec<Polygon>, trees: &[Point], sketches: &[Sketch]) -> Ground {
        let settings = Settings::default();
        let trees: Vec<Tree> = trees.iter().map(|&at| Tree { at, stem_diameter_m: 0.4 }).collect();
        Ground::new(solids, paving, None, 0.45, 0.2).with_evidence(
            Trees::new(&trees, &settings),
            Drawings::new(sketches, &settings),
            Silence::default(),
        )
    }

    fn block(x: (f64, f64), y: (f64, f64)) -> Polygon {
        Polygon::new(vec![p(x.0, y.0), p(x.1, y.0), p(x.1, y.1), p(x.0, y.1)])
    }

    fn off(way: &Way, stem: Point) -> f64 {
        way.corners.windows(2).map(|w| distance_to_segment(stem, w[0], w[1])).fold(f64::INFINITY, f64::min)
    }

    #[test]
    fn past_a_tree_the_straight_way_is_priced_and_one_goes_round_the_stem() {
        let (a, b, stem) = (p(0., 0.), p(8., 0.), p(4., 0.4));
        assert_eq!(ground(vec![], vec![], &[], &[]).ways(a, b, &MANNER, 1.0).len(), 1);
        let ways = ground(vec![], vec![], &[stem], &[]).ways(a, b, &MANNER, 1.0);
        assert_eq!((ways.len(), ways[0].weight), (2, 0.3));
        assert!(
            off(&ways[1], stem) > 1.7 - 1e-9 && off(&ways[0], stem) < 0.5,
            "keep-off 1.5 m from the bark"
        );
        assert!(ways[1].weight > 0.3, "a short detour is likelier than cut roots: {}", ways[1].weight);
        assert!(ways.iter().map(|way| way.weight).sum::<f64>() < 1.0, "less than without the tree");
        assert!(ways[1].corners.iter().all(|c| c.y < 0.5), "on the near side of the stem");
    }

    #[test]
    fn a_way_round_a_tree_enters_no_house_and_one_round_a_house_keeps_off_the_tree() {
        // The house takes the near side of the stem, so the way goes round the far side.
        let (a, b, stem) = (p(0., 0.), p(8., 0.), p(4., 0.4));
        let house = block((2.0, 6.0), (-9.0, -0.1));
        let ways = ground(vec![house.clone()], vec![], &[stem], &[]).ways(a, b, &MANNER, 1.0);
        assert_eq!(ways.len(), 2);
        assert!(off(&ways[1], stem) > 1.7 - 1e-9 && ways[1].corners.iter().any(|c| c.y > 2.0));
        assert!(!ways[1].corners.windows(2).any(|w| house.blocks(w[0], w[1])));
        // The tree stands at the corner by which the shortest way round a house leads.
        let house = block((2.0, 6.0), (-9.0, 1.0));
        let stem = p(4.0, 2.0);
        let ways = ground(vec![house.clone()], vec![], &[stem], &[]).ways(a, b, &MANNER, 1.0);
        assert_eq!(ways.len(), 2, "round the house by the stem at a price, or round both");
        assert!(off(&ways[0], stem) < 1.0 && off(&ways[1], stem) > 1.7 - 1e-9);
        assert!(!ways.iter().any(|way| way.corners.windows(2).any(|w| house.blocks(w[0], w[1]))));
        // A tree on the way round paving: straight through, round the walk by the stem, round both.
        let walk = block((3.5, 4.5), (-9.0, 1.0));
        let ways = ground(vec![], vec![walk], &[p(4.0, 2.6)], &[]).ways(a, b, &MANNER, 1.0);
        let prices: Vec<usize> = ways.iter().map(|way| way.corners.len()).collect();
        assert_eq!(ways.len(), 3, "{prices:?}");
        assert_eq!(ways[0].weight, 0.2);
    }

    #[test]
    fn a_drawn_way_gains_and_still_counts_as_hindered() {
        let drawn = Sketch { path: vec![p(0., 0.), p(8., 0.)], trust: 0.5 };
        let (a, b) = (p(0., 0.), p(8., 0.));
        let open = ground(vec![], vec![], &[], std::slice::from_ref(&drawn)).ways(a, b, &MANNER, 1.0);
        assert_eq!(open.len(), 1);
        assert!((open[0].weight - 3.0).abs() < 1e-12 && (open[0].prior() - 1.0).abs() < 1e-12);
        // Price 0.3 times a likelihood ratio of 3 is close to one, 0.3 times 19 far above: the way round is offered all the same.
        let trusted = Sketch { trust: 0.9, ..drawn };
        let ways = ground(vec![], vec![], &[p(4., 0.4)], &[trusted]).ways(a, b, &MANNER, 1.0);
        assert_eq!(ways.len(), 2);
        assert!((ways[0].weight - 0.3 * 19.0).abs() < 1e-9, "{}", ways[0].weight);
    }
}
