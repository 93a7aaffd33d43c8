//! Which looks bear on which systems: a look that no line of a system can reach, whatever the outer state, says nothing
//! of it and is left out of its sums.
//!
//! Every outer state of every bearing is asked, since a run that lies at one grid bearing alone counts as much as any.
//! Candidate runs are asked one by one. Header and link depend on the extent: those of the extreme extents are asked, and
//! a look within their hull counts as reached, which costs time where no extent in between goes there and changes nothing.

use crate::geometry::{Footprint, Point, Polygon, convex_hull};
use crate::layout::{Lines, OuterLaw, OuterState, Run, System};
use crate::strike::{Findings, Look, Looks};
use rayon::prelude::*;
use std::collections::HashSet;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// The looks that can meet a line of one system, by their places among the findings.
#[derive(Clone)]
pub struct Reached {
    /// Index of the system.
    pub system: usize,
    /// Clear looks.
    pub clear: Vec<usize>,
    /// Finds.
    pub finds: Vec<usize>,
}

/// The systems that some look reaches. `None` if `stop` says so.
pub fn reached(
    law: &dyn OuterLaw,
    findings: &Findings,
    stop: &(dyn Fn() -> bool + Sync),
) -> Option<Vec<Reached>> {
    let looks: Vec<&Look> =
        findings.clear.iter().chain(findings.found.iter().map(|find| &find.look)).collect();
    let mut all = Vec::new();
    for system in 0..law.systems().len() {
        let met = by_system(law, system, &looks, stop)?;
        let (clear, finds) = met.split_at(findings.clear.len());
        let places = |met: &[bool]| met.iter().enumerate().filter_map(|(k, met)| met.then_some(k)).collect();
        if met.contains(&true) {
            all.push(Reached { system, clear: places(clear), finds: places(finds) });
        }
    }
    Some(all)
}

/// Whether each look reaches a system at some bearing in some outer state.
fn by_system(
    law: &dyn OuterLaw,
    system: usize,
    looks: &[&Look],
    stop: &(dyn Fn() -> bool + Sync),
) -> Option<Vec<bool>> {
    let asked: Vec<Asked> = looks.iter().map(|look| Asked::new(&law.systems()[system], look)).collect();
    let at_bearing = |bearing: usize| -> Option<()> {
        let mut known: HashSet<*const Run> = HashSet::new();
        for (state, p) in law.state_probabilities(bearing, system).iter().enumerate() {
            if !asked.iter().any(Asked::open) {
                break;
            }
            if stop() {
                return None;
            }
            let state = if *p > 0.0 { law.state(bearing, system, state) } else { None };
            if let Some(state) = state {
                ask(&state, &asked, &mut known);
            }
        }
        Some(())
    };
    (0..law.bearings().len()).into_par_iter().map(at_bearing).collect::<Option<()>>()?;
    Some(asked.iter().map(|look| look.met.load(Ordering::Relaxed)).collect())
}

/// One look, and whether something that it can meet was seen so far: by any thread, in any order, to the same end.
struct Asked {
    look: Looks,
    widened: Footprint,
    /// Whether a line of this class may have been reported so.
    allowed: bool,
    met: AtomicBool,
}

impl Asked {
    fn new(system: &System, look: &Look) -> Self {
        Self {
            look: Looks::new(system, std::slice::from_ref(look)),
            widened: look.footprint.inflated(system.radius_m),
            allowed: look.report.allows(system.class),
            met: AtomicBool::new(false),
        }
    }

    fn open(&self) -> bool {
        self.allowed && !self.met.load(Ordering::Relaxed)
    }

    /// Whether it comes within a distance of a box.
    fn near(&self, low: Point, high: Point, by: f64) -> bool {
        let (own_low, own_high) = self.widened.bounds();
        own_low.x <= high.x + by
            && own_high.x >= low.x - by
            && own_low.y <= high.y + by
            && own_high.y >= low.y - by
    }

    fn ask(&self, meets: impl FnOnce(&Self) -> bool) {
        if self.open() && meets(self) {
            self.met.store(true, Ordering::Relaxed);
        }
    }
}

/// Asks the lines of one outer state, but for runs asked before.
fn ask(state: &OuterState, asked: &[Asked], known: &mut HashSet<*const Run>) {
    for run in state.runs.iter().chain(state.fixed.iter()) {
        if known.insert(Arc::as_ptr(run)) {
            asked.iter().for_each(|look| look.ask(|look| look.look.miss(run).is_some()));
        }
    }
    let drops = state.header.as_ref().map_or(0, |header| header.drops().len());
    if drops == 0 {
        return;
    }
    // Links to joints in between lie within the hull of the links to the ends; that of the whole header's corners, grown
    // by half its width, holds it and is cheaper.
    let whole = moved(&state.lines(0, drops - 1));
    let (low, high) = bounds(&whole);
    let grown = 0.5 * low.distance(high);
    if asked.iter().any(|look| look.open() && look.near(low, high, grown)) {
        let ends = [0, drops - 1].into_iter().flat_map(|k| moved(&state.lines(k, k)));
        let corners: Vec<Point> = ends.chain(whole).collect();
        let hull = Polygon::new(convex_hull(&corners));
        asked.iter().for_each(|look| look.ask(|look| meets_hull(&look.widened, &hull)));
    }
}

/// The corners of lines, moved aside as far as they go.
fn moved(lines: &Lines) -> Vec<Point> {
    let routes = lines.iter().flat_map(|line| line.routes.iter().map(|route| (route, line.offset.reach())));
    routes.flat_map(|(route, reach)| [reach, -reach].map(|o| route.path.at(o))).flatten().collect()
}

/// The box of points: lower left and upper right.
fn bounds(points: &[Point]) -> (Point, Point) {
    let far = f64::INFINITY;
    points.iter().fold((Point::new(far, far), Point::new(-far, -far)), |(low, high), p| {
        (Point::new(low.x.min(p.x), low.y.min(p.y)), Point::new(high.x.max(p.x), high.y.max(p.y)))
    })
}

fn meets_hull(footprint: &Footprint, hull: &Polygon) -> bool {
    footprint.meets_polygon_interior(hull) || hull.edges().any(|(a, b)| footprint.meets_segment(a, b))
}
