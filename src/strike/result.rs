//! What a strike computation returns: chance by class, Monte Carlo error, bound, and the form that made it.

use super::look::Look;
use crate::class::Class;
use crate::layout::Floor;

/// A probability is never reported above this, nor printed as 100 %: marks have tails, surveys have blunders.
const GREATEST: f64 = 1.0 - 1e-9;

/// How a strike chance is computed.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Form {
    /// The general form.
    #[default]
    Auto,
    /// One minus the mean over draws of the product over a draw's runs: valid for any law.
    General,
    /// Sum over outer states of ratios of determinants: no Monte Carlo error, where the law factors over runs.
    Determinant,
}

impl Form {
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
    /// Chance by class, in the order of [`Class::ALL`]; `None` is "not assessed". `unknown` is the floor.
    pub by_class: [Option<Chance>; Class::ALL.len()],
    /// The form that made it.
    pub form: Form,
}

/// Sums over draws.
#[derive(Clone, Debug, Default)]
pub(super) struct Tally {
    draws: f64,
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
    pub fn add(&mut self, all: f64, by_class: [f64; Class::ALL.len()]) {
        self.draws += 1.0;
        self.all.add(all);
        self.by_class.iter_mut().zip(by_class).for_each(|(moments, x)| moments.add(x));
    }

    pub fn strike(&self, floor: &Floor, dig: &Look, assessed: &[bool; Class::ALL.len()]) -> Strike {
        let by_class = std::array::from_fn(|k| assessed[k].then(|| self.by_class[k].chance(self.draws)));
        let all = self.all.chance(self.draws);
        let bound = 1.0 - 0.05f64.powf(1.0 / (self.draws + 1.0));
        let upper = (all.p + 1.645 * all.mcse).max(if all.p < bound { bound } else { 0.0 });
        with_floor(all, upper, by_class, floor, dig, Form::General)
    }
}

/// Adds unknown lines to the chance of the known systems.
pub(super) fn with_floor(
    all: Chance,
    upper: f64,
    mut by_class: [Option<Chance>; Class::ALL.len()],
    floor: &Floor,
    dig: &Look,
    form: Form,
) -> Strike {
    let mean = floor.mean_hits(dig.footprint.inflated(floor.radius_m).hull_perimeter(), dig.depth_m);
    let clear = (-mean).exp();
    let cap = |p: f64| p.min(GREATEST);
    for chance in by_class.iter_mut().flatten() {
        chance.p = cap(chance.p);
    }
    by_class[Class::Unknown as usize] = Some(Chance::exact(-(-mean).exp_m1()));
    Strike {
        p: cap(all.p + (1.0 - all.p) * -(-mean).exp_m1()),
        mcse: all.mcse * clear,
        upper: cap(1.0 - (1.0 - upper.min(1.0)) * clear),
        by_class,
        form,
    }
}
