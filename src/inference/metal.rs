//! Metal lines of a site beside its layouts: sampled first, since they bear on the grid, then joined to the draws that share
//! their bearing.
//!
//! Given the bearing and the case of the supply (which metal lines carry it, python/docs/model.md, 14.8), metal and irrigation are
//! independent: a draw of both is a draw of either at one bearing and case. What probes
//! left clear is weighed over the metal draws, more of which are drawn for that, and as many as there are layouts are kept
//! (systematic resampling: Kitagawa, J. Comput. Graph. Stat. 5 (1996) 1-25). What probes met is weighed over both together
//! (`posterior::MetalFinds`).

use super::convergence::Watched;
use super::options::SampleOptions;
use super::posterior::{DrawnMetal, MetalFinds};
use super::probes;
use crate::class::Class;
use crate::effort::Effort;
use crate::error::Error;
use crate::layout::MetalLine;
use crate::mcmc::diagnostics::{Checked, Failure, Kind};
use crate::metal::{
    Evidence, Law, MetalChains, MetalDraw, MetalOptions, Model, Summary, supply_cases, systematic,
};
use crate::model::{Bearing, grid_bearings};
use crate::monitor::Monitor;
use crate::rng;
use crate::site::{MetalSupply, Site};
use crate::strike::{Findings, Observation};
use rand::RngExt;
use std::sync::Arc;

/// What layouts keep of metal lines: what they rest on and how far they can be relied on. The lines are in the draws.
pub struct Metal {
    pub(super) model: Model,
    /// Numbers of each explanation, by chain, and what the convergence checks say of them.
    pub(super) watched: Vec<Watched>,
    pub(super) checked: Checked,
    /// Whether some find may have met one of its lines: then draws of layouts were made with metal.
    pub(super) met: bool,
}

/// Metal lines as sampled, before they are joined to layouts.
pub(super) struct SampledMetal {
    model: Model,
    chains: MetalChains,
    /// Draws kept, with what probes left clear.
    draws: Vec<MetalDraw>,
    /// What these say of the supply, where any does.
    supply: Option<Arc<MetalSupply>>,
    /// The case of each of these draws.
    cases: Vec<usize>,
    /// Effective number of independent draws after the clear probes, of as many as were drawn.
    effective: f64,
    drawn: usize,
    seed: u64,
}

/// Draws of metal for each layout where probes are weighed over them. Numerical choice.
const MORE: usize = 4;

/// Streams of random numbers of metal begin here; see `sampling` for those of layouts.
pub(super) const STREAMS: u64 = 1 << 48;

/// Share of a bearing that no draw of metal has: chains are finite.
const UNSEEN: f64 = 1e-5;

/// Work of a sweep, for each item of evidence: about as measured.
const SWEPT_ITEM: u64 = 3_000;

impl Metal {
    /// Whether the chains passed their checks.
    pub fn checked(&self) -> &Checked {
        &self.checked
    }

    /// Numbers of each explanation, chain after chain, that the checks judge.
    pub fn watched(&self) -> &[Watched] {
        &self.watched
    }

    /// Whether some find may have met one of its lines: then draws of layouts hold metal already.
    pub fn is_met(&self) -> bool {
        self.met
    }

    /// The lines, flag by flag and line by line, over the draws.
    pub fn summary(&self, draws: &[&[Arc<MetalLine>]]) -> Summary {
        Summary::new(&self.model, draws)
    }

    /// What it rests on.
    pub fn evidence(&self) -> &Evidence {
        &self.model.evidence
    }
}

/// What a site tells of metal lines; `None` where nothing on it tells of any.
pub(super) fn model_of(site: &Site) -> Option<Model> {
    if site.flags.is_empty() && site.marks.is_empty() && site.services.is_empty() {
        return None;
    }
    let bare = site.with_bearing_evidence(Vec::new()).with_metal_supply(None);
    let bearings: Vec<(f64, f64)> = grid_bearings(&bare).iter().map(|b| (b.rad, b.probability)).collect();
    Evidence::of(site, &bearings, Law::of(&site.settings)).map(Model::new)
}

impl SampledMetal {
    /// Samples the metal lines of a site; `None` where nothing on it tells of any.
    ///
    /// # Errors
    /// [`Error::Interrupted`].
    pub(super) fn sample(
        site: &Site,
        options: &SampleOptions,
        effort: &Effort,
        monitor: &dyn Monitor,
    ) -> Result<Option<Self>, Error> {
        let Some(model) = model_of(site) else { return Ok(None) };
        let items = model.evidence.items.len() as u64;
        let metal = MetalOptions { seed: options.seed, ..MetalOptions::default() };
        let chains = MetalChains::run(&model, &metal, monitor).ok_or(Error::Interrupted)?;
        effort.spend(SWEPT_ITEM * items * (chains.kept * metal.chains) as u64);
        let clear: Vec<Observation> =
            site.probes.iter().filter(|probe| !probe.found).map(probes::look).collect();
        let found = site.probes.iter().any(|probe| probe.found);
        let kept = options.draws * if found { MORE } else { 1 };
        let drawn = options.draws * if site.probes.is_empty() { 1 } else { MORE };
        let draws = chains.draws(&model, drawn, options.seed);
        let weights: Vec<f64> = draws.iter().map(|draw| missed(draw, &clear)).collect();
        let (sum, squares) = weights.iter().fold((0.0, 0.0), |(s, q), w| (s + w, q + w * w));
        let effective = if squares > 0.0 { sum * sum / squares } else { 0.0 };
        let draws = if clear.is_empty() || sum == 0.0 {
            draws
        } else {
            resampled(&draws, &weights, kept, options.seed)
                .into_iter()
                .map(|draw| passed_under(draw, &clear))
                .collect()
        };
        let told = supply_cases(&model.evidence, site, &draws, options.seed);
        let (supply, cases) = match told {
            Some((supply, cases)) => (Some(Arc::new(supply)), cases),
            None => (None, vec![0; draws.len()]),
        };
        Ok(Some(Self { model, chains, draws, supply, cases, effective, drawn, seed: options.seed }))
    }

    /// What it says of the grid's bearing: factors on its probabilities before.
    pub(super) fn bearing_evidence(&self) -> Vec<(f64, f64)> {
        let before = &self.model.evidence.bearings;
        let mut share = vec![0.0; before.len()];
        for state in &self.chains.states {
            share[state.shared.bearing] += 1.0 / self.chains.states.len() as f64;
        }
        before.iter().zip(share).map(|(b, share)| (b.0, (share + UNSEEN) / (b.1 + UNSEEN))).collect()
    }

    /// What it says of the supply.
    pub(super) fn supply(&self) -> Option<Arc<MetalSupply>> {
        self.supply.clone()
    }

    /// The draws that go with a bearing of the grid and a case of the supply: those of the case at the nearest bearing that any
    /// has.
    pub(super) fn at_bearing(&self, at: &Bearing) -> Vec<usize> {
        let gap = |draw: &MetalDraw| (self.model.evidence.bearings[draw.bearing].0 - at.rad).abs();
        let least = self.draws.iter().map(gap).fold(f64::INFINITY, f64::min);
        let goes_with = |k: &usize| gap(&self.draws[*k]) <= least + 1e-9 && self.cases[*k] == at.case;
        (0..self.draws.len()).filter(goes_with).collect()
    }

    /// Whether something on the site names this class.
    pub(super) fn is_named(&self, class: Class) -> bool {
        self.model.evidence.says(class)
    }

    /// What the user must know of it.
    pub(super) fn warnings(&self) -> Vec<String> {
        let mut warnings = Vec::new();
        if !self.chains.checked.passed() {
            let failed = self.chains.checked.failures.iter().map(Failure::to_string).collect::<Vec<_>>();
            warnings.push(format!(
                "Metal lines: chains over which flag is on which line do not agree ({}); chances of metal are rougher than they \
                 look.",
                failed.join("; ")
            ));
        }
        if self.effective < ENOUGH {
            warnings.push(format!(
                "Metal lines: clear probes contradict what flags and marks tell of; {:.0} of {} draws agree with both. Check \
                 flags, marks and probes.",
                self.effective, self.drawn
            ));
        }
        warnings
    }

    /// Draws kept, with what probes left clear.
    pub(super) fn draws(&self) -> &[MetalDraw] {
        &self.draws
    }

    /// Its lines as what finds met, for layouts with these bearings; `None` where no find can have met any.
    pub(super) fn met(&self, findings: &Findings, bearings: &[Bearing]) -> Option<Arc<MetalFinds>> {
        if findings.found.is_empty() {
            return None;
        }
        let drawn =
            |draw: &MetalDraw| DrawnMetal { lines: draw.lines.clone().into(), chain: draw.chain as u8 };
        let at = bearings.iter().map(|bearing| self.at_bearing(bearing)).collect();
        MetalFinds::new(findings, self.draws.iter().map(drawn).collect(), at).map(Arc::new)
    }

    /// Whether some find may have met one of its lines: then draws of layouts hold metal already.
    pub(super) fn is_met(&self, findings: &Findings) -> bool {
        let lines = || self.draws.iter().flat_map(|draw| &draw.lines);
        findings.found.iter().any(|find| lines().any(|line| find.look.meets_drawn(line) > 0.0))
    }

    /// What layouts keep of it.
    pub(super) fn kept(self, findings: &Findings) -> Metal {
        let met = self.is_met(findings);
        let MetalChains { watched, checked, .. } = self.chains;
        let watched = watched.into_iter().map(|(name, chains)| Watched { name, kind: Kind::Scalar, chains });
        Metal { watched: watched.collect(), model: self.model, checked, met }
    }

    /// What the user must know where finds left so many effective draws of metal.
    pub(super) fn thinned(&self, effective: f64) -> Option<String> {
        (effective < ENOUGH.min(0.5 * self.draws.len() as f64)).then(|| {
            format!(
                "Metal lines: what probes met is hardly told by flags, marks and services; {effective:.0} draws of metal agree \
                 with both. Check flags, marks and probes."
            )
        })
    }

    /// Seed of the draws.
    pub(super) fn seed(&self) -> u64 {
        self.seed
    }
}

/// Fewer effective draws of metal than this are told of.
const ENOUGH: f64 = 100.0;

/// Chance that clear probes miss every line of a draw.
fn missed(draw: &MetalDraw, clear: &[Observation]) -> f64 {
    let line = |line: &Arc<MetalLine>| clear.iter().map(|look| 1.0 - look.meets_drawn(line)).product::<f64>();
    draw.lines.iter().map(line).product()
}

/// Lines that pass under a clear probe lie as deep as they were drawn: their draws were weighed by it.
fn passed_under(draw: MetalDraw, clear: &[Observation]) -> MetalDraw {
    let passes = |line: &MetalLine| clear.iter().any(|look| look.meets_at_any_cover(line) > 0.0);
    let known = |line: &Arc<MetalLine>| if passes(line) { Arc::new(line.as_drawn()) } else { line.clone() };
    MetalDraw { lines: draw.lines.iter().map(known).collect(), ..draw }
}

fn resampled(draws: &[MetalDraw], weights: &[f64], count: usize, seed: u64) -> Vec<MetalDraw> {
    let at = rng::stream(seed, STREAMS + 1).random::<f64>();
    systematic(weights, count, at).into_iter().map(|k| draws[k].clone()).collect()
}

#[cfg(test)]
mod tests {
    use super::super::{Reported, SampleOptions, sample_layouts};
    use crate::mcmc::diagnostics::Failure;
    use crate::monitor::Unwatched;
    use crate::site::io;
    use serde_json::json;
    use std::sync::Arc;

    /// Planted fault: only chains over zones are asked, and these there are not.
    #[test]
    fn what_chains_of_metal_do_not_agree_on_is_not_relied_on() {
        let flags: Vec<_> = (0..5).map(|k| json!({"x": 1.0 + f64::from(k), "y": 2.0})).collect();
        let document = json!({
            "format": "underturf-site/2", "units": "m", "boundary": [[0, 0], [9, 0], [9, 4], [0, 4]],
            "flags": flags,
        });
        let site = Arc::new(io::from_value(document).expect("a sound document"));
        let options = SampleOptions { draws: 50, seed: 1 };
        let mut layouts = sample_layouts(&site, &options, &Unwatched).expect("layouts");
        let reported = [Reported { name: "a dig".to_owned(), p: 0.5, mcse: 0.001 }];
        layouts.metal.as_mut().expect("flags").checked.failures.clear();
        assert!(layouts.passed() && layouts.rely(&reported).expect("reported") == [true]);
        let failure = Failure::EssBulk { quantity: "legs".to_owned(), value: 3.0, limit: 400.0 };
        layouts.metal.as_mut().expect("flags").checked.failures.push(failure);
        assert!(!layouts.passed() && layouts.rely(&reported).expect("reported") == [false]);
    }
}
