//! How well an outer state explains what is drawn: a header along a drawn line, a tee where one is drawn, a family at
//! all.
//!
//! The drawings' factor on single ways tells runs of one state from each other, not states. So each state of a system
//! has its probability multiplied by (1 + m) / (1 - m) (for the form see `drawings`), m being the trusted share of
//! the drawing that its layouts are expected to explain: at each drawn place the chance, from the run marginals, that
//! some line of the state runs along it. The whole is what the system could explain: the drawn places that a pipe between
//! its nodes, from where it starts, or a header of it may run along, since the rest of the drawing is of other zones; but
//! no less than one spacing, so that a chance overlap with another zone's line counts little. It is known before any state
//! is built, and with it the greatest factor that a state may have: states can be drawn by rejection.

use super::ground::sketches::{Drawings, SketchStretch};
use super::zone::Zone;
use crate::geometry::{Point, ShiftedPath};
use crate::layout::{OuterState, Run};

/// Runs less probable than this are not looked at. Numerical choice.
const LEAST: f64 = 1e-3;

/// What is drawn of one system at one bearing.
pub struct Explained {
    places: Vec<SketchStretch>,
    whole_m: f64,
}

impl Explained {
    /// What is drawn of a system fed from this start; `None` where nothing is. `several` where it may have a header.
    pub fn new(zone: &Zone, several: bool) -> Option<Self> {
        let drawings = zone.ground().drawings();
        if drawings.is_empty() {
            return None;
        }
        let mut places = drawings.places();
        let mut open = vec![1.0; places.len()];
        for pair in zone.pairs.iter() {
            along_run(drawings, &places, &pair.run, 1.0, &mut open);
        }
        for root in &zone.roots {
            for k in 0..zone.plan.nodes.len() {
                for route in zone.pair_from(root, k).routes() {
                    along_path(drawings, &places, &route.path, |place| open[place] = 0.0);
                }
            }
        }
        let frame = several.then(|| Frame::new(zone));
        let may_be = |place: &SketchStretch| frame.as_ref().is_some_and(|frame| frame.holds(drawings, place));
        let mut of_it = open.into_iter().map(|open| open < 1.0);
        places.retain(|place| of_it.next() == Some(true) || may_be(place));
        let length_m: f64 = places.iter().map(|place| place.length_m).sum();
        (!places.is_empty()).then(|| Self { places, whole_m: length_m.max(zone.plan.spacing_m) })
    }

    /// The factor of a state's probability.
    pub fn likelihood_ratio(&self, drawings: &Drawings, state: &OuterState) -> f64 {
        self.of(&coverage(drawings, &self.places, state))
    }

    /// No state has a greater one.
    pub fn greatest(&self) -> f64 {
        self.of(&vec![1.0; self.places.len()])
    }

    fn of(&self, chances: &[f64]) -> f64 {
        let trusted = |(place, chance): (&SketchStretch, &f64)| place.trust * place.length_m * chance;
        let trust = self.places.iter().zip(chances).map(trusted).sum::<f64>() / self.whole_m;
        (1.0 + trust) / (1.0 - trust)
    }
}

/// The ground that headers of a zone may cross, as ranges along both grid axes.
struct Frame {
    axes: [Point; 2],
    ranges: [(f64, f64); 2],
    /// How far outside its heads a header may lie, metres.
    header_margin_m: f64,
}

impl Frame {
    fn new(zone: &Zone) -> Self {
        let along = Point::unit(zone.angle_rad());
        let axes = [along, Point::new(-along.y, along.x)];
        let range = |axis: Point| {
            let places = zone.plan.nodes.iter().map(|node| node.at.dot(axis));
            places.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), x| (low.min(x), high.max(x)))
        };
        Self { axes, ranges: axes.map(range), header_margin_m: zone.settings().header_margin_m }
    }

    /// Whether a header may run along a place.
    fn holds(&self, drawings: &Drawings, place: &SketchStretch) -> bool {
        let margin = self.header_margin_m + drawings.tolerance_m();
        let inside = |(axis, (low, high)): (&Point, &(f64, f64))| {
            (low - margin..=high + margin).contains(&place.at.dot(*axis))
        };
        let along = |axis: &Point| drawings.is_along(place, *axis);
        self.axes.iter().zip(&self.ranges).all(inside) && self.axes.iter().any(along)
    }
}

/// For each drawn place, the chance that some line of the state runs along it, runs taken as independent.
fn coverage(drawings: &Drawings, places: &[SketchStretch], state: &OuterState) -> Vec<f64> {
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
fn along_run(drawings: &Drawings, places: &[SketchStretch], run: &Run, chance: f64, missed: &mut [f64]) {
    let mut along = vec![0.0; places.len()];
    for route in &run.routes {
        along_path(drawings, places, &route.path, |k| along[k] += route.share);
    }
    for (missed, along) in missed.iter_mut().zip(along) {
        *missed *= 1.0 - (chance * along).min(1.0);
    }
}

/// Tells of each place that a path runs along.
fn along_path(
    drawings: &Drawings,
    places: &[SketchStretch],
    path: &ShiftedPath,
    mut tell: impl FnMut(usize),
) {
    let (low, high) = path.bounds(0.0);
    let reach = Point::new(drawings.tolerance_m(), drawings.tolerance_m());
    let (low, high) = (low - reach, high + reach);
    for (k, place) in places.iter().enumerate() {
        let p = place.at;
        let by = low.x <= p.x && p.x <= high.x && low.y <= p.y && p.y <= high.y;
        if by && path.legs().iter().any(|leg| drawings.runs_along(place, leg)) {
            tell(k);
        }
    }
}
