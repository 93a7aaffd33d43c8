//! The exact map: in how many draws does a dig, centred on each cell, meet a line?
//!
//! A dig moved by `x` meets a straight piece exactly if `x` lies in the Minkowski sum of the piece and the
//! mirrored dig: a rounded convex outline per piece and convex part of the dig. A row of cell centres cuts such an
//! outline in one interval, known in closed form (`outline`). The intervals of a draw are OR-ed as bits, one bit
//! per cell, so that a cell counts once however many pieces meet there (`fill`); draws are added up by
//! bit-sliced counters (`planes`). All counts are integers: no result depends on the number of threads.
//!
//! A centre on the outline itself is met (closed sets). Rounding may decide a centre otherwise only where it lies
//! within 1e-9 m of an outline, for sites up to 10 km across.

mod fill;
mod grid;
mod outline;
mod planes;
#[cfg(test)]
mod tests;

pub use grid::{ClassMask, Grid};
pub use outline::Part;

use crate::class::Class;
use crate::layout::{Piece, Pieces};
use fearless_simd::{Level, Simd, dispatch};
use fill::Filler;
use grid::Frame;
use ndarray::Array2;
use outline::{Mould, Outline, Run};
use planes::{GROUP, LANES, Planes};
use rayon::prelude::*;
use std::ops::Range;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, PoisonError};

/// Draws that one task adds up before it hands its counts on: what eight bits hold, in whole groups.
const BLOCK: usize = 255 / GROUP * GROUP;

/// Bytes of bit planes that a task works on at a time: half of a common second-level cache (common practice, no source).
const BAND_BYTES: usize = 256 << 10;

/// Counts, for every cell, the draws in which the dig meets a line when its reference point is at the cell's centre.
///
/// A line counts if its class, or that of the wire beside it, is in `classes` and its cover is less than `depth_m` (metres);
/// its outside radius widens it. Row 0 of the result is the north edge of the grid. Runs on rayon's current pool.
///
/// `cancel` is asked every few milliseconds from the pool's threads; once it says yes the result is `None`.
pub fn strike_counts(
    pieces: &Pieces,
    grid: &Grid,
    parts: &[Part<'_>],
    depth_m: f64,
    classes: ClassMask,
    cancel: &(dyn Fn() -> bool + Sync),
) -> Option<Array2<u32>> {
    let mut counts = Array2::zeros((grid.rows, grid.cols));
    if counts.is_empty() {
        return Some(counts);
    }
    let frame = Frame::new(grid);
    let words = grid.cols.div_ceil(64);
    let height = band_rows(words, grid.rows);
    let job = Job {
        pieces,
        moulds: parts.iter().filter_map(|part| Mould::new(part, &frame)).collect(),
        frame,
        depth_m,
        classes,
        words,
        height,
        bands: counts.as_slice_mut()?.chunks_mut(height * grid.cols).map(Mutex::new).collect(),
    };
    let block = block_draws(pieces.draws(), rayon::current_num_threads());
    let level = Level::new();
    let stopped = AtomicBool::new(false);
    let stop = || {
        let now = stopped.load(Ordering::Relaxed) || cancel();
        stopped.fetch_or(now, Ordering::Relaxed);
        now
    };
    (0..pieces.draws().div_ceil(block)).into_par_iter().for_each(|task| {
        let draws = task * block..pieces.draws().min((task + 1) * block);
        // The same code, compiled once for each kind of vector register.
        dispatch!(level, simd => simd.vectorize(
            #[inline(always)]
            || job.add_block(draws, task, &stop)
        ));
    });
    drop(job);
    (!stopped.into_inner()).then_some(counts)
}

/// What all tasks of one map share.
struct Job<'a> {
    pieces: &'a Pieces,
    moulds: Vec<Mould>,
    frame: Frame,
    depth_m: f64,
    classes: ClassMask,
    /// Columns of words.
    words: usize,
    /// Rows of a band.
    height: usize,
    /// The counts of each band of rows.
    bands: Vec<Mutex<&'a mut [u32]>>,
}

impl Job<'_> {
    /// Adds the counts of some draws, band after band beginning with `first_band`.
    #[inline(always)]
    fn add_block(&self, draws: Range<usize>, first_band: usize, stop: &dyn Fn() -> bool) {
        let buckets = self.buckets(draws);
        let mut planes = Planes::new(self.words, self.height);
        let mut outline = Outline::default();
        for step in 0..self.bands.len() {
            if stop() {
                return;
            }
            // Tasks begin at different bands, so that they seldom wait for each other's.
            let band = (step + first_band) % self.bands.len();
            let filler = Filler { words: self.words, height: self.height, first_row: band * self.height };
            for group in buckets[band].chunk_by(|&(a, _), &(b, _)| a / GROUP == b / GROUP) {
                for (at, run) in group {
                    let plane = planes.draw_mut(at % GROUP);
                    for mould in &self.moulds {
                        outline.cast(mould, run);
                        filler.fill(&outline, plane);
                    }
                }
                planes.add_group();
            }
            let mut counts = self.bands[band].lock().unwrap_or_else(PoisonError::into_inner);
            planes.flush(&mut counts, self.frame.cols);
        }
    }

    /// The runs that count, by the bands they reach, each with its draw's number in the block.
    #[inline(always)]
    fn buckets(&self, draws: Range<usize>) -> Vec<Vec<(usize, Run)>> {
        let mut buckets = vec![Vec::new(); self.bands.len()];
        for (at, k) in draws.enumerate() {
            for piece in self.pieces.draw(k).iter().filter(|piece| self.is_struck(piece)) {
                let run = Run::new(piece, &self.frame);
                if let Some((first, last)) = run.rows(&self.moulds, &self.frame) {
                    for bucket in &mut buckets[first / self.height..=last / self.height] {
                        bucket.push((at, run));
                    }
                }
            }
        }
        buckets
    }

    /// Whether a dig that meets the piece in plan strikes a line that is asked for.
    #[inline(always)]
    fn is_struck(&self, piece: &Piece) -> bool {
        let asked = |class| self.classes.contains(class);
        (asked(piece.class) || piece.wire && asked(Class::ControlWire))
            && f64::from(piece.cover_m) < self.depth_m
    }
}

/// Rows of a band, so that the planes of a group of draws fit [`BAND_BYTES`]: whole lanes.
fn band_rows(words: usize, rows: usize) -> usize {
    let fit = BAND_BYTES / (8 * GROUP * words) / LANES * LANES;
    let bands = rows.div_ceil(fit.max(LANES));
    rows.div_ceil(bands).next_multiple_of(LANES)
}

/// Draws of one task: whole groups, at most [`BLOCK`], the same number of tasks for every thread.
fn block_draws(draws: usize, threads: usize) -> usize {
    let rounds = draws.div_ceil(threads * BLOCK).max(1);
    draws.div_ceil(threads * rounds).next_multiple_of(GROUP).clamp(GROUP, BLOCK)
}
