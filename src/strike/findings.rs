//! What probes found: clear looks and finds, as one signed sum over the sets of finds that are taken as missed.
//!
//! A find says that at least one line which answers to its report was met, or that there was none and the find is false:
//! `1 - (1 - f) prod_e (1 - met_e)`. It is silent about every other line. Multiplied out over finds, the chance of all
//! that was seen is `sum_S c_S M(C + S)`: M the chance that every look of a set meets nothing, C the clear looks, S a set
//! of finds, c_S = prod_{j in S} -(1 - f_j).

use super::belts::{DIRECTIONS, STRIP_M};
use super::find_set::{BySet, FindSet};
use super::observation::Observation;
use super::unknown::{bears_on, mean_beyond};
use crate::layout::UnmappedLines;
use std::collections::HashMap;

/// At most this many finds are summed over exactly.
pub const MOST_FINDS: usize = 10;

/// A find.
#[derive(Clone, Debug)]
pub struct Find {
    /// Where, how deep, how surely, and what was noted.
    pub look: Observation,
    /// Chance that something is noted so where no line is met: a false find.
    pub false_find: f64,
}

/// Everything that probes found.
#[derive(Clone, Debug, Default)]
pub struct Findings {
    /// Observations that met nothing.
    pub clear: Vec<Observation>,
    /// Observations that met a line.
    pub found: Vec<Find>,
}

impl Findings {
    /// Whether nothing was probed.
    pub fn is_empty(&self) -> bool {
        self.clear.is_empty() && self.found.is_empty()
    }

    /// The finds of a set.
    pub fn of_set(&self, set: FindSet) -> impl Iterator<Item = &Find> {
        set.finds().map(|find| &self.found[find])
    }

    /// The clear looks and the finds of a set, as one set of looks.
    pub fn looks(&self, set: FindSet) -> Vec<Observation> {
        self.clear.iter().chain(self.of_set(set).map(|find| &find.look)).cloned().collect()
    }

    /// For each set the coefficient `c_S` times the chance that no unknown line is met by it (given that none is met by
    /// the clear looks).
    pub fn coefficients(&self, unmapped: &UnmappedLines) -> BySet<Vec<f64>> {
        let finds: Vec<&Observation> = self.found.iter().map(|find| &find.look).collect();
        let mut beyond: Vec<Beyond<'_>> =
            (0..finds.len()).map(|j| Beyond::new(unmapped, self, finds[j])).collect();
        let (places, before) = (self.by_place(), self.before());
        BySet::new(finds.len(), |set| {
            let sign: f64 = self.of_set(set).map(|find| -(1.0 - find.false_find)).product();
            let in_turn = places.iter().filter(|find| set.contains(**find));
            let mean: f64 = in_turn.map(|&find| beyond[find].mean(set.intersection(before[find]))).sum();
            sign * (-mean).exp()
        })
    }

    /// The finds from west to east. Unknown lines of a set are summed find by find, over strips and slices that are laid from each:
    /// by place rather than as written, so that the order of probes in a document is nothing.
    fn by_place(&self) -> Vec<usize> {
        let key = |find: usize| {
            let look = &self.found[find].look;
            let (low, high) = look.footprint.bounds();
            [low.x, low.y, high.x, high.y, look.depth_m, look.detect]
        };
        let mut places: Vec<usize> = (0..self.found.len()).collect();
        places.sort_by(|a, b| {
            let pairs = key(*a).into_iter().zip(key(*b));
            pairs
                .map(|(a, b)| a.total_cmp(&b))
                .find(|order| order.is_ne())
                .unwrap_or(std::cmp::Ordering::Equal)
        });
        places
    }

    /// For each find, those that come before it by place.
    fn before(&self) -> Vec<FindSet> {
        let mut before = vec![FindSet::NONE; self.found.len()];
        let mut all = FindSet::NONE;
        for find in self.by_place() {
            before[find] = all;
            all = all.with(find);
        }
        before
    }

    /// About what [`Self::coefficients`] cost: for every find, the sets of finds before it that bear on it, summed over
    /// directions and the strips of the looks in reach.
    pub fn price(&self, unmapped: &UnmappedLines) -> u64 {
        let strips = |look: &Observation| {
            let (low, high) = look.footprint.bounds();
            1 + (low.distance(high) / STRIP_M) as u64
        };
        let earlier = self.before();
        let of_find = |(j, find): (usize, &Find)| {
            let near = |other: &&Observation| bears_on(unmapped, other, &find.look);
            let before: Vec<u64> =
                self.of_set(earlier[j]).map(|find| &find.look).filter(near).map(strips).collect();
            let clear: u64 = self.clear.iter().filter(near).map(strips).sum();
            let all = clear + before.iter().sum::<u64>();
            (DIRECTIONS as u64 * (1_500 + 120 * all + all * all))
                .saturating_mul(FindSet::count(before.len()) as u64)
        };
        let sets = FindSet::count(self.found.len()) as u64;
        self.found.iter().enumerate().map(of_find).fold(sets * 60, u64::saturating_add)
    }

    /// For each set, the chance that no unknown line is met by `dig` either, given that none is met by clear looks and
    /// the set.
    pub fn missed_by(&self, unmapped: &UnmappedLines, dig: &Observation) -> BySet<Vec<f64>> {
        let mut beyond = Beyond::new(unmapped, self, dig);
        BySet::new(self.found.len(), |set| (-beyond.mean(set)).exp())
    }
}

/// Mean number of unknown lines that one look meets and none of the clear looks and of a set of finds does.
struct Beyond<'a> {
    unmapped: &'a UnmappedLines,
    findings: &'a Findings,
    look: &'a Observation,
    /// The clear looks that bear on it.
    clear: Vec<&'a Observation>,
    /// The finds that bear on it.
    near: FindSet,
    /// By the part of a set that bears on it: sets are many, such parts few.
    known: HashMap<FindSet, f64>,
}

impl<'a> Beyond<'a> {
    fn new(unmapped: &'a UnmappedLines, findings: &'a Findings, look: &'a Observation) -> Self {
        let clear = findings.clear.iter().filter(|clear| bears_on(unmapped, clear, look)).collect();
        let bears = |&find: &usize| bears_on(unmapped, &findings.found[find].look, look);
        let near = (0..findings.found.len()).filter(bears).collect();
        Self { unmapped, findings, look, clear, near, known: HashMap::new() }
    }

    fn mean(&mut self, set: FindSet) -> f64 {
        let set = set.intersection(self.near);
        *self.known.entry(set).or_insert_with(|| {
            let finds = self.findings.of_set(set).map(|find| &find.look);
            let before: Vec<&Observation> = self.clear.iter().copied().chain(finds).collect();
            mean_beyond(self.unmapped, self.look, &before)
        })
    }
}
