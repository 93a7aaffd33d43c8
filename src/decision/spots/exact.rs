//! The best choice of spots, by branch and bound: kind after kind, places are tried in order of cost, and a branch is left once
//! what it has and the cheapest squares that are still open ([`super::bound`]) come to no less than the best choice known.

use super::bound::{Square, square};
use super::question::{Pick, Question};
use crate::error::Error;
use crate::monitor::Monitor;
use std::collections::HashSet;

/// Differences of totals below this are none: rounding.
const NOTHING: f64 = 1e-12;

/// Steps between two looks at the monitor.
const BEAT: u64 = 1 << 16;

/// What a search found.
pub struct Found {
    /// The best choice known; `None` where none was found.
    pub chosen: Option<Vec<Pick>>,
    /// Whether the search was finished: then no choice is better, or there is none at all.
    pub complete: bool,
}

/// Searches for the choice of least total cost, better than `known`, within so many steps.
pub fn search(
    question: &Question,
    known: Option<Vec<Pick>>,
    steps: u64,
    monitor: &dyn Monitor,
) -> Result<Found, Error> {
    let best = known.as_ref().map_or(f64::INFINITY, |chosen| question.total(chosen));
    let squares_of = |(kind, all): (usize, &Vec<super::candidates::Candidate>)| {
        all.iter().map(|c| square(c.at, question.spacing_m[kind][kind], (0.0, 0.0))).collect()
    };
    let squares = question.places.iter().enumerate().map(squares_of).collect();
    let mut branch = Branch { question, squares, best, chosen: known, left: steps, stopped: false, monitor };
    let open: Vec<Vec<usize>> = question.places.iter().map(|all| (0..all.len()).collect()).collect();
    let complete = branch.grow(&mut Vec::with_capacity(question.n()), 0.0, 0, &open, question.counts[0]);
    if branch.stopped { Err(Error::Interrupted) } else { Ok(Found { chosen: branch.chosen, complete }) }
}

struct Branch<'a> {
    question: &'a Question,
    squares: Vec<Vec<Square>>,
    best: f64,
    chosen: Option<Vec<Pick>>,
    left: u64,
    stopped: bool,
    monitor: &'a dyn Monitor,
}

impl Branch<'_> {
    /// Adds `more` places of a kind, and all later kinds, from the open ones to what is chosen; false if the steps ran out.
    /// `open` are those of this kind and of all later ones.
    fn grow(
        &mut self,
        chosen: &mut Vec<Pick>,
        so_far: f64,
        kind: usize,
        open: &[Vec<usize>],
        more: usize,
    ) -> bool {
        if more == 0 {
            return match self.question.counts.get(kind + 1) {
                Some(&next) => self.grow(chosen, so_far, kind + 1, &open[1..], next),
                None => {
                    if so_far < self.best - NOTHING || self.chosen.is_none() {
                        self.best = so_far;
                        self.chosen = Some(chosen.clone());
                    }
                    true
                }
            };
        }
        let counts = &self.question.counts;
        let later: f64 = (1..open.len()).map(|k| self.least(kind + k, &open[k], counts[kind + k])).sum();
        for (at, &next) in open[0].iter().enumerate() {
            if so_far + self.least(kind, &open[0][at..], more) + later >= self.best - NOTHING {
                return true; // what follows is dearer still
            }
            if !self.spend(open[0].len() - at) {
                return false;
            }
            let question = self.question;
            let still = |(k, of): (usize, &[usize])| -> Vec<usize> {
                let apart = |&index: &usize| question.apart((kind, next), (kind + k, index));
                of.iter().copied().filter(apart).collect()
            };
            let rest: Vec<Vec<usize>> = std::iter::once((0, &open[0][at + 1..]))
                .chain(open.iter().map(Vec::as_slice).enumerate().skip(1))
                .map(still)
                .collect();
            chosen.push((kind, next));
            let cost = question.place((kind, next)).cost;
            let complete = self.grow(chosen, so_far + cost, kind, &rest, more - 1);
            chosen.pop();
            if !complete {
                return false;
            }
        }
        true
    }

    /// No `more` places of these cost less; infinite where so many cannot be had.
    fn least(&mut self, kind: usize, open: &[usize], more: usize) -> f64 {
        if more == 0 {
            return 0.0;
        }
        let (mut met, mut sum) = (HashSet::with_capacity(2 * more), 0.0);
        for (looked, &k) in open.iter().enumerate() {
            if met.insert(self.squares[kind][k]) {
                sum += self.question.places[kind][k].cost;
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
