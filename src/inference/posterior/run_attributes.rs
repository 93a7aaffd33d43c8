//! Attributes of the runs that observations may meet, given the trees and what was seen; then unknown lines that explain a
//! find.
//!
//! For each run in turn the set H of finds at which it is met is drawn from its exact chance (by inclusion and exclusion
//! over the sets of finds that miss it) times the chance that what is left explains the other finds. Given H the attributes
//! are drawn from their prior until they answer. A find that no run of the draw explains is a metal line, an unknown line or
//! false.

use super::given_bearing::{Chosen, GivenBearing};
use super::metal_finds::DrawnMetal;
use super::system_observations::SystemObservations;
use crate::class::Class;
use crate::effort;
use crate::geometry::Point;
use crate::layout::{Kind, Piece, Run, System, Tree, pick};
use crate::strike::{BySet, FindSet, Observation};
use rand::{Rng, RngExt};
use std::sync::Arc;

/// An unknown line that was found goes on this far to either side, metres. Common practice, no source.
const UNKNOWN_HALF_M: f64 = 6.0;

/// One run that some observation may meet.
struct OpenRun {
    /// Its system's place among the observed ones.
    system: usize,
    /// Its place among the tree's runs, or among its lines.
    place: Place,
    /// By set of the system's finds, the chance that set and clear observations miss it.
    missed: BySet<Vec<f64>>,
}

#[derive(Clone, Copy)]
enum Place {
    Run(usize),
    Line(usize),
}

/// Draws the attributes of the observed runs in `trees`; returns unknown lines, and the draw of metal where finds may have
/// met some.
pub(super) fn draw(
    given: &GivenBearing<'_>,
    chosen: &[Chosen<'_>],
    trees: &mut [Option<Tree>],
    rng: &mut impl Rng,
) -> (Vec<Piece>, DrawnMetal) {
    let open = open_runs(given, chosen, trees);
    let finds = given.sums.coefficients.finds();
    // rest[r][S]: chance that the runs from r on are missed by S and the clear observations.
    let mut rest = vec![BySet::new(finds, |_| 1.0); open.len() + 1];
    for (r, run) in open.iter().enumerate().rev() {
        let observations = &given.systems[run.system].1.observations;
        rest[r] = BySet::new(finds, |set| rest[r + 1][set] * run.missed[observations.part(set)]);
    }
    let mut explained = FindSet::NONE;
    for (r, run) in open.iter().enumerate() {
        // Every set of finds that the run may be, and every subset of each, twice.
        if !given.attempts.effort.spend(FindSet::count(finds) as u64 * 8 + 4 * 3u64.pow(finds as u32)) {
            break;
        }
        let (number, system) = &given.systems[run.system];
        let observations = &system.observations;
        let met = met_at(given, observations, &run.missed, &rest[r + 1], explained, rng);
        explained = explained.union(met.of(&observations.relevant.finds));
        let Some(tree) = &mut trees[*number] else { continue };
        let level = tree.level.unwrap_or(0);
        let drawn = match run.place {
            Place::Run(k) => &tree.runs[k],
            Place::Line(k) => &tree.lines[k],
        };
        let known =
            attributes(given, drawn, (&given.prior.systems()[*number], observations), level, met, rng);
        match run.place {
            Place::Run(k) => tree.runs[k] = known,
            Place::Line(k) => {
                let mut lines = tree.lines.to_vec();
                lines[k] = known;
                tree.lines = lines.into();
            }
        }
    }
    let (metal, by_metal) = match &given.sums.metal {
        Some(metal) if given.attempts.effort.spend(metal.price(given.bearing)) => {
            metal.draw(given.bearing, &given.sums.coefficients, explained, rng)
        }
        _ => (DrawnMetal { lines: [].into(), chain: 0 }, FindSet::NONE),
    };
    (unknown_lines(given, explained.union(by_metal), rng), metal)
}

fn open_runs(given: &GivenBearing<'_>, chosen: &[Chosen<'_>], trees: &[Option<Tree>]) -> Vec<OpenRun> {
    let mut open = Vec::new();
    for (index, ((number, system), Chosen { outer, .. })) in given.systems.iter().zip(chosen).enumerate() {
        let Some(tree) = &trees[*number] else { continue };
        let finds = system.observations.finds();
        let may_be_met = |edge: usize| outer.candidates.as_ref().is_some_and(|runs| runs.is_met(edge));
        let runs = tree.edges.iter().enumerate().filter(|(_, edge)| may_be_met(**edge));
        let of_edge = |edge: usize| BySet::new(finds, |set| outer.candidate_missed(edge, set));
        let runs = runs.map(|(k, &edge)| (Place::Run(k), of_edge(edge)));
        let of_line = |line: usize| BySet::new(finds, |set| outer.line_missed(line, set));
        let lines = (0..outer.lines.len()).map(|k| (Place::Line(k), of_line(k)));
        let met = runs.chain(lines).filter(|(_, missed)| missed.values().iter().any(|m| *m < 1.0));
        open.extend(met.map(|(place, missed)| OpenRun { system: index, place, missed }));
    }
    open
}

/// The finds of its system at which a run is met, given those of the site explained so far.
fn met_at(
    given: &GivenBearing<'_>,
    observations: &SystemObservations,
    missed: &BySet<Vec<f64>>,
    rest: &BySet<Vec<f64>>,
    explained: FindSet,
    rng: &mut impl Rng,
) -> FindSet {
    let coefficients = given.sums.at(given.bearing);
    let (own, all) = (FindSet::all(missed.finds()), FindSet::all(coefficients.finds()));
    let weights = BySet::new(missed.finds(), |met| {
        let miss = |unmet: FindSet| unmet.sign() * missed[own.difference(met).union(unmet)];
        let exactly = met.subsets().map(miss).sum::<f64>();
        let unexplained = all.difference(explained.union(met.of(&observations.relevant.finds)));
        let left: f64 = unexplained.subsets().map(|set| coefficients[set] * rest[set]).sum();
        exactly.max(0.0) * left.max(0.0)
    });
    if weights.values().iter().sum::<f64>() <= 0.0 {
        return FindSet::NONE;
    }
    weights.sets().nth(pick(weights.values(), rng)).unwrap_or_default()
}

/// The run with attributes drawn so that it is met at exactly these finds and by no clear observation; the nearest to that
/// where as many attempts as are allowed do not answer, which is counted.
fn attributes(
    given: &GivenBearing<'_>,
    run: &Arc<Run>,
    (system, observations): (&System, &SystemObservations),
    level: usize,
    met: FindSet,
    rng: &mut impl Rng,
) -> Arc<Run> {
    let attempts = given.attempts;
    let level_m = system.cover.levels()[level].1;
    let clear = observations.relevant.clear.len();
    let price = 200 + effort::LOOK * (clear + observations.finds()) as u64;
    let mut best: Option<(f64, Run)> = None;
    for _ in 0..attempts.most {
        if !attempts.effort.spend(price) {
            break;
        }
        let Some(route) = run.draw_route(rng) else { break };
        let (offset_m, cover_m) = (run.draw_offset(route, rng), system.cover.draw_run(level_m, rng));
        let chances = observations.all.met(run, route, offset_m, cover_m);
        let answer = |(k, p): (usize, &f64)| {
            if k.checked_sub(clear).is_some_and(|find| met.contains(find)) { *p } else { 1.0 - p }
        };
        let answers: f64 = chances.iter().enumerate().map(answer).product();
        if answers > best.as_ref().map_or(-1.0, |(a, _)| *a) {
            best = Some((answers, run.known(route, offset_m, cover_m)));
        }
        if rng.random::<f64>() < answers {
            return Arc::new(run.known(route, offset_m, cover_m));
        }
    }
    attempts.count_unanswered();
    best.map_or_else(|| run.clone(), |(_, run)| Arc::new(run))
}

/// Unknown lines through finds that no run explains, each as probable as against a false find.
fn unknown_lines(given: &GivenBearing<'_>, explained: FindSet, rng: &mut impl Rng) -> Vec<Piece> {
    let findings = given.sums.findings;
    let clear: Vec<&Observation> = findings.clear.iter().collect();
    let line = |find: usize| -> Option<Piece> {
        let is_line = rng.random::<f64>() < given.sums.unknown[find];
        is_line.then(|| line_through(given, &findings.found[find].look, &clear, rng)).flatten()
    };
    let unexplained = FindSet::all(findings.found.len()).difference(explained);
    unexplained.finds().filter_map(line).collect()
}

/// A straight unknown line that a find meets and that no clear observation would have met; a possible one where as many
/// attempts as are allowed do not answer, which is counted.
fn line_through(
    given: &GivenBearing<'_>,
    find: &Observation,
    clear: &[&Observation],
    rng: &mut dyn rand::Rng,
) -> Option<Piece> {
    let (unmapped, systems) = (given.prior.unmapped_lines(), given.prior.systems().len());
    let (low, high) = find.footprint.bounds();
    let (middle, reach) = (low.towards(high, 0.5), 0.5 * low.distance(high));
    let price = 2_000 + 100 * clear.len() as u64;
    let mut last = None;
    for _ in 0..given.attempts.most {
        if !given.attempts.effort.spend(price) {
            break;
        }
        let along = Point::unit(rng.random::<f64>() * std::f64::consts::PI);
        let on = middle + along.left() * (reach * (2.0 * rng.random::<f64>() - 1.0));
        let (a, b) = (on - along * UNKNOWN_HALF_M, on + along * UNKNOWN_HALF_M);
        let cover = unmapped.draw_cover(find.depth_m, rng);
        let chance = |look: &Observation| {
            let in_the_way =
                cover < look.depth_m && look.footprint.inflated(unmapped.radius_m).meets_segment(a, b);
            let answers = look.report.of_bearing(along) * look.report.of_cover(cover);
            if in_the_way { look.detect * answers } else { 0.0 }
        };
        let answers = chance(find) * clear.iter().map(|other| 1.0 - chance(other)).product::<f64>();
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
    given.attempts.count_unanswered();
    last
}
