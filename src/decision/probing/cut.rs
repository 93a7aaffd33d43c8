//! One draw cut by one look: the pieces that a footprint meets above a depth, and what a strike of them comes to.

use crate::class::Class;
use crate::geometry::{Footprint, Point};
use crate::layout::Piece;

/// Pieces of one draw that a footprint meets above a depth.
pub(super) struct Cut<'a> {
    low: Point,
    high: Point,
    /// The footprint widened by each radius of pipe that there is.
    widened: &'a [(f32, Footprint)],
    depth_m: f64,
}

impl<'a> Cut<'a> {
    pub(super) fn new(widened: &'a [(f32, Footprint)], depth_m: f64) -> Self {
        let (low, high) = widened.last().map_or_else(Default::default, |(_, widest)| widest.bounds());
        Self { low, high, widened, depth_m }
    }

    fn met<'p>(&self, pieces: &'p [Piece]) -> impl Iterator<Item = &'p Piece> {
        let in_the_way = |piece: &&Piece| {
            f64::from(piece.cover_m) < self.depth_m
                && boxes_meet(self.low, self.high, piece)
                && self
                    .widened
                    .iter()
                    .find(|(radius, _)| *radius == piece.radius_m)
                    .is_some_and(|(_, footprint)| footprint.meets_segment(piece.a, piece.b))
        };
        pieces.iter().filter(in_the_way)
    }

    pub(super) fn classes(&self, pieces: &[Piece]) -> Hit {
        let mut hit = [false; Class::ALL.len()];
        for piece in self.met(pieces) {
            hit[piece.class as usize] = true;
            hit[Class::ControlWire as usize] |= piece.wire;
        }
        hit
    }

    /// Number of lines met. Pieces of one run share system and cover, and pieces of two runs do not.
    pub(super) fn lines(&self, pieces: &[Piece]) -> i32 {
        let mut met: Vec<(u16, u32)> =
            self.met(pieces).map(|piece| (piece.system, piece.cover_m.to_bits())).collect();
        met.sort_unstable();
        met.dedup();
        met.len() as i32
    }
}

/// Which classes are hit.
pub(super) type Hit = [bool; Class::ALL.len()];

/// Chance that a known line that is in the way or an unknown one is struck.
pub(super) fn strike(hit: &Hit, unmet: f64) -> f64 {
    if hit.iter().any(|hit| *hit) { 1.0 } else { 1.0 - unmet }
}

/// What a draw costs: a known line that is hit, and unknown ones by their chance.
pub(super) fn loss(hit: &Hit, unmet: f64, weights: &[f64; Class::ALL.len()]) -> f64 {
    let chance = |class: usize| match (hit[class], class == Class::Unknown as usize) {
        (true, _) => 1.0,
        (false, true) => 1.0 - unmet,
        (false, false) => 0.0,
    };
    (0..Class::ALL.len()).map(|class| weights[class] * chance(class)).sum()
}

/// Every radius of pipe there is.
pub(super) fn radii(pieces: &[Piece]) -> Vec<f32> {
    let mut radii: Vec<f32> = pieces.iter().map(|piece| piece.radius_m).collect();
    radii.sort_by(f32::total_cmp);
    radii.dedup();
    radii
}

/// A footprint widened by each radius.
pub(super) fn widened(footprint: &Footprint, radii: &[f32]) -> Vec<(f32, Footprint)> {
    radii.iter().map(|&radius| (radius, footprint.inflated(f64::from(radius)))).collect()
}

/// Whether the box of a piece meets a box.
pub(super) fn boxes_meet(low: Point, high: Point, piece: &Piece) -> bool {
    piece.a.x.min(piece.b.x) <= high.x
        && piece.a.x.max(piece.b.x) >= low.x
        && piece.a.y.min(piece.b.y) <= high.y
        && piece.a.y.max(piece.b.y) >= low.y
}
