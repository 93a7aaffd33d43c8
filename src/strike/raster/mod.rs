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

use crate::class::Class;
use crate::geometry::Point;
use crate::layout::{Piece, Pieces};
use fearless_simd::{Level, Simd, dispatch};
use fill::Filler;
use ndarray::Array2;
use outline::{Mould, Outline, Run};
use planes::{GROUP, LANES, Planes};
use rayon::prelude::*;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Mutex, PoisonError};

/// Draws that one task adds up before it hands its counts on: what eight bits hold, in whole groups.
const BLOCK: usize = 255 / GROUP * GROUP;

/// Bytes of bit planes that a task works on at a time: half of a common second-level cache (common practice, no source).
const BAND_BYTES: usize = 256 << 10;

/// A convex part of a dig: its corners relative to the dig's reference point, in metres, swept by a disc of
/// `radius_m`. A single corner makes a disc, two make a capsule.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part<'a> {
    /// Corners relative to the reference point, metres; only their convex hull matters.
    pub corners: &'a [Point],
    /// Rounding radius, metres.
    pub radius_m: f64,
}

/// Counts, for every cell, the draws in which the dig meets a line when its reference point is at the cell's centre.
///
/// A line counts if its class is in `classes` and its cover is less than `depth_m` (metres); its outside radius
/// widens it. Row 0 of the result is the north edge of the grid. Runs on rayon's current pool.
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
    let words = grid.cols.div_ceil(64);
    let mut counts = Array2::zeros((grid.rows, grid.cols));
    if words == 0 || grid.rows == 0 {
        return Some(counts);
    }
    let moulds: Vec<Mould> = parts.iter().filter_map(|part| Mould::new(part, grid)).collect();
    let height = band_rows(words, grid.rows);
    let bands: Vec<Mutex<&mut [u32]>> =
        counts.as_slice_mut()?.chunks_mut(height * grid.cols).map(Mutex::new).collect();
    let counts_as =
        |piece: &Piece| classes.contains(piece.class) || piece.wire && classes.contains(Class::ControlWire);
    let struck = |piece: &Piece| counts_as(piece) && f64::from(piece.cover_m) < depth_m;
    let level = Level::new();
    let stopped = AtomicBool::new(false);

    let block = block_draws(pieces.draws(), rayon::current_num_threads());
    (0..pieces.draws().div_ceil(block)).into_par_iter().for_each(|task| {
        let draws = task * block..pieces.draws().min((task + 1) * block);
        let mut buckets: Vec<Vec<(usize, Run)>> = vec![Vec::new(); bands.len()];
        for (at, k) in draws.enumerate() {
            for piece in pieces.draw(k).iter().filter(|piece| struck(piece)) {
                let run = Run::new(piece, grid);
                if let Some((first, last)) = run.rows(&moulds, grid) {
                    buckets[first / height..=last / height].iter_mut().for_each(|b| b.push((at, run)));
                }
            }
        }
        let mut planes = Planes::new(words, height);
        let mut outline = Outline::default();
        for step in 0..bands.len() {
            // Tasks start at different bands, so that they seldom wait for each other's.
            let band = (step + task) % bands.len();
            if stopped.load(Ordering::Relaxed) || cancel() {
                stopped.store(true, Ordering::Relaxed);
                return;
            }
            let filler = Filler { words, height, first_row: band * height };
            dispatch!(level, simd => simd.vectorize(
                #[inline(always)]
                || draw_band(&buckets[band], &moulds, filler, &mut outline, &mut planes)
            ));
            let mut out = bands[band].lock().unwrap_or_else(PoisonError::into_inner);
            planes.flush(&mut out, grid.cols);
        }
    });
    drop(bands);
    (!stopped.into_inner()).then_some(counts)
}

/// Adds the draws of a band's bucket to the counters, group after group.
#[inline(always)]
fn draw_band(
    bucket: &[(usize, Run)],
    moulds: &[Mould],
    filler: Filler,
    outline: &mut Outline,
    planes: &mut Planes,
) {
    for group in bucket.chunk_by(|&(a, _), &(b, _)| a / GROUP == b / GROUP) {
        for (at, run) in group {
            let plane = planes.draw_mut(at % GROUP);
            for mould in moulds {
                outline.cast(mould, run);
                filler.fill(outline, plane);
            }
        }
        planes.add_group();
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
