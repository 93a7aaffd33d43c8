//! No choice of spots costs less than this.
//!
//! The plane is cut into squares whose diagonal is a little less than the spacing, so that a square holds at most one spot:
//! the sum of the least costs of the n cheapest squares bounds every choice from below (squares are cliques of the graph of
//! places that exclude each other). It is no less than the sum of the n least costs, and whatever the cut starts from, it
//! holds: the best of several starts is taken.

use super::candidates::{Candidate, SLACK_M};
use super::question::Question;
use crate::geometry::Point;
use std::collections::HashSet;

/// Starts of the cut tried along each axis. Numerical choice: more gain less than a hundredth of the bound.
const STARTS: usize = 4;

/// A square of the cut.
pub type Square = (i64, i64);

/// The square of a place, where squares begin at `start` shares of their side.
pub fn square(at: Point, spacing_m: f64, start: (f64, f64)) -> Square {
    let side = (spacing_m - 2.0 * SLACK_M) / std::f64::consts::SQRT_2;
    ((at.x / side + start.0).floor() as i64, (at.y / side + start.1).floor() as i64)
}

/// Lower bound of the total of `n` spots; infinite where not even so many squares hold a place. `sorted` by cost.
pub fn lower_bound(sorted: &[Candidate], n: usize, spacing_m: f64) -> f64 {
    let starts = (0..STARTS * STARTS).map(|k| {
        let share = |k: usize| k as f64 / STARTS as f64;
        (share(k % STARTS), share(k / STARTS))
    });
    let bound = |start| {
        let mut met = HashSet::new();
        let least = sorted.iter().filter(|c| met.insert(square(c.at, spacing_m, start))).take(n);
        let costs: Vec<f64> = least.map(|c| c.cost).collect();
        if costs.len() < n { f64::INFINITY } else { costs.iter().sum() }
    };
    starts.map(bound).fold(0.0, f64::max)
}

/// Lower bound of the total of a question: kinds bounded each by itself, as if holes of two kinds could share ground.
pub fn of_question(question: &Question) -> f64 {
    let kinds = question.places.iter().enumerate();
    kinds.map(|(k, all)| lower_bound(all, question.counts[k], question.spacing_m[k][k])).sum()
}
