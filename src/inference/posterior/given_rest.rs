//! The chance of one finding given everything else: a finding with hardly any is evidence of a mistake.
//!
//! A ratio of evidences: with the finding and without it. Outer states stay the same in both, so their Monte Carlo error
//! all but cancels.

use super::pool::SystemPool;
use super::sums::{all_missed, signed};
use super::system_missed::SystemMissed;
use super::system_observations::SystemObservations;
use crate::effort::Work;
use crate::strike::BySet;

/// Evidence of everything else, and of everything else with one finding. Their ratio is the finding's chance; evidences of
/// several priors are to be mixed before it is taken.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
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

    /// The sum of both evidences with a share of another's.
    pub fn plus(self, share: f64, other: Self) -> Self {
        Self { rest: self.rest + share * other.rest, with: self.with + share * other.with }
    }
}

/// A find given everything else at one bearing, false finds and unknown lines apart: the evidence of everything else, and of
/// everything else where no line of the systems answers to the find.
pub(super) fn find(coefficients: &BySet<Vec<f64>>, systems: &[SystemMissed<'_>], find: usize) -> (f64, f64) {
    let without = coefficients.iter().filter(|(set, _)| !set.contains(find));
    let rest = without.map(|(set, coefficient)| coefficient * all_missed(systems, set)).sum();
    let with = coefficients.sets().filter(|set| set.contains(find));
    let missed = with.map(|set| coefficients[set.without(find)] * all_missed(systems, set)).sum();
    (rest, missed)
}

/// For one system, by set of its finds, the mean over outer states of the chance that set and clear observations meet
/// nothing: without one of the clear ones, and with it.
pub(super) type Means = [BySet<Vec<f64>>; 2];

/// These means of one in `every` outer states of a pool. `fewer` are its observations without the one; `None`: the one is
/// not among them. `None` if `work` is to stop.
pub(super) fn means(
    system: &SystemPool,
    fewer: Option<&SystemObservations>,
    every: usize,
    work: &dyn Work,
) -> Option<Means> {
    let unchanged = || [system.pool.mean.clone(), system.pool.mean.clone()];
    fewer.map_or_else(|| Some(unchanged()), |fewer| system.means_by(fewer, every, work))
}

/// A clear observation given everything else at one bearing, unknown lines that it may meet apart.
pub(super) fn clear(
    without: &BySet<Vec<f64>>,
    with: &BySet<Vec<f64>>,
    systems: &[(&SystemObservations, &Means)],
) -> GivenRest {
    let missed = |which: usize| -> Vec<SystemMissed<'_>> {
        let missed = systems.iter().map(|(of, means)| (*of, means[which].row()));
        missed.map(|(of, missed)| SystemMissed { finds: &of.relevant.finds, missed }).collect()
    };
    GivenRest { rest: signed(without, &missed(0)).max(0.0), with: signed(with, &missed(1)).max(0.0) }
}
