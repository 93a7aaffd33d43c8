//! Family `split`: the pipe from the valve ends in a tee, and half of the heads are fed each way to balance the flow
//! (python/docs/trade-values.md,
//! 3.18 (c)). The tee stands at the valve or on the way to the middle of the zone.
//!
//! The heads are parted across a grid axis. Each half is a random tree of its own, joined to the tee by one pipe, which
//! does not depend on the tree: a fixed line with a route to each head.

use crate::geometry::Point;
use crate::layout::{Kind, OuterState};
use crate::model::zone::Zone;

/// Where the tee stands between the valve and the middle of the heads, with the shares. Common practice, no source.
const TEES: [(f64, f64); 4] = [(0.0, 0.4), (0.5, 0.1), (0.75, 0.2), (1.0, 0.3)];

/// Where the tee stands, and how the heads are parted.
#[derive(Clone, Copy, Debug)]
pub struct Cut {
    /// The tee; `None` at the valve.
    tee: Option<Point>,
    /// Across which grid axis the heads are parted.
    axis: Point,
}

/// Every tee and cut with its share. Long zones are parted across their length: a cut weighs in by the square of the
/// extent it halves.
pub fn cuts(zone: &Zone) -> Vec<(Cut, f64)> {
    let nodes = &zone.plan.nodes;
    let middle = nodes.iter().fold(Point::default(), |sum, node| sum + node.at) * (1.0 / nodes.len() as f64);
    let axes = [0.0, std::f64::consts::FRAC_PI_2].map(|turn| Point::unit(zone.angle_rad() + turn));
    let extent = axes.map(|axis| {
        let along = || nodes.iter().map(|node| node.at.dot(axis));
        along().fold(f64::MIN, f64::max) - along().fold(f64::MAX, f64::min)
    });
    let total: f64 = extent.iter().map(|e| e * e).sum::<f64>().max(f64::MIN_POSITIVE);
    let mut cuts = Vec::with_capacity(2 * TEES.len());
    for (axis, extent) in axes.into_iter().zip(extent) {
        for (way, share) in TEES {
            let tee = (way > 0.0).then(|| zone.valve().at.towards(middle, way));
            cuts.push((Cut { tee, axis }, share * extent * extent / total));
        }
    }
    cuts
}

/// The outer state with the tee at one place and the heads parted along one axis.
pub fn state(zone: &Zone, Cut { tee, axis }: Cut) -> Option<OuterState> {
    let (nodes, rate, valve) = (&zone.plan.nodes, zone.settings().length_rate, zone.valve().at);
    let mut first: Vec<usize> = (0..nodes.len()).collect();
    first.sort_by(|&i, &j| nodes[i].at.dot(axis).total_cmp(&nodes[j].at.dot(axis)));
    let second = first.split_off(first.len() / 2);
    let in_second: Vec<bool> = (0..nodes.len()).map(|k| second.contains(&k)).collect();
    let held = [first[0], second[0]];
    let (runs, network) = zone.network(rate, &held, |a, b| in_second[a] == in_second[b])?;
    let away = tee.filter(|tee| tee.distance(valve) > zone.settings().elbow_leg_m);
    let mut fixed = Vec::with_capacity(3);
    for half in [&first, &second] {
        let routes = match tee {
            Some(tee) => zone.routes_from_tee(tee, half, rate)?,
            None => zone.routes_from_valve(half, rate)?,
        };
        fixed.push(zone.link(Kind::ValveLink, routes, [away.is_none(), true]));
    }
    if let Some(tee) = away {
        let ways = zone.ground().ways(valve, tee, &zone.link_manner(), zone.per_metre(rate));
        fixed.push(zone.link(Kind::HeaderLink, zone.ground().routes(ways)?.0, [true, false]));
    }
    Some(OuterState::new("split", runs, network, None).ok()?.with_fixed(fixed))
}
