//! What cuts and joins turned out to gain, by the two items at the joint: kept while warming up, and used by the guesses of both.
//!
//! A guess from the legs beside a joint knows nothing of where ends lead, of bends further back, of names in the list. The same few
//! joints are asked about again and again, so what came of them puts the guess right. It is a figure for two items, fixed once chains
//! are kept, so the choice of a joint leaves the law as it is.

use std::collections::HashMap;
use std::sync::Arc;

/// Figures for joints; of cuts, and of joins.
#[derive(Clone, Debug, Default)]
pub(super) struct Learnt {
    /// What it tried since it was pooled with others.
    seen: Trials,
    /// What all of these had tried before.
    others: Arc<Trials>,
    /// Whether more is learnt.
    pub(super) goes_on: bool,
}

/// A joint is cut, or joined.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum Joint {
    Cut,
    Joined,
}

/// For each joint that was tried, with its two items: trials, and the sum over them of the factor by which the guess was too low.
/// Few of all pairs of items ever meet.
type Trials = HashMap<(Joint, u16, u16), (f64, f64)>;

/// So many trials count as many as what is known before any. Numerical choice.
const PRIOR: f64 = 0.5;

/// No trial puts a guess up by more, in `ln`. Numerical choice.
const MOST: f64 = 20.0;

impl Learnt {
    /// `ln` of the factor on a guess: of the mean over all trials, nothing where there is none.
    pub(super) fn log(&self, joint: Joint, a: u16, b: u16) -> f64 {
        let key = key(joint, a, b);
        let of = |trials: &Trials| trials.get(&key).copied().unwrap_or_default();
        let (count, sum) = sum(of(&self.seen), of(&self.others));
        if count == 0.0 { 0.0 } else { ((sum + PRIOR) / (count + PRIOR)).ln() }
    }

    /// A trial, and by how much its guess was too low, in `ln`; minus infinity where nothing could be made.
    pub(super) fn tried(&mut self, joint: Joint, a: u16, b: u16, log: f64) {
        if self.goes_on {
            let seen = self.seen.entry(key(joint, a, b)).or_default();
            *seen = sum(*seen, (1.0, log.min(MOST).exp()));
        }
    }

    /// What each learnt becomes known to all. Figures of a joint are added in the order of the list.
    pub(super) fn pool(all: &mut [&mut Self]) {
        let Some(first) = all.first() else { return };
        let mut pooled = (*first.others).clone();
        for (key, seen) in all.iter().flat_map(|one| &one.seen) {
            let all = pooled.entry(*key).or_default();
            *all = sum(*all, *seen);
        }
        let pooled = Arc::new(pooled);
        for one in all {
            one.seen.clear();
            one.others = pooled.clone();
        }
    }
}

fn key(joint: Joint, a: u16, b: u16) -> (Joint, u16, u16) {
    (joint, a.min(b), a.max(b))
}

fn sum(a: (f64, f64), b: (f64, f64)) -> (f64, f64) {
    (a.0 + b.0, a.1 + b.1)
}
