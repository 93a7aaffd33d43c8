//! Draws of a posterior: a bearing, an outer state of each system that a look may meet, its tree and marks, then the rest.

use super::observed_system::ObservedSystem;
use super::weighed::{Chosen, Posterior};
use super::{run_attributes, tree};
use crate::layout::{Draw, Tree, pick};
use rand::Rng;

impl Posterior<'_> {
    /// One draw; its touched runs have their marks known. `None` if no layout agrees with what was seen, or the effort is
    /// spent.
    pub fn sample(&self, rng: &mut impl Rng) -> Option<Draw> {
        if self.bearings.iter().sum::<f64>() <= 0.0 {
            return None;
        }
        let bearing = pick(&self.bearings, rng);
        let mut chosen: Vec<Chosen<'_>> = Vec::with_capacity(self.touched.len());
        for (k, touched) in self.touched.iter().enumerate() {
            let others = |set: usize| -> f64 {
                let later: f64 = self.touched[k + 1..]
                    .iter()
                    .map(|touched| touched.pools[bearing].mean[touched.part_of(set)])
                    .product();
                self.sums.coefficients[set] * self.product(&chosen, set, usize::MAX) * later
            };
            let others = touched.gathered(self.sums.coefficients.len(), others);
            let pool = &touched.pools[bearing];
            if !self.effort.spend(pool.price() + 4 * self.sums.coefficients.len() as u64) {
                return None;
            }
            let weights = pool.weights(&others);
            if weights.iter().sum::<f64>() <= 0.0 {
                return None;
            }
            let item = pick(&weights, rng);
            chosen.push(Chosen { outer: &pool.outer[item], missed: pool.missed(item).to_vec() });
        }
        let mut trees: Vec<Option<Tree>> = (0..self.law.systems().len()).map(|_| None).collect();
        for (k, touched) in self.touched.iter().enumerate() {
            let others = |set: usize| self.sums.coefficients[set] * self.product(&chosen, set, k);
            let signed = touched.gathered(self.sums.coefficients.len(), others);
            let (tree, missed) = tree::draw(chosen[k].outer, &signed, &self.effort, rng);
            chosen[k].missed = missed;
            trees[touched.system] = Some(tree);
        }
        let unknown = run_attributes::draw(self, &chosen, &mut trees, rng);
        if self.effort.is_spent() {
            return None;
        }
        for (system, tree) in trees.iter_mut().enumerate().filter(|(_, tree)| tree.is_none()) {
            *tree = Some(Tree::sample(self.law.sample_state(bearing, system, rng)?, rng));
        }
        Some(Draw { bearing, trees: trees.into_iter().collect::<Option<_>>()?, unknown })
    }

    /// Product over the systems chosen so far, one left out.
    fn product(&self, chosen: &[Chosen<'_>], set: usize, left_out: usize) -> f64 {
        let of = |(k, (c, touched)): (usize, (&Chosen<'_>, &ObservedSystem))| {
            if k == left_out { 1.0 } else { c.missed[touched.part_of(set)] }
        };
        chosen.iter().zip(&self.touched).enumerate().map(of).product()
    }
}
