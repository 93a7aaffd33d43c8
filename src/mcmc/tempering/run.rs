//! Tuning a ladder, running it in several replicates, and going on from where a run stands.

use super::ladder::chains_for;
use super::replicate::Replicate;
use super::{Barrier, Counts, Error, Ladder, Options, Record, Target, round_trip_rate};
use crate::monitor::Monitor;
use rayon::prelude::*;
use std::time::{Duration, Instant};

/// The monitor is told at least about this often, unless one sweep takes longer.
const BEAT: Duration = Duration::from_millis(40);

/// A run: several replicates of one ladder, which can be continued. The replicates share the inverse temperatures and nothing
/// else, so that comparing them (R-hat) says whether each has forgotten its start.
pub struct Run<T: Target> {
    target: T,
    ladder: Ladder,
    replicates: Vec<Replicate<T::State>>,
    thin: usize,
    sweeps: usize,
}

/// Log of a ratio of normalising constants.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LogNormaliser {
    /// Mean over replicates.
    pub value: f64,
    /// Standard error from the scatter of the replicates (one degree of freedom fewer than there are); none for one replicate.
    pub standard_error: Option<f64>,
}

/// Tunes a ladder for the target and runs it for `options.sweeps` sweeps.
///
/// # Errors
/// [`Error::BadOption`]; [`Error::BadEnergy`]; [`Error::OutsideTarget`]; [`Error::Interrupted`] if the monitor says so.
pub fn run<T: Target>(target: T, options: &Options, monitor: &dyn Monitor) -> Result<Run<T>, Error> {
    let tuning = options.tuning_sweeps()?;
    let total = tuning.saturating_add(options.sweeps);
    let mut run = Run::tuned(target, options, &Share { monitor, before: 0, total })?;
    run.advance(options.sweeps, &Share { monitor, before: tuning, total })?;
    Ok(run)
}

/// Part of a longer piece of work, told to the monitor as part of the whole.
struct Share<'m> {
    monitor: &'m dyn Monitor,
    before: usize,
    total: usize,
}

impl Monitor for Share<'_> {
    fn tick(&self, done: usize, _total: usize) -> bool {
        self.monitor.tick(self.before + done, self.total)
    }
}

impl<T: Target> Run<T> {
    /// A run of no sweeps yet on a ladder tuned in rounds of doubling length. After each round the rejections of all replicates
    /// say how many chains there should be and where (Syed et al. 2022); after the last round the ladder is frozen and
    /// what was counted is dropped. `options.sweeps` is left to the caller.
    ///
    /// # Errors
    /// [`Error::BadOption`]; [`Error::BadEnergy`]; [`Error::Interrupted`].
    pub fn tuned(target: T, options: &Options, monitor: &dyn Monitor) -> Result<Self, Error> {
        let total = options.tuning_sweeps()?;
        let mut run = Self::with_ladder(target, Ladder::even(options.first_chains()), options)?;
        let mut before = 0;
        for round in 0..options.rounds {
            let sweeps = Options::round_sweeps(round);
            run.sweep(sweeps, None, &Share { monitor, before, total })?;
            before += sweeps;
            run.tune(options, round + 1);
        }
        Ok(run)
    }

    /// A run of no sweeps yet on a given ladder, from draws of the reference. Let it [`settle`](Self::settle) first.
    ///
    /// # Errors
    /// [`Error::BadOption`].
    pub fn with_ladder(target: T, ladder: Ladder, options: &Options) -> Result<Self, Error> {
        options.check()?;
        let start = |k| Replicate::new(&target, ladder.chains(), options.seed, k);
        let replicates = (0..options.replicates).into_par_iter().map(start).collect();
        Ok(Self { target, ladder, replicates, thin: options.thin, sweeps: 0 })
    }

    /// Another `sweeps` sweeps of every replicate. A run continued in pieces equals one of the whole length, bit for bit. If
    /// the monitor stops it, the sweeps done so far stay and it can be continued.
    ///
    /// # Errors
    /// [`Error::BadEnergy`]; [`Error::OutsideTarget`]; [`Error::Interrupted`].
    pub fn advance(&mut self, sweeps: usize, monitor: &dyn Monitor) -> Result<(), Error> {
        self.sweep(sweeps, Some(self.thin), monitor)
    }

    /// Sweeps that leave no trace in the records, and empties these: a start that is not to count.
    ///
    /// # Errors
    /// [`Error::BadEnergy`]; [`Error::Interrupted`].
    pub fn settle(&mut self, sweeps: usize, monitor: &dyn Monitor) -> Result<(), Error> {
        let done = self.sweep(sweeps, None, monitor);
        self.replicates.iter_mut().for_each(Replicate::forget);
        self.sweeps = 0;
        done
    }

    /// The target.
    pub fn target(&self) -> &T {
        &self.target
    }

    /// The ladder.
    pub fn ladder(&self) -> &Ladder {
        &self.ladder
    }

    /// Sweeps on record, of each replicate.
    pub fn sweeps(&self) -> usize {
        self.sweeps
    }

    /// What each replicate has kept and counted.
    pub fn records(&self) -> impl ExactSizeIterator<Item = &Record<T::State>> {
        self.replicates.iter().map(Replicate::record)
    }

    /// The states of the target that each replicate has kept.
    pub fn into_states(self) -> Vec<Vec<T::State>> {
        self.replicates.into_iter().map(Replicate::into_states).collect()
    }

    /// Rejection rate of each pair of neighbours, all replicates together. None before every pair was offered a swap.
    pub fn rejections(&self) -> Option<Vec<f64>> {
        let rejection = |pair: usize| {
            let pairs = self.records().map(|record| &record.pairs()[pair]);
            let (tried, accepted) =
                pairs.fold((0, 0.0), |(tried, sum), pair| (tried + pair.tried(), sum + pair.acceptance()));
            (tried > 0).then(|| (1.0 - accepted / tried as f64).max(0.0))
        };
        (0..self.ladder.chains() - 1).map(rejection).collect()
    }

    /// The communication barrier. None before every pair was offered a swap.
    pub fn barrier(&self) -> Option<Barrier> {
        self.rejections().map(|rejections| Barrier::new(self.ladder.betas(), &rejections))
    }

    /// Log of the target's normalising constant over the reference's. None before the first sweep.
    pub fn log_normaliser(&self) -> Option<LogNormaliser> {
        let values: Vec<f64> = self.records().map(Record::log_normaliser).collect::<Option<_>>()?;
        let count = values.len() as f64;
        let value = values.iter().sum::<f64>() / count;
        let squares: f64 = values.iter().map(|v| (v - value).powi(2)).sum();
        let standard_error = (values.len() > 1).then(|| (squares / (count - 1.0) / count).sqrt());
        Some(LogNormaliser { value, standard_error })
    }

    /// Proposals tried and accepted in each chain, from the reference up, all replicates together.
    pub fn moves(&self) -> Vec<Counts> {
        let mut moves = vec![Counts::default(); self.ladder.chains()];
        for record in self.records() {
            moves.iter_mut().zip(record.moves()).for_each(|(sum, counts)| sum.merge(counts));
        }
        moves
    }

    /// Arrivals of a replica at the target from the reference, all replicates together.
    pub fn restarts(&self) -> u64 {
        self.records().map(Record::restarts).sum()
    }

    /// Trips of a replica from the reference to the target and back, all replicates together.
    pub fn round_trips(&self) -> u64 {
        self.records().map(Record::round_trips).sum()
    }

    /// Round trips to expect of the sweeps done, all replicates together, if exploration is what it should be (see
    /// [`round_trip_rate`]). None before every pair was offered a swap.
    pub fn expected_round_trips(&self) -> Option<f64> {
        let sweeps = (self.sweeps * self.replicates.len()) as f64;
        self.rejections().map(|rejections| sweeps * round_trip_rate(&rejections))
    }

    /// Sweeps in batches sized by the clock; all replicates do a batch side by side.
    fn sweep(&mut self, sweeps: usize, thin: Option<usize>, monitor: &dyn Monitor) -> Result<(), Error> {
        let (mut done, mut batch) = (0, 1);
        while done < sweeps {
            if !monitor.tick(done, sweeps) {
                return Err(Error::Interrupted);
            }
            let began = Instant::now();
            let size = batch.min(sweeps - done);
            let (target, ladder) = (&self.target, &self.ladder);
            let advance = |replicate: &mut Replicate<_>| replicate.advance(target, ladder, size, thin);
            let outcomes: Vec<_> = self.replicates.par_iter_mut().map(advance).collect();
            outcomes.into_iter().collect::<Result<(), Error>>()?;
            done += size;
            self.sweeps += size;
            let took = began.elapsed();
            if took < BEAT / 2 {
                batch *= 2;
            } else if took > BEAT {
                batch = (batch / 2).max(1);
            }
        }
        monitor.tick(sweeps, sweeps);
        Ok(())
    }

    /// Spaces the ladder anew from what the replicates have met, and empties their records.
    fn tune(&mut self, options: &Options, phase: usize) {
        let rejections = self.rejections().unwrap_or_else(|| vec![0.0; self.ladder.chains() - 1]);
        let chains = chains_for(rejections.iter().sum(), options.most_chains);
        let first = self.records().map(|record| record.pairs()[0].excluded());
        let (seen, excluded) = first.fold((0, 0), |sum, pair| (sum.0 + pair.0, sum.1 + pair.1));
        let excluded = if seen == 0 { 0.0 } else { excluded as f64 / seen as f64 };
        let ladder = self.ladder.respaced(&rejections, excluded, chains);
        let moved = |(k, replicate): (usize, &Replicate<_>)| {
            replicate.moved(&self.ladder, &ladder, options.seed, phase, k)
        };
        self.replicates = self.replicates.iter().enumerate().map(moved).collect();
        self.ladder = ladder;
        self.sweeps = 0;
    }
}
