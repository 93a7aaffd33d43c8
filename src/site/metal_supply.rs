//! What metal lines say of the supply: which of them carry it in how many answers, and which ends they reach.
//!
//! The layouts route supply lines beside what is already there: python/docs/model.md, 14.8.

use crate::class::Class;
use crate::geometry::Point;

/// A metal line that carries the water of a supply system, or that the pipe lies beside.
#[derive(Clone, Debug, PartialEq)]
pub struct SupplyLine {
    /// The class of the system it belongs to: mainline (reclaimed water too) or potable.
    pub class: Class,
    /// Whether it is the control wire, and the pipe lies in its trench: no metal, so that only the layouts know of it.
    pub wire: bool,
    /// Its middle line, metres: two points or more.
    pub course: Vec<Point>,
    /// Whether what feeds it is known to lie outside of the system: both of its ends are.
    pub fed: bool,
    /// Indices of the sources that it leads to or passes.
    pub sources: Vec<usize>,
    /// Indices of the outlets that it leads to or passes.
    pub outlets: Vec<usize>,
    /// Indices of the valve boxes that it leads to or passes.
    pub boxes: Vec<usize>,
}

impl SupplyLine {
    /// Its class and the ends that it reaches: lines of one case are alike in these.
    pub fn ends(&self) -> (Class, [bool; 2], &[usize], &[usize], &[usize]) {
        (self.class, [self.wire, self.fed], &self.sources, &self.outlets, &self.boxes)
    }
}

/// What metal lines say of the supply of a site.
#[derive(Clone, Debug, PartialEq)]
pub struct MetalSupply {
    /// The lines that carry the supply, by case; a case may be that none does.
    pub cases: Vec<Vec<SupplyLine>>,
    /// The share of each case at some grid bearings, radians.
    pub shares: Vec<(f64, Vec<f64>)>,
}

impl MetalSupply {
    /// The shares of the cases at the nearest of these bearings.
    pub fn shares_at(&self, rad: f64) -> &[f64] {
        let gap = |known: &&(f64, Vec<f64>)| (known.0 - rad).abs();
        let nearest = self.shares.iter().min_by(|a, b| gap(a).total_cmp(&gap(b)));
        nearest.map_or(&[], |(_, shares)| shares)
    }
}
