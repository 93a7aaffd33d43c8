//! Metal lines of a site beside its layouts: sampled first, since they bear on the grid, then joined to the draws that share
//! their bearing.
//!
//! Given the bearing, metal and irrigation are independent: a draw of both is a draw of either at one bearing. What probes
//! left clear is weighed over the metal draws, more of which are drawn for that, and as many as there are layouts are kept
//! (systematic resampling: Kitagawa, J. Comput. Graph. Stat. 5 (1996) 1-25).

use super::layouts::Layouts;
use super::options::SampleOptions;
use super::probes;
use crate::class::Class;
use crate::effort::Effort;
use crate::error::Error;
use crate::layout::MetalLine;
use crate::mcmc::diagnostics::{Checked, Failure};
use crate::metal::{Evidence, Law, MetalChains, MetalDraw, MetalOptions, Model, Summary, systematic};
use crate::model::grid_bearings;
use crate::monitor::Monitor;
use crate::rng;
use crate::site::Site;
use crate::strike::Observation;
use rand::RngExt;
use std::sync::Arc;

/// What was sampled of metal lines.
pub struct Metal {
    model: Model,
    chains: MetalChains,
    /// Draws kept, with what probes left clear.
    draws: Vec<MetalDraw>,
    /// Effective number of independent draws after the clear probes, of as many as were drawn.
    effective: f64,
    drawn: usize,
    seed: u64,
}

/// Draws of metal for each layout where clear probes are weighed over them. Numerical choice.
const MORE: usize = 4;

/// Streams of random numbers of metal begin here; see `sampling` for those of layouts.
const STREAMS: u64 = 1 << 48;

/// Share of a bearing that no draw of metal has: chains are finite.
const UNSEEN: f64 = 1e-5;

/// Work of a sweep, for each item of evidence: about as measured.
const SWEPT_ITEM: u64 = 3_000;

/// A class is assessed by metal where this many lines carry it in the mean, or where something on the site names it.
const LIKELY: f64 = 0.5;

impl Metal {
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
        let bearings: Vec<(f64, f64)> =
            if site.flags.is_empty() && site.marks.is_empty() && site.services.is_empty() {
                return Ok(None);
            } else {
                grid_bearings(&site.with_bearing_evidence(Vec::new()))
                    .iter()
                    .map(|b| (b.rad, b.probability))
                    .collect()
            };
        let Some(evidence) = Evidence::of(site, &bearings, Law::default()) else { return Ok(None) };
        let items = evidence.items.len() as u64;
        let model = Model::new(evidence);
        let metal = MetalOptions { seed: options.seed, ..MetalOptions::default() };
        let chains = MetalChains::run(&model, &metal, monitor).ok_or(Error::Interrupted)?;
        effort.spend(SWEPT_ITEM * items * (chains.kept * metal.chains) as u64);
        let clear: Vec<Observation> =
            site.probes.iter().filter(|probe| !probe.found).map(probes::look).collect();
        let drawn = options.draws * if clear.is_empty() { 1 } else { MORE };
        let draws = chains.draws(&model, drawn, options.seed);
        let weights: Vec<f64> = draws.iter().map(|draw| missed(draw, &clear)).collect();
        let (sum, squares) = weights.iter().fold((0.0, 0.0), |(s, q), w| (s + w, q + w * w));
        let effective = if squares > 0.0 { sum * sum / squares } else { 0.0 };
        let draws = if clear.is_empty() || sum == 0.0 {
            draws
        } else {
            resampled(&draws, &weights, options.draws, options.seed)
        };
        Ok(Some(Self { model, chains, draws, effective, drawn, seed: options.seed }))
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

    /// Joins its lines to the draws of the same bearing.
    pub(super) fn join(self, mut layouts: Layouts) -> Layouts {
        let by_bearing = |rad: f64| -> Vec<usize> {
            let gap = |draw: &MetalDraw| (self.model.evidence.bearings[draw.bearing].0 - rad).abs();
            let least = self.draws.iter().map(gap).fold(f64::INFINITY, f64::min);
            (0..self.draws.len()).filter(|k| gap(&self.draws[*k]) <= least + 1e-9).collect()
        };
        let lists: Vec<Vec<usize>> = layouts.bearings().iter().map(|b| by_bearing(b.rad)).collect();
        // Each draw of metal serves in turn; where it starts is by the seed, so that no draw is favoured.
        let mut next: Vec<usize> = {
            let mut rng = rng::stream(self.seed, STREAMS);
            lists.iter().map(|list| rng.random_range(0..list.len().max(1))).collect()
        };
        for draw in &mut layouts.draws {
            let list = &lists[draw.bearing];
            let k = next[draw.bearing];
            next[draw.bearing] = (k + 1) % list.len();
            draw.metal = self.draws[list[k]].lines.clone().into();
            draw.metal_chain = self.draws[list[k]].chain as u8;
        }
        let system = layouts.systems().len() as u16 + 1;
        let pieces = layouts
            .pieces
            .with(|k| layouts.draws[k].metal.iter().flat_map(|line| line.pieces(system)).collect());
        layouts.pieces = pieces;
        for (class, lines) in Class::ALL.into_iter().zip(self.mean_lines(&layouts)) {
            layouts.assessed[class as usize] |= lines >= LIKELY || self.is_named(class);
        }
        layouts.warnings.extend(self.warnings());
        layouts.metal = Some(self);
        layouts
    }

    fn mean_lines(&self, layouts: &Layouts) -> [f64; Class::ALL.len()] {
        let mut lines = [0.0; Class::ALL.len()];
        for line in layouts.draws.iter().flat_map(|draw| draw.metal.iter()) {
            lines[line.class as usize] += 1.0 / layouts.draws.len() as f64;
        }
        lines
    }

    fn is_named(&self, class: Class) -> bool {
        self.model.evidence.says(class)
    }

    fn warnings(&self) -> Vec<String> {
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

    /// Whether the chains passed their checks.
    pub fn checked(&self) -> &Checked {
        &self.chains.checked
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

/// Fewer effective draws of metal than this are told of.
const ENOUGH: f64 = 100.0;

/// Chance that clear probes miss every line of a draw.
fn missed(draw: &MetalDraw, clear: &[Observation]) -> f64 {
    let line = |line: &Arc<MetalLine>| clear.iter().map(|look| 1.0 - look.meets_drawn(line)).product::<f64>();
    draw.lines.iter().map(line).product()
}

fn resampled(draws: &[MetalDraw], weights: &[f64], count: usize, seed: u64) -> Vec<MetalDraw> {
    let at = rng::stream(seed, STREAMS + 1).random::<f64>();
    systematic(weights, count, at).into_iter().map(|k| draws[k].clone()).collect()
}
