//! What draws of metal say of one dig, for the determinant form: the chance that it misses them, by what all systems share.
//!
//! Given the bearing and the case of the supply metal and systems are independent, so at each of them their misses multiply;
//! over all of them they do not (python/docs/model.md, 14.8).

use super::result::Strike;
use crate::class::Class;

/// Chances that a dig misses all metal, and all metal of each class.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Missed {
    /// Every line.
    pub all: f64,
    /// The lines of each class, in the order of [`Class::ALL`].
    pub by_class: [f64; Class::ALL.len()],
}

impl Missed {
    /// Where there is no metal.
    pub const NONE: Self = Self { all: 1.0, by_class: [1.0; Class::ALL.len()] };

    /// Adds a share of another.
    fn add(&mut self, other: &Self, share: f64) {
        self.all += share * other.all;
        self.by_class.iter_mut().zip(other.by_class).for_each(|(sum, missed)| *sum += share * missed);
    }
}

/// The same by bearing and case, with the Monte Carlo errors of the draws.
pub struct MetalMissed {
    /// By index of the bearing and case.
    at: Vec<Missed>,
    /// Where no draw is: the mean of all.
    mean: Missed,
    /// The chance of striking metal, with its errors.
    pub(super) strike: Strike,
}

impl MetalMissed {
    /// The means of what each draw misses; each comes with the index of its bearing and case.
    pub(super) fn new(draws: &[(usize, Missed)], strike: Strike) -> Self {
        let zero = Missed { all: 0.0, by_class: [0.0; Class::ALL.len()] };
        let most = draws.iter().map(|(at, _)| at + 1).max().unwrap_or(0);
        let (mut at, mut counts, mut mean) = (vec![zero; most], vec![0usize; most], zero);
        for (place, missed) in draws {
            counts[*place] += 1;
            mean.add(missed, 1.0 / draws.len() as f64);
        }
        for (place, missed) in draws {
            at[*place].add(missed, 1.0 / counts[*place] as f64);
        }
        for (at, _) in at.iter_mut().zip(&counts).filter(|(_, count)| **count == 0) {
            *at = mean;
        }
        Self { at, mean, strike }
    }

    /// At one bearing and case.
    pub(super) fn at(&self, bearing: usize) -> &Missed {
        self.at.get(bearing).unwrap_or(&self.mean)
    }
}
