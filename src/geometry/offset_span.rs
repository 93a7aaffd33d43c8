//! The exact core of offset integration: at which sideways offsets does a straight leg hit a convex shape?
//!
//! In the leg's frame (t along it, h to its left) the leg at offset h covers start(h) <= t <= end(h), both linear in
//! h. The swept region between the two side lines is a convex wedge on either side of their apex, so the offsets that
//! hit a convex shape form one interval per wedge: the extent in h of shape and wedge together. The extremes lie at
//! the top or bottom of the shape, where the wedge holds it, or on a side line.

use super::Point;

/// A line `t = at + slope * h` in a leg's frame: where one end of the leg lies at offset h.
#[derive(Clone, Copy, Debug)]
pub(super) struct SideLine {
    pub at: f64,
    pub slope: f64,
}

impl SideLine {
    fn t(self, h: f64) -> f64 {
        self.at + self.slope * h
    }

    /// How far `p` (t, h) lies beyond the line, along t.
    fn beyond(self, p: Point) -> f64 {
        p.x - self.t(p.y)
    }
}

/// A closed interval that grows; empty at first.
#[derive(Clone, Copy, Debug)]
struct Span {
    low: f64,
    high: f64,
}

impl Span {
    const EMPTY: Self = Self { low: f64::INFINITY, high: f64::NEG_INFINITY };

    fn add(&mut self, h: f64) {
        self.low = self.low.min(h);
        self.high = self.high.max(h);
    }

    fn join(&mut self, other: Self) {
        self.low = self.low.min(other.low);
        self.high = self.high.max(other.high);
    }

    fn clipped(self, low: f64, high: f64) -> Self {
        Self { low: self.low.max(low), high: self.high.min(high) }
    }

    fn is_empty(self) -> bool {
        self.low > self.high
    }
}

/// A level stretch of the shape's boundary: its top or bottom.
#[derive(Clone, Copy)]
struct Level {
    h: f64,
    from: f64,
    to: f64,
}

/// What the shape shows to the two side lines, gathered in one round over its corners.
struct Shape {
    top: Level,
    bottom: Level,
    on_start: Span,
    on_end: Span,
}

/// Adds the offsets at which `line` crosses the disc of `radius` round `c`: a quadratic in h.
fn cross_disc(span: &mut Span, line: SideLine, c: Point, radius: f64) {
    let beyond = line.beyond(c);
    let steep = 1.0 + line.slope * line.slope;
    let root = radius * radius * steep - beyond * beyond;
    if root >= 0.0 {
        let (middle, half) = (c.y + line.slope * beyond / steep, root.sqrt() / steep);
        span.add(middle - half);
        span.add(middle + half);
    }
}

/// Adds the offset at which `line` crosses the segment p-q.
fn cross_segment(span: &mut Span, line: SideLine, p: Point, q: Point) {
    let (f, g) = (line.beyond(p), line.beyond(q));
    if f == 0.0 {
        span.add(p.y);
    }
    if g == 0.0 {
        span.add(q.y);
    }
    if (f > 0.0) != (g > 0.0) {
        span.add(p.y + (q.y - p.y) * (f / (f - g)));
    }
}

impl Shape {
    /// The shape with this core (in the leg's frame) and radius, or `None` when its offsets miss `-reach..reach`.
    fn new(
        core: impl ExactSizeIterator<Item = Point> + Clone,
        radius: f64,
        start: SideLine,
        end: SideLine,
        reach: f64,
    ) -> Option<Self> {
        let mut top = Level { h: f64::NEG_INFINITY, from: 0.0, to: 0.0 };
        let mut bottom = Level { h: f64::INFINITY, from: 0.0, to: 0.0 };
        for c in core.clone() {
            if c.y > top.h {
                top = Level { h: c.y, from: c.x, to: c.x };
            } else if c.y == top.h {
                (top.from, top.to) = (top.from.min(c.x), top.to.max(c.x));
            }
            if c.y < bottom.h {
                bottom = Level { h: c.y, from: c.x, to: c.x };
            } else if c.y == bottom.h {
                (bottom.from, bottom.to) = (bottom.from.min(c.x), bottom.to.max(c.x));
            }
        }
        top.h += radius;
        bottom.h -= radius;
        if bottom.h > reach || top.h < -reach || top.h < bottom.h {
            return None;
        }
        let mut shape = Self { top, bottom, on_start: Span::EMPTY, on_end: Span::EMPTY };
        let edges = core.len() >= 2;
        let mut before = core.clone().last()?;
        for here in core {
            // The outside of a counter-clockwise edge is on its right.
            let edge = here - before;
            let out = if edges && radius > 0.0 {
                edge.left() * (-radius / edge.dot(edge).sqrt().max(f64::MIN_POSITIVE))
            } else {
                Point::default()
            };
            for (span, line) in [(&mut shape.on_start, start), (&mut shape.on_end, end)] {
                if radius > 0.0 || !edges {
                    cross_disc(span, line, here, radius);
                }
                if edges {
                    cross_segment(span, line, before + out, here + out);
                }
            }
            before = here;
        }
        Some(shape)
    }

    /// The offsets at which the shape meets the wedge `start <= t <= end`, a side of the apex.
    fn within_wedge(&self, start: SideLine, end: SideLine, side: (f64, f64)) -> Span {
        let mut span = Span::EMPTY;
        for on_line in [self.on_start, self.on_end] {
            let clipped = on_line.clipped(side.0, side.1);
            if !clipped.is_empty() {
                span.join(clipped);
            }
        }
        for level in [self.top, self.bottom] {
            let held = level.from.max(start.t(level.h)) <= level.to.min(end.t(level.h));
            if held && side.0 <= level.h && level.h <= side.1 {
                span.add(level.h);
            }
        }
        span
    }
}

/// Calls `hit(low, high)` for each interval of offsets within `-reach..reach` at which the leg between `start` and
/// `end` meets the shape of this `core` (counter-clockwise, in the leg's frame) and `radius`.
///
/// There is one interval, or two when the shape lies on both sides of an apex: the offset, if any, beyond which the
/// leg has shrunk away and runs backwards between its neighbours.
pub(super) fn offset_spans(
    core: impl ExactSizeIterator<Item = Point> + Clone,
    radius: f64,
    (start, end): (SideLine, SideLine),
    reach: f64,
    mut hit: impl FnMut(f64, f64),
) {
    let Some(shape) = Shape::new(core, radius, start, end, reach) else { return };
    let (room, closing) = (end.at - start.at, start.slope - end.slope);
    let everywhere = (f64::NEG_INFINITY, f64::INFINITY);
    // The leg is as long as room - closing * h.
    let apex = if closing == 0.0 { f64::INFINITY } else { room / closing };
    let forward = if closing > 0.0 {
        (f64::NEG_INFINITY, apex)
    } else if closing < 0.0 {
        (apex, f64::INFINITY)
    } else {
        everywhere
    };
    let mut span = shape.within_wedge(start, end, forward);
    if apex.abs() < reach {
        let backward = if closing > 0.0 { (apex, f64::INFINITY) } else { (f64::NEG_INFINITY, apex) };
        let other = shape.within_wedge(end, start, backward);
        if span.low <= other.high && other.low <= span.high {
            span.join(other);
        } else {
            let other = other.clipped(-reach, reach);
            if !other.is_empty() {
                hit(other.low, other.high);
            }
        }
    }
    let span = span.clipped(-reach, reach);
    if !span.is_empty() {
        hit(span.low, span.high);
    }
}
