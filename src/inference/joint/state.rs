//! A state of the joint posterior.

use crate::inference::posterior::SystemPool;
use crate::inference::proposals::Zoning;
use crate::layout::{Draw, Piece};

/// A zoning with what goes with it.
#[derive(Clone)]
pub struct State {
    /// The zoning.
    pub zoning: Zoning,
    /// Index of the grid bearing; of no meaning where nothing was probed.
    pub bearing: usize,
    /// A pool of outer states of each system, zones first; none where nothing was probed.
    pub(super) pools: Vec<SystemPool>,
    /// Log of the chance of all that probes saw.
    pub log_chance: f64,
    /// A whole layout; only where psi is not one.
    pub(super) layout: Option<Layout>,
}

impl State {
    /// Log of psi.
    pub(super) fn log_psi(&self) -> f64 {
        self.layout.as_ref().map_or(0.0, |layout| layout.log_psi)
    }

    /// Log density up to a constant: zoning prior, chance of what was seen, psi.
    pub fn log_density(&self) -> f64 {
        self.zoning.log_density() + self.log_chance + self.log_psi()
    }
}

/// One layout of a state.
#[derive(Clone)]
pub struct Layout {
    /// Outer states and trees.
    pub draw: Draw,
    /// Its straight pieces.
    pub pieces: Vec<Piece>,
    /// Log of psi.
    pub log_psi: f64,
}
