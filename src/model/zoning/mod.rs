//! Which zone each head is on: written labels, station tests and the lie of the heads, weighed against each other.
//!
//! Any of them may be wrong: a label is a word in a document, a note is a glance across a lawn. The posterior over
//! zonings is the prior of [`fit`] times the likelihoods of [`notes`]; [`search`] lists the few zonings that hold
//! nearly all of it. What differs from the written label, or has none, is pointed out in words.

mod changes;
mod drawn;
mod fit;
mod flow;
mod notes;
mod score;
mod search;
mod zoning_prior;

use crate::effort::Effort;
use crate::error::Error;
use crate::site::Site;
use search::{Depth, Search};
pub use zoning_prior::{Part, Share, Sums, ZoningPrior};

/// The zone of every head, and how probable that is.
#[derive(Clone, Debug, PartialEq)]
pub struct WeightedZoning {
    /// For each head, in the site's order, the index of its zone in the site's zones.
    pub zone_of: Vec<usize>,
    /// Its posterior probability; those of one [`ListedZonings`] sum to one.
    pub probability: f64,
}

/// A head whose likeliest zone is not the written one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FlaggedHead {
    /// Index of the head.
    pub head: usize,
    /// Index of the written zone, if one is written.
    pub written: Option<usize>,
    /// Index of the likeliest zone.
    pub likely: usize,
    /// Probability of that zone.
    pub probability: f64,
}

/// The posterior over zonings of a site.
#[derive(Clone, Debug, PartialEq)]
pub struct ListedZonings {
    /// Most probable first; at least one, at most 32 and none with a share below a thousandth, but more and smaller ones where
    /// probes were dug: what they found may yet make them probable.
    pub zonings: Vec<WeightedZoning>,
    /// Heads whose likeliest zone is not the written one, heads without a written zone included, in the site's order.
    pub flagged: Vec<FlaggedHead>,
    /// Estimated share of the posterior that the list holds, in (0, 1]. The weight of the rest is estimated as if heads
    /// changed zone independently of each other about each peak: good to a few hundredths where little is open, too
    /// high where nearly all is.
    pub coverage: f64,
}

impl WeightedZoning {
    /// The zones as they are written, at probability one.
    ///
    /// # Errors
    /// [`Error::UnlabelledHeads`] if heads carry no zone.
    pub fn written(site: &Site) -> Result<Self, Error> {
        let zone_of: Option<Vec<usize>> = site.heads.iter().map(|head| head.zone).collect();
        let refused = || {
            let heads = site.heads.iter().filter(|head| head.zone.is_none());
            Error::UnlabelledHeads { heads: heads.map(|head| head.id.clone()).collect() }
        };
        zone_of.map(|zone_of| Self { zone_of, probability: 1.0 }).ok_or_else(refused)
    }

    /// The heads of each of `zones` zones, ascending: what [`crate::site::Zone::heads`] would hold.
    pub fn members(&self, zones: usize) -> Vec<Vec<usize>> {
        let mut members = vec![Vec::new(); zones];
        for (head, &zone) in self.zone_of.iter().enumerate() {
            members[zone].push(head);
        }
        members
    }
}

impl ListedZonings {
    /// From this coverage on a list stands for the posterior of a site whose heads are all placed: what is left out are
    /// variants of what is listed, one head here or there. Numerical choice: below it zonings are sampled, which costs more.
    const SETTLED: f64 = 0.5;

    /// The posterior over zonings where a list of them holds nearly all of it: every head has a written zone or came up
    /// in a test that names its zone, every zone is known to be there, and what is written and noted settles the rest.
    /// `None` where it is open: zonings are then sampled.
    ///
    /// # Errors
    /// [`Error::Interrupted`] where the effort is spent.
    pub fn settled(site: &Site, effort: &Effort) -> Result<Option<Self>, Error> {
        let tested = |head: usize| {
            site.station_tests.iter().any(|test| test.zone.is_some() && test.heads.contains(&head))
        };
        let placed = |head: usize| site.heads[head].zone.is_some() || tested(head);
        if site.zones.iter().any(|zone| zone.optional) || !(0..site.heads.len()).all(placed) {
            return Ok(None);
        }
        let depth = if site.probes.is_empty() { Depth::USUAL } else { Depth::RARE };
        let list = Self::down_to(depth, site, effort).ok_or(Error::Interrupted)?;
        Ok((list.coverage >= Self::SETTLED).then_some(list))
    }

    /// The posterior over zonings of a site, from written labels, station tests and the places of heads and valves, as
    /// far as a list of the most probable holds it; `None` where the effort is spent.
    pub fn new(site: &Site, effort: &Effort) -> Option<Self> {
        Self::down_to(Depth::USUAL, site, effort)
    }

    fn down_to(depth: Depth, site: &Site, effort: &Effort) -> Option<Self> {
        let found = Search::new(site, effort).run(depth)?;
        let logs: Vec<f64> = found.zonings.iter().map(|(_, log)| *log).collect();
        let kept = notes::log_sum(&logs);
        let zoning =
            |(zone_of, log): (Vec<usize>, f64)| WeightedZoning { zone_of, probability: (log - kept).exp() };
        let zonings: Vec<WeightedZoning> = found.zonings.into_iter().map(zoning).collect();
        let coverage = (kept - found.log_total).exp().min(1.0);
        let mut list = Self { zonings, flagged: Vec::new(), coverage };
        list.flagged = FlaggedHead::of(site, &list.marginals(site.zones.len()));
        Some(list)
    }

    /// For each head, the probability of each zone.
    pub fn marginals(&self, zones: usize) -> Vec<Vec<f64>> {
        let heads = self.zonings.first().map_or(0, |first| first.zone_of.len());
        let mut marginals = vec![vec![0.0; zones]; heads];
        for zoning in &self.zonings {
            for (row, &zone) in marginals.iter_mut().zip(&zoning.zone_of) {
                row[zone] += zoning.probability;
            }
        }
        marginals
    }
}

impl FlaggedHead {
    /// Heads whose likeliest zone is not the written one, from the probability of each zone for each head.
    pub fn of(site: &Site, marginals: &[Vec<f64>]) -> Vec<Self> {
        let flagged = |(head, row): (usize, &Vec<f64>)| {
            let written = site.heads[head].zone;
            let likely = (0..row.len()).rev().max_by(|&x, &y| row[x].total_cmp(&row[y]))?;
            let doubted = written.is_none_or(|written| row[likely] > row[written]);
            doubted.then_some(Self { head, written, likely, probability: row[likely] })
        };
        marginals.iter().enumerate().filter_map(flagged).collect()
    }

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
