//! Family `split`: the pipe from the valve ends in a tee, and half of the heads are fed each way to balance the flow (trade
//! values 3.18 (c)). The tee stands at the valve or on the way to the middle of the zone.
//!
//! The heads are parted across a grid axis. Each half is a random tree of its own, joined to the tee by one pipe, which
//! does not depend on the tree: a fixed line with a route to each head.

use super::zone::{Recipe, Zone};
use crate::geometry::Point;
use crate::layout::{Kind, OuterState};
use std::sync::Arc;

/// Where the tee stands between the valve and the middle of the heads, with the shares. Common practice, no source.
const TEES: [(f64, f64); 4] = [(0.0, 0.4), (0.5, 0.1), (0.75, 0.2), (1.0, 0.3)];

/// Every tee and cut. Long zones are parted across their length: a cut weighs in by the square of the extent it halves.
pub fn recipes(zone: &Arc<Zone>) -> Vec<Recipe> {
    let nodes = &zone.plan.nodes;
    let middle = nodes.iter().fold(Point::default(), |sum, node| sum + node.at) * (1.0 / nodes.len() as f64);
    let axes = [0.0, std::f64::consts::FRAC_PI_2].map(|turn| Point::unit(zone.bearing_rad + turn));
    let extent = axes.map(|axis| {
        let along = || nodes.iter().map(|node| node.at.dot(axis));
        along().fold(f64::MIN, f64::max) - along().fold(f64::MAX, f64::min)
    });
    let total: f64 = extent.iter().map(|e| e * e).sum::<f64>().max(f64::MIN_POSITIVE);
    let mut recipes = Vec::new();
    for (axis, extent) in axes.into_iter().zip(extent) {
        for (way, share) in TEES {
            let (zone, tee) = (zone.clone(), zone.valve.at.towards(middle, way));
            recipes.push(Recipe::new(share * extent * extent / total, move || state(&zone, tee, axis)));
        }
    }
    recipes
}

/// The outer state with the tee at one place and the heads parted along one axis.
fn state(zone: &Zone, tee: Point, axis: Point) -> Option<OuterState> {
    let (nodes, rate) = (&zone.plan.nodes, zone.settings.length_rate);
    let mut first: Vec<usize> = (0..nodes.len()).collect();
    first.sort_by(|&i, &j| nodes[i].at.dot(axis).total_cmp(&nodes[j].at.dot(axis)));
    let second = first.split_off(first.len() / 2);
    let in_second: Vec<bool> = (0..nodes.len()).map(|k| second.contains(&k)).collect();
    let held = [first[0], second[0]];
    let (runs, network) = zone.network(rate, &held, |a, b| in_second[a] == in_second[b])?;
    let teed = tee.distance(zone.valve.at) > zone.settings.elbow_leg_m;
    let mut fixed = Vec::with_capacity(3);
    for half in [&first, &second] {
        fixed.push(zone.link(Kind::ValveLink, zone.ways_to_heads(tee, half, rate), [!teed, true])?);
    }
    if teed {
        let to_tee = zone.ground.ways(zone.valve.at, tee, &zone.link_manner(rate));
        fixed.push(zone.link(Kind::HeaderLink, to_tee, [true, false])?);
    }
    Some(OuterState::new("split", runs, network, None).ok()?.with_fixed(fixed))
}
