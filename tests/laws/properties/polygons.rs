//! Polygons: area, membership, clipping and growth, against plain oracles and under motions of the plane.

use super::{fails, point, star};
use proptest::prelude::*;
use std::f64::consts::TAU;
use underturf::geometry::{Footprint, Point, Polygon};

/// What rounding may come to in a length of this test, metres: coordinates are below 30 m (3.6e-15 m an operation), and no law
/// has more than some hundred operations.
const ROUNDING_M: f64 = 1e-11;
/// Points so near to a boundary are left out where a motion may carry them across it by rounding.
const OFF_M: f64 = 1e-9;

/// A turn about the origin, then a shift.
#[derive(Clone, Copy, Debug)]
struct Motion {
    turn_rad: f64,
    shift: Point,
}

impl Motion {
    fn of(self, p: Point) -> Point {
        let east = Point::unit(self.turn_rad);
        east * p.x + east.left() * p.y + self.shift
    }

    fn polygon(self, polygon: &Polygon) -> Polygon {
        Polygon::new(polygon.ring.iter().map(|&corner| self.of(corner)).collect())
    }
}

fn motion() -> impl Strategy<Value = Motion> {
    (0.0..TAU, point(5.0)).prop_map(|(turn_rad, shift)| Motion { turn_rad, shift })
}

fn reversed(polygon: &Polygon) -> Polygon {
    Polygon::new(polygon.ring.iter().rev().copied().collect())
}

/// How often the ring winds round `p`, by the angles that its edges are seen under: no ray, no sign of a side.
fn winding(polygon: &Polygon, p: Point) -> i64 {
    let seen = polygon.edges().map(|(a, b)| (a - p).cross(b - p).atan2((a - p).dot(b - p)));
    (seen.sum::<f64>() / TAU).round() as i64
}

/// Distance to the closed polygon by the angles and by the nearest of many points of each edge: no projection. Steps of an edge
/// of at most 10 m are 1 cm, so the result is too large by 5 mm at the most next to an edge, and by less further off.
fn plain_distance(polygon: &Polygon, p: Point) -> f64 {
    if winding(polygon, p) != 0 {
        return 0.0;
    }
    let on_edge = |(a, b): (Point, Point)| (0..=1_000).map(move |k| a.towards(b, f64::from(k) / 1_000.0));
    polygon.edges().flat_map(on_edge).map(|q| p.distance(q)).fold(f64::INFINITY, f64::min)
}

type Membership = dyn Fn(&Polygon, Point) -> bool;

/// Membership is what the winding number says, and no motion and no order of corners changes it.
fn membership_law(
    contains: &Membership,
    (polygon, p, motion): (Polygon, Point, Motion),
) -> Result<(), TestCaseError> {
    prop_assume!(polygon.distance_to_boundary(p) > OFF_M);
    let inside = winding(&polygon, p) != 0;
    prop_assert_eq!(contains(&polygon, p), inside);
    prop_assert_eq!(contains(&reversed(&polygon), p), inside, "corners the other way round");
    prop_assert_eq!(contains(&motion.polygon(&polygon), motion.of(p)), inside, "{:?}", motion);
    Ok(())
}

/// A star and a point near it, about as often within as without.
fn star_and_point() -> impl Strategy<Value = (Polygon, Point, Motion)> {
    (star(), point(4.0), motion()).prop_map(|(star, off, motion)| {
        let (low, high) = star.bounds();
        let at = low.towards(high, 0.5) + off;
        (star, at, motion)
    })
}

type Area = dyn Fn(&Polygon) -> f64;

/// The area is that of the triangles from the first corner, signed by the sense of the ring; it changes sign with the sense and
/// with nothing else. It is the area of the convex parts.
fn area_law(signed_area: &Area, (polygon, motion): (Polygon, Motion)) -> Result<(), TestCaseError> {
    // Areas are below 80 m2, so rounding is some 100 times 1e-14 m2; far below the least star, 0.1 m2.
    let same = |a: f64, b: f64| (a - b).abs() < 1e-10;
    let area = signed_area(&polygon);
    prop_assert!(area > 0.0, "stars run counter-clockwise: {}", area);
    prop_assert!(same(signed_area(&reversed(&polygon)), -area));
    prop_assert!(same(signed_area(&motion.polygon(&polygon)), area));
    let (ring, first) = (&polygon.ring, polygon.ring[0]);
    let fan = (1..ring.len() - 1).map(|k| (ring[k] - first).cross(ring[k + 1] - first) / 2.0);
    prop_assert!(same(area, fan.sum()));
    let parts = polygon.convex_parts();
    prop_assert!(same(area, parts.iter().map(|part| Polygon::new(part.clone()).area()).sum()));
    Ok(())
}

type Clip = dyn Fn(&Polygon, Point, Point) -> Vec<(f64, f64)>;

/// Clipped parts come in order, apart, within the segment; their middles are inside and the middles between them are not; from
/// the other end they are the same parts.
fn clip_law(clip: &Clip, (polygon, p, q): (Polygon, Point, Point)) -> Result<(), TestCaseError> {
    let length_m = p.distance(q);
    prop_assume!(length_m > 0.1);
    let parts = clip(&polygon, p, q);
    let ends: Vec<f64> =
        [0.0].into_iter().chain(parts.iter().flat_map(|&(from, to)| [from, to])).chain([1.0]).collect();
    prop_assert!(ends.windows(2).all(|w| w[0] <= w[1] + ROUNDING_M), "{:?}", parts);
    for (k, w) in ends.windows(2).enumerate() {
        let middle = p.towards(q, f64::midpoint(w[0], w[1]));
        // Parts of less than 1e-9 m are left out by design, so a middle so near to the boundary says nothing.
        if (w[1] - w[0]) * length_m > 1e-6 && polygon.distance_to_boundary(middle) > OFF_M {
            prop_assert_eq!(winding(&polygon, middle) != 0, k % 2 == 1, "{:?} at {:?}", parts, middle);
        }
    }
    let back = clip(&polygon, q, p);
    prop_assert_eq!(back.len(), parts.len());
    for (&(from, to), &(back_from, back_to)) in parts.iter().zip(back.iter().rev()) {
        prop_assert!((from - (1.0 - back_to)).abs() * length_m < OFF_M);
        prop_assert!((to - (1.0 - back_from)).abs() * length_m < OFF_M);
    }
    Ok(())
}

type Distance = dyn Fn(&Footprint, Point) -> f64;

/// Growing a pit by r takes r off the distance to it, and adds 2 pi r to the perimeter of its hull (Steiner).
fn growth_law(distance: &Distance, (polygon, p, by_m): (Polygon, Point, f64)) -> Result<(), TestCaseError> {
    let pit = Footprint::polygon(&polygon);
    let grown = pit.inflated(by_m);
    let (far, near) = (distance(&pit, p), distance(&grown, p));
    prop_assert!((near - (far - by_m).max(0.0)).abs() < ROUNDING_M, "{} {}", far, near);
    prop_assert!((-ROUNDING_M..0.006).contains(&(plain_distance(&polygon, p) - far)), "{}", far);
    prop_assert!((grown.hull_perimeter() - pit.hull_perimeter() - TAU * by_m).abs() < 1e-9);
    prop_assert!(
        pit.hull_perimeter() <= polygon.perimeter() + ROUNDING_M,
        "no ring is shorter than its hull"
    );
    Ok(())
}

/// A point off a star by up to 8 m.
fn star_and_growth() -> impl Strategy<Value = (Polygon, Point, f64)> {
    (star(), point(8.0), 0.0..2.0f64).prop_map(|(star, off, by_m)| {
        let at = star.ring[0] + off;
        (star, at, by_m)
    })
}

fn star_and_segment() -> impl Strategy<Value = (Polygon, Point, Point)> {
    (star(), point(7.0), point(7.0)).prop_map(|(star, p, q)| {
        let (low, high) = star.bounds();
        let middle = low.towards(high, 0.5);
        (star, middle + p, middle + q)
    })
}

proptest! {
    #[test]
    fn membership_is_the_winding_number_under_motions_and_reversal(case in star_and_point()) {
        membership_law(&|polygon, p| polygon.contains(p), case)?;
    }

    #[test]
    fn area_is_that_of_triangles_and_of_convex_parts(case in (star(), motion())) {
        area_law(&Polygon::signed_area, case)?;
    }

    #[test]
    fn clipped_parts_are_inside_and_the_rest_is_not(case in star_and_segment()) {
        clip_law(&Polygon::inside_intervals, case)?;
    }

    #[test]
    fn a_grown_pit_is_nearer_by_its_growth(case in star_and_growth()) {
        growth_law(&Footprint::distance_to_point, case)?;
    }

    #[test]
    fn stars_do_not_cross_themselves(star in star()) {
        prop_assert_eq!(star.crossings_with_itself(), vec![]);
    }
}

#[test]
fn planted_faults_of_polygons_are_caught() {
    let box_of = |polygon: &Polygon, p: Point| {
        let (low, high) = polygon.bounds();
        (low.x..=high.x).contains(&p.x) && (low.y..=high.y).contains(&p.y)
    };
    assert!(fails(star_and_point(), |case| membership_law(&box_of, case)), "the box for the polygon");
    let left_of_all = |polygon: &Polygon, p: Point| polygon.edges().all(|(a, b)| (b - a).cross(p - a) > 0.0);
    assert!(
        fails(star_and_point(), |case| membership_law(&left_of_all, case)),
        "right for convex rings alone"
    );
    assert!(fails((star(), motion()), |case| area_law(&Polygon::area, case)), "a sense that is dropped");
    let open = |polygon: &Polygon| {
        polygon.ring.windows(2).map(|w| w[0].cross(w[1])).sum::<f64>() / 2.0 // the last edge is left out
    };
    assert!(fails((star(), motion()), |case| area_law(&open, case)), "an edge that is left out");
    let hull = |polygon: &Polygon, p: Point, q: Point| {
        let parts = polygon.inside_intervals(p, q);
        parts.first().zip(parts.last()).map(|(first, last)| (first.0, last.1)).into_iter().collect()
    };
    assert!(fails(star_and_segment(), |case| clip_law(&hull, case)), "gaps that are filled");
    let corners = |pit: &Footprint, p: Point| {
        let of_part = |part: &underturf::geometry::Rounded| {
            let nearest = part.corners.iter().map(|c| c.distance(p)).fold(f64::INFINITY, f64::min);
            if part.contains(p) { 0.0 } else { (nearest - part.radius).max(0.0) }
        };
        pit.parts().iter().map(of_part).fold(f64::INFINITY, f64::min)
    };
    assert!(fails(star_and_growth(), |case| growth_law(&corners, case)), "distances to corners alone");
}
