//! Metal lines as what finds met: draws of metal, each with what it would have met.
//!
//! Given the grid's bearing metal and irrigation are independent (python/docs/model.md, 14.6). So the chance of all that was
//! seen has one factor more for each set of finds: the mean, over the draws of metal at the bearing, of the chance that the set
//! misses every line of the draw. Once the runs of a layout explain some finds, a draw of metal is taken by the chance that
//! it, unmapped lines and false finds explain the others.

use super::system_missed::SystemMissed;
use crate::layout::{MetalLine, pick};
use crate::strike::{BySet, FindSet, Findings};
use rand::Rng;
use std::sync::Arc;

/// One draw of metal: its lines and the chain that they come from.
#[derive(Clone)]
pub struct DrawnMetal {
    /// The lines.
    pub lines: Arc<[Arc<MetalLine>]>,
    /// Index of the chain.
    pub chain: u8,
}

/// Draws of metal as finds see them.
pub struct MetalFinds {
    /// The finds that some draw may have met, ascending.
    finds: Vec<usize>,
    draws: Vec<DrawnMetal>,
    /// For each draw, by these finds, the chance that its lines as drawn are missed; row after row.
    missed: Vec<f64>,
    /// For each bearing of the layouts the draws that go with it.
    at: Vec<Vec<usize>>,
    /// For each bearing and set of these finds, the mean over its draws of the chance that the set misses all.
    mean: Vec<BySet<Vec<f64>>>,
}

impl MetalFinds {
    /// Draws that are likely alike, and for each bearing the places of those that go with it; `None` where no find can have
    /// met a line of any.
    pub fn new(findings: &Findings, mut draws: Vec<DrawnMetal>, at: Vec<Vec<usize>>) -> Option<Self> {
        let missed_by = |draw: &DrawnMetal, find: usize| -> f64 {
            draw.lines.iter().map(|line| 1.0 - findings.found[find].look.meets_drawn(line)).product()
        };
        let is_met = |find: &usize| draws.iter().any(|draw| missed_by(draw, *find) < 1.0);
        let finds: Vec<usize> = (0..findings.found.len()).filter(is_met).collect();
        if finds.is_empty() {
            return None;
        }
        let missed = draws.iter().flat_map(|draw| finds.iter().map(|find| missed_by(draw, *find))).collect();
        for draw in &mut draws {
            draw.lines = as_met(&draw.lines, findings, &finds);
        }
        let mut all = Self { finds, draws, missed, at, mean: Vec::new() };
        all.mean = all.at.iter().map(|draws| all.mean_of(draws)).collect();
        Some(all)
    }

    fn mean_of(&self, draws: &[usize]) -> BySet<Vec<f64>> {
        let of = |set: FindSet| draws.iter().map(|draw| self.missed_by_set(*draw, set)).sum::<f64>();
        BySet::new(self.finds.len(), |set| if draws.is_empty() { 1.0 } else { of(set) / draws.len() as f64 })
    }

    /// The chance that a set of its finds misses the lines of a draw: given where these lie, looks are independent.
    fn missed_by_set(&self, draw: usize, set: FindSet) -> f64 {
        set.finds().map(|find| self.missed[draw * self.finds.len() + find]).product()
    }

    /// As one more system whose lines finds may have met.
    pub(super) fn as_system(&self, bearing: usize) -> SystemMissed<'_> {
        SystemMissed { finds: &self.finds, missed: self.mean[bearing].row() }
    }

    /// About what a draw costs.
    pub(super) fn price(&self, bearing: usize) -> u64 {
        (self.at[bearing].len() * FindSet::count(self.finds.len())) as u64
    }

    /// A draw of metal given the finds that runs explain, and the finds that it explains beside them. `coefficients` are those of
    /// false finds and unmapped lines alone.
    pub(super) fn draw(
        &self,
        bearing: usize,
        coefficients: &BySet<Vec<f64>>,
        explained: FindSet,
        rng: &mut impl Rng,
    ) -> (DrawnMetal, FindSet) {
        let open = FindSet::all(coefficients.finds()).difference(explained);
        let mut parts = BySet::new(self.finds.len(), |_| 0.0);
        open.subsets().for_each(|set| parts[set.among(&self.finds)] += coefficients[set]);
        let weight = |draw: &usize| {
            let of = |(set, part): (FindSet, &f64)| part * self.missed_by_set(*draw, set);
            parts.iter().map(of).sum::<f64>().max(0.0)
        };
        let mut weights: Vec<f64> = self.at[bearing].iter().map(weight).collect();
        if weights.iter().sum::<f64>() <= 0.0 {
            weights.fill(1.0); // nothing explains a find: the draw is kept as it comes
        }
        let draw = self.at[bearing][pick(&weights, rng)];
        let own = open.among(&self.finds);
        let met: Vec<FindSet> = own.subsets().collect();
        let exactly = |met: &FindSet| {
            let hit = met.finds().map(|find| 1.0 - self.missed[draw * self.finds.len() + find]);
            let unmet = self.missed_by_set(draw, own.difference(*met));
            let left = open.difference(met.of(&self.finds));
            let left: f64 = left.subsets().map(|set| coefficients[set]).sum();
            hit.product::<f64>() * unmet * left.max(0.0)
        };
        let chances: Vec<f64> = met.iter().map(exactly).collect();
        let met = if chances.iter().sum::<f64>() > 0.0 { met[pick(&chances, rng)] } else { FindSet::NONE };
        (self.draws[draw].clone(), met.of(&self.finds))
    }
}

/// Lines that a find met lie as deep as they were drawn: their draws were weighed by it.
fn as_met(lines: &Arc<[Arc<MetalLine>]>, findings: &Findings, finds: &[usize]) -> Arc<[Arc<MetalLine>]> {
    let is_met =
        |line: &MetalLine| finds.iter().any(|find| findings.found[*find].look.meets_drawn(line) > 0.0);
    if !lines.iter().any(|line| is_met(line)) {
        return lines.clone();
    }
    lines.iter().map(|line| if is_met(line) { Arc::new(line.as_drawn()) } else { line.clone() }).collect()
}
