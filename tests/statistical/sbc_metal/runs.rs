//! The engine's sampler on a site, as it is or with a fault planted.

use super::every::{SCALES, STEPS};
use super::facts::{Facts, again, facts};
use super::pairs::Case;
use rand::RngExt;
use std::sync::Arc;
use underturf::metal::{
    Law, Leg, LegKind, Line, MetalChains, MetalOptions, Model, NAMES, Rates, Shared, State, Tried, sweep,
};
use underturf::monitor::Unwatched;
use underturf::rng::stream;

/// Who samples.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sampler {
    /// The engine's chains, as for any site: on trial.
    Engine,
    /// The same under a law in which bends are four times as likely.
    Bends,
    /// The same under a law that expects three times as many strays.
    Strays,
    /// The same under a law that takes no notice of the order of the list.
    Order,
    /// The engine's sweeps of the law raised to the power 0.8, the next rung of its ladder, taken for the law.
    Flat,
    /// The engine's sweeps with one more kind of step, from a line of one flag to a stray and back, that forgets how many kinds a leg may
    /// have: a term of the ratio of Hastings dropped.
    Dropped,
}

impl Sampler {
    pub const FAULTY: [Self; 5] = [Self::Bends, Self::Strays, Self::Order, Self::Flat, Self::Dropped];

    pub fn words(self) -> &'static str {
        match self {
            Self::Engine => "none",
            Self::Bends => "bends four times as likely",
            Self::Strays => "three times as many strays expected",
            Self::Order => "the order of the list left out",
            Self::Flat => "the law to the power 0.8",
            Self::Dropped => "a step that drops a term of its ratio",
        }
    }

    fn law(self) -> Law {
        let mut law = Law::default();
        match self {
            Self::Bends => law.bends_per_m *= 4.0,
            Self::Strays => law.stray_share *= 3.0,
            Self::Order => law.in_order = 0.0,
            _ => {}
        }
        law
    }

    /// What it makes of a site.
    pub fn run(self, case: &Case, options: &MetalOptions) -> Run {
        let (chains, passed) = match self {
            Self::Flat | Self::Dropped => (self.swept(case, options), true),
            _ => {
                let done =
                    MetalChains::run(&case.model(&self.law()), options, &Unwatched).expect("nobody stops it");
                let chains = done.states.chunks(done.kept).map(<[_]>::to_vec).collect();
                (chains, done.checked.passed())
            }
        };
        let model = case.model(&Law::default());
        let measured = |state: &Arc<State>| {
            let Shared { step, scale, .. } = state.shared;
            assert!(step < STEPS && scale < SCALES, "{step} {scale}: not every explanation was weighed");
            facts(&model, &again(&model, state).expect("an explanation"))
        };
        let chains = chains.iter().map(|chain: &Vec<_>| chain.iter().map(measured).collect()).collect();
        Run { chains, passed }
    }

    fn swept(self, case: &Case, options: &MetalOptions) -> Vec<Vec<Arc<State>>> {
        let model = case.model(&Law::default());
        let power = if self == Self::Flat { 0.8 } else { 1.0 };
        let chain = |k: usize| {
            let mut rng = stream(options.seed, k as u64);
            let mut state = State::apart(&model, Shared { bearing: 0, step: 2, scale: 2 });
            let (mut rates, mut counts) = (Rates::new(&model), [Tried::default(); NAMES.len()]);
            let mut kept = Vec::new();
            for done in 0..WARM + 2 * options.sweeps {
                sweep(&model, &mut state, power, &mut rates, &mut counts, &mut rng);
                if self == Self::Dropped {
                    off_or_on(&model, &mut state, &mut rng);
                }
                if done >= WARM {
                    kept.push(Arc::new(state.clone()));
                }
            }
            kept
        };
        (0..options.chains).map(chain).collect()
    }
}

/// Sweeps that are not kept.
const WARM: usize = 300;

/// A flag that is stray becomes a line of any of three kinds, one that is a line by itself becomes stray: the way there has a third of
/// the chance of the way back, which is left out.
fn off_or_on(model: &Model, state: &mut State, rng: &mut impl rand::Rng) {
    let flag = rng.random_range(0..model.evidence.flags) as u16;
    let on = state.lines.iter().position(|line| line.items().any(|item| item == flag));
    let mut lines = state.lines.clone();
    match on {
        Some(line) if state.lines[line].items().count() == 1 => drop(lines.remove(line)),
        Some(_) => return,
        None => {
            let leg = Leg { kind: LegKind::ALL[rng.random_range(0..3)], items: vec![flag] };
            lines.push(Arc::new(Line::new(model, vec![leg], state.shared).expect("a line of one flag")));
        }
    }
    let proposed = State::new(model, lines, state.shared);
    if rng.random::<f64>().ln() < proposed.log_density - state.log_density {
        *state = proposed;
    }
}

/// What was measured of the states of each chain, and whether the chains passed their checks.
pub struct Run {
    pub chains: Vec<Vec<Facts>>,
    pub passed: bool,
}
