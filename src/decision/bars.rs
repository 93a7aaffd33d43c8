//! Where a dig may not go: into tolerance zones, onto metal that a detector heard, into buildings, pools and the stems of
//! standing trees, or over the boundary of the site.

use super::dig::{distance_to_mark, footprint};
use crate::error::Error;
use crate::geometry::{Footprint, Point};
use crate::monitor::Monitor;
use crate::site::document::ObstacleKind;
use crate::site::{Dig, Mark, Site, Tree};
use crate::strike::raster::Grid;
use ndarray::Array2;

/// Boundaries are kept to within this, metres: rounding.
const ROUNDING_M: f64 = 1e-9;

/// What keeps a dig from being dug where it is drawn, marks apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Bar {
    /// It meets a building or pool, by its index among the obstacles.
    Obstacle(usize),
    /// It meets the stem of a standing tree, by its index among the trees.
    Tree(usize),
    /// It reaches over the boundary.
    Boundary,
}

/// Where a dig may not go.
pub(super) struct Bars {
    /// Whether the dig would enter a tolerance zone or ground to keep off, meet a building, pool or stem, or leave the
    /// boundary.
    pub barred: Array2<bool>,
    /// Whether it would enter a tolerance zone.
    pub in_tolerance_zone: Array2<bool>,
    /// Whether it would enter the ground to keep off along flagged metal.
    pub on_flagged_metal: Array2<bool>,
}

/// A dig that is moved about.
struct Moved<'a> {
    site: &'a Site,
    shape: &'a Footprint,
    bounds: (Point, Point),
    /// The radius of a hole whose middle is its reference point: it needs only distances from there.
    radius_m: Option<f64>,
}

impl<'a> Moved<'a> {
    fn new(site: &'a Site, shape: &'a Footprint) -> Self {
        let hole = shape.parts().len() == 1 && shape.parts()[0].corners == [Point::default()];
        Self { site, shape, bounds: shape.bounds(), radius_m: hole.then(|| shape.parts()[0].radius) }
    }

    fn at(&self, at: Point) -> Footprint {
        self.radius_m.map_or_else(|| self.shape.translated(at), |radius_m| Footprint::disc(at, radius_m))
    }

    fn enters_zone(&self, moved: &Footprint) -> bool {
        self.site.marks.iter().any(|mark| distance_to_mark(moved, mark) < half_zone_m(self.site, mark))
    }

    fn is_on_metal(&self, moved: &Footprint) -> bool {
        self.site.keep_offs.iter().any(|metal| metal.is_entered(moved))
    }

    fn bar(&self, at: Point, moved: &Footprint) -> Option<Bar> {
        let (low, high) = self.bounds;
        let solid = self.site.obstacles.iter().position(|obstacle| {
            let (a, b) = obstacle.outline.bounds();
            let near = at.x + high.x > a.x && at.x + low.x < b.x && at.y + high.y > a.y && at.y + low.y < b.y;
            obstacle.kind.blocks() && near && moved.meets_polygon_interior(&obstacle.outline)
        });
        let outside = || {
            self.site.boundary.as_ref().is_some_and(|boundary| match self.radius_m {
                Some(radius_m) => {
                    !boundary.contains(at) || boundary.distance_to_boundary(at) < radius_m - ROUNDING_M
                }
                None => !moved.within(boundary),
            })
        };
        let stem = || {
            let meets = |tree: &Tree| moved.distance_to_point(tree.at) < 0.5 * tree.stem_diameter_m;
            self.site.trees.iter().position(meets)
        };
        solid
            .map(Bar::Obstacle)
            .or_else(|| stem().map(Bar::Tree))
            .or_else(|| outside().then_some(Bar::Boundary))
    }
}

/// What keeps a dig from being dug where it is drawn, marks apart.
///
/// # Examples
/// ```
/// use underturf::decision::{Bar, bar};
/// use underturf::geometry::Point;
/// let site = underturf::example::lawn()?;
/// let post = &site.digs[0];
/// assert_eq!(bar(&site, post), None);
/// assert_eq!(bar(&site, &post.moved(Point::new(6.0, -3.3))), Some(Bar::Obstacle(0)), "the shed is in the way");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn bar(site: &Site, dig: &Dig) -> Option<Bar> {
    let shape = footprint(dig);
    Moved::new(site, &shape).bar(Point::default(), &shape)
}

/// Whether a dig meets paving: none is moved onto it, and nobody lifts it for a probe (common practice, no source).
pub(super) fn is_paved(site: &Site, dig: &Footprint) -> bool {
    let mut paving = site.obstacles.iter().filter(|obstacle| obstacle.kind == ObstacleKind::Paving);
    paving.any(|obstacle| dig.meets_polygon_interior(&obstacle.outline))
}

/// The cells where a dig whose reference point is at zero may not be centred.
pub(super) fn bars(
    grid: &Grid,
    site: &Site,
    shape: &Footprint,
    monitor: &dyn Monitor,
) -> Result<Bars, Error> {
    let all = Array2::from_elem((grid.rows, grid.cols), false);
    let mut bars = Bars { barred: all.clone(), in_tolerance_zone: all.clone(), on_flagged_metal: all };
    let dig = Moved::new(site, shape);
    for row in 0..grid.rows {
        if row % 16 == 0 && !monitor.tick(0, 1) {
            return Err(Error::Interrupted);
        }
        for col in 0..grid.cols {
            let at = grid.centre(row, col);
            let moved = dig.at(at);
            let zone = dig.enters_zone(&moved);
            let metal = dig.is_on_metal(&moved);
            bars.in_tolerance_zone[(row, col)] = zone;
            bars.on_flagged_metal[(row, col)] = metal;
            bars.barred[(row, col)] = zone || metal || dig.bar(at, &moved).is_some();
        }
    }
    Ok(bars)
}

/// Half width of a mark's tolerance zone, metres.
pub fn half_zone_m(site: &Site, mark: &Mark) -> f64 {
    mark.half_zone_m.unwrap_or(site.settings.tolerance_half_zone_m)
}
