//! The law of one system, a zone's laterals or a supply line: its outer states at each bearing, each made at its first
//! use. Nothing in it knows of other systems, so that a zone of the same heads and start serves in any labelling.

use super::drawings::Drawings;
use super::explained::favours;
use super::header::{self, Headers, Places};
use super::plan::{PairRun, Plan, Root};
use super::roots::Start;
use super::shared::Shared;
use super::split::{self, Cut};
use super::zone::Zone;
use super::{chain, direct};
use crate::error::Error;
use crate::layout::{Kind, OuterState, System};
use crate::settings::Settings;
use std::sync::{Arc, OnceLock};

/// Zones with fewer heads than this are always piped `direct` (design section 2).
const SEVERAL_HEADS: usize = 3;

/// One way to start.
struct Feed {
    roots: Vec<Root>,
    probability: f64,
}

/// What is known at one bearing.
#[derive(Default)]
struct AtBearing {
    pairs: OnceLock<Arc<[PairRun]>>,
    ready: OnceLock<Box<Ready>>,
}

/// The outer states at one bearing.
struct Ready {
    fed: Vec<Fed>,
    probabilities: Vec<f64>,
    states: Vec<OnceLock<Option<Arc<OuterState>>>>,
}

/// The outer states of one start: headers, splits, chains, then the direct one; without the first three for a supply
/// line and for few heads.
struct Fed {
    zone: Arc<Zone>,
    /// Index of its first state.
    first: usize,
    headers: Places,
    cuts: Vec<(Cut, f64)>,
    chains: usize,
}

/// The law of the layouts of one system of a site.
///
/// States and candidate runs are named by address in what is worked out from them: both stay where they are as long as
/// this lives, and so do runs between heads or from valves to heads as long as the [`super::Common`] that made it, unless
/// the pipe may go round an obstacle at a price that depends on the spacing of the zone's heads.
pub struct SystemLaw {
    system: System,
    shared: Arc<Shared>,
    plan: Arc<Plan>,
    feeds: Vec<Feed>,
    at: Vec<AtBearing>,
    /// Whether all ends can be reached; where not, index of an obstacle in the way.
    reached: OnceLock<Result<(), Option<usize>>>,
}

impl SystemLaw {
    /// The law of a system with this plan. A zone's roots have places among those that zones share pipes from.
    pub(super) fn new(system: System, shared: Arc<Shared>, plan: Plan, starts: Vec<Start>) -> Self {
        let is_zone = plan.kind != Kind::Supply;
        let feed = |Start { roots, probability }: Start| {
            let place = |node| is_zone.then(|| shared.valve(node));
            let roots = roots.into_iter().map(|node| Root { node, place: place(node) }).collect();
            Feed { roots, probability }
        };
        let feeds = starts.into_iter().map(feed).collect();
        let at = shared.bearings.iter().map(|_| AtBearing::default()).collect();
        Self { system, shared, plan: Arc::new(plan), feeds, at, reached: OnceLock::new() }
    }

    /// The system.
    pub fn system(&self) -> &System {
        &self.system
    }

    /// Number of places where it may start.
    pub fn starts(&self) -> usize {
        self.feeds.len()
    }

    /// Whether all its states at a bearing are made at once, as drawings ask for.
    pub fn builds_all(&self) -> bool {
        !self.shared.ground.drawings().is_empty()
    }

    /// Indices of its heads in the site, ascending; empty for a supply line.
    pub fn heads(&self) -> &[usize] {
        self.plan.heads()
    }

    /// Probability of each outer state given the bearing. They sum to one, possible or not.
    pub fn state_probabilities(&self, bearing: usize) -> &[f64] {
        &self.ready(bearing).probabilities
    }

    /// One outer state, built at first use; `None` if it allows no layout.
    pub fn state(&self, bearing: usize, state: usize) -> Option<Arc<OuterState>> {
        let ready = self.ready(bearing);
        ready.states[state].get_or_init(|| ready.build(state).map(Arc::new)).clone()
    }

    /// Whether every end can be reached: if at one bearing, then at all, since the ways round do not turn. Looked at once.
    ///
    /// # Errors
    /// [`Error::NoLayout`]; the name of the obstacle is left to the site.
    pub(super) fn check_reach(&self, place: impl Fn(usize) -> Option<String>) -> Result<(), Error> {
        self.reached.get_or_init(|| self.reach()).map_err(|obstacle| Error::NoLayout {
            system: self.system.name.clone(),
            obstacle: obstacle.and_then(place),
        })
    }

    pub(super) fn is_of(&self, shared: &Arc<Shared>) -> bool {
        Arc::ptr_eq(&self.shared, shared)
    }

    fn reach(&self) -> Result<(), Option<usize>> {
        // Nearly always the direct pipes from the first start settle it, at the price of one state.
        let direct = self.feeds.iter().take(1).any(|feed| direct::state(&self.zone(0, feed)).is_some());
        let possible = |state| self.state(0, state).is_some();
        if direct || (0..self.state_probabilities(0).len()).any(possible) {
            return Ok(());
        }
        let roots = self.feeds.iter().flat_map(|feed| &feed.roots);
        let blocked = roots.flat_map(|root| {
            self.plan.nodes.iter().filter_map(|node| self.shared.ground.blocked_by(root.node.at, node.at))
        });
        Err(blocked.min())
    }

    /// The system as its families see it.
    fn zone(&self, bearing: usize, feed: &Feed) -> Zone {
        let pairs = self.at[bearing].pairs.get_or_init(|| self.plan.pair_runs(&self.shared, bearing).into());
        Zone {
            plan: self.plan.clone(),
            pairs: pairs.clone(),
            roots: feed.roots.clone(),
            shared: self.shared.clone(),
            bearing,
        }
    }

    fn ready(&self, bearing: usize) -> &Ready {
        self.at[bearing].ready.get_or_init(|| {
            let Shared { settings, ground, bearings, .. } = &*self.shared;
            let several = self.plan.kind != Kind::Supply && self.plan.nodes.len() >= SEVERAL_HEADS;
            let mut headers =
                several.then(|| Headers::new(&self.plan, ground, bearings[bearing].rad, settings));
            let (mut fed, mut probabilities) = (Vec::with_capacity(self.feeds.len()), Vec::new());
            for feed in &self.feeds {
                let one = Fed::new(self.zone(bearing, feed), probabilities.len(), headers.as_mut());
                one.add_probabilities(feed.probability, settings, &mut probabilities);
                fed.push(one);
            }
            let states = probabilities.iter().map(|_| OnceLock::new()).collect();
            let ready = Ready { fed, probabilities, states };
            Box::new(if ground.drawings().is_empty() {
                ready
            } else {
                ready.explaining(ground.drawings(), self.plan.spacing_m)
            })
        })
    }
}

impl Ready {
    /// Builds one state.
    fn build(&self, state: usize) -> Option<OuterState> {
        let fed = &self.fed[self.fed.partition_point(|fed| fed.first <= state) - 1];
        fed.build(state - fed.first)
    }

    /// The same with states that explain the drawings more probable: all are built for that.
    fn explaining(self, drawings: &Drawings, spacing_m: f64) -> Self {
        let built: Vec<_> = (0..self.states.len()).map(|state| self.build(state).map(Arc::new)).collect();
        let favours = favours(drawings, &built, spacing_m);
        let mut probabilities = self.probabilities;
        let before: f64 = probabilities.iter().sum();
        probabilities.iter_mut().zip(favours).for_each(|(p, favour)| *p *= favour);
        let after: f64 = probabilities.iter().sum();
        probabilities.iter_mut().for_each(|p| *p *= before / after);
        Self { fed: self.fed, probabilities, states: built.into_iter().map(OnceLock::from).collect() }
    }
}

impl Fed {
    /// The states of a zone from this index on; `headers` where it follows more families than the direct one.
    fn new(zone: Zone, first: usize, headers: Option<&mut Headers>) -> Self {
        let zone = Arc::new(zone);
        let Some(headers) = headers else {
            return Self { zone, first, headers: Places::default(), cuts: Vec::new(), chains: 0 };
        };
        let (headers, cuts) = (headers.places(zone.valve().at), split::cuts(&zone));
        Self { zone, first, headers, cuts, chains: chain::CHAINS }
    }

    /// Appends the probability of each state.
    fn add_probabilities(&self, of_start: f64, settings: &Settings, probabilities: &mut Vec<f64>) {
        let mut rest = 1.0;
        if self.chains > 0 {
            let Settings { header_share, split_share, chain_share, .. } = *settings;
            probabilities.extend(self.headers.iter().map(|(_, share)| of_start * header_share * share));
            probabilities.extend(self.cuts.iter().map(|(_, share)| of_start * split_share * share));
            let chain = of_start * chain_share * (1.0 / self.chains as f64);
            probabilities.extend(std::iter::repeat_n(chain, self.chains));
            rest -= header_share + split_share + chain_share;
        }
        probabilities.push(of_start * f64::max(rest, 0.0));
    }

    fn build(&self, state: usize) -> Option<OuterState> {
        let (headers, cuts) = (self.headers.len(), self.cuts.len());
        if state < headers {
            header::state(&self.zone, self.headers[state].0)
        } else if state < headers + cuts {
            split::state(&self.zone, self.cuts[state - headers].0)
        } else if state < headers + cuts + self.chains {
            chain::state(&self.zone, (state - headers - cuts) as u64)
        } else {
            direct::state(&self.zone)
        }
    }
}
