//! The prior of zonings, zone by zone: what each zone contributes, and how the whole is put together from that.
//!
//! p(zoning) is proportional to the product over zones of tau a (how well heads fit together and to their valve: `fit`),
//! times what flows and kinds make of all zones (`flow`), times `extra_valve_factor` for each zone that nobody has
//! counted. Every zone keeps a head, unless it is optional: then it is not there; or unless its heads may be out of sight:
//! then it counts for nothing without one, and may fall short of its flow with some. The likelihood is that of `notes`. No
//! normaliser is known or needed: truth is simulated from this prior by the same moves that sample its posterior.

use super::fit::Fit;
use super::flow::{Fits, Flow};
use super::notes::Notes;
use crate::site::{Site, Zone};
use crate::spanning_tree::Scratch;

/// What one zone contributes, but for its trees.
#[derive(Clone, Debug, Default)]
pub struct Share {
    /// Number of heads.
    pub count: usize,
    /// Log of a, and of the price of being there.
    pub place: f64,
    /// Log weight of what its heads draw, at each place of the supply's flow; zero where there are none.
    pub fits: Fits,
    /// Log-likelihood of what is written at its heads.
    pub written: f64,
    /// For each station test, the number of its heads that came up.
    pub raised: Vec<usize>,
}

/// One zone of a zoning.
#[derive(Clone, Debug, Default)]
pub struct Part {
    /// Its heads, ascending.
    pub heads: Vec<usize>,
    /// Log of tau: the weighted count of trees on its heads.
    pub log_trees: f64,
    /// The rest.
    pub share: Share,
}

/// How a zone may be without heads.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Presence {
    /// It has some.
    Seen,
    /// It may not be there.
    Optional,
    /// It is there, and its heads may all be out of sight.
    Unseen,
}

impl Presence {
    const fn of(zone: &Zone) -> Self {
        match (zone.optional, zone.unseen) {
            (true, _) => Self::Optional,
            (false, true) => Self::Unseen,
            (false, false) => Self::Seen,
        }
    }
}

/// The prior of a site's zonings.
pub struct ZoningPrior {
    /// Trees and ways to valves.
    pub fit: Fit,
    /// Labels and station tests.
    pub notes: Notes,
    flow: Flow,
    zones: Vec<Presence>,
    log_extra: f64,
}

impl ZoningPrior {
    /// The prior of a site.
    pub fn new(site: &Site) -> Self {
        Self {
            fit: Fit::new(site),
            notes: Notes::new(site),
            flow: Flow::new(site),
            zones: site.zones.iter().map(Presence::of).collect(),
            log_extra: site.settings.extra_valve_factor.ln(),
        }
    }

    /// Number of zones, those that may have no heads included.
    pub fn zones(&self) -> usize {
        self.zones.len()
    }

    /// Whether a zone may have no heads.
    pub fn may_be_bare(&self, zone: usize) -> bool {
        self.zones[zone] != Presence::Seen
    }

    /// Whether some zones may have none of the site's heads although their valves are there.
    pub fn has_unseen(&self) -> bool {
        self.zones.contains(&Presence::Unseen)
    }

    /// What these heads, in any order, contribute as a zone, but for its trees.
    pub fn share(&self, zone: usize, heads: &[usize]) -> Share {
        let presence = self.zones[zone];
        let extra = if presence == Presence::Optional && !heads.is_empty() { self.log_extra } else { 0.0 };
        let more_heads = presence == Presence::Unseen;
        let raised = |test: &super::notes::Test| heads.iter().filter(|&&head| test.up[head]).count();
        Share {
            count: heads.len(),
            place: extra + self.fit.log_reach(zone, heads, self.may_be_bare(zone)),
            fits: if heads.is_empty() {
                Fits::default()
            } else {
                self.flow.fits(self.flow.draught(heads), more_heads)
            },
            written: heads.iter().map(|&head| self.notes.of_written(head, zone)).sum(),
            raised: self.notes.tests.iter().map(raised).collect(),
        }
    }

    /// A zone of these heads, ascending.
    pub fn part(&self, zone: usize, heads: Vec<usize>, scratch: &mut Scratch) -> Part {
        let log_trees = self.fit.log_trees(&heads, scratch);
        Part { share: self.share(zone, &heads), heads, log_trees }
    }

    /// Log prior of a zoning but for its trees, from the sum of its zones' shares.
    pub fn log_prior(&self, sums: &Sums) -> f64 {
        sums.place + self.flow.log_weight(&sums.fits)
    }

    /// Log-likelihood of labels and station tests, from the sum of the zones' shares; `share(z)` is that of zone z.
    pub fn log_notes<'a>(&self, sums: &Sums, share: impl Fn(usize) -> &'a Share) -> f64 {
        let tests = self.notes.tests.iter().enumerate();
        let noted = tests.map(|(k, test)| test.log_likelihood(|z| share(z).count, |z| share(z).raised[k]));
        sums.written + noted.sum::<f64>()
    }
}

/// What is summed over zones.
#[derive(Clone, Copy, Debug, Default)]
pub struct Sums {
    place: f64,
    written: f64,
    fits: Fits,
}

impl Sums {
    /// The sums over these zones.
    pub fn of<'a>(shares: impl Iterator<Item = &'a Share>) -> Self {
        shares.fold(Self::default(), |sums, share| sums.with(share))
    }

    /// With a zone more.
    pub fn with(self, share: &Share) -> Self {
        self.plus(share, 1.0)
    }

    /// With a zone fewer.
    pub fn without(self, share: &Share) -> Self {
        self.plus(share, -1.0)
    }

    fn plus(mut self, share: &Share, sign: f64) -> Self {
        self.place += sign * share.place;
        self.written += sign * share.written;
        self.fits.iter_mut().zip(share.fits).for_each(|(sum, fit)| *sum += sign * fit);
        self
    }
}
