//! What a supply line's prior knows beside its plan: metal lines by case, and which outlets need no pipe.

use super::bearing::Bearing;
use super::node::Node;
use super::routing::supply::{self, Candidate, Indoors, MetalMain, Supply};
use super::zone::Zone;
use crate::layout::{OuterState, Run};
use std::sync::{Arc, OnceLock};

/// The same for all starts and bearings.
pub struct Beside {
    /// By case, the metal lines that carry its water.
    metal: Vec<Arc<[MetalMain]>>,
    /// Whether its start is hidden.
    hidden: bool,
    /// Combinations of outlets fed by their buildings.
    indoors: Arc<[Indoors]>,
}

impl Beside {
    /// What a supply line with these nodes knows.
    pub fn new(supply: Supply, nodes: &[Node]) -> Self {
        Self {
            indoors: supply::indoors(&supply.indoors, nodes).into(),
            metal: supply.metal.into_iter().map(Arc::from).collect(),
            hidden: supply.hidden,
        }
    }

    /// For each bearing and case, the first with the same bearing and, for a supply line, the same metal lines.
    pub fn own(beside: Option<&Self>, bearings: &[Bearing]) -> Vec<usize> {
        let metal = |case: usize| beside.and_then(|beside| beside.metal.get(case));
        let of = |case: usize| metal(case).map_or(&[][..], |lines| &lines[..]);
        let same = |a: usize, b: usize| {
            let (a, b) = (&bearings[a], &bearings[b]);
            a.rad == b.rad && (a.case == b.case || of(a.case) == of(b.case))
        };
        (0..bearings.len()).map(|k| (0..k).find(|&first| same(first, k)).unwrap_or(k)).collect()
    }

    /// What it starts from in a case.
    pub fn supplied(&self, case: usize) -> Supplied {
        let metal = self.metal.get(case).cloned().unwrap_or_default();
        Supplied {
            metal,
            hidden: self.hidden,
            indoors: self.indoors.clone(),
            laid: OnceLock::new(),
            anew: OnceLock::new(),
        }
    }
}

/// A supply line from one start: what is there already, what may be laid, which outlets need no pipe.
pub struct Supplied {
    metal: Arc<[MetalMain]>,
    hidden: bool,
    indoors: Arc<[Indoors]>,
    /// What may be laid, and what lies there in any case.
    laid: OnceLock<(Vec<Candidate>, Vec<Arc<Run>>)>,
    /// What may be laid where the metal lines leave some end out of reach.
    anew: OnceLock<Vec<Candidate>>,
}

impl Supplied {
    /// The combinations of outlets fed by their buildings, one for each state.
    pub fn indoors(&self) -> &[Indoors] {
        &self.indoors
    }

    /// The state of a combination. `None` if some end cannot be reached. Metal lines that leave an end out of reach (the only ways to
    /// it keep to them, and they do not lead there) are routed as if they did not carry the supply: a site is not refused for
    /// what a detector told.
    pub fn state(&self, zone: &Zone, combination: usize) -> Option<OuterState> {
        let laid =
            || (supply::candidates(zone, &self.metal, self.hidden), supply::along_wires(zone, &self.metal));
        let (candidates, along) = self.laid.get_or_init(laid);
        let indoors = &self.indoors[combination].0;
        let state = supply::state(zone, (&self.metal, self.hidden), (candidates, along), indoors);
        if state.is_some() || self.metal.is_empty() {
            return state;
        }
        let anew = self.anew.get_or_init(|| supply::candidates(zone, &[], self.hidden));
        supply::state(zone, (&[], self.hidden), (anew, &[]), indoors)
    }
}
