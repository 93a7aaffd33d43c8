//! What a strike computation returns: chance by class, Monte Carlo error, bound, and the form that made it.

use crate::class::Class;

/// No probability is reported below the one or above the other, nor printed as 0 or 100 %: attributes have tails, surveys
/// have blunders. Where a distribution is cut (at six standard deviations of an offset, at the least and greatest cover) or
/// a sum is rounded, a computed chance may be 0, or less by a rounding. The least one is so small that sums of losses keep
/// nine figures.
const LEAST: f64 = 1e-12;
const GREATEST: f64 = 1.0 - 1e-9;

/// A computed chance as one that is reported: strictly between 0 and 1. What is no number stays none.
pub fn probability(p: f64) -> f64 {
    p.clamp(LEAST, GREATEST)
}

/// How a strike chance is computed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Form {
    /// The general form.
    #[default]
    Auto,
    /// One minus the mean over draws of the product over a draw's runs: valid for any prior.
    General,
    /// Sum over outer states of ratios of determinants: no Monte Carlo error, where the prior factors over runs.
    Determinant,
}

impl Form {
    /// Every one.
    pub const ALL: [Self; 3] = [Self::Auto, Self::General, Self::Determinant];

    /// The name used in tables.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Auto => "auto",
            Self::General => "general",
            Self::Determinant => "determinant",
        }
    }
}

/// A probability and its Monte Carlo standard error.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chance {
    /// Probability.
    pub p: f64,
    /// Its Monte Carlo standard error.
    pub mcse: f64,
}

impl Chance {
    /// A chance with no Monte Carlo error.
    pub(super) fn exact(p: f64) -> Self {
        Self { p, mcse: 0.0 }
    }
}

/// Strike chance of one dig.
#[derive(Clone, Debug, PartialEq)]
pub struct Strike {
    /// Chance of striking a line of an assessed class, or an unknown line. Never 0 and never 1.
    pub p: f64,
    /// Its Monte Carlo standard error.
    pub mcse: f64,
    /// One-sided 95 % upper bound for Monte Carlo error; where no draw has a chance worth a number, the bound that
    /// this many draws allow.
    pub upper: f64,
    /// Chance by class, in the order of [`Class::ALL`]; `None` is "not assessed". `unknown` is the unmapped lines.
    pub by_class: [Option<Chance>; Class::ALL.len()],
    /// The form that made it.
    pub form: Form,
    /// Whether it can be relied on: chains over zones and over metal, where there are any, and this chance passed every check.
    pub reliable: bool,
}

impl Strike {
    /// The same with Monte Carlo errors so many times as large: draws that share an outer state are not independent.
    pub fn widened(mut self, factor: f64) -> Self {
        self.mcse *= factor;
        self.by_class.iter_mut().flatten().for_each(|chance| chance.mcse *= factor);
        self.upper = self.upper.max((self.p + 1.645 * self.mcse).min(GREATEST));
        self
    }

    /// The same with the Monte Carlo errors of metal lines that it was worked out with: it moves as their miss does, by the share
    /// that the rest misses.
    pub(super) fn with_errors_of(mut self, metal: &Self) -> Self {
        let rest = |p: f64, metal: f64| ((1.0 - p) / (1.0 - metal)).min(1.0);
        self.upper = (self.p + rest(self.p, metal.p) * (metal.upper - metal.p)).clamp(self.p, GREATEST);
        self.mcse = rest(self.p, metal.p) * metal.mcse;
        for (own, metal) in self.by_class.iter_mut().zip(metal.by_class) {
            if let (Some(own), Some(metal)) = (own, metal) {
                own.mcse = rest(own.p, metal.p) * metal.mcse;
            }
        }
        self
    }

    /// The same with further standard errors, independent of its own: of any line, and of each class.
    pub(super) fn with_errors(mut self, further: f64, by_class: &[f64; Class::ALL.len()]) -> Self {
        if further > 0.0 {
            self.mcse = self.mcse.hypot(further);
            self.upper = self.upper.max((self.p + 1.645 * self.mcse).min(GREATEST));
        }
        for (chance, further) in self.by_class.iter_mut().zip(by_class) {
            chance.iter_mut().for_each(|chance| chance.mcse = chance.mcse.hypot(*further));
        }
        self
    }

    /// A strike chance without Monte Carlo error.
    pub(super) fn exact(p: f64, by_class: [Option<Chance>; Class::ALL.len()]) -> Self {
        let by_class = by_class.map(|chance| chance.map(|c| Chance { p: probability(c.p), ..c }));
        let p = probability(p);
        Self { p, mcse: 0.0, upper: p, by_class, form: Form::Determinant, reliable: true }
    }
}

/// Sums over draws.
#[derive(Clone, Debug, Default)]
pub(super) struct Tally {
    draws: f64,
    known: Moments,
    all: Moments,
    by_class: [Moments; Class::ALL.len()],
}

#[derive(Clone, Copy, Debug, Default)]
struct Moments {
    sum: f64,
    squares: f64,
}

impl Moments {
    fn add(&mut self, x: f64) {
        self.sum += x;
        self.squares += x * x;
    }

    fn chance(&self, draws: f64) -> Chance {
        let p = self.sum / draws;
        let variance = (self.squares / draws - p * p).max(0.0);
        Chance { p, mcse: (variance / (draws - 1.0).max(1.0)).sqrt() }
    }
}

impl Tally {
    /// One draw: chance of striking a known line, any line, and a line of each class.
    pub fn add(&mut self, known: f64, all: f64, by_class: [f64; Class::ALL.len()]) {
        self.draws += 1.0;
        self.known.add(known);
        self.all.add(all);
        self.by_class.iter_mut().zip(by_class).for_each(|(moments, x)| moments.add(x));
    }

    /// The chances; `unmet` is the chance that no unknown line is met.
    pub fn strike(&self, unmet: f64, assessed: &[bool; Class::ALL.len()]) -> Strike {
        let cap = |chance: Chance| Chance { p: probability(chance.p), ..chance };
        let by_class = std::array::from_fn(|k| assessed[k].then(|| cap(self.by_class[k].chance(self.draws))));
        let (all, known) = (cap(self.all.chance(self.draws)), self.known.chance(self.draws));
        let bound = 1.0 - 0.05f64.powf(1.0 / (self.draws + 1.0));
        let least = if known.p < bound { 1.0 - (1.0 - bound) * unmet } else { 0.0 };
        let upper = (all.p + 1.645 * all.mcse).max(least).min(GREATEST);
        Strike { p: all.p, mcse: all.mcse, upper, by_class, form: Form::General, reliable: true }
    }
}
