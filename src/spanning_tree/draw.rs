//! Independent exact draws of spanning trees by undoing an elimination, one node at a time.
//!
//! Eliminating node k turns its star into a mesh: the weight between i and j gains `w_ki w_kj / d_k`. A tree of the
//! mesh is lifted back to a tree of the network before that step: edges that came through k are cut, and k is joined
//! to each of the parts so made, in each by one edge chosen in proportion to its weight. (For a set of parts with
//! total weights a_c to k the trees of the mesh sum to `prod a_c / d_k`, those of the star to `prod a_c`; the same
//! factor `d_k` for every set, so the lift is exact. Idea: Colbourn, Myrvold & Neufeld 1996, J. Algorithms 20,
//! 268-281; Durfee et al. 2017, arXiv 1611.07451; both from memory; checked against enumeration.)
//!
//! One elimination costs O(n^3), each draw O(n^2), with no random walk: two heads close together and far from the
//! rest cost nothing extra, where a loop-erased walk stalls between them.

use super::network::{Fault, Network};
use rand::{Rng, RngExt};

/// An eliminated network from which trees are drawn.
#[derive(Clone, Debug)]
pub struct Sampler {
    nodes: usize,
    /// Weights at each node's elimination to the nodes after it and the root, row after row.
    star: Vec<f64>,
    pivot: Vec<f64>,
    /// Original weights in the same packing.
    original: Vec<f64>,
    /// Edges of the network sorted by their packed place, with their weights.
    parallel: Vec<(u32, u32, f64)>,
}

/// An edge of a partly lifted tree: its ends and the elimination through which it came (`None`: none).
#[derive(Clone, Copy)]
struct Lifted {
    low: usize,
    high: usize,
    via: Option<usize>,
}

impl Sampler {
    /// Eliminates the network once.
    ///
    /// # Errors
    /// [`Fault::Disconnected`] if there is no spanning tree.
    pub fn new(network: &Network) -> Result<Self, Fault> {
        let nodes = network.nodes();
        let mut sampler = Self {
            nodes,
            star: vec![0.0; nodes * (nodes + 1) / 2],
            pivot: Vec::with_capacity(nodes),
            original: Vec::new(),
            parallel: Vec::with_capacity(network.edges().len()),
        };
        for (index, edge) in network.edges().iter().enumerate() {
            let place = sampler.place(edge.a.min(edge.b), edge.a.max(edge.b));
            sampler.star[place] += edge.weight;
            sampler.parallel.push((place as u32, index as u32, edge.weight));
        }
        sampler.parallel.sort_unstable_by_key(|&(place, index, _)| (place, index));
        sampler.eliminated()
    }

    /// Eliminates a network with one edge between any two nodes, for [`Self::draw_pairs`]; node `nodes` is the root.
    ///
    /// # Errors
    /// [`Fault::Disconnected`] if there is no spanning tree.
    pub fn complete(nodes: usize, weight: impl Fn(usize, usize) -> f64) -> Result<Self, Fault> {
        let mut star = Vec::with_capacity(nodes * (nodes + 1) / 2);
        for low in 0..nodes {
            star.extend((low + 1..=nodes).map(|high| weight(low, high)));
        }
        let (pivot, original, parallel) = (Vec::with_capacity(nodes), Vec::new(), Vec::new());
        Self { nodes, star, pivot, original, parallel }.eliminated()
    }

    fn eliminated(mut self) -> Result<Self, Fault> {
        self.original = self.star.clone();
        for k in 0..self.nodes {
            let (start, end) = (self.place(k, k + 1), self.place(k, self.nodes) + 1);
            let pivot: f64 = self.star[start..end].iter().sum();
            if pivot <= 0.0 {
                return Err(Fault::Disconnected);
            }
            self.pivot.push(pivot);
            for i in k + 1..self.nodes {
                let share = self.star[start + i - k - 1] / pivot;
                if share > 0.0 {
                    let to = self.place(i, i + 1);
                    let (before, after) = self.star.split_at_mut(to);
                    for (to, &via) in after.iter_mut().zip(&before[start + i - k..end]) {
                        *to += share * via;
                    }
                }
            }
        }
        Ok(self)
    }

    /// Natural logarithm of the sum over spanning trees.
    pub fn log_z(&self) -> f64 {
        self.pivot.iter().map(|pivot| pivot.ln()).sum()
    }

    /// Draws one tree: the indices of its edges in the network, in no particular order.
    pub fn draw(&self, rng: &mut impl Rng) -> Vec<usize> {
        let tree = self.lifted(rng);
        tree.iter().map(|edge| self.edge_between(edge.low, edge.high, rng)).collect()
    }

    /// Draws one tree as pairs of nodes, the lower first, in no particular order.
    pub fn draw_pairs(&self, rng: &mut impl Rng) -> Vec<(usize, usize)> {
        self.lifted(rng).iter().map(|edge| (edge.low, edge.high)).collect()
    }

    fn lifted(&self, rng: &mut impl Rng) -> Vec<Lifted> {
        let mut tree: Vec<Lifted> = Vec::with_capacity(self.nodes);
        let mut part = vec![0; self.nodes + 1];
        for k in (0..self.nodes).rev() {
            self.lift(k, &mut tree, &mut part, rng);
        }
        tree
    }

    /// Turns a tree on the nodes after k into one on k and the nodes after it.
    fn lift(&self, k: usize, tree: &mut Vec<Lifted>, part: &mut [usize], rng: &mut impl Rng) {
        let cut = tree.len();
        tree.retain(|edge| edge.via != Some(k));
        let star = &self.star[self.place(k, k + 1)..=self.place(k, self.nodes)];
        if tree.len() == cut {
            let high = k + 1 + choose(star.iter().copied(), rng);
            tree.push(self.labelled(k, high, rng));
            return;
        }
        part.iter_mut().enumerate().for_each(|(node, part)| *part = node);
        for edge in tree.iter() {
            let (low, high) = (find(part, edge.low), find(part, edge.high));
            part[low.min(high)] = low.max(high);
        }
        for node in k + 1..=self.nodes {
            part[node] = find(part, node);
        }
        for top in k + 1..=self.nodes {
            if part[top] == top {
                let weights = star.iter().enumerate();
                let inside = weights.map(|(i, &w)| if part[k + 1 + i] == top { w } else { 0.0 });
                let high = k + 1 + choose(inside, rng);
                tree.push(self.labelled(k, high, rng));
            }
        }
    }

    /// A new edge from k, with the elimination through which its weight came chosen in proportion.
    fn labelled(&self, k: usize, high: usize, rng: &mut impl Rng) -> Lifted {
        let through =
            |l: usize| self.star[self.place(l, k)] * (self.star[self.place(l, high)] / self.pivot[l]);
        let original = self.original[self.place(k, high)];
        let pick = choose((0..k).map(through).chain([original]), rng);
        Lifted { low: k, high, via: (pick < k).then_some(pick) }
    }

    /// One of the parallel edges between two nodes, in proportion to weight.
    fn edge_between(&self, low: usize, high: usize, rng: &mut impl Rng) -> usize {
        let place = self.place(low, high) as u32;
        let start = self.parallel.partition_point(|&(p, ..)| p < place);
        let end = start + self.parallel[start..].partition_point(|&(p, ..)| p == place);
        let between = &self.parallel[start..end];
        between[choose(between.iter().map(|&(_, _, w)| w), rng)].1 as usize
    }

    /// Where the weight between `low < high` stands in the packing.
    fn place(&self, low: usize, high: usize) -> usize {
        low * (2 * self.nodes + 1 - low) / 2 + high - low - 1
    }
}

/// The top of a node's part, halving the path on the way.
fn find(part: &mut [usize], mut node: usize) -> usize {
    while part[node] != node {
        part[node] = part[part[node]];
        node = part[node];
    }
    node
}

/// An index in proportion to weight; the last positive one if rounding runs past the end.
fn choose(weights: impl Iterator<Item = f64> + Clone, rng: &mut impl Rng) -> usize {
    let total: f64 = weights.clone().sum();
    let mut left = rng.random::<f64>() * total;
    let mut last = 0;
    for (index, weight) in weights.enumerate() {
        if weight > 0.0 {
            last = index;
            if left < weight {
                return index;
            }
            left -= weight;
        }
    }
    last
}
