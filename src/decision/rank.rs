//! Digs in order of expected loss (or of chance), and which of them cannot be told apart.
//!
//! All digs are looked at in the same draws, so the error of a difference is that of its mean over draws, draw by draw: what
//! two digs have in common drops out. Two digs are told apart where the difference is larger than 1.96 of its standard errors
//! (95 %, for each pair by itself). Where more draws are taken until neighbours can be told apart, each look at the figures is
//! another chance to be wrong, so the limit is that of 95 % shared among all looks that may be taken (Bonferroni).
//!
//! Digs inside a tolerance zone or on flagged metal come last whatever their chance: there only marks and hands decide. So do
//! digs that meet a building or pool or reach over the boundary.

use super::assess::reported;
use super::bars::{Bar, bar};
use super::dig::look;
use super::known::{Known, known};
use super::loss::{Loss, Weights, weighted, widening};
use crate::effort::Effort;
use crate::error::Error;
use crate::inference::posterior::Limits;
use crate::inference::{Layouts, Reported, RunBudget, SampleOptions, in_batches, spending};
use crate::monitor::Monitor;
use crate::site::Dig;
use crate::strike::{RunIndex, probability};
use statrs::distribution::{ContinuousCDF, Normal};

/// Chance to take two equal digs for different ones, for a pair by itself.
const ALPHA: f64 = 0.05;

/// Differences below this are none: rounding.
const NOTHING: f64 = 1e-12;

/// What digs are ordered by.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum By {
    /// Expected loss.
    #[default]
    Loss,
    /// Chance of a strike.
    P,
}

impl By {
    /// Every one.
    pub const ALL: [Self; 2] = [Self::Loss, Self::P];

    /// The name used in Python.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Loss => "loss",
            Self::P => "p",
        }
    }
}

/// How digs are ordered.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct RankOptions {
    /// Consequence weights.
    pub weights: Weights,
    /// What by.
    pub by: By,
}

/// Two digs compared in the same draws.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pair {
    /// How much larger the loss (or chance) of the second is.
    pub difference: f64,
    /// Monte Carlo standard error of the difference.
    pub error: f64,
    /// Whether they can be told apart.
    pub distinct: bool,
    /// Draws with which a difference as large as this one would be told apart; infinite where there is none at all: then
    /// only evidence can tell them apart.
    pub draws_needed: f64,
}

/// One dig in its place.
#[derive(Clone, Debug, PartialEq)]
pub struct Ranked {
    /// Index among the digs given.
    pub dig: usize,
    /// Place, from 1; digs inside tolerance zones or on flagged metal, and those that cannot be dug where they are drawn, share
    /// the last.
    pub rank: usize,
    /// Chance of a strike and its error.
    pub p: Loss,
    /// Expected loss and its error.
    pub loss: Loss,
    /// What is known to lie there, a marked line or flagged metal: it is last for that reason alone.
    pub known: Option<Known>,
    /// What keeps it from being dug where it is drawn: it is last for that reason alone.
    pub bar: Option<Bar>,
    /// Compared with the next dig; `None` for the last, and for digs that are last whatever their chance.
    pub next: Option<Pair>,
    /// Indices of the digs that it cannot be told apart from, in order of rank.
    pub tied_with: Vec<usize>,
}

/// Digs in order.
#[derive(Clone, Debug, PartialEq)]
pub struct Ranking {
    /// The digs, least first.
    pub rows: Vec<Ranked>,
    /// Draws that it rests on.
    pub draws: usize,
    /// Whether the chains behind it passed their convergence checks, where zones are sampled.
    pub converged: bool,
}

impl Ranking {
    /// Whether all neighbours can be told apart.
    pub fn is_distinct(&self) -> bool {
        self.pairs().all(|pair| pair.distinct)
    }

    /// Whether more draws could tell further neighbours apart.
    fn is_open(&self) -> bool {
        self.pairs().any(|pair| !pair.distinct && pair.draws_needed.is_finite())
    }

    fn pairs(&self) -> impl Iterator<Item = &Pair> {
        self.rows.iter().filter_map(|row| row.next.as_ref())
    }
}

/// Orders digs.
///
/// # Errors
/// [`Error::Interrupted`].
///
/// # Examples
/// ```
/// use underturf::monitor::Unwatched;
/// use underturf::decision::{RankOptions, rank};
/// let layouts = underturf::example::layouts()?;
/// let digs = &layouts.site().digs;
/// let ranking = rank(&layouts, digs, &RankOptions::default(), &Unwatched)?;
/// assert_eq!(digs[ranking.rows[0].dig].id, "oak"); // the least expected loss
/// assert!(rank(&layouts, &[], &RankOptions::default(), &Unwatched)?.rows.is_empty());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn rank(
    layouts: &Layouts,
    digs: &[Dig],
    options: &RankOptions,
    monitor: &dyn Monitor,
) -> Result<Ranking, Error> {
    rank_at(layouts, digs, options, 1, monitor)
}

/// Orders digs, drawing twice as many layouts from the same seed until all neighbours can be told apart or further doubling
/// would pass `longest_draws`. The result depends on the seed alone.
///
/// # Errors
/// Those of [`crate::inference::sample_layouts_within`].
///
/// # Examples
/// ```
/// use underturf::monitor::Unwatched;
/// use underturf::decision::{RankOptions, rank_until_distinct};
/// let layouts = underturf::example::layouts()?;
/// let digs = &layouts.site().digs;
/// let ranking = rank_until_distinct(&layouts, digs, &RankOptions::default(), 400, &Unwatched)?;
/// assert!(ranking.draws <= 400 && ranking.rows.len() == digs.len());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn rank_until_distinct(
    layouts: &Layouts,
    digs: &[Dig],
    options: &RankOptions,
    longest_draws: usize,
    monitor: &dyn Monitor,
) -> Result<Ranking, Error> {
    let mut draws = layouts.draws().len();
    let looks = 1 + (longest_draws / draws.max(1)).checked_ilog2().unwrap_or(0);
    let mut ranking = rank_at(layouts, digs, options, looks, monitor)?;
    let accept_unconverged = layouts.convergence().is_some_and(|convergence| !convergence.passed);
    let budget = RunBudget { accept_unconverged, effort: layouts.effort(), ..RunBudget::default() };
    let effort = Effort::new(layouts.effort()); // of all rounds together
    while ranking.is_open() && draws <= longest_draws / 2 {
        draws *= 2;
        let sample = SampleOptions { draws, seed: layouts.seed() };
        let site = layouts.shared_site();
        let more = spending(site, &sample, Limits::default(), &budget, &effort, monitor)?;
        ranking = rank_at(&more, digs, options, looks, monitor)?;
    }
    Ok(ranking)
}

fn rank_at(
    layouts: &Layouts,
    digs: &[Dig],
    options: &RankOptions,
    looks: u32,
    monitor: &dyn Monitor,
) -> Result<Ranking, Error> {
    let (index, wider) = (RunIndex::new(layouts.draws()), widening(layouts));
    let by_draw = in_batches(digs.len(), monitor, |k| {
        let chances = index.by_draw(layouts.prior(), &look(&digs[k]), layouts.findings());
        let weights = options.weights.of(digs[k].method, layouts.assessed());
        let losses: Vec<f64> = chances.iter().map(|draw| weighted(&weights, draw)).collect();
        let any: Vec<f64> = chances.iter().map(|draw| draw.any).collect();
        Ok((any, losses))
    })?;
    let there: Vec<Option<Known>> = digs.iter().map(|dig| known(layouts.site(), dig)).collect();
    let bars: Vec<Option<Bar>> = digs.iter().map(|dig| bar(layouts.site(), dig)).collect();
    let is_out = |k: &usize| there[*k].is_some() || bars[*k].is_some();
    let of_any = |any: &[f64]| Loss::of(any, layouts.widening(any));
    let held = |of: Loss| Loss { loss: probability(of.loss), ..of };
    let p: Vec<Loss> = by_draw.iter().map(|(any, _)| held(of_any(any))).collect();
    let named: Vec<Reported> =
        digs.iter().zip(&p).map(|(dig, p)| reported(&dig.id, p.loss, p.error)).collect();
    let rely = layouts.rely(&named)?;
    let loss: Vec<Loss> = by_draw.iter().map(|(_, losses)| Loss::of(losses, wider)).collect();
    let of = |k: usize| -> &[f64] {
        match options.by {
            By::Loss => &by_draw[k].1,
            By::P => &by_draw[k].0,
        }
    };
    let value = |k: usize| match options.by {
        By::Loss => loss[k].loss,
        By::P => p[k].loss,
    };
    let mut order: Vec<usize> = (0..digs.len()).filter(|k| !is_out(k)).collect();
    order.sort_by(|&a, &b| value(a).total_cmp(&value(b)));
    let compare = |a: usize, b: usize| compare(of(a), of(b), wider, limit(looks));
    let row = |(place, &dig): (usize, &usize)| Ranked {
        dig,
        rank: place + 1,
        p: p[dig],
        loss: loss[dig],
        known: None,
        bar: None,
        next: order.get(place + 1).map(|&next| compare(dig, next)),
        tied_with: order
            .iter()
            .filter(|&&other| other != dig && !compare(dig, other).distinct)
            .copied()
            .collect(),
    };
    let mut rows: Vec<Ranked> = order.iter().enumerate().map(row).collect();
    let last = rows.len() + 1;
    rows.extend((0..digs.len()).filter(is_out).map(|dig| Ranked {
        dig,
        rank: last,
        p: p[dig],
        loss: loss[dig],
        known: there[dig],
        bar: bars[dig],
        next: None,
        tied_with: Vec::new(),
    }));
    let converged = rely.iter().all(|reliable| *reliable) && layouts.passed();
    Ok(Ranking { rows, draws: layouts.draws().len(), converged })
}

/// How many standard errors a difference has to exceed where figures may be looked at so many times.
fn limit(looks: u32) -> f64 {
    Normal::standard().inverse_cdf(1.0 - 0.5 * ALPHA / f64::from(looks.max(1)))
}

/// Two digs in the same draws.
fn compare(a: &[f64], b: &[f64], wider: f64, limit: f64) -> Pair {
    let gaps: Vec<f64> = a.iter().zip(b).map(|(a, b)| b - a).collect();
    let Loss { loss: difference, error } = Loss::of(&gaps, wider);
    let distinct = difference.abs() > (limit * error).max(NOTHING);
    let draws_needed = if distinct {
        a.len() as f64
    } else if error <= NOTHING || difference.abs() <= NOTHING {
        f64::INFINITY
    } else {
        a.len() as f64 * (limit * error / difference).powi(2)
    };
    Pair { difference, error, distinct, draws_needed }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rng::stream;
    use approx::assert_relative_eq;
    use rand::RngExt;

    /// Losses that share most of their doubt: paired they are told apart, by their own errors they are not.
    #[test]
    fn common_draws_make_the_difference_sharp() {
        let mut rng = stream(4, 0);
        let a: Vec<f64> = (0..400).map(|_| f64::from(u8::from(rng.random_bool(0.3)))).collect();
        let b: Vec<f64> = a.iter().map(|x| 0.98 * x + 0.02).collect();
        let pair = compare(&a, &b, 1.0, limit(1));
        assert!(pair.distinct && pair.difference > 0.0, "{pair:?}");
        // Planted fault: errors as if the draws had nothing in common.
        let (ea, eb) = (Loss::of(&a, 1.0).error, Loss::of(&b, 1.0).error);
        assert!(pair.difference < 1.96 * ea.hypot(eb), "as independent draws they could not be told apart");
        assert_eq!(compare(&b, &a, 1.0, limit(1)).difference, -pair.difference);
    }

    #[test]
    fn equal_digs_are_tied_and_only_evidence_could_part_them() {
        let a = [0.1, 0.4, 0.2];
        let pair = compare(&a, &a, 1.0, limit(1));
        assert!(!pair.distinct && pair.draws_needed.is_infinite());
        // A difference without error is one, however small: floors of two sizes.
        assert!(compare(&[0.01; 5], &[0.0101; 5], 1.0, limit(1)).distinct);
    }

    /// Of 400 pairs that are equal in law, 5 % are taken for different: binomial(400, 0.05) has mean 20 and sd 4.4, so
    /// more than 42 (five sd) has chance below 1e-5; below 4 as well.
    #[test]
    fn equal_laws_are_told_apart_as_seldom_as_stated() {
        let mut wrong = 0;
        for k in 0..400 {
            let mut rng = stream(9, k);
            let mut draw = || (0..200).map(|_| rng.random::<f64>()).collect::<Vec<f64>>();
            wrong += usize::from(compare(&draw(), &draw(), 1.0, limit(1)).distinct);
        }
        assert!((4..=42).contains(&wrong), "{wrong}");
    }

    #[test]
    fn limits_are_those_of_the_normal_table() {
        assert_relative_eq!(limit(1), 1.959_964, epsilon = 1e-6);
        assert_relative_eq!(limit(5), 2.575_829, epsilon = 1e-6); // 99 % two-sided
    }
}
