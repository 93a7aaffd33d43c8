//! A zone as its routing families see it: nodes, spacing, and the candidate runs between heads at one bearing.

use super::ground::way::{Manner, Way};
use super::node::{Node, passes};
use super::routing::pair::{Pair, offset};
use super::shared::{EndIndex, Shared};
use crate::geometry::{Point, delaunay_edges, median_nearest_spacing, nearest};
use crate::layout::{Kind, Offset, Run};
use crate::settings::Settings;
use std::sync::Arc;

/// Spacing assumed when there are no two heads to measure it, metres (a spray head's throw; python/docs/trade-values.md, 3.1).
pub const SPACING_M: f64 = 4.0;

/// The heads of a zone (or the ends of a supply line), without its root.
pub struct Plan {
    /// The nodes, in the network's order.
    pub nodes: Vec<Node>,
    /// Median nearest-neighbour spacing, metres.
    pub spacing_m: f64,
    /// Pairs of nodes that a run may join.
    pub pairs: Vec<(usize, usize)>,
    /// What part a run between nodes plays.
    pub kind: Kind,
    /// Nodes that a control wire must reach from the root; empty where no wire rides along.
    pub wired: Vec<bool>,
    /// Numbers of the nodes among the heads of the site, ascending; empty for a supply line.
    heads: Vec<usize>,
}

/// Where a system starts: a node, and for a zone its place among those that zones share pipes from.
#[derive(Clone, Copy, Debug)]
pub struct Root {
    /// The node.
    pub node: Node,
    /// Its place; none for a supply line, which shares no pipe with another system.
    pub place: Option<EndIndex>,
}

/// A candidate run between two nodes.
#[derive(Clone)]
pub struct PairRun {
    /// One end.
    pub a: usize,
    /// The other end.
    pub b: usize,
    /// Weight but for the price of length.
    pub factor: f64,
    /// Effective length, metres.
    pub length_m: f64,
    /// The run.
    pub run: Arc<Run>,
}

impl PairRun {
    /// Weight where pipe costs exp(-rate) per spacing.
    pub fn weight(&self, rate: f64, spacing_m: f64) -> f64 {
        self.factor * (-rate * self.length_m / spacing_m).exp()
    }
}

impl Plan {
    /// The plan of these nodes; `root` serves as second point where a single node has no neighbour.
    pub fn new(nodes: Vec<Node>, root: Option<Point>, kind: Kind, settings: &Settings) -> Self {
        let points: Vec<Point> = nodes.iter().map(|node| node.at).collect();
        let to_root = root.and_then(|root| points.iter().map(|p| p.distance(root)).reduce(f64::min));
        let spacing_m = median_nearest_spacing(&points).or(to_root).unwrap_or(SPACING_M).max(0.1);
        let mut pairs: Vec<(usize, usize)> = delaunay_edges(&points);
        for (a, near) in nearest(&points, settings.neighbours as usize).into_iter().enumerate() {
            pairs.extend(near.into_iter().map(|b| (a, b)));
        }
        for pair in &mut pairs {
            *pair = (pair.0.min(pair.1), pair.0.max(pair.1));
        }
        pairs.sort_unstable();
        pairs.dedup();
        Self { nodes, spacing_m, pairs, kind, wired: Vec::new(), heads: Vec::new() }
    }

    /// The same plan as that of a zone with these heads of the site, ascending.
    pub fn with_heads(self, heads: Vec<usize>) -> Self {
        Self { heads, ..self }
    }

    /// Numbers of the nodes among the heads of the site; empty for a supply line.
    pub fn heads(&self) -> &[usize] {
        &self.heads
    }

    /// The same plan with a control wire that rides along to these nodes.
    pub fn with_wire(self, wired: Vec<bool>) -> Self {
        Self { wired, ..self }
    }

    /// Whether pipe between these nodes, or from the root to one, surely has a wire beside it. Pipe that ends at a
    /// quick coupler has one only if a valve box lies beyond; it is taken to have none.
    pub fn surely_wired(&self, ends: &[usize]) -> bool {
        ends.iter().all(|&k| self.wired.get(k) == Some(&true))
    }

    /// The candidate runs between nodes at one bearing.
    pub fn pair_runs(&self, shared: &Shared, bearing: usize) -> Vec<PairRun> {
        let rate = shared.settings.length_rate;
        let pair_run = |&(a, b): &(usize, usize)| {
            let pair = self.pair(shared, bearing, a, b);
            let (run, share) = self.run(&pair, rate, shared)?;
            Some(PairRun { a, b, factor: share * pair.aligned, length_m: pair.length_m, run })
        };
        self.pairs.iter().filter_map(pair_run).collect()
    }

    /// The pipe between two nodes.
    pub fn pair(&self, shared: &Shared, bearing: usize, a: usize, b: usize) -> Arc<Pair> {
        if self.kind != Kind::Supply {
            return shared.pair(bearing, shared.head(self.heads[a]), self.heads[b]);
        }
        let manner = Manner { wire: self.surely_wired(&[a, b]), ..shared.manner(bearing, false) };
        Arc::new(self.own_pair(shared, self.nodes[a], b, &[a, b], &manner))
    }

    /// The pipe from a root to a node.
    pub fn pair_from(&self, shared: &Shared, bearing: usize, root: &Root, k: usize) -> Arc<Pair> {
        if let Some(place) = root.place {
            return shared.pair(bearing, place, self.heads[k]);
        }
        let manner = Manner { wire: self.surely_wired(&[k]), ..shared.manner(bearing, true) };
        Arc::new(self.own_pair(shared, root.node, k, &[k], &manner))
    }

    /// A pipe that no other system shares.
    fn own_pair(&self, shared: &Shared, from: Node, to: usize, ends: &[usize], manner: &Manner) -> Pair {
        let others = self.nodes.iter().copied().enumerate().filter(|(k, _)| !ends.contains(k));
        let on = (&shared.ground, &shared.settings);
        Pair::new(on, (from, self.nodes[to]), (self.kind, manner), others)
    }

    /// The run of a pipe with the sum of its [`Self::weights`].
    pub fn run(&self, pair: &Pair, rate: f64, shared: &Shared) -> Option<(Arc<Run>, f64)> {
        pair.run_where(rate / self.spacing_m, |number| self.is_own(number), shared.settings.pass_factor)
    }

    fn is_own(&self, number: usize) -> bool {
        self.kind == Kind::Supply || self.heads.binary_search(&number).is_ok()
    }

    /// Weights of a pipe's ways where length costs exp(-rate) per spacing and a way is not to pass nodes of the system.
    pub fn weights(&self, pair: &Pair, rate: f64, shared: &Shared) -> Vec<f64> {
        pair.weights(rate / self.spacing_m, |number| self.is_own(number), shared.settings.pass_factor)
    }

    /// Offset prior of a pipe between two positions known this well.
    pub fn offset(&self, sd_a_m: f64, sd_b_m: f64, settings: &Settings) -> Offset {
        offset(self.kind, sd_a_m, sd_b_m, settings)
    }

    /// Lowers the weight of ways that pass another node of the system so closely that the pipe would feed it.
    pub fn discount_passing(&self, ways: &mut [Way], ends: &[usize], settings: &Settings) {
        for way in ways {
            let others = self.nodes.iter().enumerate().filter(|(k, _)| !ends.contains(k));
            if others.into_iter().any(|(_, node)| passes(&way.corners, node.at, settings)) {
                way.weight *= settings.pass_factor;
            }
        }
    }
}
