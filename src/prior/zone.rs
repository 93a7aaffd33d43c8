//! A zone as its routing families see it, and what a family makes of it: recipes for outer states.

use super::ground::{Ground, Manner, Way};
use super::plan::{Node, PairRun, Plan, along_both_axes};
use crate::forest::{Edge, Network};
use crate::geometry::Point;
use crate::layout::{Kind, OuterState, Run};
use crate::settings::Settings;
use std::sync::Arc;

/// One zone at one grid bearing, fed from one start.
pub struct Zone {
    /// Nodes and spacing.
    pub plan: Arc<Plan>,
    /// Candidate runs between heads.
    pub pairs: Arc<[PairRun]>,
    /// The valve.
    pub valve: Node,
    /// The ground.
    pub ground: Arc<Ground>,
    /// Grid bearing, radians.
    pub bearing_rad: f64,
    /// Settings.
    pub settings: Arc<Settings>,
}

/// How one outer state is built, and its share of its family.
pub struct Recipe {
    /// Share among the recipes of the family; a family's shares sum to one.
    pub share: f64,
    /// Builds the state; `None` if it allows no layout.
    pub build: Box<dyn Fn() -> Option<OuterState> + Send + Sync>,
}

impl Recipe {
    /// A recipe.
    pub fn new(share: f64, build: impl Fn() -> Option<OuterState> + Send + Sync + 'static) -> Self {
        Self { share, build: Box::new(build) }
    }
}

impl Zone {
    /// Manner of pipe that leads from the valve to the rest, its weight falling at this rate.
    pub fn link_manner(&self, rate: f64) -> Manner {
        Manner {
            elbow_share: self.settings.elbow_share_valve,
            elbow_leg_m: self.settings.elbow_leg_m,
            detour_rate_per_m: rate / self.plan.spacing_m,
            bearing_rad: self.bearing_rad,
            wire: false,
        }
    }

    /// Manner of pipe between heads.
    pub fn run_manner(&self, rate: f64) -> Manner {
        Manner { elbow_share: self.settings.elbow_share, ..self.link_manner(rate) }
    }

    /// The candidate runs between heads as a network at this rate, nodes in `held` being the root; runs that `allowed`
    /// forbids are left out.
    pub fn network(
        &self,
        rate: f64,
        held: &[usize],
        allowed: impl Fn(usize, usize) -> bool,
    ) -> Option<(Vec<Arc<Run>>, Network)> {
        let heads = self.plan.nodes.len();
        let root = heads - held.len();
        let mut place = vec![root; heads];
        let mut next = 0;
        for (head, place) in place.iter_mut().enumerate() {
            if !held.contains(&head) {
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

    /// Ways from a point to these heads, each weighted by its length at this rate.
    pub fn ways_to_heads(&self, from: Point, heads: &[usize], rate: f64) -> Vec<Way> {
        let mut ways = Vec::new();
        for &k in heads {
            let at = self.plan.nodes[k].at;
            let mut to_head = self.ground.ways(from, at, &self.link_manner(rate));
            self.plan.discount_passing(&mut to_head, &[k], &self.settings);
            let length_m = along_both_axes(at - from, self.bearing_rad);
            let decay = (-rate * length_m / self.plan.spacing_m).exp();
            to_head.iter_mut().for_each(|way| way.weight *= decay);
            ways.append(&mut to_head);
        }
        ways
    }

    /// The pipe that takes one of these ways from a valve or tee; `None` if there is no way.
    pub fn link(&self, kind: Kind, ways: Vec<Way>, tied: [bool; 2]) -> Option<Arc<Run>> {
        let (routes, _) = self.ground.routes(ways)?;
        let nodes = &self.plan.nodes;
        let head_sd_m = nodes.iter().map(|n| n.sd_m).sum::<f64>() / nodes.len() as f64;
        let offset = self.plan.offset(self.valve.sd_m, head_sd_m, &self.settings);
        Some(Arc::new(Run { kind, offset, routes, tied, cover_m: None }))
    }
}
