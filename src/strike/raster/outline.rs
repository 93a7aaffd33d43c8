//! Outlines: where the dig's reference point meets one piece, as chains of rounded sides in units of cells.
//!
//! The sum of a segment, a convex polygon and a disc is bounded, on its left, by a chain of rounded edges: the left
//! chain of the polygon's edges with the segment's own edge merged in by slope (the edges of a Minkowski sum of
//! convex polygons are those of its terms in order of direction; de Berg et al., Computational Geometry, 3rd ed.,
//! section 13.3). The right bound is the left bound of the mirror image, so one routine does both.

use super::{Grid, Part};
use crate::geometry::Point;
use crate::layout::Piece;

/// A rise in cells below which a piece counts as level with the rows; far below the promised 1e-9 m.
const LEVEL: f64 = 1e-9;

/// The left bound of a convex polygon, upwards in y.
#[derive(Clone, Debug)]
struct Chain {
    start: Point,
    /// Edges in order; each rises, and their slopes dx/dy grow.
    edges: Vec<Point>,
}

impl Chain {
    fn new(mut corners: Vec<Point>) -> Option<Self> {
        corners.sort_by(|a, b| a.y.total_cmp(&b.y).then(a.x.total_cmp(&b.x)));
        let mut bound: Vec<Point> = Vec::with_capacity(corners.len());
        for p in corners {
            while let [.., a, b] = bound[..]
                && (b - a).cross(p - b) >= 0.0
            {
                bound.pop();
            }
            bound.push(p);
        }
        let edges = bound.windows(2).map(|w| w[1] - w[0]).filter(|edge| edge.y > LEVEL).collect();
        Some(Self { start: *bound.first()?, edges })
    }
}

/// The mirrored part of a dig, ready to be summed with pieces.
#[derive(Clone, Debug)]
pub(super) struct Mould {
    left: Chain,
    /// The left chain after x is mirrored.
    right: Chain,
    /// Extent in y, in cells.
    low: f64,
    high: f64,
    radius_m: f64,
}

impl Mould {
    /// `None` for a part without corners.
    pub(super) fn new(part: &Part<'_>, grid: &Grid) -> Option<Self> {
        // The dig is mirrored at its reference point; rows count downwards, which mirrors y once more.
        let corners = |sign: f64| {
            part.corners
                .iter()
                .map(|k| Point::new(-sign * k.x, k.y) * (1.0 / grid.cell_m))
                .collect::<Vec<_>>()
        };
        let ys = || part.corners.iter().map(|k| k.y / grid.cell_m);
        Some(Self {
            left: Chain::new(corners(1.0))?,
            right: Chain::new(corners(-1.0))?,
            low: ys().fold(f64::INFINITY, f64::min),
            high: ys().fold(f64::NEG_INFINITY, f64::max),
            radius_m: part.radius_m,
        })
    }
}

/// One rounded edge of an outline: the left bound of a capsule.
#[derive(Clone, Copy, Debug)]
pub(super) struct Side {
    /// Lower end, cells.
    pub x: f64,
    pub y: f64,
    /// How far above the lower end the straight part of the bound begins, cells; negative: below.
    pub tangent: f64,
    /// Difference in y between the ends, cells; not negative.
    pub rise: f64,
    /// dx/dy of the edge; 0 if it is level.
    pub slope: f64,
    /// Squared radius, cells squared.
    pub radius2: f64,
}

impl Side {
    fn new(start: Point, edge: Point, radius: f64) -> Self {
        let length = edge.dot(edge).sqrt();
        let (tangent, slope) =
            if edge.y > 0.0 { (radius * edge.x / length, edge.x / edge.y) } else { (0.0, 0.0) };
        Self { x: start.x, y: start.y, tangent, rise: edge.y, slope, radius2: radius * radius }
    }
}

/// The outline of one piece and one part of the dig.
#[derive(Clone, Debug, Default)]
pub(super) struct Outline {
    pub left: Vec<Side>,
    /// The left sides after x is mirrored.
    pub right: Vec<Side>,
    /// Extent in y, cells.
    pub low: f64,
    pub high: f64,
}

impl Outline {
    /// Makes this the outline of `piece` and the part cast in `mould`.
    pub(super) fn cast(&mut self, mould: &Mould, piece: &Piece, grid: &Grid) {
        let radius = (mould.radius_m + f64::from(piece.radius_m)) / grid.cell_m;
        let (a, b) = ends(piece, grid);
        self.low = a.y + mould.low - radius;
        self.high = b.y + mould.high + radius;
        sum(a, b, &mould.left, radius, &mut self.left);
        let mirror = |p: Point| Point::new(-p.x, p.y);
        sum(mirror(a), mirror(b), &mould.right, radius, &mut self.right);
    }
}

/// The ends of a piece in cells, the lower y first.
fn ends(piece: &Piece, grid: &Grid) -> (Point, Point) {
    let (a, b) = (grid.cells(piece.a), grid.cells(piece.b));
    if a.y <= b.y { (a, b) } else { (b, a) }
}

/// The left sides of the sum of the segment from `a` up to `b`, the polygon bounded by `chain`, and a disc.
fn sum(a: Point, b: Point, chain: &Chain, radius: f64, sides: &mut Vec<Side>) {
    sides.clear();
    let run = b - a;
    let level = run.y <= LEVEL;
    let mut at = chain.start + if level { Point::new(a.x.min(b.x), a.y) } else { a };
    if level && chain.edges.is_empty() {
        sides.push(Side::new(at, Point::default(), radius));
        return;
    }
    let mut push = |edge: Point| {
        sides.push(Side::new(at, edge, radius));
        at = at + edge;
    };
    let flatter = if level { 0 } else { chain.edges.partition_point(|edge| edge.cross(run) < 0.0) };
    chain.edges[..flatter].iter().for_each(|&edge| push(edge));
    if !level {
        push(run);
    }
    chain.edges[flatter..].iter().for_each(|&edge| push(edge));
}

/// The first and last row of the grid that any outline of the piece reaches.
pub(super) fn rows(moulds: &[Mould], piece: &Piece, grid: &Grid) -> Option<(usize, usize)> {
    let (a, b) = ends(piece, grid);
    let pipe = f64::from(piece.radius_m);
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for mould in moulds {
        let radius = (mould.radius_m + pipe) / grid.cell_m;
        low = low.min(a.y + mould.low - radius);
        high = high.max(b.y + mould.high + radius);
    }
    let (first, last) = (low.ceil().max(0.0), high.floor().min(grid.rows as f64 - 1.0));
    (first <= last).then_some((first as usize, last as usize))
}
