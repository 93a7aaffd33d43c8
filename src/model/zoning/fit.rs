//! How well heads fit together as zones: a prior over zonings from where heads and valves stand, and nothing else.
//!
//! p(zoning) is proportional to the product over zones of tau a (python/docs/model.md, 2.11). tau is the
//! weighted count of unrooted spanning trees on the zone's heads. A run of length L between heads whose own spacings have the
//! mean s weighs exp(-length_rate max(L / s - 1, 0)): the weight must not know the zoning, hence the heads' own spacings, and
//! an ordinary run weighs one, hence the minus one, so that a zoning is not judged by how many runs its zones need
//! (heads less zones, always) or in which zone they lie. A run shorter than the spacing counts as ordinary: two heads
//! back to back water both ways as often as they share a pipe. Pipe that is drawn weighs more (`drawn`).
//! a = exp(-d / 10 m) for the way d from the zone's valve to its nearest head. Every zone keeps a head.

use super::drawn::Drawn;
use crate::geometry::{Point, nearest};
use crate::model::plan::SPACING_M;
use crate::model::supply_roots::REACH_M;
use crate::site::Site;
use crate::spanning_tree::Scratch;

/// Price of a zone without a head, as a log weight: beyond all evidence, yet finite, so that a search that starts there
/// finds the best way out. Numerical choice.
const EMPTY: f64 = -1e6;

/// No run weighs less than this, as a log weight: products of two must stay above the least double. Numerical choice.
const LEAST: f64 = -200.0;

/// Fewer heads of one kind than this do not show a spacing of their own.
const SEVERAL: usize = 3;

/// How well heads fit together and to their valve.
pub struct Fit {
    heads: usize,
    /// Log weight of the run between two heads, row-major.
    runs: Vec<f64>,
    /// The weight itself.
    weights: Vec<f64>,
    /// Log of `a` for each zone, if a head were its nearest.
    reach: Vec<Vec<f64>>,
}

impl Fit {
    /// The fit of the heads and zones of a site.
    pub fn new(site: &Site) -> Self {
        let at: Vec<Point> = site.heads.iter().map(|head| head.at).collect();
        let (spacing, drawn) = (spacings(site, &at), Drawn::new(site));
        let run = |(a, b): (usize, usize)| {
            let length = at[a].distance(at[b]) / f64::midpoint(spacing[a], spacing[b]);
            let drawn = drawn
                .as_ref()
                .filter(|_| a != b)
                .map_or(0.0, |drawn| drawn.likelihood_ratio(at[a], at[b]).ln());
            (-site.settings.length_rate * (length - 1.0).max(0.0)).max(LEAST) + drawn
        };
        let reach = |zone: &crate::site::Zone| {
            let valves: Vec<Point> = zone.boxes.iter().map(|&b| site.valve_boxes[b].at).collect();
            let way = |p: &Point| valves.iter().map(|valve| valve.distance(*p)).reduce(f64::min);
            at.iter().map(|p| way(p).map_or(0.0, |way| -way / REACH_M)).collect()
        };
        let pairs = (0..at.len()).flat_map(|a| (0..at.len()).map(move |b| (a, b)));
        let runs: Vec<f64> = pairs.map(run).collect();
        Self {
            heads: at.len(),
            weights: runs.iter().map(|log| log.exp()).collect(),
            runs,
            reach: site.zones.iter().map(reach).collect(),
        }
    }

    /// Number of heads.
    pub fn heads(&self) -> usize {
        self.heads
    }

    /// Log weight of the run between two heads.
    pub fn run(&self, a: usize, b: usize) -> f64 {
        self.runs[a * self.heads + b]
    }

    /// Weight of the run between two heads.
    pub fn weight(&self, a: usize, b: usize) -> f64 {
        self.weights[a * self.heads + b]
    }

    /// Log of a for these heads as a zone; a price beyond all evidence where a zone that must have a head has none.
    pub fn log_reach(&self, zone: usize, heads: &[usize], may_be_empty: bool) -> f64 {
        let reach = heads.iter().map(|&head| self.reach[zone][head]).reduce(f64::max);
        reach.unwrap_or(if may_be_empty { 0.0 } else { EMPTY })
    }

    /// Log of tau. Any head may serve as root: the count of spanning trees does not depend on it (matrix-tree theorem).
    pub fn log_trees(&self, heads: &[usize], scratch: &mut Scratch) -> f64 {
        scratch.log_z_complete(heads.len(), |a, b| self.weight(heads[a], heads[b]))
    }
}

/// Each head's own spacing, metres: the way to the second nearest head of its kind. The nearest alone may stand back to
/// back with it, on another zone.
fn spacings(site: &Site, at: &[Point]) -> Vec<f64> {
    let second = |places: &[Point]| -> Vec<f64> {
        let near = nearest(places, 2).into_iter().enumerate();
        near.map(|(i, near)| near.last().map_or(SPACING_M, |&j| places[i].distance(places[j]).max(0.1)))
            .collect()
    };
    let mut spacing = second(at);
    let mut kinds = Vec::new();
    for head in &site.heads {
        if !kinds.contains(&head.kind) {
            kinds.push(head.kind);
        }
    }
    for kind in kinds {
        let alike: Vec<usize> = (0..at.len()).filter(|&head| site.heads[head].kind == kind).collect();
        if alike.len() >= SEVERAL {
            let places: Vec<Point> = alike.iter().map(|&head| at[head]).collect();
            for (&head, own) in alike.iter().zip(second(&places)) {
                spacing[head] = own;
            }
        }
    }
    spacing
}
