//! What all zones of a site share whichever heads they have: ground, bearings, and the pipes between places, each worked
//! out once for each bearing at its first use.

use super::bearing::Bearing;
use super::ground::Ground;
use super::ground::way::Manner;
use super::node::Node;
use super::routing::pair::Pair;
use crate::layout::Kind;
use crate::settings::Settings;
use std::collections::HashMap;
use std::sync::{Arc, PoisonError, RwLock};

/// A place that pipe may lead from, by a number that is its own in the site.
#[derive(Clone, Copy, Debug)]
pub struct EndIndex {
    number: usize,
    node: Node,
}

/// Pairs by the numbers of the places that they lead from and to.
type Pairs = HashMap<(usize, usize), Arc<Pair>>;

/// What all zones share.
pub struct Shared {
    /// Settings.
    pub settings: Settings,
    /// The ground.
    pub ground: Ground,
    /// Grid bearings.
    pub bearings: Vec<Bearing>,
    /// The heads of the site: places 0 to the number of heads.
    heads: Vec<Node>,
    /// Numbers of the places of valves, by the bits of their coordinates and standard deviation.
    valves: RwLock<HashMap<[u64; 3], usize>>,
    /// For each bearing.
    pairs: Vec<RwLock<Pairs>>,
}

impl Shared {
    /// Nothing worked out yet.
    pub fn new(settings: Settings, ground: Ground, bearings: Vec<Bearing>, heads: Vec<Node>) -> Self {
        let pairs = bearings.iter().map(|_| RwLock::default()).collect();
        Self { settings, ground, bearings, heads, valves: RwLock::default(), pairs }
    }

    /// The heads of the site.
    pub fn heads(&self) -> &[Node] {
        &self.heads
    }

    /// The place of a head.
    pub fn head(&self, number: usize) -> EndIndex {
        EndIndex { number, node: self.heads[number] }
    }

    /// The place of a valve; the same node has the same number whenever it is asked for.
    pub fn valve(&self, node: Node) -> EndIndex {
        let name = [node.at.x, node.at.y, node.sd_m].map(f64::to_bits);
        let mut valves = self.valves.write().unwrap_or_else(PoisonError::into_inner);
        let next = self.heads.len() + valves.len();
        EndIndex { number: *valves.entry(name).or_insert(next), node }
    }

    /// The pipe from a place to a head at a bearing: a run from a head, a link from a valve.
    pub fn pair(&self, bearing: usize, from: EndIndex, to: usize) -> Arc<Pair> {
        let name = (from.number, to);
        let known = self.pairs[bearing].read().unwrap_or_else(PoisonError::into_inner).get(&name).cloned();
        known.unwrap_or_else(|| {
            let is_head = from.number < self.heads.len();
            let kind = if is_head { Kind::Run } else { Kind::ValveLink };
            let manner = self.manner(bearing, !is_head);
            let others = self.heads.iter().copied().enumerate();
            let others = others.filter(|&(head, _)| head != to && head != from.number);
            let ends = (from.node, self.heads[to]);
            let made = Pair::new((&self.ground, &self.settings), ends, (kind, &manner), others);
            let mut pairs = self.pairs[bearing].write().unwrap_or_else(PoisonError::into_inner);
            pairs.entry(name).or_insert_with(|| Arc::new(made)).clone()
        })
    }

    /// How pipe between heads is laid at a bearing, or pipe from a valve or tee.
    pub fn manner(&self, bearing: usize, from_valve: bool) -> Manner {
        let settings = &self.settings;
        Manner {
            elbow_share: if from_valve { settings.elbow_share_valve } else { settings.elbow_share },
            elbow_leg_m: settings.elbow_leg_m,
            angle_rad: self.bearings[bearing].rad,
            wire: false,
        }
    }
}
