//! Which zone each head is on: written labels, station tests and the lie of the heads, weighed against each other.
//!
//! Any of them may be wrong: a label is a word in a document, a note is a glance across a lawn. The posterior over
//! labellings is the prior of [`fit`] times the likelihoods of [`notes`]; [`search`] lists the few labellings that hold
//! nearly all of it. What differs from the written label, or has none, is pointed out in words.

mod fit;
mod judge;
mod moves;
mod notes;
mod search;

use super::law::has_room;
use crate::error::Error;
use crate::evidence::Site;
use search::Search;

/// Below this coverage the user is told that the zones are not settled. Common practice, no source.
const SETTLED: f64 = 0.5;

/// The zone of every head, and how probable that is.
#[derive(Clone, Debug, PartialEq)]
pub struct Labelling {
    /// For each head, in the site's order, the index of its zone in the site's zones.
    pub zone_of: Vec<usize>,
    /// Its posterior probability; those of one [`Labels`] sum to one.
    pub probability: f64,
}

/// A head whose likeliest zone is not the written one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Suspicion {
    /// Index of the head.
    pub head: usize,
    /// Index of the written zone, if one is written.
    pub written: Option<usize>,
    /// Index of the likeliest zone.
    pub likely: usize,
    /// Probability of that zone.
    pub probability: f64,
}

/// The posterior over labellings of a site.
#[derive(Clone, Debug, PartialEq)]
pub struct Labels {
    /// Most probable first; at least one, at most 32, none with a share below a thousandth.
    pub labellings: Vec<Labelling>,
    /// Heads whose likeliest zone is not the written one, heads without a written zone included, in the site's order.
    pub suspicions: Vec<Suspicion>,
    /// Estimated share of the posterior that the list holds, in (0, 1]. The weight of the rest is estimated as if heads
    /// changed zone independently of each other about each peak: good to a few hundredths where little is open, too
    /// high where nearly all is.
    pub coverage: f64,
}

impl Labelling {
    /// The zones as they are written, at probability one.
    ///
    /// # Errors
    /// [`Error::UnlabelledHeads`] if heads carry no zone.
    pub fn written(site: &Site) -> Result<Self, Error> {
        let zone_of: Option<Vec<usize>> = site.heads.iter().map(|head| head.zone).collect();
        let refused = || unlabelled(site, |_| true);
        zone_of.map(|zone_of| Self { zone_of, probability: 1.0 }).ok_or_else(refused)
    }

    /// The heads of each of `zones` zones, ascending: what [`crate::evidence::Zone::heads`] would hold.
    pub fn members(&self, zones: usize) -> Vec<Vec<usize>> {
        let mut members = vec![Vec::new(); zones];
        for (head, &zone) in self.zone_of.iter().enumerate() {
            members[zone].push(head);
        }
        members
    }
}

impl Labels {
    /// The posterior over labellings of a site, from written labels, station tests and the places of heads and valves.
    ///
    /// Heads without a label are placed if station tests exist and every zone has a name, or if they came up in a test
    /// that names its zone.
    ///
    /// # Errors
    /// [`Error::UnlabelledHeads`] for heads that cannot be placed, [`Error::ZonesWithoutHeads`] if there are fewer heads
    /// than zones.
    pub fn new(site: &Site) -> Result<Self, Error> {
        let placed_by_name = |head: usize| {
            site.station_tests.iter().any(|test| test.zone.is_some() && test.heads.contains(&head))
        };
        let tested = !site.station_tests.is_empty() && zones_are_named(site);
        let lost = |head: usize| site.heads[head].zone.is_none() && !tested && !placed_by_name(head);
        if (0..site.heads.len()).any(lost) {
            return Err(unlabelled(site, lost));
        }
        if site.heads.len() < site.zones.len() {
            let bare = site.zones.iter().filter(|zone| zone.heads.is_empty());
            return Err(Error::ZonesWithoutHeads { zones: bare.map(|zone| zone.name.clone()).collect() });
        }
        let found = Search::new(site).run();
        let logs: Vec<f64> = found.labellings.iter().map(|(_, log)| *log).collect();
        let kept = notes::log_sum(&logs);
        let labelling =
            |(zone_of, log): (Vec<usize>, f64)| Labelling { zone_of, probability: (log - kept).exp() };
        let labellings: Vec<Labelling> = found.labellings.into_iter().map(labelling).collect();
        let coverage = (kept - found.log_total).exp().min(1.0);
        let mut labels = Self { labellings, suspicions: Vec::new(), coverage };
        labels.suspicions = labels.suspect(site);
        Ok(labels)
    }

    /// For each head, the probability of each zone.
    pub fn marginals(&self, zones: usize) -> Vec<Vec<f64>> {
        let heads = self.labellings.first().map_or(0, |first| first.zone_of.len());
        let mut marginals = vec![vec![0.0; zones]; heads];
        for labelling in &self.labellings {
            for (row, &zone) in marginals.iter_mut().zip(&labelling.zone_of) {
                row[zone] += labelling.probability;
            }
        }
        marginals
    }

    /// One sentence or two for the user where the list holds less than half of the posterior, so that its probabilities
    /// are surer than they should be.
    pub fn warning(&self, site: &Site) -> Option<String> {
        if self.coverage >= SETTLED {
            return None;
        }
        let tested = |index: usize| site.station_tests.iter().any(|test| test.zone == Some(index));
        let named = site.zones.iter().enumerate().filter(|(index, _)| !tested(*index));
        let named: Vec<&str> = named.map(|(_, zone)| zone.name.as_str()).collect();
        let advice = match named.as_slice() {
            [] => "Repeat the station tests, or write the zones of the heads down.".to_owned(),
            [zone] => format!("Run the valve that no test names yet: zone {zone}."),
            zones => format!("Run the valves that no test names yet: zones {}.", zones.join(", ")),
        };
        let share = (100.0 * self.coverage).max(1.0);
        Some(format!(
            "Which head is on which zone is not settled: the assignments looked at hold an estimated {share:.0} % of \
             the probability. {advice}"
        ))
    }

    fn suspect(&self, site: &Site) -> Vec<Suspicion> {
        let marginals = self.marginals(site.zones.len());
        let suspect = |(head, row): (usize, &Vec<f64>)| {
            let written = site.heads[head].zone;
            let likely = (0..row.len()).rev().max_by(|&x, &y| row[x].total_cmp(&row[y]))?;
            let doubted = written.is_none_or(|written| row[likely] > row[written]);
            doubted.then_some(Suspicion { head, written, likely, probability: row[likely] })
        };
        marginals.iter().enumerate().filter_map(suspect).collect()
    }
}

impl Suspicion {
    /// What to tell the user, as one sentence.
    pub fn sentence(&self, site: &Site) -> String {
        let head = &site.heads[self.head].id;
        let likely = &site.zones[self.likely].name;
        // A probability is never printed as 100 %.
        let chance = if self.probability > 0.99 {
            "more than 99 %".to_owned()
        } else {
            format!("{:.0} %", 100.0 * self.probability)
        };
        match self.written {
            Some(written) => {
                let written = &site.zones[written].name;
                format!(
                    "Head {head} is more likely on zone {likely} ({chance}) than on zone {written} as written."
                )
            }
            None => format!(
                "Head {head}, without a zone in the document, is most likely on zone {likely} ({chance})."
            ),
        }
    }
}

fn unlabelled(site: &Site, counted: impl Fn(usize) -> bool) -> Error {
    let heads = (0..site.heads.len()).filter(|&head| site.heads[head].zone.is_none() && counted(head));
    Error::UnlabelledHeads { heads: heads.map(|head| site.heads[head].id.clone()).collect() }
}

/// Whether every working valve has a zone with a name: else a head may be on a zone that the document does not know.
fn zones_are_named(site: &Site) -> bool {
    let spare = |held: usize| {
        let valve_box = &site.valve_boxes[held];
        let named = valve_box.zones.len() + valve_box.spare;
        valve_box.valves.map_or(usize::from(has_room(site, held)), |valves| valves.saturating_sub(named))
    };
    let nameless: usize = (0..site.valve_boxes.len()).map(spare).sum();
    let boxless = site.zones.iter().filter(|zone| zone.boxes.is_empty()).count();
    !site.zones.is_empty() && nameless <= boxless
}
