//! Family `direct`: pipe runs from the valve to near heads and on from head to head.

use super::plan::PairRun;
use super::zone::Zone;
use crate::forest::{Edge, Network};
use crate::layout::{OuterState, Run};
use std::sync::Arc;

/// The outer state of a `direct` system. `None` if some node cannot be reached.
pub fn state(zone: &Zone) -> Option<OuterState> {
    let (plan, settings) = (&zone.plan, zone.settings());
    let root = plan.nodes.len();
    let mut runs: Vec<Arc<Run>> = zone.pairs.iter().map(|pair| pair.run.clone()).collect();
    let edge = |p: &PairRun| Edge { a: p.a, b: p.b, weight: p.weight(settings.length_rate, plan.spacing_m) };
    let mut edges: Vec<Edge> = zone.pairs.iter().map(edge).collect();
    for from in &zone.roots {
        for k in 0..plan.nodes.len() {
            let pair = zone.pair_from(from, k);
            let Some((run, share)) = plan.run(&pair, settings.valve_link_rate, &zone.shared) else {
                continue;
            };
            let weight = share * (-settings.valve_link_rate * pair.along_both_m / plan.spacing_m).exp();
            runs.push(run);
            edges.push(Edge { a: k, b: root, weight });
        }
    }
    let network = Network::new(root, edges).ok()?;
    Some(OuterState::new("direct", runs, network, None).ok()?.with_wire(&plan.wired))
}
