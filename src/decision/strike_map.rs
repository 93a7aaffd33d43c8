//! A map of one dig at every place.

use crate::strike::raster::Grid;
use ndarray::Array2;

/// Strike chance of one dig at every cell, the dig's reference point being at the cell's centre.
#[derive(Clone, Debug)]
pub struct StrikeMap {
    /// The cells; row 0 is the north edge.
    pub grid: Grid,
    /// Strike chance, `(rows, cols)`; NaN outside the boundary, where the dig would meet a building or pool, and inside
    /// tolerance zones and on flagged metal, where no verdict goes by probability.
    pub p: Array2<f64>,
    /// Monte Carlo standard error of `p`.
    pub mcse: Array2<f64>,
    /// One-sided 95 % upper bound of `p`.
    pub upper: Array2<f64>,
    /// Whether the dig would enter the tolerance zone of a mark.
    pub in_tolerance_zone: Array2<bool>,
    /// Whether the dig would stand on metal that a detector heard.
    pub on_flagged_metal: Array2<bool>,
}
