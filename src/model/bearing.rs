//! The bearing of the installers' grid: prior from straight edges, evidence from pairs of neighbouring heads.
//!
//! Everything lives modulo a quarter turn. The whole posterior is kept on a grid, so every mode stays in play:
//! triangular heads have three, and the top one is sometimes wrong.

use crate::geometry::{Point, median_nearest_spacing};
use crate::settings::Settings;
use crate::site::Site;
use crate::site::document::{HeadKind, ObstacleKind};

/// Bearings are kept until all but this share of the posterior is covered.
const DROPPED: f64 = 1e-3;

/// Pairs of heads count as neighbours up to this many times the median nearest-neighbour spacing (python/docs/model.md, 2.2).
const PAIR_REACH: f64 = 1.25;

/// One grid bearing with its probability, and what metal lines carry of the supply there: all that the systems share.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bearing {
    /// Radians counter-clockwise from x, in [0, pi/2).
    pub rad: f64,
    /// Posterior probability.
    pub probability: f64,
    /// Index of the case of the supply among those of [`MetalSupply`](crate::site::MetalSupply); 0 where metal says nothing.
    pub case: usize,
}

impl Bearing {
    /// The bearings alone, each once, cases of the supply summed over.
    pub fn merged(all: &[Self]) -> Vec<Self> {
        let mut merged: Vec<Self> = Vec::with_capacity(all.len());
        for bearing in all {
            match merged.iter_mut().find(|known| known.rad == bearing.rad) {
                Some(known) => known.probability += bearing.probability,
                None => merged.push(Self { case: 0, ..*bearing }),
            }
        }
        merged
    }
}

/// Posterior of the grid bearing, most of it first dropped to nothing.
///
/// `groups` are the heads that were laid out together (one kind); `edges` are straight edges of buildings, paving and
/// boundary. Both may be empty: the result is then flat.
pub fn posterior(groups: &[Vec<Point>], edges: &[(Point, Point)], settings: &Settings) -> Vec<Bearing> {
    let count = (90.0 / settings.grid_step_deg).round().max(1.0) as usize;
    let step = 90.0 / count as f64;
    let pairs: Vec<f64> = groups.iter().flat_map(|heads| pair_bearings_deg(heads)).collect();
    let votes: Vec<(f64, f64)> = edges.iter().map(|&(a, b)| (bearing_deg(b - a), a.distance(b))).collect();
    let total: f64 = votes.iter().map(|(_, length)| length).sum();
    let follow = if total > 0.0 { settings.grid_edge_share } else { 0.0 };
    let log_density = |theta: f64| {
        let edge =
            |&(at, length): &(f64, f64)| length / total * kernel(theta - at, settings.grid_edge_sd_deg);
        let prior = (1.0 - follow) / 90.0 + follow * votes.iter().map(edge).sum::<f64>();
        let pair = |&at: &f64| {
            let on_grid = settings.grid_pair_share * kernel(theta - at, settings.grid_pair_sd_deg);
            (on_grid + (1.0 - settings.grid_pair_share) / 90.0).ln()
        };
        prior.ln() + 0.5 * pairs.iter().map(pair).sum::<f64>() // halved: pairs share heads
    };
    let log: Vec<f64> = (0..count).map(|k| log_density(k as f64 * step)).collect();
    let top = log.iter().fold(f64::NEG_INFINITY, |top, &l| top.max(l));
    let mut bearings: Vec<Bearing> = log
        .iter()
        .enumerate()
        .map(|(k, l)| Bearing { rad: (k as f64 * step).to_radians(), probability: (l - top).exp(), case: 0 })
        .collect();
    keep_most(&mut bearings);
    bearings
}

/// Drops the least probable bearings, at most [`DROPPED`] in all, and normalises the rest.
fn keep_most(bearings: &mut Vec<Bearing>) {
    let total: f64 = bearings.iter().map(|b| b.probability).sum();
    let mut sorted: Vec<f64> = bearings.iter().map(|b| b.probability).collect();
    sorted.sort_by(f64::total_cmp);
    let mut dropped = 0.0;
    let least = sorted.into_iter().find(|p| {
        dropped += p;
        dropped > DROPPED * total
    });
    bearings.retain(|b| least.is_none_or(|least| b.probability >= least));
    let kept: f64 = bearings.iter().map(|b| b.probability).sum();
    bearings.iter_mut().for_each(|b| b.probability /= kept);
}

/// Bearings of pairs of heads that are near neighbours, degrees in [0, 90).
fn pair_bearings_deg(heads: &[Point]) -> Vec<f64> {
    let Some(spacing) = median_nearest_spacing(heads) else { return Vec::new() };
    let mut bearings = Vec::new();
    for (i, &a) in heads.iter().enumerate() {
        for &b in &heads[i + 1..] {
            if a.distance(b) < PAIR_REACH * spacing && a != b {
                bearings.push(bearing_deg(b - a));
            }
        }
    }
    bearings
}

fn bearing_deg(v: Point) -> f64 {
    v.y.atan2(v.x).to_degrees().rem_euclid(90.0)
}

/// Normal density of an angle difference modulo 90 degrees (the nearest image; the others are below 1e-12 for sd < 6).
fn kernel(difference_deg: f64, sd_deg: f64) -> f64 {
    let d = (difference_deg + 45.0).rem_euclid(90.0) - 45.0;
    (-0.5 * (d / sd_deg).powi(2)).exp() / (sd_deg * std::f64::consts::TAU.sqrt())
}

/// The grid bearings of a site with their probabilities: heads, edges, and what is known of metal lines.
pub fn bearings(site: &Site) -> Vec<Bearing> {
    let mut bearings = posterior(&groups(site), &straight_edges(site), &site.settings);
    if !site.bearing_evidence.is_empty() {
        for bearing in &mut bearings {
            let at = |known: &&(f64, f64)| (known.0 - bearing.rad).abs() < 1e-9;
            bearing.probability *= site.bearing_evidence.iter().find(at).map_or(1.0, |known| known.1);
        }
        keep_most(&mut bearings);
    }
    bearings
}

/// The same, each with the cases of the supply that metal lines tell of.
pub fn with_cases(bearings: Vec<Bearing>, site: &Site) -> Vec<Bearing> {
    let Some(metal) = &site.metal_supply else { return bearings };
    let cases = |bearing: Bearing| {
        let shares = metal.shares_at(bearing.rad).iter().enumerate().filter(|(_, share)| **share > 0.0);
        let of_case = move |(case, share): (usize, &f64)| Bearing {
            probability: bearing.probability * share,
            case,
            ..bearing
        };
        shares.map(of_case).collect::<Vec<_>>()
    };
    bearings.into_iter().flat_map(cases).collect()
}

/// Heads of one kind were laid out together.
fn groups(site: &Site) -> Vec<Vec<Point>> {
    let kinds = [HeadKind::Spray, HeadKind::Rotor, HeadKind::Bubbler, HeadKind::Drip, HeadKind::Other];
    let of_kind =
        |kind| site.heads.iter().filter(move |head| head.kind == kind).map(|head| head.at).collect();
    kinds.into_iter().map(of_kind).collect()
}

/// Straight edges that a grid may follow.
fn straight_edges(site: &Site) -> Vec<(Point, Point)> {
    let lined =
        site.obstacles.iter().filter(|o| matches!(o.kind, ObstacleKind::Building | ObstacleKind::Paving));
    let outlines = lined.map(|o| &o.outline).chain(&site.boundary);
    outlines.flat_map(|outline| outline.edges().collect::<Vec<_>>()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn turned(points: &[(f64, f64)], deg: f64) -> Vec<Point> {
        let (u, v) = (Point::unit(deg.to_radians()), Point::unit(deg.to_radians()).left());
        points.iter().map(|&(x, y)| u * x + v * y).collect()
    }

    fn square_grid() -> Vec<(f64, f64)> {
        (0..20).map(|k| (4.0 * (k % 5) as f64, 4.0 * (k / 5) as f64)).collect()
    }

    #[test]
    fn square_grid_is_found_whatever_its_bearing() {
        for deg in [0.0, 12.5, 44.0, 89.5] {
            let posterior = posterior(&[turned(&square_grid(), deg)], &[], &Settings::default());
            let top =
                posterior.iter().max_by(|a, b| a.probability.total_cmp(&b.probability)).expect("bearings");
            let off = (top.rad.to_degrees() - deg + 45.0).rem_euclid(90.0) - 45.0;
            assert!(off.abs() < 0.51, "{deg}: {off}");
            assert!((posterior.iter().map(|b| b.probability).sum::<f64>() - 1.0).abs() < 1e-12);
        }
    }

    /// The 19 heads of a hexagonal patch have as many pairs along each of three bearings: no mode may be lost.
    #[test]
    fn triangular_heads_keep_all_three_modes() {
        let (u, v) = (Point::unit(0.0) * 4.0, Point::unit(60f64.to_radians()) * 4.0);
        let places = (-2i32..=2).flat_map(|i| (-2i32..=2).map(move |j| (i, j)));
        let heads: Vec<Point> = places
            .filter(|(i, j)| (i + j).abs() <= 2)
            .map(|(i, j)| u * f64::from(i) + v * f64::from(j))
            .collect();
        assert_eq!(heads.len(), 19);
        let posterior = posterior(&[heads], &[], &Settings::default());
        for mode in [0.0, 30.0, 60.0] {
            let near = posterior
                .iter()
                .filter(|b| ((b.rad.to_degrees() - mode + 45.0).rem_euclid(90.0) - 45.0).abs() < 3.0);
            assert!(near.map(|b| b.probability).sum::<f64>() > 0.2, "mode {mode} is lost");
        }
    }

    #[test]
    fn nothing_known_is_flat_and_edges_lead() {
        assert_eq!(posterior(&[], &[], &Settings::default()).len(), 180);
        let wall = (Point::new(0.0, 0.0), Point::new(10.0, 10.0));
        let led = posterior(&[], &[wall], &Settings::default());
        let top = led.iter().max_by(|a, b| a.probability.total_cmp(&b.probability)).expect("bearings");
        assert!((top.rad.to_degrees() - 45.0).abs() < 0.51);
    }
}
