//! One labelling with its log posterior (up to a constant), and what a change to it would gain.

use super::fit::Fit;
use super::notes::Notes;
use crate::evidence::Site;

/// Heads that change their zone together: `(head, new zone)`, each head once.
pub type Move = Vec<(usize, usize)>;

/// A full labelling with what its score is made of.
#[derive(Clone)]
pub struct State {
    /// Zone of each head.
    pub zone_of: Vec<usize>,
    /// Heads of each zone, ascending.
    pub members: Vec<Vec<usize>>,
    /// Log posterior weight.
    pub score: f64,
    fits: Vec<f64>,
    /// For each test and zone, the heads of the zone that came up.
    raised: Vec<Vec<usize>>,
}

/// Prior and likelihood of labellings.
pub struct Judge {
    /// The prior.
    pub fit: Fit,
    /// The likelihood.
    pub notes: Notes,
}

impl Judge {
    /// The judge of a site's labellings.
    pub fn new(site: &Site) -> Self {
        Self { fit: Fit::new(site), notes: Notes::new(site) }
    }

    /// A labelling, judged.
    pub fn state(&mut self, zone_of: Vec<usize>) -> State {
        let zones = self.notes.zones;
        let mut members = vec![Vec::new(); zones];
        let mut raised = vec![vec![0; zones]; self.notes.tests.len()];
        for (head, &zone) in zone_of.iter().enumerate() {
            members[zone].push(head);
            for (raised, test) in raised.iter_mut().zip(&self.notes.tests) {
                raised[zone] += usize::from(test.up[head]);
            }
        }
        let fits: Vec<f64> =
            members.iter().enumerate().map(|(zone, held)| self.fit.log_weight(zone, held)).collect();
        let labels: f64 = zone_of.iter().enumerate().map(|(head, &zone)| self.notes.label(head, zone)).sum();
        let noted = self.notes.tests.iter().zip(&raised);
        let noted: f64 = noted.map(|(test, up)| test.log_likelihood(|z| members[z].len(), |z| up[z])).sum();
        let score = fits.iter().sum::<f64>() + labels + noted;
        State { zone_of, members, score, fits, raised }
    }

    /// The labelling after a move.
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
        let mut touched: Vec<usize> = change.iter().flat_map(ends).collect();
        touched.sort_unstable();
        touched.dedup();
        let mut gain = 0.0;
        let mut after: Vec<Vec<usize>> = Vec::with_capacity(touched.len());
        for &zone in &touched {
            let stays = |head: &&usize| !change.iter().any(|(moved, _)| moved == *head);
            let mut held: Vec<usize> = state.members[zone].iter().filter(stays).copied().collect();
            held.extend(change.iter().filter(|(_, to)| *to == zone).map(|(head, _)| head));
            held.sort_unstable();
            gain += self.fit.log_weight(zone, &held) - state.fits[zone];
            after.push(held);
        }
        for &(head, to) in change {
            gain += self.notes.label(head, to) - self.notes.label(head, state.zone_of[head]);
        }
        for (test, raised) in self.notes.tests.iter().zip(&state.raised) {
            let place = |zone: usize| touched.binary_search(&zone).ok();
            let before = test.log_likelihood(|z| state.members[z].len(), |z| raised[z]);
            gain -= before;
            gain += test.log_likelihood(
                |z| place(z).map_or(state.members[z].len(), |k| after[k].len()),
                |z| place(z).map_or(raised[z], |k| after[k].iter().filter(|&&head| test.up[head]).count()),
            );
        }
        gain
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::evidence::document::{BoxEntry, HeadEntry, StationTestEntry};
    use crate::evidence::{Document, Units};

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
        let mut judge = Judge::new(&Site::new(document).expect("a good document"));
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
