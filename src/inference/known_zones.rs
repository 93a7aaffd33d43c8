//! Known zones: one prior for each probable way to assign heads to zones, mixed by probability and by what probes found.

use super::options::SampleOptions;
use crate::effort::Work;
use crate::error::Error;
use crate::inference::joint::SystemPriors;
use crate::inference::posterior::{GivenRest, Limits, MetalFinds, Posterior, Sums};
use crate::layout::{Draw, OuterPrior, pick};
use crate::model::{Bearing, Common, FlaggedHead, LayoutPrior, ListedZonings, WeightedZoning};
use crate::site::{Probe, Site};
use crate::strike::Findings;
use rand::Rng;
use std::sync::Arc;

/// Ways less probable than this are left out, and no more than so many are kept. Numerical choices: each costs a prior, and
/// where probes were dug pools of outer states for each of its systems.
const LEAST: f64 = 0.01;
const MOST: usize = 8;

/// The same where none was dug.
const LEAST_UNPROBED: f64 = 1e-3;
const MOST_UNPROBED: usize = 32;

/// So many less probable ways are weighed too where what probes saw may lift them. A head is near a probe that is one of so
/// many nearest to it. Numerical choices.
const RARE: usize = 16;
const NEAR: usize = 6;

/// Clear probes are sifted by one in so many outer states. Numerical choice.
const SIFTED: usize = 8;

/// No find is taken to speak louder for another way than one of this chance. Numerical choice.
const LEAST_CHANCE: f64 = 1e-4;

/// The prior of one way to assign heads to zones.
pub struct ZoningModel {
    /// The prior.
    pub prior: LayoutPrior,
    /// The zone of every head; empty where the prior stands for all ways.
    pub zone_of: Vec<usize>,
    /// Its probability before any probe.
    pub probability: f64,
}

/// The probable ways.
fn probable<'l>(site: &Site, list: &'l ListedZonings) -> impl Iterator<Item = &'l WeightedZoning> {
    let (least, most) = if site.probes.is_empty() { (LEAST_UNPROBED, MOST_UNPROBED) } else { (LEAST, MOST) };
    list.zonings.iter().filter(move |zoning| zoning.probability >= least).take(most)
}

/// Share of the posterior over zonings that the probable ways hold, by estimate.
pub fn share(site: &Site, list: &ListedZonings) -> f64 {
    list.coverage * probable(site, list).map(|zoning| zoning.probability).sum::<f64>()
}

/// The priors of the probable ways, most probable first, and of these others, by their index.
///
/// A zone of the same heads is made once.
///
/// # Errors
/// Those of [`LayoutPrior::with_zoning`], if no way has a layout.
pub fn models(site: &Site, list: &ListedZonings, rare: &[usize]) -> Result<Vec<ZoningModel>, Error> {
    let mut models = Vec::new();
    let mut refused = None;
    let zones = SystemPriors::new(Arc::new(Common::new(site)));
    for zoning in probable(site, list).chain(rare.iter().map(|&k| &list.zonings[k])) {
        match zones.of(zoning.members(site.zones.len())) {
            Ok(prior) => {
                let (zone_of, probability) = (zoning.zone_of.clone(), zoning.probability);
                models.push(ZoningModel { prior, zone_of, probability });
            }
            Err(error) => refused = refused.or(Some(error)),
        }
    }
    if let (true, Some(error)) = (models.is_empty(), refused) {
        return Err(error);
    }
    let total: f64 = models.iter().map(|model| model.probability).sum();
    models.iter_mut().for_each(|model| model.probability /= total);
    Ok(models)
}

/// The heads near a probe.
fn near(site: &Site, probe: &Probe) -> Vec<usize> {
    let ground = probe.shape.footprint();
    let mut heads: Vec<(f64, usize)> =
        site.heads.iter().map(|head| ground.distance_to_point(head.at)).zip(0..).collect();
    heads.sort_by(|a, b| a.0.total_cmp(&b.0));
    heads.into_iter().take(NEAR).map(|(_, head)| head).collect()
}

/// The posteriors of all zonings.
pub struct KnownZones<'a> {
    posteriors: Vec<(&'a LayoutPrior, Posterior<'a>)>,
    /// Probability of each before any probe.
    probabilities: Vec<f64>,
    /// Probability of each, with what probes found.
    weights: Vec<f64>,
    probed: bool,
}

impl<'a> KnownZones<'a> {
    /// Weighs the zonings; `None` if `work` is to stop.
    ///
    /// Each has outer states for its share of the draws: by its probability before any probe, then once more where what
    /// probes found gives it a larger share.
    pub fn new(
        models: &'a [ZoningModel],
        findings: &'a Findings,
        metal: Option<Arc<MetalFinds>>,
        options: &SampleOptions,
        limits: Limits,
        work: &dyn Work,
    ) -> Option<Self> {
        let first = &models.first()?.prior;
        let sums = Sums::new(findings, first.unmapped_lines(), work)?;
        let sums = Arc::new(sums.with_metal(metal, first.bearings().len()));
        let posterior = |prior: &'a LayoutPrior, share: f64| {
            let draws = (options.draws as f64 * share).ceil() as usize;
            Posterior::knowing(&sums, limits, prior, draws, options.seed, work)
        };
        let mut posteriors = Vec::with_capacity(models.len());
        for ZoningModel { prior, probability, .. } in models {
            posteriors.push((prior, posterior(prior, *probability)?));
        }
        let weights = weights(models, &posteriors);
        for ((prior, old), weight) in posteriors.iter_mut().zip(weights) {
            if !old.is_limited() && old.effective() < options.draws as f64 * weight {
                *old = posterior(prior, weight)?;
            }
        }
        let weights = self::weights(models, &posteriors);
        let probabilities = models.iter().map(|model| model.probability).collect();
        Some(Self { posteriors, probabilities, weights, probed: !findings.is_empty() })
    }

    /// Probability of each zoning, with what probes found.
    pub fn weights(&self) -> &[f64] {
        &self.weights
    }

    /// Ways too improbable to be drawn from that what probes saw may yet make probable, by their index in the list: where
    /// labels leave no line and one was found, the label may be the wrong one of the two. A way differs from the most probable
    /// one at some heads; what the probes near these saw can lift it by the inverse of their chance at most, each given
    /// everything else.
    pub fn lifted(site: &Site, list: &ListedZonings, chances: &[f64]) -> Vec<usize> {
        let rare = list.zonings.iter().enumerate().filter(|(_, l)| l.probability < LEAST);
        let spoken = |(probe, chance): (&Probe, &f64)| (near(site, probe), chance.clamp(LEAST_CHANCE, 1.0));
        let near_probes: Vec<(Vec<usize>, f64)> = site.probes.iter().zip(chances).map(spoken).collect();
        let first = &list.zonings[0];
        let lift = |l: &WeightedZoning| -> f64 {
            let differs = |&&head: &&usize| l.zone_of[head] != first.zone_of[head];
            let by = near_probes.iter().filter(|(near, _)| near.iter().any(|head| differs(&head)));
            l.probability * by.map(|(_, chance)| 1.0 / chance).product::<f64>()
        };
        let lifted = rare.map(|(k, l)| (lift(l), k));
        let mut lifted: Vec<(f64, usize)> =
            lifted.filter(|(share, _)| *share >= LEAST * first.probability).collect();
        lifted.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        lifted.into_iter().take(RARE).map(|(_, k)| k).collect()
    }

    /// For each probe, the chance of what it saw given everything else, unknown lines and false finds apart; of clear ones
    /// from few outer states. `None` if `work` is to stop.
    pub fn chances(&self, site: &Site, work: &dyn Work) -> Option<Vec<f64>> {
        let (mut found, mut clear) = (0, 0);
        let of = |probe: &Probe| {
            let count = if probe.found { &mut found } else { &mut clear };
            *count += 1;
            let place = *count - 1;
            if probe.found {
                Some(self.chance_of_find(place))
            } else {
                self.chance_of_clear(place, SIFTED, work)
            }
        };
        site.probes.iter().map(of).collect()
    }

    /// Heads that are likelier on another zone than written, with what probes found.
    pub fn flagged(&self, site: &Site, models: &[ZoningModel]) -> Vec<FlaggedHead> {
        let mut marginals = vec![vec![0.0; site.zones.len()]; site.heads.len()];
        for (model, weight) in models.iter().zip(&self.weights) {
            for (row, &zone) in marginals.iter_mut().zip(&model.zone_of) {
                row[zone] += weight;
            }
        }
        FlaggedHead::of(site, &marginals)
    }

    /// One draw, and the prior it is of.
    pub fn sample(&self, rng: &mut impl Rng) -> (Option<Draw>, &'a dyn OuterPrior) {
        let model = if self.weights.len() > 1 { pick(&self.weights, rng) } else { 0 };
        let (prior, posterior) = &self.posteriors[model];
        let draw = if self.probed { posterior.draw(rng) } else { Draw::sample(*prior, rng) };
        (draw, *prior)
    }

    /// Grid bearings, the same for all zonings, with their probabilities given what probes found.
    pub fn bearings(&self) -> Vec<Bearing> {
        let mut bearings = self.posteriors[0].0.grid_bearings().to_vec();
        bearings.iter_mut().for_each(|bearing| bearing.probability = 0.0);
        for ((_, posterior), weight) in self.posteriors.iter().zip(&self.weights) {
            let of_zoning = posterior.bearings();
            bearings.iter_mut().zip(of_zoning).for_each(|(bearing, p)| bearing.probability += weight * p);
        }
        bearings
    }

    /// Effective number of independent draws where the outer states behind them are worth so many.
    pub fn effective(&self, draws: usize) -> f64 {
        let shared = self.posteriors.iter().zip(&self.weights).map(|((_, p), w)| w * w / p.effective());
        1.0 / (1.0 / draws as f64 + shared.sum::<f64>())
    }

    /// What the reader of the draws must know of how they were drawn.
    pub fn warnings(&self, draws: usize, limits: Limits) -> Vec<String> {
        let mut warnings = Vec::new();
        let effective = self.effective(draws);
        if self.posteriors.iter().any(|(_, p)| p.is_limited()) && effective < 0.5 * draws as f64 {
            warnings.push(format!(
                "What probes found is so improbable under most layouts that {draws} draws are worth only {effective:.0} \
                 independent ones, even with {} outer states weighed for each system: chances are less exact than usual, \
                 as their Monte Carlo errors say.",
                limits.outer_states
            ));
        }
        let unanswered: usize = self.posteriors.iter().map(|(_, p)| p.unanswered()).sum();
        if unanswered > 0 {
            warnings.push(format!(
                "{unanswered} of the lines in {draws} draws could not be laid, in {} attempts each, so that they agree with \
                 every probe: they lie as near to that as they came.",
                limits.tries
            ));
        }
        warnings
    }

    /// Chance of a find given everything else seen, false finds and unknown lines apart.
    pub fn chance_of_find(&self, find: usize) -> f64 {
        self.mixed(|posterior| Some(posterior.find_given_rest(find))).map_or(1.0, GivenRest::chance)
    }

    /// Chance of a clear probe given everything else seen, from one in `every` outer states; `None` if `work` is to stop.
    pub fn chance_of_clear(&self, clear: usize, every: usize, work: &dyn Work) -> Option<f64> {
        self.mixed(|posterior| posterior.clear_given_rest(clear, every, work)).map(GivenRest::chance)
    }

    fn mixed(&self, of: impl Fn(&Posterior<'_>) -> Option<GivenRest>) -> Option<GivenRest> {
        let mut all = GivenRest::default();
        for ((_, posterior), probability) in self.posteriors.iter().zip(&self.probabilities) {
            all = all.plus(*probability, of(posterior)?);
        }
        Some(all)
    }
}

/// Probability of each zoning, with what probes found.
fn weights(models: &[ZoningModel], posteriors: &[(&LayoutPrior, Posterior<'_>)]) -> Vec<f64> {
    let logs = || posteriors.iter().map(|(_, posterior)| posterior.log_evidence());
    let most = logs().fold(f64::NEG_INFINITY, f64::max);
    let weights = models.iter().zip(logs()).map(|(model, log)| model.probability * (log - most).exp());
    let weights: Vec<f64> = weights.map(|w| if w.is_finite() { w } else { 0.0 }).collect();
    let total: f64 = weights.iter().sum();
    weights.into_iter().map(|w| w / total).collect()
}
