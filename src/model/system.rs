//! The prior of one system, a zone's laterals or a supply line: its outer states at each bearing, each made at its first
//! use. Nothing in it knows of other systems, so that a zone of the same heads and start serves in any zoning.

use super::explained::Explained;
use super::plan::{PairRun, Plan, Root};
use super::routing::header::{self, HeaderPlace, HeaderPlaces, Headers};
use super::routing::split::{self, Cut};
use super::routing::supply::Supply;
use super::routing::{chain, direct, loose};
use super::shared::Shared;
use super::supplied::{Beside, Supplied};
use super::supply_roots::Start;
use super::zone::Zone;
use crate::error::{Error, Unreachable};
use crate::layout::{Kind, OuterState, System, listed_state, pick};
use crate::settings::Settings;
use rand::{Rng, RngExt};
use std::sync::{Arc, OnceLock};

/// Zones with fewer heads than this are always piped `direct` (python/docs/model.md, 2.3).
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
    /// Where headers may lie; the dearest part of a prior, and not asked for by most of its states.
    headers: OnceLock<Headers>,
    fed: OnceLock<Box<[Fed]>>,
    listed: OnceLock<Box<Listed>>,
}

/// Every outer state at one bearing: those of the first start, then those of the next.
struct Listed {
    /// Index of the first state of each start.
    first: Vec<usize>,
    probabilities: Vec<f64>,
}

/// A state, built at its first use, with the factor that drawings give it; `None` if it allows no layout.
type Built = OnceLock<Option<Explaining>>;

/// Places of headers, and the state of each.
type Laid = (HeaderPlaces, Box<[Built]>);

/// A state, and the factor that drawings give it.
type Explaining = (Arc<OuterState>, f64);

/// The outer states of one start: headers, splits, chains, the loose one, then the direct one, which is all that a supply
/// line and few heads have.
struct Fed {
    zone: Arc<Zone>,
    /// Whether it follows more families than the direct one.
    several: bool,
    headers: OnceLock<Laid>,
    cuts: Vec<(Cut, f64)>,
    /// Splits, chains, the loose one, the direct one; of a supply line, one for each combination of outlets fed indoors.
    others: Box<[Built]>,
    /// What a supply line follows instead.
    supplied: Option<Supplied>,
    /// What is drawn of it.
    explained: Option<Explained>,
}

/// Families, in the order of the states.
const HEADER: usize = 0;
const SPLIT: usize = 1;
const CHAIN: usize = 2;
const LOOSE: usize = 3;

/// A state drawn that allows no layout is drawn anew so often; then all are listed. Numerical choice: nearly all allow some.
const TRIES: usize = 32;

/// The same of states that explain too little of what is drawn. Numerical choice: listing costs some hundred states.
const REJECTED: usize = 2_000;

/// The prior of the layouts of one system of a site.
///
/// States and candidate runs are named by address in what is worked out from them: both stay where they are as long as
/// this lives, and so do runs between heads or from valves to heads as long as the [`super::Common`] that made it, unless
/// the pipe may go round an obstacle at a price that depends on the spacing of the zone's heads.
pub struct SystemPrior {
    system: System,
    shared: Arc<Shared>,
    plan: Arc<Plan>,
    feeds: Vec<Feed>,
    /// What a supply line knows beside.
    beside: Option<Beside>,
    /// For each bearing and case, the first one that is the same to this system.
    own: Vec<usize>,
    at: Vec<AtBearing>,
    /// Whether all ends can be reached; where not, index of an obstacle in the way.
    reached: OnceLock<Result<(), Option<usize>>>,
}

impl SystemPrior {
    /// The prior of a system with this plan, of a supply line with what it knows beside. A zone's roots have places among those
    /// that zones share pipes from.
    pub(super) fn new(
        system: System,
        shared: Arc<Shared>,
        plan: Plan,
        starts: Vec<Start>,
        supply: Option<Supply>,
    ) -> Self {
        let is_zone = supply.is_none();
        let beside = supply.map(|supply| Beside::new(supply, &plan.nodes));
        let own = Beside::own(beside.as_ref(), &shared.bearings);
        let feed = |Start { roots, probability }: Start| {
            let place = |node| is_zone.then(|| shared.valve(node));
            let roots = roots.into_iter().map(|node| Root { node, place: place(node) }).collect();
            Feed { roots, probability }
        };
        let feeds = starts.into_iter().map(feed).collect();
        let at = shared.bearings.iter().map(|_| AtBearing::default()).collect();
        Self { system, shared, plan: Arc::new(plan), feeds, beside, own, at, reached: OnceLock::new() }
    }

    /// The system.
    pub fn system(&self) -> &System {
        &self.system
    }

    /// Number of places where it may start.
    pub fn starts(&self) -> usize {
        self.feeds.len()
    }

    /// Whether drawings make some states more probable than others, so that several are built for one that is drawn.
    pub fn has_sketch(&self) -> bool {
        !self.shared.ground.drawings().is_empty()
    }

    /// Indices of its heads in the site, ascending; empty for a supply line.
    pub fn heads(&self) -> &[usize] {
        self.plan.heads()
    }

    /// The first bearing and case at which its states are those of this one, by index.
    pub fn alike(&self, bearing: usize) -> usize {
        self.own[bearing]
    }

    /// Probability of each outer state given the bearing. They sum to one, possible or not.
    pub fn state_probabilities(&self, bearing: usize) -> &[f64] {
        &self.listed(self.own[bearing]).probabilities
    }

    /// One outer state, built at first use; `None` if it allows no layout.
    pub fn state(&self, bearing: usize, state: usize) -> Option<Arc<OuterState>> {
        let bearing = self.own[bearing];
        let first = &self.listed(bearing).first;
        let start = first.partition_point(|first| *first <= state) - 1;
        let fed = &self.fed(bearing)[start];
        fed.state(state - first[start], || self.headers(bearing)).map(|(state, _)| state)
    }

    /// A state by its probability among those that allow a layout; `None` if none does. Other than by listing all, headers
    /// are placed only where one is drawn. Where lines are drawn states are accepted by their factor over the greatest one.
    pub fn sample_state(&self, bearing: usize, rng: &mut impl Rng) -> Option<Arc<OuterState>> {
        let bearing = self.own[bearing];
        let starts: Vec<f64> = self.feeds.iter().map(|feed| feed.probability).collect();
        let greatest = self.fed(bearing).iter().map(Fed::greatest).fold(1.0, f64::max);
        let (mut impossible, mut rejected) = (0, 0);
        while impossible < TRIES && rejected < REJECTED {
            let fed = &self.fed(bearing)[pick(&starts, rng)];
            match fed.draw(|| self.headers(bearing), rng) {
                None => impossible += 1,
                Some((state, likelihood_ratio))
                    if likelihood_ratio >= greatest || rng.random::<f64>() * greatest < likelihood_ratio =>
                {
                    return Some(state);
                }
                Some(_) => rejected += 1,
            }
        }
        listed_state(self.state_probabilities(bearing), |state| self.state(bearing, state), rng)
    }

    /// Whether every end can be reached: if at one bearing, then at all, since the ways round do not turn. Looked at once.
    ///
    /// # Errors
    /// [`Error::NoLayout`]; the name of the obstacle is left to the site.
    pub(super) fn check_reach(&self, place: impl Fn(usize) -> Option<String>) -> Result<(), Error> {
        self.reached.get_or_init(|| self.reach()).map_err(|obstacle| Error::NoLayout {
            system: Unreachable::System(self.system.name.clone()),
            obstacle: obstacle.and_then(place),
        })
    }

    pub(super) fn is_of(&self, shared: &Arc<Shared>) -> bool {
        Arc::ptr_eq(&self.shared, shared)
    }

    fn reach(&self) -> Result<(), Option<usize>> {
        // Nearly always the direct pipes from the first start settle it, at the price of one state.
        let direct = self.fed(0).iter().take(1).any(|fed| fed.direct().is_some());
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

    fn headers(&self, bearing: usize) -> &Headers {
        let Shared { settings, ground, bearings, .. } = &*self.shared;
        let headers = || Headers::new(&self.plan, ground, bearings[bearing].rad, settings);
        self.at[bearing].headers.get_or_init(headers)
    }

    fn fed(&self, bearing: usize) -> &[Fed] {
        self.at[bearing].fed.get_or_init(|| {
            let several = self.plan.kind != Kind::Supply && self.plan.nodes.len() >= SEVERAL_HEADS;
            let case = self.shared.bearings[bearing].case;
            let supplied = || self.beside.as_ref().map(|beside| beside.supplied(case));
            let fed = |feed: &Feed| Fed::new(self.zone(bearing, feed), several, supplied());
            self.feeds.iter().map(fed).collect()
        })
    }

    fn listed(&self, bearing: usize) -> &Listed {
        self.at[bearing].listed.get_or_init(|| {
            let (mut first, mut probabilities) = (Vec::with_capacity(self.feeds.len()), Vec::new());
            for (feed, fed) in self.feeds.iter().zip(self.fed(bearing)) {
                first.push(probabilities.len());
                let headers = fed.places(|| self.headers(bearing));
                fed.add_probabilities(feed.probability, headers, &mut probabilities);
            }
            if self.has_sketch() {
                self.explain(bearing, &first, &mut probabilities);
            }
            Box::new(Listed { first, probabilities })
        })
    }

    /// States that explain the drawings are more probable: all are built for that.
    fn explain(&self, bearing: usize, first: &[usize], probabilities: &mut [f64]) {
        let before: f64 = probabilities.iter().sum();
        let ends = first.iter().skip(1).copied().chain([probabilities.len()]).collect::<Vec<_>>();
        for ((&first, end), fed) in first.iter().zip(ends).zip(self.fed(bearing)) {
            for (state, p) in probabilities[first..end].iter_mut().enumerate() {
                *p *= fed
                    .state(state, || self.headers(bearing))
                    .map_or(1.0, |(_, likelihood_ratio)| likelihood_ratio);
            }
        }
        let after: f64 = probabilities.iter().sum();
        probabilities.iter_mut().for_each(|p| *p *= before / after);
    }
}

impl Fed {
    /// The states of a zone; `several` where it follows more families than the direct one.
    fn new(zone: Zone, several: bool, supplied: Option<Supplied>) -> Self {
        let zone = Arc::new(zone);
        let cuts = if several { split::cuts(&zone) } else { Vec::new() };
        let alone = supplied.as_ref().map_or(1, |supplied| supplied.indoors().len());
        let count = if several { cuts.len() + chain::CHAINS + 2 } else { alone };
        let others = (0..count).map(|_| Built::new()).collect();
        let explained = Explained::new(&zone, several);
        Self { zone, several, headers: OnceLock::new(), cuts, others, supplied, explained }
    }

    /// No state has a greater factor from drawings.
    fn greatest(&self) -> f64 {
        self.explained.as_ref().map_or(1.0, Explained::greatest)
    }

    /// A state with its factor.
    fn explaining(&self, state: OuterState) -> Explaining {
        let likelihood_ratio =
            |explained: &Explained| explained.likelihood_ratio(self.zone.ground().drawings(), &state);
        let likelihood_ratio = self.explained.as_ref().map_or(1.0, likelihood_ratio);
        (Arc::new(state), likelihood_ratio)
    }

    /// Shares of the families.
    fn families(&self) -> [f64; 5] {
        let Settings { header_share, split_share, chain_share, loose_share, .. } = *self.zone.settings();
        let direct = 1.0 - header_share - split_share - chain_share - loose_share;
        if self.several {
            [header_share, split_share, chain_share, loose_share, direct.max(0.0)]
        } else {
            [0., 0., 0., 0., 1.]
        }
    }

    /// The places of its headers with their shares.
    fn places<'h>(&self, headers: impl FnOnce() -> &'h Headers) -> &[(HeaderPlace, f64)] {
        if self.several { &self.laid(headers).0 } else { &[] }
    }

    fn laid<'h>(&self, headers: impl FnOnce() -> &'h Headers) -> &Laid {
        self.headers.get_or_init(|| {
            let places = headers().places(self.zone.valve().at, self.zone.settings());
            let built = places.iter().map(|_| Built::new()).collect();
            (places, built)
        })
    }

    /// Appends the probability of each state.
    fn add_probabilities(&self, of_start: f64, headers: &[(HeaderPlace, f64)], probabilities: &mut Vec<f64>) {
        let [header, split, chain, loose, direct] = self.families().map(|share| of_start * share);
        if self.several {
            probabilities.extend(headers.iter().map(|(_, share)| header * share));
            probabilities.extend(self.cuts.iter().map(|(_, share)| split * share));
            probabilities.extend(std::iter::repeat_n(chain / chain::CHAINS as f64, chain::CHAINS));
            probabilities.push(loose);
        }
        match &self.supplied {
            Some(supplied) => {
                probabilities.extend(supplied.indoors().iter().map(|(_, share)| direct * share))
            }
            None => probabilities.push(direct),
        }
    }

    /// A state by its probability; `None` if the one drawn allows no layout.
    fn draw<'h>(&self, headers: impl FnOnce() -> &'h Headers, rng: &mut impl Rng) -> Option<Explaining> {
        match pick(&self.families(), rng) {
            HEADER => {
                let laid = self.laid(headers);
                self.header(laid, pick_by_share(&laid.0, rng))
            }
            SPLIT => self.other(pick_by_share(&self.cuts, rng)),
            CHAIN => self.other(self.cuts.len() + rng.random_range(0..chain::CHAINS)),
            LOOSE => self.other(self.others.len() - 2),
            _ => match &self.supplied {
                Some(supplied) if supplied.indoors().len() > 1 => {
                    self.other(pick_by_share(supplied.indoors(), rng))
                }
                _ => self.direct(),
            },
        }
    }

    /// A state by its index.
    fn state<'h>(&self, state: usize, headers: impl FnOnce() -> &'h Headers) -> Option<Explaining> {
        if !self.several {
            return self.other(state);
        }
        let laid = self.laid(headers);
        let places = laid.0.len();
        if state < places { self.header(laid, state) } else { self.other(state - places) }
    }

    /// A header state; `None` as well where no place is left for a header.
    fn header(&self, (places, built): &Laid, k: usize) -> Option<Explaining> {
        let place = places.get(k)?.0;
        built[k].get_or_init(|| header::state(&self.zone, place).map(|state| self.explaining(state))).clone()
    }

    fn direct(&self) -> Option<Explaining> {
        self.other(self.others.len() - 1)
    }

    /// A state of the families without headers.
    fn other(&self, k: usize) -> Option<Explaining> {
        let (cuts, direct) = (self.cuts.len(), self.others.len() - 1);
        let build = || match (&self.supplied, k) {
            (Some(supplied), _) => supplied.state(&self.zone, k),
            _ if k == direct => direct::state(&self.zone),
            _ if k + 1 == direct => loose::state(&self.zone),
            _ if k < cuts => split::state(&self.zone, self.cuts[k].0),
            _ => chain::state(&self.zone, (k - cuts) as u64),
        };
        self.others[k].get_or_init(|| build().map(|state| self.explaining(state))).clone()
    }
}

/// One of these by its share.
fn pick_by_share<T>(of: &[(T, f64)], rng: &mut impl Rng) -> usize {
    pick(&of.iter().map(|(_, share)| *share).collect::<Vec<f64>>(), rng)
}
