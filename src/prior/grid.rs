//! The grid of a site: which bearings its heads and straight edges speak for.

use super::bearing::{Bearing, posterior};
use crate::evidence::Site;
use crate::evidence::document::{HeadKind, ObstacleKind};
use crate::geometry::Point;

/// The grid bearings of a site with their probabilities.
pub fn bearings(site: &Site) -> Vec<Bearing> {
    posterior(&groups(site), &straight_edges(site), &site.settings)
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
