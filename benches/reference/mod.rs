//! A fixed kernel that every criterion bench measures beside its own: times divided by its time are compared from run to run
//! (`benches/ratios.py`), so that a machine that is slower today, or shared, does not look like slower code.

use criterion::Criterion;
use std::hint::black_box;

/// Steps of the kernel: about half a millisecond.
const STEPS: usize = 100_000;

/// Steps that each wait for the one before: neither vector units nor memory nor other cores help.
fn kernel(start: f64) -> f64 {
    (0..STEPS).fold(start, |x, _| 3.9 * x * (1.0 - x))
}

/// Measures the kernel under the name of the bench that it stands in.
pub fn measure(c: &mut Criterion) {
    c.bench_function(concat!("reference/", env!("CARGO_CRATE_NAME")), |b| {
        b.iter(|| kernel(black_box(0.3)));
    });
}
