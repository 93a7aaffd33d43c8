//! A node of a system, and how ways lie to nodes and to the grid.

use crate::geometry::{Point, distance_to_segment};
use crate::settings::Settings;

/// A node of a system: a head, a valve box, an outlet.
#[derive(Clone, Copy, Debug)]
pub struct Node {
    /// Where it was surveyed.
    pub at: Point,
    /// Standard deviation of that, per axis, metres.
    pub sd_m: f64,
}

/// Whether a way passes a node that is not at its ends so closely that the pipe would feed it.
pub fn passes(corners: &[Point], at: Point, settings: &Settings) -> bool {
    let (Some(&first), Some(&last)) = (corners.first(), corners.last()) else { return false };
    at.distance(first).min(at.distance(last)) > settings.pass_clearance_m
        && corners.windows(2).any(|w| distance_to_segment(at, w[0], w[1]) < settings.pass_clearance_m)
}

/// Length of the way along both grid axes, metres.
pub fn along_both_axes(v: Point, angle_rad: f64) -> f64 {
    let axis = Point::unit(angle_rad);
    v.dot(axis).abs() + v.cross(axis).abs()
}

/// Angle between a vector and the nearer grid axis, degrees in [0, 45].
pub fn off_axis_deg(v: Point, angle_rad: f64) -> f64 {
    let d = (v.y.atan2(v.x) - angle_rad).to_degrees().rem_euclid(90.0);
    d.min(90.0 - d)
}
