//! Unknown lines as looks see them: how many are met by at least one of a set of looks.
//!
//! Unknown lines are a Poisson field of straight lines in every direction with their own law of depth (the floor). A
//! clear probe proves that none passes there, so the mean number a dig meets is that of the lines which the probes would
//! not have met; a find may be an unknown line, which then goes on under the dig beside it. The measure of lines is
//! `dp dphi` (Crofton; methods E): lines through one look are laid on a grid of directions, offsets and depths.

use super::look::Look;
use crate::geometry::Point;
use crate::layout::Floor;

/// Grid over the lines that meet a look. Numerical choice: 1 % of the mean for a hole beside a probe of its size.
const DIRECTIONS: usize = 48;
const OFFSETS: usize = 32;
const DEPTHS: usize = 24;

/// Unknown lines are taken as straight over this distance, metres: further looks say nothing of them. Common practice,
/// no source.
const STRAIGHT_M: f64 = 6.0;

/// Whether a line that `look` meets may, being straight so far, have met `other` too: if not, `other` changes nothing in
/// [`mean_beyond`].
pub(super) fn bears_on(floor: &Floor, other: &Look, look: &Look) -> bool {
    let (low, high) = look.footprint.inflated(floor.radius_m).bounds();
    let (middle, reach) = (low.towards(high, 0.5), 0.5 * low.distance(high));
    other.footprint.inflated(floor.radius_m).distance_to_point(middle) < STRAIGHT_M + reach
}

/// Mean number of unknown lines that `look` meets and none of `before` does.
pub fn mean_beyond(floor: &Floor, look: &Look, before: &[&Look]) -> f64 {
    let widened = |look: &Look| look.footprint.inflated(floor.radius_m);
    let own = widened(look);
    let (low, high) = own.bounds();
    let middle = low.towards(high, 0.5);
    let reach = 0.5 * low.distance(high);
    let near: Vec<(&Look, _)> = before
        .iter()
        .map(|&other| (other, widened(other)))
        .filter(|(_, footprint)| footprint.distance_to_point(middle) < STRAIGHT_M + reach)
        .collect();
    let plain = look.report.bearing_rad.is_none() && look.report.cover_m.is_none();
    if near.is_empty() && plain {
        return look.detect * floor.mean_hits(own.hull_perimeter(), look.depth_m);
    }
    let slice = |k: usize| floor.shallower(look.depth_m * k as f64 / DEPTHS as f64);
    let slices: Vec<(f64, f64)> = (0..DEPTHS)
        .map(|k| (look.depth_m * (k as f64 + 0.5) / DEPTHS as f64, slice(k + 1) - slice(k)))
        .collect();
    let mut mean = 0.0;
    for direction in 0..DIRECTIONS {
        let along = Point::unit(std::f64::consts::PI * (direction as f64 + 0.5) / DIRECTIONS as f64);
        let left = along.left();
        let corners = || own.parts().iter().flat_map(|part| part.corners.iter().map(|&c| (c, part.radius)));
        let from = corners().map(|(c, r)| c.dot(left) - r).fold(f64::INFINITY, f64::min);
        let to = corners().map(|(c, r)| c.dot(left) + r).fold(f64::NEG_INFINITY, f64::max);
        for offset in 0..OFFSETS {
            let across = from + (to - from) * (offset as f64 + 0.5) / OFFSETS as f64 - middle.dot(left);
            let on = middle + left * across;
            let (a, b) = (on - along * (STRAIGHT_M + reach), on + along * (STRAIGHT_M + reach));
            if !own.meets_segment(a, b) {
                continue;
            }
            let crossed: Vec<&Look> =
                near.iter().filter(|(_, f)| f.meets_segment(a, b)).map(|(other, _)| *other).collect();
            let met = |look: &Look, depth: f64| {
                let answers = look.report.of_bearing(along) * look.report.of_cover(depth);
                if depth < look.depth_m { look.detect * answers } else { 0.0 }
            };
            for &(depth, share) in &slices {
                let missed: f64 = crossed.iter().map(|other| 1.0 - met(other, depth)).product();
                mean += (to - from) * share * met(look, depth) * missed;
            }
        }
    }
    // L0 / pi times the measure of lines: a cell has the measure (pi / DIRECTIONS) (width / OFFSETS).
    mean * floor.density_per_m / (DIRECTIONS * OFFSETS) as f64
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Footprint;
    use approx::assert_relative_eq;

    const FLOOR: Floor = Floor { density_per_m: 0.01, cover_m: 0.35, cover_sd_m: 0.2, radius_m: 0.0167 };

    fn hole(x: f64, radius: f64, depth: f64) -> Look {
        Look::dig(Footprint::disc(Point::new(x, 0.0), radius), depth)
    }

    /// Lines that meet both of two equal discs (Crofton): crossed belt less open belt,
    /// 2 (sqrt(d^2 - 4 r^2) + 2 r asin(2 r / d)) - 2 d, from all lines through one, 2 pi r.
    #[test]
    fn a_clear_look_beside_takes_away_the_lines_that_meet_both() {
        let (r, d) = (0.4 + FLOOR.radius_m, 1.3);
        let both = 2.0 * ((d * d - 4.0 * r * r).sqrt() + 2.0 * r * (2.0 * r / d).asin()) - 2.0 * d;
        let one = 2.0 * std::f64::consts::PI * r;
        let depth = 5.0;
        let alone = mean_beyond(&FLOOR, &hole(0.0, 0.4, depth), &[]);
        assert_relative_eq!(alone, 0.01 * one / std::f64::consts::PI, max_relative = 1e-9);
        let left = mean_beyond(&FLOOR, &hole(0.0, 0.4, depth), &[&hole(1.3, 0.4, depth)]);
        assert_relative_eq!(left, 0.01 * (one - both) / std::f64::consts::PI, max_relative = 0.01);
    }

    #[test]
    fn shallow_and_far_looks_say_less() {
        let dig = hole(0.0, 0.4, 0.5);
        let mean = |before: &[&Look]| mean_beyond(&FLOOR, &dig, before);
        let (deep, shallow, far) = (hole(0.5, 0.4, 0.5), hole(0.5, 0.4, 0.2), hole(9.0, 0.4, 0.5));
        assert!(mean(&[&deep]) < mean(&[&shallow]) && mean(&[&shallow]) < mean(&[]));
        assert_relative_eq!(mean(&[&far]), mean(&[]), max_relative = 1e-9);
        assert!(mean(&[&hole(0.0, 0.6, 0.6)]) < 1e-12, "a wider and deeper clear look leaves nothing");
    }
}
