//! The raster against a test of every cell.

use super::*;
use crate::class::Class;
use crate::geometry::Point;
use crate::layout::Kind;
use crate::rng::stream;
use rand::RngExt;

const NEVER: &(dyn Fn() -> bool + Sync) = &|| false;

fn piece(a: Point, b: Point) -> Piece {
    Piece {
        a,
        b,
        cover_m: 0.25,
        radius_m: 0.0,
        class: Class::Lateral,
        kind: Kind::Run,
        system: 0,
        wire: false,
    }
}

fn distance(p: Point, a: Point, b: Point) -> f64 {
    let ab = b - a;
    let t = if ab.dot(ab) > 0.0 { ((p - a).dot(ab) / ab.dot(ab)).clamp(0.0, 1.0) } else { 0.0 };
    p.distance(a.towards(b, t))
}

/// Distance from a point to a convex polygon given counter-clockwise; zero inside.
fn polygon_distance(p: Point, ring: &[Point]) -> f64 {
    let edges = || (0..ring.len()).map(|i| (ring[i], ring[(i + 1) % ring.len()]));
    if ring.len() > 2 && edges().all(|(a, b)| (b - a).cross(p - a) >= 0.0) {
        return 0.0;
    }
    edges().map(|(a, b)| distance(p, a, b)).fold(f64::INFINITY, f64::min)
}

fn hull(mut points: Vec<Point>) -> Vec<Point> {
    points.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    let mut ring: Vec<Point> = Vec::new();
    for pass in 0..2 {
        let unmapped = ring.len();
        for &p in &points {
            while ring.len() >= unmapped + 2
                && (ring[ring.len() - 1] - ring[ring.len() - 2]).cross(p - ring[ring.len() - 1]) <= 0.0
            {
                ring.pop();
            }
            ring.push(p);
        }
        ring.pop();
        if pass == 0 {
            points.reverse();
        }
    }
    if ring.is_empty() { vec![points[0]] } else { ring }
}

/// Counts by testing every cell against every piece, and how near the nearest outline came.
fn brute(pieces: &Pieces, grid: &Grid, parts: &[Part<'_>]) -> (Array2<u32>, Array2<f64>) {
    let mut counts = Array2::zeros((grid.rows, grid.cols));
    let mut nearest = Array2::from_elem((grid.rows, grid.cols), f64::INFINITY);
    for k in 0..pieces.draws() {
        let shapes: Vec<(Vec<Point>, f64)> = pieces
            .draw(k)
            .iter()
            .flat_map(|p| {
                parts.iter().map(move |part| {
                    let sum = part.corners.iter().flat_map(|&c| [p.a - c, p.b - c]).collect();
                    (hull(sum), part.radius_m + f64::from(p.radius_m))
                })
            })
            .collect();
        for ((row, col), count) in counts.indexed_iter_mut() {
            let centre = grid.centre(row, col);
            let mut hit = false;
            for (ring, radius) in &shapes {
                let off = polygon_distance(centre, ring) - radius;
                hit |= off <= 0.0;
                nearest[(row, col)] = off.abs().min(nearest[(row, col)]);
            }
            *count += u32::from(hit);
        }
    }
    (counts, nearest)
}

fn assert_same(pieces: &Pieces, grid: &Grid, parts: &[Part<'_>]) {
    let counts = strike_counts(pieces, grid, parts, 1.0, ClassMask::all(), NEVER).unwrap();
    let (expected, nearest) = brute(pieces, grid, parts);
    for ((at, &count), &near) in counts.indexed_iter().zip(&nearest) {
        // 1e-9 m: what the module promises; a wrong formula is off by whole cells.
        assert!(count == expected[at] || near < 1e-9, "{at:?}: {count}, not {}, at {near:e}", expected[at]);
    }
}

fn random_pieces(seed: u64, draws: usize, n: usize, width: f64, tidy: bool) -> Pieces {
    let mut rng = stream(seed, 0);
    let mut point = move || {
        let p = Point::new(rng.random_range(-2.0..width + 2.0), rng.random_range(-2.0..width + 2.0));
        if tidy { Point::new(p.x.round(), p.y.round()) } else { p }
    };
    Pieces::pack((0..draws).map(|k| {
        (0..n)
            .map(|i| {
                let (a, b) = (point(), point());
                let b = match (k + i) % 5 {
                    0 => Point::new(b.x, a.y),
                    1 => Point::new(a.x, b.y),
                    2 if i % 2 == 0 => a,
                    _ => b,
                };
                Piece { radius_m: 0.01 * (i % 3) as f32, ..piece(a, b) }
            })
            .collect::<Vec<_>>()
    }))
}

#[test]
fn a_disc_strikes_exactly_the_cells_a_test_of_each_finds() {
    for seed in 0..20 {
        let grid =
            Grid { x0: 0.05, y0: -0.3, cell_m: 0.1, rows: 90 + seed as usize, cols: 100 + 7 * seed as usize };
        let parts = [Part { corners: &[Point::default()], radius_m: 0.05 + 0.1 * seed as f64 }];
        assert_same(&random_pieces(seed, 20, 3, 9.0, false), &grid, &parts);
    }
}

#[test]
fn a_rounded_polygon_strikes_exactly_the_cells_a_test_of_each_finds() {
    for seed in 0..30 {
        let mut rng = stream(seed, 1);
        let grid = Grid { x0: 0.05, y0: -0.3, cell_m: 0.13, rows: 80, cols: 70 };
        let ring = |n: usize, rng: &mut crate::rng::Stream| -> Vec<Point> {
            let points: Vec<Point> = (0..n)
                .map(|_| Point::new(rng.random_range(-1.0..1.5), rng.random_range(-1.0..0.8)))
                .collect();
            hull(points)
        };
        let (one, two) = (ring(1 + seed as usize % 7, &mut rng), ring(4, &mut rng));
        let parts = [
            Part { corners: &one, radius_m: 0.2 * (seed % 3) as f64 },
            Part { corners: &two, radius_m: 0.1 },
        ];
        let parts = &parts[..1 + seed as usize % 2];
        assert_same(&random_pieces(seed, 5, 2, 9.0, false), &grid, parts);
    }
}

#[test]
fn tidy_coordinates_and_axis_parallel_digs_are_no_exception() {
    let square = [(-0.5, -0.25), (0.5, -0.25), (0.5, 0.25), (-0.5, 0.25)].map(|(x, y)| Point::new(x, y));
    for seed in 0..10 {
        let grid = Grid { x0: 0.03, y0: 0.04, cell_m: 0.125, rows: 80, cols: 80 };
        let pieces = random_pieces(seed, 5, 3, 9.0, true);
        assert_same(&pieces, &grid, &[Part { corners: &square, radius_m: 0.0 }]);
        assert_same(&pieces, &grid, &[Part { corners: &[Point::default()], radius_m: 0.5 }]);
    }
}
