//! One kernel against one law: a test for use on any law that can be drawn exactly.

use super::{Ising, Kernel, SITES};
use rand::RngExt;
use rand_distr::{Distribution, StandardNormal};
use statrs::distribution::{ContinuousCDF, Normal};
use underturf::mcmc::tempering::{Counts, Target};
use underturf::rng::{Stream, stream};

/// Exact invariance test (Bouchard-Côté et al., J. Stat. Softw. 103(11) (2022), section 10.5): p-value for "the kernel leaves
/// the law of `draw` unchanged", from a statistic of `draws` states before and of as many others after one step.
///
/// Two tests share the budget, p = twice the smaller: Kolmogorov-Smirnov between fresh draws and stepped ones (any change of
/// the law; ties broken at random), and the mean change of the stepped ones (a small shift under a kernel that seldom moves).
/// It needs no irreducibility: test one move at a time. A kernel of several steps shows a fault more clearly.
pub fn invariance<S>(
    draws: usize,
    seed: u64,
    draw: impl Fn(&mut Stream) -> S,
    kernel: impl Fn(&mut S, &mut Stream),
    statistic: impl Fn(&S) -> f64,
) -> f64 {
    let rng = &mut stream(seed, 0);
    let mut values = Vec::with_capacity(2 * draws);
    let mut changes = Vec::with_capacity(draws);
    for _ in 0..draws {
        let fresh = draw(rng);
        values.push((statistic(&fresh), rng.random::<f64>(), 1.0));
        let mut stepped = draw(rng);
        let before = statistic(&stepped);
        kernel(&mut stepped, rng);
        let after = statistic(&stepped);
        values.push((after, rng.random::<f64>(), -1.0));
        changes.push(after - before);
    }
    values.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let (mut gap, mut widest) = (0.0, 0.0f64);
    for (_, _, side) in values {
        gap += side / draws as f64;
        widest = widest.max(gap.abs());
    }
    (2.0 * kolmogorov(widest, draws as f64 / 2.0).min(mean_is_nought(&changes))).min(1.0)
}

/// Tail of the Kolmogorov distribution for `count` = mn / (m + n), with Stephens's correction for small samples.
fn kolmogorov(gap: f64, count: f64) -> f64 {
    let root = count.sqrt();
    let scaled = (root + 0.12 + 0.11 / root) * gap;
    if scaled < 0.2 {
        return 1.0; // the series converges slowly where the answer is 1 to twelve digits
    }
    let term = |k: i32| 2.0 * (-1.0f64).powi(k - 1) * (-2.0 * f64::from(k * k) * scaled * scaled).exp();
    (1..=100).map(term).sum::<f64>().clamp(0.0, 1.0)
}

fn mean_is_nought(changes: &[f64]) -> f64 {
    let count = changes.len() as f64;
    let mean = changes.iter().sum::<f64>() / count;
    let squares: f64 = changes.iter().map(|change| (change - mean).powi(2)).sum();
    if squares == 0.0 {
        return if mean == 0.0 { 1.0 } else { 0.0 };
    }
    let z = mean.abs() / (squares / (count - 1.0) / count).sqrt();
    2.0 * Normal::standard().sf(z)
}

/// p for one pass of the Ising kernel at b = 0.5 on the number of spins up, from exact draws by inverting the enumerated law.
fn pass(kernel: Kernel, seed: u64) -> f64 {
    let target = Ising::new(kernel);
    let mut total = 0.0;
    let cumulative: Vec<f64> = target
        .law(0.5)
        .0
        .into_iter()
        .map(|p| {
            total += p;
            total
        })
        .collect();
    let draw = |rng: &mut Stream| {
        let u = rng.random::<f64>() * total;
        cumulative.partition_point(|&below| below <= u) as u32
    };
    let step = |state: &mut u32, rng: &mut Stream| target.explore(state, 0.5, rng, &mut Counts::default());
    invariance(20_000, seed, draw, step, |state| f64::from(state.count_ones().abs_diff(SITES as u32 / 2)))
}

/// Four tests of 20,000 draws at p > 1e-5: false alarm 4e-5. Of forty tests at the 10 % level fewer than 14 may fail (binomial
/// tail 2e-5), so that p means what it says.
#[test]
fn exact_draws_stay_exact_under_a_sound_kernel() {
    assert!((0..4).all(|seed| pass(Kernel::Sound, seed) > 1e-5));
    let draw = |rng: &mut Stream| rng.random_range(0..6_u8);
    let turn = |state: &mut u8, _: &mut Stream| *state = (*state + 1) % 6;
    let p = |seed| invariance(2_000, seed, draw, turn, |&state| f64::from(state / 2));
    let low = (0..40).filter(|&seed| p(seed) < 0.1).count();
    assert!(low < 14, "{low} of 40");
}

/// Planted faults: halved energies; the temperature of the target; a fault that leaves the mean alone and shows in the shape;
/// one that moves one state in two hundred and shows in the mean change.
#[test]
fn kernels_that_change_the_law_are_noticed() {
    for kernel in [Kernel::Halved, Kernel::DeafAt(1.0)] {
        let p = pass(kernel, 1);
        assert!(p < 1e-9, "{p}");
    }
    let draw = |rng: &mut Stream| -> f64 { StandardNormal.sample(rng) };
    let wider = |x: &mut f64, _: &mut Stream| *x *= 1.2;
    assert!(invariance(20_000, 2, draw, wider, |&x| x) < 1e-9);
    let seldom = |x: &mut f64, rng: &mut Stream| {
        if rng.random::<f64>() < 0.005 {
            *x += 1.0;
        }
    };
    assert!(invariance(20_000, 3, draw, seldom, |&x| x) < 1e-9);
}
