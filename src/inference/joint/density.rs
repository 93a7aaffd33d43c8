//! The joint posterior itself: what a state is worth, and the layout that goes with it.

use super::state::{Layout, State};
use super::system_priors::SystemPriors;
use crate::Error;
use crate::effort::Effort;
use crate::inference::posterior::{FindingsLikelihood, GivenRest, HeldStates};
use crate::inference::proposals::Proposals;
use crate::layout::{Draw, OuterPrior, UnmappedLines, pick};
use crate::model::{Common, LayoutPrior, Psi, ZoningPrior};
use crate::rng::Stream;
use crate::site::Site;
use crate::strike::Findings;
use std::sync::Arc;

/// Exponent of the prior of labels in the reference, trees and notes apart. Numerical choice: labels walk freely at it, and
/// the barrier from there is half of that from nothing.
pub(super) const EASY: f64 = 0.4;

/// Price of holding a piece beside another.
const PSI_PAIR: u64 = 25;

/// Exponent of the prior of labels at an inverse temperature.
pub(super) fn prior_beta(beta: f64) -> f64 {
    EASY + (1.0 - EASY) * beta
}

/// The joint posterior of a site.
pub struct Joint<'a> {
    pub(super) law: &'a ZoningPrior,
    pub(super) moves: Proposals<'a>,
    pub(super) laws: SystemPriors,
    pub(super) eye: FindingsLikelihood<'a>,
    pub(super) psi: Psi,
    /// Outer states held for each system.
    pub(super) held: usize,
    pub(super) effort: Effort,
}

impl<'a> Joint<'a> {
    /// The posterior of a site given what probes found.
    pub fn new(
        site: &Site,
        law: &'a ZoningPrior,
        common: Arc<Common>,
        findings: &'a Findings,
        unmapped: &UnmappedLines,
    ) -> Self {
        let at: Vec<_> = site.heads.iter().map(|head| head.at).collect();
        let moves = Proposals::new(law, &at);
        Self {
            law,
            moves,
            laws: SystemPriors::new(common),
            eye: FindingsLikelihood::new(findings, unmapped),
            psi: Psi::new(&site.settings),
            held: 1,
            effort: Effort::unlimited(),
        }
    }

    /// The same, its work counted there.
    pub fn counting(self, effort: &Effort) -> Self {
        let unmapped = *self.laws.unmapped_lines();
        Self { eye: self.eye.counting(effort.clone(), &unmapped), effort: effort.clone(), ..self }
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
            self.eye.clear_given_rest(law.systems(), law.unmapped_lines(), &state.held, place)
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
    pub fn law(&self, state: &State) -> Result<LayoutPrior, Error> {
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
    pub(super) fn lay(
        &self,
        law: &LayoutPrior,
        bearing: usize,
        held: &[HeldStates],
        rng: &mut Stream,
    ) -> Option<Layout> {
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
