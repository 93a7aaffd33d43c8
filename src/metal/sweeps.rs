//! Swept ground as a grid: how fast the chance falls that a line below it would not have sounded.

use crate::geometry::{Point, Polygon};

/// Side of a cell, metres. Numerical choice: sweeps are walked to about that.
const CELL_M: f64 = 0.25;

/// Length of line under swept ground for which the chance of a detection holds, metres: a sweep crosses it once or more.
/// Practice.
const SOUNDS_M: f64 = 2.0;

/// Greatest chance of a detection: no sweep is perfect. Practice.
const SUREST: f64 = 0.999;

/// `ln` of the chance of silence for each metre of line, by place; nothing outside the swept ground.
pub(super) struct Sweeps {
    low: Point,
    cols: usize,
    rows: usize,
    per_m: Vec<f64>,
}

impl Sweeps {
    /// The grid of swept grounds with their chances of detection; `None` where nothing was swept.
    pub(super) fn new(swept: &[(Polygon, f64)]) -> Option<Self> {
        let corners = || swept.iter().flat_map(|(outline, _)| outline.edges().map(|(a, _)| a));
        let (mut low, mut high) = (corners().next()?, corners().next()?);
        for corner in corners() {
            low = Point::new(low.x.min(corner.x), low.y.min(corner.y));
            high = Point::new(high.x.max(corner.x), high.y.max(corner.y));
        }
        let count = |span: f64| ((span / CELL_M).ceil() as usize).clamp(1, 4_000);
        let (cols, rows) = (count(high.x - low.x), count(high.y - low.y));
        let mut per_m = vec![0.0; cols * rows];
        for row in 0..rows {
            for col in 0..cols {
                let at = low + Point::new(col as f64 + 0.5, row as f64 + 0.5) * CELL_M;
                let found = swept.iter().find(|(outline, _)| outline.contains(at));
                if let Some((_, detect)) = found {
                    per_m[row * cols + col] = (1.0 - detect.min(SUREST)).ln() / SOUNDS_M;
                }
            }
        }
        Some(Self { low, cols, rows, per_m })
    }

    fn at(&self, place: Point) -> f64 {
        let cell = (place - self.low) * (1.0 / CELL_M);
        if cell.x < 0.0 || cell.y < 0.0 {
            return 0.0;
        }
        let (col, row) = (cell.x as usize, cell.y as usize);
        if col < self.cols && row < self.rows { self.per_m[row * self.cols + col] } else { 0.0 }
    }

    /// `ln` of the chance that a straight way would have stayed silent.
    pub(super) fn log_silent(&self, from: Point, along: Point, length_m: f64) -> f64 {
        let steps = (length_m / (2.0 * CELL_M)).ceil().max(1.0);
        let each = length_m / steps;
        (0..steps as usize).map(|k| self.at(from + along * ((k as f64 + 0.5) * each)) * each).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn silence_grows_rare_with_swept_length() {
        let corners = [[0., 0.], [10., 0.], [10., 4.], [0., 4.]].map(Point::from).to_vec();
        let swept = [(Polygon::new(corners), 0.9)];
        let sweeps = Sweeps::new(&swept).expect("a grid");
        let silent = |x: f64, y: f64, length: f64| {
            sweeps.log_silent(Point::new(x, y), Point::new(1.0, 0.0), length).exp()
        };
        assert!((silent(1.0, 2.0, 2.0) - 0.1).abs() < 1e-9, "the chance of a detection holds for two metres");
        assert!((silent(-3.0, 2.0, 2.0) - 1.0).abs() < 1e-12, "nobody swept there");
        assert!((silent(9.0, 2.0, 2.0) - 0.1f64.sqrt()).abs() < 1e-9, "half of it lies outside");
    }
}
