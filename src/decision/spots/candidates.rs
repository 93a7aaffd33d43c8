//! Places that may be chosen for one kind of hole: cells of a grid where it may lie, with what a hole there is expected to
//! cost.

use super::options::{SpotHole, SpotOptions};
use crate::class::Class;
use crate::decision::bars::{Bars, bars, is_paved};
use crate::decision::fields::{Chances, Fields, Losses};
use crate::decision::loss::Loss;
use crate::decision::maps::site_grid;
use crate::decision::tree_rules::{Asked, SLACK_M as RULE_SLACK_M, SetbackField, setback_field};
use crate::error::{ArgumentError, Error, GridUse, MemoryUse};
use crate::geometry::{Footprint, Point, segment_distance};
use crate::inference::Layouts;
use crate::memory;
use crate::monitor::Monitor;
use crate::site::{Dig, DigShape};
use crate::strike::probability;
use crate::strike::raster::{ClassMask, Grid};
use ndarray::Array2;

/// Rounding of distances, metres.
pub const SLACK_M: f64 = RULE_SLACK_M;

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

/// The places of a site for one kind of hole, and the figures behind them.
pub struct Ground<'a> {
    layouts: &'a Layouts,
    options: &'a SpotOptions,
    /// The hole as its ball needs it, its middle at zero.
    pub dig: Dig,
    pub radius_m: f64,
    grid: Grid,
    losses: Losses,
    setback: Option<SetbackField>,
    roots_loss: Array2<f64>,
    /// Chance that no unknown line is met.
    unmet: Array2<f64>,
    /// Chance of any strike.
    any: Chances,
    barred: Array2<bool>,
}

impl<'a> Ground<'a> {
    /// Works out every cell of the site.
    pub fn new(
        layouts: &'a Layouts,
        options: &'a SpotOptions,
        hole: &'a SpotHole,
        monitor: &dyn Monitor,
    ) -> Result<Self, Error> {
        let site = layouts.site();
        let grid = site_grid(site, options.cell_m)?;
        if grid.rows * grid.cols > MOST_CELLS {
            let (cell_m, cells) = (options.cell_m, (grid.rows * grid.cols) as f64);
            return Err(ArgumentError::TooManyCells {
                cell_m,
                cells,
                most: MOST_CELLS,
                used: GridUse::Spots,
            }
            .into());
        }
        memory::check(monitor, MemoryUse::Cells, grid.rows * grid.cols, CELL_BYTES, 0)?;
        let dig = hole.dig(Point::default(), options.method);
        let radius_m = match &dig.shape {
            DigShape::Disc { radius_m, .. } => *radius_m,
            _ => hole.radius_m,
        };
        let disc = Footprint::disc(Point::default(), radius_m);
        let asked = options.asked(hole);
        let setback = setback_field(layouts, &asked, grid, monitor)?;
        let Bars { mut barred, .. } = bars(&grid, site, &disc, monitor)?;
        for ((row, col), barred) in barred.indexed_iter_mut() {
            if col == 0 && !monitor.tick(0, 1) {
                return Err(Error::Interrupted);
            }
            let over = options.rules.is_over(setback.as_ref().map(|setback| setback.p[(row, col)]));
            let at = grid.centre(row, col);
            *barred = *barred || over || options.keeps_off(layouts, &asked, at, radius_m);
        }
        let fields = Fields::new(layouts, &disc, dig.depth_m, grid, monitor)?;
        let losses = fields.losses(&options.weights, options.method, monitor)?;
        let any = fields.chances(ClassMask::all(), monitor)?;
        let roots_loss = Array2::from_shape_fn((grid.rows, grid.cols), |(row, col)| {
            asked.roots_loss(site, grid.centre(row, col))
        });
        let unmet = fields.unmet();
        Ok(Self { layouts, options, dig, radius_m, grid, losses, setback, roots_loss, unmet, any, barred })
    }

    /// The places that are not barred, cheapest first, those of equal cost from the north-west.
    pub fn candidates(&self) -> Vec<Candidate> {
        let open = self.barred.indexed_iter().filter(|(_, barred)| !**barred);
        let place = |(cell, _): ((usize, usize), &bool)| Candidate {
            at: self.grid.centre(cell.0, cell.1),
            cost: self.losses.loss[cell] + self.setback_loss(cell) + self.roots_loss[cell],
            cell,
        };
        let mut all: Vec<Candidate> = open.map(place).collect();
        all.sort_by(|a, b| a.cost.total_cmp(&b.cost).then(a.cell.cmp(&b.cell)));
        all
    }

    /// Bars a place that turned out to break a limit.
    pub fn bar(&mut self, place: &Candidate) {
        self.barred[place.cell] = true;
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

    /// What conflicts with the setback add to the loss at a cell.
    pub fn setback_loss(&self, cell: (usize, usize)) -> f64 {
        self.setback.as_ref().map_or(0.0, |setback| setback.loss[cell])
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
                f64::from(piece.cover_m) < self.dig.depth_m
                    && segment_distance(place.at, place.at, piece.a, piece.b)
                        <= self.radius_m + f64::from(piece.radius_m)
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
    /// Whether a hole here is nearer than asked for to a building, the boundary or what is known within the setback, reaches
    /// into the protected roots of a standing tree, or is not in the ground asked for.
    fn keeps_off(&self, layouts: &Layouts, asked: &Asked<'_>, at: Point, radius_m: f64) -> bool {
        let site = layouts.site();
        let outside = self.within.as_ref().is_some_and(|ground| {
            !ground.contains(at) || ground.distance_to_boundary(at) < radius_m - SLACK_M
        });
        let boundary = site.boundary.as_ref().is_some_and(|edge| {
            self.from_boundary_m > 0.0
                && edge.distance_to_boundary(at) - radius_m < self.from_boundary_m - SLACK_M
        });
        let hole = Footprint::disc(at, radius_m);
        outside || boundary || asked.bars(site, at, &hole) || is_paved(site, &hole)
    }
}
