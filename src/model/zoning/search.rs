//! The zonings that hold nearly all of the posterior: climb to its peaks, then walk down from them, best first.
//!
//! No chance is involved: the same site gives the same list. The walk visits the best zoning not yet visited, judges
//! all that is one move away, and stops where nothing is left with more than a least share of the best one's weight.

use super::changes::Proposals;
use super::notes::log_sum;
use super::score::{Judge, ProposalKind, State};
use crate::effort::Effort;
use crate::geometry::Point;
use crate::site::Site;
use std::collections::BTreeMap;

/// How far down the list goes. Numerical choices.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Depth {
    /// Zonings with a smaller share of the posterior are left out.
    least_share: f64,
    /// At most this many zonings are kept: each becomes a prior of layouts of its own.
    most: usize,
    /// At most this many are visited in the walk.
    visited: usize,
}

impl Depth {
    /// What is drawn from.
    pub const USUAL: Self = Self { least_share: 1e-3, most: 32, visited: 48 };
    /// What probes may yet make probable: a find where a label leaves no line can outweigh a label error of a two-hundredth.
    pub const RARE: Self = Self { least_share: 1e-5, most: 256, visited: 48 };
}

/// At most this many ways in which zones may have run are climbed from. Numerical choice.
const MOST_STARTS: usize = 8;

/// Climbing stops at gains below this. Numerical choice: above rounding.
const LEAST_GAIN: f64 = 1e-7;

/// What the search found.
pub struct Found {
    /// Zonings and their log weights, best first.
    pub zonings: Vec<(Vec<usize>, f64)>,
    /// Log of the weight of all zonings as estimated: as if heads changed zone independently about each peak, and at
    /// least what was seen.
    pub log_total: f64,
}

/// A search on one site.
pub struct Search {
    judge: Judge,
    moves: Proposals,
    at: Vec<Point>,
}

impl Search {
    /// The search on a site, its work counted.
    pub fn new(site: &Site, effort: &Effort) -> Self {
        let judge = Judge::new(site, effort);
        let at: Vec<Point> = site.heads.iter().map(|head| head.at).collect();
        let moves = Proposals::new(&judge, &at, site.settings.length_rate);
        Self { judge, moves, at }
    }

    /// The zonings that hold nearly all of the posterior; `None` where the effort is spent.
    pub fn run(mut self, depth: Depth) -> Option<Found> {
        let least = depth.least_share.ln();
        let peaks: Option<Vec<State>> = self.starts().into_iter().map(|start| self.climb(start)).collect();
        let mut waiting: BTreeMap<Vec<usize>, f64> =
            peaks?.into_iter().map(|peak| (peak.zone_of, peak.score)).collect();
        let mut visited: BTreeMap<Vec<usize>, f64> = BTreeMap::new();
        let mut totals = Vec::new();
        while visited.len() < depth.visited {
            let best = top(waiting.values().chain(visited.values()));
            let next = waiting.iter().max_by(|x, y| x.1.total_cmp(y.1)).map(|(z, s)| (z.clone(), *s));
            let Some((zone_of, score)) = next.filter(|(_, score)| *score > best + least) else {
                break;
            };
            waiting.remove(&zone_of);
            visited.insert(zone_of.clone(), score);
            let state = self.judge.state(zone_of);
            let mut odds = vec![0.0; self.at.len()];
            let mut peak = true;
            let singles = self.moves.singles(&state);
            let alone = singles.len();
            let wholes = self.moves.wholes(&self.judge, &state);
            for (k, change) in singles.into_iter().chain(wholes).enumerate() {
                let gain = self.judge.gain(&state, &change);
                if self.judge.effort.is_spent() {
                    return None;
                }
                peak &= gain < LEAST_GAIN;
                if k < alone {
                    odds[change[0].0] += gain.min(700.0).exp(); // where it overflowed, this is no peak
                }
                if score + gain > best + least {
                    let after = self.judge.moved(&state, &change);
                    if !visited.contains_key(&after.zone_of) {
                        waiting.insert(after.zone_of, after.score);
                    }
                }
            }
            if peak {
                totals.push(score + odds.iter().map(|odds| odds.ln_1p()).sum::<f64>());
            }
        }
        visited.append(&mut waiting);
        let seen = log_sum(&visited.values().copied().collect::<Vec<f64>>());
        let log_total = log_sum(&totals).max(seen);
        Some(Found { zonings: the_most(visited, seen, depth), log_total })
    }

    /// The nearest peak, by the steepest way; `None` where the effort is spent.
    fn climb(&mut self, mut state: State) -> Option<State> {
        loop {
            let wholes = self.moves.wholes(&self.judge, &state);
            let mut best: Option<(f64, ProposalKind)> = None;
            for change in self.moves.singles(&state).into_iter().chain(wholes) {
                let gain = self.judge.gain(&state, &change);
                if self.judge.effort.is_spent() {
                    return None;
                }
                if gain > best.as_ref().map_or(LEAST_GAIN, |(gain, _)| *gain) {
                    best = Some((gain, change));
                }
            }
            let Some((_, change)) = best else { return Some(state) };
            let after = self.judge.moved(&state, &change);
            if after.score <= state.score {
                return Some(state); // the gain was rounding
            }
            state = after;
        }
    }

    /// Zonings to climb from: one for each likely answer to which zones ran in tests that name only a valve box,
    /// each head by itself on the zone that what is noted of it speaks for.
    fn starts(&mut self) -> Vec<State> {
        let (heads, zones) = (self.at.len(), self.judge.prior.zones());
        let written =
            |head: usize| (0..zones).map(|zone| self.judge.prior.notes.of_written(head, zone)).collect();
        let mut answers: Vec<Vec<Vec<f64>>> = vec![(0..heads).map(written).collect()];
        for test in &self.judge.prior.notes.tests {
            let mut longer: Vec<(f64, Vec<Vec<f64>>)> = Vec::new();
            for (table, &ran) in answers.iter().flat_map(|t| test.zones.iter().map(move |ran| (t, ran))) {
                let mut table = table.clone();
                for (head, row) in table.iter_mut().enumerate() {
                    row.iter_mut().enumerate().for_each(|(zone, log)| *log += test.of_head(head, zone, ran));
                }
                longer.push((table.iter().map(|row| log_sum(row)).sum(), table));
            }
            longer.sort_by(|x, y| y.0.total_cmp(&x.0));
            longer.truncate(MOST_STARTS);
            answers = longer.into_iter().map(|(_, table)| table).collect();
        }
        let starts: Vec<Vec<usize>> = answers.iter().map(|table| self.settle(table)).collect();
        starts.into_iter().map(|zone_of| self.judge.state(zone_of)).collect()
    }

    /// Each head on its likeliest zone; where several are alike, on that one of them whose nearest settled head is
    /// nearest.
    fn settle(&self, table: &[Vec<f64>]) -> Vec<usize> {
        let alike = |row: &Vec<f64>| -> Vec<usize> {
            let best = top(row);
            (0..row.len()).filter(|&zone| row[zone] > best - LEAST_GAIN).collect()
        };
        let open: Vec<Vec<usize>> = table.iter().map(alike).collect();
        let settled: Vec<(Point, usize)> = open
            .iter()
            .zip(&self.at)
            .filter(|(zones, _)| zones.len() == 1)
            .map(|(z, &at)| (at, z[0]))
            .collect();
        let place = |(zones, at): (&Vec<usize>, &Point)| {
            let near = settled.iter().filter(|(_, zone)| zones.contains(zone));
            let near = near.min_by(|x, y| x.0.distance(*at).total_cmp(&y.0.distance(*at)));
            near.map_or(zones[0], |(_, zone)| *zone)
        };
        open.iter().zip(&self.at).map(place).collect()
    }
}

/// Best first, without those of too small a share in all that were seen; ties keep the order of the labels.
fn the_most(found: BTreeMap<Vec<usize>, f64>, seen: f64, depth: Depth) -> Vec<(Vec<usize>, f64)> {
    let mut kept: Vec<(Vec<usize>, f64)> = found.into_iter().collect();
    kept.sort_by(|x, y| y.1.total_cmp(&x.1));
    let large = kept.iter().take_while(|(_, score)| *score > seen + depth.least_share.ln()).count();
    kept.truncate(large.clamp(1, depth.most));
    kept
}

fn top<'a>(logs: impl IntoIterator<Item = &'a f64>) -> f64 {
    logs.into_iter().copied().fold(f64::NEG_INFINITY, f64::max)
}
