//! How well an outer state explains what is drawn: a header along a drawn line, a tee where one is drawn, a family at
//! all.
//!
//! The drawings' factor on single ways tells runs of one state from each other, not states. So each state of a system
//! has its probability multiplied by (1 + m) / (1 - m) (for the form see `drawings`), m being the trusted share of
//! the drawing that its layouts are expected to explain: at each drawn place the chance, from the run marginals, that
//! some line of the state runs along it. The whole is what the system's states could explain between them, place by
//! place, since the rest of the drawing is of other zones; but no less than one spacing, so that a chance overlap
//! with another zone's line counts little.

use super::drawings::{Drawings, Place};
use crate::geometry::Point;
use crate::layout::{OuterState, Run};
use std::sync::Arc;

/// Runs less probable than this are not looked at. Numerical choice.
const LEAST: f64 = 1e-3;

/// For each state, the factor of its probability; 1 for states that allow no layout.
pub fn favours(drawings: &Drawings, states: &[Option<Arc<OuterState>>], spacing_m: f64) -> Vec<f64> {
    let places = drawings.places();
    let explained = |state: &Option<Arc<OuterState>>| state.as_ref().map(|s| coverage(drawings, &places, s));
    let explained: Vec<Option<Vec<f64>>> = states.iter().map(explained).collect();
    let possible = |k: usize| explained.iter().flatten().map(|chances| chances[k]).fold(0.0, f64::max);
    let whole_m: f64 = (0..places.len()).map(|k| possible(k) * places[k].length_m).sum();
    let favour = |chances: &Vec<f64>| {
        let trusted = |(place, chance): (&Place, &f64)| place.trust * place.length_m * chance;
        let trust = places.iter().zip(chances).map(trusted).sum::<f64>() / whole_m.max(spacing_m);
        (1.0 + trust) / (1.0 - trust)
    };
    explained.iter().map(|chances| chances.as_ref().map_or(1.0, favour)).collect()
}

/// For each drawn place, the chance that some line of the state runs along it, runs taken as independent.
fn coverage(drawings: &Drawings, places: &[Place], state: &OuterState) -> Vec<f64> {
    let marginals = state.network.marginals();
    let full = state.header.as_ref().and_then(|header| header.drops().len().checked_sub(1));
    let lines = full.map(|last| state.lines(0, last)); // most headers reach nearly as far as their drops
    let always = lines.iter().flat_map(|lines| lines.iter()).chain(state.fixed.iter()).map(|run| (run, 1.0));
    let candidates = state.runs.iter().zip(marginals);
    let mut missed = vec![1.0; places.len()];
    for (run, chance) in candidates.filter(|(_, chance)| *chance > LEAST).chain(always) {
        along_run(drawings, places, run, chance, &mut missed);
    }
    missed.into_iter().map(|missed| 1.0 - missed).collect()
}

/// Takes the chance that this run lies along each place off the chance that it is missed.
fn along_run(drawings: &Drawings, places: &[Place], run: &Run, chance: f64, missed: &mut [f64]) {
    let mut along = vec![0.0; places.len()];
    for route in &run.routes {
        let corners = route.path.at(0.0);
        let (low, high) = route.path.bounds(0.0);
        for (k, place) in places.iter().enumerate() {
            let by = |p: Point| {
                let reach = Point::new(drawings.tolerance_m(), drawings.tolerance_m());
                let (low, high) = (low - reach, high + reach);
                low.x <= p.x && p.x <= high.x && low.y <= p.y && p.y <= high.y
            };
            if by(place.at) && corners.windows(2).any(|leg| drawings.runs_along(place, leg[0], leg[1])) {
                along[k] += route.share;
            }
        }
    }
    for (missed, along) in missed.iter_mut().zip(along) {
        *missed *= 1.0 - (chance * along).min(1.0);
    }
}
