//! The question of the search: places for holes of several kinds, how many of each, and how far apart their centres lie.

use super::candidates::{Candidate, SLACK_M};

/// A chosen place: the kind of its hole, and its place in the list of that kind.
pub type Pick = (usize, usize);

/// Places to choose from.
pub struct Question {
    /// For each kind of hole, the places where it may lie, cheapest first.
    pub places: Vec<Vec<Candidate>>,
    /// How many of each kind.
    pub counts: Vec<usize>,
    /// Least distance between the centres of two holes by their kinds, metres.
    pub spacing_m: Vec<Vec<f64>>,
}

impl Question {
    /// One kind of hole.
    #[cfg(test)]
    pub fn alike(places: Vec<Candidate>, n: usize, spacing_m: f64) -> Self {
        Self { places: vec![places], counts: vec![n], spacing_m: vec![vec![spacing_m]] }
    }

    /// The place that was picked.
    pub fn place(&self, (kind, index): Pick) -> &Candidate {
        &self.places[kind][index]
    }

    /// Whether two places are as far apart as asked for.
    pub fn apart(&self, a: Pick, b: Pick) -> bool {
        self.place(a).at.distance(self.place(b).at) >= self.spacing_m[a.0][b.0] - SLACK_M
    }

    /// Total cost of a choice.
    pub fn total(&self, chosen: &[Pick]) -> f64 {
        chosen.iter().map(|&pick| self.place(pick).cost).sum()
    }

    /// Holes asked for.
    pub fn n(&self) -> usize {
        self.counts.iter().sum()
    }

    /// Places of all kinds.
    pub fn candidates(&self) -> usize {
        self.places.iter().map(Vec::len).sum()
    }
}
