//! Marks of the runs that looks may meet, given the trees and what was seen; then unknown lines that explain a find.
//!
//! For each run in turn the set H of finds at which it is met is drawn from its exact chance (by inclusion and exclusion
//! over the sets of looks that miss it) times the chance that what is left explains the other finds. Given H the marks
//! are drawn from their law until they answer. A find that no run of the draw explains is an unknown line or false.

use super::observed_system::ObservedSystem;
use super::weighed::{Chosen, Posterior};
use crate::class::Class;
use crate::effort;
use crate::geometry::Point;
use crate::layout::{Kind, Piece, Run, Tree};
use crate::strike::{Find, Observation};
use rand::{Rng, RngExt};
use std::sync::Arc;

/// An unknown line that was found goes on this far to either side, metres. Common practice, no source.
const UNKNOWN_HALF_M: f64 = 6.0;

/// One run that some look may meet.
struct AskedRun {
    /// LineIndex among the touched systems.
    touched: usize,
    /// LineIndex among the tree's runs, or among its lines.
    place: LineIndex,
    /// By set of the system's finds, the chance that set and clear looks miss it.
    missed: Vec<f64>,
}

#[derive(Clone, Copy)]
enum LineIndex {
    Run(usize),
    Line(usize),
}

/// Draws the marks of the touched runs in `trees`; returns unknown lines.
pub(super) fn draw(
    posterior: &Posterior<'_>,
    chosen: &[Chosen<'_>],
    trees: &mut [Option<Tree>],
    rng: &mut impl Rng,
) -> Vec<Piece> {
    let asked = touched_runs(posterior, chosen, trees);
    let sets = posterior.sums.coefficients.len();
    // rest[r][S]: chance that the runs from r on are missed by S and the clear looks.
    let mut rest = vec![vec![1.0; sets]; asked.len() + 1];
    for (r, run) in asked.iter().enumerate().rev() {
        let touched = &posterior.touched[run.touched];
        rest[r] = (0..sets).map(|set| rest[r + 1][set] * run.missed[touched.part_of(set)]).collect();
    }
    let mut explained = 0usize;
    let effort = &posterior.effort;
    for (r, run) in asked.iter().enumerate() {
        // Every set of finds that the run may be, and every subset of each, twice.
        if !effort.spend(sets as u64 * 8 + 4 * 3u64.pow(sets.trailing_zeros())) {
            break;
        }
        let touched = &posterior.touched[run.touched];
        let met = met_at(posterior, touched, &run.missed, &rest[r + 1], explained, rng);
        explained |= touched.finds.iter().enumerate().map(|(k, find)| (met >> k & 1) << find).sum::<usize>();
        let Some(tree) = &mut trees[touched.system] else { continue };
        let level = tree.level.unwrap_or(0);
        let drawn = match run.place {
            LineIndex::Run(k) => tree.runs[k].clone(),
            LineIndex::Line(k) => tree.lines[k].clone(),
        };
        let known = Arc::new(marks(posterior, &drawn, touched, level, met, rng));
        match run.place {
            LineIndex::Run(k) => tree.runs[k] = known,
            LineIndex::Line(k) => {
                let mut lines = tree.lines.to_vec();
                lines[k] = known;
                tree.lines = lines.into();
            }
        }
    }
    unknown_lines(posterior, explained, rng)
}

fn touched_runs(posterior: &Posterior<'_>, chosen: &[Chosen<'_>], trees: &[Option<Tree>]) -> Vec<AskedRun> {
    let mut asked = Vec::new();
    for (index, (touched, Chosen { outer, .. })) in posterior.touched.iter().zip(chosen).enumerate() {
        let Some(tree) = &trees[touched.system] else { continue };
        let sets = 0..touched.seen.sets();
        let of_edge = |edge: usize| -> Vec<f64> {
            let missed = |set| outer.runs.as_ref().map_or(1.0, |runs| runs.of(set, edge, outer.level));
            sets.clone().map(missed).collect()
        };
        let may_be_met = |edge: usize| outer.runs.as_ref().is_some_and(|runs| runs.meets(edge));
        let runs = tree.edges.iter().enumerate().filter(|(_, edge)| may_be_met(**edge));
        let runs = runs.map(|(k, &edge)| (LineIndex::Run(k), of_edge(edge)));
        let of_line = |line: usize| sets.clone().map(|set| outer.line_missed(line, set)).collect();
        let lines = (0..outer.lines.len()).map(|k| (LineIndex::Line(k), of_line(k)));
        let met = runs.chain(lines).filter(|(_, missed)| missed.iter().any(|m| *m < 1.0));
        asked.extend(met.map(|(place, missed)| AskedRun { touched: index, place, missed }));
    }
    asked
}

/// The finds at which a run is met, as bits of its system's finds, given those explained so far.
fn met_at(
    posterior: &Posterior<'_>,
    touched: &ObservedSystem,
    missed: &[f64],
    rest: &[f64],
    explained: usize,
    rng: &mut impl Rng,
) -> usize {
    let all = missed.len() - 1;
    let weights: Vec<f64> = (0..missed.len())
        .map(|met| {
            let exactly = subsets(met).map(|u| sign(u) * missed[(all & !met) | u]).sum::<f64>();
            let found: usize = touched.finds.iter().enumerate().map(|(k, find)| (met >> k & 1) << find).sum();
            let open = (posterior.sums.coefficients.len() - 1) & !(explained | found);
            let left: f64 = subsets(open).map(|set| posterior.sums.coefficients[set] * rest[set]).sum();
            exactly.max(0.0) * left.max(0.0)
        })
        .collect();
    if weights.iter().sum::<f64>() > 0.0 { crate::layout::pick(&weights, rng) } else { 0 }
}

/// Every subset of a set, by bits.
fn subsets(set: usize) -> impl Iterator<Item = usize> {
    let mut next = Some(set);
    std::iter::from_fn(move || {
        let this = next?;
        next = (this > 0).then(|| (this - 1) & set);
        Some(this)
    })
}

fn sign(set: usize) -> f64 {
    if set.count_ones().is_multiple_of(2) { 1.0 } else { -1.0 }
}

/// The run with marks drawn so that it is met at exactly these finds and by no clear look; the nearest to that where as
/// many attempts as the limit allows do not answer, which is counted.
fn marks(
    posterior: &Posterior<'_>,
    run: &Run,
    touched: &ObservedSystem,
    level: usize,
    met: usize,
    rng: &mut impl Rng,
) -> Run {
    let system = &posterior.law.systems()[touched.system];
    let looks = &touched.seen.looks;
    let level_m = system.cover.levels()[level].1;
    let price = 200 + effort::LOOK * (touched.clear.len() + touched.finds.len()) as u64;
    let mut best: Option<(f64, Run)> = None;
    for _ in 0..posterior.limits.tries {
        if !posterior.effort.spend(price) {
            break;
        }
        let Some(route) = run.draw_route(rng) else { break };
        let (offset_m, cover_m) = (run.draw_offset(route, rng), system.cover.draw_run(level_m, rng));
        let chances = looks.met(run, route, offset_m, cover_m);
        let clear = chances.len() - touched.finds.len();
        let answers: f64 = chances
            .iter()
            .enumerate()
            .map(|(k, p)| if k >= clear && met >> (k - clear) & 1 == 1 { *p } else { 1.0 - p })
            .product();
        if answers > best.as_ref().map_or(-1.0, |(a, _)| *a) {
            best = Some((answers, run.known(route, offset_m, cover_m)));
        }
        if rng.random::<f64>() < answers {
            return run.known(route, offset_m, cover_m);
        }
    }
    posterior.count_unanswered();
    best.map_or_else(|| run.clone(), |(_, run)| run)
}

/// Unknown lines through finds that no run explains, each as probable as against a false find.
fn unknown_lines(posterior: &Posterior<'_>, explained: usize, rng: &mut impl Rng) -> Vec<Piece> {
    let clear: Vec<&Observation> = posterior.findings.clear.iter().collect();
    let finds = posterior.findings.found.iter().zip(&posterior.sums.unknown).enumerate();
    let open = finds.filter(|(j, _)| explained >> j & 1 == 0);
    let line = |(_, (find, unknown)): (usize, (&Find, &f64))| -> Option<Piece> {
        (rng.random::<f64>() < *unknown).then(|| line_through(posterior, &find.look, &clear, rng)).flatten()
    };
    open.filter_map(line).collect()
}

/// A straight unknown line that a look meets and that no clear look would have met; a possible one where as many attempts
/// as the limit allows do not answer, which is counted.
fn line_through(
    posterior: &Posterior<'_>,
    look: &Observation,
    clear: &[&Observation],
    rng: &mut dyn rand::Rng,
) -> Option<Piece> {
    let (unmapped, systems) = (posterior.law.unmapped_lines(), posterior.law.systems().len());
    let (low, high) = look.footprint.bounds();
    let (middle, reach) = (low.towards(high, 0.5), 0.5 * low.distance(high));
    let price = 2_000 + 100 * clear.len() as u64;
    let mut last = None;
    for _ in 0..posterior.limits.tries {
        if !posterior.effort.spend(price) {
            break;
        }
        let along = Point::unit(rng.random::<f64>() * std::f64::consts::PI);
        let on = middle + along.left() * (reach * (2.0 * rng.random::<f64>() - 1.0));
        let (a, b) = (on - along * UNKNOWN_HALF_M, on + along * UNKNOWN_HALF_M);
        let cover = unmapped.draw_cover(look.depth_m, rng);
        let chance = |look: &Observation| {
            let in_the_way =
                cover < look.depth_m && look.footprint.inflated(unmapped.radius_m).meets_segment(a, b);
            let answers = look.report.of_bearing(along) * look.report.of_cover(cover);
            if in_the_way { look.detect * answers } else { 0.0 }
        };
        let answers = chance(look) * clear.iter().map(|other| 1.0 - chance(other)).product::<f64>();
        if answers <= 0.0 {
            continue;
        }
        let piece = Piece {
            a,
            b,
            cover_m: cover as f32,
            radius_m: unmapped.radius_m as f32,
            class: Class::Unknown,
            kind: Kind::Unknown,
            system: systems as u16,
            wire: false,
        };
        if rng.random::<f64>() < answers {
            return Some(piece);
        }
        last = Some(piece);
    }
    posterior.count_unanswered();
    last
}
