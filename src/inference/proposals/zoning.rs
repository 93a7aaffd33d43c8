//! A zoning in the making: the zone of every head, and what each zone contributes to the zoning prior.

use crate::model::{Part, Share, Sums, ZoningPrior};
use crate::spanning_tree::{Sampler, Scratch};
use rand::{Rng, RngExt};

/// Zones that change, with their new heads, ascending.
pub type Change = Vec<(usize, Vec<usize>)>;

/// A zoning with what its zones contribute.
#[derive(Clone, Debug)]
pub struct Zoning {
    /// Zone of each head.
    pub zone_of: Vec<usize>,
    /// The zones.
    pub parts: Vec<Part>,
    /// Log prior but for the trees.
    pub log_prior: f64,
    /// Log-likelihood of labels and station tests.
    pub log_notes: f64,
    sums: Sums,
}

impl Zoning {
    /// The zoning of a zoning.
    pub fn new(prior: &ZoningPrior, zone_of: Vec<usize>, scratch: &mut Scratch) -> Self {
        let mut members = vec![Vec::new(); prior.zones()];
        for (head, &zone) in zone_of.iter().enumerate() {
            members[zone].push(head);
        }
        let parts = members.into_iter().enumerate().map(|(zone, heads)| prior.part(zone, heads, scratch));
        let mut zoning =
            Self { zone_of, parts: parts.collect(), log_prior: 0.0, log_notes: 0.0, sums: Sums::default() };
        zoning.weigh(prior);
        zoning
    }

    /// A start: all heads as one random tree, cut at random into the zones that must be there.
    pub fn start(prior: &ZoningPrior, scratch: &mut Scratch, rng: &mut impl Rng) -> Self {
        let heads: Vec<usize> = (0..prior.fit.heads()).collect();
        let mut zones: Vec<usize> = (0..prior.zones()).filter(|&zone| !prior.may_be_bare(zone)).collect();
        if zones.is_empty() && prior.zones() > 0 {
            zones.push(rng.random_range(0..prior.zones())); // any may be bare, yet a head is on some zone
        }
        for k in (1..zones.len()).rev() {
            zones.swap(k, rng.random_range(0..=k));
        }
        let mut edges = draw_tree(prior, &heads, rng);
        let mut group: Vec<usize> = heads.clone();
        for _ in 1..zones.len().min(heads.len()) {
            edges.swap_remove(rng.random_range(0..edges.len()));
        }
        for &(a, b) in &edges {
            let (kept, gone) = (group[a], group[b]);
            group.iter_mut().filter(|g| **g == gone).for_each(|g| *g = kept);
        }
        let mut names = group.clone();
        names.sort_unstable();
        names.dedup();
        let zone = |group: &usize| names.binary_search(group).map_or(0, |place| zones[place]);
        Self::new(prior, group.iter().map(zone).collect(), scratch)
    }

    /// Log of the weighted trees of all zones.
    pub fn log_trees(&self) -> f64 {
        self.parts.iter().map(|part| part.log_trees).sum()
    }

    /// Log of the zoning prior's posterior density, without its normaliser.
    pub fn log_density(&self) -> f64 {
        self.log_trees() + self.log_notes + self.log_prior
    }

    /// The zones that have heads.
    pub fn there(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.parts.len()).filter(|&zone| !self.parts[zone].heads.is_empty())
    }

    /// Makes a change.
    pub fn change(&mut self, prior: &ZoningPrior, change: Change, scratch: &mut Scratch) {
        for (zone, heads) in change {
            for &head in &heads {
                self.zone_of[head] = zone;
            }
            self.parts[zone] = prior.part(zone, heads, scratch);
        }
        self.weigh(prior);
    }

    /// Log of `notes * prior^beta` with these zones in place of their like.
    pub(super) fn weight_with(&self, prior: &ZoningPrior, beta: f64, shares: &[(usize, &Share)]) -> f64 {
        let share = |zone: usize| {
            let changed = shares.iter().find(|(changed, _)| *changed == zone);
            changed.map_or(&self.parts[zone].share, |(_, share)| share)
        };
        let exchanged =
            |sums: Sums, &(zone, share): &(usize, &Share)| sums.without(&self.parts[zone].share).with(share);
        let sums = shares.iter().fold(self.sums, exchanged);
        prior.log_notes(&sums, share) + beta * prior.log_prior(&sums)
    }

    fn weigh(&mut self, prior: &ZoningPrior) {
        self.sums = Sums::of(self.parts.iter().map(|part| &part.share));
        self.log_prior = prior.log_prior(&self.sums);
        self.log_notes = prior.log_notes(&self.sums, |zone| &self.parts[zone].share);
    }
}

/// A random tree on these heads, by the weights of the zoning prior, as pairs of heads.
pub(super) fn draw_tree(prior: &ZoningPrior, heads: &[usize], rng: &mut impl Rng) -> Vec<(usize, usize)> {
    let Some(root) = heads.len().checked_sub(1) else { return Vec::new() };
    let sampler = Sampler::complete(root, |a, b| prior.fit.weight(heads[a], heads[b]));
    let mut tree = sampler.map_or_else(|_| Vec::new(), |sampler| sampler.draw_pairs(rng));
    tree.iter_mut().for_each(|(a, b)| (*a, *b) = (heads[*a], heads[*b]));
    tree
}

/// The heads on one side of a cut tree: those joined with `from` by `edges` but for number `cut`.
pub(super) fn side(edges: &[(usize, usize)], cut: usize, from: usize) -> Vec<usize> {
    let mut reached = Vec::with_capacity(edges.len());
    reached.push(from);
    let mut next = 0;
    while next < reached.len() {
        let node = reached[next];
        next += 1;
        for (_, &(a, b)) in edges.iter().enumerate().filter(|(edge, _)| *edge != cut) {
            let other = if a == node { b } else { a };
            if (a == node || b == node) && !reached.contains(&other) {
                reached.push(other);
            }
        }
    }
    reached.sort_unstable();
    reached
}

/// The ways to cut a tree between two of its nodes: for each run on the way from one to the other, nearest to `from` first,
/// the nodes on the side of `from` and the others, both ascending.
pub(super) fn cuts_between(
    edges: &[(usize, usize)],
    from: usize,
    to: usize,
) -> impl Iterator<Item = (Vec<usize>, Vec<usize>)> {
    // Each node with the place among these of the node before it on the way from `from`.
    let mut reached: Vec<(usize, usize)> = Vec::with_capacity(edges.len() + 1);
    reached.push((from, 0));
    let mut next = 0;
    while next < reached.len() {
        let (node, before) = reached[next];
        for &(a, b) in edges {
            let other = if a == node { b } else { a };
            if (a == node || b == node) && other != reached[before].0 {
                reached.push((other, next));
            }
        }
        next += 1;
    }
    let mut way: Vec<usize> = Vec::with_capacity(reached.len());
    let mut place = reached.iter().position(|(node, _)| *node == to).unwrap_or(0);
    while place > 0 {
        way.push(place);
        place = reached[place].1;
    }
    // How many runs of the way each node lies behind.
    let mut behind: Vec<(usize, usize)> = vec![(from, 0); reached.len()];
    for (place, &(node, before)) in reached.iter().enumerate().skip(1) {
        let on_the_way = way.iter().rev().position(|on| *on == place);
        behind[place] = (node, on_the_way.map_or(behind[before].1, |k| k + 1));
    }
    behind.sort_unstable();
    (0..way.len()).map(move |cut| {
        let mut sides = (Vec::with_capacity(behind.len()), Vec::with_capacity(behind.len()));
        for &(node, runs) in &behind {
            if runs <= cut { sides.0.push(node) } else { sides.1.push(node) }
        }
        sides
    })
}

/// The sum of the weights of all runs between two sets of heads.
pub(super) fn between(prior: &ZoningPrior, some: &[usize], others: &[usize]) -> f64 {
    some.iter().map(|&a| others.iter().map(|&b| prior.fit.weight(a, b)).sum::<f64>()).sum()
}

/// The heads of `all` that are not in `some`; both ascending.
pub(super) fn without(all: &[usize], some: &[usize]) -> Vec<usize> {
    all.iter().copied().filter(|head| some.binary_search(head).is_err()).collect()
}

/// The heads of both, ascending.
pub(super) fn joined(some: &[usize], others: &[usize]) -> Vec<usize> {
    let mut all: Vec<usize> = some.iter().chain(others).copied().collect();
    all.sort_unstable();
    all
}

/// An index in proportion to the exponentials of log weights; `None` if all are minus infinity.
pub(super) fn pick_log(logs: &[f64], rng: &mut impl Rng) -> Option<usize> {
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = logs.iter().map(|log| (log - top).exp()).collect();
    (top > f64::NEG_INFINITY).then(|| crate::layout::pick(&weights, rng))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rng::stream;

    /// n = 200 random trees of 2 to 30 nodes whose names are no places: the ways to cut between two nodes part the nodes as
    /// taking each run of the way out one by one does, nearest to the first node first.
    #[test]
    fn cuts_between_two_nodes_are_those_of_the_runs_on_the_way() {
        for k in 0..200 {
            let mut rng = stream(8, k);
            let nodes: Vec<usize> = (0..rng.random_range(2..30)).map(|node| 3 * node + 1).collect();
            let edges: Vec<(usize, usize)> =
                (1..nodes.len()).map(|k| (nodes[rng.random_range(0..k)], nodes[k])).collect();
            let (from, to) = (nodes[0], nodes[rng.random_range(1..nodes.len())]);
            let mut expected: Vec<(Vec<usize>, Vec<usize>)> = Vec::new();
            for cut in 0..edges.len() {
                let near = side(&edges, cut, from);
                if !near.contains(&to) {
                    expected.push((near.clone(), without(&nodes, &near)));
                }
            }
            expected.sort_by_key(|(near, _)| near.len());
            assert_eq!(cuts_between(&edges, from, to).collect::<Vec<_>>(), expected);
            assert_eq!(cuts_between(&edges, from, from).count(), 0);
        }
    }
}
