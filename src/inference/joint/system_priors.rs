//! Priors of zones by their heads, each made once and kept: a sampler comes back to the same zones again and again.

use crate::Error;
use crate::inference::proposals::Zoning;
use crate::layout::UnmappedLines;
use crate::model::{Common, LayoutPrior, SystemPrior};
use std::collections::HashMap;
use std::sync::{Arc, PoisonError, RwLock};

/// Priors are kept up to this number of heads times starts in all. Numerical choice: some hundred megabytes, since each
/// makes a few kilobytes of states at every bearing; zones of hidden valves have dozens of starts.
const MOST_KEPT: usize = 40_000;

/// Where lines are drawn so many states of a zone are built for one that is asked for, about.
const BUILT: usize = 10;

/// By zone and its heads.
type Known = HashMap<(usize, Vec<usize>), Arc<SystemPrior>>;

/// The priors of a site's zones.
pub struct SystemPriors {
    common: Arc<Common>,
    known: RwLock<(usize, Known)>,
    bearings: Vec<f64>,
}

impl SystemPriors {
    /// The priors of a site.
    pub fn new(common: Arc<Common>) -> Self {
        let bearings = common.bearings().iter().map(|bearing| bearing.probability).collect();
        Self { common, known: RwLock::default(), bearings }
    }

    /// Probability of each grid bearing.
    pub fn bearings(&self) -> &[f64] {
        &self.bearings
    }

    /// The prior of unmapped lines.
    pub fn unmapped_lines(&self) -> &UnmappedLines {
        self.common.unmapped_lines()
    }

    /// The priors of the supply lines.
    pub fn supplies(&self) -> &[Arc<SystemPrior>] {
        self.common.supplies()
    }

    /// The prior of a zone with these heads, ascending.
    pub fn zone(&self, zone: usize, heads: &[usize]) -> Arc<SystemPrior> {
        let key = (zone, heads.to_vec());
        if let Some(known) = self.known.read().unwrap_or_else(PoisonError::into_inner).1.get(&key) {
            return known.clone();
        }
        let (name, valve) = self.common.written(zone);
        let made = Arc::new(self.common.zone(name, valve, heads));
        let mut known = self.known.write().unwrap_or_else(PoisonError::into_inner);
        let (weight, known) = &mut *known;
        if *weight >= MOST_KEPT {
            known.clear();
            *weight = 0;
        }
        *weight += heads.len() * made.starts() * if made.has_sketch() { BUILT } else { 1 };
        known.entry(key).or_insert(made).clone()
    }

    /// The prior of all systems of a zoning.
    ///
    /// # Errors
    /// [`Error::NoLayout`] if some head cannot be reached.
    pub fn assemble(&self, zoning: &Zoning) -> Result<LayoutPrior, Error> {
        self.of(zoning.parts.iter().map(|part| &part.heads))
    }

    /// The prior of all systems of zones with these heads, each ascending.
    ///
    /// # Errors
    /// [`Error::NoLayout`] if some head cannot be reached.
    pub fn of(&self, members: impl IntoIterator<Item = impl AsRef<[usize]>>) -> Result<LayoutPrior, Error> {
        let zones = members.into_iter().enumerate().map(|(zone, heads)| self.zone(zone, heads.as_ref()));
        LayoutPrior::assemble(self.common.clone(), zones.collect())
    }
}
