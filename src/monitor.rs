//! How a long computation tells how far it is, and how it is stopped.

/// Told between batches of work, on the thread that called.
pub trait Monitor {
    /// `done` of `total` units of work are finished. Returns false to stop.
    fn tick(&mut self, done: usize, total: usize) -> bool;
}

/// A monitor that never stops anything.
#[derive(Clone, Copy, Debug, Default)]
pub struct Unwatched;

impl Monitor for Unwatched {
    fn tick(&mut self, _done: usize, _total: usize) -> bool {
        true
    }
}
