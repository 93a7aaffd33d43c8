//! Belts: where the straight lines in one direction meet footprints.
//!
//! Across its direction a connected footprint takes an interval: a line meets it exactly if it passes there. Long
//! footprints are cut into strips along, so that it is known how far along a line meets them.

use crate::geometry::{Footprint, Point, Rounded};
use std::f64::consts::PI;

/// Directions that stand for all. Numerical choice: every 2 degrees, half of what a hole of 0.25 m takes at 6 m.
pub const DIRECTIONS: usize = 90;

/// Greatest extent of a strip's core along, metres. Numerical choice: half the diameter of a wide probe.
pub const STRIP_M: f64 = 0.5;

/// Part of a footprint, as lines in one direction meet it.
#[derive(Clone, Copy, Debug)]
pub struct Strip {
    /// Its middle along.
    pub along: f64,
    /// From where to where across, to the left.
    pub across: (f64, f64),
}

/// Lines at these places across meet a look.
#[derive(Clone, Copy, Debug)]
pub struct Crossed {
    /// Place of the look.
    pub look: usize,
    /// From where to where across.
    pub across: (f64, f64),
}

/// The directions, as unit vectors.
pub fn directions() -> impl Iterator<Item = Point> {
    (0..DIRECTIONS).map(|k| Point::unit(PI * (k as f64 + 0.5) / DIRECTIONS as f64))
}

/// Where a footprint lies across a direction.
pub fn across(footprint: &Footprint, along: Point) -> (f64, f64) {
    let left = along.left();
    let parts = footprint.parts().iter();
    hull(parts.flat_map(|part| {
        part.corners.iter().map(move |c| (c.dot(left) - part.radius, c.dot(left) + part.radius))
    }))
}

/// The strips of a footprint.
pub fn strips(footprint: &Footprint, along: Point) -> Vec<Strip> {
    footprint.parts().iter().flat_map(|part| strips_of(part, along)).collect()
}

fn strips_of(part: &Rounded, along: Point) -> Vec<Strip> {
    let core: Vec<(f64, f64)> = part.corners.iter().map(|c| (c.dot(along), c.dot(along.left()))).collect();
    let (low, high) = hull(core.iter().map(|&(s, _)| (s, s)));
    let count = ((high - low) / STRIP_M).ceil().max(1.0) as usize;
    let cut = |k: usize| low + (high - low) * k as f64 / count as f64;
    let strip = |k: usize| {
        let (from, to) = if count == 1 { (low, high) } else { (cut(k), cut(k + 1)) };
        let (right, left) = between(&core, from, to);
        Strip { along: 0.5 * (from + to), across: (right - part.radius, left + part.radius) }
    };
    (0..count).map(strip).collect()
}

/// How far a convex core, given as (along, across), reaches across between two places along.
fn between(core: &[(f64, f64)], from: f64, to: f64) -> (f64, f64) {
    let corners = core.iter().filter(|(s, _)| (from..=to).contains(s)).map(|&(_, t)| t);
    let edges = (0..core.len()).map(|k| (core[k], core[(k + 1) % core.len()]));
    let cuts = edges.flat_map(|((s0, t0), (s1, t1))| {
        [from, to].into_iter().filter_map(move |s| {
            let share = (s - s0) / (s1 - s0);
            (s1 != s0 && (0.0..=1.0).contains(&share)).then_some(t0 + share * (t1 - t0))
        })
    });
    hull(corners.chain(cuts).map(|t| (t, t)))
}

/// The least interval that holds all.
fn hull(intervals: impl Iterator<Item = (f64, f64)>) -> (f64, f64) {
    intervals.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), (l, h)| (low.min(l), high.max(h)))
}

/// The stretches of an interval across, in order, each with its width and the looks that lines there meet.
pub fn met_beside(near: &[Crossed], (low, high): (f64, f64)) -> Vec<(f64, Vec<usize>)> {
    let mut ends = vec![low, high];
    let inner = near.iter().flat_map(|crossed| [crossed.across.0, crossed.across.1]);
    ends.extend(inner.filter(|t| low < *t && *t < high));
    ends.sort_by(f64::total_cmp);
    let stretch = |pair: &[f64]| {
        let middle = 0.5 * (pair[0] + pair[1]);
        let meets = |crossed: &&Crossed| crossed.across.0 <= middle && middle <= crossed.across.1;
        let mut looks: Vec<usize> = near.iter().filter(meets).map(|crossed| crossed.look).collect();
        looks.sort_unstable();
        looks.dedup();
        (pair[1] - pair[0], looks)
    };
    ends.windows(2).map(stretch).collect()
}
