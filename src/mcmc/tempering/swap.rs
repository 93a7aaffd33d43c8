//! Swaps of neighbouring chains: the rule, and what is learnt from each pair.

use super::log_mean::LogMean;
use rand::{Rng, RngExt};

/// Log acceptance ratio of a swap between neighbours `step` apart on the ladder, from the energies of the lower and the upper
/// one: pi_low(x_high) pi_high(x_low) / (pi_low(x_low) pi_high(x_high)) = exp(step (low - high)).
pub fn log_ratio(step: f64, low: f64, high: f64) -> f64 {
    if low == f64::NEG_INFINITY { low } else { step * (low - high) }
}

/// The chance of a swap of this log acceptance ratio, and whether it is made. One word is drawn unless the chance is one.
pub fn offered(log_ratio: f64, rng: &mut impl Rng) -> (f64, bool) {
    let chance = log_ratio.min(0.0).exp();
    (chance, chance >= 1.0 || rng.random::<f64>() < chance)
}

/// What a pair of neighbouring chains has shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pair {
    tried: u64,
    accepted: u64,
    acceptance: f64,
    up: LogMean,
    down: LogMean,
    seen: u64,
    excluded: u64,
}

impl Pair {
    pub(super) const EMPTY: Self = Self {
        tried: 0,
        accepted: 0,
        acceptance: 0.0,
        up: LogMean::EMPTY,
        down: LogMean::EMPTY,
        seen: 0,
        excluded: 0,
    };

    /// Notes the energies of both chains after exploration, whether or not a swap is offered.
    pub(super) fn see(&mut self, step: f64, low: f64, high: f64) {
        self.seen += 1;
        self.excluded += u64::from(low == f64::NEG_INFINITY);
        self.up.add(step * low);
        if high > f64::NEG_INFINITY {
            self.down.add(-step * high); // an excluded state above b = 0 is a start, not a draw
        }
    }

    /// Notes a swap offered, with its chance of acceptance.
    pub(super) fn offer(&mut self, chance: f64, accepted: bool) {
        self.tried += 1;
        self.accepted += u64::from(accepted);
        self.acceptance += chance;
    }

    /// Swaps offered.
    pub fn tried(&self) -> u64 {
        self.tried
    }

    /// Swaps accepted.
    pub fn accepted(&self) -> u64 {
        self.accepted
    }

    /// Sum of the chances of acceptance of all swaps offered.
    pub(super) fn acceptance(&self) -> f64 {
        self.acceptance
    }

    /// Rejection rate: one less the mean chance of acceptance, which varies less than the share rejected. None before the
    /// first swap.
    pub fn rejection(&self) -> Option<f64> {
        (self.tried > 0).then(|| 1.0 - self.acceptance / self.tried as f64)
    }

    /// Sweeps seen, and how many of them had a lower state that the target excludes.
    pub(super) fn excluded(&self) -> (u64, u64) {
        (self.seen, self.excluded)
    }

    /// Log ratio of the normalising constants of the upper and the lower law: mean of the stepping-stone estimates from
    /// below, log E_low exp(step x energy), and from above, -log E_high exp(-step x energy) (Xie, Lewis, Fan, Kuo & Chen,
    /// Syst. Biol. 60 (2011) 150-160, in both directions).
    ///
    /// States of energy minus infinity are never met from above: the estimate from above lacks the factor P(energy is
    /// finite) of the lower law, which draws of the lower law supply.
    pub(super) fn log_normaliser(&self) -> Option<f64> {
        let (up, down) = (self.up.value()?, self.down.value()?);
        let included = ((self.seen - self.excluded) as f64 / self.seen as f64).ln();
        Some(f64::midpoint(up, included - down))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn excluded_states_stay_below() {
        let never = f64::NEG_INFINITY;
        assert_eq!(log_ratio(0.5, never, 1.0), never);
        assert_eq!(log_ratio(0.5, never, never), never);
        assert_eq!(log_ratio(0.5, 1.0, never), f64::INFINITY);
        assert_eq!(log_ratio(0.5, 3.0, 1.0), 1.0);
    }

    /// Three equally probable lower states with energies 0, ln 2 and minus infinity, upper law at a step of 1: weights 1 and 2
    /// of 3, ratio of normalising constants (1 + 2) / 3 = 1. Both directions are exact when each law is seen in proportion.
    #[test]
    fn both_directions_agree_when_part_is_excluded() {
        let mut pair = Pair::EMPTY;
        let two = 2.0f64.ln();
        for (low, high) in [(0.0, 0.0), (two, two), (f64::NEG_INFINITY, two)] {
            pair.see(1.0, low, high);
        }
        let from_above = (2.0f64 / 3.0).ln() - pair.down.value().expect("seen");
        assert!(pair.up.value().expect("seen").abs() < 1e-15);
        assert!(from_above.abs() < 1e-15);
        assert!(pair.log_normaliser().expect("seen").abs() < 1e-15);
    }
}
