//! Memory that was refused, put into words: what for, how much, and how much fits.

use super::numbers::thousands;
use std::fmt;

/// What memory is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MemoryUse {
    /// Draws of layouts.
    Draws,
    /// Cells of a grid.
    Cells,
    /// Places that probes are chosen from, with what each draw has there.
    ProbePlaces,
    /// Outer states that the determinant form sums over.
    OuterStates,
}

impl fmt::Display for MemoryUse {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Draws => "draws",
            Self::Cells => "cells",
            Self::ProbePlaces => "places for probes",
            Self::OuterStates => "outer states of the determinant form",
        })
    }
}

pub(super) fn too_much_memory(used: MemoryUse, asked: usize, bytes: f64, fit: usize, limit: u64) -> String {
    let gb = |bytes: f64| match bytes / 1e9 {
        gb if gb >= 9.95 => format!("{gb:.0} GB"),
        gb if gb >= 0.095 => format!("{gb:.1} GB"),
        gb => format!("{:.0} MB", (1000.0 * gb).ceil()),
    };
    // Two figures say all that an estimate knows, and no more than fits.
    let step = 10f64.powf(((fit.max(1) as f64).log10().floor() - 1.0).max(0.0));
    format!(
        "{used} = {} needs about {} of memory; at most {} fit in {}",
        thousands(asked as f64),
        gb(bytes),
        thousands((fit as f64 / step).floor() * step),
        gb(limit as f64)
    )
}
