//! Chains over explanations, run on until they agree, and lines drawn from them.

use super::draw::MetalDraw;
use super::law::{SCALES, STEPS_M};
use super::line::{Leg, Line};
use super::model::{LegKind, Model, Shared};
use super::moves::{NAMES, Rates, Tried, exchange, sweep};
use super::state::State;
use crate::mcmc::diagnostics::{Chains, Checked, Kind, Quantity, Thresholds, check};
use crate::monitor::Monitor;
use crate::rng::stream;
use rand::RngExt;
use rayon::prelude::*;
use std::sync::Arc;

/// How explanations are sampled.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MetalOptions {
    /// Chains.
    pub chains: usize,
    /// Sweeps of each that are kept at first.
    pub sweeps: usize,
    /// Sweeps of each after which it is no longer run on.
    pub most: usize,
    /// The seed.
    pub seed: u64,
}

impl Default for MetalOptions {
    /// Numerical choice: seconds for some tens of flags. On how many simulated walks the checks pass is told in
    /// python/docs/validation.md, 9.7.
    fn default() -> Self {
        Self { chains: 4, sweeps: 400, most: 4_800, seed: 0 }
    }
}

/// What chains came to.
pub struct MetalChains {
    /// Explanations, chain after chain, those of warming up left out.
    pub states: Vec<Arc<State>>,
    /// States of each chain.
    pub kept: usize,
    /// What the checks judge, by chain: `ln` density, numbers of lines, strays, legs.
    pub watched: Vec<(String, Vec<Vec<f64>>)>,
    /// What the checks found.
    pub checked: Checked,
    /// Proposals by kind.
    pub counts: [(&'static str, Tried); NAMES.len()],
}

/// Sweeps between two looks at the monitor. Numerical choice.
const PIECE: usize = 100;

/// Streams of random numbers below this one belong to chains.
const COURSES: u64 = 1 << 20;

impl MetalChains {
    /// Runs chains until they pass the checks or are as long as they may become; `None` where the monitor stops them.
    pub fn run(model: &Model, options: &MetalOptions, monitor: &dyn Monitor) -> Option<Self> {
        let mut kept = options.sweeps;
        let mut chains = cooled(model, options);
        loop {
            // In pieces, so that whoever waits can stop it.
            while chains[0].states.len() < kept {
                let done = chains[0].states.len();
                if !monitor.tick(done, options.most) {
                    return None;
                }
                chains.par_iter_mut().for_each(|chain| chain.advance(model, PIECE.min(kept - done)));
            }
            let watched = watched(model, &chains);
            let checked = judge(&watched);
            if checked.passed() || kept >= options.most {
                return Some(Self::new(chains, kept, watched, checked));
            }
            // The first quarter of what did not pass counts as warming up.
            chains.iter_mut().for_each(|chain| drop(chain.states.drain(..kept / 4)));
            kept = (kept + kept / 2).min(options.most);
        }
    }

    fn new(
        chains: Vec<Ladder>,
        kept: usize,
        watched: Vec<(String, Vec<Vec<f64>>)>,
        checked: Checked,
    ) -> Self {
        let mut counts = NAMES.map(|name| (name, Tried::default()));
        for chain in &chains {
            let mut own = chain.rungs[0].counts;
            own[NAMES.len() - 1] = chain.exchanged;
            for (sum, own) in counts.iter_mut().zip(own) {
                sum.1.tried += own.tried;
                sum.1.taken += own.taken;
            }
        }
        let states = chains.into_iter().flat_map(|chain| chain.states).collect();
        Self { states, kept, watched, checked, counts }
    }

    /// Lines drawn from so many of the explanations, evenly spread; each with a stream of its own, whatever the threads.
    pub fn draws(&self, model: &Model, count: usize, seed: u64) -> Vec<MetalDraw> {
        let n = self.states.len();
        let draw = |k: usize| {
            let at = (k * n + n / 2) / count.max(1) % n;
            MetalDraw::of(model, &self.states[at], at / self.kept, &mut stream(seed, COURSES + k as u64))
        };
        (0..count).into_par_iter().map(draw).collect()
    }
}

/// Powers of the law at which explanations of one chain are sampled side by side; the first is the law itself. Numerical choice.
const POWERS: [f64; 4] = [1.0, 0.8, 0.62, 0.45];

/// Exchanges between neighbouring powers after each sweep. Numerical choice.
const EXCHANGES: usize = 2;

/// Sweeps that are not kept once powers differ. Numerical choice.
const WARM: usize = 100;

/// A chain: the law at every power.
struct Ladder {
    rungs: Vec<Rung>,
    rng: crate::rng::Stream,
    exchanged: Tried,
    /// What the first rung went through.
    states: Vec<Arc<State>>,
}

impl Ladder {
    fn advance(&mut self, model: &Model, sweeps: usize) {
        for _ in 0..sweeps {
            self.step(model);
            self.states.push(Arc::new(self.rungs[0].state.clone()));
        }
    }

    fn step(&mut self, model: &Model) {
        self.rungs.iter_mut().zip(POWERS).for_each(|(rung, power)| rung.sweep(model, power));
        for low in 1..self.rungs.len() {
            let (above, below) = self.rungs.split_at_mut(low);
            let powers = [POWERS[low - 1], POWERS[low]];
            for _ in 0..EXCHANGES {
                let states = [&mut above[low - 1].state, &mut below[0].state];
                exchange(model, states, powers, &mut self.exchanged, &mut self.rng);
            }
        }
    }

    fn warm(&mut self, model: &Model) {
        (0..WARM).for_each(|_| self.step(model));
        for rung in &mut self.rungs {
            rung.rates.tune();
            rung.rates.learn(false);
            rung.counts = [Tried::default(); NAMES.len()];
        }
        self.exchanged = Tried::default();
    }
}

struct Rung {
    rng: crate::rng::Stream,
    state: State,
    rates: Rates,
    counts: [Tried; NAMES.len()],
}

/// Explanations are cooled together, from the law raised to the power `FLATTEST` to the law itself, in so many steps of so many
/// sweeps. Numerical choices.
const FLATTEST: f64 = 0.4;
const STEPS: usize = 60;
const SWEEPS: usize = 3;

/// What is learnt of joints is shared after so many steps. Numerical choice.
const SHARED: usize = 3;

/// Chains that begin where a cooled population ends: explanations are weighed at each step and those of little weight give
/// way to copies of others (sequential Monte Carlo samplers: Del Moral, Doucet & Jasra, J. R. Stat. Soc. B 68 (2006) 411-436), so
/// that none is left in a poor corner. Half of the population begins with every flag stray, half with lines by name and by the
/// order of the list.
fn cooled(model: &Model, options: &MetalOptions) -> Vec<Ladder> {
    let count = options.chains * POWERS.len();
    let mut rates = Rates::new(model);
    rates.learn(true);
    let start = |k: usize| Rung::start(model, k, options.seed, rates.clone());
    let mut rungs: Vec<Rung> = (0..count).into_par_iter().map(start).collect();
    let mut rng = stream(options.seed, count as u64);
    let mut log_weights = vec![0.0; count];
    let by = (1.0 - FLATTEST) / STEPS as f64;
    for step in 0..=STEPS {
        let beta = FLATTEST + by * step as f64;
        rungs.par_iter_mut().for_each(|rung| (0..SWEEPS).for_each(|_| rung.sweep(model, beta)));
        if step % (STEPS / 3) == STEPS / 6 {
            rungs.iter_mut().for_each(|rung| rung.rates.tune());
        }
        if step % SHARED == 0 {
            Rates::share(rungs.iter_mut().map(|rung| &mut rung.rates));
        }
        if step < STEPS {
            let weighed = log_weights.iter_mut().zip(&rungs);
            weighed.for_each(|(weight, rung)| *weight += by * rung.state.log_density);
        }
        let top = log_weights.iter().fold(f64::NEG_INFINITY, |top, w| top.max(*w));
        let weights: Vec<f64> = log_weights.iter().map(|w| (w - top).exp()).collect();
        let (sum, squares) = weights.iter().fold((0.0, 0.0), |(s, q), w| (s + w, q + w * w));
        if sum * sum / squares < 0.5 * count as f64 || step == STEPS {
            let kept = systematic(&weights, count, rng.random());
            let states: Vec<State> = kept.iter().map(|k| rungs[*k].state.clone()).collect();
            rungs.iter_mut().zip(states).for_each(|(rung, state)| rung.state = state);
            log_weights.fill(0.0);
        }
    }
    let mut ladders = Vec::with_capacity(options.chains);
    for k in 0..options.chains {
        // Neighbours in the population are often copies of one: they share a chain.
        let own: Vec<Rung> = rungs.drain(..POWERS.len()).collect();
        let rng = stream(options.seed, (count + 1 + k) as u64);
        ladders.push(Ladder { rungs: own, rng, exchanged: Tried::default(), states: Vec::new() });
    }
    ladders.par_iter_mut().for_each(|ladder| ladder.warm(model));
    Rates::share(ladders.iter_mut().flat_map(|ladder| &mut ladder.rungs).map(|rung| &mut rung.rates));
    ladders
}

/// Indices drawn by their weights, evenly (Kitagawa, J. Comput. Graph. Stat. 5 (1996) 1-25); `at` in [0, 1) is where it begins.
pub fn systematic(weights: &[f64], count: usize, at: f64) -> Vec<usize> {
    let step = weights.iter().sum::<f64>() / count as f64;
    let (mut next, mut sum, mut kept) = (at * step, 0.0, Vec::with_capacity(count));
    for (k, weight) in weights.iter().enumerate() {
        sum += weight;
        while next < sum && kept.len() < count {
            kept.push(k);
            next += step;
        }
    }
    while kept.len() < count {
        kept.push(weights.len() - 1); // the last sum may round below the last step
    }
    kept
}

impl Rung {
    fn start(model: &Model, k: usize, seed: u64, rates: Rates) -> Self {
        let mut rng = stream(seed, k as u64);
        let shared = Shared {
            bearing: rng.random_range(0..model.evidence.bearings.len()),
            step: rng.random_range(0..STEPS_M.len()),
            scale: rng.random_range(1..SCALES.len()),
        };
        let state = if k.is_multiple_of(2) { State::apart(model, shared) } else { by_list(model, shared) };
        Self { rng, state, rates, counts: [Tried::default(); NAMES.len()] }
    }

    fn sweep(&mut self, model: &Model, beta: f64) {
        sweep(model, &mut self.state, beta, &mut self.rates, &mut self.counts, &mut self.rng);
    }
}

/// Flags of one name, or that follow each other in the list no further than a few metres apart, as straight lines.
fn by_list(model: &Model, shared: Shared) -> State {
    let items = &model.evidence.items;
    let mut groups: Vec<Vec<u16>> = Vec::new();
    for (k, item) in items.iter().enumerate() {
        let joins = |group: &&mut Vec<u16>| {
            let last = &items[group[group.len() - 1] as usize];
            match (item.name, last.name) {
                (Some(a), Some(b)) => a == b,
                _ => item.is_flag() && last.is_flag() && item.at.distance(last.at) < STEP_M,
            }
        };
        let at = groups.iter_mut().rev().find(joins);
        match at {
            Some(group) => group.push(k as u16),
            None => groups.push(vec![k as u16]),
        }
    }
    let mut lines = Vec::new();
    for group in groups {
        let whole = vec![Leg { kind: LegKind::Any, items: group.clone() }];
        match Line::new(model, whole, shared) {
            Some(line) if group.len() > 1 || !items[group[0] as usize].is_flag() => {
                lines.push(Arc::new(line))
            }
            _ => {}
        }
    }
    State::new(model, lines, shared)
}

/// Flags of one walk stand no further apart, metres. Where chains begin; no part of the law.
const STEP_M: f64 = 4.0;

fn watched(model: &Model, chains: &[Ladder]) -> Vec<(String, Vec<Vec<f64>>)> {
    let of = |name: &str, value: &dyn Fn(&State) -> f64| {
        let rows = chains.iter().map(|chain| chain.states.iter().map(|state| value(state)).collect());
        (name.to_owned(), rows.collect())
    };
    let items = model.evidence.items.len() as f64;
    let on_lines = |state: &State| state.lines.iter().map(|line| line.len()).sum::<usize>() as f64;
    vec![
        of("log density", &|state| state.log_density),
        of("metal lines", &|state| state.lines.len() as f64),
        of("stray flags", &|state| items - on_lines(state)),
        of("legs", &|state| state.lines.iter().map(|line| line.legs.len()).sum::<usize>() as f64),
    ]
}

/// What the convergence checks say of numbers, chain after chain.
pub fn judge(watched: &[(String, Vec<Vec<f64>>)]) -> Checked {
    let rows: Vec<(&String, Chains)> = watched
        .iter()
        .map(|(name, rows)| (name, Chains::new(rows).expect("chains are as long as each other")))
        .collect();
    let quantity = |(name, chains)| Quantity { name: String::clone(name), kind: Kind::Scalar, chains };
    let quantities: Vec<Quantity<'_>> = rows.iter().map(|(name, chains)| quantity((name, chains))).collect();
    check(&quantities, &Thresholds::default(), None).expect("numbers to be judged")
}
