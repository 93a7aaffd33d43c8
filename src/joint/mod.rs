//! One posterior over labels, bearing and outer states where zones are not known: what is sampled, and how.
//!
//! A state holds a labelling, a grid bearing and, where probes were dug, one outer state for each system; trees and marks
//! are summed over. Its density is the label law (`prior::LabelLaw`) times the law of bearings and outer states times the
//! chance of all that probes saw. The reference of tempering is what the weighted trees of the zones, labels and station
//! tests say, and ways to valves, flows and kinds in part; their rest, the probes and psi come in with beta. Where psi is not
//! one a state holds a whole layout, since psi looks at that.

mod kernel;
mod laws;
mod state;

pub use laws::Laws;
pub use state::State;

use crate::Error;
use crate::effort::Effort;
use crate::evidence::Site;
use crate::forest::Scratch;
use crate::layout::{Draw, Floor, OuterLaw, Piece, pick};
use crate::moves::{Moves, Zoning};
use crate::posterior::{Eye, GivenRest, Held};
use crate::prior::{Common, LabelLaw, Law, Psi};
use crate::rng::Stream;
use crate::strike::Findings;
use crate::temper::{Counts, Target};
use state::spread;
use std::sync::Arc;

/// Exponent of the prior of labels in the reference, trees and notes apart. Numerical choice: labels walk freely at it, and
/// the barrier from there is half of that from nothing.
const EASY: f64 = 0.4;

/// Squared relative error of the estimated chance of what was seen at which sampling is cheapest: 1.7 squared where, as here,
/// proposals are far from perfect (Doucet, Pitt, Deligiannidis and Kohn 2015, from memory).
const WORTH: f64 = 2.9;

/// Outer states held for each system, at most, and times that they are held anew to see how many are. Numerical choices.
const MOST_HELD: usize = 8;
const TRIED: usize = 48;

/// Price of holding a piece beside another.
const PSI_PAIR: u64 = 25;

/// Exponent of the prior of labels at an inverse temperature.
fn prior_beta(beta: f64) -> f64 {
    EASY + (1.0 - EASY) * beta
}

/// The joint posterior of a site.
pub struct Joint<'a> {
    law: &'a LabelLaw,
    moves: Moves<'a>,
    laws: Laws,
    eye: Eye<'a>,
    psi: Psi,
    /// Outer states held for each system.
    held: usize,
    effort: Effort,
}

impl<'a> Joint<'a> {
    /// The posterior of a site given what probes found.
    pub fn new(
        site: &Site,
        law: &'a LabelLaw,
        common: Arc<Common>,
        findings: &'a Findings,
        floor: &Floor,
    ) -> Self {
        let at: Vec<_> = site.heads.iter().map(|head| head.at).collect();
        let moves = Moves::new(law, &at);
        Self {
            law,
            moves,
            laws: Laws::new(common),
            eye: Eye::new(findings, floor),
            psi: Psi::new(&site.settings),
            held: 1,
            effort: Effort::unlimited(),
        }
    }

    /// The same, its work counted there.
    pub fn counting(self, effort: &Effort) -> Self {
        let floor = *self.laws.floor();
        Self { eye: self.eye.counting(effort.clone(), &floor), effort: effort.clone(), ..self }
    }

    /// The same posterior, its states holding so many outer states for each system as sampling is cheapest with: the more the
    /// chance of what was seen differs between outer states, the more are worth their price. At each of these states of it,
    /// outer states are held anew and the squared relative error of the chance of one for each system is taken; as many are
    /// held as bring its mean down to 2.9 (`WORTH`, which tells where the figure is from).
    pub fn with_pools(mut self, states: &[&State], rng: &mut Stream) -> Self {
        self.held = 1;
        let spread = |state: &&State| spread(&self, state, rng);
        let spreads: Vec<f64> = states.iter().filter_map(spread).collect();
        let mean = spreads.iter().sum::<f64>() / spreads.len().max(1) as f64;
        self.held = ((mean / WORTH).ceil() as usize).clamp(1, MOST_HELD);
        self
    }

    /// Outer states held for each system.
    pub fn held(&self) -> usize {
        self.held
    }

    /// Lines drawn so far whose marks do not answer to what was seen.
    pub fn unanswered(&self) -> usize {
        self.eye.unanswered()
    }

    /// Chance of a find, or of a clear probe, given everything else, from sampled states.
    pub fn chance_given_rest(&self, states: &[&State], found: bool, place: usize) -> f64 {
        let given = |state: &State| -> Option<GivenRest> {
            if found {
                return self.eye.find_given_rest(state.held.iter(), place);
            }
            let law = self.laws.assemble(&state.zoning).ok()?;
            self.eye.clear_given_rest(law.systems(), law.floor(), &state.held, place)
        };
        let zero = GivenRest { rest: 0.0, with: 0.0 };
        let sum = states
            .iter()
            .filter_map(|state| given(state))
            .fold(zero, |sum, one| GivenRest { rest: sum.rest + one.rest, with: sum.with + one.with });
        sum.chance()
    }

    /// The law of a state's zones.
    ///
    /// # Errors
    /// [`Error::NoLayout`] if some head cannot be reached.
    pub fn law(&self, state: &State) -> Result<Law, Error> {
        self.laws.assemble(&state.zoning)
    }

    /// A layout of a state. Where psi is not one it is the state's own, and `rng` is not asked.
    ///
    /// # Errors
    /// [`Error::NoLayout`] if some head cannot be reached.
    pub fn layout(&self, state: &State, rng: &mut Stream) -> Result<Layout, Error> {
        let layout = match &state.layout {
            Some(layout) => Some(layout.clone()),
            None => self.lay(&self.law(state)?, state.bearing, &state.held, rng),
        };
        layout.ok_or_else(|| Error::NoLayout { system: "the site".to_owned(), obstacle: None })
    }

    /// Trees and marks from their law given everything else.
    fn lay(&self, law: &Law, bearing: usize, held: &[Held], rng: &mut Stream) -> Option<Layout> {
        let draw = if self.eye.is_closed() {
            Draw::sample_at(law, pick(self.laws.bearings(), rng), rng)
        } else {
            self.eye.draw(law, bearing, held, rng)
        }?;
        let pieces = draw.pieces(law, rng);
        if !self.psi.is_one() {
            self.effort.spend(PSI_PAIR * (pieces.len() as u64).pow(2)); // every piece beside every other
        }
        let log_psi = if self.psi.is_one() { 0.0 } else { self.psi.log(&draw, &pieces) };
        Some(Layout { draw, pieces, log_psi })
    }
}

/// One layout of a state.
#[derive(Clone)]
pub struct Layout {
    /// Outer states and trees.
    pub draw: Draw,
    /// Its straight pieces.
    pub pieces: Vec<Piece>,
    /// Log of psi.
    pub log_psi: f64,
}

impl Target for Joint<'_> {
    type State = State;

    fn reference(&self, rng: &mut Stream) -> State {
        let zoning = Zoning::start(self.law, &mut Scratch::default(), rng);
        State::start(self, zoning, rng)
    }

    fn independent(&self) -> bool {
        false
    }

    fn energy(&self, state: &State) -> f64 {
        (1.0 - EASY) * state.zoning.log_prior + state.log_chance + state.log_psi()
    }

    fn explore(&self, state: &mut State, beta: f64, rng: &mut Stream, counts: &mut Counts) {
        kernel::sweep(self, state, beta, rng, counts);
    }

    fn is_spent(&self) -> bool {
        self.effort.is_spent()
    }
}
