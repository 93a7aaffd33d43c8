//! Marks: what is random about a run once it is known to exist — its sideways offset and its cover.

use rand::{Rng, RngExt};
use rand_distr::{Distribution, StandardNormal};
use statrs::function::erf::erfc;

/// Number of quadrature nodes for the cover level that the runs of a system share.
pub const LEVELS: usize = 15;

/// Largest number of standard deviations that a level or an offset is taken from its mean.
///
/// Beyond lies 2e-4 of a normal distribution for levels (3.7) and 2e-9 for offsets (6).
const LEVEL_REACH: f64 = 3.7;
const OFFSET_REACH: f64 = 6.0;

/// Distribution function of the standard normal distribution.
pub fn normal_cdf(x: f64) -> f64 {
    0.5 * erfc(-x * std::f64::consts::FRAC_1_SQRT_2)
}

/// Standard deviation that stands for an offset which is known, metres.
const KNOWN_SD_M: f64 = 1e-9;

/// Prior of the sideways offset of a whole run: a mixture of normal distributions about one mean.
///
/// # Units
/// Metres.
#[derive(Clone, Debug, PartialEq)]
pub struct Offset {
    mean: f64,
    /// Share and standard deviation of each component; shares sum to one.
    parts: [(f64, f64); 2],
}

impl Offset {
    /// Normal with standard deviation `sd_m`, and with chance `stray_share` the wider `stray_sd_m`; both are widened
    /// by `survey_sd_m`, the position error of the run's ends.
    pub fn new(sd_m: f64, stray_share: f64, stray_sd_m: f64, survey_sd_m: f64) -> Self {
        let widen = |sd: f64| sd.hypot(survey_sd_m).max(1e-6);
        Self { mean: 0.0, parts: [(1.0 - stray_share, widen(sd_m)), (stray_share, widen(stray_sd_m))] }
    }

    /// The prior of an offset that is known.
    pub fn known(offset_m: f64) -> Self {
        Self { mean: offset_m, parts: [(1.0, KNOWN_SD_M), (0.0, KNOWN_SD_M)] }
    }

    /// A prior by its mean, metres, and the share and standard deviation of each part, metres, as [`Self::parts`] gives them.
    pub fn of_parts(mean_m: f64, parts: [(f64, f64); 2]) -> Self {
        Self { mean: mean_m, parts }
    }

    /// The mean, metres, and the share and standard deviation of each part, metres.
    pub fn parts(&self) -> (f64, [(f64, f64); 2]) {
        (self.mean, self.parts)
    }

    /// Probability that the offset lies in `[low, high]`.
    pub fn within(&self, low: f64, high: f64) -> f64 {
        let (low, high) = (low - self.mean, high - self.mean);
        let part = |&(share, sd): &(f64, f64)| share * (normal_cdf(high / sd) - normal_cdf(low / sd));
        self.parts.iter().map(part).sum()
    }

    /// The offset beyond which there is no probability worth a number, metres.
    pub fn reach(&self) -> f64 {
        let widest =
            self.parts.iter().filter(|(share, _)| *share > 0.0).fold(0.0, |w, (_, sd)| f64::max(w, *sd));
        self.mean.abs() + widest * OFFSET_REACH
    }

    /// Draws an offset, metres.
    pub fn draw(&self, rng: &mut impl Rng) -> f64 {
        let sd = if rng.random::<f64>() < self.parts[0].0 { self.parts[0].1 } else { self.parts[1].1 };
        let z: f64 = StandardNormal.sample(rng);
        self.mean + z * sd
    }
}

/// Prior of the cover of a system's runs: a level that they share, and for each run a normal distribution about it,
/// truncated.
///
/// # Units
/// Metres of ground above the top of the pipe.
#[derive(Clone, Debug, PartialEq)]
pub struct Cover {
    /// Mean of the level.
    pub mean_m: f64,
    /// Standard deviation of the level.
    pub level_sd_m: f64,
    /// Standard deviation of a run about the level.
    pub run_sd_m: f64,
    /// Least cover.
    pub least_m: f64,
    /// Greatest cover.
    pub greatest_m: f64,
    /// Pipe under paving lies at least this deep.
    pub paving_m: f64,
}

impl Cover {
    /// Quadrature over the level: probability and level of each node.
    ///
    /// The trapezoid rule on a normal density cut at 3.7 standard deviations; its error on the smooth chance
    /// that a run is shallower than a depth is far below 1e-6 at this spacing.
    pub fn levels(&self) -> [(f64, f64); LEVELS] {
        let step = 2.0 * LEVEL_REACH / (LEVELS - 1) as f64;
        let z = |k: usize| k as f64 * step - LEVEL_REACH;
        let total: f64 = (0..LEVELS).map(|k| (-0.5 * z(k).powi(2)).exp()).sum();
        std::array::from_fn(|k| ((-0.5 * z(k).powi(2)).exp() / total, self.mean_m + self.level_sd_m * z(k)))
    }

    /// Probability that a run of a system at this level has less cover than `depth_m`.
    pub fn shallower(&self, level_m: f64, depth_m: f64) -> f64 {
        let cdf = |x: f64| normal_cdf((x - level_m) / self.run_sd_m);
        let (least, greatest) = (cdf(self.least_m), cdf(self.greatest_m));
        let inside = cdf(depth_m.clamp(self.least_m, self.greatest_m)) - least;
        if greatest > least {
            return inside / (greatest - least);
        }
        // A level so far outside that no run of it lies within: the nearer end, as runs are drawn.
        f64::from(u8::from(depth_m > level_m.clamp(self.least_m, self.greatest_m)))
    }

    /// Draws a level.
    pub fn draw_level(&self, rng: &mut impl Rng) -> f64 {
        let z: f64 = StandardNormal.sample(rng);
        self.mean_m + self.level_sd_m * z.clamp(-LEVEL_REACH, LEVEL_REACH)
    }

    /// Draws the cover of one run of a system at this level.
    pub fn draw_run(&self, level_m: f64, rng: &mut impl Rng) -> f64 {
        for _ in 0..64 {
            let z: f64 = StandardNormal.sample(rng);
            let cover = level_m + self.run_sd_m * z;
            if (self.least_m..=self.greatest_m).contains(&cover) {
                return cover;
            }
        }
        level_m.max(self.least_m).min(self.greatest_m) // a level 2 sd outside the range: the nearer end of it
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use statrs::distribution::{ContinuousCDF, Normal};

    fn lateral() -> Cover {
        Cover {
            mean_m: 0.25,
            level_sd_m: 0.06,
            run_sd_m: 0.03,
            least_m: 0.05,
            greatest_m: 0.6,
            paving_m: 0.3,
        }
    }

    /// Against the closed form: level and run are independent normals; truncation changes less than 1e-3 here.
    #[test]
    fn level_quadrature_gives_the_marginal_law() {
        let cover = lateral();
        let marginal = Normal::new(0.25, 0.06f64.hypot(0.03)).expect("positive");
        for depth in [0.15, 0.2, 0.25, 0.31, 0.4] {
            let seen: f64 = cover.levels().iter().map(|&(p, level)| p * cover.shallower(level, depth)).sum();
            assert!((seen - marginal.cdf(depth)).abs() < 1.5e-3, "{depth}: {seen}");
        }
    }

    /// Levels far outside the range put every run at the nearer end of it, in both forms. Catches a level taken for the cover
    /// itself.
    #[test]
    fn a_level_far_outside_the_range_is_its_nearer_end() {
        let cover = lateral();
        for (level, end) in [(-3.0, cover.least_m), (9.0, cover.greatest_m)] {
            let drawn = cover.draw_run(level, &mut crate::rng::stream(5, 0));
            assert!((drawn - end).abs() < 1e-12);
            assert_eq!((cover.shallower(level, end - 0.01), cover.shallower(level, end + 0.01)), (0.0, 1.0));
        }
    }

    /// 40,000 draws of a level and a run against the quadrature; |z| < 4.5 on five depths (false alarm 4e-5).
    #[test]
    fn draws_follow_the_quadrature() {
        let cover = lateral();
        let n = 40_000;
        let draw = |k| {
            let rng = &mut crate::rng::stream(5, k);
            let level = cover.draw_level(rng);
            cover.draw_run(level, rng)
        };
        let draws: Vec<f64> = (0..n).map(draw).collect();
        for depth in [0.15, 0.2, 0.25, 0.31, 0.4] {
            let p: f64 = cover.levels().iter().map(|&(p, level)| p * cover.shallower(level, depth)).sum();
            let seen = draws.iter().filter(|&&d| d < depth).count() as f64;
            assert!((seen - n as f64 * p).abs() < 4.5 * (n as f64 * p * (1.0 - p)).sqrt() + 1.0);
        }
    }

    /// The chance that a straight run with normal offset sd s passes within r of a point at distance d:
    /// python/docs/trade-values.md, 8.19 and python/docs/model.md, 12.8.
    #[test]
    fn offset_probability_has_its_published_values() {
        let rows = [
            (0.0, 1.0, 1.0, 0.682689),
            (1.0, 1.0, 1.0, 0.477250),
            (2.0, 1.0, 1.0, 0.157305),
            (0.6, 0.6, 0.3, 0.499968),
            (1.2, 0.6, 0.3, 0.022750),
            (0.8, 0.45, 0.5, 0.235754),
        ];
        for (d, r, s, expected) in rows {
            let seen = Offset::new(s, 0.0, s, 0.0).within(d - r, d + r);
            assert!((seen - expected).abs() < 1e-6, "{d} {r} {s}: {seen}");
        }
    }
}
