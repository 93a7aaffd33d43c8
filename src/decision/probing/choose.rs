//! Which probes: one after another by what they gain net of their own cost, with a look ahead of two.
//!
//! The value of information is not submodular: one probe may be worth nothing where two are (Malings & Pozzi, Reliability
//! Engineering and System Safety 183 (2019) 45-56), and the greedy choice has no bound. So at each step the best pair of a
//! short list is held against the best single one followed by its best second. The short list takes places by the
//! information about the digs that they promise (mutual information, which *is* submodular where reports are independent
//! given the layout; Krause, Singh & Guestrin, Journal of Machine Learning Research 9 (2008) 235-284) and by their gain.
//!
//! A dig listens to a probe only where that takes off a noticeable share of what the dig loses; reports that it does not
//! listen to can only be worth more. That keeps the number of cells small, and noise from passing for gain.

use super::Objective;
use super::cells::{Cell, MOST_CELLS, OfDig};
use super::sight::Sight;
use crate::decision::information::entropy;
use crate::error::Error;
use crate::monitor::Monitor;
use rayon::prelude::*;
use std::ops::Range;

/// A dig listens to a probe that takes off at least this share of its loss. Numerical choice: three errors of nothing at
/// a thousand draws.
const LEAST_SHARE: f64 = 0.005;

/// Places that are weighed at each step, and of which pairs are. Numerical choices: seconds.
const SHORT: usize = 300;
const PAIRED: usize = 24;

/// A chosen place.
#[derive(Clone, Debug, PartialEq)]
pub struct Chosen {
    pub place: usize,
    /// The digs that listen to its report.
    pub heard_by: Vec<usize>,
}

/// How to choose.
pub struct Rule<'a> {
    pub objective: Objective,
    pub n: usize,
    /// What each place costs, in units of the objective.
    pub price: &'a [f64],
    /// Whether to go on where nothing gains more than it costs.
    pub always: bool,
    /// Whether to look ahead of two.
    pub pairs: bool,
}

/// A dig and its cells.
#[derive(Clone)]
struct Dig<'a> {
    of: OfDig<'a>,
    cells: Vec<Cell>,
    least: f64,
}

impl<'a> Dig<'a> {
    fn new(of: OfDig<'a>, objective: Objective) -> Self {
        let cells = vec![Cell::whole(of)];
        let least = LEAST_SHARE * cells[0].value(objective, of.cost);
        Self { of, cells, least }
    }

    /// What it gains by a report, if it listens.
    fn gain(&self, finds: &[f64], objective: Objective) -> f64 {
        if self.cells.len() * 2 > MOST_CELLS {
            return 0.0;
        }
        let gain = self.cells.iter().map(|cell| cell.gain(finds, objective, self.of.cost)).sum::<f64>();
        if gain > self.least.max(1e-12) { gain } else { 0.0 }
    }

    fn split(&self, finds: &[f64]) -> Self {
        let cells = self.cells.iter().flat_map(|cell| cell.split(finds, self.of)).collect();
        Self { cells, ..self.clone() }
    }
}

/// Chooses places on some of the draws. `overlap` says which two places share ground.
pub fn choose(
    sight: &Sight,
    draws: Range<usize>,
    rule: &Rule<'_>,
    overlap: &(dyn Fn(usize, usize) -> bool + Sync),
    monitor: &dyn Monitor,
) -> Result<Vec<Chosen>, Error> {
    let (count, objective) = (draws.len().max(1) as f64, rule.objective);
    let finds = |place: usize| &sight.finds[place][draws.clone()];
    let of_dig = |k: usize| sight.of_dig(k, draws.clone());
    let mut digs: Vec<Dig<'_>> =
        (0..sight.strikes.len()).map(|k| Dig::new(of_dig(k), objective)).collect();
    let gains = |digs: &[Dig<'_>], place: usize| -> Vec<f64> {
        digs.iter().map(|dig| dig.gain(finds(place), objective)).collect()
    };
    let net = |gains: &[f64], place: usize| gains.iter().sum::<f64>() / count - rule.price[place];
    let mut open = short_list(sight, &draws, &|place| net(&gains(&digs, place), place));
    let mut chosen: Vec<Chosen> = Vec::new();
    while chosen.len() < rule.n && !open.is_empty() {
        if !monitor.tick(chosen.len(), rule.n) {
            return Err(Error::Interrupted);
        }
        let nets: Vec<f64> = open.par_iter().map(|&place| net(&gains(&digs, place), place)).collect();
        let mut order: Vec<usize> = (0..open.len()).collect();
        order.sort_by(|&a, &b| nets[b].total_cmp(&nets[a]).then(open[a].cmp(&open[b])));
        let single = open[order[0]];
        let best = nets[order[0]];
        let take = if rule.pairs && rule.n - chosen.len() >= 2 {
            let list = paired(sight, &draws, &open, &order);
            let after = |first: usize| -> Vec<(f64, usize)> {
                let (alone, split) = halves(&digs, finds(first), objective);
                let pair = |&second: &usize| {
                    let of_dig = |k: usize| {
                        let beside = digs[k].gain(finds(second), objective);
                        let both = split[k]
                            .cells
                            .iter()
                            .map(|cell| cell.gain(finds(second), objective, digs[k].of.cost))
                            .sum::<f64>()
                            + alone[k].0;
                        let listens = digs[k].cells.len() * 4 <= MOST_CELLS && both > digs[k].least;
                        alone[k].1.max(beside).max(if listens { both } else { 0.0 })
                    };
                    let sum = (0..digs.len()).map(of_dig).sum::<f64>();
                    (sum / count - rule.price[first] - rule.price[second], second)
                };
                let allowed = |second: &&usize| **second != first && !overlap(first, **second);
                list.iter().filter(allowed).map(pair).collect()
            };
            let best_second = |first: usize| {
                after(first).into_iter().max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)))
            };
            let seconds: Vec<Option<(f64, usize)>> = list.par_iter().map(|&first| best_second(first)).collect();
            let followed = list.iter().position(|&p| p == single).and_then(|k| seconds[k]).map_or(best, |p| p.0);
            let pairs = list.iter().zip(&seconds).filter_map(|(&first, pair)| pair.map(|p| (p.0, first, p.1)));
            let pair = pairs.max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)));
            match pair {
                Some((both, first, second)) if both > followed.max(best) + 1e-12 && both > 0.0 => {
                    let of = |place: usize| nets[open.iter().position(|&p| p == place).unwrap_or(0)];
                    if of(second) > of(first) { vec![second, first] } else { vec![first, second] }
                }
                _ => vec![single],
            }
        } else {
            vec![single]
        };
        if take.len() == 1 && best <= 0.0 && !rule.always {
            break;
        }
        for (k, &place) in take.iter().enumerate() {
            // The first of a pair may gain nothing by itself: digs listen to it for the sake of the second.
            let next = take.get(k + 1).copied();
            let mut heard_by = Vec::new();
            for (number, dig) in digs.iter_mut().enumerate() {
                let alone = dig.gain(finds(place), objective);
                let later = next.filter(|_| dig.cells.len() * 4 <= MOST_CELLS).is_some_and(|next| {
                    let split = dig.split(finds(place));
                    let first: f64 = dig.cells.iter().map(|c| c.gain(finds(place), objective, dig.of.cost)).sum();
                    let both = first + split.cells.iter().map(|c| c.gain(finds(next), objective, dig.of.cost)).sum::<f64>();
                    both > dig.gain(finds(next), objective).max(alone) + dig.least
                });
                if alone > 0.0 || later {
                    *dig = dig.split(finds(place));
                    heard_by.push(number);
                }
            }
            chosen.push(Chosen { place, heard_by });
        }
        open.retain(|&place| !take.iter().any(|&taken| taken == place || overlap(taken, place)));
    }
    Ok(chosen)
}

/// For each dig, what it gains by a report (as measured, and if it listens), and its cells with it.
fn halves<'a>(
    digs: &[Dig<'a>],
    finds: &[f64],
    objective: Objective,
) -> (Vec<(f64, f64)>, Vec<Dig<'a>>) {
    let of = |dig: &Dig<'a>| {
        let measured = dig.cells.iter().map(|cell| cell.gain(finds, objective, dig.of.cost)).sum::<f64>();
        let split = if dig.cells.len() * 4 <= MOST_CELLS { dig.split(finds) } else { dig.clone() };
        ((measured, dig.gain(finds, objective)), split)
    };
    digs.iter().map(of).unzip()
}

/// The places worth a closer look: half by information about the digs, half by gain.
fn short_list(sight: &Sight, draws: &Range<usize>, net: &(dyn Fn(usize) -> f64 + Sync)) -> Vec<usize> {
    let all: Vec<usize> = (0..sight.finds.len()).collect();
    if all.len() <= SHORT {
        return all;
    }
    let of: Vec<(f64, f64)> =
        all.par_iter().map(|&place| (sight.information(place, draws.clone()), net(place))).collect();
    let by = |key: &dyn Fn(usize) -> f64, most: usize| {
        let mut order = all.clone();
        order.sort_by(|&a, &b| key(b).total_cmp(&key(a)).then(a.cmp(&b)));
        order.truncate(most);
        order
    };
    let mut list = by(&|k| of[k].0, SHORT / 2);
    list.extend(by(&|k| of[k].1, SHORT / 2));
    list.sort_unstable();
    list.dedup();
    list
}

/// The places of which pairs are looked at; `order` is by net gain, best first.
fn paired(sight: &Sight, draws: &Range<usize>, open: &[usize], order: &[usize]) -> Vec<usize> {
    let mut list: Vec<usize> = order.iter().take(PAIRED / 2).map(|&k| open[k]).collect();
    let mut informed: Vec<(f64, usize)> =
        open.par_iter().map(|&place| (sight.information(place, draws.clone()), place)).collect();
    informed.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    for (_, place) in informed {
        if list.len() >= PAIRED {
            break;
        }
        if !list.contains(&place) {
            list.push(place);
        }
    }
    list
}

impl Sight {
    /// One dig in some of the draws.
    pub fn of_dig(&self, dig: usize, draws: Range<usize>) -> OfDig<'_> {
        OfDig {
            strikes: &self.strikes[dig][draws.clone()],
            losses: &self.losses[dig][draws],
            cost: self.costs[dig],
        }
    }

    /// Bits that a probe is expected to tell about whether each dig strikes, summed over digs.
    pub fn information(&self, place: usize, draws: Range<usize>) -> f64 {
        let finds = &self.finds[place][draws.clone()];
        let count = finds.len().max(1) as f64;
        let found = finds.iter().sum::<f64>() / count;
        let of_dig = |strikes: &Vec<f64>| {
            let strikes = &strikes[draws.clone()];
            let struck = strikes.iter().sum::<f64>() / count;
            let both = super::cells::dot(strikes, finds) / count;
            let given = |both: f64, of: f64| if of > 0.0 { of * entropy((both / of).clamp(0.0, 1.0)) } else { 0.0 };
            (entropy(found) - given(both, struck) - given(found - both, 1.0 - struck)).max(0.0)
        };
        self.strikes.iter().map(of_dig).sum()
    }
}
