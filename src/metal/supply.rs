//! Draws of metal by what they say of the supply: which lines carry it, and which ends of it they reach.
//!
//! Draws that say the same are one case: their supply lines reach the same sources, valve boxes and outlets and run in the
//! same places. Given its case a draw of metal is taken to say nothing more of the pipe that is routed beside
//! (python/docs/model.md, 14.8).

use super::draw::MetalDraw;
use super::evidence::{Evidence, Origin};
use crate::class::Class;
use crate::geometry::{Point, distance_to_segment};
use crate::layout::MetalLine;
use crate::rng::stream;
use crate::site::document::OutletKind;
use crate::site::{MetalSupply, Site, SupplyLine};
use rand::{Rng, RngExt};

/// Half the length of a valve box, metres (python/docs/trade-values.md, 3.21c): a line through a box reaches its valves.
const HALF_BOX_M: f64 = 0.215;

/// Standard deviation of a box's, source's or outlet's place, metres (python/docs/trade-values.md, 10.2).
const END_SD_M: f64 = 0.1;

/// A line reaches an end that it passes by no more than half a box and so many standard deviations of both places.
const REACH_SDS: f64 = 2.0;

/// Lines of one case lie no further apart in the mean, metres. Numerical choice: wider than the doubt of a line by its
/// flags, narrower than from one line to the next.
const APART_M: f64 = 1.0;

/// Courses are compared at places so far apart, metres. Numerical choice.
const STEP_M: f64 = 1.5;

/// At most so many cases are kept, and none rarer than this; draws of another count as of the nearest. Numerical choices: each
/// costs its own supply states.
const MOST: usize = 8;
const LEAST: f64 = 0.01;

/// The course of a case is that of the middle one of so many of its draws. Numerical choice.
const WEIGHED: usize = 40;

/// Streams of random numbers from here on say whether a wire lies with the main.
const TRENCHES: u64 = 1 << 21;

/// How far apart lines are where one answer has none, metres. Numerical choice: farther than any two that have.
const NONE_M: f64 = 1e3;

/// The supply lines of one draw, with places along each.
struct Told {
    lines: Vec<SupplyLine>,
    places: Vec<Vec<Point>>,
}

/// The cases of these draws, and that of each; `None` where no line of any carries the supply of a system of the site.
pub fn supply_cases(
    evidence: &Evidence,
    site: &Site,
    draws: &[MetalDraw],
    seed: u64,
) -> Option<(MetalSupply, Vec<usize>)> {
    let of = |(k, draw): (usize, &MetalDraw)| {
        Told::of(evidence, site, draw, &mut stream(seed, TRENCHES + k as u64))
    };
    let told: Vec<Told> = draws.iter().enumerate().map(of).collect();
    if told.iter().all(|told| told.lines.is_empty()) {
        return None;
    }
    let groups = groups(&told);
    let kept: Vec<usize> = groups.iter().map(|members| middle(&told, members)).collect();
    let nearest = |own: &Told| {
        let cost = |case: &usize| own.differs(&told[kept[*case]]);
        (0..kept.len()).min_by(|a, b| cost(a).total_cmp(&cost(b))).unwrap_or(0)
    };
    let mut known: Vec<Option<usize>> = vec![None; draws.len()];
    for (case, members) in groups.iter().enumerate() {
        members.iter().for_each(|draw| known[*draw] = Some(case));
    }
    let case_of: Vec<usize> =
        known.iter().zip(&told).map(|(known, own)| known.unwrap_or_else(|| nearest(own))).collect();
    let mut shares: Vec<(f64, Vec<f64>)> = Vec::new();
    for (bearing, (rad, _)) in evidence.bearings.iter().enumerate() {
        let here: Vec<usize> = (0..draws.len()).filter(|k| draws[*k].bearing == bearing).collect();
        if here.is_empty() {
            continue;
        }
        let mut of_case = vec![0.0; kept.len()];
        here.iter().for_each(|k| of_case[case_of[*k]] += 1.0 / here.len() as f64);
        shares.push((*rad, of_case));
    }
    let cases = kept.iter().map(|draw| told[*draw].lines.clone()).collect();
    Some((MetalSupply { cases, shares }, case_of))
}

/// Draws that say the same, the most first; rare ones are in none.
fn groups(told: &[Told]) -> Vec<Vec<usize>> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (draw, own) in told.iter().enumerate() {
        let alike = |members: &&mut Vec<usize>| own.is_like(&told[members[0]]);
        match groups.iter_mut().find(alike) {
            Some(members) => members.push(draw),
            None => groups.push(vec![draw]),
        }
    }
    groups.sort_by_key(|members| (std::cmp::Reverse(members.len()), members[0]));
    let common = |members: &&Vec<usize>| members.len() as f64 >= LEAST * told.len() as f64;
    let count = groups.iter().take(MOST).take_while(common).count();
    groups.truncate(count.max(1));
    groups
}

/// The draw whose lines lie nearest to those of the others.
fn middle(told: &[Told], members: &[usize]) -> usize {
    let some: Vec<usize> = members.iter().copied().step_by(members.len().div_ceil(WEIGHED)).collect();
    let far = |draw: &usize| some.iter().map(|other| told[*draw].apart_m(&told[*other])).sum::<f64>();
    let nearest = some.iter().copied().min_by(|a, b| far(a).total_cmp(&far(b)));
    nearest.unwrap_or(members[0])
}

impl Told {
    fn of(evidence: &Evidence, site: &Site, draw: &MetalDraw, rng: &mut impl Rng) -> Self {
        let mut lines: Vec<SupplyLine> = Vec::new();
        for line in &draw.lines {
            // A coin for every wire, so that what one is made of moves no other's draws.
            let shared =
                line.class != Class::ControlWire || rng.random::<f64>() < site.settings.main_with_wire_share;
            lines.extend(supply_line(evidence, site, line).filter(|_| shared));
        }
        lines.sort_by(|a, b| a.ends().cmp(&b.ends()));
        let places = lines.iter().map(|line| places(&line.course)).collect();
        Self { lines, places }
    }

    /// Whether the lines reach the same ends and lie in the same places.
    fn is_like(&self, other: &Self) -> bool {
        self.lines.len() == other.lines.len()
            && self.lines.iter().zip(&other.lines).all(|(a, b)| a.ends() == b.ends())
            && self.apart_m(other) <= APART_M
    }

    /// How far two answers are apart: metres between lines, and a metre for each end that only one of them reaches.
    fn differs(&self, other: &Self) -> f64 {
        let reached = |told: &Self| {
            let mut reached: Vec<(Class, usize, usize)> = Vec::new();
            for line in &told.lines {
                for (kind, ends) in [&line.sources, &line.outlets, &line.boxes].into_iter().enumerate() {
                    reached.extend(ends.iter().map(|end| (line.class, kind, *end)));
                }
            }
            reached
        };
        let (own, others) = (reached(self), reached(other));
        let missing = |a: &[(Class, usize, usize)], b: &[(Class, usize, usize)]| {
            a.iter().filter(|end| !b.contains(end)).count() as f64
        };
        self.apart_m(other) + missing(&own, &others) + missing(&others, &own)
    }

    /// Mean distance from places of either to the lines of the other, the greater of both systems', metres.
    fn apart_m(&self, other: &Self) -> f64 {
        let of = |class: Class| match (self.has(class), other.has(class)) {
            (false, false) => 0.0,
            (true, true) => self.off_m(other, class).max(other.off_m(self, class)),
            _ => NONE_M,
        };
        of(Class::Mainline).max(of(Class::Potable))
    }

    fn has(&self, class: Class) -> bool {
        self.lines.iter().any(|line| line.class == class)
    }

    fn off_m(&self, other: &Self, class: Class) -> f64 {
        let to = |at: Point| {
            let lines = other.lines.iter().filter(|line| line.class == class);
            lines.map(|line| distance_to_course(at, &line.course)).fold(NONE_M, f64::min)
        };
        let own = self.lines.iter().zip(&self.places).filter(|(line, _)| line.class == class);
        let (mut sum, mut count) = (0.0, 0.0);
        for at in own.flat_map(|(_, places)| places) {
            sum += to(*at);
            count += 1.0;
        }
        sum / f64::max(count, 1.0)
    }
}

/// A drawn line as one that carries the supply; `None` where its class is not that of a system of the site.
fn supply_line(evidence: &Evidence, site: &Site, line: &MetalLine) -> Option<SupplyLine> {
    let on_main = |kind: OutletKind| kind == OutletKind::QuickCoupler;
    let class = match line.class {
        Class::Mainline | Class::Reclaimed | Class::ControlWire => Class::Mainline,
        Class::Potable => Class::Potable,
        _ => return None,
    };
    let main = class == Class::Mainline;
    let has_outlets = site.outlets.iter().any(|outlet| on_main(outlet.kind) == main);
    let has_boxes = main && !site.valve_boxes.is_empty();
    if !has_outlets && !has_boxes {
        return None;
    }
    let items = || line.items.iter().map(|item| &evidence.items[*item as usize]);
    let weight: f64 = items().map(|item| item.sd_m.powi(-2)).sum();
    let variance_m2 = 1.0 / weight.max(1.0) + evidence.law.wander_m.powi(2) + END_SD_M.powi(2);
    let reach_m = HALF_BOX_M + REACH_SDS * variance_m2.sqrt();
    let reached = |fixture: usize, at: Point| {
        line.fixtures.contains(&fixture) || distance_to_course(at, &line.path) <= reach_m
    };
    // Fixtures are sources, outlets, valve boxes, in this order.
    let (sources, outlets) = (site.sources.len(), site.outlets.len());
    let of_system = |k: &usize| on_main(site.outlets[*k].kind) == main;
    let boxes = if main { site.valve_boxes.len() } else { 0 };
    Some(SupplyLine {
        class,
        wire: line.class == Class::ControlWire,
        fed: items().filter(|item| matches!(item.origin, Origin::Service(_))).count() > 1,
        sources: (0..sources).filter(|&k| reached(k, site.sources[k].at)).collect(),
        outlets: (0..outlets)
            .filter(of_system)
            .filter(|&k| reached(sources + k, site.outlets[k].at))
            .collect(),
        boxes: (0..boxes).filter(|&k| reached(sources + outlets + k, site.valve_boxes[k].at)).collect(),
        course: line.path.clone(),
    })
}

fn distance_to_course(at: Point, course: &[Point]) -> f64 {
    course.windows(2).map(|leg| distance_to_segment(at, leg[0], leg[1])).fold(f64::INFINITY, f64::min)
}

/// Places along a course.
fn places(course: &[Point]) -> Vec<Point> {
    let mut places = Vec::new();
    for leg in course.windows(2) {
        let count = (leg[0].distance(leg[1]) / STEP_M).ceil().max(1.0);
        places.extend((0..count as usize).map(|k| leg[0].towards(leg[1], (k as f64 + 0.5) / count)));
    }
    places
}
