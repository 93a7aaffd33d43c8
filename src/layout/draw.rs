//! A draw: one sampled layout, as outer states and trees, before run attributes are drawn.

use super::metal_line::MetalLine;
use super::outer::{Lines, OuterPrior, OuterState};
use super::pick::pick;
use super::piece::Piece;
use super::run::{Run, Stock};
use rand::Rng;
use std::sync::Arc;

/// The tree of one system in one draw.
#[derive(Clone)]
pub struct Tree {
    /// Routing family of the outer state that it was drawn from.
    pub family: &'static str,
    /// Indices of its runs among the candidates of that state.
    pub edges: Vec<usize>,
    /// Pipes beyond two at each place, summed over the places that pipes join.
    pub branches: usize,
    /// Its runs, one for each edge; those that evidence bears on with their attributes known.
    pub runs: Vec<Arc<Run>>,
    /// The cover level, as a node of the prior's quadrature, where evidence has fixed it.
    pub level: Option<usize>,
    /// Places of the outermost drops in the order along the header, in header states.
    pub extent: Option<(usize, usize)>,
    /// Lines beside the tree: header and link in header states, else the state's fixed lines.
    pub lines: Lines,
    /// For each edge, whether the control wire lies beside it; empty where no wire rides along.
    pub wired: Vec<bool>,
}

/// One sampled layout.
#[derive(Clone)]
pub struct Draw {
    /// Index of its grid bearing and case of the supply.
    pub bearing: usize,
    /// One tree for each system.
    pub trees: Vec<Tree>,
    /// Lines of no system that probes found.
    pub unknown: Vec<Piece>,
    /// Lines of no system that flags, paint or known ends tell of.
    pub metal: Arc<[Arc<MetalLine>]>,
    /// The chain that those come from.
    pub metal_chain: u8,
}

impl Draw {
    /// Draws bearing, outer states and trees from a prior, independent of every other draw.
    ///
    /// `None` if a system has no possible outer state at the bearing drawn.
    pub fn sample(prior: &dyn OuterPrior, rng: &mut impl Rng) -> Option<Self> {
        Self::sample_at(prior, pick(prior.bearings(), rng), rng)
    }

    /// The same at a bearing.
    pub fn sample_at(prior: &dyn OuterPrior, bearing: usize, rng: &mut impl Rng) -> Option<Self> {
        let trees = (0..prior.systems().len()).map(|system| {
            let state = prior.sample_state(bearing, system, rng)?;
            Some(Tree::sample(state, rng))
        });
        Some(Self {
            bearing,
            trees: trees.collect::<Option<_>>()?,
            unknown: Vec::new(),
            metal: Arc::from([]),
            metal_chain: 0,
        })
    }

    /// Draws the attributes of every run and returns the pieces.
    pub fn pieces(&self, prior: &dyn OuterPrior, rng: &mut impl Rng) -> Vec<Piece> {
        let mut pieces = Vec::new();
        for (index, (tree, system)) in self.trees.iter().zip(prior.systems()).enumerate() {
            let stock = Stock {
                class: system.class,
                radius_m: system.radius_m,
                system: index as u16,
                cover: &system.cover,
                level_m: tree
                    .level
                    .map_or_else(|| system.cover.draw_level(rng), |level| system.cover.levels()[level].1),
            };
            for (k, run) in tree.runs.iter().enumerate() {
                let wire = tree.wired.get(k).copied().unwrap_or(false);
                run.draw(&stock, wire, rng, &mut pieces);
            }
            for line in tree.lines.iter() {
                line.draw(&stock, false, rng, &mut pieces);
            }
        }
        pieces.extend(&self.unknown);
        let metal = prior.systems().len() as u16 + 1;
        pieces.extend(self.metal.iter().flat_map(|line| line.pieces(metal)));
        pieces
    }
}

impl Tree {
    /// A tree of the state, by its weights.
    pub fn sample(state: Arc<OuterState>, rng: &mut impl Rng) -> Self {
        let edges = state.sampler().draw(rng);
        Self::new(state, edges)
    }

    /// The tree of these edges, its attributes and its cover level not drawn yet.
    pub fn new(state: Arc<OuterState>, mut edges: Vec<usize>) -> Self {
        edges.sort_unstable();
        let extent = state.header.as_ref().and_then(|header| {
            let used = |drop: &usize| edges.binary_search(drop).is_ok();
            let first = header.drops().iter().position(used)?;
            let last = header.drops().iter().rposition(used)?;
            Some((first, last))
        });
        let lines = extent.map_or_else(|| state.fixed.clone(), |(first, last)| state.lines(first, last));
        let wired = wired_edges(&state, &edges);
        let runs = edges.iter().map(|&edge| state.runs[edge].clone()).collect();
        let branches = further_branches(&state, &edges);
        Self { family: state.family, edges, branches, runs, level: None, extent, lines, wired }
    }
}

/// Pipes at places beyond two at each.
fn further_branches(state: &OuterState, edges: &[usize]) -> usize {
    let network = &state.network;
    let mut pipes = vec![0usize; network.nodes() + 1];
    for edge in edges.iter().map(|&edge| network.edges()[edge]) {
        pipes[edge.a] += 1;
        pipes[edge.b] += 1;
    }
    pipes[..network.nodes()].iter().map(|pipes| pipes.saturating_sub(2)).sum()
}

/// The edges that lie between the root and a node which the wire must reach.
fn wired_edges(state: &OuterState, edges: &[usize]) -> Vec<bool> {
    if state.wired.is_empty() {
        return Vec::new();
    }
    let nodes = state.network.nodes();
    let ends = |k: usize| (state.network.edges()[edges[k]].a, state.network.edges()[edges[k]].b);
    // Leaves first: an edge below which every wanted node is known tells its upper end.
    let mut above: Vec<Option<(usize, usize)>> = vec![None; nodes]; // node -> (edge, upper node)
    let mut reached = vec![false; nodes + 1];
    reached[nodes] = true;
    for _ in 0..nodes {
        for k in 0..edges.len() {
            let (a, b) = ends(k);
            for (upper, lower) in [(a, b), (b, a)] {
                if reached[upper] && !reached[lower] {
                    reached[lower] = true;
                    above[lower] = Some((k, upper));
                }
            }
        }
    }
    let mut wired = vec![false; edges.len()];
    for start in (0..nodes).filter(|&node| state.wired[node]) {
        let mut node = start;
        while let Some((edge, upper)) = above.get(node).copied().flatten() {
            wired[edge] = true;
            node = upper;
        }
    }
    wired
}
