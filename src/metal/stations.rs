//! Where one line runs over all draws: stations along its middle course, each with the band that holds nine tenths of the draws.
//!
//! At a station a draw lies where a leg of it that runs the same way crosses the cross section. Near a bend a draw may have
//! turned before or turn after: its other leg meets the cross section far aside, or not at all. That is where it bends, and no
//! doubt about where the line is, so such a draw counts by its shortest distance from the station. The band at a bend is then as
//! wide as the doubt about the corner and about both legs, and no wider.

use crate::geometry::Point;
use crate::layout::MetalLine;

/// One place along a line's course.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Station {
    /// The middle place, metres.
    pub at: Point,
    /// Unit vector along the course.
    pub along: Point,
    /// 5 % and 95 % points of the sideways place about the middle, metres, left positive.
    pub band_m: [f64; 2],
    /// Share of all draws in which the line passes here.
    pub probability: f64,
}

/// Stations along a course are so far apart, metres, and look so far to either side. Numerical choices.
const STATION_M: f64 = 0.5;
const ASIDE_M: f64 = 4.0;

/// A leg turned by less than the angle of this cosine from the course runs the same way: less than half a square bend.
const SAME_WAY: f64 = std::f64::consts::FRAC_1_SQRT_2;

/// Places along the middle course of a line's draws, that of the draw whose length is the middle one; those that less than a
/// share of all draws passes are left out.
pub(super) fn stations(own: &[&MetalLine], total: f64, least: f64) -> Vec<Station> {
    let length = |line: &MetalLine| line.path.windows(2).map(|ends| ends[0].distance(ends[1])).sum::<f64>();
    let mut order: Vec<usize> = (0..own.len()).collect();
    order.sort_by(|a, b| length(own[*a]).total_cmp(&length(own[*b])).then(a.cmp(b)));
    let Some(&middle) = order.get(order.len() / 2) else { return Vec::new() };
    let mut stations = Vec::new();
    for ends in own[middle].path.windows(2) {
        let Some(along) = (ends[1] - ends[0]).direction() else { continue };
        let long = ends[0].distance(ends[1]);
        let steps = (long / STATION_M).ceil().max(1.0) as usize;
        for k in 0..steps {
            let at = ends[0] + along * (long * (k as f64 + 0.5) / steps as f64);
            let mut asides: Vec<f64> = own.iter().filter_map(|line| aside(&line.path, at, along)).collect();
            asides.sort_by(f64::total_cmp);
            let probability = asides.len() as f64 / total;
            if asides.is_empty() || probability < least {
                continue;
            }
            let mid = quantile(&asides, 0.5);
            stations.push(Station {
                at: at + along.left() * mid,
                along,
                band_m: [quantile(&asides, 0.05) - mid, quantile(&asides, 0.95) - mid],
                probability,
            });
        }
    }
    stations
}

/// How far to the left a course lies at a station, metres; `None` where it does not pass.
fn aside(path: &[Point], at: Point, along: Point) -> Option<f64> {
    let crossing = |ends: &[Point]| {
        let way = (ends[1] - ends[0]).direction()?;
        let (a, b) = ((ends[0] - at).dot(along), (ends[1] - at).dot(along));
        if way.dot(along).abs() < SAME_WAY || a * b > 0.0 || a == b {
            return None;
        }
        let place = ends[0].towards(ends[1], a / (a - b));
        Some((place - at).dot(along.left()))
    };
    let nearest = path.windows(2).filter_map(crossing).min_by(|a, b| a.abs().total_cmp(&b.abs()));
    nearest.or_else(|| turned(path, at, along)).filter(|aside| aside.abs() <= ASIDE_M)
}

/// The shortest distance to a course that has turned here, to the left positive; `None` where its end is nearest: it does not
/// come so far.
fn turned(path: &[Point], at: Point, along: Point) -> Option<f64> {
    let place = |ends: &[Point]| {
        let way = ends[1] - ends[0];
        let part = ((at - ends[0]).dot(way) / way.dot(way).max(1e-18)).clamp(0.0, 1.0);
        ends[0].towards(ends[1], part)
    };
    let nearest = path.windows(2).map(place).min_by(|a, b| a.distance(at).total_cmp(&b.distance(at)))?;
    let is_end = |end: Option<&Point>| end.is_none_or(|end| end.distance(nearest) < 1e-9);
    if is_end(path.first()) || is_end(path.last()) {
        return None;
    }
    let side = (nearest - at).dot(along.left());
    Some(at.distance(nearest) * if side < 0.0 { -1.0 } else { 1.0 })
}

/// A quantile of ascending numbers, between neighbours in proportion.
pub(super) fn quantile(sorted: &[f64], p: f64) -> f64 {
    if sorted.is_empty() {
        return f64::NAN;
    }
    let at = p * (sorted.len() - 1) as f64;
    let (low, part) = (at.floor() as usize, at.fract());
    sorted[low] + part * (sorted[(low + 1).min(sorted.len() - 1)] - sorted[low])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::class::Class;

    fn line(path: &[(f64, f64)]) -> MetalLine {
        MetalLine {
            wire: false,
            class: Class::Gas,
            path: path.iter().map(|&(x, y)| Point::new(x, y)).collect(),
            cover_m: 0.4,
            cover_law_m: (0.4, 0.1),
            radius_m: 0.01,
            items: Vec::new(),
            fixtures: Vec::new(),
        }
    }

    fn half_widths(draws: &[MetalLine]) -> Vec<f64> {
        let own: Vec<&MetalLine> = draws.iter().collect();
        let found = stations(&own, own.len() as f64, 0.05);
        assert!(
            found.len() >= 18 && found.iter().all(|s| s.probability > 0.99),
            "every draw passes everywhere"
        );
        found.iter().map(|s| s.band_m[1].max(-s.band_m[0])).collect()
    }

    #[test]
    fn a_bend_that_is_known_exactly_has_no_band() {
        let draws = vec![line(&[(0.0, 0.0), (5.0, 0.0), (5.0, 5.0)]); 40];
        assert!(half_widths(&draws).iter().all(|half| *half < 1e-12));
    }

    /// The second leg lies evenly within 0.4 m of x = 5, the first is known exactly. Beyond the corner the band of 90 % is
    /// 0.36 m to either side; before it no draw lies further from a station than its corner is from the middle one. Planted fault:
    /// whatever leg meets the cross section counts, and the band beside the corner is metres wide.
    #[test]
    fn a_bend_is_as_wide_as_its_legs() {
        let at = |k: usize| 5.0 + 0.4 * (k as f64 - 50.0) / 50.0;
        let draws: Vec<MetalLine> =
            (0..101).map(|k| line(&[(0.0, 0.0), (at(k), 0.0), (at(k), 5.0)])).collect();
        let widths = half_widths(&draws);
        assert!(widths[..8].iter().all(|half| *half < 1e-9), "{widths:?}");
        assert!(widths[12..].iter().all(|half| (half - 0.36).abs() < 0.01), "{widths:?}");
        assert!(widths.iter().all(|half| *half < 0.37), "{widths:?}");
        let any_leg = |path: &[Point], at: Point| {
            let meets = |ends: &[Point]| {
                let (a, b) = (ends[0].x - at.x, ends[1].x - at.x);
                (a * b <= 0.0 && a != b).then(|| ends[0].towards(ends[1], a / (a - b)).y)
            };
            path.windows(2).filter_map(meets).fold(0.0, |most: f64, y| most.max(y.abs()))
        };
        let slanted = [Point::new(0.0, 0.0), Point::new(4.6, 0.0), Point::new(4.9, 5.0)];
        assert!(any_leg(&slanted, Point::new(4.8, 0.0)) > 3.0, "the fault would be seen");
        assert!(aside(&slanted, Point::new(4.8, 0.0), Point::new(1.0, 0.0)).is_some_and(|a| a.abs() < 0.25));
    }

    /// A line that ends before a station does not pass it, though its end is near.
    #[test]
    fn a_line_that_ends_before_does_not_pass() {
        let short = line(&[(0.0, 0.0), (3.0, 0.0)]);
        assert_eq!(aside(&short.path, Point::new(3.2, 0.0), Point::new(1.0, 0.0)), None);
        assert!(aside(&short.path, Point::new(2.8, 0.1), Point::new(1.0, 0.0)).is_some());
    }
}
