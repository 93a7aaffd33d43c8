//! How often what is asked, and what guesses need of single items.

use super::guess::log_alone;
use super::learnt::Learnt;
use crate::metal::model::Model;

/// How often items are asked: tuned while warming up, then left alone, so that it never depends on the state.
#[derive(Clone, Debug)]
pub struct Rates {
    /// For each item, the chance that a sweep asks it.
    pub(super) item: Vec<f64>,
    /// For each item, how often it was asked and how often it moved.
    pub(super) seen: Vec<(f64, f64)>,
    /// For each item and each block, `ln` of the density of a line of it alone, as guesses take it.
    pub(super) log_alone: Vec<f64>,
    pub(super) log_block_alone: Vec<f64>,
    /// For each flag, those nearest to it.
    pub(super) near: Vec<Vec<u16>>,
    /// What joints turned out to gain.
    pub(super) joints: Learnt,
}

/// Chance that a sweep asks an item that was never seen to move, and the greatest chance. Numerical choices.
const RARELY: f64 = 0.04;
const OFTEN: f64 = 0.9;

impl Rates {
    /// Every item half of the time.
    pub fn new(model: &Model) -> Self {
        let items = model.evidence.items.len();
        Self {
            item: vec![0.5; items],
            seen: vec![(0.0, 0.0); items],
            log_alone: (0..items as u16).map(|item| log_alone(model, &[item])).collect(),
            near: nearest(model),
            joints: Learnt::default(),
            log_block_alone: model.blocks.iter().map(|block| log_alone(model, block)).collect(),
        }
    }

    /// Items that moved are asked more often from now on.
    pub fn tune(&mut self) {
        for (rate, (asked, moved)) in self.item.iter_mut().zip(&mut self.seen) {
            *rate = (RARELY + 6.0 * (*moved + 0.02) / (*asked + 2.0)).min(OFTEN);
            (*asked, *moved) = (0.0, 0.0);
        }
    }

    /// From now on cuts and joins are learnt from, or no longer.
    pub fn learn(&mut self, goes_on: bool) {
        self.joints.goes_on = goes_on;
    }

    /// What each learnt of cuts and joins becomes known to all.
    pub fn share<'a>(all: impl Iterator<Item = &'a mut Self>) {
        Learnt::pool(&mut all.map(|rates| &mut rates.joints).collect::<Vec<_>>());
    }
}

/// So many neighbours of a flag are known. Numerical choice.
const NEAREST: usize = 8;

/// For each flag those nearest to it.
fn nearest(model: &Model) -> Vec<Vec<u16>> {
    let flags = model.evidence.flags;
    let place = |item: usize| model.evidence.items[item].at;
    let of = |flag: usize| {
        let mut others: Vec<usize> = (0..flags).filter(|other| *other != flag).collect();
        let far = |other: &usize| place(*other).distance(place(flag));
        others.sort_by(|a, b| far(a).total_cmp(&far(b)).then(a.cmp(b)));
        others.truncate(NEAREST);
        others.into_iter().map(|other| other as u16).collect()
    };
    (0..flags).map(of).collect()
}
