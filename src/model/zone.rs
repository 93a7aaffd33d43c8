//! A zone as its routing families see it: one start and one bearing, with what pipe may lead from where.

use super::ground::Ground;
use super::ground::way::{Manner, Way, shared_out};
use super::node::{Node, along_both_axes};
use super::plan::{PairRun, Plan, Root};
use super::routing::pair::Pair;
use super::shared::Shared;
use crate::geometry::Point;
use crate::layout::{Kind, Route, Run};
use crate::settings::Settings;
use crate::spanning_tree::{Edge, Network};
use std::sync::Arc;

/// One zone (or supply line) at one grid bearing, fed from one start.
pub struct Zone {
    /// Nodes and spacing.
    pub plan: Arc<Plan>,
    /// Candidate runs between heads.
    pub pairs: Arc<[PairRun]>,
    /// Where it starts; several roots act as one.
    pub roots: Vec<Root>,
    /// What it shares with other zones.
    pub shared: Arc<Shared>,
    /// Index of the grid bearing.
    pub bearing: usize,
}

impl Zone {
    /// Settings.
    pub fn settings(&self) -> &Settings {
        &self.shared.settings
    }

    /// The ground.
    pub fn ground(&self) -> &Ground {
        &self.shared.ground
    }

    /// The valve.
    pub fn valve(&self) -> Node {
        self.roots[0].node
    }

    /// Grid bearing, radians.
    pub fn angle_rad(&self) -> f64 {
        self.shared.bearings[self.bearing].rad
    }

    /// Manner of pipe that leads from the valve to the rest.
    pub fn link_manner(&self) -> Manner {
        self.shared.manner(self.bearing, true)
    }

    /// Decay of weight per metre where length costs exp(-rate) per spacing.
    pub fn per_metre(&self, rate: f64) -> f64 {
        rate / self.plan.spacing_m
    }

    /// The pipe between two heads.
    pub fn pair(&self, a: usize, b: usize) -> Arc<Pair> {
        self.plan.pair(&self.shared, self.bearing, a, b)
    }

    /// The pipe from a root to a head.
    pub fn pair_from(&self, root: &Root, k: usize) -> Arc<Pair> {
        self.plan.pair_from(&self.shared, self.bearing, root, k)
    }

    /// Weights of its ways at this rate, less where a way passes a head of the zone.
    pub fn weights(&self, pair: &Pair, rate: f64) -> Vec<f64> {
        self.plan.weights(pair, rate, &self.shared)
    }

    /// The candidate runs between heads as a network at this rate, nodes in `at_root` being the root; runs that `allowed`
    /// forbids are left out.
    pub fn network(
        &self,
        rate: f64,
        at_root: &[usize],
        allowed: impl Fn(usize, usize) -> bool,
    ) -> Option<(Vec<Arc<Run>>, Network)> {
        let heads = self.plan.nodes.len();
        let root = heads - at_root.len();
        let mut place = vec![root; heads];
        let mut next = 0;
        for (head, place) in place.iter_mut().enumerate() {
            if !at_root.contains(&head) {
                *place = next;
                next += 1;
            }
        }
        let (mut runs, mut edges) = (Vec::new(), Vec::new());
        for pair in self.pairs.iter().filter(|pair| allowed(pair.a, pair.b)) {
            let (a, b) = (place[pair.a], place[pair.b]);
            if a != b {
                runs.push(pair.run.clone());
                edges.push(Edge { a, b, weight: pair.weight(rate, self.plan.spacing_m) });
            }
        }
        Some((runs, Network::new(root, edges).ok()?))
    }

    /// Routes from the valve to these heads, their shares falling with length at this rate; `None` if there is no way.
    pub fn routes_from_valve(&self, heads: &[usize], rate: f64) -> Option<Vec<Route>> {
        let pairs: Vec<Arc<Pair>> = heads.iter().map(|&k| self.pair_from(&self.roots[0], k)).collect();
        let mut weighted = Vec::with_capacity(3 * heads.len());
        for pair in &pairs {
            let decay = (-rate * pair.along_both_m / self.plan.spacing_m).exp();
            let weights = self.weights(pair, rate).into_iter().map(|weight| weight * decay);
            weighted.extend(weights.zip(pair.routes()));
        }
        shared_out(weighted.into_iter(), Route::clone).map(|(routes, _)| routes)
    }

    /// The same from a tee anywhere.
    pub fn routes_from_tee(&self, tee: Point, heads: &[usize], rate: f64) -> Option<Vec<Route>> {
        let mut ways: Vec<Way> = Vec::with_capacity(3 * heads.len());
        let manner = self.link_manner();
        for &k in heads {
            let at = self.plan.nodes[k].at;
            let mut to_head = self.ground().ways(tee, at, &manner, self.per_metre(rate));
            self.plan.discount_passing(&mut to_head, &[k], self.settings());
            let length_m = along_both_axes(at - tee, manner.angle_rad);
            let decay = (-rate * length_m / self.plan.spacing_m).exp();
            to_head.iter_mut().for_each(|way| way.weight *= decay);
            ways.append(&mut to_head);
        }
        self.ground().routes(ways).map(|(routes, _)| routes)
    }

    /// The pipe that takes one of these routes from a valve or tee.
    pub fn link(&self, kind: Kind, routes: Vec<Route>, tied: [bool; 2]) -> Arc<Run> {
        let nodes = &self.plan.nodes;
        let head_sd_m = nodes.iter().map(|n| n.sd_m).sum::<f64>() / nodes.len() as f64;
        let offset = self.plan.offset(self.valve().sd_m, head_sd_m, self.settings());
        Arc::new(Run::new(kind, offset, routes, tied))
    }
}
