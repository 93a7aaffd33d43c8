//! How a long computation tells how far it is, and how it is stopped.

/// Told between batches of work, from any thread.
pub trait Monitor: Sync {
    /// `done` of `total` units of work are finished. Returns false to stop.
    fn tick(&self, done: usize, total: usize) -> bool;

    /// Bytes of memory that the computation may take; `None`: half of what is free.
    fn memory_limit(&self) -> Option<u64> {
        None
    }
}

/// A monitor that never stops anything.
#[derive(Clone, Copy, Debug, Default)]
pub struct Unwatched;

impl Monitor for Unwatched {
    fn tick(&self, _done: usize, _total: usize) -> bool {
        true
    }
}
