//! Outlines: where the dig's reference point meets one piece, as chains of rounded sides in units of cells.
//!
//! The sum of a segment, a convex polygon and a disc is bounded, on its left, by a chain of rounded edges: the left
//! chain of the polygon's edges with the segment's own edge merged in by slope (the edges of a Minkowski sum of
//! convex polygons are those of its terms in order of direction; de Berg et al., Computational Geometry, 3rd ed.,
//! section 13.3). The right bound is the left bound of the mirror image, so one routine does both.

use super::grid::Frame;
use crate::geometry::Point;
use crate::layout::Piece;

/// A convex part of a dig: its corners relative to the dig's reference point, in metres, swept by a disc of
/// `radius_m`. A single corner makes a disc, two make a capsule.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Part<'a> {
    /// Corners relative to the reference point, metres; only their convex hull matters.
    pub corners: &'a [Point],
    /// Rounding radius, metres.
    pub radius_m: f64,
}

/// A rise in cells below which an edge counts as level with the rows; far below the promised 1e-9 m.
const LEVEL: f64 = 1e-9;

/// An edge of a left bound.
#[derive(Clone, Copy, Debug)]
struct Edge {
    /// From the lower end to the upper, cells.
    to: Point,
    /// dx/dy; 0 if it is level.
    slope: f64,
    /// dx over the length; 0 if it is level.
    lean: f64,
}

impl Edge {
    fn new(to: Point) -> Self {
        if to.y <= LEVEL {
            return Self { to, slope: 0.0, lean: 0.0 };
        }
        Self { to, slope: to.x / to.y, lean: to.x / to.dot(to).sqrt() }
    }

    fn mirrored(self) -> Self {
        Self { to: mirror(self.to), slope: -self.slope, lean: -self.lean }
    }

    fn is_level(&self) -> bool {
        self.to.y <= LEVEL
    }
}

fn mirror(p: Point) -> Point {
    Point::new(-p.x, p.y)
}

/// The left bound of a convex polygon, upwards in y.
#[derive(Clone, Debug)]
struct Chain {
    start: Point,
    /// Edges in order; each rises, and their slopes grow.
    edges: Vec<Edge>,
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
        let edges =
            bound.windows(2).map(|w| Edge::new(w[1] - w[0])).filter(|edge| !edge.is_level()).collect();
        Some(Self { start: *bound.first()?, edges })
    }
}

/// The mirrored part of a dig, ready to be summed with pieces.
#[derive(Clone, Debug)]
pub(super) struct Mould {
    left: Chain,
    /// The left chain after x is mirrored.
    right: Chain,
    /// Extent without the radius, cells.
    low: Point,
    high: Point,
    /// Cells.
    radius: f64,
}

impl Mould {
    /// `None` for a part without corners.
    pub(super) fn new(part: &Part<'_>, frame: &Frame) -> Option<Self> {
        // The dig is mirrored at its reference point; rows count downwards, which mirrors y once more.
        let corners: Vec<Point> = part.corners.iter().map(|k| Point::new(-k.x, k.y) * frame.per_m).collect();
        let extreme = |pick: fn(f64, f64) -> f64, from: f64| {
            corners.iter().fold(Point::new(from, from), |m, p| Point::new(pick(m.x, p.x), pick(m.y, p.y)))
        };
        Some(Self {
            low: extreme(f64::min, f64::INFINITY),
            high: extreme(f64::max, f64::NEG_INFINITY),
            right: Chain::new(corners.iter().copied().map(mirror).collect())?,
            left: Chain::new(corners)?,
            radius: part.radius_m * frame.per_m,
        })
    }
}

/// A piece in cells, the end with the lower y first.
#[derive(Clone, Copy, Debug)]
pub(super) struct Run {
    a: Point,
    b: Point,
    radius: f64,
}

impl Run {
    #[inline(always)]
    pub(super) fn new(piece: &Piece, frame: &Frame) -> Self {
        let (a, b) = (frame.cells(piece.a), frame.cells(piece.b));
        let (a, b) = if a.y <= b.y { (a, b) } else { (b, a) };
        Self { a, b, radius: f64::from(piece.radius_m) * frame.per_m }
    }

    /// The first and last row of the grid that its outlines reach, if they reach the frame.
    pub(super) fn rows(&self, moulds: &[Mould], frame: &Frame) -> Option<(usize, usize)> {
        let (left, right) = (lesser(self.a.x, self.b.x), -lesser(-self.a.x, -self.b.x));
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for mould in moulds {
            let radius = mould.radius + self.radius;
            if right + mould.high.x + radius >= 0.0 && left + mould.low.x - radius <= frame.cols as f64 - 1.0
            {
                low = low.min(self.a.y + mould.low.y - radius);
                high = high.max(self.b.y + mould.high.y + radius);
            }
        }
        // Casts truncate and saturate: a row too many does no harm.
        (low <= frame.rows as f64 - 1.0 && high >= 0.0)
            .then(|| (low as usize, (high as usize).min(frame.rows - 1)))
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
    fn new(start: Point, edge: &Edge, radius: f64) -> Self {
        Self {
            x: start.x,
            y: start.y,
            tangent: radius * edge.lean,
            rise: edge.to.y,
            slope: edge.slope,
            radius2: radius * radius,
        }
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
    spine: Spine,
}

/// Where the outline of a run lies in x, roughly.
#[derive(Clone, Copy, Debug, Default)]
struct Spine {
    start: Point,
    rise: f64,
    slope: f64,
    /// From end to end of a level run, else 0.
    flat: f64,
    /// What part and radius add to the run: extent of their sum, cells.
    low: Point,
    high: Point,
}

impl Outline {
    /// Makes this the outline of `run` and the part cast in `mould`.
    #[inline(always)]
    pub(super) fn cast(&mut self, mould: &Mould, run: &Run) {
        let radius = mould.radius + run.radius;
        let (low, high) = (mould.low - Point::new(radius, radius), mould.high + Point::new(radius, radius));
        self.low = run.a.y + low.y;
        self.high = run.b.y + high.y;
        let edge = Edge::new(run.b - run.a);
        let flat = if edge.is_level() { edge.to.x } else { 0.0 };
        self.spine = Spine { start: run.a, rise: edge.to.y, slope: edge.slope, flat, low, high };
        // The bounds of a level run start at its outer ends, those of any other at the lower one.
        let (left, right) = match (edge.is_level(), edge.to.x < 0.0) {
            (false, _) => (run.a, run.a),
            (true, false) => (run.a, run.b),
            (true, true) => (run.b, run.a),
        };
        sum(left, edge, &mould.left, radius, &mut self.left);
        sum(mirror(right), edge.mirrored(), &mould.right, radius, &mut self.right);
    }
}

impl Outline {
    /// Bounds in x, in cells, of what the outline covers of the rows from `first` to `last`.
    #[inline(always)]
    pub(super) fn extent(&self, first: f64, last: f64) -> (f64, f64) {
        let Spine { start, rise, slope, flat, low, high } = self.spine;
        let x = |y: f64| start.x + within(y - start.y, rise) * slope;
        let (one, two) = (x(first - high.y), x(last - low.y) + flat);
        (lesser(one, two) + low.x, -lesser(-one, -two) + high.x)
    }
}

/// The left sides of the sum of an edge that starts at `from`, the polygon bounded by `chain`, and a disc.
#[inline(always)]
fn sum(from: Point, edge: Edge, chain: &Chain, radius: f64, sides: &mut Vec<Side>) {
    sides.clear();
    let mut at = chain.start + from;
    if chain.edges.is_empty() {
        sides.push(Side::new(at, &edge, radius));
        return;
    }
    let mut push = |edge: &Edge| {
        sides.push(Side::new(at, edge, radius));
        at = at + edge.to;
    };
    let flatter = chain.edges.partition_point(|side| side.to.cross(edge.to) < 0.0);
    chain.edges[..flatter].iter().for_each(&mut push);
    if !edge.is_level() {
        push(&edge);
    }
    chain.edges[flatter..].iter().for_each(push);
}

/// One machine instruction, unlike [`f64::min`], which treats NaN otherwise.
#[inline(always)]
pub(super) fn lesser(a: f64, b: f64) -> f64 {
    if a < b { a } else { b }
}

/// `x` moved into 0..=most.
#[inline(always)]
pub(super) fn within(x: f64, most: f64) -> f64 {
    let x = lesser(x, most);
    if x > 0.0 { x } else { 0.0 }
}
