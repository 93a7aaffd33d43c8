//! Supply lines: pipe from the sources to valve boxes and outlets, beside metal lines that carry the same water already, and
//! but for outlets that are fed by the building they hang on.
//!
//! A metal line is one extra node of the graph, as a header is: it is there, and what is routed is what is missing. Ends that
//! it reaches are the same node, so that no second pipe leads to them; a line that leads to a source, or is known to be fed
//! from elsewhere, is the root. Branches leave it at the nearest point of its course (common practice, no source).

use super::pair::Pair;
use crate::geometry::{Point, ShiftedPath, near_interval};
use crate::layout::{Kind, OuterState, Route, Run};
use crate::model::ground::way::Way;
use crate::model::node::{Node, along_both_axes};
use crate::model::plan::PairRun;
use crate::model::zone::Zone;
use crate::spanning_tree::{Edge, Network};
use std::sync::Arc;

/// Outlets of which each may or may not be fed by its building are listed in all combinations up to so many; further ones are
/// fed as the nearest of these is. Numerical choice: 64 states for each start.
const MOST: usize = 6;

/// A branch leaves a metal line where that is known no better than this, metres: a trench's wander beside the scatter of flags.
const COURSE_SD_M: f64 = 0.1;

/// A metal line that carries a system's water, or that its pipe lies beside.
#[derive(Clone, Debug, PartialEq)]
pub struct MetalMain {
    /// Its course, metres.
    pub course: Vec<Point>,
    /// Whether it is the control wire: the pipe is laid along it, and is part of every layout.
    pub wire: bool,
    /// Whether it needs no feed from the system: what feeds it is known to lie elsewhere.
    pub fed: bool,
    /// Indices of the sources that it leads to or passes.
    pub sources: Vec<usize>,
    /// Indices of the nodes that it leads to or passes.
    pub nodes: Vec<usize>,
}

/// Lines that come this near to each other with an end are one, metres: half a box and two standard deviations of both places.
const JOINED_M: f64 = 0.5;

/// What a supply line's system knows beside its plan.
#[derive(Default)]
pub struct Supply {
    /// For each node, the chance that it is fed by the building it hangs on.
    pub indoors: Vec<f64>,
    /// Whether nobody knows where the system starts: a metal line is then where it does.
    pub hidden: bool,
    /// By case, the metal lines that carry its water.
    pub metal: Vec<Vec<MetalMain>>,
}

/// A way that keeps to a metal line for more than this, metres, is that line and is not laid beside it: so far as a crew goes to
/// pick up a trench. Common practice, no source.
const FOLLOWED_M: f64 = 1.0;

/// Cosine of the turn below which a way runs along a line: 20 degrees, as along a drawn one.
const ALONG_COSINE: f64 = 0.94;

impl MetalMain {
    /// Whether a path keeps to its course.
    fn is_followed(&self, path: &ShiftedPath) -> bool {
        let mut followed_m = 0.0;
        for leg in path.legs() {
            for part in self.course.windows(2) {
                let along = (part[1] - part[0]).direction().map_or(0.0, |along| along.dot(leg.along).abs());
                if along >= ALONG_COSINE
                    && let Some((from, to)) = near_interval(leg.start, leg.end, part[0], part[1], JOINED_M)
                {
                    followed_m += (to - from) * leg.start.distance(leg.end);
                }
            }
        }
        followed_m > FOLLOWED_M
    }
}

/// Outlets that are fed by their buildings: which, and how probable that is. The one with the fewest comes last.
pub type Indoors = (Vec<bool>, f64);

/// The combinations of outlets fed by their buildings, given the chance of that for each node; places tell which are near.
pub fn indoors(chances: &[f64], nodes: &[Node]) -> Vec<Indoors> {
    let mut open: Vec<usize> = (0..chances.len()).filter(|&k| chances[k] > 0.0 && chances[k] < 1.0).collect();
    let tied = open.split_off(open.len().min(MOST));
    let combination = |mask: usize| {
        let mut inside: Vec<bool> = chances.iter().map(|chance| *chance >= 1.0).collect();
        let mut probability = 1.0;
        for (bit, &k) in open.iter().enumerate() {
            inside[k] = mask >> bit & 1 == 1;
            probability *= if inside[k] { chances[k] } else { 1.0 - chances[k] };
        }
        for &k in &tied {
            let off = |other: &&usize| nodes[**other].at.distance(nodes[k].at);
            let nearest = open.iter().min_by(|a, b| off(a).total_cmp(&off(b)));
            inside[k] = nearest.is_some_and(|&other| inside[other]);
        }
        (inside, probability)
    };
    (0..1usize << open.len()).rev().map(combination).collect()
}

/// A pipe that may be laid between two spots: nodes, then metal lines, then the root.
pub struct Candidate {
    a: usize,
    b: usize,
    run: Arc<Run>,
    weight: f64,
}

/// Every pipe that a supply line may have, from one start and at one bearing.
pub fn candidates(zone: &Zone, metal: &[MetalMain], hidden: bool) -> Vec<Candidate> {
    let (plan, settings) = (&zone.plan, zone.settings());
    let (nodes, root) = (plan.nodes.len(), plan.nodes.len() + metal.len());
    let weight = |pair: &PairRun| pair.weight(settings.length_rate, plan.spacing_m);
    // A hidden start is nowhere but on a metal line, where there is one.
    let roots = if hidden && !metal.is_empty() { &[][..] } else { &zone.roots[..] };
    let beside = |pair: &Pair, rate: f64| {
        let mut weights = zone.weights(pair, rate);
        let along = |route: &Route| metal.iter().any(|main| main.is_followed(&route.path));
        let kept = weights.iter_mut().zip(pair.routes());
        kept.filter(|(_, route)| along(route)).for_each(|(weight, _)| *weight = 0.0);
        pair.run(&weights)
    };
    let mut all: Vec<Candidate> = Vec::with_capacity(zone.pairs.len() + roots.len() * nodes);
    for p in zone.pairs.iter() {
        let (a, b) = (p.a, p.b);
        if metal.is_empty() {
            all.push(Candidate { a, b, run: p.run.clone(), weight: weight(p) });
            continue;
        }
        let pair = zone.pair(a, b);
        let Some((run, share)) = beside(&pair, settings.length_rate) else { continue };
        let (factor, length_m) = (share * pair.aligned, pair.length_m);
        let weight = weight(&PairRun { a, b, factor, length_m, run: run.clone() });
        all.push(Candidate { a, b, run, weight });
    }
    for from in roots {
        for k in 0..nodes {
            let pair = zone.pair_from(from, k);
            let Some((run, share)) = beside(&pair, settings.valve_link_rate) else { continue };
            let decay = (-settings.valve_link_rate * pair.along_both_m / plan.spacing_m).exp();
            all.push(Candidate { a: k, b: root, run, weight: share * decay });
        }
    }
    for (line, main) in metal.iter().enumerate() {
        let spot = nodes + line;
        let mut branch = |other: usize, to: Node, ends: &[usize], tied: bool| {
            let foot = nearest_on(&main.course, to.at);
            all.extend(pipe(zone, foot, to, ends, tied).map(|(run, weight)| Candidate {
                a: spot,
                b: other,
                run,
                weight,
            }));
        };
        plan.nodes.iter().enumerate().for_each(|(k, node)| branch(k, *node, &[k], true));
        roots.iter().for_each(|from| branch(root, from.node, &[], true));
        for (k, other) in metal.iter().enumerate().skip(line + 1) {
            let at = nearest_between(&other.course, &main.course);
            branch(nodes + k, Node { at, sd_m: COURSE_SD_M }, &[], false);
        }
    }
    all
}

/// The pipes that lie along control wires.
pub fn along_wires(zone: &Zone, metal: &[MetalMain]) -> Vec<Arc<Run>> {
    let pipe = |main: &MetalMain| {
        let offset = zone.plan.offset(COURSE_SD_M, COURSE_SD_M, zone.settings());
        let (routes, _) = zone.ground().routes(vec![Way::only(main.course.clone())])?;
        Some(Arc::new(Run::new(Kind::Supply, offset, routes, [false, false])))
    };
    metal.iter().filter(|main| main.wire).filter_map(pipe).collect()
}

/// Pipe from a place on a metal line with its weight; `None` if there is no way, or no length.
fn pipe(zone: &Zone, foot: Point, to: Node, ends: &[usize], tied: bool) -> Option<(Arc<Run>, f64)> {
    let rate = zone.settings().valve_link_rate;
    if foot == to.at {
        return None;
    }
    let mut manner = zone.link_manner();
    manner.wire = !ends.is_empty() && zone.plan.surely_wired(ends);
    let mut ways = zone.ground().ways(foot, to.at, &manner, zone.per_metre(rate));
    zone.plan.discount_passing(&mut ways, ends, zone.settings());
    let (routes, share) = zone.ground().routes(ways)?;
    let length_m = along_both_axes(to.at - foot, zone.angle_rad());
    let offset = zone.plan.offset(COURSE_SD_M, to.sd_m, zone.settings());
    let run = Run::new(Kind::Supply, offset, routes, [false, tied]);
    Some((Arc::new(run), share * (-rate * length_m / zone.plan.spacing_m).exp()))
}

/// The outer state of a supply line. `None` if some end cannot be reached.
pub fn state(
    zone: &Zone,
    (metal, hidden): (&[MetalMain], bool),
    (candidates, fixed): (&[Candidate], &[Arc<Run>]),
    inside: &[bool],
) -> Option<OuterState> {
    let plan = &zone.plan;
    let (nodes, root) = (plan.nodes.len(), plan.nodes.len() + metal.len());
    let mut group: Vec<usize> = (0..=root).collect();
    let mut join = |a: usize, b: usize| {
        let (kept, gone) = (group[a].max(group[b]), group[a].min(group[b]));
        group.iter_mut().filter(|group| **group == gone).for_each(|group| *group = kept);
    };
    let on_metal = |k: usize| metal.iter().any(|main| main.nodes.contains(&k));
    // What a metal line leads to is fed through the ground, whatever hangs on the wall.
    (0..nodes).filter(|&k| inside[k] && !on_metal(k)).for_each(|k| join(k, root));
    for (line, main) in metal.iter().enumerate() {
        main.nodes.iter().for_each(|&k| join(k, nodes + line));
        if hidden || main.fed || !main.sources.is_empty() {
            join(nodes + line, root);
        }
        for (k, other) in metal.iter().enumerate().skip(line + 1) {
            let near = |a: &MetalMain, b: &MetalMain| {
                let end = nearest_between(&a.course, &b.course);
                nearest_on(&b.course, end).distance(end) <= JOINED_M
            };
            if near(main, other) || near(other, main) {
                join(nodes + line, nodes + k);
            }
        }
    }
    let names: Vec<usize> = (0..root).filter(|&spot| group[spot] == spot).collect();
    let place = |spot: usize| names.binary_search(&group[spot]).unwrap_or(names.len());
    let (mut runs, mut edges) = (Vec::new(), Vec::new());
    for candidate in candidates {
        let (a, b) = (place(candidate.a), place(candidate.b));
        if a != b {
            runs.push(candidate.run.clone());
            edges.push(Edge { a, b, weight: candidate.weight });
        }
    }
    let mut wired = vec![false; names.len()];
    for (k, _) in plan.wired.iter().enumerate().filter(|(_, wired)| **wired) {
        if let Some(wired) = wired.get_mut(place(k)) {
            *wired = true;
        }
    }
    let network = Network::new(names.len(), edges).ok()?;
    let state = OuterState::new("direct", runs, network, None).ok()?.with_fixed(fixed.to_vec());
    Some(if plan.wired.is_empty() { state } else { state.with_wire(&wired) })
}

/// The point of a course that is nearest to a place.
fn nearest_on(course: &[Point], at: Point) -> Point {
    let foot = |leg: &[Point]| {
        let along = leg[1] - leg[0];
        let squared = along.dot(along);
        let share = if squared > 0.0 { ((at - leg[0]).dot(along) / squared).clamp(0.0, 1.0) } else { 0.0 };
        leg[0].towards(leg[1], share)
    };
    let nearest = course.windows(2).map(foot).min_by(|a, b| a.distance(at).total_cmp(&b.distance(at)));
    nearest.unwrap_or(at)
}

/// The corner of a course that is nearest to another course.
fn nearest_between(course: &[Point], other: &[Point]) -> Point {
    let off = |at: &Point| nearest_on(other, *at).distance(*at);
    course.iter().copied().min_by(|a, b| off(a).total_cmp(&off(b))).unwrap_or_default()
}
