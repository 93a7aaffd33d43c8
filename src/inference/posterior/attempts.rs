//! How much a draw may take: attempts at run attributes that answer to what was seen, and effort.

use crate::effort::Effort;
use std::sync::atomic::{AtomicUsize, Ordering};

/// What draws may take, and what they could not do with it.
pub struct Attempts {
    /// Attempts to draw the attributes of one run.
    pub most: usize,
    /// Where work is counted.
    pub effort: Effort,
    unanswered: AtomicUsize,
}

impl Attempts {
    /// So many attempts for each run.
    pub fn new(most: usize, effort: Effort) -> Self {
        Self { most, effort, unanswered: AtomicUsize::new(0) }
    }

    /// Number of lines drawn so far whose attributes do not answer to what was seen, after as many attempts as are allowed:
    /// they were kept as they came nearest to it.
    pub fn unanswered(&self) -> usize {
        self.unanswered.load(Ordering::Relaxed)
    }

    /// One more of these.
    pub fn count_unanswered(&self) {
        self.unanswered.fetch_add(1, Ordering::Relaxed);
    }
}
