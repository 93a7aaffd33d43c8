//! What a map is asked for: its cells and the classes of line that count.

use crate::class::Class;
use crate::geometry::Point;

/// A grid of square cells. Row 0 lies at the north edge (greatest y), column 0 at the west edge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Grid {
    /// x of the centre of the south-west cell, metres.
    pub x0: f64,
    /// y of the centre of the south-west cell, metres.
    pub y0: f64,
    /// Side of a cell, metres.
    pub cell_m: f64,
    /// Number of rows.
    pub rows: usize,
    /// Number of columns.
    pub cols: usize,
}

impl Grid {
    /// The centre of a cell, metres.
    pub fn centre(&self, row: usize, col: usize) -> Point {
        Point::new(self.x0 + col as f64 * self.cell_m, self.top() - row as f64 * self.cell_m)
    }

    /// y of the centres of row 0, metres.
    fn top(&self) -> f64 {
        self.y0 + self.rows.saturating_sub(1) as f64 * self.cell_m
    }
}

/// A grid in its own units: cells, x in columns from column 0, y in rows downwards from row 0.
#[derive(Clone, Copy, Debug)]
pub(super) struct Frame {
    north_west: Point,
    /// Cells in a metre.
    pub per_m: f64,
    pub rows: usize,
    pub cols: usize,
}

impl Frame {
    pub(super) fn new(grid: &Grid) -> Self {
        Self { north_west: grid.centre(0, 0), per_m: 1.0 / grid.cell_m, rows: grid.rows, cols: grid.cols }
    }

    pub(super) fn cells(&self, p: Point) -> Point {
        Point::new((p.x - self.north_west.x) * self.per_m, (self.north_west.y - p.y) * self.per_m)
    }
}

/// A set of classes of line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct ClassMask(u16);

impl ClassMask {
    /// Every class.
    pub fn all() -> Self {
        Class::ALL.into_iter().collect()
    }

    /// Whether the class is in the set.
    pub const fn contains(self, class: Class) -> bool {
        self.0 >> class as u16 & 1 == 1
    }
}

impl FromIterator<Class> for ClassMask {
    fn from_iter<I: IntoIterator<Item = Class>>(classes: I) -> Self {
        Self(classes.into_iter().fold(0, |bits, class| bits | 1 << class as u16))
    }
}
