//! A pipe between two places at one bearing, before it is known which zone asks.
//!
//! The ways, what is in their way and how far aside they may lie are geometry; a zone adds what a metre of detour costs
//! it, and which of the heads that a way passes are its own. Both only move weight between the ways, so zones that share
//! it out alike have the very same run: what is known of a run by its id holds for all of them.

use crate::layout::{Kind, Offset, Route, Run};
use crate::model::ground::Ground;
use crate::model::ground::way::{BareWay, Manner, shared_out};
use crate::model::node::{Node, along_both_axes, off_axis_deg, passes};
use crate::settings::Settings;
use std::collections::HashMap;
use std::sync::{Arc, OnceLock, PoisonError, RwLock, Weak};

/// One way of a pair.
struct Known {
    bare: BareWay,
    route: Route,
    /// Numbers of the nodes that it passes so closely that the pipe would feed them.
    passed: Box<[usize]>,
}

/// A pipe between two places.
pub struct Pair {
    /// Effective length: the straight one on axis, at most `diagonal_ratio` times it or the way along both axes, metres.
    pub length_m: f64,
    /// Length of the way along both grid axes, metres.
    pub along_both_m: f64,
    /// Factor for lying along a grid axis.
    pub aligned: f64,
    ways: Vec<Known>,
    kind: Kind,
    offset: Offset,
    runs: Runs,
    /// The run and the sum of the weights where no way is a detour or passes a node that counts.
    free: OnceLock<Option<(Arc<Run>, f64)>>,
}

/// A run, held on to where it is to last.
type Held = (Weak<Run>, Option<Arc<Run>>);

/// Runs by the bits of the shares of their ways.
struct Runs {
    /// Whether the shares depend on what a detour costs: there are then as many runs as spacings, and each lives no
    /// longer than the zones that have it. Other runs are few and live as long as their pair.
    fleeting: bool,
    known: RwLock<HashMap<Box<[u64]>, Held>>,
}

impl Pair {
    /// The pipe of this kind from one node to another, laid in this manner. `others` are the numbered nodes that a way
    /// may pass.
    pub fn new(
        (ground, settings): (&Ground, &Settings),
        (from, to): (Node, Node),
        (kind, manner): (Kind, &Manner),
        others: impl Iterator<Item = (usize, Node)> + Clone,
    ) -> Self {
        let known = |mut bare: BareWay| {
            let passed = others.clone().filter(|(_, node)| passes(&bare.corners, node.at, settings));
            let passed = passed.map(|(number, _)| number).collect();
            let route = ground.route(&std::mem::take(&mut bare.corners));
            Known { bare, route, passed }
        };
        let ways: Vec<Known> = ground.bare_ways(from.at, to.at, manner).into_iter().map(known).collect();
        let v = to.at - from.at;
        let off_axis = off_axis_deg(v, manner.angle_rad);
        let along_both_m = along_both_axes(v, manner.angle_rad);
        let fleeting = ways.len() > 1 && ways.iter().any(|way| way.bare.is_detour());
        Self {
            length_m: along_both_m.min(settings.diagonal_ratio * v.norm()),
            along_both_m,
            aligned: 1.0 + settings.align_gain * (-0.5 * (off_axis / settings.align_width_deg).powi(2)).exp(),
            ways,
            kind,
            offset: offset(kind, from.sd_m, to.sd_m, settings),
            runs: Runs { fleeting, known: RwLock::default() },
            free: OnceLock::new(),
        }
    }

    /// The weights of the ways where a metre of detour costs `exp(-rate)`, with this factor for each way that passes a
    /// node which `counts`.
    pub fn weights(&self, detour_rate_per_m: f64, counts: impl Fn(usize) -> bool, factor: f64) -> Vec<f64> {
        let weight = |way: &Known| {
            let weight = way.bare.weight(detour_rate_per_m);
            if way.passed.iter().any(|&number| counts(number)) { weight * factor } else { weight }
        };
        self.ways.iter().map(weight).collect()
    }

    /// The run of the ways with these weights, and their sum; `None` if there is no way.
    pub fn run_where(
        &self,
        detour_rate_per_m: f64,
        counts: impl Fn(usize) -> bool,
        factor: f64,
    ) -> Option<(Arc<Run>, f64)> {
        let depends = |way: &Known| way.bare.is_detour() || way.passed.iter().any(|&number| counts(number));
        if self.ways.iter().any(depends) {
            return self.run(&self.weights(detour_rate_per_m, counts, factor));
        }
        self.free.get_or_init(|| self.run(&self.weights(0.0, |_| false, 1.0))).clone()
    }

    /// The ways as routes without shares, in the order of the weights.
    pub fn routes(&self) -> impl Iterator<Item = &Route> {
        self.ways.iter().map(|way| &way.route)
    }

    /// The run whose ways have these weights, and their sum; `None` if there is no way.
    pub fn run(&self, weights: &[f64]) -> Option<(Arc<Run>, f64)> {
        let total: f64 = weights.iter().sum();
        if total <= 0.0 {
            return None;
        }
        let shares: Vec<u64> = weights.iter().map(|weight| (weight / total).to_bits()).collect();
        let run = self.runs.get(&shares, || {
            let weighted = weights.iter().copied().zip(&self.ways);
            let (routes, _) = shared_out(weighted, |way| way.route.clone())?;
            Some(Run::new(self.kind, self.offset.clone(), routes, [true, true]))
        })?;
        Some((run, total))
    }
}

impl Runs {
    fn get(&self, shares: &[u64], make: impl FnOnce() -> Option<Run>) -> Option<Arc<Run>> {
        let known = self.known.read().unwrap_or_else(PoisonError::into_inner);
        if let Some(run) = known.get(shares).and_then(|(run, _)| run.upgrade()) {
            return Some(run);
        }
        drop(known);
        let run = Arc::new(make()?);
        let mut known = self.known.write().unwrap_or_else(PoisonError::into_inner);
        if let Some(run) = known.get(shares).and_then(|(run, _)| run.upgrade()) {
            return Some(run); // another thread was faster: its run is the shared one
        }
        if known.len() == known.capacity() {
            known.retain(|_, (run, _)| run.strong_count() > 0);
        }
        let lasting = (!self.fleeting).then(|| run.clone());
        known.insert(shares.into(), (Arc::downgrade(&run), lasting));
        Some(run)
    }
}

/// Offset prior of a pipe between two positions known this well. Supply lines have no heads to lie aside of.
pub fn offset(kind: Kind, sd_a_m: f64, sd_b_m: f64, settings: &Settings) -> Offset {
    let survey = (0.5 * (sd_a_m * sd_a_m + sd_b_m * sd_b_m)).sqrt();
    let stray = if kind == Kind::Supply { 0.0 } else { settings.offset_stray_share };
    Offset::new(settings.offset_sd_m, stray, settings.offset_stray_sd_m, survey)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Point, Polygon};

    const MANNER: Manner = Manner { elbow_share: 0.25, elbow_leg_m: 0.35, angle_rad: 0.0, wire: false };

    fn pair(paving: Vec<Polygon>) -> Pair {
        let settings = Settings::default();
        let ground = Ground::new(Vec::new(), paving, None, 0.45, 0.2);
        let node = |x: f64, y: f64| Node { at: Point::new(x, y), sd_m: 0.1 };
        let others = [(4, node(4.0, 2.0)), (6, node(8.0, 0.1))].into_iter();
        Pair::new((&ground, &settings), (node(0., 0.), node(8., 4.)), (Kind::Run, &MANNER), others)
    }

    #[test]
    fn a_run_lasts_as_long_as_its_pair_and_is_that_of_its_heads() {
        let pair = pair(Vec::new());
        let named = |own: &[usize]| {
            let (run, total) = pair.run(&pair.weights(1.0, |k| own.contains(&k), 0.001)).expect("a run");
            let shares: Vec<f64> = run.routes.iter().map(|route| route.share).collect();
            (run.id(), shares, total)
        };
        let (free, shares, total) = named(&[5]);
        assert_eq!((shares, total), (vec![0.75, 0.125, 0.125], 1.0));
        // Node 4 is on the straight way, node 6 in the corner of the first elbow.
        let (passing, shares, total) = named(&[4]);
        assert!((total - 0.25075).abs() < 1e-12 && shares[1] > 0.49, "{shares:?} {total}");
        let (corner, shares, _) = named(&[6]);
        assert!(shares[1] < 0.001 && shares[2] > 0.14, "{shares:?}");
        assert!(free != passing && free != corner && passing != corner);
        assert_eq!(
            [free, passing, corner],
            [&[][..], &[4], &[6]].map(|own| named(own).0),
            "nobody held them"
        );
    }

    #[test]
    fn where_a_way_round_has_its_price_zones_of_one_spacing_share_and_the_rest_is_let_go() {
        let block = [(3., -1.), (5., -1.), (5., 5.), (3., 5.)].map(|(x, y)| Point::new(x, y));
        let pair = pair(vec![Polygon::new(block.to_vec())]);
        let run = |rate: f64| pair.run(&pair.weights(rate, |_| false, 0.001)).expect("a run").0;
        let held = run(1.0);
        assert!(Arc::ptr_eq(&held, &run(1.0)) && !Arc::ptr_eq(&held, &run(1.1)));
        for k in 0..1000 {
            run(2.0 + f64::from(k));
        }
        assert!(pair.runs.known.read().expect("sound").len() < 10, "runs that nobody holds are forgotten");
        assert!(Arc::ptr_eq(&held, &run(1.0)));
    }
}
