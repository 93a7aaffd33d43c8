//! Sampled layouts of a site: the draws, what they rest on and how far they can be relied on.

use super::convergence::{Convergence, Reported};
use super::known_zones::ZoningModel;
use super::metal::Metal;
use super::notes;
use super::options::SampleOptions;
use super::probes;
use super::unknown_zones::UnknownZones;
use crate::class::Class;
use crate::error::Error;
use crate::layout::{Draw, OuterPrior, Pieces, System};
use crate::model::Bearing;
use crate::site::{Probe, Site};
use crate::strike::{Findings, RunIndex, probability};
use std::sync::Arc;

/// Ways to assign heads below this are drawn from, but not summed over in exact forms. Numerical choice: the example `green`
/// has ten ways, and one above it.
const WORTH_A_SUM: f64 = 0.01;

/// Sampled layouts of a site.
pub struct Layouts {
    pub(super) site: Arc<Site>,
    pub(super) models: Vec<ZoningModel>,
    pub(super) seed: u64,
    pub(super) draws: Vec<Draw>,
    pub(super) pieces: Pieces,
    pub(super) findings: Findings,
    pub(super) effective: f64,
    pub(super) bearings: Vec<Bearing>,
    pub(super) assessed: [bool; Class::ALL.len()],
    pub(super) warnings: Vec<String>,
    pub(super) zonings: Vec<Vec<usize>>,
    pub(super) zoning_shares: Vec<f64>,
    pub(super) convergence: Option<Convergence>,
    pub(super) effort: u64,
    pub(super) work: u64,
    pub(super) metal: Option<Metal>,
}

impl Layouts {
    pub(super) fn over_zonings(
        site: &Arc<Site>,
        options: &SampleOptions,
        findings: Findings,
        effort: u64,
        open: UnknownZones,
    ) -> Self {
        let mut warnings: Vec<String> = open.convergence.warning().into_iter().collect();
        warnings.extend(notes::warnings(site));
        warnings.extend(open.warnings);
        let effective = open.draws.len() as f64 * open.convergence.efficiency();
        let before = open.prior.grid_bearings().iter();
        let posterior = |(bearing, share): (&Bearing, f64)| Bearing { probability: share, ..*bearing };
        Self {
            bearings: before.zip(open.bearings).map(posterior).collect(),
            assessed: assessed(open.prior.systems(), &open.draws),
            site: site.clone(),
            models: vec![ZoningModel { prior: open.prior, zone_of: Vec::new(), probability: 1.0 }],
            seed: options.seed,
            draws: open.draws,
            pieces: Pieces::pack(open.pieces),
            findings,
            effective,
            warnings,
            zoning_shares: vec![1.0 / open.zone_of.len() as f64; open.zone_of.len()],
            zonings: open.zone_of,
            convergence: Some(open.convergence),
            effort,
            work: 0,
            metal: None,
        }
    }

    /// Standard error of the mean of these values, one for each draw, over that of independent ones: by the values' own course
    /// where they come from chains, by what all draws are worth elsewhere.
    pub fn widening(&self, values: &[f64]) -> f64 {
        let n = values.len() as f64;
        let overall = (self.draws.len() as f64 / self.effective).max(1.0).sqrt();
        let Some(error) = self.convergence.as_ref().and_then(|convergence| convergence.mcse(values)) else {
            return overall;
        };
        let mean = values.iter().sum::<f64>() / n;
        let squares: f64 = values.iter().map(|value| (value - mean).powi(2)).sum();
        (error / (squares / (n * (n - 1.0))).sqrt()).max(1.0)
    }

    /// Whether chains passed every convergence check, those over zones and those over metal lines, where there are any.
    pub fn passed(&self) -> bool {
        self.convergence.as_ref().is_none_or(|convergence| convergence.passed)
            && self.metal.as_ref().is_none_or(|metal| metal.checked().passed())
    }

    /// Whether each of these chances can be relied on; always where draws are independent, never where chains over metal
    /// lines did not pass.
    ///
    /// # Errors
    /// As [`Convergence::rely`].
    pub fn rely(&self, reported: &[Reported]) -> Result<Vec<bool>, Error> {
        let zones = match &self.convergence {
            Some(convergence) => convergence.rely(reported)?,
            None => vec![true; reported.len()],
        };
        let passed = self.passed();
        Ok(zones.into_iter().map(|reliable| reliable && passed).collect())
    }

    /// Most work that sampling them was allowed, and that each question about them is which has such a limit.
    pub fn effort(&self) -> u64 {
        self.effort
    }

    /// Work that sampling them took, in the units of [`Effort`](crate::effort::Effort): the same for any number of threads.
    pub fn work(&self) -> u64 {
        self.work
    }

    /// How chains over zonings went, where zones are not settled; `None` where draws are independent.
    pub fn convergence(&self) -> Option<&Convergence> {
        self.convergence.as_ref()
    }

    /// The zone of every head in each draw where zones are sampled; else in each zoning that draws came from, the most
    /// probable before any probe first.
    pub fn zonings(&self) -> &[Vec<usize>] {
        &self.zonings
    }

    /// Share of each of these zonings, with what probes found; they sum to one.
    pub fn zoning_shares(&self) -> &[f64] {
        &self.zoning_shares
    }

    /// The site.
    pub fn site(&self) -> &Site {
        &self.site
    }

    /// The site, shared.
    pub fn shared_site(&self) -> &Arc<Site> {
        &self.site
    }

    /// The prior that most layouts were drawn from: that of the most probable zones of the heads. Systems, bearings and
    /// unknown lines are the same in all.
    pub fn prior(&self) -> &dyn OuterPrior {
        &self.models[0].prior
    }

    /// The priors that layouts were drawn from, one for each way to assign heads to zones, with their probabilities before
    /// any probe. Where nothing was probed ways below a hundredth are left out, and the others share their probability: exact
    /// forms pay for each.
    pub fn priors(&self) -> Vec<(f64, &dyn OuterPrior)> {
        let least = if self.findings.is_empty() { WORTH_A_SUM } else { 0.0 };
        let all = || self.models.iter().filter(|model| model.probability >= least);
        let total: f64 = all().map(|model| model.probability).sum();
        all().map(|model| (model.probability / total, &model.prior as &dyn OuterPrior)).collect()
    }

    /// Grid bearings with their probabilities given all evidence, probes included.
    pub fn bearings(&self) -> &[Bearing] {
        &self.bearings
    }

    /// The same bearings with their probabilities before any probe.
    pub fn bearings_before_probes(&self) -> Vec<Bearing> {
        Bearing::merged(self.models[0].prior.grid_bearings())
    }

    /// Chance of the result of one more probe, given everything so far: of a find, that a line is met which answers to what
    /// was noted of it, or that the find is false.
    pub fn chance_of_probe(&self, probe: &Probe) -> f64 {
        let (look, false_find) = (probes::look(probe), probes::false_find(probe));
        let met = RunIndex::new(&self.draws).strike(self.prior(), &look, &self.findings, &self.assessed).p;
        probability(if probe.found { 1.0 - (1.0 - false_find) * (1.0 - met) } else { 1.0 - met })
    }

    /// The same of a find, false finds and unknown lines apart: what the known systems of lines give for it. Of a clear probe
    /// it is its chance.
    pub fn chance_by_known_lines(&self, probe: &Probe) -> f64 {
        if !probe.found {
            return self.chance_of_probe(probe);
        }
        let index = RunIndex::new(&self.draws);
        let met = index.strike(self.prior(), &probes::look(probe), &self.findings, &self.assessed);
        let unknown = met.by_class[Class::Unknown as usize].map_or(0.0, |chance| chance.p);
        probability(1.0 - (1.0 - met.p) / (1.0 - unknown).max(f64::MIN_POSITIVE))
    }

    /// The seed.
    pub fn seed(&self) -> u64 {
        self.seed
    }

    /// The draws as outer states and trees.
    pub fn draws(&self) -> &[Draw] {
        &self.draws
    }

    /// The draws as straight pieces.
    pub fn pieces(&self) -> &Pieces {
        &self.pieces
    }

    /// The systems of lines, in the order of [`Piece::system`](crate::layout::Piece::system).
    pub fn systems(&self) -> &[System] {
        self.prior().systems()
    }

    /// Names of the systems, in the order of [`Piece::system`](crate::layout::Piece::system), and of what belongs to none.
    pub fn system_names(&self) -> Vec<String> {
        let known = self.systems().iter().map(|system| system.name.clone());
        known.chain(["unknown line".to_owned(), "metal line".to_owned()]).collect()
    }

    /// What flags, paint and known ends tell of metal lines; `None` where nothing on the site does.
    pub fn metal(&self) -> Option<&Metal> {
        self.metal.as_ref()
    }

    /// What probes found.
    pub fn findings(&self) -> &Findings {
        &self.findings
    }

    /// Effective number of independent draws: all of them before any probe, fewer where several share an outer state.
    pub fn effective_draws(&self) -> f64 {
        self.effective
    }

    /// For each class, in the order of [`Class::ALL`], whether the document holds evidence of it.
    pub fn assessed(&self) -> &[bool; Class::ALL.len()] {
        &self.assessed
    }

    /// What the user must know: evidence that was not used or is hard to believe, and draws that are worth less than they
    /// look.
    pub fn warnings(&self) -> &[String] {
        &self.warnings
    }
}

/// A class is assessed where the document holds evidence of it; unknown lines always are.
pub(super) fn assessed(systems: &[System], draws: &[Draw]) -> [bool; Class::ALL.len()] {
    let mut assessed = [false; Class::ALL.len()];
    assessed[Class::Unknown as usize] = true;
    for (index, system) in systems.iter().enumerate() {
        // A valve whose heads nobody saw is no evidence of where its laterals lie, nor an outlet that its building feeds of
        // where potable lines do.
        let bare = |draw: &Draw| draw.trees[index].runs.is_empty() && draw.trees[index].lines.is_empty();
        if !draws.iter().all(bare) {
            assessed[system.class as usize] = true;
        }
        let wired = |draw: &Draw| !draw.trees[index].wired.is_empty();
        assessed[Class::ControlWire as usize] |= draws.iter().any(wired);
    }
    assessed
}
