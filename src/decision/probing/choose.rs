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

use super::cells::{Cell, MOST_CELLS, OfDig, dot};
use super::plan::Objective;
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
        let gain = self.measured(finds, objective);
        if gain > self.least.max(1e-12) { gain } else { 0.0 }
    }

    /// The gain of all its cells, noise and all.
    fn measured(&self, finds: &[f64], objective: Objective) -> f64 {
        self.cells.iter().map(|cell| cell.gain(finds, objective, self.of.cost)).sum()
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
    let mut digs: Vec<Dig<'_>> = (0..sight.strikes.len()).map(|k| Dig::new(of_dig(k), objective)).collect();
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
            let list = paired(sight, &draws, &open, &order, overlap);
            let second = |first: usize, among: &[usize]| -> Option<(f64, usize)> {
                let after = Pairwise::new(&digs, finds(first), objective);
                let allowed = |second: &&usize| **second != first && !overlap(first, **second);
                let pair = |&second: &usize| {
                    let sum = after.gain(&digs, finds(second), objective);
                    (sum / count - rule.price[first] - rule.price[second], second)
                };
                let pairs: Vec<(f64, usize)> = among.par_iter().filter(allowed).map(pair).collect();
                pairs.into_iter().max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)))
            };
            let followed = second(single, &open).map_or(best, |pair| pair.0.max(best));
            let seconds: Vec<Option<(f64, usize)>> =
                list.par_iter().map(|&first| second(first, &list)).collect();
            let pairs =
                list.iter().zip(&seconds).filter_map(|(&first, pair)| pair.map(|p| (p.0, first, p.1)));
            let pair = pairs.max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)));
            match pair {
                // Where nothing pays by itself there is no single one to be followed.
                Some((both, first, second)) if both > 0.0 && (both > followed + 1e-12 || best <= 0.0) => {
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
                    let second = dig.split(finds(place)).measured(finds(next), objective);
                    let both = dig.measured(finds(place), objective) + second;
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

/// All digs after one more report, for the sake of a second.
struct Pairwise<'a> {
    /// For each dig, what it gains by the first report, as measured and if it listens.
    first: Vec<(f64, f64)>,
    /// For each dig that has room for two more reports, its cells with the first.
    split: Vec<Option<Dig<'a>>>,
}

impl<'a> Pairwise<'a> {
    fn new(digs: &[Dig<'a>], finds: &[f64], objective: Objective) -> Self {
        let room = |dig: &Dig<'a>| dig.cells.len() * 4 <= MOST_CELLS;
        Self {
            first: digs.iter().map(|d| (d.measured(finds, objective), d.gain(finds, objective))).collect(),
            split: digs.iter().map(|dig| room(dig).then(|| dig.split(finds))).collect(),
        }
    }

    /// What all digs gain by both reports: each listens to the first, the second, both or neither.
    fn gain(&self, digs: &[Dig<'a>], finds: &[f64], objective: Objective) -> f64 {
        let of_dig = |k: usize| {
            let one = self.first[k].1.max(digs[k].gain(finds, objective));
            let both = |split: &Dig<'a>| self.first[k].0 + split.measured(finds, objective);
            let both = self.split[k].as_ref().map(both).filter(|both| *both > digs[k].least.max(1e-12));
            one.max(both.unwrap_or(0.0))
        };
        (0..digs.len()).map(of_dig).sum()
    }
}

/// The places worth a closer look: for each dig those that tell most of it, so that none is forgotten once the least sure
/// one has been seen to, and those of most net gain.
fn short_list(sight: &Sight, draws: &Range<usize>, net: &(dyn Fn(usize) -> f64 + Sync)) -> Vec<usize> {
    let all: Vec<usize> = (0..sight.finds.len()).collect();
    if all.len() <= SHORT {
        return all;
    }
    let digs = sight.strikes.len();
    let mut keys: Vec<Vec<f64>> = (0..digs)
        .map(|dig| all.par_iter().map(|&place| sight.information_of(place, dig, draws.clone())).collect())
        .collect();
    keys.push(all.par_iter().map(|&place| net(place)).collect());
    let mut list: Vec<usize> = Vec::with_capacity(SHORT);
    let most = [vec![(SHORT / 2).div_ceil(digs.max(1)); digs], vec![SHORT / 2]].concat();
    for (key, most) in keys.iter().zip(most) {
        let mut order = all.clone();
        order.sort_by(|&a, &b| key[b].total_cmp(&key[a]).then(a.cmp(&b)));
        list.extend(&order[..most.min(order.len())]);
    }
    list.sort_unstable();
    list.dedup();
    list
}

/// The places of which pairs are looked at, none sharing ground with another; `order` is by net gain, best first.
fn paired(
    sight: &Sight,
    draws: &Range<usize>,
    open: &[usize],
    order: &[usize],
    overlap: &(dyn Fn(usize, usize) -> bool + Sync),
) -> Vec<usize> {
    let mut informed: Vec<(f64, usize)> =
        open.par_iter().map(|&place| (sight.information(place, draws.clone()), place)).collect();
    informed.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let mut list: Vec<usize> = Vec::with_capacity(PAIRED);
    let mut fill = |places: &mut dyn Iterator<Item = usize>, most: usize| {
        for place in places {
            if list.len() >= most {
                return;
            }
            if list.iter().all(|&other| other != place && !overlap(other, place)) {
                list.push(place);
            }
        }
    };
    fill(&mut order.iter().map(|&k| open[k]), PAIRED / 2);
    fill(&mut informed.into_iter().map(|(_, place)| place), PAIRED);
    list
}

impl Sight {
    /// One dig in some of the draws.
    pub fn of_dig(&self, dig: usize, draws: Range<usize>) -> OfDig<'_> {
        OfDig {
            from: draws.start,
            strikes: &self.strikes[dig][draws],
            losses: &self.losses[dig],
            cost: self.costs[dig],
        }
    }

    /// Bits that a probe is expected to tell about whether each dig strikes, summed over digs.
    pub fn information(&self, place: usize, draws: Range<usize>) -> f64 {
        (0..self.strikes.len()).map(|dig| self.information_of(place, dig, draws.clone())).sum()
    }

    /// Bits that it is expected to tell about one dig.
    fn information_of(&self, place: usize, dig: usize, draws: Range<usize>) -> f64 {
        let (finds, strikes) = (&self.finds[place][draws.clone()], &self.strikes[dig][draws]);
        let count = finds.len().max(1) as f64;
        let (found, struck) = (finds.iter().sum::<f64>() / count, strikes.iter().sum::<f64>() / count);
        let both = dot(strikes, finds) / count;
        let given =
            |both: f64, of: f64| if of > 0.0 { of * entropy((both / of).clamp(0.0, 1.0)) } else { 0.0 };
        (entropy(found) - given(both, struck) - given(found - both, 1.0 - struck)).max(0.0)
    }
}
