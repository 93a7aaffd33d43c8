//! Shifted paths against published figures, and against a test that knows nothing of frames, wedges or mitres.

use super::*;
use crate::geometry::{Polygon, merge_intervals};
use crate::rng::{Stream, stream};
use approx::assert_relative_eq;
use rand::RngExt;
use statrs::distribution::{ContinuousCDF, Normal};
use std::f64::consts::TAU;

fn p(x: f64, y: f64) -> Point {
    Point::new(x, y)
}

fn hits(path: &ShiftedPath, footprint: &Footprint, reach: f64) -> Vec<(f64, f64)> {
    let mut out = Vec::new();
    path.hit_intervals(footprint, reach, &mut out);
    let mut set = out.iter().map(|h| (h.low, h.high)).collect();
    merge_intervals(&mut set);
    set
}

fn chance(set: &[(f64, f64)], sd: f64) -> f64 {
    let law = Normal::new(0.0, sd).expect("sd > 0");
    set.iter().map(|&(low, high)| law.cdf(high) - law.cdf(low)).sum()
}

#[test]
fn a_gaussian_run_hits_a_disc_as_published() {
    // Long straight run, disc at distance d, radius r, offset sd s: Phi((r-d)/s) - Phi((-r-d)/s); printed digits.
    let path = ShiftedPath::new(&[p(-50., 0.), p(50., 0.)]);
    for (d, r, s, printed, digits) in [
        (0.8, 0.45, 0.5, 0.235754, 5e-7),
        (0.0, 1.0, 1.0, 0.682689, 5e-7),
        (1.0, 1.0, 1.0, 0.477250, 5e-7),
        (2.0, 1.0, 1.0, 0.157305, 5e-7),
        (0.6, 0.6, 0.3, 0.499968, 5e-7),
        (1.2, 0.6, 0.3, 0.022750, 5e-7),
    ] {
        for sign in [1.0, -1.0] {
            let set = hits(&path, &Footprint::disc(p(3.0, sign * d), r), 12.0 * s);
            assert_relative_eq!(chance(&set, s), printed, epsilon = digits);
        }
    }
}

/// A path of one to three legs, of 0.2 m to 3 m, with turns that keep clear of the mitre limit.
fn random_path(rng: &mut Stream) -> ShiftedPath {
    let mut bearing = rng.random_range(0.0..TAU);
    let mut vertices = vec![p(rng.random_range(-1.0..1.0), rng.random_range(-1.0..1.0))];
    for _ in 0..rng.random_range(1..4) {
        let here = vertices[vertices.len() - 1];
        vertices.push(here + Point::unit(bearing) * rng.random_range(0.2..3.0));
        bearing += rng.random_range(-2.3..2.3);
    }
    ShiftedPath::new(&vertices)
}

fn random_footprint(rng: &mut Stream) -> Footprint {
    let centre = p(rng.random_range(-2.0..2.0), rng.random_range(-2.0..2.0));
    let radius = if rng.random_bool(0.5) { 0.0 } else { rng.random_range(0.01..0.3) };
    match rng.random_range(0..4) {
        0 => Footprint::disc(centre, rng.random_range(0.05..0.8)),
        1 => {
            let n = rng.random_range(3..8);
            let ring = (0..n)
                .map(|k| centre + Point::unit(TAU * f64::from(k) / f64::from(n)) * rng.random_range(0.1..1.0))
                .collect();
            Footprint::polygon(&Polygon::new(ring)).inflated(radius)
        }
        2 => {
            let mut at = centre;
            let path: Vec<Point> = (0..rng.random_range(2..4))
                .map(|_| {
                    at = at + p(rng.random_range(-1.5..1.5), rng.random_range(-1.5..1.5));
                    at
                })
                .collect();
            Footprint::trench(&path, rng.random_range(0.1..0.5)).inflated(radius)
        }
        _ => {
            // On the axes, where tops are level and corners line up with legs.
            let (w, h) = (rng.random_range(0.2..1.5), rng.random_range(0.2..1.5));
            let ring = vec![p(0., 0.), p(w, 0.), p(w, h), p(0., h)];
            Footprint::polygon(&Polygon::new(ring)).translated(centre).inflated(radius)
        }
    }
}

#[test]
fn offsets_that_hit_are_those_at_which_the_moved_path_meets_the_footprint() {
    // n = 6,000 pairs x 201 offsets against a test that knows nothing of frames, wedges or mitres. Offsets within
    // 1e-6 m of an interval's end are not judged. About a million are judged: a fault at a share of 1e-5 would show.
    let mut rng = stream(77, 0);
    let (mut judged, mut struck, mut shrunk) = (0, 0, 0);
    for round in 0..6000 {
        let (path, footprint) = if round % 3 == 0 {
            // Elbows and feet on the axes: ties everywhere.
            let steps =
                [rng.random_range(1..4), rng.random_range(-3..4), rng.random_range(-3..4)].map(f64::from);
            let bend = [p(0., 0.), p(steps[0], 0.), p(steps[0], steps[1]), p(steps[0] + steps[2], steps[1])];
            let square = Polygon::new(vec![p(0., 0.), p(1., 0.), p(1., 1.), p(0., 1.)]);
            let corner = p(f64::from(rng.random_range(-2..3)), f64::from(rng.random_range(-2..3)));
            let pipe = f64::from(rng.random_range(0..2)) * 0.25;
            (ShiftedPath::new(&bend), Footprint::polygon(&square).translated(corner).inflated(pipe))
        } else {
            (random_path(&mut rng), random_footprint(&mut rng))
        };
        if path.legs().iter().any(|leg| leg.start_move.norm() > 2.99 || leg.start_move.norm() == 0.0) {
            continue; // a turn back: the legs do not stay parallel, see below
        }
        let reach = rng.random_range(0.1..2.0);
        let set = hits(&path, &footprint, reach);
        assert!(set.iter().all(|&(low, high)| -reach <= low && low <= high && high <= reach));
        for _ in 0..201 {
            let o = rng.random_range(-reach..reach);
            if set.iter().any(|&(low, high)| (o - low).abs() < 1e-6 || (o - high).abs() < 1e-6) {
                continue;
            }
            let moved = path.at(o);
            let meets = moved.windows(2).any(|leg| footprint.meets_segment(leg[0], leg[1]));
            let held = set.iter().any(|&(low, high)| low <= o && o <= high);
            assert_eq!(held, meets, "offset {o} of {path:?} with {footprint:?}: {set:?}");
            judged += 1;
            struck += i32::from(meets);
            shrunk += i32::from(
                moved
                    .windows(2)
                    .zip(path.legs())
                    .any(|(leg, drawn)| (leg[1] - leg[0]).dot(drawn.along) < 0.0),
            );
        }
    }
    // The comparison is empty unless hits, misses and legs that have shrunk away are all common.
    assert!(
        struck > judged / 10 && struck < judged * 9 / 10 && shrunk > judged / 100,
        "{judged} {struck} {shrunk}"
    );
}

#[test]
fn a_stretch_of_a_leg_hits_where_that_stretch_moved_sideways_does() {
    // n = 3,000 x 101 offsets, ends not judged within 1e-6 m.
    let mut rng = stream(78, 0);
    for _ in 0..3000 {
        let (path, footprint) = (random_path(&mut rng), random_footprint(&mut rng));
        let k = rng.random_range(0..path.legs().len());
        let mut shares = [rng.random_range(-0.3..1.3_f64).clamp(0.0, 1.0), rng.random_range(0.0..1.0)];
        shares.sort_unstable_by(f64::total_cmp);
        let [s0, s1] = shares;
        let mut out = Vec::new();
        path.hit_intervals_between(k, s0, s1, &footprint, 1.0, &mut out);
        assert!(out.iter().all(|h| h.leg == k));
        let leg = path.legs()[k];
        let cut = |s: f64, o: f64| leg.start.towards(leg.end, s) + leg.along.left() * o;
        for _ in 0..101 {
            let o: f64 = rng.random_range(-1.0..1.0);
            if out.iter().any(|h| (o - h.low).abs() < 1e-6 || (o - h.high).abs() < 1e-6) {
                continue;
            }
            let a = if s0 == 0.0 { leg.at(o).0 } else { cut(s0, o) };
            let b = if s1 == 1.0 { leg.at(o).1 } else { cut(s1, o) };
            assert_eq!(out.iter().any(|h| h.low <= o && o <= h.high), footprint.meets_segment(a, b));
        }
    }
}

#[test]
fn every_vertex_of_a_shifted_path_lies_at_the_offset_from_its_legs() {
    // n = 200 paths; rounding only: 1e-12.
    let mut rng = stream(79, 0);
    for _ in 0..200 {
        let path = random_path(&mut rng);
        for leg in path.legs() {
            let (a, b) = leg.at(0.3);
            for q in [a, b] {
                assert_relative_eq!(leg.along.cross(q - leg.start), 0.3, epsilon = 1e-12);
            }
        }
        assert_eq!(path.at(0.0).len(), path.legs().len() + 1);
    }
}

#[test]
fn hairpins_points_and_nothing_are_paths_too() {
    let disc = Footprint::disc(p(0., 0.), 0.1);
    let point = ShiftedPath::new(&[p(0.05, 0.), p(0.05, 0.)]);
    assert!(point.legs().is_empty() && point.length() == 0.0);
    assert_eq!(point.at(0.7), vec![p(0.05, 0.)]);
    assert_eq!(hits(&point, &disc, 0.5), vec![(-0.5, 0.5)]);
    assert!(hits(&ShiftedPath::new(&[p(0.11, 0.)]), &disc, 0.5).is_empty());
    assert!(hits(&ShiftedPath::new(&[]), &disc, 0.5).is_empty() && ShiftedPath::new(&[]).at(0.1).is_empty());
    let hairpin = ShiftedPath::new(&[p(0., 0.), p(2., 0.), p(0., 0.1)]);
    assert_relative_eq!(hairpin.legs()[0].end_move.norm(), 3.0, epsilon = 1e-12);
    let back = ShiftedPath::new(&[p(0., 0.), p(2., 0.), p(0., 0.)]);
    assert_eq!(back.legs()[0].end_move, Point::default());
    // Out and back lie on opposite sides, each like a straight run.
    let set = hits(&back, &Footprint::disc(p(1., 0.3), 0.1), 1.0);
    assert_eq!(set.len(), 2);
    assert_relative_eq!(set[1].0, 0.2, epsilon = 1e-12);
    assert_relative_eq!(set[1].1, 0.4, epsilon = 1e-12);
    assert_relative_eq!(set[0].0, -0.4, epsilon = 1e-12);
}
