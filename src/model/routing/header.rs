//! Family `header`: a straight lateral along a grid axis, with a drop from each head or a run within its row.
//!
//! The header is one extra node of the zone's graph, and its root. It spans its outermost drops; the valve joins it at
//! the nearest point, the nearer end, or anywhere.

use crate::geometry::Point;
use crate::layout::{HeaderLines, Kind, OuterState, Run};
use crate::model::ground::Ground;
use crate::model::ground::way::{Manner, Way};
use crate::model::node::Node;
use crate::model::plan::Plan;
use crate::model::zone::Zone;
use crate::settings::Settings;
use crate::spanning_tree::{Edge, Network};
use std::sync::{Arc, OnceLock};

/// The number of places that stand for "the valve joins anywhere along the header". Numerical choice.
const JOINTS: usize = 5;

/// Where a header lies: its axis, its offset across, and the clear stretch of that line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HeaderPlace {
    /// Unit vector along the header.
    along: Point,
    /// Offset of the header to the left of the origin, metres.
    across_m: f64,
    /// The stretch along the axis that no solid interrupts, metres.
    stretch_m: (f64, f64),
}

impl HeaderPlace {
    fn point(&self, along_m: f64) -> Point {
        self.along * along_m + self.along.left() * self.across_m
    }
}

/// Every place of a header with its prior probability.
pub type HeaderPlaces = Arc<[(HeaderPlace, f64)]>;

/// The places of a zone's headers at one bearing. They depend on the start only through the row end that is nearer to
/// it, so starts on the same side of the zone share them.
pub struct Headers {
    axes: [Axis; 2],
    /// By the nearer row ends of both axes.
    known: [OnceLock<HeaderPlaces>; 4],
}

/// One grid axis that headers may follow.
struct Axis {
    along: Point,
    /// Extent of the heads along.
    length_m: f64,
    /// Extent of the heads across.
    ends: [f64; 2],
    /// Offsets that are tried, each with its share among headers along a column of heads.
    lines: Vec<(f64, f64)>,
    stretches: Vec<Stretch>,
}

/// A clear stretch of a line that a header may lie on.
struct Stretch {
    /// Which line.
    line: usize,
    /// From where to where along the axis.
    along_m: (f64, f64),
    /// Its share of the heads times the price of lying there.
    share: f64,
}

impl Headers {
    /// The headers of a plan at a bearing.
    pub fn new(plan: &Plan, ground: &Ground, angle_rad: f64, settings: &Settings) -> Self {
        let axis = |turn: f64| Axis::new(plan, ground, Point::unit(angle_rad + turn), settings);
        Self { axes: [0.0, std::f64::consts::FRAC_PI_2].map(axis), known: Default::default() }
    }

    /// The places for a zone that starts at this valve.
    pub fn places(&self, valve: Point, settings: &Settings) -> HeaderPlaces {
        let upper = [0, 1].map(|k: usize| self.axes[k].upper_is_nearer(valve));
        let places = || {
            let mut places = Vec::new();
            let squares = self.axes.each_ref().map(|axis| axis.length_m.powi(2));
            let long = squares.map(|s| s / (squares[0] + squares[1]).max(f64::MIN_POSITIVE));
            for ((axis, upper), long) in self.axes.iter().zip(upper).zip(long) {
                axis.add_places(upper, long, settings, &mut places);
            }
            normalise(&mut places);
            places.retain(|&(_, p)| p > 1e-6); // together below 1e-3 of the prior
            normalise(&mut places);
            places.into()
        };
        self.known[usize::from(upper[0]) + 2 * usize::from(upper[1])].get_or_init(places).clone()
    }
}

impl Axis {
    fn new(plan: &Plan, ground: &Ground, along: Point, settings: &Settings) -> Self {
        let across: Vec<f64> = plan.nodes.iter().map(|node| along.cross(node.at)).collect();
        let (low, high) = across.iter().fold((f64::MAX, f64::MIN), |(l, h), &t| (l.min(t), h.max(t)));
        let width = high - low + 2.0 * settings.header_margin_m;
        let count = (width / settings.header_step_m).ceil().max(1.0) as usize + 1;
        let step = width / (count - 1) as f64;
        let grid: Vec<f64> = (0..count).map(|k| low - settings.header_margin_m + k as f64 * step).collect();
        let near_heads = |c: f64| across.iter().map(|t| normal(c - t, settings.header_column_sd_m)).sum();
        let columns = shares(&grid, near_heads);
        let places: Vec<f64> = plan.nodes.iter().map(|node| along.dot(node.at)).collect();
        let mut stretches = Vec::with_capacity(count);
        for (line, &across_m) in grid.iter().enumerate() {
            add_stretches(line, &places, along, across_m, ground, &mut stretches);
        }
        let lines = grid.into_iter().zip(columns).collect();
        Self { along, length_m: spread(&places), ends: [low, high], lines, stretches }
    }

    /// Whether the upper row end is nearer to the valve than the lower one.
    fn upper_is_nearer(&self, valve: Point) -> bool {
        let at_valve = self.along.cross(valve);
        let [low, high] = self.ends;
        (low - at_valve).abs() > (high - at_valve).abs()
    }

    /// Adds the places along this axis with their weights. A header down the middle runs the long way of the zone: it takes
    /// this axis by its part of both squared extents, as a split does; others take either alike.
    fn add_places(&self, upper: bool, long: f64, settings: &Settings, places: &mut Vec<(HeaderPlace, f64)>) {
        let grid: Vec<f64> = self.lines.iter().map(|line| line.0).collect();
        let near = |at: f64, sd_m: f64| shares(&grid, |c| normal(c - at, sd_m));
        let near_end = near(self.ends[usize::from(upper)], settings.header_end_sd_m);
        let near_middle = near(0.5 * (self.ends[0] + self.ends[1]), settings.header_middle_sd_m);
        let [end, column, middle] =
            [settings.header_end_share, settings.header_column_share, settings.header_middle_share];
        let anywhere = (1.0 - end - column - middle).max(0.0) / grid.len() as f64;
        let usual = self.over_stretches(|line| end * near_end[line] + column * self.lines[line].1 + anywhere);
        let spine = self.over_stretches(|line| near_middle[line]);
        places.extend(self.stretches.iter().zip(usual.iter().zip(&spine)).map(
            |(stretch, (usual, spine))| {
                let along = self.along;
                let place = HeaderPlace { along, across_m: grid[stretch.line], stretch_m: stretch.along_m };
                (place, 0.5 * (1.0 - middle) * usual + long * middle * spine)
            },
        ));
    }

    /// The share of each clear stretch, lines having this prior.
    fn over_stretches(&self, prior: impl Fn(usize) -> f64) -> Vec<f64> {
        let weights: Vec<f64> = self.stretches.iter().map(|s| prior(s.line) * s.share).collect();
        let total: f64 = weights.iter().sum::<f64>().max(f64::MIN_POSITIVE);
        weights.into_iter().map(|weight| weight / total).collect()
    }
}

fn spread(of: &[f64]) -> f64 {
    let (low, high) = of.iter().fold((f64::MAX, f64::MIN), |(l, h), &t| (l.min(t), h.max(t)));
    high - low
}

fn normal(x: f64, sd: f64) -> f64 {
    (-0.5 * (x / sd).powi(2)).exp()
}

/// A density on a grid, as shares that sum to one.
fn shares(grid: &[f64], density: impl Fn(f64) -> f64) -> Vec<f64> {
    let mut weights: Vec<f64> = grid.iter().map(|&c| density(c)).collect();
    let total: f64 = weights.iter().sum::<f64>().max(f64::MIN_POSITIVE);
    weights.iter_mut().for_each(|w| *w /= total);
    weights
}

fn normalise(places: &mut [(HeaderPlace, f64)]) {
    let total: f64 = places.iter().map(|(_, p)| p).sum::<f64>().max(f64::MIN_POSITIVE);
    places.iter_mut().for_each(|(_, p)| *p /= total);
}

/// Adds the clear stretches of a header's line over heads at these places along it.
fn add_stretches(
    line: usize,
    places: &[f64],
    along: Point,
    across_m: f64,
    ground: &Ground,
    stretches: &mut Vec<Stretch>,
) {
    let (low, high) = places.iter().fold((f64::MAX, f64::MIN), |(l, h), &s| (l.min(s), h.max(s)));
    let (low, high) = (low - 0.01, high + 0.01);
    let point = |s: f64| along * s + along.left() * across_m;
    for (from, to) in ground.clear_intervals(point(low), point(high)) {
        let along_m = (low + from * (high - low), low + to * (high - low));
        let heads = places.iter().filter(|s| (along_m.0..=along_m.1).contains(*s)).count();
        if heads > 0 {
            let price = ground.price(&[point(along_m.0), point(along_m.1)]);
            stretches.push(Stretch { line, along_m, share: heads as f64 / places.len() as f64 * price });
        }
    }
}

/// The outer state of a header at one place; `None` if it leaves a head unfed or no link reaches it.
pub fn state(zone: &Arc<Zone>, place: HeaderPlace) -> Option<OuterState> {
    let (plan, pairs, settings) = (&zone.plan, &zone.pairs, zone.settings());
    let header = plan.nodes.len();
    let seen: Vec<(f64, f64)> = plan
        .nodes
        .iter()
        .map(|n| (place.along.dot(n.at), place.along.cross(n.at) - place.across_m))
        .collect();
    let row = settings.row_tolerance_share * plan.spacing_m + settings.row_tolerance_m;
    let mut runs: Vec<Arc<Run>> = Vec::with_capacity(pairs.len() + header);
    let mut edges = Vec::with_capacity(pairs.len() + header);
    for pair in pairs.iter() {
        let (a, b) = (seen[pair.a], seen[pair.b]);
        let mut weight = pair.weight(settings.length_rate, plan.spacing_m);
        if (a.0 - b.0).abs() > row {
            weight *= settings.between_rows_factor;
        }
        if a.1 * b.1 < 0.0 {
            weight *= settings.across_header_factor;
        }
        runs.push(pair.run.clone());
        edges.push(Edge { a: pair.a, b: pair.b, weight });
    }
    let mut drops: Vec<usize> = Vec::new();
    for (k, node) in plan.nodes.iter().enumerate() {
        let (s, t) = seen[k];
        if s < place.stretch_m.0 || s > place.stretch_m.1 {
            continue;
        }
        let Some((run, factor)) = drop_run(zone, place, node, (s, t)) else { continue };
        let passes = seen.iter().enumerate().any(|(j, &(s_j, t_j))| {
            j != k && (s_j - s).abs() < row && t_j * t > 0.0 && t_j.abs() < t.abs() - 1e-9
        });
        let pass = if passes { settings.pass_factor } else { 1.0 };
        let weight = factor * pass * (-settings.length_rate * t.abs() / plan.spacing_m).exp();
        drops.push(runs.len());
        runs.push(Arc::new(run));
        edges.push(Edge { a: k, b: header, weight });
    }
    drops.sort_by(|&i, &j| seen[edges[i].a].0.total_cmp(&seen[edges[j].a].0));
    let along_m: Vec<f64> = drops.iter().map(|&d| seen[edges[d].a].0).collect();
    let network = Network::new(header, edges).ok()?;
    let middle = along_m.get(along_m.len() / 2).copied()?;
    let head_sd_m = plan.nodes.iter().map(|n| n.sd_m).sum::<f64>() / header.max(1) as f64;
    let lines = Lines { drops, along_m, place, zone: zone.clone(), head_sd_m };
    if lines.ways_to(middle).iter().map(Way::prior).sum::<f64>() <= 0.0 {
        return None;
    }
    OuterState::new("header", runs, network, Some(Box::new(lines))).ok()
}

/// The drop from a head straight to the header, or round what is between.
fn drop_run(zone: &Zone, place: HeaderPlace, node: &Node, (s, t): (f64, f64)) -> Option<(Run, f64)> {
    let foot = place.point(s);
    let manner = Manner { elbow_share: 0.0, elbow_leg_m: 0.0, angle_rad: zone.angle_rad(), wire: false };
    let ways = if t.abs() < 1e-6 {
        vec![Way::only(vec![node.at])]
    } else {
        zone.ground().ways(node.at, foot, &manner, zone.per_metre(zone.settings().length_rate))
    };
    let (routes, factor) = zone.ground().routes(ways)?;
    let offset = zone.plan.offset(node.sd_m, node.sd_m, zone.settings());
    Some((Run::new(Kind::Drop, offset, routes, [true, false]), factor))
}

/// Header and link of one place, for any extent.
struct Lines {
    drops: Vec<usize>,
    along_m: Vec<f64>,
    place: HeaderPlace,
    zone: Arc<Zone>,
    head_sd_m: f64,
}

impl Lines {
    /// The ways from the valve to one joint.
    fn ways_to(&self, along_m: f64) -> Vec<Way> {
        let zone = &self.zone;
        let rate = zone.per_metre(zone.settings().valve_link_rate);
        zone.ground().ways(zone.valve().at, self.place.point(along_m), &zone.link_manner(), rate)
    }

    /// The valve's joints with their ways, for a header from `low` to `high` along its axis.
    fn link_ways(&self, low: f64, high: f64) -> Vec<Way> {
        let s = self.place.along.dot(self.zone.valve().at);
        let nearer_end = if (s - low).abs() <= (s - high).abs() { low } else { high };
        let settings = self.zone.settings();
        let anywhere = (1.0 - settings.joint_nearest_share - settings.joint_end_share).max(0.0);
        let mut joints =
            vec![(s.clamp(low, high), settings.joint_nearest_share), (nearer_end, settings.joint_end_share)];
        joints.extend(
            (0..JOINTS)
                .map(|k| (low + (high - low) * (k as f64 + 0.5) / JOINTS as f64, anywhere / JOINTS as f64)),
        );
        let mut ways = Vec::new();
        for (at, share) in joints {
            let mut to_joint = self.ways_to(at);
            let total: f64 = to_joint.iter().map(Way::prior).sum(); // a drawn way also tells which joint it is
            if total > 0.0 {
                to_joint.iter_mut().for_each(|way| way.weight *= share / total);
                ways.append(&mut to_joint);
            }
        }
        ways
    }
}

impl HeaderLines for Lines {
    fn drops(&self) -> &[usize] {
        &self.drops
    }

    fn lines(&self, first: usize, last: usize) -> Vec<Run> {
        let (zone, settings) = (&self.zone, self.zone.settings());
        let (low, high) = (self.along_m[first], self.along_m[last]);
        let mut lines = Vec::with_capacity(2);
        if high > low {
            let corners = vec![self.place.point(low), self.place.point(high)];
            if let Some((routes, _)) = zone.ground().routes(vec![Way::only(corners)]) {
                let offset = zone.plan.offset(self.head_sd_m, self.head_sd_m, settings);
                lines.push(Run::new(Kind::Header, offset, routes, [false, false]));
            }
        }
        if let Some((routes, _)) = zone.ground().routes(self.link_ways(low, high)) {
            let offset = zone.plan.offset(zone.valve().sd_m, self.head_sd_m, settings);
            lines.push(Run::new(Kind::HeaderLink, offset, routes, [true, false]));
        }
        lines
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Three rows of six heads, 20 m by 8 m. All headers down the middle run the long way by their part of the squared
    /// extents, 400 of 464, as near the middle as the grid of offsets lets a normal distribution of 0.5 m be; with none
    /// there both axes are alike. Planted: an axis taken by a coin is off by 0.36.
    #[test]
    fn headers_down_the_middle_run_the_long_way() {
        let nodes: Vec<Node> = (0..18)
            .map(|k| Node { at: Point::new(4.0 * f64::from(k % 6), 4.0 * f64::from(k / 6)), sd_m: 0.1 })
            .collect();
        let of = |middle: f64| {
            let settings = Settings {
                header_middle_share: middle,
                header_end_share: 0.5 * (1.0 - middle),
                header_column_share: 0.5 * (1.0 - middle),
                ..Settings::default()
            };
            let plan = Plan::new(nodes.clone(), None, Kind::Run, &settings);
            let ground = Ground::new(Vec::new(), Vec::new(), None, 0.45, 0.2);
            Headers::new(&plan, &ground, 0.0, &settings).places(Point::new(-2.0, 1.0), &settings)
        };
        let long = |places: &HeaderPlaces| -> f64 {
            places.iter().filter(|(place, _)| place.along.x.abs() > 0.5).map(|(_, p)| p).sum()
        };
        let (middle, usual) = (of(1.0), of(0.0));
        assert_relative_eq!(long(&middle), 400.0 / 464.0, epsilon = 1e-4);
        assert_relative_eq!(long(&usual), 0.5, epsilon = 1e-4);
        let rows = middle.iter().filter(|(place, _)| place.along.x.abs() > 0.5);
        let moment = |power: i32| {
            rows.clone().map(|(place, p)| p * (place.across_m - 4.0).powi(power)).sum::<f64>() / long(&middle)
        };
        assert!(moment(1).abs() < 1e-9, "{}", moment(1));
        assert_relative_eq!(moment(2).sqrt(), 0.5, epsilon = 0.01);
    }
}
