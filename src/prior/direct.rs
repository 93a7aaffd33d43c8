//! Family `direct`: pipe runs from the valve to near heads and on from head to head.

use super::ground::Manner;
use super::plan::{Node, PairRun, along_both_axes};
use super::zone::Zone;
use crate::forest::{Edge, Network};
use crate::layout::{Kind, OuterState, Run};
use std::sync::Arc;

/// The outer state of a `direct` system: links from the root are of this kind. `None` if some node
/// cannot be reached.
pub fn state(zone: &Zone, roots: &[Node], kind: Kind) -> Option<OuterState> {
    let Zone { plan, settings, .. } = zone;
    let root = plan.nodes.len();
    let mut runs: Vec<Arc<Run>> = zone.pairs.iter().map(|pair| pair.run.clone()).collect();
    let edge = |p: &PairRun| Edge { a: p.a, b: p.b, weight: p.weight(settings.length_rate, plan.spacing_m) };
    let mut edges: Vec<Edge> = zone.pairs.iter().map(edge).collect();
    let manner = zone.link_manner(settings.valve_link_rate);
    for from in roots {
        for (k, node) in plan.nodes.iter().enumerate() {
            let manner = Manner { wire: plan.surely_wired(&[k]), ..manner };
            let mut ways = zone.ground.ways(from.at, node.at, &manner);
            plan.discount_passing(&mut ways, &[k], settings);
            let Some((routes, share)) = zone.ground.routes(ways) else { continue };
            let length = along_both_axes(node.at - from.at, zone.bearing_rad);
            let weight = share * (-settings.valve_link_rate * length / plan.spacing_m).exp();
            let offset = plan.offset(from.sd_m, node.sd_m, settings);
            runs.push(Arc::new(Run { kind, offset, routes, tied: [true, true], cover_m: None }));
            edges.push(Edge { a: k, b: root, weight });
        }
    }
    let network = Network::new(root, edges).ok()?;
    Some(OuterState::new("direct", runs, network, None).ok()?.with_wire(&plan.wired))
}
