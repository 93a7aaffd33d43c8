//! Fills outlines into bit planes, a few rows at a time and without branches.

use super::outline::{Outline, Side, lesser, within};
use super::planes::LANES;
use std::ops::Range;

/// Adding and taking away 1.5 x 2^52 rounds a number below 2^51 to a whole one; the sum's low bits hold it.
const WHOLE: f64 = 6_755_399_441_055_744.0;

type Rows = [f64; LANES];

/// A band of rows to fill.
#[derive(Clone, Copy, Debug)]
pub(super) struct Filler {
    /// Columns of words.
    pub words: usize,
    /// Rows of the band, a multiple of [`LANES`].
    pub height: usize,
    /// The band's first row in the grid.
    pub first_row: usize,
}

impl Filler {
    /// The column of words that holds the whole number `x`, moved into the grid and then by `offset` bits.
    #[inline(always)]
    fn column(&self, x: f64, offset: usize) -> usize {
        let cell = (within(x, (64 * self.words) as f64) + WHOLE).to_bits() as u32;
        (cell as usize + offset) / 64
    }

    /// Sets the bits of all cells of the band whose centre lies in the outline.
    #[inline(always)]
    pub(super) fn fill(&self, outline: &Outline, plane: &mut [u64]) {
        let base = self.first_row as f64;
        let first = (outline.low - base).ceil().max(0.0) as usize;
        let last = (outline.high - base).floor().min(self.height as f64 - 1.0);
        if last < 0.0 {
            return;
        }
        let (west, east) = outline.extent(base + first as f64, base + last);
        let columns = self.column(west.floor(), 0)..self.column(east.ceil() + 1.0, 63);
        // Rows that the outline misses come out empty, so the last lane may stick out of it, but not of the band.
        for row in (first..last as usize + 1).step_by(LANES) {
            self.fill_lane(outline, row.min(self.height - LANES), columns.clone(), plane);
        }
    }

    /// Fills a lane of rows in some columns of words.
    #[inline(always)]
    fn fill_lane(&self, outline: &Outline, row: usize, columns: Range<usize>, plane: &mut [u64]) {
        let y = std::array::from_fn(|i| (self.first_row + row + i) as f64);
        let from = whole_above(left_bound(&outline.left, &y));
        let to = whole_above(left_bound(&outline.right, &y)).map(|mirrored| 1.0 - mirrored);
        for w in columns {
            let word = (64 * w) as f64;
            let at = w * self.height + row;
            let bits = &mut plane[at..at + LANES];
            for i in 0..LANES {
                bits[i] |= mask(from[i] - word, to[i] - word);
            }
        }
    }
}

/// The least x of a chain of rounded sides on each row; infinite on rows that it misses.
#[inline(always)]
fn left_bound(sides: &[Side], y: &Rows) -> Rows {
    let mut bound = [f64::INFINITY; LANES];
    for side in sides {
        for i in 0..LANES {
            // The disc that bounds this row has its centre `along` above the lower end.
            let above = y[i] - side.y;
            let along = within(above - side.tangent, side.rise);
            let off = above - along;
            // NaN where the row misses the disc; the comparison below is then false.
            let x = side.x + along * side.slope - (side.radius2 - off * off).sqrt();
            bound[i] = lesser(x, bound[i]);
        }
    }
    bound
}

/// The least whole number that is not below `x`.
#[inline(always)]
fn whole_above(x: Rows) -> Rows {
    x.map(|x| {
        let near = (x + WHOLE) - WHOLE;
        near + if near < x { 1.0 } else { 0.0 }
    })
}

/// The bits `from..to` of a word, both whole numbers, either of which may lie outside it.
#[inline(always)]
fn mask(from: f64, to: f64) -> u64 {
    u64::MAX.unbounded_shl(bit(from)) & !u64::MAX.unbounded_shl(bit(to))
}

#[inline(always)]
fn bit(x: f64) -> u32 {
    (within(x, 64.0) + WHOLE).to_bits() as u32 & 127
}
