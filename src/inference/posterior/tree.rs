//! A tree given its outer state and what was seen: edges that a find may be are decided one by one, the rest drawn at once.
//!
//! With the signed sum over sets S of finds taken as missed, the chance that an edge is part of the tree, given the edges
//! decided before it, is a ratio of sums of determinants: no tree is ever tried and thrown away. Once every edge that a
//! find may be is decided, the finds have nothing more to say and the rest is a spanning tree like any other.

use super::outer::Outer;
use crate::effort::{self, Effort};
use crate::layout::Tree;
use crate::spanning_tree::{Edge, Network, Sampler, Scratch};
use crate::strike::{BySet, FindSet};
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

/// A tree, and for each set of the system's finds the chance that set and clear observations miss all its lines. `signed`
/// holds the coefficient of each set, the other systems being known. Where the effort is spent the tree is of no meaning:
/// the caller finds that out.
pub fn draw(
    outer: &Outer,
    signed: &BySet<Vec<f64>>,
    effort: &Effort,
    rng: &mut impl Rng,
) -> (Tree, BySet<Vec<f64>>) {
    let network = &outer.state.network;
    let edges = network.edges();
    let finds = signed.finds();
    let miss = |set: FindSet, edge: usize| outer.candidate_missed(edge, set);
    let mut groups = Groups((0..=network.nodes()).collect());
    let mut decided: Vec<Option<bool>> = vec![None; edges.len()];
    let mut signed = signed.clone();
    let take =
        |edge: usize, groups: &mut Groups, decided: &mut [Option<bool>], signed: &mut BySet<Vec<f64>>| {
            groups.join(&edges[edge]);
            decided[edge] = Some(true);
            signed.iter_mut().for_each(|(set, s)| *s *= miss(set, edge));
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
        signed.iter_mut().for_each(|(set, s)| *s *= outer.line_missed(line, set));
    }
    let candidates = outer.candidates.as_ref();
    let differs = |e: usize| candidates.is_some_and(|candidates| candidates.differs(e, outer.level));
    let open: Vec<usize> = (0..edges.len()).filter(|&e| decided[e].is_none() && differs(e)).collect();
    // Sets that differ in finds which no candidate can be have the same trees.
    let own = candidates.map_or(FindSet::NONE, |candidates| candidates.finds());
    let mut scratch = Scratch::default();
    for edge in open {
        let price = effort::elimination(network.nodes(), edges.len()) + 12 * edges.len() as u64;
        effort.spend(2 * price * FindSet::count(own.len()) as u64 + 4 * FindSet::count(finds) as u64);
        if effort.is_spent() {
            break;
        }
        if !groups.joins(&edges[edge]) {
            decided[edge] = Some(false);
            continue;
        }
        let mut total =
            |groups: &Groups, decided: &[Option<bool>], signed: &BySet<Vec<f64>>, base: Option<f64>| {
                let mut logs = BySet::new(finds, |_| f64::NEG_INFINITY);
                for set in signed.sets() {
                    let part = set.intersection(own); // comes before the set, so that it is known
                    logs[set] = if part != set {
                        logs[part]
                    } else {
                        let weight = |e: usize| match decided[e] {
                            Some(_) => 0.0,
                            None => edges[e].weight * miss(set, e),
                        };
                        network.log_z_merged(weight, &groups.0, &mut scratch)
                    };
                }
                let base =
                    base.unwrap_or_else(|| logs.values().iter().copied().fold(f64::NEG_INFINITY, f64::max));
                let sum: f64 = signed.iter().map(|(set, s)| s * (logs[set] - base).exp()).sum();
                (sum.max(0.0), base)
            };
        decided[edge] = Some(false);
        let (without, base) = total(&groups, &decided, &signed, None);
        let mut joined = Groups(groups.0.clone());
        joined.join(&edges[edge]);
        let taken = BySet::new(finds, |set| signed[set] * edges[edge].weight * miss(set, edge));
        let base = (base > f64::NEG_INFINITY).then_some(base);
        let (with, _) = total(&joined, &decided, &taken, base);
        if without <= 0.0 || rng.random::<f64>() * (with + without) < with {
            take(edge, &mut groups, &mut decided, &mut signed);
        }
    }
    let mut chosen: Vec<usize> = (0..edges.len()).filter(|&e| decided[e] == Some(true)).collect();
    chosen.extend(rest(
        network,
        &groups,
        &decided,
        |edge| edges[edge].weight * miss(FindSet::NONE, edge),
        rng,
    ));
    let mut tree = Tree::new(outer.state.clone(), chosen);
    tree.level = Some(outer.level);
    let missed = BySet::new(finds, |set| missed_by(&tree, outer, set));
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

/// Chance that a set of finds and the clear observations miss every line of a tree.
fn missed_by(tree: &Tree, outer: &Outer, set: FindSet) -> f64 {
    let runs = tree.edges.iter().map(|&edge| outer.candidate_missed(edge, set));
    let lines = (0..outer.lines.len()).map(|line| outer.line_missed(line, set));
    runs.chain(lines).product()
}
