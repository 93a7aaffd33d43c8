//! Metal lines joined to the draws of layouts that share their bearing and their case of the supply.

use super::layouts::Layouts;
use super::metal::{STREAMS, SampledMetal};
use crate::class::Class;
use crate::layout::MetalLine;
use crate::model::Bearing;
use crate::rng;
use rand::{Rng, RngExt};
use std::collections::HashMap;
use std::sync::Arc;

/// A class is assessed by metal where this many lines carry it in the mean, or where something on the site names it.
const LIKELY: f64 = 0.5;

/// The stream of random numbers that lays control wire.
const WIRES: u64 = STREAMS + 2;

/// The layouts with metal lines in every draw.
pub(super) fn with_metal(mut layouts: Layouts, metal: SampledMetal) -> Layouts {
    if metal.is_met(&layouts.findings) {
        layouts.warnings.extend(metal.thinned(effective(&layouts)));
    } else {
        in_turn(&mut layouts, &metal);
    }
    let wired = wired(&layouts);
    if let Some(share) = wired {
        lay_wire(&mut layouts, share, metal.seed());
    }
    let system = layouts.systems().len() as u16 + 1;
    let lines = |k: usize| layouts.draws[k].metal.iter().flat_map(|line| line.pieces(system)).collect();
    layouts.pieces = layouts.pieces.with(lines);
    for (class, lines) in Class::ALL.into_iter().zip(mean_lines(&layouts)) {
        layouts.assessed[class as usize] |= lines >= LIKELY || metal.is_named(class);
    }
    layouts.assessed[Class::ControlWire as usize] |= wired.is_some();
    layouts.bearings = Bearing::merged(&layouts.bearings);
    layouts.warnings.extend(metal.warnings());
    layouts.metal = Some(metal.kept(&layouts.findings));
    layouts
}

/// Gives each layout a draw of metal at its bearing and of its case. Each draw of metal serves in turn; where that starts is by
/// the seed, so that no draw is favoured.
fn in_turn(layouts: &mut Layouts, metal: &SampledMetal) {
    let draws = metal.draws();
    let shared = layouts.models[0].prior.grid_bearings();
    let lists: Vec<Vec<usize>> = shared.iter().map(|at| metal.at_bearing(at)).collect();
    let mut rng = rng::stream(metal.seed(), STREAMS);
    let mut next: Vec<usize> = lists.iter().map(|list| rng.random_range(0..list.len().max(1))).collect();
    for draw in &mut layouts.draws {
        let list = &lists[draw.bearing];
        let k = next[draw.bearing];
        next[draw.bearing] = (k + 1) % list.len();
        draw.metal = draws[list[k]].lines.clone().into();
        draw.metal_chain = draws[list[k]].chain as u8;
    }
}

/// Lays the control wire beside metal mainlines, by this share.
fn lay_wire(layouts: &mut Layouts, share: f64, seed: u64) {
    let mut rng = rng::stream(seed, WIRES);
    for draw in &mut layouts.draws {
        draw.metal = draw.metal.iter().map(|line| with_wire(line, share, &mut rng)).collect();
    }
}

/// The share of metal mainlines that the control wire lies with, where the site has valves that it leads to and where some
/// metal line feeds them.
fn wired(layouts: &Layouts) -> Option<f64> {
    let site = layouts.site();
    let cases = site.metal_supply.iter().flat_map(|metal| &metal.cases);
    let mains = cases.flatten().any(|line| line.class == Class::Mainline);
    (mains && !site.valve_boxes.is_empty()).then_some(site.settings.wire_with_metal_share)
}

/// A metal line, with the control wire beside it by this share where it is a mainline.
fn with_wire(line: &Arc<MetalLine>, share: f64, rng: &mut impl Rng) -> Arc<MetalLine> {
    let main = matches!(line.class, Class::Mainline | Class::Reclaimed);
    if main && rng.random::<f64>() < share {
        return Arc::new(MetalLine { wire: true, ..(**line).clone() });
    }
    line.clone()
}

/// Effective number of draws of metal behind the layouts, which share them as finds have it.
fn effective(layouts: &Layouts) -> f64 {
    let mut counts: HashMap<*const Arc<MetalLine>, f64> = HashMap::new();
    for draw in &layouts.draws {
        *counts.entry(draw.metal.as_ptr()).or_default() += 1.0;
    }
    (layouts.draws.len() as f64).powi(2) / counts.values().map(|count| count * count).sum::<f64>()
}

fn mean_lines(layouts: &Layouts) -> [f64; Class::ALL.len()] {
    let mut lines = [0.0; Class::ALL.len()];
    for line in layouts.draws.iter().flat_map(|draw| draw.metal.iter()) {
        lines[line.class as usize] += 1.0 / layouts.draws.len() as f64;
    }
    lines
}
