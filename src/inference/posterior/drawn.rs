//! Draws given what was seen, at a bearing: an outer state of each observed system, its tree, run attributes, then the rest.

use super::given_bearing::{Chosen, GivenBearing};
use super::pool::SystemPool;
use super::{run_attributes, tree};
use crate::layout::{Draw, Tree, pick};
use crate::strike::{BySet, FindSet};
use rand::Rng;

impl GivenBearing<'_> {
    /// One draw; the runs that observations can meet have their attributes known. `None` if no layout agrees with what was
    /// seen, or the effort is spent.
    pub(super) fn draw(&self, rng: &mut impl Rng) -> Option<Draw> {
        let coefficients = self.sums.at(self.bearing);
        let mut chosen: Vec<Chosen<'_>> = Vec::with_capacity(self.systems.len());
        for (k, (_, system)) in self.systems.iter().enumerate() {
            let others = |set: FindSet| -> f64 {
                let later = &self.systems[k + 1..];
                let later: f64 =
                    later.iter().map(|(_, later)| later.pool.mean[later.observations.part(set)]).product();
                coefficients[set] * self.product(&chosen, set, None) * later
            };
            let others = system.observations.gathered(coefficients.sets(), others);
            if !self.attempts.effort.spend(system.pool.price() + 4 * coefficients.values().len() as u64) {
                return None;
            }
            let weights = system.pool.weights(&others);
            if weights.iter().sum::<f64>() <= 0.0 {
                return None;
            }
            let item = pick(&weights, rng);
            let missed = BySet::from_values(system.pool.missed(item).values().to_vec());
            chosen.push(Chosen { outer: &system.pool.outer[item], missed });
        }
        let mut trees: Vec<Option<Tree>> = (0..self.prior.systems().len()).map(|_| None).collect();
        for (k, (number, system)) in self.systems.iter().enumerate() {
            let others = |set: FindSet| coefficients[set] * self.product(&chosen, set, Some(k));
            let signed = system.observations.gathered(coefficients.sets(), others);
            let (tree, missed) = tree::draw(chosen[k].outer, &signed, &self.attempts.effort, rng);
            chosen[k].missed = missed;
            trees[*number] = Some(tree);
        }
        let (unknown, metal) = run_attributes::draw(self, &chosen, &mut trees, rng);
        if self.attempts.effort.is_spent() {
            return None;
        }
        for (system, tree) in trees.iter_mut().enumerate().filter(|(_, tree)| tree.is_none()) {
            *tree = Some(Tree::sample(self.prior.sample_state(self.bearing, system, rng)?, rng));
        }
        Some(Draw {
            bearing: self.bearing,
            trees: trees.into_iter().collect::<Option<_>>()?,
            unknown,
            metal: metal.lines,
            metal_chain: metal.chain,
        })
    }

    /// Product over the systems chosen so far, one left out.
    fn product(&self, chosen: &[Chosen<'_>], set: FindSet, left_out: Option<usize>) -> f64 {
        let of_system = |(k, (one, (_, system))): (usize, (&Chosen<'_>, &(usize, SystemPool)))| {
            if left_out == Some(k) { 1.0 } else { one.missed[system.observations.part(set)] }
        };
        chosen.iter().zip(&self.systems).enumerate().map(of_system).product()
    }
}
