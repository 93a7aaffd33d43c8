//! A tree given its outer state and what was seen: edges that a find may be are decided one by one, the rest drawn at once.
//!
//! With the signed sum over sets S of finds taken as missed, the chance that an edge is part of the tree, given the edges
//! decided before it, is a ratio of sums of determinants: no tree is ever tried and thrown away. Once every edge that a
//! find may be is decided, the finds have nothing more to say and the rest is a spanning tree like any other.

use super::outer::Outer;
use crate::effort::{self, Effort};
use crate::layout::Tree;
use crate::spanning_tree::{Edge, Network, Sampler, Scratch};
use rand::{Rng, RngExt};

/// Nodes in groups: those joined by edges that are part of the tree.
struct Groups(Vec<usize>);

impl Groups {
    fn joins(&self, edge: &Edge) -> bool {
        self.0[edge.a] != self.0[edge.b]
    }

    fn join(&mut self, edge: &Edge) {
        let (a, b) = (self.0[edge.a], self.0[edge.b]);
        let root = self.0[self.0.len() - 1];
        let (kept, gone) = if b == root { (b, a) } else { (a, b) };
        self.0.iter_mut().filter(|group| **group == gone).for_each(|group| *group = kept);
    }
}

/// A tree, and for each set of the system's finds the chance that set and clear looks miss all its lines. `signed` holds
/// the coefficient of each set, the other systems being known. Where the effort is spent the tree is of no meaning: who
/// asked for it finds that out.
pub fn draw(outer: &Outer, signed: &[f64], effort: &Effort, rng: &mut impl Rng) -> (Tree, Vec<f64>) {
    let network = &outer.state.network;
    let edges = network.edges();
    let sets = signed.len();
    let miss =
        |set: usize, edge: usize| outer.runs.as_ref().map_or(1.0, |runs| runs.of(set, edge, outer.level));
    let mut groups = Groups((0..=network.nodes()).collect());
    let mut decided: Vec<Option<bool>> = vec![None; edges.len()];
    let mut signed = signed.to_vec();
    let take = |edge: usize, groups: &mut Groups, decided: &mut [Option<bool>], signed: &mut [f64]| {
        groups.join(&edges[edge]);
        decided[edge] = Some(true);
        signed.iter_mut().enumerate().for_each(|(set, s)| *s *= miss(set, edge));
    };
    if let (Some(header), Some((first, last))) = (&outer.state.header, outer.extent) {
        let drops = header.drops();
        drops[..first].iter().chain(&drops[last + 1..]).for_each(|&drop| decided[drop] = Some(false));
        take(drops[first], &mut groups, &mut decided, &mut signed);
        if last > first {
            take(drops[last], &mut groups, &mut decided, &mut signed);
        }
    }
    for line in 0..outer.lines.len() {
        signed.iter_mut().enumerate().for_each(|(set, s)| *s *= outer.line_missed(line, set));
    }
    let differs = |e: usize| outer.runs.as_ref().is_some_and(|runs| runs.differs(e, outer.level));
    let asked: Vec<usize> = (0..edges.len()).filter(|&e| decided[e].is_none() && differs(e)).collect();
    // Sets that differ in finds which no run can be have the same trees.
    let finds = outer.runs.as_ref().map_or(0, |runs| runs.finds());
    let mut scratch = Scratch::default();
    for edge in asked {
        let price = effort::elimination(network.nodes(), edges.len()) + 12 * edges.len() as u64;
        effort.spend((price << (finds.count_ones() + 1)) + 4 * sets as u64);
        if effort.is_spent() {
            break;
        }
        if !groups.joins(&edges[edge]) {
            decided[edge] = Some(false);
            continue;
        }
        let mut total = |groups: &Groups, decided: &[Option<bool>], signed: &[f64], base: Option<f64>| {
            let mut logs: Vec<f64> = Vec::with_capacity(sets);
            for set in 0..sets {
                let part = set & finds; // no greater than the set, so that it is known
                let log = if part < set {
                    logs[part]
                } else {
                    let weight = |e: usize| match decided[e] {
                        Some(_) => 0.0,
                        None => edges[e].weight * miss(set, e),
                    };
                    network.log_z_merged(weight, &groups.0, &mut scratch)
                };
                logs.push(log);
            }
            let base = base.unwrap_or_else(|| logs.iter().copied().fold(f64::NEG_INFINITY, f64::max));
            let sum: f64 = signed.iter().zip(&logs).map(|(s, log)| s * (log - base).exp()).sum();
            (sum.max(0.0), base)
        };
        decided[edge] = Some(false);
        let (without, base) = total(&groups, &decided, &signed, None);
        let mut joined = Groups(groups.0.clone());
        joined.join(&edges[edge]);
        let taken: Vec<f64> =
            (0..sets).map(|set| signed[set] * edges[edge].weight * miss(set, edge)).collect();
        let base = (base > f64::NEG_INFINITY).then_some(base);
        let (with, _) = total(&joined, &decided, &taken, base);
        if without <= 0.0 || rng.random::<f64>() * (with + without) < with {
            take(edge, &mut groups, &mut decided, &mut signed);
        }
    }
    let mut chosen: Vec<usize> = (0..edges.len()).filter(|&e| decided[e] == Some(true)).collect();
    chosen.extend(rest(network, &groups, &decided, |edge| edges[edge].weight * miss(0, edge), rng));
    let mut tree = Tree::new(outer.state.clone(), chosen);
    tree.level = Some(outer.level);
    let missed = (0..sets).map(|set| missed_by(&tree, outer, set)).collect();
    (tree, missed)
}

/// The undecided part of the tree.
fn rest(
    network: &Network,
    groups: &Groups,
    decided: &[Option<bool>],
    weight: impl Fn(usize) -> f64,
    rng: &mut impl Rng,
) -> Vec<usize> {
    let root = groups.0[groups.0.len() - 1];
    let mut names: Vec<usize> = groups.0.iter().copied().filter(|&g| g != root).collect();
    names.sort_unstable();
    names.dedup();
    let place = |node: usize| names.binary_search(&groups.0[node]).unwrap_or(names.len());
    let (mut open, mut left) = (Vec::new(), Vec::new());
    for (index, edge) in network.edges().iter().enumerate() {
        let (a, b) = (place(edge.a), place(edge.b));
        if decided[index].is_none() && a != b {
            open.push(index);
            left.push(Edge { a, b, weight: weight(index) });
        }
    }
    let drawn = Network::new(names.len(), left).and_then(|network| Sampler::new(&network));
    drawn.map_or_else(|_| Vec::new(), |sampler| sampler.draw(rng).into_iter().map(|e| open[e]).collect())
}

/// Chance that a set of finds and the clear looks miss every line of a tree.
fn missed_by(tree: &Tree, outer: &Outer, set: usize) -> f64 {
    let runs =
        tree.edges.iter().map(|&edge| outer.runs.as_ref().map_or(1.0, |r| r.of(set, edge, outer.level)));
    let lines = (0..outer.lines.len()).map(|line| outer.line_missed(line, set));
    runs.chain(lines).product()
}
