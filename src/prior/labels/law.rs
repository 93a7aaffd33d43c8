//! The law of labellings, zone by zone: what each zone contributes, and how the whole is put together from that.
//!
//! p(labels) is proportional to the product over zones of tau a (how well heads fit together and to their valve: `fit`),
//! times what flows and kinds make of all zones (`flow`), times `extra_valve_factor` for each zone that nobody has
//! counted. Every zone keeps a head, unless it is optional: then it is not there. The likelihood is that of `notes`. No
//! normaliser is known or needed: truth is simulated from this law by the same moves that sample its posterior.

use super::fit::Fit;
use super::flow::{Draught, Flow};
use super::notes::Notes;
use crate::evidence::Site;
use crate::forest::Scratch;

/// What one zone contributes, but for its trees.
#[derive(Clone, Debug, Default)]
pub struct Share {
    /// Number of heads.
    pub count: usize,
    /// Log of a, and of the price of being there.
    pub place: f64,
    /// What its heads draw.
    pub draught: Draught,
    /// Log-likelihood of what is written at its heads.
    pub written: f64,
    /// For each station test, the number of its heads that came up.
    pub raised: Vec<usize>,
}

/// One zone of a labelling.
#[derive(Clone, Debug, Default)]
pub struct Part {
    /// Its heads, ascending.
    pub heads: Vec<usize>,
    /// Log of tau: the weighted count of trees on its heads.
    pub log_trees: f64,
    /// The rest.
    pub share: Share,
}

/// The law of a site's labellings.
pub struct LabelLaw {
    /// Trees and ways to valves.
    pub fit: Fit,
    /// Labels and station tests.
    pub notes: Notes,
    flow: Flow,
    optional: Vec<bool>,
    log_extra: f64,
}

impl LabelLaw {
    /// The law of a site.
    pub fn new(site: &Site) -> Self {
        Self {
            fit: Fit::new(site),
            notes: Notes::new(site),
            flow: Flow::new(site),
            optional: site.zones.iter().map(|zone| zone.optional).collect(),
            log_extra: site.settings.extra_valve_factor.ln(),
        }
    }

    /// Number of zones, optional ones included.
    pub fn zones(&self) -> usize {
        self.optional.len()
    }

    /// Whether a zone may have no heads.
    pub fn is_optional(&self, zone: usize) -> bool {
        self.optional[zone]
    }

    /// What these heads, in any order, contribute as a zone, but for its trees.
    pub fn share(&self, zone: usize, heads: &[usize]) -> Share {
        let extra = if self.optional[zone] && !heads.is_empty() { self.log_extra } else { 0.0 };
        let raised = |test: &super::notes::Test| heads.iter().filter(|&&head| test.up[head]).count();
        Share {
            count: heads.len(),
            place: extra + self.fit.log_reach(zone, heads, self.optional[zone]),
            draught: self.flow.draught(heads),
            written: heads.iter().map(|&head| self.notes.label(head, zone)).sum(),
            raised: self.notes.tests.iter().map(raised).collect(),
        }
    }

    /// A zone of these heads, ascending.
    pub fn part(&self, zone: usize, heads: Vec<usize>, scratch: &mut Scratch) -> Part {
        let log_trees = self.fit.log_trees(&heads, scratch);
        Part { share: self.share(zone, &heads), heads, log_trees }
    }

    /// Log prior of a labelling but for its trees.
    pub fn log_prior<'a>(&self, shares: impl Iterator<Item = &'a Share> + Clone) -> f64 {
        let there = shares.clone().filter(|share| share.count > 0).map(|share| share.draught);
        shares.map(|share| share.place).sum::<f64>() + self.flow.log_weight(there)
    }

    /// Log-likelihood of labels and station tests; `share(z)` is that of zone z.
    pub fn log_notes<'a>(&self, share: impl Fn(usize) -> &'a Share) -> f64 {
        let written: f64 = (0..self.zones()).map(|zone| share(zone).written).sum();
        let tests = self.notes.tests.iter().enumerate();
        let noted = tests.map(|(k, test)| test.log_likelihood(|z| share(z).count, |z| share(z).raised[k]));
        written + noted.sum::<f64>()
    }
}
