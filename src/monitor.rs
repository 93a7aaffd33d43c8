//! How a long computation tells how far it is, and how it is stopped.

/// Told between batches of work, from any thread.
pub trait Monitor: Sync {
    /// `done` of `total` units of work are finished. Returns false to stop.
    fn tick(&self, done: usize, total: usize) -> bool;
}

/// A monitor that never stops anything.
#[derive(Clone, Copy, Debug, Default)]
pub struct Unwatched;

impl Monitor for Unwatched {
    fn tick(&self, _done: usize, _total: usize) -> bool {
        true
    }
}
