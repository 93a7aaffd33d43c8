//! Strike geometry against closed forms of integral geometry (python/docs/model.md, 12.1 to 12.12; sources there: Crofton,
//! Buffon, Laplace, Steiner, Sylvester; Chiu, Stoyan, Kendall & Mecke 2013 from memory).
//!
//! Random lines, segments and discs go through the engine's own footprints; only the closed forms are from outside. Each
//! Monte Carlo check uses N = 100,000 trials and fails beyond 4.5 standard errors: with 10 of them a false alarm has
//! chance 7e-5 in all. At p = 0.1 they catch an error of 0.0043, and the last test plants one of 0.01.

use rand::RngExt;
use rand_distr::{Distribution, Poisson};
use std::f64::consts::{PI, TAU};
use underturf::class::Class;
use underturf::geometry::{Footprint, Point, Polygon, segment_distance};
use underturf::layout::{Kind, Offset, Piece, Pieces, UnmappedLines};
use underturf::rng;
use underturf::strike::raster::{ClassMask, Grid, Part, strike_counts};

const N: usize = 100_000;
/// Radius of the disc in which lines are thrown, metres; every footprint lies well inside.
const FIELD_M: f64 = 5.0;

/// Share of N trials that succeed, and how many standard errors it lies from `p`.
fn z(stream: u64, p: f64, trial: impl Fn(&mut rng::Stream) -> bool) -> f64 {
    let rng = &mut rng::stream(2026, stream);
    let hits = (0..N).filter(|_| trial(rng)).count() as f64;
    (hits / N as f64 - p) / (p * (1.0 - p) / N as f64).sqrt()
}

/// Ends of a random line at distance `t` from the centre of the field.
fn line(bearing: f64, t: f64) -> (Point, Point) {
    let along = Point::unit(bearing);
    let foot = along.left() * t;
    (foot - along * (2.0 * FIELD_M), foot + along * (2.0 * FIELD_M))
}

/// Whether a Poisson field of lines of length density `l` meets a test, bearings drawn from `bearing`.
fn field_meets(
    rng: &mut rng::Stream,
    l: f64,
    bearing: impl Fn(&mut rng::Stream) -> f64,
    meets: impl Fn(Point, Point) -> bool,
) -> bool {
    // Lines of length density l meet a disc of radius R in Poisson(2 R l) numbers (Crofton).
    let count = Poisson::new(2.0 * FIELD_M * l).expect("positive").sample(rng) as usize;
    (0..count).fold(false, |met, _| {
        let (a, b) = line(bearing(rng), FIELD_M * (2.0 * rng.random::<f64>() - 1.0));
        meets(a, b) || met
    })
}

fn any_bearing(rng: &mut rng::Stream) -> f64 {
    PI * rng.random::<f64>()
}

fn rectangle(a: f64, b: f64) -> Footprint {
    let corners = [(-a, -b), (a, -b), (a, b), (-a, b)].map(|(x, y)| Point::new(0.5 * x, 0.5 * y));
    Footprint::polygon(&Polygon::new(corners.to_vec()))
}

/// python/docs/model.md, 12.1: 1 - exp(-2 r L) = 0.10237 at L = 0.12, r = 0.45; the unmapped lines's own formula too.
#[test]
fn lines_meet_a_disc_as_crofton_says() {
    let disc = Footprint::disc(Point::default(), 0.45);
    let p = 1.0 - (-2.0f64 * 0.45 * 0.12).exp();
    assert!((p - 0.10237).abs() < 5e-6);
    let seen = z(1, p, |rng| field_meets(rng, 0.12, any_bearing, |a, b| disc.meets_segment(a, b)));
    assert!(seen.abs() < 4.5, "{seen}");
    let unmapped = UnmappedLines { density_per_m: 0.12, cover_m: 0.3, cover_sd_m: 0.01, radius_m: 0.0 };
    assert!((1.0 - (-unmapped.mean_hits(disc.hull_perimeter(), 5.0)).exp() - p).abs() < 1e-12);
}

/// python/docs/model.md, 12.2: 1 - exp(-2 L (a + b) / pi) for a rectangle; python/docs/model.md, 12.3: lines along two
/// perpendicular bearings, half each.
#[test]
fn lines_meet_a_rectangle_by_its_perimeter_or_its_widths() {
    let (a, b, l) = (1.4f64, 0.5, 0.15);
    let pit = rectangle(a, b);
    let isotropic = 1.0 - (-2.0 * l * (a + b) / PI).exp();
    let seen = z(2, isotropic, |rng| field_meets(rng, l, any_bearing, |p, q| pit.meets_segment(p, q)));
    assert!(seen.abs() < 4.5, "{seen}");
    let turn: f64 = 0.3; // the grid against the pit
    let width = |bearing: f64| a * bearing.sin().abs() + b * bearing.cos().abs();
    let on_grid = 1.0 - (-0.5 * l * (width(turn) + width(turn + 0.5 * PI))).exp();
    let two = |rng: &mut rng::Stream| turn + if rng.random::<bool>() { 0.5 * PI } else { 0.0 };
    let seen = z(3, on_grid, |rng| field_meets(rng, l, two, |p, q| pit.meets_segment(p, q)));
    assert!(seen.abs() < 4.5, "{seen}");
}

/// python/docs/model.md, 12.4: Boolean segments, germs of intensity 0.02 and length 4, disc of 0.5 m: 0.09127, whatever their
/// bearings.
#[test]
fn boolean_segments_meet_a_disc() {
    let (intensity, length, r) = (0.02f64, 4.0, 0.5);
    let p = 1.0 - (-intensity * (2.0 * r * length + PI * r * r)).exp();
    assert!((p - 0.09127).abs() < 5e-6);
    let disc = Footprint::disc(Point::default(), r);
    let half = 3.0; // germs further off cannot reach
    let seen = z(4, p, |rng| {
        let count = Poisson::new(intensity * 4.0 * half * half).expect("positive").sample(rng) as usize;
        (0..count).fold(false, |met, _| {
            let germ = Point::new(
                half * (2.0 * rng.random::<f64>() - 1.0),
                half * (2.0 * rng.random::<f64>() - 1.0),
            );
            let arm = Point::unit(any_bearing(rng)) * (0.5 * length);
            disc.meets_segment(germ - arm, germ + arm) || met
        })
    });
    assert!(seen.abs() < 4.5, "{seen}");
}

/// Lines of a grid near the origin: parallel to x at multiples of `a`, to y at multiples of `b` (zero: none).
fn grid_lines(a: f64, b: f64) -> Vec<(Point, Point)> {
    let at = |k: i32, d: f64| f64::from(k) * d;
    let mut lines: Vec<_> =
        (-2..=2).map(|k| (Point::new(-50.0, at(k, a)), Point::new(50.0, at(k, a)))).collect();
    if b > 0.0 {
        lines.extend((-2..=2).map(|k| (Point::new(at(k, b), -50.0), Point::new(at(k, b), 50.0))));
    }
    lines
}

/// python/docs/model.md, 12.5: Buffon-Laplace, a = 5, b = 3, needle 1: 1/pi. python/docs/model.md, 12.6: coin of 0.4 on the
/// same grid: 0.384. python/docs/model.md, 12.7: capsule of length 1 and radius 0.4 on parallels 5 apart: 0.287324.
/// python/docs/trade-values.md, 8.11: a 1.2 m hole, 1 in pipe, 15 ft grid: 0.46677.
#[test]
fn needles_coins_and_capsules_meet_grids() {
    let place = |rng: &mut rng::Stream| Point::new(3.0 * rng.random::<f64>(), 5.0 * rng.random::<f64>());
    let grid = grid_lines(5.0, 3.0);
    let needle = |rng: &mut rng::Stream, lines: &[(Point, Point)], r: f64| {
        let (middle, arm) = (place(rng), Point::unit(any_bearing(rng)) * 0.5);
        lines.iter().any(|&(a, b)| segment_distance(middle - arm, middle + arm, a, b) <= r)
    };
    let seen = z(5, 1.0 / PI, |rng| needle(rng, &grid, 0.0));
    assert!(seen.abs() < 4.5, "needle {seen}");
    let seen = z(6, 0.384, |rng| {
        let coin = Footprint::disc(place(rng), 0.4);
        grid.iter().any(|&(a, b)| coin.meets_segment(a, b))
    });
    assert!(seen.abs() < 4.5, "coin {seen}");
    let capsule = (2.0 / PI + 0.8) / 5.0;
    assert!((capsule - 0.287324).abs() < 5e-7);
    let parallels = grid_lines(5.0, 0.0);
    let seen = z(7, capsule, |rng| needle(rng, &parallels, 0.4));
    assert!(seen.abs() < 4.5, "capsule {seen}");
    let (spacing, reach) = (4.572f64, 0.6f64 + 0.0167);
    let hole = 1.0 - (1.0 - 2.0 * reach / spacing).powi(2);
    assert!((hole - 0.46677).abs() < 5e-6);
    let square = grid_lines(spacing, spacing);
    let seen = z(8, hole, |rng| {
        let at = Point::new(spacing * rng.random::<f64>(), spacing * rng.random::<f64>());
        let widened = Footprint::disc(at, 0.6).inflated(0.0167);
        square.iter().any(|&(a, b)| widened.meets_segment(a, b))
    });
    assert!(seen.abs() < 4.5, "hole {seen}");
}

/// python/docs/model.md, 12.8: a Gaussian run at d = 0.8, s = 0.5, r = 0.45: 0.235754. python/docs/model.md, 12.9: a swing
/// joint's tap uniform within R0 = 0.5 of its head, hole of 0.45 at 0.6: lens area over disc area, 0.227863.
#[test]
fn gaussian_run_and_swing_joint_lens() {
    assert!((Offset::new(0.5, 0.0, 0.5, 0.0).within(0.35, 1.25) - 0.235754).abs() < 5e-7);
    let (r0, d, r) = (0.5f64, 0.6f64, 0.45f64);
    let cap = |a: f64, b: f64| a * a * ((d * d + a * a - b * b) / (2.0 * d * a)).acos();
    let kite = 0.5 * ((-d + r0 + r) * (d + r0 - r) * (d - r0 + r) * (d + r0 + r)).sqrt();
    let lens = (cap(r0, r) + cap(r, r0) - kite) / (PI * r0 * r0);
    assert!((lens - 0.227863).abs() < 5e-7, "{lens}");
    let hole = Footprint::disc(Point::new(d, 0.0), r);
    let seen = z(9, lens, |rng| {
        hole.contains(Point::unit(TAU * rng.random::<f64>()) * (r0 * rng.random::<f64>().sqrt()))
    });
    assert!(seen.abs() < 4.5, "{seen}");
}

/// python/docs/model.md, 12.11: two discs of radius 0.4, centres 2.5 apart, L = 0.3: lines through both number 0.0246615 on
/// average (Sylvester's crossed belt less the outer one).
#[test]
fn lines_through_two_discs_as_sylvester_says() {
    let (r, d, l) = (0.4f64, 2.5f64, 0.3);
    let crossed = 2.0 * (d * d - 4.0 * r * r).sqrt() + 2.0 * r * (PI + 2.0 * (2.0 * r / d).asin());
    let mean = l / PI * (crossed - (2.0 * d + TAU * r));
    assert!((mean - 0.0246615).abs() < 5e-8, "{mean}");
    let (one, two) = (Footprint::disc(Point::new(-1.25, 0.0), r), Footprint::disc(Point::new(1.25, 0.0), r));
    let p = 1.0 - (-mean).exp();
    let both = |a, b| one.meets_segment(a, b) && two.meets_segment(a, b);
    let seen = z(10, p, |rng| field_meets(rng, l, any_bearing, both));
    assert!(seen.abs() < 4.5, "{seen}");
}

fn piece(a: (f64, f64), b: (f64, f64)) -> Piece {
    let point = |(x, y)| Point::new(x, y);
    Piece {
        a: point(a),
        b: point(b),
        cover_m: 0.2,
        radius_m: 0.0,
        class: Class::Lateral,
        kind: Kind::Run,
        system: 0,
        wire: false,
    }
}

/// python/docs/model.md, 12.10 and 12.12, Steiner: the cells that a disc of 0.5 strikes make up the dilated area of an elbow
/// 4 + 3 (7.73175), a tee 4 + 3 (7.67810) and a cross 4 + 4.5 (9.07080); so the map's mean is that area over the map's. Cells of
/// 5 mm; a grid with a random start counts an area with an error far below cell x sqrt(boundary x cell) = 2e-3 (allowed: 5e-3).
#[test]
fn maps_have_the_dilated_areas_of_steiners_formula() {
    let shapes: [(&[Piece], f64); 3] = [
        (&[piece((0.0, 0.0), (4.0, 0.0)), piece((4.0, 0.0), (4.0, 3.0))], 7.73175),
        (&[piece((-2.0, 0.0), (2.0, 0.0)), piece((0.0, 0.0), (0.0, 3.0))], 7.67810),
        (&[piece((-2.0, 0.0), (2.0, 0.0)), piece((0.0, -2.0), (0.0, 2.5))], 9.07080),
    ];
    let cell_m = 0.005;
    for (k, (pieces, area)) in shapes.into_iter().enumerate() {
        let start = 0.005 * rng::stream(1, k as u64).random::<f64>();
        let grid = Grid { x0: -3.0 + start, y0: -3.0 + start, cell_m, rows: 1500, cols: 1700 };
        let hole = Part { corners: &[Point::default()], radius_m: 0.5 };
        let pieces = Pieces::pack([pieces.to_vec()]);
        let counts =
            strike_counts(&pieces, &grid, &[hole], 0.4, ClassMask::all(), &|| false).expect("not stopped");
        let seen = counts.iter().map(|&c| f64::from(c)).sum::<f64>() * cell_m * cell_m;
        assert!((seen - area).abs() < 5e-3, "{seen} {area}");
    }
}

/// Planted fault: a pipe radius left out of an 8.11 hole (0.0167 of 0.6167 m, 0.011 in p) is refused.
#[test]
fn a_forgotten_pipe_radius_is_noticed() {
    let (spacing, reach) = (4.572f64, 0.6f64 + 0.0167);
    let p = 1.0 - (1.0 - 2.0 * reach / spacing).powi(2);
    let square = grid_lines(spacing, spacing);
    let seen = z(8, p, |rng| {
        let at = Point::new(spacing * rng.random::<f64>(), spacing * rng.random::<f64>());
        square.iter().any(|&(a, b)| Footprint::disc(at, 0.6).meets_segment(a, b))
    });
    assert!(seen < -4.5, "{seen}");
}
