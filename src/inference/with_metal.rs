//! Metal lines joined to the draws of layouts that share their bearing.

use super::layouts::Layouts;
use super::metal::{Metal, STREAMS};
use crate::class::Class;
use crate::layout::MetalLine;
use crate::rng;
use rand::RngExt;
use std::collections::HashMap;
use std::sync::Arc;

/// A class is assessed by metal where this many lines carry it in the mean, or where something on the site names it.
const LIKELY: f64 = 0.5;

/// The layouts with metal lines in every draw.
pub(super) fn with_metal(mut layouts: Layouts, metal: Metal) -> Layouts {
    if metal.is_met(&layouts.findings) {
        layouts.warnings.extend(metal.thinned(effective(&layouts)));
    } else {
        in_turn(&mut layouts, &metal);
    }
    let system = layouts.systems().len() as u16 + 1;
    let lines = |k: usize| layouts.draws[k].metal.iter().flat_map(|line| line.pieces(system)).collect();
    layouts.pieces = layouts.pieces.with(lines);
    for (class, lines) in Class::ALL.into_iter().zip(mean_lines(&layouts)) {
        layouts.assessed[class as usize] |= lines >= LIKELY || metal.is_named(class);
    }
    layouts.warnings.extend(metal.warnings());
    layouts.metal = Some(metal);
    layouts
}

/// Gives each layout a draw of metal at its bearing. Each draw of metal serves in turn; where that starts is by the seed, so
/// that no draw is favoured.
fn in_turn(layouts: &mut Layouts, metal: &Metal) {
    let draws = metal.draws();
    let lists: Vec<Vec<usize>> = layouts.bearings.iter().map(|b| metal.at_bearing(b.rad)).collect();
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
