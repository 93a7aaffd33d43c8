//! A zone as its routing families see it: nodes, spacing, and the candidate runs between heads at one bearing.

use super::ground::{Ground, Manner, Way};
use crate::geometry::{Point, delaunay_edges, distance_to_segment, median_nearest_spacing, nearest};
use crate::layout::{Kind, Offset, Run};
use crate::settings::Settings;
use std::sync::Arc;

/// Spacing assumed when there are no two heads to measure it, metres (a spray head's throw; trade values 3.1).
pub const SPACING_M: f64 = 4.0;

/// A node of a system: a head, a valve box, an outlet.
#[derive(Clone, Copy, Debug)]
pub struct Node {
    /// Where it was surveyed.
    pub at: Point,
    /// Standard deviation of that, per axis, metres.
    pub sd_m: f64,
}

/// The heads of a zone (or the ends of a supply line), without its root.
pub struct Plan {
    /// The nodes, in the network's order.
    pub nodes: Vec<Node>,
    /// Median nearest-neighbour spacing, metres.
    pub spacing_m: f64,
    /// Pairs of nodes that a run may join.
    pub pairs: Vec<(usize, usize)>,
    /// What part a run between nodes plays.
    pub kind: Kind,
    /// Nodes that a control wire must reach from the root; empty where no wire rides along.
    pub wired: Vec<bool>,
}

/// A candidate run between two nodes.
#[derive(Clone)]
pub struct PairRun {
    /// One end.
    pub a: usize,
    /// The other end.
    pub b: usize,
    /// Weight but for the price of length.
    pub factor: f64,
    /// Effective length, metres.
    pub length_m: f64,
    /// The run.
    pub run: Arc<Run>,
}

impl PairRun {
    /// Weight where pipe costs exp(-rate) per spacing.
    pub fn weight(&self, rate: f64, spacing_m: f64) -> f64 {
        self.factor * (-rate * self.length_m / spacing_m).exp()
    }
}

impl Plan {
    /// The plan of these nodes; `root` serves as second point where a single node has no neighbour.
    pub fn new(nodes: Vec<Node>, root: Option<Point>, kind: Kind, settings: &Settings) -> Self {
        let points: Vec<Point> = nodes.iter().map(|node| node.at).collect();
        let to_root = root.and_then(|root| points.iter().map(|p| p.distance(root)).reduce(f64::min));
        let spacing_m = median_nearest_spacing(&points).or(to_root).unwrap_or(SPACING_M).max(0.1);
        let mut pairs: Vec<(usize, usize)> = delaunay_edges(&points);
        for (a, near) in nearest(&points, settings.neighbours as usize).into_iter().enumerate() {
            pairs.extend(near.into_iter().map(|b| (a, b)));
        }
        for pair in &mut pairs {
            *pair = (pair.0.min(pair.1), pair.0.max(pair.1));
        }
        pairs.sort_unstable();
        pairs.dedup();
        Self { nodes, spacing_m, pairs, kind, wired: Vec::new() }
    }

    /// The same plan with a control wire that rides along to these nodes.
    pub fn with_wire(self, wired: Vec<bool>) -> Self {
        Self { wired, ..self }
    }

    /// Whether pipe between these nodes, or from the root to one, surely has a wire beside it. Pipe that ends at a
    /// quick coupler has one only if a valve box lies beyond; it is taken to have none.
    pub fn surely_wired(&self, ends: &[usize]) -> bool {
        ends.iter().all(|&k| self.wired.get(k) == Some(&true))
    }

    /// Effective length: the straight one on axis, at most `diagonal_ratio` times it or the way along both axes.
    pub fn effective_length(&self, v: Point, bearing_rad: f64, settings: &Settings) -> f64 {
        along_both_axes(v, bearing_rad).min(settings.diagonal_ratio * v.norm())
    }

    /// The candidate runs between nodes at one bearing.
    pub fn pair_runs(&self, ground: &Ground, bearing_rad: f64, settings: &Settings) -> Vec<PairRun> {
        let manner = Manner {
            elbow_share: settings.elbow_share,
            elbow_leg_m: settings.elbow_leg_m,
            detour_rate_per_m: settings.length_rate / self.spacing_m,
            bearing_rad,
            wire: false,
        };
        self.pairs.iter().filter_map(|&(a, b)| self.pair_run(ground, (a, b), &manner, settings)).collect()
    }

    fn pair_run(
        &self,
        ground: &Ground,
        (a, b): (usize, usize),
        manner: &Manner,
        settings: &Settings,
    ) -> Option<PairRun> {
        let (from, to) = (self.nodes[a], self.nodes[b]);
        let v = to.at - from.at;
        let manner = Manner { wire: self.surely_wired(&[a, b]), ..*manner };
        let mut ways = ground.ways(from.at, to.at, &manner);
        self.discount_passing(&mut ways, &[a, b], settings);
        let (routes, share) = ground.routes(ways)?;
        let length_m = self.effective_length(v, manner.bearing_rad, settings);
        let off_axis = off_axis_deg(v, manner.bearing_rad);
        let aligned =
            1.0 + settings.align_gain * (-0.5 * (off_axis / settings.align_width_deg).powi(2)).exp();
        let factor = share * aligned;
        let offset = self.offset(from.sd_m, to.sd_m, settings);
        let run = Arc::new(Run { kind: self.kind, offset, routes, tied: [true, true], cover_m: None });
        Some(PairRun { a, b, factor, length_m, run })
    }

    /// Offset law of a pipe between two positions known this well. Supply lines have no heads to lie aside of.
    pub fn offset(&self, sd_a_m: f64, sd_b_m: f64, settings: &Settings) -> Offset {
        let survey = (0.5 * (sd_a_m * sd_a_m + sd_b_m * sd_b_m)).sqrt();
        let stray = if self.kind == Kind::Supply { 0.0 } else { settings.offset_stray_share };
        Offset::new(settings.offset_sd_m, stray, settings.offset_stray_sd_m, survey)
    }

    /// Lowers the weight of ways that pass another node of the system so closely that the pipe would feed it.
    pub fn discount_passing(&self, ways: &mut [Way], ends: &[usize], settings: &Settings) {
        for way in ways {
            let (Some(&first), Some(&last)) = (way.corners.first(), way.corners.last()) else { continue };
            let passes = self.nodes.iter().enumerate().any(|(k, node)| {
                !ends.contains(&k)
                    && node.at.distance(first).min(node.at.distance(last)) > settings.pass_clearance_m
                    && way
                        .corners
                        .windows(2)
                        .any(|w| distance_to_segment(node.at, w[0], w[1]) < settings.pass_clearance_m)
            });
            if passes {
                way.weight *= settings.pass_factor;
            }
        }
    }
}

/// Length of the way along both grid axes, metres.
pub fn along_both_axes(v: Point, bearing_rad: f64) -> f64 {
    let axis = Point::unit(bearing_rad);
    v.dot(axis).abs() + v.cross(axis).abs()
}

/// Angle between a vector and the nearer grid axis, degrees in [0, 45].
pub fn off_axis_deg(v: Point, bearing_rad: f64) -> f64 {
    let d = (v.y.atan2(v.x) - bearing_rad).to_degrees().rem_euclid(90.0);
    d.min(90.0 - d)
}
