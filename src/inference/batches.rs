//! Work on many things in parallel, in batches sized by the clock, with a monitor told in between.

use crate::error::Error;
use crate::monitor::Monitor;
use rayon::prelude::*;
use std::time::{Duration, Instant};

/// The monitor is told at least about this often.
const BEAT: Duration = Duration::from_millis(40);

/// Runs `work` for each of `0..total` in parallel batches sized by the clock, telling the monitor in between.
///
/// # Errors
/// The first error of `work` in order, or [`Error::Interrupted`].
pub fn in_batches<T: Send>(
    total: usize,
    monitor: &dyn Monitor,
    work: impl Fn(usize) -> Result<T, Error> + Sync,
) -> Result<Vec<T>, Error> {
    let mut done = Vec::with_capacity(total);
    let mut batch = rayon::current_num_threads().max(1);
    while done.len() < total {
        if !monitor.tick(done.len(), total) {
            return Err(Error::Interrupted);
        }
        let began = Instant::now();
        let end = total.min(done.len() + batch);
        let fresh: Result<Vec<T>, Error> = (done.len()..end).into_par_iter().map(&work).collect();
        done.extend(fresh?);
        let took = began.elapsed();
        if took < BEAT / 2 {
            batch *= 2;
        } else if took > BEAT {
            batch = (batch / 2).max(1);
        }
    }
    monitor.tick(total, total);
    Ok(done)
}
