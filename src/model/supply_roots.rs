//! Where a line starts when the document does not say: a prior over places of the hidden valve or source.

use super::node::Node;
use crate::geometry::{Point, Polygon};

/// Places along an edge are tried this far apart, metres. Numerical choice.
const STEP_M: f64 = 2.0;

/// At most this many places of each sort are kept, evenly spread. Numerical choice.
const MOST: usize = 16;

/// A place on paper is known no better than this, metres: half the step between places.
const SD_M: f64 = 0.5;

/// Weight of a place falls with the distance to the nearest end it feeds: exp(-d / 10 m) (python/docs/model.md, 2.9).
pub const REACH_M: f64 = 10.0;

/// Shares of hidden valves at the source side, the lawn edge and beside a head. Common practice, no source.
const SHARES: [f64; 3] = [0.4, 0.4, 0.2];

/// A way for a system to start: its root nodes, and how probable that is.
#[derive(Clone, Debug)]
pub struct Start {
    /// Roots; several act as one.
    pub roots: Vec<Node>,
    /// Prior probability.
    pub probability: f64,
}

impl Start {
    /// The one known start.
    pub fn known(roots: Vec<Node>) -> Vec<Self> {
        vec![Self { roots, probability: 1.0 }]
    }
}

/// One of several known boxes, nearer ones more probable.
pub fn one_of(boxes: &[Node], ends: &[Node]) -> Vec<Start> {
    normalised(boxes.iter().map(|&node| (node, near(node.at, ends))).collect())
}

/// A hidden start of lines that end in `ends`: at the sources or beside the buildings, along the edge of the site, or
/// beside an end. Never empty when there are ends.
pub fn hidden(
    ends: &[Node],
    sources: &[Node],
    buildings: &[Polygon],
    boundary: Option<&Polygon>,
) -> Vec<Start> {
    let on_edge = |at: Point| Node { at, sd_m: SD_M };
    let walls = buildings.iter().flat_map(|building| along(building, 0.3));
    let source_side =
        if sources.is_empty() { spread(walls.collect()) } else { sources.iter().map(|s| s.at).collect() };
    let edge = boundary.map_or_else(Vec::new, |boundary| spread(along(boundary, 0.0)));
    let beside = spread(ends.iter().map(|end| end.at).collect());
    let groups = [source_side, edge, beside];
    let free = |at: &Point| !buildings.iter().any(|b| b.contains(*at) && b.distance_to_boundary(*at) > 0.01);
    let mut weighted = Vec::new();
    for (places, share) in groups.into_iter().zip(SHARES) {
        let places: Vec<Point> = places.into_iter().filter(free).collect();
        let total: f64 = places.iter().map(|&at| near(at, ends)).sum();
        weighted.extend(places.into_iter().map(|at| (on_edge(at), share * near(at, ends) / total)));
    }
    normalised(weighted)
}

fn near(at: Point, ends: &[Node]) -> f64 {
    let nearest = ends.iter().map(|end| end.at.distance(at)).fold(f64::INFINITY, f64::min);
    (-nearest / REACH_M).exp().max(f64::MIN_POSITIVE)
}

fn normalised(weighted: Vec<(Node, f64)>) -> Vec<Start> {
    let total: f64 = weighted.iter().map(|(_, w)| w).sum();
    let start = |(node, w): (Node, f64)| Start { roots: vec![node], probability: w / total };
    weighted.into_iter().map(start).filter(|start| start.probability > 1e-4).collect()
}

/// Points along a polygon's edges, moved outward by `off_m`.
fn along(polygon: &Polygon, off_m: f64) -> Vec<Point> {
    let sense = polygon.signed_area().signum();
    let mut places = Vec::new();
    for (a, b) in polygon.edges() {
        let Some(direction) = (b - a).direction() else { continue };
        let outward = -direction.left() * sense * off_m;
        let count = (a.distance(b) / STEP_M).ceil().max(1.0) as usize;
        places.extend((0..count).map(|k| a.towards(b, (k as f64 + 0.5) / count as f64) + outward));
    }
    places
}

/// At most [`MOST`] of the places, evenly spread over their order.
fn spread(places: Vec<Point>) -> Vec<Point> {
    let count = places.len().min(MOST);
    (0..count).map(|k| places[k * places.len() / count]).collect()
}
