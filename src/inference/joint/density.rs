//! The joint posterior itself: what a state is worth, and the layout that goes with it.

use super::state::{Layout, State};
use super::system_priors::SystemPriors;
use crate::effort::Effort;
use crate::error::{Error, Unreachable};
use crate::inference::posterior::{FindingsLikelihood, GivenRest, MetalFinds, SystemPool};
use crate::inference::proposals::Proposals;
use crate::layout::{Draw, OuterPrior, UnmappedLines, pick};
use crate::model::{Common, LayoutPrior, Psi, ZoningPrior};
use crate::rng::Stream;
use crate::site::Site;
use crate::strike::Findings;
use std::sync::Arc;

/// Exponent of the zoning prior in the reference, trees and notes apart. Numerical choice: zonings walk freely at it, and
/// the barrier from there is half of that from nothing.
pub(super) const EASY: f64 = 0.4;

/// Price of comparing a piece with another.
const PSI_PAIR: u64 = 25;

/// Exponent of the zoning prior at an inverse temperature.
pub(super) fn prior_beta(beta: f64) -> f64 {
    EASY + (1.0 - EASY) * beta
}

/// The joint posterior of a site.
pub struct Joint<'a> {
    pub(super) zoning_prior: &'a ZoningPrior,
    pub(super) proposals: Proposals<'a>,
    pub(super) system_priors: SystemPriors,
    pub(super) findings: FindingsLikelihood<'a>,
    pub(super) psi: Psi,
    /// Outer states in the pool of each system.
    pub(super) pool_size: usize,
    pub(super) effort: Effort,
}

impl<'a> Joint<'a> {
    /// The posterior of a site given what probes found.
    pub fn new(
        site: &Site,
        zoning_prior: &'a ZoningPrior,
        common: Arc<Common>,
        findings: &'a Findings,
        unmapped: &UnmappedLines,
    ) -> Self {
        let at: Vec<_> = site.heads.iter().map(|head| head.at).collect();
        let proposals = Proposals::new(zoning_prior, &at);
        Self {
            zoning_prior,
            proposals,
            system_priors: SystemPriors::new(common),
            findings: FindingsLikelihood::new(findings, unmapped),
            psi: Psi::new(&site.settings),
            pool_size: 1,
            effort: Effort::unlimited(),
        }
    }

    /// The same where finds may have met metal lines.
    pub fn with_metal(self, metal: Option<Arc<MetalFinds>>) -> Self {
        let bearings = self.system_priors.bearings().len();
        Self { findings: self.findings.with_metal(metal, bearings), ..self }
    }

    /// The same, its work counted there.
    pub fn counting(self, effort: &Effort) -> Self {
        let unmapped = *self.system_priors.unmapped_lines();
        Self { findings: self.findings.counting(effort.clone(), &unmapped), effort: effort.clone(), ..self }
    }

    /// Outer states in the pool of each system.
    pub fn pool_size(&self) -> usize {
        self.pool_size
    }

    /// Lines drawn so far whose attributes do not answer to what was seen.
    pub fn unanswered(&self) -> usize {
        self.findings.unanswered()
    }

    /// Chance of a find, or of a clear probe, given everything else, from sampled states.
    pub fn chance_given_rest(&self, states: &[&State], found: bool, place: usize) -> f64 {
        let given = |state: &State| -> Option<GivenRest> {
            if found {
                return self.findings.find_given_rest(state.bearing, &state.pools, place);
            }
            let prior = self.system_priors.assemble(&state.zoning).ok()?;
            self.findings.clear_given_rest(state.bearing, prior.systems(), &state.pools, place)
        };
        let given = states.iter().filter_map(|state| given(state));
        given.fold(GivenRest::default(), |sum, one| sum.plus(1.0, one)).chance()
    }

    /// The prior of layouts of a state's zones.
    ///
    /// # Errors
    /// [`Error::NoLayout`] if some head cannot be reached.
    pub fn prior(&self, state: &State) -> Result<LayoutPrior, Error> {
        self.system_priors.assemble(&state.zoning)
    }

    /// A layout of a state. Where psi is not one it is the state's own, and `rng` is not used.
    ///
    /// # Errors
    /// [`Error::NoLayout`] if some head cannot be reached.
    pub fn layout(&self, state: &State, rng: &mut Stream) -> Result<Layout, Error> {
        let layout = match &state.layout {
            Some(layout) => Some(layout.clone()),
            None => self.lay(&self.prior(state)?, state.bearing, &state.pools, rng),
        };
        layout.ok_or(Error::NoLayout { system: Unreachable::Site, obstacle: None })
    }

    /// Trees and run attributes from their prior given everything else.
    pub(super) fn lay(
        &self,
        prior: &LayoutPrior,
        bearing: usize,
        pools: &[SystemPool],
        rng: &mut Stream,
    ) -> Option<Layout> {
        let draw = if self.findings.is_empty() {
            Draw::sample_at(prior, pick(self.system_priors.bearings(), rng), rng)
        } else {
            self.findings.draw(prior, bearing, pools, rng)
        }?;
        let pieces = draw.pieces(prior, rng);
        if !self.psi.is_one() {
            self.effort.spend(PSI_PAIR * (pieces.len() as u64).pow(2)); // every piece beside every other
        }
        let log_psi = if self.psi.is_one() { 0.0 } else { self.psi.log(&draw, &pieces) };
        Some(Layout { draw, pieces, log_psi })
    }
}
