//! Places that may be chosen: cells of a grid where the hole may lie, with what a hole there is expected to cost.

use super::SpotOptions;
use crate::class::Class;
use crate::decision::bars::{Bars, bars, is_paved};
use crate::decision::dig::distance_to_mark;
use crate::decision::fields::{Chances, Fields, Losses};
use crate::decision::loss::Loss;
use crate::decision::maps::site_grid;
use crate::decision::roots::{mature_root_zone_m, root_protection_m};
use crate::decision::setbacks::Setback;
use crate::decision::trees::{ANY_DEPTH_M, nearest_meter, nearest_structure};
use crate::error::Error;
use crate::evidence::Site;
use crate::evidence::document::TreeSize;
use crate::geometry::{Footprint, Point, segment_distance};
use crate::infer::Layouts;
use crate::memory;
use crate::monitor::Monitor;
use crate::strike::probability;
use crate::strike::raster::{ClassMask, Grid};
use ndarray::Array2;

/// Rounding of distances, metres.
pub const SLACK_M: f64 = 1e-9;

/// At most this many cells: the search looks at each many times.
const MOST_CELLS: usize = 1_000_000;

/// Bytes of a cell: a chance for each assessed class, losses, and the place itself. As measured.
const CELL_BYTES: usize = 260;

/// A place that may be chosen.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Candidate {
    /// Centre of the hole, metres.
    pub at: Point,
    /// Expected loss of digging here, conflicts with the setback and of the roots at maturity included.
    pub cost: f64,
    /// Row and column of its cell.
    pub cell: (usize, usize),
}

/// Whether two places are as far apart as asked for.
pub fn apart(a: &Candidate, b: &Candidate, spacing_m: f64) -> bool {
    a.at.distance(b.at) >= spacing_m - SLACK_M
}

/// The places of a site and the figures behind them.
pub struct Ground<'a> {
    layouts: &'a Layouts,
    options: &'a SpotOptions,
    grid: Grid,
    losses: Losses,
    setback_loss: Array2<f64>,
    roots_loss: Array2<f64>,
    /// Chance that no unknown line is met.
    unmet: Array2<f64>,
    /// Chance of any strike.
    any: Chances,
    barred: Array2<bool>,
}

impl<'a> Ground<'a> {
    /// Works out every cell of the site.
    pub fn new(layouts: &'a Layouts, options: &'a SpotOptions, monitor: &dyn Monitor) -> Result<Self, Error> {
        let site = layouts.site();
        let grid = site_grid(site, options.cell_m)?;
        if grid.rows * grid.cols > MOST_CELLS {
            let allowed = "at most 1e6 cells to choose from";
            return Err(Error::BadArgument { name: "cell_m", value: options.cell_m, allowed });
        }
        memory::check(monitor, "cells", grid.rows * grid.cols, CELL_BYTES, 0)?;
        let hole = Footprint::disc(Point::default(), options.radius_m);
        let Bars { mut barred, .. } = bars(&grid, site, &hole, monitor)?;
        for ((row, col), barred) in barred.indexed_iter_mut() {
            if col == 0 && !monitor.tick(0, 1) {
                return Err(Error::Interrupted);
            }
            *barred = *barred || options.keeps_off(layouts, grid.centre(row, col));
        }
        let fields = Fields::new(layouts, &hole, options.depth_m, grid, monitor)?;
        let losses = fields.losses(&options.weights, options.method, monitor)?;
        let all = fields.chances(ClassMask::all(), monitor)?;
        let setback_loss = setback_loss(layouts, options, grid, monitor)?;
        let roots_loss = Array2::from_shape_fn((grid.rows, grid.cols), |(row, col)| {
            options.roots_loss(site, grid.centre(row, col))
        });
        let (any, unmet) = (all, fields.unmet());
        Ok(Self { layouts, options, grid, losses, setback_loss, roots_loss, unmet, any, barred })
    }

    /// The places that are not barred, cheapest first, those of equal cost from the north-west.
    pub fn candidates(&self) -> Vec<Candidate> {
        let open = self.barred.indexed_iter().filter(|(_, barred)| !**barred);
        let place = |(cell, _): ((usize, usize), &bool)| Candidate {
            at: self.grid.centre(cell.0, cell.1),
            cost: self.losses.loss[cell] + self.setback_loss[cell] + self.roots_loss[cell],
            cell,
        };
        let mut all: Vec<Candidate> = open.map(place).collect();
        all.sort_by(|a, b| a.cost.total_cmp(&b.cost).then(a.cell.cmp(&b.cell)));
        all
    }

    /// Chance of any strike at a place, and its one-sided 95 % bound.
    pub fn any(&self, place: &Candidate) -> (Loss, f64) {
        let Chances { p, mcse, upper } = &self.any;
        (Loss { loss: probability(p[place.cell]), error: mcse[place.cell] }, probability(upper[place.cell]))
    }

    /// Chance of each class at a place; `None`: not assessed.
    pub fn by_class(&self, place: &Candidate) -> [Option<f64>; Class::ALL.len()] {
        let mut found = [None; Class::ALL.len()];
        for (class, p) in &self.losses.by_class {
            found[*class as usize] = Some(probability(p[place.cell]));
        }
        found
    }

    /// What conflicts with the setback add to the loss at a place.
    pub fn setback_loss(&self, place: &Candidate) -> f64 {
        self.setback_loss[place.cell]
    }

    /// What a building or pool within the roots at maturity adds to the loss at a place.
    pub fn roots_loss(&self, place: &Candidate) -> f64 {
        self.roots_loss[place.cell]
    }

    /// Expected loss of digging at a place, with its error from draw to draw.
    pub fn loss(&self, place: &Candidate, wider: f64) -> Loss {
        let weights = self.options.weights.of(self.options.method, self.layouts.assessed());
        let pieces = self.layouts.pieces();
        let unmet = self.unmet[place.cell];
        let of_draw = |k: usize| {
            let mut hit = [false; Class::ALL.len()];
            let near = |piece: &&crate::layout::Piece| {
                f64::from(piece.cover_m) < self.options.depth_m
                    && segment_distance(place.at, place.at, piece.a, piece.b)
                        <= self.options.radius_m + f64::from(piece.radius_m)
            };
            for piece in pieces.draw(k).iter().filter(near) {
                hit[piece.class as usize] = true;
                hit[Class::ControlWire as usize] |= piece.wire;
            }
            let chance = |class: usize| {
                let hit = f64::from(u8::from(hit[class]));
                if class == Class::Unknown as usize { 1.0 - (1.0 - hit) * unmet } else { hit }
            };
            (0..Class::ALL.len()).map(|class| weights[class] * chance(class)).sum::<f64>()
        };
        let draws: Vec<f64> = (0..pieces.draws()).map(of_draw).collect();
        let error = Loss::of(&draws, wider).error;
        Loss { loss: self.losses.loss[place.cell], error }
    }
}

impl SpotOptions {
    /// The setback that counts: none for trees that it exempts.
    pub(super) fn counted_setback(&self) -> Option<&Setback> {
        let small = self.tree.is_some_and(|plant| plant.size == TreeSize::Small);
        self.setback.as_ref().filter(|setback| !(small && setback.exempts_small))
    }

    /// What the nearest building or pool costs here: the weight of a sewer times a share, all of it at the stem and none at
    /// the end of the roots at maturity, in proportion between. Roots break drains and lift footings alike (common practice, no
    /// source); there is no published distance to bar by.
    fn roots_loss(&self, site: &Site, at: Point) -> f64 {
        let Some(reach) = self.tree.as_ref().and_then(mature_root_zone_m) else { return 0.0 };
        let near = nearest_structure(site, at);
        let share = near.map_or(0.0, |near| (1.0 - near.distance_m / reach).max(0.0));
        self.roots_share * self.weights.by_class[Class::Sewer as usize] * share
    }

    /// Whether a hole here is nearer than asked for to a building, the boundary or what is known within the setback, reaches
    /// into the protected roots of a standing tree, or is not in the ground asked for.
    fn keeps_off(&self, layouts: &Layouts, at: Point) -> bool {
        let site = layouts.site();
        let clear = |asked: f64, distance: f64| distance - self.radius_m >= asked - SLACK_M;
        let outside = self.within.as_ref().is_some_and(|ground| {
            !ground.contains(at) || ground.distance_to_boundary(at) < self.radius_m - SLACK_M
        });
        let boundary = site.boundary.as_ref().is_some_and(|edge| {
            self.from_boundary_m > 0.0 && !clear(self.from_boundary_m, edge.distance_to_boundary(at))
        });
        let building = self.from_building_m > 0.0
            && site
                .obstacles
                .iter()
                .filter(|it| it.kind.blocks())
                .any(|it| !clear(self.from_building_m, it.outline.distance_to_segment(at, at)));
        let known = self.counted_setback().is_some_and(|setback| {
            let stem = Footprint::disc(at, 0.0);
            let marked = site
                .marks
                .iter()
                .any(|mark| setback.line_m(mark.class).is_some_and(|m| distance_to_mark(&stem, mark) < m));
            let meter = nearest_meter(site, at).zip(setback.meter_m()).is_some_and(|(near, m)| near < m);
            marked || meter
        });
        let protected = self.spare_roots
            && site.trees.iter().any(|t| !clear(root_protection_m(t.stem_diameter_m), t.at.distance(at)));
        let paved = is_paved(site, &Footprint::disc(at, self.radius_m));
        outside || boundary || building || known || protected || paved
    }
}

/// Chances that lines lie within the setback, times their weights and the share of a strike that a conflict costs.
fn setback_loss(
    layouts: &Layouts,
    options: &SpotOptions,
    grid: Grid,
    monitor: &dyn Monitor,
) -> Result<Array2<f64>, Error> {
    let mut sum = Array2::zeros((grid.rows, grid.cols));
    let Some(setback) = options.counted_setback() else { return Ok(sum) };
    for (radius, classes) in setback.rings() {
        let ring = Footprint::disc(Point::default(), radius);
        let fields = Fields::new(layouts, &ring, ANY_DEPTH_M, grid, monitor)?;
        for &class in classes.iter().filter(|class| layouts.assessed()[**class as usize]) {
            let chances = fields.chances(ClassMask::from_iter([class]), monitor)?;
            sum.scaled_add(options.setback_share * options.weights.by_class[class as usize], &chances.p);
        }
    }
    Ok(sum)
}
