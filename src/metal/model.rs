//! The law of one site's metal: evidence with what is worked out from it once.

use super::class_law::{ByClass, CLASSES, ENDS, Fixture};
use super::evidence::{Evidence, Item, Origin};
use super::law::{Law, SCALES, STEPS_M};
use super::leg::{Direction, Weighted};
use super::sweeps::Sweeps;
use crate::geometry::Point;
use statrs::function::gamma::ln_gamma;
use std::f64::consts::FRAC_PI_2;

/// How a leg runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum LegKind {
    /// Along the first axis.
    First,
    /// Along the second axis, square to it.
    Second,
    /// In any direction.
    Any,
}

impl LegKind {
    /// Every kind.
    pub const ALL: [Self; 3] = [Self::First, Self::Second, Self::Any];
}

/// What all lines of a site share.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Shared {
    /// Index of the grid bearing.
    pub bearing: usize,
    /// Index of the walk's step.
    pub step: usize,
    /// Index of the factor on the flags' scatter.
    pub scale: usize,
}

/// The law of one site's metal.
pub struct Model {
    /// What it rests on.
    pub evidence: Evidence,
    /// `ln` of the side of a square as large as the ground, metres: places along and across are uniform over it.
    pub log_side: f64,
    /// For each pair of items, whether the straight way between them enters a building.
    blocked: Vec<bool>,
    sweeps: Option<Sweeps>,
    /// Points of each mark and of each service, where there are several, in order along it.
    pub(super) blocks: Vec<Vec<u16>>,
    /// For each item, the one of these that it belongs to.
    pub(super) block_of: Vec<Option<usize>>,
    /// For each scale and item, the item as fits take it.
    weighted: Vec<Vec<Weighted>>,
    /// For each bearing, the directions by kind.
    directions: Vec<[Direction; 3]>,
    strays: Vec<f64>,
    steps: Steps,
    /// `ln` of the number of names.
    pub(super) log_names: f64,
    /// For each class, the chance that an end stands at no fixture.
    pub(super) free_end: ByClass,
    /// For each fixture and class, the chance that an end stands there.
    pub(super) at_fixture: Vec<ByClass>,
    pub(super) log_share: ByClass,
}

impl Model {
    /// The law of this evidence.
    pub fn new(evidence: Evidence) -> Self {
        let n = evidence.items.len();
        let mut blocked = Vec::new();
        if !evidence.solid.is_empty() {
            blocked = vec![false; n * n];
            for i in 0..n {
                for j in i + 1..n {
                    let way = enters(&evidence, evidence.items[i].at, evidence.items[j].at);
                    (blocked[i * n + j], blocked[j * n + i]) = (way, way);
                }
            }
        }
        let mut count = [0.0; Fixture::KINDS];
        evidence.fixtures.iter().for_each(|(fixture, _)| count[fixture.kind()] += 1.0);
        let present = |c: usize| {
            let shares = ENDS[c].iter().zip(count).filter(|(_, count)| *count > 0.0);
            shares.map(|(share, _)| share).sum::<f64>()
        };
        let at_fixture = |(fixture, _): &(Fixture, Point)| -> ByClass {
            std::array::from_fn(|c| ENDS[c][fixture.kind()] / count[fixture.kind()])
        };
        let sd_rad = 2.0 * evidence.law.axis_sd_deg.to_radians(); // in the doubled angle
        let concentration = 1.0 / (sd_rad * sd_rad);
        let of_bearing = |&(rad, _): &(f64, f64)| {
            [
                Direction::about(rad, concentration),
                Direction::about(rad + FRAC_PI_2, concentration),
                Direction::ANY,
            ]
        };
        let directions = evidence.bearings.iter().map(of_bearing).collect();
        let of_scale = |scale: &f64| {
            let item = |item: &Item| Weighted::new(item.at, sd_m(&evidence, item, *scale));
            evidence.items.iter().map(item).collect()
        };
        let weighted = SCALES.iter().map(of_scale).collect();
        let blocks = blocks(&evidence);
        let block_of = (0..n as u16).map(|k| blocks.iter().position(|block| block.contains(&k))).collect();
        let log_side = 0.5 * evidence.area_m2.ln();
        Self {
            steps: Steps::new(&evidence),
            strays: (0..=evidence.flags).map(|count| log_strays(&evidence, log_side, count as f64)).collect(),
            log_names: (evidence.names.max(1) as f64).ln(),
            log_side,
            blocked,
            block_of,
            blocks,
            sweeps: Sweeps::new(&evidence.swept),
            weighted,
            directions,
            free_end: std::array::from_fn(|c| 1.0 - present(c)),
            at_fixture: evidence.fixtures.iter().map(at_fixture).collect(),
            log_share: std::array::from_fn(|c| evidence.law.classes[c].share.ln()),
            evidence,
        }
    }

    /// `ln` of the density of so many strays, names left out.
    pub(super) fn log_strays(&self, count: usize) -> f64 {
        self.strays[count]
    }

    /// Standard deviation of an item about its line, metres.
    pub(super) fn sd_m(&self, item: u16, scale: usize) -> f64 {
        sd_m(&self.evidence, &self.evidence.items[item as usize], SCALES[scale])
    }

    /// An item as fits take it.
    pub(super) fn weighted(&self, item: u16, scale: usize) -> Weighted {
        self.weighted[scale][item as usize]
    }

    /// Prior of a leg's direction.
    pub(super) fn direction(&self, kind: LegKind, bearing: usize) -> &Direction {
        &self.directions[bearing][kind as usize]
    }

    /// `ln` of the share of a kind among first legs.
    pub(super) fn log_first(&self, kind: LegKind) -> f64 {
        let on_axis = self.evidence.law.axis_share;
        match kind {
            LegKind::Any => (1.0 - on_axis).ln(),
            _ => (0.5 * on_axis).ln(),
        }
    }

    /// `ln` of the share of a kind after a bend; minus infinity along the same axis, which would be no bend.
    pub(super) fn log_next(&self, from: LegKind, to: LegKind) -> f64 {
        let on_axis = self.evidence.law.axis_share;
        match (from, to) {
            (LegKind::Any, LegKind::Any) => (1.0 - on_axis).ln(),
            (LegKind::Any, _) => (0.5 * on_axis).ln(),
            (_, LegKind::Any) => (1.0 - on_axis).ln(),
            (a, b) if a == b => f64::NEG_INFINITY,
            _ => on_axis.ln(),
        }
    }

    /// `ln` of the density of a step along a line, 1 / m.
    pub(super) fn log_step(&self, gap_m: f64, step: usize) -> f64 {
        log_step(&self.evidence.law, gap_m, step)
    }

    /// The same for a straight step between two flags.
    pub(super) fn log_step_between(&self, a: u16, b: u16, step: usize) -> f64 {
        let gap = || self.evidence.items[a as usize].at.distance(self.evidence.items[b as usize].at);
        let known = self.steps.between.get(a as usize * self.evidence.flags + b as usize);
        known.map_or_else(|| self.log_step(gap(), step), |steps| steps[step])
    }

    /// About the same, to propose by.
    pub(super) fn guess_log_step(&self, gap_m: f64, step: usize) -> f64 {
        let row = &self.steps.guesses[step];
        row[((gap_m / GUESS_M) as usize).min(row.len() - 1)]
    }

    /// Whether the straight way between two items enters a building.
    pub(super) fn is_blocked(&self, a: u16, b: u16) -> bool {
        !self.blocked.is_empty() && self.blocked[a as usize * self.evidence.items.len() + b as usize]
    }

    /// Whether a straight way enters a building.
    pub(super) fn enters(&self, a: Point, b: Point) -> bool {
        enters(&self.evidence, a, b)
    }

    /// Chance that the way from a point in a direction, so far, would have made no detector sound on swept ground.
    pub(super) fn silent(&self, from: Point, along: Point, length_m: f64) -> f64 {
        self.sweeps.as_ref().map_or(1.0, |sweeps| sweeps.log_silent(from, along, length_m).exp())
    }

    /// Whether any ground was swept.
    pub(super) fn is_swept(&self) -> bool {
        self.sweeps.is_some()
    }
}

/// Densities of steps worked out once.
struct Steps {
    /// For each pair of flags, `ln` of the density of the step between them, by the walk's step; none where flags are too many.
    between: Vec<[f64; STEPS_M.len()]>,
    /// By the walk's step: the same for gaps every `GUESS_M`.
    guesses: [Vec<f64>; STEPS_M.len()],
}

/// Steps between pairs are kept for so many flags: 5 MB. Numerical choice.
const PAIRED: usize = 300;

/// Guesses of steps are kept this far apart, metres, and for so many gaps. Numerical choices.
const GUESS_M: f64 = 0.1;
const GUESSED: usize = 400;

impl Steps {
    fn new(evidence: &Evidence) -> Self {
        let law = &evidence.law;
        let guesses = std::array::from_fn(|step| {
            (0..GUESSED).map(|k| log_step(law, (k as f64 + 0.5) * GUESS_M, step)).collect()
        });
        let n = evidence.flags;
        if n > PAIRED {
            return Self { between: Vec::new(), guesses };
        }
        let mut between = vec![[0.0; STEPS_M.len()]; n * n];
        for i in 0..n {
            for j in 0..i {
                let gap = evidence.items[i].at.distance(evidence.items[j].at);
                let steps = std::array::from_fn(|step| log_step(law, gap, step));
                (between[i * n + j], between[j * n + i]) = (steps, steps);
            }
        }
        Self { between, guesses }
    }
}

fn log_step(law: &Law, gap_m: f64, step: usize) -> f64 {
    let median = STEPS_M[step];
    let gap = gap_m.max(0.05 * median);
    let z = (gap / median).ln() / law.step_spread;
    let usual = (-0.5 * z * z).exp() / (gap * law.step_spread * std::f64::consts::TAU.sqrt());
    let mean = 3.0 * median;
    ((1.0 - law.gap_share) * usual + law.gap_share * (-gap / mean).exp() / mean).ln()
}

fn blocks(evidence: &Evidence) -> Vec<Vec<u16>> {
    let mut blocks: Vec<(usize, Vec<u16>)> = Vec::new();
    for (k, item) in evidence.items.iter().enumerate() {
        let (Origin::Mark(mark) | Origin::Service(mark) | Origin::Passed(mark)) = item.origin else {
            continue;
        };
        let mark = match item.origin {
            Origin::Mark(_) => 2 * mark,
            _ => 2 * mark + 1,
        };
        match blocks.last_mut().filter(|(last, _)| *last == mark) {
            Some((_, items)) => items.push(k as u16),
            None => blocks.push((mark, vec![k as u16])),
        }
    }
    // Of a service both ends are written first.
    let in_order = |mut items: Vec<u16>| {
        if matches!(evidence.items[items[1] as usize].origin, Origin::Service(_)) {
            items[1..].rotate_left(1);
        }
        items
    };
    blocks.into_iter().map(|(_, items)| items).filter(|items| items.len() > 1).map(in_order).collect()
}

fn sd_m(evidence: &Evidence, item: &Item, scale: f64) -> f64 {
    let factor = if item.is_flag() { scale } else { 1.0 };
    (item.sd_m * factor).hypot(evidence.law.wander_m)
}

/// A Poisson number whose mean has a gamma prior, summed over; each anywhere on the ground.
fn log_strays(evidence: &Evidence, log_side: f64, count: f64) -> f64 {
    let law = &evidence.law;
    let mean = law.stray_share * evidence.flags as f64 + 0.5;
    let (shape, rate) = (law.stray_shape, law.stray_shape / mean);
    ln_gamma(shape + count) - ln_gamma(shape) + shape * (rate / (rate + 1.0)).ln()
        - count * (rate + 1.0).ln()
        - 2.0 * count * log_side
}

/// Items on a wall stand in it: so much of a way's ends is left out, metres.
const WALL_M: f64 = 0.4;

fn enters(evidence: &Evidence, a: Point, b: Point) -> bool {
    let length = a.distance(b);
    if length <= 2.0 * WALL_M || evidence.solid.is_empty() {
        return false;
    }
    let (a, b) = (a.towards(b, WALL_M / length), b.towards(a, WALL_M / length));
    evidence.solid.iter().any(|outline| {
        outline.contains(a) || outline.contains(b) || outline.edges().any(|(p, q)| cross(a, b, p, q))
    })
}

fn cross(a: Point, b: Point, p: Point, q: Point) -> bool {
    let side = |u: Point, v: Point, w: Point| (v - u).cross(w - u);
    side(a, b, p) * side(a, b, q) < 0.0 && side(p, q, a) * side(p, q, b) < 0.0
}

/// Log of a sum of exponentials.
pub(super) fn log_sum(values: &[f64]) -> f64 {
    let top = values.iter().fold(f64::NEG_INFINITY, |top, v| top.max(*v));
    if top == f64::NEG_INFINITY {
        top
    } else {
        top + values.iter().map(|v| (v - top).exp()).sum::<f64>().ln()
    }
}

/// Number of classes, for arrays.
pub(super) const CLASS_COUNT: usize = CLASSES.len();
