//! Family `direct`: pipe runs from the valve to near heads and on from head to head.

use crate::layout::{OuterState, Run};
use crate::model::plan::PairRun;
use crate::model::zone::Zone;
use crate::spanning_tree::{Edge, Network};
use std::sync::Arc;

/// The outer state of a `direct` system. `None` if some node cannot be reached.
pub fn state(zone: &Zone) -> Option<OuterState> {
    let settings = zone.settings();
    tree(zone, "direct", settings.length_rate, settings.valve_link_rate)
}

/// A random tree from the valve over all nodes where length costs exp(-rate) per spacing, of links from the valve at a rate
/// of their own. `None` if some node cannot be reached.
pub fn tree(zone: &Zone, family: &'static str, rate: f64, link_rate: f64) -> Option<OuterState> {
    let plan = &zone.plan;
    let root = plan.nodes.len();
    let mut runs: Vec<Arc<Run>> = zone.pairs.iter().map(|pair| pair.run.clone()).collect();
    let edge = |p: &PairRun| Edge { a: p.a, b: p.b, weight: p.weight(rate, plan.spacing_m) };
    let mut edges: Vec<Edge> = zone.pairs.iter().map(edge).collect();
    for from in &zone.roots {
        for k in 0..plan.nodes.len() {
            let pair = zone.pair_from(from, k);
            let Some((run, share)) = plan.run(&pair, link_rate, &zone.shared) else {
                continue;
            };
            let weight = share * (-link_rate * pair.along_both_m / plan.spacing_m).exp();
            runs.push(run);
            edges.push(Edge { a: k, b: root, weight });
        }
    }
    let network = Network::new(root, edges).ok()?;
    Some(OuterState::new(family, runs, network, None).ok()?.with_wire(&plan.wired))
}
