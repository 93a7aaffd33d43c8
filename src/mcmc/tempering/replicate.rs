//! One replicate of the ladder: replicas that move, swap places and are followed.

use super::trips::Journey;
use super::{Error, Ladder, Record, Target, swap};
use crate::rng::{self, Stream};

/// Streams of tempering have the top bit set, so that a caller may use the same seed for anything else below.
const STREAMS: u64 = 1 << 63;

/// Draws of the reference in search of a start that the target does not exclude.
const STARTS: usize = 100;

/// A state on its way along the ladder.
struct Replica<S> {
    state: S,
    energy: f64,
    journey: Journey,
}

/// A replicate. Its sweeps depend on its own streams alone, one for each chain.
pub(super) struct Replicate<S> {
    replicas: Vec<Replica<S>>,
    /// The replica that each chain holds: swapping two numbers is cheaper than two states.
    order: Vec<usize>,
    rngs: Vec<Stream>,
    sweeps: usize,
    record: Record<S>,
}

/// Streams of the chains of a replicate. `phase` tells rounds of tuning and the run itself apart.
fn streams(seed: u64, phase: usize, replicate: usize, chains: usize) -> Vec<Stream> {
    let first = STREAMS | (phase as u64) << 40 | (replicate as u64) << 20;
    (0..chains).map(|chain| rng::stream(seed, first | chain as u64)).collect()
}

impl<S: Clone> Replicate<S> {
    /// A replicate that starts from draws of the reference.
    pub(super) fn new<T: Target<State = S>>(target: &T, chains: usize, seed: u64, replicate: usize) -> Self {
        let mut rngs = streams(seed, 0, replicate, chains);
        let start = |rng: &mut Stream| {
            let mut state = target.reference(rng);
            let mut energy = target.energy(&state);
            for _ in 1..STARTS {
                if energy > f64::NEG_INFINITY {
                    break;
                }
                state = target.reference(rng);
                energy = target.energy(&state);
            }
            (state, energy)
        };
        let states = rngs.iter_mut().map(start).collect();
        Self::at(states, rngs)
    }

    /// The same replicate on another ladder, its record empty. A chain takes over the state of the nearest chain of the old
    /// ladder that is no hotter, which the target cannot exclude if it excludes none above the reference.
    pub(super) fn moved(
        &self,
        old: &Ladder,
        new: &Ladder,
        seed: u64,
        phase: usize,
        replicate: usize,
    ) -> Self {
        let states = new.betas().iter().map(|&beta| {
            let chain = old.betas().partition_point(|&known| known < beta).min(old.chains() - 1);
            let replica = &self.replicas[self.order[chain]];
            (replica.state.clone(), replica.energy)
        });
        Self::at(states.collect(), streams(seed, phase, replicate, new.chains()))
    }

    fn at(states: Vec<(S, f64)>, rngs: Vec<Stream>) -> Self {
        let chains = states.len();
        let replica = |(state, energy)| Replica { state, energy, journey: Journey::Fresh };
        Self {
            replicas: states.into_iter().map(replica).collect(),
            order: (0..chains).collect(),
            rngs,
            sweeps: 0,
            record: Record::new(chains),
        }
    }

    pub(super) fn record(&self) -> &Record<S> {
        &self.record
    }

    pub(super) fn into_states(self) -> Vec<S> {
        self.record.states
    }

    /// Empties the record; the replicas stay where they are.
    pub(super) fn forget(&mut self) {
        self.record = Record::new(self.order.len());
    }

    /// `sweeps` sweeps, keeping one target state in `thin`, or none.
    pub(super) fn advance<T: Target<State = S>>(
        &mut self,
        target: &T,
        ladder: &Ladder,
        sweeps: usize,
        thin: Option<usize>,
    ) -> Result<(), Error> {
        for _ in 0..sweeps {
            self.sweep(target, ladder, swap::log_ratio)?;
            if thin.is_some_and(|thin| self.sweeps.is_multiple_of(thin)) {
                self.keep()?;
            }
        }
        Ok(())
    }

    /// Explores every chain, then offers the swaps whose turn it is. The swap rule is an argument so that tests may plant a
    /// wrong one.
    pub(super) fn sweep<T: Target<State = S>>(
        &mut self,
        target: &T,
        ladder: &Ladder,
        log_ratio: impl Fn(f64, f64, f64) -> f64,
    ) -> Result<(), Error> {
        self.explore(target, ladder)?;
        let energy = |replicate: &Self, chain: usize| replicate.replicas[replicate.order[chain]].energy;
        let steps = ladder.betas().windows(2).map(|pair| pair[1] - pair[0]).enumerate();
        for (low, step) in steps.clone() {
            let (below, above) = (energy(self, low), energy(self, low + 1));
            self.record.pairs[low].see(step, below, above);
        }
        for (low, step) in steps.skip(self.sweeps % 2).step_by(2) {
            let log_ratio = log_ratio(step, energy(self, low), energy(self, low + 1));
            let (chance, accepted) = swap::offered(log_ratio, &mut self.rngs[low]);
            self.record.pairs[low].offer(chance, accepted);
            if accepted {
                self.order.swap(low, low + 1);
            }
        }
        self.follow();
        self.sweeps += 1;
        Ok(())
    }

    fn explore<T: Target<State = S>>(&mut self, target: &T, ladder: &Ladder) -> Result<(), Error> {
        let fresh = target.independent();
        for (chain, &beta) in ladder.betas().iter().enumerate() {
            let replica = &mut self.replicas[self.order[chain]];
            let rng = &mut self.rngs[chain];
            if chain == 0 && fresh {
                replica.state = target.reference(rng);
            } else {
                target.explore(&mut replica.state, beta, rng, &mut self.record.moves[chain]);
            }
            if target.is_spent() {
                return Err(Error::Spent);
            }
            let energy = target.energy(&replica.state);
            if energy.is_nan() || energy == f64::INFINITY {
                return Err(Error::BadEnergy { energy, beta });
            }
            replica.energy = energy;
        }
        Ok(())
    }

    fn follow(&mut self) {
        let trips = &mut self.record.trips;
        trips.at_reference(&mut self.replicas[self.order[0]].journey);
        trips.at_target(&mut self.replicas[self.order[self.order.len() - 1]].journey);
    }

    fn keep(&mut self) -> Result<(), Error> {
        let replica = &self.replicas[self.order[self.order.len() - 1]];
        if replica.energy == f64::NEG_INFINITY {
            return Err(Error::OutsideTarget);
        }
        self.record.states.push(replica.state.clone());
        self.record.energies.push(replica.energy);
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::super::Counts;
    use super::*;
    use rand::RngExt;

    const PLACES: i64 = 21;
    const REPLICATES: usize = 24;

    /// Two wells of unequal depth on 0..21 with a wall of e^-9 between them; reference uniform.
    #[derive(Clone, Copy)]
    struct Wells {
        /// Planted fault: every chain explores the target.
        deaf_to_beta: bool,
    }

    impl Target for Wells {
        type State = i64;

        fn reference(&self, rng: &mut Stream) -> i64 {
            rng.random_range(0..PLACES)
        }

        fn independent(&self) -> bool {
            true
        }

        fn energy(&self, &place: &i64) -> f64 {
            let across = (place - 10) as f64 / 6.0;
            -9.0 * (across * across - 1.0).powi(2) + 0.5 * across
        }

        fn explore(&self, state: &mut i64, beta: f64, rng: &mut Stream, counts: &mut Counts) {
            let beta = if self.deaf_to_beta { 1.0 } else { beta };
            for _ in 0..4 {
                let next = *state + if rng.random() { 1 } else { -1 };
                let inside = (0..PLACES).contains(&next);
                let chance =
                    if inside { (beta * (self.energy(&next) - self.energy(state))).exp() } else { 0.0 };
                let accepted = rng.random::<f64>() < chance;
                counts.note("step", accepted);
                if accepted {
                    *state = next;
                }
            }
        }
    }

    /// Four cells of places; shares 0.04 to 0.54 at the target.
    fn cell(place: i64) -> usize {
        [4, 10, 16].into_iter().filter(|&edge| place >= edge).count()
    }

    /// Greatest |t| over four cells, of shares in 24 replicates of 12,000 sweeps after 200 uncounted against enumeration.
    fn worst(wells: Wells, log_ratio: fn(f64, f64, f64) -> f64) -> f64 {
        let weights: Vec<f64> = (0..PLACES).map(|place| wells.energy(&place).exp()).collect();
        let ladder = Ladder::even(6);
        let share = |k: usize| {
            let mut replicate = Replicate::new(&wells, ladder.chains(), 11, k);
            let mut shares = [0.0; 4];
            for sweep in 0..12_200 {
                replicate.sweep(&wells, &ladder, log_ratio).expect("finite energies");
                if sweep >= 200 {
                    shares[cell(replicate.replicas[replicate.order[5]].state)] += 1.0 / 12_000.0;
                }
            }
            shares
        };
        let shares: Vec<[f64; 4]> = (0..REPLICATES).map(share).collect();
        let count = REPLICATES as f64;
        let off = |k: usize| {
            let inside: f64 =
                (0..PLACES).filter(|&place| cell(place) == k).map(|place| weights[place as usize]).sum();
            let exact = inside / weights.iter().sum::<f64>();
            let mean = shares.iter().map(|share| share[k]).sum::<f64>() / count;
            let squares: f64 = shares.iter().map(|share| (share[k] - mean).powi(2)).sum();
            (mean - exact).abs() / (squares / (count - 1.0) / count).sqrt()
        };
        (0..4).map(off).fold(0.0, f64::max)
    }

    const SOUND: Wells = Wells { deaf_to_beta: false };

    /// |t| < 6 with 23 degrees of freedom over four cells: false alarm 2e-5. A share is known to 0.002 or better, so that
    /// an error of 0.015 is caught.
    #[test]
    fn shares_of_two_wells_follow_enumeration() {
        let worst = worst(SOUND, swap::log_ratio);
        assert!(worst < 6.0, "{worst}");
    }

    /// Planted faults, same statistic: one of the two energies left out, the ratio upside down, swaps always accepted, kernels
    /// that do not heed the inverse temperature.
    #[test]
    fn wrong_swaps_and_deaf_kernels_are_noticed() {
        let wrong: [fn(f64, f64, f64) -> f64; 4] = [
            |step, low, _| step * low,
            |step, _, high| -step * high,
            |step, low, high| step * (high - low),
            |_, _, _| 0.0,
        ];
        for (k, log_ratio) in wrong.into_iter().enumerate() {
            let worst = worst(SOUND, log_ratio);
            assert!(worst > 6.0, "swap fault {k}: {worst}");
        }
        let worst = worst(Wells { deaf_to_beta: true }, swap::log_ratio);
        assert!(worst > 6.0, "deaf: {worst}");
    }
}
