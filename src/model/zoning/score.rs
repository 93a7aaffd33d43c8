//! One zoning with its log posterior (up to a constant), and what a change to it would gain.

use super::zoning_prior::{Share, Sums, ZoningPrior};
use crate::effort::Effort;
use crate::site::Site;
use crate::spanning_tree::Scratch;
use std::collections::HashMap;

/// Price of judging a change: so much, so much for each zone of the site, and for each head of the zones that it touches.
const JUDGED: u64 = 400;
const ZONE: u64 = 12;
const HEAD: u64 = 25;

/// Price of the trees of a zone of so many heads: all pairs are asked, and zones may be far larger than networks of runs, where
/// elimination goes at its full pace.
const fn trees_of(heads: usize) -> u64 {
    let heads = heads as u64;
    60 + heads * (12 + heads * (4 + heads / 24))
}

/// Heads that change their zone together: `(head, new zone)`, each head once.
pub type ProposalKind = Vec<(usize, usize)>;

/// A full zoning with what its score is made of.
#[derive(Clone)]
pub struct State {
    /// Zone of each head.
    pub zone_of: Vec<usize>,
    /// Heads of each zone, ascending.
    pub members: Vec<Vec<usize>>,
    /// Log posterior weight.
    pub score: f64,
    shares: Vec<Share>,
    trees: Vec<f64>,
}

/// Prior and likelihood of zonings, with the trees of every zone that was ever asked for.
pub struct Judge {
    /// The prior.
    pub prior: ZoningPrior,
    /// Where its work is counted.
    pub effort: Effort,
    trees: HashMap<Vec<usize>, f64>,
    scratch: Scratch,
}

impl Judge {
    /// The judge of a site's zonings.
    pub fn new(site: &Site, effort: &Effort) -> Self {
        let (prior, effort) = (ZoningPrior::new(site), effort.clone());
        Self { prior, effort, trees: HashMap::new(), scratch: Scratch::default() }
    }

    /// A zoning, judged.
    pub fn state(&mut self, zone_of: Vec<usize>) -> State {
        let mut members = vec![Vec::new(); self.prior.zones()];
        for (head, &zone) in zone_of.iter().enumerate() {
            members[zone].push(head);
        }
        let shares: Vec<Share> =
            members.iter().enumerate().map(|(zone, m)| self.prior.share(zone, m)).collect();
        let trees: Vec<f64> = members.iter().map(|heads| self.log_trees(heads)).collect();
        let score = self.score(trees.iter().sum(), |zone| &shares[zone]);
        State { zone_of, members, score, shares, trees }
    }

    /// The zoning after a move.
    pub fn moved(&mut self, state: &State, change: &[(usize, usize)]) -> State {
        let mut zone_of = state.zone_of.clone();
        for &(head, to) in change {
            zone_of[head] = to;
        }
        self.state(zone_of)
    }

    /// What a move adds to the score; only the zones that it touches are looked at.
    pub fn gain(&mut self, state: &State, change: &[(usize, usize)]) -> f64 {
        let ends = |&(head, to): &(usize, usize)| [state.zone_of[head], to];
        let mut changed: Vec<usize> = change.iter().flat_map(ends).collect();
        changed.sort_unstable();
        changed.dedup();
        let heads: usize = changed.iter().map(|&zone| state.members[zone].len()).sum();
        self.effort.spend(JUDGED + ZONE * state.trees.len() as u64 + HEAD * (heads + change.len()) as u64);
        let mut trees = state.trees.iter().sum::<f64>();
        let mut after: Vec<Share> = Vec::with_capacity(changed.len());
        for &zone in &changed {
            let stays = |head: &&usize| !change.iter().any(|(moved, _)| moved == *head);
            let mut members: Vec<usize> = state.members[zone].iter().filter(stays).copied().collect();
            members.extend(change.iter().filter(|(_, to)| *to == zone).map(|(head, _)| head));
            members.sort_unstable();
            trees += self.log_trees(&members) - state.trees[zone];
            after.push(self.prior.share(zone, &members));
        }
        let share = |zone: usize| changed.binary_search(&zone).map_or(&state.shares[zone], |k| &after[k]);
        self.score(trees, share) - state.score
    }

    fn score<'a>(&self, trees: f64, share: impl Fn(usize) -> &'a Share + Clone) -> f64 {
        let sums = Sums::of((0..self.prior.zones()).map(share.clone()));
        trees + self.prior.log_prior(&sums) + self.prior.log_notes(&sums, share)
    }

    fn log_trees(&mut self, heads: &[usize]) -> f64 {
        if let Some(&known) = self.trees.get(heads) {
            return known;
        }
        self.effort.spend(trees_of(heads.len()));
        let log_trees = self.prior.fit.log_trees(heads, &mut self.scratch);
        self.trees.insert(heads.to_vec(), log_trees);
        log_trees
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::site::document::{BoxEntry, HeadEntry, StationTestEntry};
    use crate::site::{Document, Units};

    /// The gain of a move is the difference of two full scores, for every single move and every exchange of two heads.
    #[test]
    fn gain_is_the_difference_of_scores() {
        let mut document = Document::new(Units::Metres);
        let head = |k: usize| HeadEntry {
            id: format!("h{k}"),
            x: 3.0 * (k % 4) as f64 + 0.1 * (k * k % 7) as f64,
            y: 3.5 * (k / 4) as f64,
            kind: None,
            zone: (k != 5).then(|| (k % 3).to_string()),
            sd: None,
            accuracy_95: None,
            radius: None,
            arc_deg: None,
            flow: None,
        };
        document.heads = (0..9).map(head).collect();
        let zones = Some(vec!["0".to_owned(), "1".to_owned()]);
        document.valve_boxes =
            vec![BoxEntry { id: "v".to_owned(), x: 1.0, y: 9.0, zones, valves: None, spare: None }];
        let test = |zone: Option<&str>, heads: [&str; 3]| StationTestEntry {
            zone: zone.map(str::to_owned),
            valve: zone.is_none().then(|| "v".to_owned()),
            heads: heads.map(str::to_owned).to_vec(),
            error: None,
        };
        document.station_tests = vec![test(Some("2"), ["h2", "h5", "h8"]), test(None, ["h0", "h3", "h7"])];
        let mut judge = Judge::new(&Site::new(document).expect("a good document"), &Effort::unlimited());
        let state = judge.state((0..9).map(|k| k % 3).collect());
        let singles = (0..9).flat_map(|h| (0..3).map(move |z| vec![(h, z)]));
        let pairs = (0..8).map(|h| vec![(h, (h + 1) % 3), (h + 1, h % 3)]);
        for change in singles.chain(pairs) {
            let after = judge.moved(&state, &change);
            let gain = judge.gain(&state, &change);
            assert!((after.score - state.score - gain).abs() < 1e-9, "{change:?}: {gain}");
        }
    }
}
