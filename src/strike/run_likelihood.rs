//! The run likelihood: what observations say of one run.
//!
//! For each find set, the chance that its finds and the clear looks all miss the run. A find that cannot meet the run tells
//! no sets apart, so the table is over the few finds that can.

use super::find_set::{BySet, FindSet};
use crate::layout::LEVELS;
use std::sync::Arc;

/// For each cover level of a system, the chance that a run is missed by every look.
pub type Miss = [f64; LEVELS];

/// For each set of some finds, the chance of missing a run with it and with the clear looks.
#[derive(Clone, Debug)]
pub struct RunLikelihood {
    /// The finds that can meet the run, by their places, ascending.
    finds: Arc<[usize]>,
    /// By set of these; `None` where no look of the set can meet the run.
    by_set: BySet<Arc<[Option<Miss>]>>,
    /// About what it cost.
    pub work: u64,
}

impl RunLikelihood {
    /// By set of these finds, ascending, at this cost.
    pub(super) fn new(finds: Vec<usize>, by_set: BySet<Vec<Option<Miss>>>, work: u64) -> Self {
        Self { finds: finds.into(), by_set: by_set.shared(), work }
    }

    /// With a set; `None` where no look of it can meet the run.
    pub fn missed(&self, set: FindSet) -> Option<&Miss> {
        self.by_set[set.among(&self.finds)].as_ref()
    }

    /// Whether some look of some set can meet the run.
    pub fn is_met(&self) -> bool {
        self.by_set.values().iter().any(Option::is_some)
    }

    /// The finds that can meet the run.
    pub fn finds(&self) -> FindSet {
        self.finds.iter().copied().collect()
    }

    /// The same of finds that have other places: `place` says for each where it is now.
    pub fn renamed(&self, place: impl Fn(usize) -> usize) -> Self {
        Self { finds: self.finds.iter().map(|&find| place(find)).collect(), ..self.clone() }
    }
}
