//! Ties: for each point to stake out, two named fixed points from which two tapes fix it well.
//!
//! One pair for all points would be best for a crew, but walls stand between and tapes that cross flatly fix nothing. So
//! pairs are taken one after the other, each the one that does most for the points still without; a point that no pair
//! serves is refused with the reason.

use super::fixed_points::{FixedPoint, fixed_points};
use crate::geometry::{Baseline, Point, TapeError};
use crate::site::Site;
use crate::site::document::ObstacleKind;

/// Tapes that cross at less or more than this fix a point badly, degrees: limits of a published guide for two-tape fixes
/// (python/docs/trade-values.md, 8.21).
pub const CROSSING_DEG: (f64, f64) = (30.0, 120.0);

/// Fixed points closer to each other than this make no baseline, metres. Common practice, no source.
const BASELINE_LEAST_M: f64 = 2.0;

/// A pair is named for a point only if it is no more than this much worse than the best, so that few pairs serve all.
const SAME_PAIR: f64 = 1e-9;

/// Two fixed points that serve some of the points.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PointPair {
    /// Index of the first among the fixed points of the plan.
    pub a: usize,
    /// Index of the second.
    pub b: usize,
    /// Distance between them, metres: measured first, it shows whether the right points were found.
    pub length_m: f64,
}

/// How one point is found with a tape.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tie {
    /// Index of the pair.
    pub pair: usize,
    /// Tape from the first fixed point, metres.
    pub to_a_m: f64,
    /// Tape from the second, metres.
    pub to_b_m: f64,
    /// Distance along the line from the first towards the second, metres; negative: behind the first.
    pub along_m: f64,
    /// Distance to the left of that line, metres; negative: to the right. Tells which of the two points that have these tapes.
    pub left_m: f64,
    /// Whether the way along the line and then square to it is free of buildings.
    pub square_is_free: bool,
    /// Error of the point by its tapes, one standard deviation.
    pub error: TapeError,
    /// Angle at which the tapes cross, degrees.
    pub crossing_deg: f64,
}

/// Why a point has no tie.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Untied {
    /// The site has fewer than two fixed points that make a baseline.
    NoBaseline,
    /// Fewer than two fixed points have a free way to the point within a tape's length.
    OutOfReach,
    /// Every pair with free ways lies so that its tapes cross too flatly.
    Flat,
}

impl Untied {
    /// The reason as a sentence.
    pub const fn sentence(self) -> &'static str {
        match self {
            Self::NoBaseline => "the site names no two fixed points to measure from",
            Self::OutOfReach => "no two fixed points lie within a tape's length with nothing between",
            Self::Flat => "tapes from every pair of fixed points in reach would cross too flatly",
        }
    }
}

/// Ties of many points.
#[derive(Clone, Debug, PartialEq)]
pub struct Ties {
    /// The fixed points that are used, in the order of their letters.
    pub fixed: Vec<FixedPoint>,
    /// The pairs, that of most points first.
    pub pairs: Vec<PointPair>,
    /// The tie of each point, or why there is none.
    pub ties: Vec<Result<Tie, Untied>>,
}

/// Chooses fixed points and ties every point to two of them.
///
/// # Examples
/// ```
/// use underturf::geometry::Point;
/// use underturf::staking::ties;
/// let site = underturf::example::lawn()?;
/// let tied = ties(&site, &[Point::new(5.0, 3.0)]);
/// let tie = tied.ties[0].as_ref().expect("the shed and the valve box are fixed points");
/// assert!(tie.to_a_m > 0.0 && tie.to_b_m > 0.0);
/// assert!(ties(&site, &[]).pairs.is_empty());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn ties(site: &Site, points: &[Point]) -> Ties {
    let ground = Walkable::new(site);
    let all = fixed_points(site);
    let mut plan =
        Ties { fixed: Vec::new(), pairs: Vec::new(), ties: vec![Err(Untied::NoBaseline); points.len()] };
    // Heads are what a digger moves or buries: they serve only what nothing else does.
    for with_heads in [false, true] {
        let allowed: Vec<FixedPoint> = all.iter().filter(|p| with_heads || !p.head).cloned().collect();
        Round::new(&ground, &allowed, points).serve(&mut plan);
    }
    plan
}

/// Where a tape can be pulled.
struct Walkable<'a> {
    site: &'a Site,
}

impl<'a> Walkable<'a> {
    const fn new(site: &'a Site) -> Self {
        Self { site }
    }

    /// Whether a tape runs straight from `a` to `b`: no building or pool between, and not over the neighbour's ground.
    fn free(&self, a: Point, b: Point) -> bool {
        let stands = |kind: ObstacleKind| kind.blocks();
        let blocked = self.site.obstacles.iter().any(|o| stands(o.kind) && o.outline.blocks(a, b));
        let outside =
            self.site.boundary.as_ref().is_some_and(|boundary| {
                boundary.contains(a) && boundary.contains(b) && !boundary.covers(a, b)
            });
        !blocked && !outside
    }
}

/// One choice of pairs among the fixed points allowed.
struct Round<'a> {
    ground: &'a Walkable<'a>,
    fixed: &'a [FixedPoint],
    points: &'a [Point],
    /// Pairs that make a baseline.
    pairs: Vec<(usize, usize, Baseline)>,
    /// Whether a tape reaches, by fixed point and point.
    reached: Vec<Vec<bool>>,
}

impl<'a> Round<'a> {
    fn new(ground: &'a Walkable<'a>, fixed: &'a [FixedPoint], points: &'a [Point]) -> Self {
        let longest = ground.site.settings.tape_length_m;
        let reach = |from: Point, to: Point| from.distance(to) <= longest && ground.free(from, to);
        let mut pairs = Vec::new();
        for a in 0..fixed.len() {
            for b in a + 1..fixed.len() {
                let (from, to) = (fixed[a].at, fixed[b].at);
                if from.distance(to) >= BASELINE_LEAST_M && reach(from, to) {
                    pairs.extend(Baseline::new(from, to).map(|line| (a, b, line)));
                }
            }
        }
        let reached = fixed.iter().map(|from| points.iter().map(|&p| reach(from.at, p)).collect()).collect();
        Self { ground, fixed, points, pairs, reached }
    }

    /// Adds pairs to the plan until no pair serves a point still without.
    fn serve(&self, plan: &mut Ties) {
        loop {
            let open: Vec<usize> = (0..self.points.len()).filter(|&k| plan.ties[k].is_err()).collect();
            let worth =
                |pair: &(usize, usize, Baseline)| -> f64 { open.iter().map(|&k| self.worth(pair, k)).sum() };
            let mut best: Option<(f64, &(usize, usize, Baseline))> = None;
            for pair in &self.pairs {
                let worth = worth(pair);
                if worth > best.map_or(0.0, |(most, _)| most + SAME_PAIR) {
                    best = Some((worth, pair));
                }
            }
            let Some((_, pair)) = best else { break };
            let known = (letter(plan, &self.fixed[pair.0]), letter(plan, &self.fixed[pair.1]));
            let number = plan.pairs.len();
            plan.pairs.push(PointPair { a: known.0, b: known.1, length_m: pair.2.length_m() });
            for k in open {
                if self.worth(pair, k) > 0.0 {
                    plan.ties[k] = Ok(self.tie(pair, number, self.points[k]));
                }
            }
        }
        for (k, tie) in plan.ties.iter_mut().enumerate() {
            if tie.is_err() {
                *tie = Err(self.reason(k));
            }
        }
    }

    /// What a pair does for a point: 1 for tapes that cross squarely from the corners of a wall, 0 where it cannot serve.
    fn worth(&self, (a, b, line): &(usize, usize, Baseline), k: usize) -> f64 {
        if !(self.reached[*a][k] && self.reached[*b][k]) {
            return 0.0;
        }
        let crossing = line.crossing_rad(self.points[k]).map(f64::to_degrees);
        if !crossing.is_some_and(|angle| (CROSSING_DEG.0..=CROSSING_DEG.1).contains(&angle)) {
            return 0.0;
        }
        let error = line.error(self.points[k], 1.0).map_or(f64::INFINITY, |error| error.greater_m);
        1.0 / (error * self.fixed[*a].handicap * self.fixed[*b].handicap)
    }

    fn tie(&self, (a, b, line): &(usize, usize, Baseline), pair: usize, p: Point) -> Tie {
        let (to_a_m, to_b_m) = line.tapes(p);
        let (along_m, left_m) = line.along_and_left(p);
        let foot = line.from_along_and_left(along_m, 0.0);
        let (from, to) = (self.fixed[*a].at, self.fixed[*b].at);
        let beyond = if along_m < 0.0 { from } else { to };
        let on_line = (0.0..=line.length_m()).contains(&along_m) || self.ground.free(beyond, foot);
        let unbounded = f64::INFINITY;
        Tie {
            pair,
            to_a_m,
            to_b_m,
            along_m,
            left_m,
            square_is_free: on_line && self.ground.free(foot, p),
            error: line
                .error(p, self.ground.site.settings.tape_sd_m)
                .unwrap_or(TapeError { greater_m: unbounded, lesser_m: unbounded }),
            crossing_deg: line.crossing_rad(p).map_or(f64::NAN, f64::to_degrees),
        }
    }

    fn reason(&self, k: usize) -> Untied {
        if self.pairs.is_empty() {
            Untied::NoBaseline
        } else if self.pairs.iter().any(|(a, b, _)| self.reached[*a][k] && self.reached[*b][k]) {
            Untied::Flat
        } else {
            Untied::OutOfReach
        }
    }
}

/// The index of a fixed point of the plan; it is added if it is new.
fn letter(plan: &mut Ties, point: &FixedPoint) -> usize {
    let known = plan.fixed.iter().position(|other| other.at == point.at);
    known.unwrap_or_else(|| {
        plan.fixed.push(point.clone());
        plan.fixed.len() - 1
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn site(parts: &str) -> Site {
        let text = format!(r#"{{"format": "underturf-site/2", "units": "m", {parts}}}"#);
        Site::new(serde_json::from_str(&text).unwrap()).unwrap()
    }

    const HOUSE: &str = r#""boundary": [[0, 0], [20, 0], [20, 20], [0, 20]],
        "obstacles": [{"kind": "building", "outline": [[6, 8], [14, 8], [14, 12], [6, 12]]}]"#;

    #[test]
    fn points_on_both_sides_of_a_house_get_their_own_walls() {
        let site = site(HOUSE);
        let points = [Point::new(10.0, 4.0), Point::new(10.0, 16.0), Point::new(9.0, 3.0)];
        let plan = ties(&site, &points);
        let wall = |k: usize| {
            let pair = plan.pairs[plan.ties[k].unwrap().pair];
            [pair.a, pair.b].map(|end| plan.fixed[end].at.y)
        };
        assert_eq!(wall(0), [8.0, 8.0]);
        assert_eq!(wall(1), [12.0, 12.0]);
        assert_eq!(plan.ties[0].unwrap().pair, plan.ties[2].unwrap().pair);
        for (k, &p) in points.iter().enumerate() {
            let tie = plan.ties[k].unwrap();
            let pair = plan.pairs[tie.pair];
            let line = Baseline::new(plan.fixed[pair.a].at, plan.fixed[pair.b].at).unwrap();
            assert!(line.from_tapes(tie.to_a_m, tie.to_b_m, tie.left_m > 0.0).unwrap().distance(p) < 1e-9);
            assert!(line.from_along_and_left(tie.along_m, tie.left_m).distance(p) < 1e-12);
            assert!(tie.square_is_free);
            // Planted fault: a pair chosen by error alone would tape through the house.
            let ends = [plan.fixed[pair.a].at, plan.fixed[pair.b].at];
            assert!(ends.iter().all(|&end| !site.obstacles[0].outline.blocks(end, p)));
        }
    }

    #[test]
    fn a_point_on_the_line_of_two_points_takes_another_pair_or_is_refused() {
        let on_line = Point::new(10.0, 8.0 - 1e-9);
        let plan = ties(&site(HOUSE), &[on_line]);
        let tie = plan.ties[0].unwrap();
        assert!((CROSSING_DEG.0..=CROSSING_DEG.1).contains(&tie.crossing_deg), "{tie:?}");
        // Two boxes are all there is: the point between them cannot be taped, one beside them can.
        let boxes = r#""valve_boxes": [{"id": "a", "x": 0, "y": 0, "valves": 1}, {"id": "b", "x": 8, "y": 0, "valves": 1}]"#;
        let plan = ties(&site(boxes), &[Point::new(4.0, 0.1), Point::new(4.0, 4.0), Point::new(90.0, 0.0)]);
        assert_eq!(plan.ties[0], Err(Untied::Flat));
        assert!(plan.ties[1].is_ok_and(|tie| (tie.crossing_deg - 90.0).abs() < 1e-9));
        assert_eq!(plan.ties[2], Err(Untied::OutOfReach));
        assert_eq!(ties(&site(r#""name": "bare""#), &[on_line]).ties, [Err(Untied::NoBaseline)]);
    }

    /// The pair of one point is the best of all pairs, by brute force.
    #[test]
    fn the_pair_of_one_point_has_the_least_error() {
        let site = site(HOUSE);
        for p in [Point::new(3.0, 3.0), Point::new(17.0, 10.0), Point::new(12.0, 15.0), Point::new(1.0, 19.0)]
        {
            let plan = ties(&site, &[p]);
            let tie = plan.ties[0].unwrap();
            let pair = plan.pairs[0];
            let worth = plan.fixed[pair.a].handicap * plan.fixed[pair.b].handicap * tie.error.greater_m;
            let all = fixed_points(&site);
            let ground = Walkable::new(&site);
            for a in &all {
                for b in &all {
                    let Some(line) = Baseline::new(a.at, b.at) else { continue };
                    let Some(angle) = line.crossing_rad(p).map(f64::to_degrees) else { continue };
                    let free = ground.free(a.at, p) && ground.free(b.at, p) && ground.free(a.at, b.at);
                    if free && (CROSSING_DEG.0..=CROSSING_DEG.1).contains(&angle) && line.length_m() >= 2.0 {
                        let other = a.handicap * b.handicap * line.error(p, 0.025).unwrap().greater_m;
                        assert!(worth <= other * (1.0 + 1e-9), "{p:?}: {} and {} are better", a.name, b.name);
                    }
                }
            }
        }
    }
}
