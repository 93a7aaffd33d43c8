//! What a tree asks of its place, wherever a place is chosen for it: how far from lines it keeps, how likely a line may lie
//! nearer than that, and what conflicts cost.
//!
//! What is *known* to lie within the setback (a mark, flagged metal, a meter) bars a place; so do the protected roots of a
//! standing tree (BS 5837:2012 keeps digging out of them). A *likely* line within it adds to the expected loss: weight times
//! chance times the share of a strike that a conflict is taken to cost; and where its chance is above the limit, the place is
//! not taken at all. A building within the roots at maturity adds to the loss, the more the nearer it is. Lines within these
//! roots are left to the setback.

use super::dig::distance_to_mark;
use super::fields::Fields;
use super::loss::Weights;
use super::roots::{mature_root_zone_m, protection_m};
use super::surroundings::{ANY_DEPTH_M, mark_within, metal_within, nearest_meter, nearest_structure};
use crate::class::Class;
use crate::error::{Allowed, ArgumentError, Error};
use crate::geometry::{Footprint, Point};
use crate::inference::Layouts;
use crate::monitor::Monitor;
use crate::planting::Setback;
use crate::site::document::TreeSize;
use crate::site::{Plant, Site};
use crate::strike::raster::{ClassMask, Grid};
use ndarray::Array2;

/// Rounding of distances, metres.
pub const SLACK_M: f64 = 1e-9;

/// What holds for every tree, where the tree itself says nothing else.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TreeRules {
    /// How far trees keep from lines.
    pub setback: Setback,
    /// Greatest chance of a line within its setback at which a place is taken for a tree.
    pub setback_limit: f64,
    /// What a line within the setback costs, as a share of striking it.
    pub setback_share: f64,
    /// What a building or pool at the stem costs, as a share of striking a sewer.
    pub roots_share: f64,
    /// Whether to keep out of the protected roots of standing trees.
    pub spare_roots: bool,
    /// Least distance from the edge of a hole to a building or pool, metres.
    pub from_building_m: f64,
}

impl Default for TreeRules {
    /// The conflict is less sure and comes later than a strike: a tenth of it; a line within the setback is taken as likely
    /// from one in four on (common practice, no source, both).
    fn default() -> Self {
        Self {
            setback: Setback::default(),
            setback_limit: 0.25,
            setback_share: 0.1,
            roots_share: 0.1,
            spare_roots: true,
            from_building_m: 0.0,
        }
    }
}

impl TreeRules {
    /// Refuses limits, shares and distances out of range.
    pub(super) fn check(&self) -> Result<(), ArgumentError> {
        Allowed::within(0.0, 1.0).check("setback_limit", self.setback_limit)?;
        Allowed::within(0.0, 1000.0).check("setback_share", self.setback_share)?;
        Allowed::within(0.0, 1000.0).check("roots_share", self.roots_share)?;
        Allowed::within(0.0, 1000.0).metres().check("from_building_m", self.from_building_m)
    }

    /// The setback of a tree: its own, else the one for all; none for a tree that it exempts.
    pub fn setback_of(&self, plant: &Plant) -> Option<Setback> {
        counted(plant.setback.unwrap_or(self.setback), Some(plant))
    }

    /// Whether a chance of a line within the setback is above the limit.
    pub fn is_over(&self, p_setback: Option<f64>) -> bool {
        p_setback.is_some_and(|p| p > self.setback_limit)
    }
}

/// A setback, unless it exempts the tree.
pub(super) fn counted(setback: Setback, plant: Option<&Plant>) -> Option<Setback> {
    let small = plant.is_some_and(|plant| plant.size == TreeSize::Small);
    (!(small && setback.exempts_small)).then_some(setback)
}

/// What one hole asks of every place: the tree it is dug for and its setback.
#[derive(Clone, Copy, Debug)]
pub(super) struct Asked<'a> {
    pub rules: &'a TreeRules,
    pub tree: Option<&'a Plant>,
    pub setback: Option<Setback>,
    pub weights: &'a Weights,
}

impl<'a> Asked<'a> {
    /// What a tree asks.
    pub fn of_tree(rules: &'a TreeRules, plant: &'a Plant, weights: &'a Weights) -> Self {
        Self { rules, tree: Some(plant), setback: rules.setback_of(plant), weights }
    }

    /// What the nearest building or pool costs at a place: the weight of a sewer times a share, all of it at the stem and none
    /// at the end of the roots at maturity, in proportion between. Roots break drains and lift footings alike (common
    /// practice, no source); there is no published distance to bar by.
    pub fn roots_loss(&self, site: &Site, stem: Point) -> f64 {
        let Some(reach) = self.tree.and_then(mature_root_zone_m) else { return 0.0 };
        let near = nearest_structure(site, stem);
        let share = near.map_or(0.0, |near| (1.0 - near.distance_m / reach).max(0.0));
        self.rules.roots_share * self.weights.by_class[Class::Sewer as usize] * share
    }

    /// What a line of a class within the setback costs.
    pub fn conflict_weight(&self, class: Class) -> f64 {
        self.rules.setback_share * self.weights.by_class[class as usize]
    }

    /// Whether a tree here would stand nearer than its setback to what is known.
    pub fn meets_known(&self, site: &Site, stem: Point) -> bool {
        let Some(setback) = self.setback else { return false };
        let at = Footprint::disc(stem, 0.0);
        let nearer = |class: Class, distance: f64| setback.line_m(class).is_some_and(|m| distance < m);
        let marked = site.marks.iter().any(|mark| nearer(mark.class, distance_to_mark(&at, mark)));
        let flagged = site.keep_offs.iter().any(|metal| nearer(Class::Unknown, metal.distance_m(&at)));
        let meter = nearest_meter(site, stem).zip(setback.meter_m()).is_some_and(|(near, m)| near < m);
        marked || flagged || meter
    }

    /// Whether a hole reaches into the protected roots of a standing tree.
    pub fn meets_protected_roots(&self, site: &Site, hole: &Footprint) -> bool {
        self.rules.spare_roots
            && site
                .trees
                .iter()
                .any(|tree| hole.distance_to_point(tree.at) < protection_m(tree.stem_diameter_m) - SLACK_M)
    }

    /// Whether a hole lies nearer to a building or pool than asked for.
    pub fn is_near_building(&self, site: &Site, hole: &Footprint) -> bool {
        let asked = self.rules.from_building_m - SLACK_M;
        asked > 0.0
            && site.obstacles.iter().filter(|it| it.kind.blocks()).any(|it| {
                hole.meets_polygon_interior(&it.outline)
                    || it.outline.edges().any(|(a, b)| hole.distance_to_segment(a, b) < asked)
            })
    }

    /// Whether a place is barred for the hole of this tree by what is known there.
    pub fn bars(&self, site: &Site, stem: Point, hole: &Footprint) -> bool {
        self.meets_known(site, stem)
            || self.meets_protected_roots(site, hole)
            || self.is_near_building(site, hole)
    }
}

/// What lines within the setback come to at every cell where a stem may stand.
pub(super) struct SetbackField {
    /// What they add to the expected loss.
    pub loss: Array2<f64>,
    /// Chance that any lies there: of layouts by counts, the rings of several distances taken as if they never met lines
    /// together (no less than the chance), and of marked and flagged lines by their own errors.
    pub p: Array2<f64>,
}

/// Works out the setback at every cell; `None` where none counts.
pub(super) fn setback_field(
    layouts: &Layouts,
    asked: &Asked<'_>,
    grid: Grid,
    monitor: &dyn Monitor,
) -> Result<Option<SetbackField>, Error> {
    let Some(setback) = asked.setback else { return Ok(None) };
    let shape = (grid.rows, grid.cols);
    let (mut loss, mut p) = (Array2::zeros(shape), Array2::<f64>::zeros(shape));
    let assessed = layouts.assessed();
    for (radius, classes) in setback.rings() {
        let ring = Footprint::disc(Point::default(), radius);
        let fields = Fields::new(layouts, &ring, ANY_DEPTH_M, grid, monitor)?;
        let counted = || classes.iter().copied().filter(|class| assessed[*class as usize]);
        for class in counted() {
            let chances = fields.chances(ClassMask::from_iter([class]), monitor)?;
            loss.scaled_add(asked.conflict_weight(class), &chances.p);
        }
        if counted().next().is_some() {
            p += &fields.chances(ClassMask::from_iter(counted()), monitor)?.p;
        }
    }
    let site = layouts.site();
    for ((row, col), p) in p.indexed_iter_mut() {
        if col == 0 && !monitor.tick(0, 1) {
            return Err(Error::Interrupted);
        }
        let clear = clear_of_known(site, &setback, grid.centre(row, col));
        *p = 1.0 - (1.0 - p.min(1.0)) * clear;
    }
    Ok(Some(SetbackField { loss, p }))
}

/// Chance that no marked and no flagged line lies within the setback of a stem.
fn clear_of_known(site: &Site, setback: &Setback, stem: Point) -> f64 {
    let marked = site.marks.iter().filter_map(|mark| {
        let radius = setback.line_m(mark.class)?;
        Some(1.0 - mark_within(&mark.path, mark.sd_m, stem, radius))
    });
    let flagged = site.keep_offs.iter().filter_map(|metal| {
        let radius = setback.line_m(Class::Unknown)?;
        Some(1.0 - metal_within(metal, stem, radius))
    });
    marked.chain(flagged).product()
}
