//! The chance that sets of finds miss all lines of one system, whatever the system: irrigation at a bearing, or metal.

use crate::strike::{BySet, FindSet};

/// For each set of a system's finds, the chance that it and the clear observations meet nothing.
pub(super) struct SystemMissed<'m> {
    /// Its finds by their places among all.
    pub finds: &'m [usize],
    pub missed: BySet<&'m [f64]>,
}

impl SystemMissed<'_> {
    /// With a set of all finds.
    pub fn of(&self, set: FindSet) -> f64 {
        self.missed[set.among(self.finds)]
    }
}
