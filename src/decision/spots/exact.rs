//! The best choice of spots, by branch and bound: places are tried in order of cost, and a branch is left once what it has
//! and the cheapest squares that are still open ([`super::bound`]) come to no less than the best choice known.

use super::bound::{Square, square};
use super::candidates::{Candidate, apart};
use crate::error::Error;
use crate::monitor::Monitor;
use std::collections::HashSet;

/// Differences of totals below this are none: rounding.
const NOTHING: f64 = 1e-12;

/// Steps between two looks at the monitor.
const BEAT: u64 = 1 << 16;

/// What a search found.
pub struct Found {
    /// The best choice known, indices of candidates; `None` where none was found.
    pub chosen: Option<Vec<usize>>,
    /// Whether the search was finished: then no choice is better, or there is none at all.
    pub complete: bool,
}

/// Searches for `n` spots of least total cost among places sorted by cost, better than `known`, within so many steps.
pub fn search(
    all: &[Candidate],
    n: usize,
    spacing_m: f64,
    known: Option<Vec<usize>>,
    steps: u64,
    monitor: &dyn Monitor,
) -> Result<Found, Error> {
    let best = known.as_ref().map_or(f64::INFINITY, |chosen| total(all, chosen));
    let squares = all.iter().map(|c| square(c.at, spacing_m, (0.0, 0.0))).collect();
    let mut branch =
        Branch { all, spacing_m, squares, best, chosen: known, left: steps, stopped: false, monitor };
    let open: Vec<usize> = (0..all.len()).collect();
    let complete = branch.grow(&mut Vec::with_capacity(n), 0.0, &open, n);
    if branch.stopped { Err(Error::Interrupted) } else { Ok(Found { chosen: branch.chosen, complete }) }
}

/// Total cost of a choice.
pub fn total(all: &[Candidate], chosen: &[usize]) -> f64 {
    chosen.iter().map(|&k| all[k].cost).sum()
}

struct Branch<'a> {
    all: &'a [Candidate],
    spacing_m: f64,
    squares: Vec<Square>,
    best: f64,
    chosen: Option<Vec<usize>>,
    left: u64,
    stopped: bool,
    monitor: &'a dyn Monitor,
}

impl Branch<'_> {
    /// Adds `more` places from the open ones to what is chosen; false if the steps ran out.
    fn grow(&mut self, chosen: &mut Vec<usize>, so_far: f64, open: &[usize], more: usize) -> bool {
        if more == 0 {
            if so_far < self.best - NOTHING || self.chosen.is_none() {
                self.best = so_far;
                self.chosen = Some(chosen.clone());
            }
            return true;
        }
        for (at, &next) in open.iter().enumerate() {
            if so_far + self.least(&open[at..], more) >= self.best - NOTHING {
                return true; // what follows is dearer still
            }
            if !self.spend(open.len() - at) {
                return false;
            }
            let (all, spacing_m) = (self.all, self.spacing_m);
            let still = |&&k: &&usize| apart(&all[next], &all[k], spacing_m);
            let rest: Vec<usize> = open[at + 1..].iter().filter(still).copied().collect();
            chosen.push(next);
            let complete = self.grow(chosen, so_far + self.all[next].cost, &rest, more - 1);
            chosen.pop();
            if !complete {
                return false;
            }
        }
        true
    }

    /// No `more` places of these cost less; infinite where so many cannot be had.
    fn least(&mut self, open: &[usize], more: usize) -> f64 {
        let (mut met, mut sum) = (HashSet::with_capacity(2 * more), 0.0);
        for (looked, &k) in open.iter().enumerate() {
            if met.insert(self.squares[k]) {
                sum += self.all[k].cost;
                if met.len() == more {
                    self.left = self.left.saturating_sub(looked as u64);
                    return sum;
                }
            }
        }
        self.left = self.left.saturating_sub(open.len() as u64);
        f64::INFINITY
    }

    fn spend(&mut self, steps: usize) -> bool {
        let (before, steps) = (self.left, steps as u64 + 1);
        self.left = self.left.saturating_sub(steps);
        if before / BEAT != self.left / BEAT && !self.monitor.tick(0, 1) {
            self.stopped = true;
            return false;
        }
        self.left > 0
    }
}
