//! The best place for a dig within reach: of least expected loss, none of its limits broken.
//!
//! A place is open where nothing bars the dig, its chance is no greater than here (unless it may not be here at all), and, for
//! a tree, a line lies within the setback with no more than the limit. Places are looked through by counts of draws; the one to
//! take is held against the same limits once more with run attributes integrated, as the dig will be assessed there.

use super::bars::is_paved;
use super::dig::{footprint, look};
use super::fields::Losses;
use super::loss::Weights;
use super::sizes::UP_TO_50_M;
use super::strike_map::StrikeMap;
use super::tree_conflicts::within_setback;
use super::tree_rules::{Asked, SetbackField, TreeRules, setback_field};
use crate::error::{ArgumentError, Error};
use crate::geometry::{Footprint, Point};
use crate::inference::Layouts;
use crate::monitor::Monitor;
use crate::site::Dig;
use crate::strike::RunIndex;
use ndarray::Array2;

/// Rounding of chances and losses.
const NOTHING: f64 = 1e-12;

/// What places for digs are looked for by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PlaceOptions {
    /// Consequence weights.
    pub weights: Weights,
    /// What trees ask of their places.
    pub rules: TreeRules,
    /// How far a better place is looked for, metres.
    pub reach_m: f64,
    /// Step, metres.
    pub cell_m: f64,
}

impl Default for PlaceOptions {
    /// A reach of 1.5 m in steps of 0.1 m.
    fn default() -> Self {
        Self { weights: Weights::default(), rules: TreeRules::default(), reach_m: 1.5, cell_m: 0.1 }
    }
}

impl PlaceOptions {
    /// The usual ones with this reach and step.
    pub fn within(reach_m: f64, cell_m: f64) -> Self {
        Self { reach_m, cell_m, ..Self::default() }
    }

    /// Refuses what no dig can be moved by.
    pub(super) fn check(&self) -> Result<(), ArgumentError> {
        UP_TO_50_M.check("reach_m", self.reach_m)?;
        let Self { cell_m, reach_m, .. } = *self;
        if !(cell_m > 0.0 && cell_m <= reach_m) {
            return Err(ArgumentError::CellBeyondReach { cell_m, reach_m });
        }
        self.rules.check()
    }
}

/// A better place for a dig.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shift {
    /// Metres east.
    pub dx_m: f64,
    /// Metres north.
    pub dy_m: f64,
    /// Strike chance there, from the map: no greater than here, unless the dig may not be here at all.
    pub p: f64,
    /// Expected loss of strikes there, from the map. For a tree places are chosen by that and by what conflicts with its
    /// setback and its roots cost.
    pub loss: f64,
    /// Chance of a line within the setback of its tree there.
    pub p_setback: Option<f64>,
}

/// What a search for a better place came to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Better {
    /// This place is better.
    There(Shift),
    /// Staying is as good.
    Stay,
    /// The dig should not be where it is, and no place within reach is better.
    Nowhere,
}

impl Better {
    /// The place to go to.
    pub fn shift(self) -> Option<Shift> {
        match self {
            Self::There(shift) => Some(shift),
            _ => None,
        }
    }

    /// What is said of the search where no place is advised; empty where one is.
    pub const fn note(self) -> &'static str {
        match self {
            Self::There(_) => "",
            Self::Stay => "no place within reach gains more than the error",
            Self::Nowhere => "no better place within reach",
        }
    }
}

/// What a tree asks of each cell where its dig may be centred.
pub(super) struct TreeCells {
    pub setback: Option<SetbackField>,
    roots_loss: Array2<f64>,
    barred: Array2<bool>,
}

impl TreeCells {
    /// Works out all cells for a dig whose reference point is at `here`; `None` for a dig without a tree.
    pub fn new(
        layouts: &Layouts,
        dig: &Dig,
        map: &StrikeMap,
        options: &PlaceOptions,
        monitor: &dyn Monitor,
    ) -> Result<Option<Self>, Error> {
        let Some(plant) = &dig.tree else { return Ok(None) };
        let (site, grid) = (layouts.site(), map.grid);
        let asked = Asked::of_tree(&options.rules, plant, &options.weights);
        let whole = footprint(dig);
        let here = whole.reference();
        // The stem stands where the middle of what was drawn is.
        let aside = dig.stem() - here;
        let stems = crate::strike::raster::Grid { x0: grid.x0 + aside.x, y0: grid.y0 + aside.y, ..grid };
        let setback = setback_field(layouts, &asked, stems, monitor)?;
        let shape = (grid.rows, grid.cols);
        let stem = |(row, col): (usize, usize)| stems.centre(row, col);
        let roots_loss = Array2::from_shape_fn(shape, |cell| asked.roots_loss(site, stem(cell)));
        let barred = Array2::from_shape_fn(shape, |cell| {
            let moved = whole.translated(grid.centre(cell.0, cell.1) - here);
            asked.bars(site, stem(cell), &moved)
        });
        Ok(Some(Self { setback, roots_loss, barred }))
    }

    /// What conflicts of the tree cost at a cell.
    fn loss(&self, cell: (usize, usize)) -> f64 {
        self.setback.as_ref().map_or(0.0, |setback| setback.loss[cell]) + self.roots_loss[cell]
    }

    fn is_open(&self, cell: (usize, usize), rules: &TreeRules) -> bool {
        !self.barred[cell] && !rules.is_over(self.setback.as_ref().map(|setback| setback.p[cell]))
    }
}

/// A search for a better place of one dig.
pub(super) struct Search<'a> {
    pub layouts: &'a Layouts,
    pub index: &'a RunIndex,
    pub dig: &'a Dig,
    pub map: &'a StrikeMap,
    /// Of strikes alone.
    pub losses: &'a Losses,
    pub tree: Option<&'a TreeCells>,
    pub options: &'a PlaceOptions,
}

/// A cell and how far it is.
#[derive(Clone, Copy)]
struct Cell {
    at: (usize, usize),
    by: Point,
    distance: f64,
    loss: f64,
}

impl Search<'_> {
    /// The place of least loss within reach among open ones, nearer ones first among equals. A move has to gain more than
    /// twice the error of the loss here, unless the dig should not be here.
    pub fn best(&self) -> Better {
        let half = self.map.grid.rows / 2;
        let centre = (half, half);
        let (p_here, loss_here) = (self.map.p[centre], self.loss(centre));
        let p_setback_here = self.p_setback(self.dig);
        let rules = &self.options.rules;
        let misplaced = p_here.is_nan()
            || rules.is_over(p_setback_here)
            || self.tree.is_some_and(|tree| tree.barred[centre]);
        let p_exact_here = if p_here.is_nan() { f64::INFINITY } else { self.p_strike(self.dig) };
        let gain = 2.0 * self.losses.error[centre];
        let mut open = self.open(half, p_here);
        open.retain(|cell| cell.distance > 0.0 || !misplaced);
        while let Some(k) = best_of(&open) {
            let cell = open.swap_remove(k);
            if cell.distance == 0.0 || !(misplaced || cell.loss < loss_here - gain) {
                break; // what is left is no better than staying
            }
            if !self.is_off_paving(cell.by) {
                continue;
            }
            let there = self.dig.moved(cell.by);
            let p_setback = self.p_setback(&there);
            if rules.is_over(p_setback) || self.p_strike(&there) > p_exact_here + NOTHING {
                continue;
            }
            let (dx_m, dy_m) = (cell.by.x, cell.by.y);
            let loss = self.losses.loss[cell.at];
            return Better::There(Shift { dx_m, dy_m, p: self.map.p[cell.at], loss, p_setback });
        }
        let limit = self.layouts.site().settings.verdict_limit;
        if misplaced || p_exact_here >= limit { Better::Nowhere } else { Better::Stay }
    }

    /// Expected loss of a cell, with what conflicts of the tree cost.
    fn loss(&self, cell: (usize, usize)) -> f64 {
        self.losses.loss[cell] + self.tree.map_or(0.0, |tree| tree.loss(cell))
    }

    /// Cells within reach whose chance is no greater than here and which the tree takes.
    fn open(&self, half: usize, p_here: f64) -> Vec<Cell> {
        let cells = self.map.p.indexed_iter().filter_map(|(at, &p)| {
            let dx_m = (at.1 as f64 - half as f64) * self.map.grid.cell_m;
            let dy_m = (half as f64 - at.0 as f64) * self.map.grid.cell_m;
            let distance = dx_m.hypot(dy_m);
            let takes = || self.tree.is_none_or(|tree| tree.is_open(at, &self.options.rules));
            let near = distance <= self.options.reach_m + 1e-9;
            let worse = p > p_here + NOTHING; // nothing is worse than a place where it may not be
            let open = !p.is_nan() && near && !worse && (distance == 0.0 || takes());
            open.then(|| Cell { at, by: Point::new(dx_m, dy_m), distance, loss: self.loss(at) })
        });
        cells.collect()
    }

    /// Whether the dig does not come onto paving by a move: none is moved there from beside it.
    fn is_off_paving(&self, by: Point) -> bool {
        let whole: Footprint = footprint(self.dig);
        is_paved(self.layouts.site(), &whole) || !is_paved(self.layouts.site(), &whole.translated(by))
    }

    fn p_strike(&self, dig: &Dig) -> f64 {
        let layouts = self.layouts;
        self.index.strike(layouts.prior(), &look(dig), layouts.findings(), layouts.assessed()).p
    }

    fn p_setback(&self, dig: &Dig) -> Option<f64> {
        let plant = dig.tree.as_ref()?;
        let within = within_setback(self.layouts, self.index, plant, dig.stem(), &self.options.rules)?;
        Some(within.any?.p)
    }
}

/// The cell of least loss, nearer ones first among equals.
fn best_of(cells: &[Cell]) -> Option<usize> {
    let mut best: Option<usize> = None;
    for (k, cell) in cells.iter().enumerate() {
        let better = |&b: &usize| {
            let least = &cells[b];
            cell.loss < least.loss - NOTHING
                || cell.loss <= least.loss + NOTHING && cell.distance < least.distance
        };
        if best.as_ref().is_none_or(better) {
            best = Some(k);
        }
    }
    best
}
