//! Family `chain`: a daisy chain from nearest head to nearest (python/docs/trade-values.md, 3.18 (a)), two pipes at a head,
//! with a tee at a head fed before only where going on from the last one would take much more pipe (3.18c).
//!
//! Chains do not factor over runs, so the family is a sample of whole layouts: each outer state is one chain without
//! anything left to draw but its attributes, walked once from a random stream of its own, and all are equally probable.

use crate::layout::{OuterState, Run};
use crate::model::zone::Zone;
use crate::rng;
use crate::spanning_tree::Network;
use rand::{Rng, RngExt};
use std::sync::Arc;

/// Chains walked for each zone, start and bearing. Numerical choice.
pub const CHAINS: usize = 24;

/// Seed of the walks: part of the prior, not of a run of it.
const SEED: u64 = 0x_c4a1;

/// A crew goes back to tee from an earlier head where going on takes 1 to 2 times as much pipe. Common practice, no
/// source.
const PATIENCE: (f64, f64) = (1.0, 2.0);

/// Steps that length alone makes less probable than this are not looked at further. Numerical choice.
const NEGLIGIBLE: f64 = 1e-6;

/// One chain of the [`CHAINS`].
pub fn state(zone: &Zone, stream: u64) -> Option<OuterState> {
    let mut fixed = Vec::with_capacity(zone.plan.nodes.len());
    for (from, to) in walk(zone, &mut rng::stream(SEED, stream)) {
        fixed.push(pipe(zone, from, to)?);
    }
    let network = Network::new(0, Vec::new()).ok()?;
    Some(OuterState::new("chain", Vec::new(), network, None).ok()?.with_fixed(fixed))
}

/// A place from which pipe goes on: the valve (`None`) or a head.
type Place = Option<usize>;

/// The order in which heads are fed, each with where its pipe comes from.
fn walk(zone: &Zone, rng: &mut impl Rng) -> Vec<(Place, usize)> {
    let at = |place: Place| place.map_or(zone.valve().at, |k| zone.plan.nodes[k].at);
    let budget = rng.random_range(PATIENCE.0..PATIENCE.1);
    let mut left: Vec<usize> = (0..zone.plan.nodes.len()).collect();
    let mut fed: Vec<Place> = vec![None];
    let mut chain = Vec::with_capacity(left.len());
    while let Some(&here) = fed.last().filter(|_| !left.is_empty()) {
        let steps = |from: Place| left.iter().map(move |&to| (from, to, at(from).distance(at(Some(to)))));
        let shortest =
            |steps: &[(Place, usize, f64)]| steps.iter().map(|s| s.2).fold(f64::INFINITY, f64::min);
        let mut options: Vec<_> = steps(here).collect();
        let anywhere: Vec<_> = fed.iter().flat_map(|&from| steps(from)).collect();
        if shortest(&options) > budget * shortest(&anywhere) {
            options = anywhere;
        }
        let (from, to) = choose(zone, &options, shortest(&options), rng);
        left.retain(|&k| k != to);
        fed.push(Some(to));
        chain.push((from, to));
    }
    chain
}

/// A step in proportion to the price of its length beyond the shortest, of trees on it, and to how it is drawn.
fn choose(
    zone: &Zone,
    options: &[(Place, usize, f64)],
    shortest_m: f64,
    rng: &mut impl Rng,
) -> (Place, usize) {
    let rate = zone.settings().chain_rate / zone.plan.spacing_m;
    let weight = |&(from, to, length_m): &(Place, usize, f64)| {
        let weight = (-rate * (length_m - shortest_m)).exp();
        if weight < NEGLIGIBLE {
            return weight;
        }
        let start = from.map_or(zone.valve().at, |k| zone.plan.nodes[k].at);
        weight * zone.ground().inclination(&[start, zone.plan.nodes[to].at])
    };
    let weights: Vec<f64> = options.iter().map(weight).collect();
    let mut left = rng.random::<f64>() * weights.iter().sum::<f64>();
    let found = options.iter().zip(&weights).find(|(_, weight)| {
        left -= **weight;
        left < 0.0
    });
    let &(from, to, _) = found.map_or(&options[options.len() - 1], |(step, _)| step);
    (from, to)
}

/// The pipe of one step; between heads it is the candidate run, shared by all families.
fn pipe(zone: &Zone, from: Place, to: usize) -> Option<Arc<Run>> {
    let joins = |k: usize| zone.pairs.iter().find(|p| (p.a, p.b) == (k.min(to), k.max(to)));
    if let Some(pair) = from.and_then(joins) {
        return Some(pair.run.clone());
    }
    let pair = from.map_or_else(|| zone.pair_from(&zone.roots[0], to), |from| zone.pair(from, to));
    pair.run_where(zone.per_metre(zone.settings().length_rate), |_| false, 1.0).map(|(run, _)| run)
}
