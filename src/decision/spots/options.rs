//! What spots are looked for: the holes, what is planted in each, and what their places are chosen by.

use crate::decision::loss::Weights;
use crate::decision::sizes::{DEPTH, UP_TO_50_M};
use crate::decision::tree_rules::{Asked, TreeRules, counted};
use crate::error::{Allowed, ArgumentError};
use crate::geometry::{Point, Polygon};
use crate::site::document::Method;
use crate::site::{Dig, DigShape, Plant};

/// Most spots that are looked for at once.
const MOST_SPOTS: usize = 1_000;

/// Ground left standing between the edges of two holes when nothing is said, metres: the walls between them would fall in
/// (common practice, no source).
const GAP_M: f64 = 0.3;

/// A hole that a spot is looked for.
#[derive(Clone, Debug, PartialEq)]
pub struct SpotHole {
    /// Name; by place in the list when there is none.
    pub id: Option<String>,
    /// Radius, metres; where the ball of its tree needs a wider one, that counts.
    pub radius_m: f64,
    /// Depth, metres; where the ball of its tree needs a deeper one, that counts.
    pub depth_m: f64,
    /// What is planted in it.
    pub tree: Option<Plant>,
    /// Whether a setback counts: always for a tree, unless it is exempt.
    pub keeps_setback: bool,
}

impl SpotHole {
    /// A hole for nothing that grows.
    pub const fn plain(radius_m: f64, depth_m: f64) -> Self {
        Self { id: None, radius_m, depth_m, tree: None, keeps_setback: false }
    }

    /// The hole for a tree.
    pub const fn of_tree(radius_m: f64, depth_m: f64, tree: Plant) -> Self {
        Self { id: None, radius_m, depth_m, tree: Some(tree), keeps_setback: true }
    }

    /// The dig of this hole at a place, as its ball needs it.
    pub(super) fn dig(&self, at: Point, method: Method) -> Dig {
        let shape = DigShape::Disc { centre: at, radius_m: self.radius_m };
        let id = self.id.clone().unwrap_or_default();
        Dig::for_tree(id, shape, self.depth_m, method, self.tree)
    }
}

/// What is looked for.
#[derive(Clone, Debug, PartialEq)]
pub struct SpotOptions {
    /// The holes, one for each spot.
    pub holes: Vec<SpotHole>,
    /// Least distance between two centres, metres.
    pub spacing_m: f64,
    /// Least distance between the edges of two holes, metres.
    pub gap_m: f64,
    /// Least distance from the edge of a hole to the boundary, metres.
    pub from_boundary_m: f64,
    /// Side of a cell, metres.
    pub cell_m: f64,
    /// Consequence weights.
    pub weights: Weights,
    /// Who digs.
    pub method: Method,
    /// The ground to stay in, besides the boundary.
    pub within: Option<Polygon>,
    /// What trees ask of their places.
    pub rules: TreeRules,
}

impl SpotOptions {
    /// So many spots of one size, without margins, tree or setback.
    pub fn new(n: usize, radius_m: f64, depth_m: f64) -> Self {
        Self::of(vec![SpotHole::plain(radius_m, depth_m); n])
    }

    /// Spots for these holes.
    pub fn of(holes: Vec<SpotHole>) -> Self {
        Self {
            holes,
            spacing_m: 0.0,
            gap_m: GAP_M,
            from_boundary_m: 0.0,
            cell_m: 0.25,
            weights: Weights::default(),
            method: Method::Hand,
            within: None,
            rules: TreeRules::default(),
        }
    }

    pub(super) fn check(&self) -> Result<(), ArgumentError> {
        if self.holes.is_empty() || self.holes.len() > MOST_SPOTS {
            let count = self.holes.len();
            return Err(ArgumentError::Count { name: "n", count, least: 1, most: MOST_SPOTS });
        }
        for hole in &self.holes {
            UP_TO_50_M.check("radius_m", hole.radius_m)?;
            DEPTH.check("depth_m", hole.depth_m)?;
        }
        for (name, value) in
            [("spacing_m", self.spacing_m), ("gap_m", self.gap_m), ("from_boundary_m", self.from_boundary_m)]
        {
            Allowed::within(0.0, 1000.0).metres().check(name, value)?;
        }
        UP_TO_50_M.check("cell_m", self.cell_m)?;
        self.rules.check()
    }

    /// What a hole asks of its place.
    pub(super) fn asked<'a>(&'a self, hole: &'a SpotHole) -> Asked<'a> {
        let tree = hole.tree.as_ref();
        let setback = tree.and_then(|plant| plant.setback).unwrap_or(self.rules.setback);
        let setback = if hole.keeps_setback { counted(setback, tree) } else { None };
        Asked { rules: &self.rules, tree, setback, weights: &self.weights }
    }
}
