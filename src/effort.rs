//! Effort: how much work a call may take, counted in steps of known price and never in seconds.
//!
//! A clock would give one machine an answer and a slower one none, and one run an answer and the next none. So loops that may
//! run long tell what each step costs, and a call whose steps cost more than its limit is given up. Whether it is given up
//! does not depend on the number of threads: what a call costs in all is a sum of prices that depend on its input and its
//! seed alone (a price is never that of a cache missed or hit, where threads share the cache), the sum only grows, and every
//! step asks after it was counted. So a call is given up exactly if all that it would do costs more than the limit,
//! whichever thread happens to ask first. A call that fails for another reason as well may name either.
//!
//! A unit is about a nanosecond of one core as measured; prices are rough, within a factor of three or so.

use crate::monitor::Monitor;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// A counter of work with a limit; clones count together.
#[derive(Clone, Debug)]
pub struct Effort(Arc<Counter>);

#[derive(Debug)]
struct Counter {
    limit: u64,
    spent: AtomicU64,
}

impl Effort {
    /// What a call may cost as shipped: about a minute on a machine of two cores. Numerical choice.
    pub const USUAL: u64 = 60_000_000_000;

    /// A counter with this limit.
    pub fn new(limit: u64) -> Self {
        Self(Arc::new(Counter { limit, spent: AtomicU64::new(0) }))
    }

    /// A counter that counts and never ends anything.
    pub fn unlimited() -> Self {
        Self::new(u64::MAX)
    }

    /// Counts a step; whether the limit still holds.
    pub fn spend(&self, units: u64) -> bool {
        let before = self.0.spent.fetch_add(units, Ordering::Relaxed);
        before.saturating_add(units) <= self.0.limit
    }

    /// Whether the limit is passed.
    pub fn is_spent(&self) -> bool {
        self.spent() > self.0.limit
    }

    /// Work counted so far.
    pub fn spent(&self) -> u64 {
        self.0.spent.load(Ordering::Relaxed)
    }

    /// The limit.
    pub fn limit(&self) -> u64 {
        self.0.limit
    }
}

/// Asked by long loops whether to go on, from any thread. A closure that says when to stop is one that counts nothing.
pub trait Work: Sync {
    /// Whether to stop.
    fn stops(&self) -> bool;

    /// Where steps are counted.
    fn effort(&self) -> Effort {
        Effort::unlimited()
    }
}

impl<F: Fn() -> bool + Sync> Work for F {
    fn stops(&self) -> bool {
        self()
    }
}

impl Work for Effort {
    fn stops(&self) -> bool {
        self.is_spent()
    }

    fn effort(&self) -> Effort {
        self.clone()
    }
}

/// Work of a call that somebody watches and that has a limit.
pub struct Watched<'m> {
    /// Who watches.
    pub monitor: &'m dyn Monitor,
    /// Units of work done and in all, as the monitor is told.
    pub progress: (usize, usize),
    /// Where steps are counted.
    pub effort: Effort,
}

impl Work for Watched<'_> {
    fn stops(&self) -> bool {
        let (done, total) = self.progress;
        self.effort.is_spent() || !self.monitor.tick(done, total)
    }

    fn effort(&self) -> Effort {
        self.effort.clone()
    }
}

/// Price of holding one way of a run against one look.
pub const LOOK: u64 = 150;

/// Price of drawing an outer state that is known, and of a look at a list for each state of a pool.
pub const STATE: u64 = 1_500;

/// Price of building an outer state for the first time, for each of its candidate runs.
pub const BUILT_RUN: u64 = 400;

/// Price of eliminating a network of so many nodes and edges: a third of the nodes cubed, and each edge told.
pub fn elimination(nodes: usize, edges: usize) -> u64 {
    let nodes = nodes as u64;
    60 + nodes * (12 + nodes * nodes / 4) + 8 * edges as u64
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A limit that did not hold for the last step, or a counter that clones do not share, would let a call run on.
    #[test]
    fn clones_count_together_and_the_limit_itself_is_allowed() {
        let effort = Effort::new(10);
        let other = effort.clone();
        assert!(effort.spend(4) && other.spend(6) && !effort.is_spent());
        assert!(!other.spend(1) && effort.is_spent());
        assert_eq!(effort.spent(), 11);
        assert!(Effort::unlimited().spend(u64::MAX / 2));
    }

    /// Eight threads in any order: the same sum, and stopped exactly if the sum is above the limit.
    #[test]
    fn whether_a_call_is_given_up_does_not_depend_on_threads() {
        use rayon::prelude::*;
        for (limit, stopped) in [(28_000, false), (27_999, true)] {
            let effort = Effort::new(limit);
            let fine = (0..8u64).into_par_iter().all(|k| (0..1_000).all(|_| effort.spend(k)));
            assert_eq!(!fine, stopped);
            assert_eq!(effort.is_spent(), stopped);
        }
    }
}
