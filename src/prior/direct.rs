//! Family `direct`: pipe runs from the valve to near heads and on from head to head.

use super::ground::{Ground, Manner};
use super::plan::{Node, PairRun, Plan, along_both_axes, run_offset};
use crate::forest::{Edge, Network};
use crate::layout::{Kind, OuterState, Run};
use crate::settings::Settings;
use std::sync::Arc;

/// How a system's root is linked to its nodes.
#[derive(Clone, Copy, Debug)]
pub struct Links {
    /// What part the link plays.
    pub kind: Kind,
    /// Decay of weight per effective length over spacing.
    pub rate: f64,
    /// Share of elbowed links.
    pub elbow_share: f64,
}

/// The outer state of a `direct` system: `None` if some node cannot be reached.
pub fn state(
    plan: &Plan,
    pairs: &[PairRun],
    roots: &[Node],
    ground: &Ground,
    bearing_rad: f64,
    links: Links,
    settings: &Settings,
) -> Option<OuterState> {
    let root = plan.nodes.len();
    let mut runs: Vec<Arc<Run>> = pairs.iter().map(|pair| pair.run.clone()).collect();
    let mut edges: Vec<Edge> = pairs.iter().map(|p| Edge { a: p.a, b: p.b, weight: p.weight }).collect();
    let manner = Manner {
        elbow_share: links.elbow_share,
        elbow_leg_m: settings.elbow_leg_m,
        detour_rate_per_m: links.rate / plan.spacing_m,
        bearing_rad,
    };
    for from in roots {
        for (k, node) in plan.nodes.iter().enumerate() {
            let mut ways = ground.ways(from.at, node.at, &manner);
            plan.discount_passing(&mut ways, &[k], settings);
            let Some((routes, share)) = ground.routes(ways) else { continue };
            let length = along_both_axes(node.at - from.at, bearing_rad);
            let weight = share * (-links.rate * length / plan.spacing_m).exp();
            let offset = run_offset(from.sd_m, node.sd_m, settings);
            runs.push(Arc::new(Run { kind: links.kind, offset, routes }));
            edges.push(Edge { a: k, b: root, weight });
        }
    }
    let network = Network::new(root, edges).ok()?;
    OuterState::new("direct", runs, network, None).ok()
}
