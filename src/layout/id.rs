//! What names a run, and an outer state, as long as the program runs: tables of what was worked out for one go by it.
//!
//! Numbers are given out in the order in which threads make things, which differs from one call to the next. No result can
//! depend on it: an id tells whether two are the same thing, has no order, and shows its number to nobody. Unlike the place
//! of a thing in memory it is never used again for another.

use std::fmt;
use std::sync::atomic::{AtomicU64, Ordering};

/// Names one run.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct RunId(u64);

/// Names one outer state.
#[derive(Clone, Copy, PartialEq, Eq, Hash)]
pub struct StateId(u64);

static NEXT: AtomicU64 = AtomicU64::new(0);

fn next() -> u64 {
    NEXT.fetch_add(1, Ordering::Relaxed)
}

impl RunId {
    /// An id that no other run has.
    pub(super) fn new() -> Self {
        Self(next())
    }
}

impl StateId {
    /// An id that no other outer state has.
    pub(super) fn new() -> Self {
        Self(next())
    }
}

impl fmt::Debug for RunId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("RunId")
    }
}

impl fmt::Debug for StateId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("StateId")
    }
}
