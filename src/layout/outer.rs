//! Outer states: everything that several runs share, and the trait through which strikes read their prior.
//!
//! An outer state of a system fixes its routing family and what that family shares (a header's axis and offset, the
//! valve's place); given it, the lines are a random spanning tree with independent run attributes.

use super::id::StateId;
use super::pick::listed_state;
use super::run::Run;
use super::run_attributes::Cover;
use crate::class::Class;
use crate::spanning_tree::{Fault, Network, Sampler, Scratch};
use rand::Rng;
use std::collections::HashMap;
use std::sync::{Arc, OnceLock, PoisonError, RwLock};

/// A set of lines that share a tree and a cover level: a zone's laterals, the mainline, the potable line.
#[derive(Clone, Debug)]
pub struct System {
    /// Name for tables: `zone 1`, `mainline`, `potable`.
    pub name: String,
    /// What the lines carry.
    pub class: Class,
    /// Outside radius of the pipe, metres.
    pub radius_m: f64,
    /// Prior of the cover.
    pub cover: Cover,
}

/// The lines that are always there once a header's extent is known: the header itself and the link from the valve.
pub trait HeaderLines: Send + Sync {
    /// Indices of the drops among the candidate runs, in order along the header.
    fn drops(&self) -> &[usize];
    /// Header and link when `drops()[first]` and `drops()[last]` are the outermost drops.
    fn lines(&self, first: usize, last: usize) -> Vec<Run>;
}

/// Header and link of one extent, shared by all who ask.
pub type Lines = Arc<[Arc<Run>]>;

/// One possible extent of a header.
#[derive(Clone, Debug)]
pub struct Extent {
    /// Place of the first drop in the order along the header.
    pub first: usize,
    /// Place of the last.
    pub last: usize,
    /// Probability given the rest of the outer state, before any observation.
    pub probability: f64,
    /// Header and link.
    pub lines: Lines,
}

/// Extents less probable than this are left out of sums over extents.
const EXTENT_LEAST: f64 = 1e-9;

/// Every routing family, for tables.
pub const FAMILIES: [&str; 5] = ["direct", "loose", "header", "split", "chain"];

/// One outer state of one system.
pub struct OuterState {
    id: StateId,
    /// Routing family, for tables.
    pub family: &'static str,
    /// Candidate runs; run `k` is edge `k` of the network.
    pub runs: Vec<Arc<Run>>,
    /// Weights of the runs. In a header state the root is the header, else the valve or source.
    pub network: Network,
    /// Lines that are there in every layout of the state, beside the tree.
    pub fixed: Lines,
    /// Present in header states.
    pub header: Option<Box<dyn HeaderLines>>,
    /// Nodes that the control wire must reach; empty where no wire rides along.
    pub wired: Vec<bool>,
    sampler: Sampler,
    log_z: f64,
    lines: RwLock<HashMap<(usize, usize), Lines>>,
    extents: OnceLock<Vec<Extent>>,
}

impl OuterState {
    /// An outer state from its candidate runs and their weights.
    ///
    /// # Errors
    /// [`Fault::Disconnected`] if the runs leave a head unfed.
    pub fn new(
        family: &'static str,
        runs: Vec<Arc<Run>>,
        network: Network,
        header: Option<Box<dyn HeaderLines>>,
    ) -> Result<Self, Fault> {
        let sampler = Sampler::new(&network)?;
        let log_z = sampler.log_z();
        let (wired, lines, extents) = (Vec::new(), RwLock::default(), OnceLock::new());
        let fixed = Arc::from([]);
        let id = StateId::new();
        Ok(Self { id, family, runs, network, fixed, header, wired, sampler, log_z, lines, extents })
    }

    /// What names it.
    pub fn id(&self) -> StateId {
        self.id
    }

    /// The same state with lines that are there in every layout.
    pub fn with_fixed(mut self, fixed: Vec<Arc<Run>>) -> Self {
        self.fixed = fixed.into();
        self
    }

    /// The same state with a control wire that rides along to these nodes.
    pub fn with_wire(mut self, wired: &[bool]) -> Self {
        self.wired = wired.to_vec();
        self
    }

    /// The sampler of the state's trees.
    pub fn sampler(&self) -> &Sampler {
        &self.sampler
    }

    /// Natural logarithm of the sum over trees of the product of weights.
    pub fn log_z(&self) -> f64 {
        self.log_z
    }

    /// Header and link when these are the outermost drops, built once; empty without a header.
    pub fn lines(&self, first: usize, last: usize) -> Lines {
        let known = self.lines.read().unwrap_or_else(PoisonError::into_inner).get(&(first, last)).cloned();
        known.unwrap_or_else(|| {
            let built = self.header.iter().flat_map(|header| header.lines(first, last)).map(Arc::new);
            let built: Lines = built.collect();
            let mut lines = self.lines.write().unwrap_or_else(PoisonError::into_inner);
            lines.entry((first, last)).or_insert(built).clone()
        })
    }

    /// The possible extents of the header with their probabilities; empty without a header.
    ///
    /// P(i, j) from one elimination with drops i and j contracted and those outside deleted, so without the
    /// differences of the inclusion-exclusion form (python/docs/model.md, 2.5), which cancel.
    pub fn extents(&self) -> &[Extent] {
        self.extents.get_or_init(|| {
            let Some(header) = &self.header else { return Vec::new() };
            let drops = header.drops();
            let mut scratch = Scratch::default();
            let mut extents = Vec::new();
            for first in 0..drops.len() {
                for last in first..drops.len() {
                    let weight = |edge: usize| self.network.edges()[edge].weight;
                    let log = self.log_z_at_extent(drops, first, last, weight, &mut scratch);
                    let probability = (log - self.log_z).exp();
                    if probability > EXTENT_LEAST {
                        extents.push(Extent { first, last, probability, lines: self.lines(first, last) });
                    }
                }
            }
            extents
        })
    }

    /// Log sum over the trees whose outermost drops are `first` and `last`, with the given edge weights.
    pub fn log_z_at_extent(
        &self,
        drops: &[usize],
        first: usize,
        last: usize,
        weight: impl Fn(usize) -> f64,
        scratch: &mut Scratch,
    ) -> f64 {
        let edges = self.network.edges();
        let outer = [drops[first], drops[last]];
        let outside = |edge: usize| {
            drops[..first].contains(&edge) || drops[last + 1..].contains(&edge) || outer.contains(&edge)
        };
        let nodes = outer.map(|edge| edges[edge].a.min(edges[edge].b));
        let held = if first == last { &nodes[..1] } else { &nodes[..] };
        let forced: f64 = outer[..held.len()].iter().map(|&edge| weight(edge).ln()).sum();
        if forced == f64::NEG_INFINITY {
            return forced;
        }
        forced
            + self.network.log_z_where(|edge| if outside(edge) { 0.0 } else { weight(edge) }, held, scratch)
    }
}

/// The prior of unmapped lines: an independent Poisson field with its own prior of depth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct UnmappedLines {
    /// Length of line per area, metres per square metre.
    pub density_per_m: f64,
    /// Mean cover, metres.
    pub cover_m: f64,
    /// Standard deviation of the cover, metres (a normal distribution cut at zero).
    pub cover_sd_m: f64,
    /// Outside radius of the pipe, metres.
    pub radius_m: f64,
}

impl UnmappedLines {
    /// Probability that an unknown line has less cover than `depth_m`.
    pub fn shallower(&self, depth_m: f64) -> f64 {
        let cdf = |x: f64| super::run_attributes::normal_cdf((x - self.cover_m) / self.cover_sd_m);
        (cdf(depth_m.max(0.0)) - cdf(0.0)) / (1.0 - cdf(0.0))
    }

    /// Draws the cover of an unknown line shallower than `depth_m`.
    pub fn draw_cover(&self, depth_m: f64, rng: &mut dyn rand::Rng) -> f64 {
        use rand::RngExt;
        let wanted = rng.random::<f64>() * self.shallower(depth_m);
        let (mut low, mut high) = (0.0, depth_m);
        for _ in 0..40 {
            let middle = 0.5 * (low + high);
            if self.shallower(middle) < wanted { low = middle } else { high = middle }
        }
        0.5 * (low + high)
    }

    /// Mean number of unknown lines that a dig meets whose convex hull, widened by the pipe radius, has this
    /// perimeter: `L0 perimeter / pi` for lines in every direction (Crofton; python/docs/model.md, 10), thinned by depth.
    pub fn mean_hits(&self, hull_perimeter_m: f64, depth_m: f64) -> f64 {
        self.density_per_m * hull_perimeter_m / std::f64::consts::PI * self.shallower(depth_m)
    }
}

/// What strikes and samplers need to know of a prior of layouts.
///
/// Given the grid bearing the systems are independent; each draws one of its outer states.
pub trait OuterPrior: Send + Sync {
    /// Probability of each grid bearing, and case of the supply: of all that the systems share.
    fn bearings(&self) -> &[f64];
    /// The systems, the same for every bearing.
    fn systems(&self) -> &[System];
    /// The first bearing at which a system has the very states that it has at this one.
    fn alike(&self, bearing: usize, _system: usize) -> usize {
        bearing
    }
    /// Probability of each outer state of a system given the bearing. They sum to one, possible or not.
    fn state_probabilities(&self, bearing: usize, system: usize) -> &[f64];
    /// One outer state, built at first use; `None` if it allows no layout (the others share its probability).
    fn state(&self, bearing: usize, system: usize, state: usize) -> Option<Arc<OuterState>>;
    /// A state by its probability among those that allow a layout; `None` if none does.
    fn sample_state(&self, bearing: usize, system: usize, rng: &mut dyn Rng) -> Option<Arc<OuterState>> {
        let state = |state| self.state(bearing, system, state);
        listed_state(self.state_probabilities(bearing, system), state, rng)
    }
    /// The prior of unmapped lines.
    fn unmapped_lines(&self) -> &UnmappedLines;
}
