//! What one replicate has to show.

use super::trips::Trips;
use super::{Counts, Pair};

/// What one replicate of the ladder has kept and counted.
#[derive(Clone, Debug, PartialEq)]
pub struct Record<S> {
    pub(super) states: Vec<S>,
    pub(super) energies: Vec<f64>,
    pub(super) pairs: Vec<Pair>,
    pub(super) moves: Vec<Counts>,
    pub(super) trips: Trips,
}

impl<S> Record<S> {
    pub(super) fn new(chains: usize) -> Self {
        Self {
            states: Vec::new(),
            energies: Vec::new(),
            pairs: vec![Pair::EMPTY; chains - 1],
            moves: vec![Counts::default(); chains],
            trips: Trips::default(),
        }
    }

    /// States of the target, in order.
    pub fn states(&self) -> &[S] {
        &self.states
    }

    /// Their energies.
    pub fn energies(&self) -> &[f64] {
        &self.energies
    }

    /// Swaps of each pair of neighbours, from the reference up.
    pub fn pairs(&self) -> &[Pair] {
        &self.pairs
    }

    /// Proposals tried and accepted in each chain, from the reference up.
    pub fn moves(&self) -> &[Counts] {
        &self.moves
    }

    /// Arrivals of a replica at the target from the reference: with an independent reference, each is a new start.
    pub fn restarts(&self) -> u64 {
        self.trips.restarts
    }

    /// Trips of a replica from the reference to the target and back.
    pub fn round_trips(&self) -> u64 {
        self.trips.round_trips
    }

    /// Log of the target's normalising constant over the reference's, by stepping stones. None before the first sweep.
    pub fn log_normaliser(&self) -> Option<f64> {
        self.pairs.iter().map(Pair::log_normaliser).sum()
    }
}
