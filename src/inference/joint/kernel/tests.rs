//! Each move of the joint kernel, and the whole sweep, leaves its target distribution as it was: exact invariance, one move
//! at a time.
//!
//! At inverse temperature beta the target is `reference x exp(beta x energy)`, energies being those that chains are swapped
//! by. On a small site all zonings are listed with their weights; bearing, outer states and layouts come from their own
//! prior, so a state is drawn exactly but for a weight w = (chance of what was seen x psi)^beta. If a move keeps the target,
//! the mean of w (f after - f before) is nought for every f: that needs no mixing, and errors of before and after cancel.
//!
//! n = 3,000 or 6,000 states a case, some ten figures for each of 43 moves; |z| < 5 for each: false alarm 3e-4 in all (normal
//! tail 6e-7 a figure). Faults that it would catch, each planted below at n = 10,000 and 7.5 errors: a proposal that is always
//! made; moves and sweeps that do not heed beta; the old state's chance asked anew, by other outer states than it holds, when
//! it is compared (no longer pseudo-marginal); a walk at another temperature; bearings proposed flat; psi left out. Acceptance
//! by the chance of the new state alone is no such fault: chances are at most one, so that it keeps the target, if slowly.

use super::super::density::EASY;
use super::*;
use crate::geometry::{Footprint, Point};
use crate::mcmc::tempering::Target;
use crate::model::{Common, ZoningPrior};
use crate::rng::stream;
use crate::site::Site;
use crate::site::io;
use crate::strike::{Find, Findings, Observation, Report};
use serde_json::{Value, json};
use std::sync::Arc;

/// Errors that a figure may be off.
const ERRORS: f64 = 5.0;

/// Label moves of a walk: enough that it goes somewhere. One walk of a sweep may be as short as one move.
const STEPS: usize = 6;

/// Five heads, two valves in a box, a mainline; bearings and headers on coarse grids, so that each prior is quickly made.
fn document(psi: bool) -> Value {
    let heads = [(0.0, 0.0), (4.1, 0.2), (8.0, 0.1), (0.3, 4.0), (4.3, 4.2)].into_iter().enumerate();
    let head = |(k, (x, y))| json!({"id": format!("h{k}"), "x": x, "y": y, "kind": "rotor"});
    let mut document = json!({
        "format": "underturf-site/2", "units": "m", "heads": heads.map(head).collect::<Vec<_>>(),
        "valve_boxes": [{"id": "v", "x": 3.0, "y": -2.0, "valves": 2}],
        "sources": [{"id": "s", "x": 6.5, "y": 6.0, "kind": "meter"}],
        "boundary": [[-15.0, -15.0], [25.0, -15.0], [25.0, 20.0], [-15.0, 20.0]],
        "settings": {
            "grid_step_deg": 5.0, "grid_pair_share": 0.3, "grid_edge_sd_deg": 4.0, "header_step_m": 1.0,
            "supply_flow_l_s": 0.8
        }
    });
    if psi {
        document["settings"]["third_branch_factor"] = 0.3.into();
        document["settings"]["pipe_crossing_factor"] = 0.5.into();
        document["settings"]["shared_trench_gain"] = 2.0.into();
    }
    document
}

/// A box that nobody has opened, so that there may be a valve more; a station test, and a written zone that may be wrong.
fn uncounted() -> Value {
    let mut document = document(false);
    document["valve_boxes"] = json!([{"id": "v", "x": 3.0, "y": -2.0}]);
    document["settings"]["extra_valve_factor"] = 0.7.into();
    document["settings"]["zone_error"] = 0.2.into();
    document["station_tests"] = json!([{"valve": "v", "heads": ["h0", "h3"], "error": 0.15}]);
    document["heads"][2]["zone"] = "1".into();
    document
}

/// A line found between heads 1 and 4, and two clear probes on ways that pipe would like.
fn findings() -> Findings {
    let look = |x: f64, y: f64| {
        let shape = Footprint::disc(Point::new(x, y), 0.35);
        Observation { detect: 0.95, ..Observation::dig(shape, 0.45) }
    };
    let report = Report { angle_rad: Some(1.5), ..Report::default() };
    let found = Observation { report, ..look(4.2, 2.2) };
    Findings {
        clear: vec![look(6.1, 0.1), look(2.2, 4.1)],
        found: vec![Find { false_find: 0.01 * report.of_nothing(0.45), look: found }],
    }
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Kind {
    Walk,
    Outer,
    Bearing,
    Layout,
    Sweep,
}

/// How a move is made: as it should be, but for planted faults.
#[derive(Clone, Copy)]
struct How {
    /// Inverse temperature of the walk, and that at which what was proposed is accepted.
    walked: f64,
    accepted: f64,
    /// Whether the old chance is asked anew, by other outer states.
    anew: bool,
    /// Whether bearings are proposed flat.
    flat: bool,
}

impl How {
    fn sound(beta: f64) -> Self {
        Self { walked: beta, accepted: beta, anew: false, flat: false }
    }
}

fn step(joint: &Joint<'_>, kind: Kind, how: How, state: &mut State, rng: &mut Stream) {
    let (scratch, counts) = (&mut Scratch::default(), &mut Counts::default());
    let next = match kind {
        Kind::Walk => walk_and_draw(joint, state, STEPS, how.walked, scratch, rng, counts),
        Kind::Outer => redraw_outer(joint, state, rng.random_range(0..state.pools.len()), rng),
        Kind::Bearing if how.flat => {
            let bearing = rng.random_range(0..joint.system_priors.bearings().len());
            draw_pools(joint, &state.zoning, bearing, rng)
                .map(|pools| State::of_pools(joint, state.zoning.clone(), bearing, pools, state.log_chance))
        }
        Kind::Bearing => redraw_bearing(joint, state, rng),
        Kind::Layout => Some(State { layout: None, ..state.clone() }),
        Kind::Sweep => return sweep(joint, state, how.accepted, rng, counts),
    };
    let mut old = state.clone();
    if how.anew {
        let pools = draw_pools(joint, &state.zoning, state.bearing, rng).expect("outer states");
        old.log_chance = joint.findings.log_chance(state.bearing, &pools);
    }
    if offer(joint, &mut old, next, how.accepted, rng) {
        *state = old;
    }
}

/// Every zoning with its weight where the prior has this exponent.
fn all_zonings(prior: &ZoningPrior, exponent: f64) -> (Vec<Zoning>, Vec<f64>) {
    let (heads, zones) = (prior.fit.heads(), prior.zones());
    let zone_of =
        |code: usize| (0..heads).map(|h| code / zones.pow(h as u32) % zones).collect::<Vec<usize>>();
    let full =
        |zone_of: &Vec<usize>| (0..zones).all(|zone| prior.may_be_bare(zone) || zone_of.contains(&zone));
    let all = (0..zones.pow(heads as u32)).map(zone_of).filter(full);
    let all: Vec<Zoning> = all.map(|zone_of| Zoning::new(prior, zone_of, &mut Scratch::default())).collect();
    let log = |zoning: &Zoning| zoning.log_trees() + zoning.log_notes + exponent * zoning.log_prior;
    let top = all.iter().map(log).fold(f64::NEG_INFINITY, f64::max);
    let weights = all.iter().map(|zoning| (log(zoning) - top).exp()).collect();
    (all, weights)
}

/// Exact states at an inverse temperature, each with its weight.
fn draws(joint: &Joint<'_>, beta: f64, number: usize) -> Vec<(State, f64)> {
    let (zonings, weights) = all_zonings(joint.zoning_prior, prior_beta(beta));
    let mut rng = stream(17, (1000.0 * beta) as u64);
    let draw = |_| {
        let state = State::start(joint, zonings[pick(&weights, &mut rng)].clone(), &mut rng);
        // The prior's part of the energy is in the weights of zonings.
        let rest = joint.energy(&state) - (1.0 - EASY) * state.zoning.log_prior;
        let weight = (beta * rest).exp();
        (state, weight)
    };
    (0..number).map(draw).collect()
}

/// What is compared: zones, bearing, chances of what was seen, layout.
fn figures(joint: &Joint<'_>, state: &State) -> Vec<f64> {
    let zone = |head: usize| state.zoning.zone_of[head];
    let same = |a: usize, b: usize| f64::from(u8::from(zone(a) == zone(b)));
    let mut figures = vec![
        same(0, 1),
        same(1, 4),
        same(3, 4),
        (0..5).map(zone).sum::<usize>() as f64,
        state.bearing as f64,
        state.log_chance,
        state.log_chance.exp(),
        state.zoning.log_prior,
    ];
    if let Some(given) =
        joint.findings.find_given_rest(state.bearing, &state.pools, 0).filter(|_| !joint.findings.is_empty())
    {
        figures.extend([given.rest, given.with]);
    }
    if let Some(layout) = &state.layout {
        let headers = layout.draw.trees.iter().filter(|tree| tree.extent.is_some()).count();
        let length: f64 = layout.pieces.iter().map(|piece| piece.a.distance(piece.b)).sum();
        figures.extend([
            layout.log_psi,
            layout.log_psi.exp(),
            headers as f64,
            length,
            layout.draw.bearing as f64,
        ]);
    }
    figures
}

/// How far a move leads from the target: the worst of the figures, in errors, and the share of states that it changed.
fn worst(joint: &Joint<'_>, draws: &[(State, f64)], kind: Kind, how: How) -> (f64, f64) {
    let mut rng = stream(18, kind as u64);
    let (mut sums, mut squares) = (Vec::new(), Vec::new());
    let mut changed = 0usize;
    for (before, weight) in draws.iter().filter(|(_, weight)| *weight > 0.0) {
        let mut after = before.clone();
        step(joint, kind, how, &mut after, &mut rng);
        let (before, after) = (figures(joint, before), figures(joint, &after));
        changed += usize::from(before != after);
        sums.resize(before.len(), 0.0);
        squares.resize(before.len(), 0.0);
        for (k, (before, after)) in before.iter().zip(after).enumerate() {
            let difference = weight * (after - before);
            sums[k] += difference;
            squares[k] += difference * difference;
        }
    }
    let errors = sums.iter().zip(&squares).map(|(sum, squares)| sum.abs() / squares.sqrt().max(1e-300));
    (errors.fold(0.0, f64::max), changed as f64 / draws.len() as f64)
}

/// The posterior of a small site, probed or not, so many outer states in each pool.
fn with_joint<T>(document: Value, probed: bool, pool_size: usize, ask: impl FnOnce(&Joint<'_>) -> T) -> T {
    let site: Site = io::from_value(document).unwrap_or_else(|faults| panic!("{faults}"));
    let (zoning_prior, common) = (ZoningPrior::new(&site), Arc::new(Common::new(&site)));
    let findings = if probed { findings() } else { Findings::default() };
    let unmapped = *common.unmapped_lines();
    let mut joint = Joint::new(&site, &zoning_prior, common, &findings, &unmapped);
    joint.pool_size = pool_size;
    ask(&joint)
}

fn keeps_the_law(joint: &Joint<'_>, betas: &[f64], kinds: &[Kind], number: usize) {
    for &beta in betas {
        let draws = draws(joint, beta, number);
        for &kind in kinds {
            let (worst, changed) = worst(joint, &draws, kind, How::sound(beta));
            assert!(worst < ERRORS, "{kind:?} at {beta}: {worst} errors off");
            assert!(changed > 0.2, "{kind:?} at {beta}: {changed} of the states were changed");
        }
    }
}

#[test]
fn moves_over_what_probes_saw_keep_the_law() {
    let kinds = [Kind::Walk, Kind::Outer, Kind::Bearing, Kind::Sweep];
    for pool_size in [1, 3] {
        with_joint(document(false), true, pool_size, |joint| {
            keeps_the_law(joint, &[1.0, 0.4], &kinds, 6_000)
        });
    }
    with_joint(document(false), true, 1, |joint| keeps_the_law(joint, &[0.0], &[Kind::Sweep], 6_000));
    with_joint(document(false), false, 1, |joint| keeps_the_law(joint, &[1.0, 0.4], &[Kind::Sweep], 6_000));
}

/// A zoning may have one zone or two.
#[test]
fn moves_over_uncounted_valves_keep_the_law() {
    let kinds = [Kind::Walk, Kind::Outer, Kind::Bearing, Kind::Sweep];
    with_joint(uncounted(), true, 1, |joint| keeps_the_law(joint, &[1.0, 0.4], &kinds, 6_000));
}

#[test]
fn moves_over_whole_layouts_keep_the_law() {
    let kinds = [Kind::Walk, Kind::Outer, Kind::Bearing, Kind::Layout, Kind::Sweep];
    with_joint(document(true), true, 1, |joint| keeps_the_law(joint, &[1.0, 0.4], &kinds, 3_000));
    let kinds = [Kind::Walk, Kind::Layout, Kind::Sweep];
    with_joint(document(true), false, 1, |joint| keeps_the_law(joint, &[1.0, 0.4], &kinds, 3_000));
}

#[test]
fn planted_faults_are_seen() {
    let beta = 0.4;
    let sound = How::sound(beta);
    let always = How { accepted: 0.0, ..sound };
    let deaf = How { accepted: 1.0, ..sound };
    let seen = |joint: &Joint<'_>, faults: &[(Kind, &str, How)]| {
        let draws = draws(joint, beta, 10_000);
        for &(kind, name, how) in faults {
            let (worst, _) = worst(joint, &draws, kind, how);
            assert!(worst > 1.5 * ERRORS, "{kind:?} that {name}: {worst} errors off");
        }
    };
    let hot = How { walked: 1.0, ..sound };
    let anew = How { anew: true, ..sound };
    let flat = How { flat: true, ..sound };
    let faults = [
        (Kind::Walk, "is always made", always),
        (Kind::Outer, "is always made", always),
        (Kind::Bearing, "is always made", always),
        (Kind::Walk, "does not heed beta", deaf),
        (Kind::Outer, "does not heed beta", deaf),
        (Kind::Bearing, "does not heed beta", deaf),
        (Kind::Sweep, "does not heed beta", deaf),
        (Kind::Walk, "walks at another beta", hot),
        (Kind::Walk, "asks for the old chance anew", anew),
        (Kind::Bearing, "asks for the old chance anew", anew),
        (Kind::Bearing, "draws bearings flat", flat),
    ];
    with_joint(document(false), true, 1, |joint| seen(joint, &faults));
    let faults = [(Kind::Layout, "is always made", always), (Kind::Layout, "does not heed beta", deaf)];
    with_joint(document(true), true, 1, |joint| {
        seen(joint, &faults);
        let mut draws = draws(joint, beta, 3_000);
        draws.iter_mut().for_each(|(state, weight)| *weight *= (-beta * state.log_psi()).exp());
        let (worst, _) = worst(joint, &draws, Kind::Sweep, sound);
        assert!(worst > 1.5 * ERRORS, "a sweep against a law without psi: {worst} errors off");
    });
}
