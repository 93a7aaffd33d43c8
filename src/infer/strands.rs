//! Strands: one law for each probable way to assign heads to zones, mixed by probability and by what probes found.

use super::SampleOptions;
use crate::error::Error;
use crate::evidence::Site;
use crate::layout::{Draw, OuterLaw, pick};
use crate::posterior::Posterior;
use crate::prior::{Labels, Law};
use crate::strike::Findings;
use rand::Rng;

/// Ways less probable than this are left out, and no more than so many are kept: each costs a law. Numerical choice.
const LEAST: f64 = 0.01;
const MOST: usize = 8;

/// The law of one way to assign heads to zones.
pub struct Strand {
    /// The law.
    pub law: Law,
    /// Its probability before any probe.
    pub probability: f64,
}

/// The laws of the probable ways, most probable first.
///
/// # Errors
/// Those of [`Law::with_labels`], if no way has a layout.
pub fn laws(site: &Site, labels: &Labels) -> Result<Vec<Strand>, Error> {
    let mut strands = Vec::new();
    let mut refused = None;
    for labelling in labels.labellings.iter().filter(|l| l.probability >= LEAST).take(MOST) {
        match Law::with_labels(site, labelling) {
            Ok(law) => strands.push(Strand { law, probability: labelling.probability }),
            Err(error) => refused = refused.or(Some(error)),
        }
    }
    if let (true, Some(error)) = (strands.is_empty(), refused) {
        return Err(error);
    }
    let total: f64 = strands.iter().map(|strand| strand.probability).sum();
    strands.iter_mut().for_each(|strand| strand.probability /= total);
    Ok(strands)
}

/// The posteriors of all strands.
pub struct Strands<'a> {
    posteriors: Vec<(&'a Law, Posterior<'a>)>,
    /// Probability of each, with what probes found.
    weights: Vec<f64>,
    probed: bool,
}

impl<'a> Strands<'a> {
    /// Weighs the strands; `None` if `stop` says so.
    pub fn new(
        laws: &'a [Strand],
        findings: &'a Findings,
        options: &SampleOptions,
        stop: &(dyn Fn() -> bool + Sync),
    ) -> Option<Self> {
        let mut posteriors = Vec::with_capacity(laws.len());
        for Strand { law, probability } in laws {
            let draws = (options.draws as f64 * probability).ceil() as usize;
            posteriors.push((law, Posterior::new(law, findings, draws, options.seed, stop)?));
        }
        let logs = || posteriors.iter().map(|(_, posterior)| posterior.log_evidence());
        let most = logs().fold(f64::NEG_INFINITY, f64::max);
        let weights = laws.iter().zip(logs()).map(|(strand, log)| strand.probability * (log - most).exp());
        let weights: Vec<f64> = weights.map(|w| if w.is_finite() { w } else { 0.0 }).collect();
        let total: f64 = weights.iter().sum();
        let weights = weights.into_iter().map(|w| w / total).collect();
        Some(Self { posteriors, weights, probed: !findings.is_empty() })
    }

    /// One draw, and the law it is of.
    pub fn sample(&self, rng: &mut impl Rng) -> (Option<Draw>, &'a dyn OuterLaw) {
        let strand = if self.weights.len() > 1 { pick(&self.weights, rng) } else { 0 };
        let (law, posterior) = &self.posteriors[strand];
        let draw = if self.probed { posterior.sample(rng) } else { Draw::sample(*law, rng) };
        (draw, *law)
    }

    /// Effective number of independent draws where the outer states behind them are worth so many.
    pub fn effective(&self, draws: usize) -> f64 {
        let shared = self.posteriors.iter().zip(&self.weights).map(|((_, p), w)| w * w / p.effective());
        1.0 / (1.0 / draws as f64 + shared.sum::<f64>())
    }

    /// Chance of a find given everything else seen, false finds and unknown lines apart.
    pub fn chance_of_find(&self, find: usize) -> f64 {
        self.posteriors.iter().zip(&self.weights).map(|((_, p), w)| w * p.chance_of_find(find)).sum()
    }
}
