//! The exact map on made-up layouts: `cargo bench --bench map`. `compare.py` makes the same layouts in Python and
//! sets this library's time beside those of other ways.

mod reference;

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use std::hint::black_box;
use std::path::Path;
use std::time::Duration;
use underturf::class::Class;
use underturf::geometry::Point;
use underturf::layout::{Kind, Piece, Pieces};
use underturf::strike::raster::{ClassMask, Grid, Part, strike_counts};

/// Outside radius of 1 in PVC pipe, metres (1.315 in outside, ASTM D1785).
const PIPE_M: f32 = 0.0167;
const CELL_M: f64 = 0.1;
/// Share of pieces that follow the grid of the layout.
const ON_GRID: f64 = 0.7;

struct Case {
    cols: usize,
    rows: usize,
    pieces: usize,
    draws: usize,
    /// Shortest and longest piece, metres.
    lengths: (f64, f64),
}

const SMALL: Case = Case { cols: 250, rows: 200, pieces: 47, draws: 2000, lengths: (1.0, 6.0) };
const LARGE: Case = Case { cols: 2500, rows: 2000, pieces: 1170, draws: 480, lengths: (2.0, 14.0) };

/// Number `k` of a fixed stream in [0, 1): SplitMix64 (Steele, Lea and Flood, OOPSLA 2014), easy to repeat in Python.
fn uniform(k: u64) -> f64 {
    let mut z = (k + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15);
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    ((z ^ (z >> 31)) >> 11) as f64 / (1u64 << 53) as f64
}

/// Piece `k` of a case: a start anywhere on the site and, mostly, one of two perpendicular bearings.
fn piece(case: &Case, k: usize) -> Piece {
    let u = |i: u64| uniform(5 * k as u64 + i);
    let a = Point::new(u(0) * case.cols as f64 * CELL_M, u(1) * case.rows as f64 * CELL_M);
    let quarter = std::f64::consts::FRAC_PI_2;
    let turn = if u(3) < ON_GRID { (4.0 * u(4)).floor() } else { 4.0 * u(4) };
    let (shortest, longest) = case.lengths;
    Piece {
        a,
        b: a + Point::unit(0.2 + quarter * turn) * (shortest + (longest - shortest) * u(2)),
        cover_m: 0.25,
        radius_m: PIPE_M,
        class: Class::Lateral,
        kind: Kind::Run,
        system: 0,
        wire: false,
    }
}

fn layouts(case: &Case) -> Pieces {
    Pieces::pack(
        (0..case.draws).map(|draw| (0..case.pieces).map(move |i| piece(case, draw * case.pieces + i))),
    )
}

/// Writes the counts where `compare.py` finds them: little-endian, row after row.
fn keep_counts(name: &str, pieces: &Pieces, grid: &Grid, part: Part<'_>) {
    let counts =
        strike_counts(pieces, grid, &[part], 0.4, ClassMask::all(), &|| false).expect("never cancelled");
    let bytes: Vec<u8> = counts.iter().flat_map(|count| count.to_le_bytes()).collect();
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("map_{name}.u32"));
    std::fs::write(path, bytes).expect("the build directory can be written to");
}

fn map(c: &mut Criterion) {
    let mut group = c.benchmark_group("map");
    group.warm_up_time(Duration::from_secs(1)).measurement_time(Duration::from_secs(4)).sample_size(20);
    let square = [(-0.4, -0.4), (0.4, -0.4), (0.4, 0.4), (-0.4, 0.4)].map(|(x, y)| Point::new(x, y));
    let hole = Part { corners: &[Point::default()], radius_m: 0.45 };
    let pit = Part { corners: &square, radius_m: 0.0 };
    for (case, dig, part) in [(SMALL, "hole", hole), (SMALL, "pit", pit), (LARGE, "hole", hole)] {
        let pieces = layouts(&case);
        let grid =
            Grid { x0: CELL_M / 2.0, y0: CELL_M / 2.0, cell_m: CELL_M, rows: case.rows, cols: case.cols };
        let size = format!("{}x{}_cells_{}_pieces_{}_draws", case.cols, case.rows, case.pieces, case.draws);
        keep_counts(&format!("{dig}_{size}"), &pieces, &grid, part);
        group.throughput(Throughput::Elements(case.draws as u64));
        group.bench_function(BenchmarkId::new(dig, size), |b| {
            b.iter(|| strike_counts(black_box(&pieces), &grid, &[part], 0.4, ClassMask::all(), &|| false));
        });
    }
    group.finish();
}

criterion_group!(benches, reference::measure, map);
criterion_main!(benches);
