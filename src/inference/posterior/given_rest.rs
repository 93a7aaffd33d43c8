//! The chance of one finding given everything else: a finding with hardly any is evidence of a mistake.
//!
//! A ratio of evidences: with the finding and without it. Outer states stay the same in both, so their Monte Carlo error
//! all but cancels.

use super::observed_system::ObservedSystem;
use super::pool::{Pool, Scales, seen};
use super::weighed::Posterior;
use crate::effort::Work;
use crate::strike::mean_beyond;
use rayon::prelude::*;
use std::sync::Arc;

/// Evidence of everything else, and of everything else with one finding. Their ratio is the finding's chance; evidences of
/// several laws are to be mixed before it is taken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct GivenRest {
    /// Everything but the finding.
    pub rest: f64,
    /// Everything and the finding.
    pub with: f64,
}

impl GivenRest {
    /// The chance of the finding; one where all that was seen beside it is impossible.
    pub fn chance(self) -> f64 {
        if self.rest > 0.0 { (self.with / self.rest).clamp(0.0, 1.0) } else { 1.0 }
    }
}

impl Posterior<'_> {
    /// Of a find, false finds and unknown lines apart: that some line of the law answers to it.
    pub fn find_given_rest(&self, find: usize) -> GivenRest {
        let sum = |wanted: &dyn Fn(usize) -> Option<f64>| -> f64 {
            let bearing = |b: usize| {
                let term = |set: usize| wanted(set).map_or(0.0, |c| c * self.mean(b, set, usize::MAX));
                self.law.bearings()[b] * (0..self.sums.coefficients.len()).map(term).sum::<f64>()
            };
            (0..self.bearings.len()).map(bearing).sum()
        };
        let with = |set: usize| set >> find & 1 == 1;
        let rest = sum(&|set| (!with(set)).then(|| self.sums.coefficients[set]));
        let missed = sum(&|set| with(set).then(|| self.sums.coefficients[set & !(1 << find)]));
        GivenRest { rest, with: rest - missed }
    }

    /// Of a clear look: that it meets nothing, unknown lines included. One in `every` outer states is asked. `None` if
    /// `work` is to stop.
    pub fn clear_given_rest(&self, clear: usize, every: usize, work: &dyn Work) -> Option<GivenRest> {
        let unmapped = self.law.unmapped_lines();
        let mut others = self.findings.clone();
        let look = others.clear.remove(clear);
        let unmet = (-mean_beyond(unmapped, &look, &others.clear.iter().collect::<Vec<_>>())).exp();
        let coefficients = self.sums.others[clear].get_or_init(|| {
            work.effort().spend(others.price(unmapped));
            others.coefficients(unmapped)
        });
        // By system: by bearing: mean over outer states for each set, without the look and with it.
        let mut means: Vec<Vec<[Vec<f64>; 2]>> = Vec::with_capacity(self.touched.len());
        for touched in &self.touched {
            let left: Vec<usize> = touched.clear.iter().copied().filter(|&k| k != clear).collect();
            if left.len() == touched.clear.len() {
                means.push(touched.pools.iter().map(|pool| [pool.mean.clone(), pool.mean.clone()]).collect());
                continue;
            }
            let seen = seen(self.findings, &self.law.systems()[touched.system], &left, &touched.finds);
            let of_pool = |pool: &Arc<Pool>| means_of(pool, every, Scales::new(&seen), work);
            means.push(touched.pools.par_iter().map(of_pool).collect::<Option<_>>()?);
        }
        let evidence = |which: usize, coefficients: &[f64]| -> f64 {
            let at = |bearing: usize, set: usize| -> f64 {
                let of = |(touched, means): (&ObservedSystem, &Vec<[Vec<f64>; 2]>)| {
                    means[bearing][which][touched.part_of(set)]
                };
                self.touched.iter().zip(&means).map(of).product()
            };
            let of_bearing = |(bearing, p): (usize, &f64)| {
                p * coefficients.iter().enumerate().map(|(set, c)| c * at(bearing, set)).sum::<f64>().max(0.0)
            };
            self.law.bearings().iter().enumerate().map(of_bearing).sum()
        };
        let rest = evidence(0, coefficients);
        Some(GivenRest { rest, with: unmet * evidence(1, &self.sums.coefficients) })
    }
}

/// Means over one in `every` outer states of a pool: as the scales weigh them, and as they were weighed. `None` if `work` is
/// to stop.
fn means_of(pool: &Pool, every: usize, mut scales: Scales<'_>, work: &dyn Work) -> Option<[Vec<f64>; 2]> {
    let effort = work.effort();
    let mut means = [vec![0.0; pool.mean.len()], vec![0.0; pool.mean.len()]];
    let asked = (0..pool.outer.len()).step_by(every);
    let share = 1.0 / asked.len().max(1) as f64;
    for item in asked {
        let outer = &pool.outer[item];
        let (_, row) = scales.weigh(outer.state.clone(), outer.extent, outer.level);
        for (mean, missed) in means.iter_mut().zip([scales.row(row), pool.missed(item)]) {
            mean.iter_mut().zip(missed).for_each(|(mean, m)| *mean += share * m);
        }
        if !effort.spend(scales.spent() + pool.mean.len() as u64) || work.stops() {
            return None;
        }
    }
    Some(means)
}
