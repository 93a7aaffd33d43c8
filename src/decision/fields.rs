//! Chances and expected loss of one dig at every cell of a grid, before anything is barred: counts of draws, and the unmapped
//! lines.

use super::loss::{Weights, widening};
use crate::class::Class;
use crate::error::Error;
use crate::geometry::Footprint;
use crate::inference::Layouts;
use crate::monitor::Monitor;
use crate::site::document::Method;
use crate::strike::raster::{ClassMask, Grid, Part, strike_counts};
use crate::strike::{Moved, Observation};
use ndarray::{Array2, Zip};
use rayon::prelude::*;

/// One dig moved over a grid. As for named digs, unknown lines that a clear probe would have met do not count.
pub struct Fields<'a> {
    layouts: &'a Layouts,
    shape: &'a Footprint,
    depth_m: f64,
    grid: Grid,
    /// Chance that no unknown line is met.
    unmet: Array2<f64>,
}

/// Chances at every cell.
pub struct Chances {
    /// Strike chance, `(rows, cols)`.
    pub p: Array2<f64>,
    /// Its Monte Carlo standard error.
    pub mcse: Array2<f64>,
    /// One-sided 95 % upper bound.
    pub upper: Array2<f64>,
}

/// Expected loss at every cell.
pub struct Losses {
    /// Sum over assessed classes of weight times chance, `(rows, cols)`.
    pub loss: Array2<f64>,
    /// No less than its Monte Carlo standard error: errors of classes are added as if they went together.
    pub error: Array2<f64>,
    /// The chance of each assessed class.
    pub by_class: Vec<(Class, Array2<f64>)>,
}

impl<'a> Fields<'a> {
    /// A dig whose reference point is at zero, moved over the grid.
    pub fn new(
        layouts: &'a Layouts,
        shape: &'a Footprint,
        depth_m: f64,
        grid: Grid,
        monitor: &dyn Monitor,
    ) -> Result<Self, Error> {
        let dig = Observation::dig(shape.clone(), depth_m);
        let moved = Moved::new(layouts.prior().unmapped_lines(), &dig, &layouts.findings().clear);
        let of_row = |row: usize| {
            let unmet = |col: usize| (-moved.mean_at(grid.centre(row, col))).exp();
            monitor.tick(0, 1).then(|| (0..grid.cols).map(unmet).collect::<Vec<f64>>())
        };
        let rows: Option<Vec<Vec<f64>>> = (0..grid.rows).into_par_iter().map(of_row).collect();
        let cells = rows.ok_or(Error::Interrupted)?.concat();
        let unmet = Array2::from_shape_vec((grid.rows, grid.cols), cells).expect("one value for each cell");
        Ok(Self { layouts, shape, depth_m, grid, unmet })
    }

    /// The chance at every cell that no unknown line is met.
    pub fn unmet(&self) -> Array2<f64> {
        self.unmet.clone()
    }

    /// Draws in which a line of these classes is struck.
    fn counts(&self, classes: ClassMask, monitor: &dyn Monitor) -> Result<Array2<u32>, Error> {
        let parts = self.shape.parts().iter();
        let parts: Vec<Part<'_>> =
            parts.map(|part| Part { corners: &part.corners, radius_m: part.radius }).collect();
        let cancel = || !monitor.tick(0, 1);
        let counts = strike_counts(self.layouts.pieces(), &self.grid, &parts, self.depth_m, classes, &cancel);
        counts.ok_or(Error::Interrupted)
    }

    /// Chances that a line of these classes is struck; unknown lines count where their class is among them.
    pub fn chances(&self, classes: ClassMask, monitor: &dyn Monitor) -> Result<Chances, Error> {
        let counts = self.counts(classes, monitor)?;
        let unmapped = classes.contains(Class::Unknown);
        let n = self.layouts.draws().len() as f64;
        let wider = widening(self.layouts);
        // A count of draws proves no more than one in n + 1 on either side.
        let greatest = n / (n + 1.0);
        let none_seen = 1.0 - 0.05f64.powf(1.0 / (n + 1.0));
        let share = |count: u32| f64::from(count) / n;
        let error = |p: f64| (p * (1.0 - p) / n).sqrt() * wider;
        let with_floor = |p: f64, unmet: f64| 1.0 - (1.0 - p) * unmet;
        let each = |of: &dyn Fn(f64, f64) -> f64| {
            let one = |&count: &u32, &unmet: &f64| of(share(count), if unmapped { unmet } else { 1.0 });
            Zip::from(&counts).and(&self.unmet).map_collect(one)
        };
        Ok(Chances {
            p: each(&|p, unmet| with_floor(p.min(greatest), unmet)),
            mcse: each(&|p, unmet| error(p) * unmet),
            upper: each(&|p, unmet| with_floor((p + 1.645 * error(p)).max(none_seen).min(greatest), unmet)),
        })
    }

    /// Expected loss and the chances of all assessed classes.
    pub fn losses(&self, weights: &Weights, method: Method, monitor: &dyn Monitor) -> Result<Losses, Error> {
        let weights = weights.of(method, self.layouts.assessed());
        let shape = (self.grid.rows, self.grid.cols);
        let mut found =
            Losses { loss: Array2::zeros(shape), error: Array2::zeros(shape), by_class: Vec::new() };
        for class in Class::ALL.into_iter().filter(|class| self.layouts.assessed()[*class as usize]) {
            let chances = self.chances(ClassMask::from_iter([class]), monitor)?;
            let weight = weights[class as usize];
            found.loss.scaled_add(weight, &chances.p);
            found.error.scaled_add(weight, &chances.mcse);
            found.by_class.push((class, chances.p));
        }
        Ok(found)
    }
}
