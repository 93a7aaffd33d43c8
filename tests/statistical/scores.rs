//! Proper scores, skill with a bootstrap over whole sites (digs on one site share its pipes), reliability bins and the
//! split of a score into miscalibration, discrimination and uncertainty (python/docs/model.md, 9.2; Dimitriadis, Gneiting &
//! Jordan, PNAS 118 (2021) e2016191118).

use crate::installer::Dice;
use crate::pav;

/// Bin edges of the reliability table.
pub const EDGES: [f64; 10] = [0.0, 0.01, 0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 0.7, 1.0];
/// A bin is judged when it holds at least this many digs.
pub const JUDGED: usize = 200;
/// Half-width of the reliability gate.
pub const FIVE_POINTS: f64 = 0.05;
/// What the lower end of the skill interval must exceed.
pub const LEAST_SKILL: f64 = 0.10;

/// Brier score of one forecast.
pub fn brier_of(p: f64, y: f64) -> f64 {
    (p - y) * (p - y)
}

/// Log loss of one forecast, natural log, clipped at 1e-9.
pub fn log_loss_of(p: f64, y: f64) -> f64 {
    let p = p.clamp(1e-9, 1.0 - 1e-9);
    -(y * p.ln() + (1.0 - y) * (1.0 - p).ln())
}

/// Mean of a score over all forecasts.
pub fn mean(score: fn(f64, f64) -> f64, p: &[f64], y: &[f64]) -> f64 {
    assert_eq!(p.len(), y.len());
    p.iter().zip(y).map(|(&p, &y)| score(p, y)).sum::<f64>() / p.len() as f64
}

/// Skill over a reference, with the 5 % and 95 % points of its bootstrap.
#[derive(Clone, Copy, Debug)]
pub struct Skill {
    pub value: f64,
    pub low: f64,
    pub high: f64,
}

/// Skill 1 - S / S_ref. The interval resamples whole groups 2,000 times; fitted reference curves are not refitted in a
/// resample, which leaves the reference its in-sample advantage.
pub fn skill(score: fn(f64, f64) -> f64, p: &[f64], reference: &[f64], y: &[f64], group: &[usize]) -> Skill {
    by_groups(&sums(score, p, reference, y, group), |own, reference, _| 1.0 - own / reference)
}

/// Mean difference S - S_ref of two scores over the same holes, the interval as for [`skill`].
pub fn difference(
    score: fn(f64, f64) -> f64,
    p: &[f64],
    reference: &[f64],
    y: &[f64],
    group: &[usize],
) -> Skill {
    by_groups(&sums(score, p, reference, y, group), |own, reference, n| (own - reference) / n)
}

/// For each group the sums of both scores and the number of forecasts.
fn sums(
    score: fn(f64, f64) -> f64,
    p: &[f64],
    reference: &[f64],
    y: &[f64],
    group: &[usize],
) -> Vec<[f64; 3]> {
    let mut sums = vec![[0.0; 3]; group.iter().max().map_or(0, |g| g + 1)];
    for i in 0..y.len() {
        let of = [score(p[i], y[i]), score(reference[i], y[i]), 1.0];
        sums[group[i]].iter_mut().zip(of).for_each(|(sum, of)| *sum += of);
    }
    sums
}

fn by_groups(sums: &[[f64; 3]], of: fn(f64, f64, f64) -> f64) -> Skill {
    let all = |parts: &mut dyn Iterator<Item = &[f64; 3]>| {
        let [own, reference, n] = parts.fold([0.0; 3], |s, t| [s[0] + t[0], s[1] + t[1], s[2] + t[2]]);
        of(own, reference, n)
    };
    let mut dice = Dice::new(2_000);
    let mut draws: Vec<f64> =
        (0..2_000).map(|_| all(&mut (0..sums.len()).map(|_| &sums[dice.whole(0, sums.len() - 1)]))).collect();
    draws.sort_by(f64::total_cmp);
    Skill { value: all(&mut sums.iter()), low: draws[100], high: draws[1_899] }
}

/// One row of the reliability table.
#[derive(Clone, Copy, Debug)]
pub struct Bin {
    pub low: f64,
    pub high: f64,
    pub n: usize,
    pub mean_p: f64,
    pub rate: f64,
    /// Standard error of `rate - mean_p` with digs of one group taken together.
    pub se: f64,
}

/// Reliability by the bins of `EDGES`; empty bins are left out.
pub fn reliability(p: &[f64], y: &[f64], group: &[usize]) -> Vec<Bin> {
    let groups = group.iter().max().map_or(0, |g| g + 1);
    EDGES
        .windows(2)
        .filter_map(|e| {
            let last = e[1] == 1.0;
            let of: Vec<usize> = (0..p.len()).filter(|&i| p[i] >= e[0] && (p[i] < e[1] || last)).collect();
            let n = of.len();
            let mut gap = vec![0.0; groups];
            for &i in &of {
                gap[group[i]] += y[i] - p[i];
            }
            let mean = |v: &[f64]| of.iter().map(|&i| v[i]).sum::<f64>() / n as f64;
            (n > 0).then(|| Bin {
                low: e[0],
                high: e[1],
                n,
                mean_p: mean(p),
                rate: mean(y),
                se: gap.iter().map(|g| g * g).sum::<f64>().sqrt() / n as f64,
            })
        })
        .collect()
}

/// The reliability gate: the judged bins that miss by more than five points.
pub fn unreliable(bins: &[Bin]) -> Vec<Bin> {
    bins.iter().copied().filter(|b| b.n >= JUDGED && (b.rate - b.mean_p).abs() > FIVE_POINTS).collect()
}

/// Whether the skill gate is passed.
pub fn skilled(skill: Skill) -> bool {
    skill.low > LEAST_SKILL
}

/// Mean score = miscalibration - discrimination + uncertainty.
#[derive(Clone, Copy, Debug)]
pub struct Parts {
    pub miscalibration: f64,
    pub discrimination: f64,
    pub uncertainty: f64,
}

/// The CORP split of a mean score.
pub fn parts(score: fn(f64, f64) -> f64, p: &[f64], y: &[f64]) -> Parts {
    let recalibrated = mean(score, &pav::rising(p, y), y);
    let rate = vec![y.iter().sum::<f64>() / y.len() as f64; y.len()];
    let uncertainty = mean(score, &rate, y);
    Parts {
        miscalibration: mean(score, p, y) - recalibrated,
        discrimination: uncertainty - recalibrated,
        uncertainty,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scores_by_hand() {
        let (p, y) = ([0.2, 0.9, 0.5, 0.0], [0.0, 1.0, 1.0, 0.0]);
        assert!((mean(brier_of, &p, &y) - (0.04 + 0.01 + 0.25) / 4.0).abs() < 1e-12);
        assert!((mean(log_loss_of, &p[..2], &y[..2]) - 0.164_252_033).abs() < 1e-9); // -(ln 0.8 + ln 0.9) / 2
        assert!((log_loss_of(0.0, 1.0) - 20.723_265_837).abs() < 1e-6); // -ln 1e-9
    }

    #[test]
    fn skill_by_hand() {
        // two groups: 0.05 against 0.10 of Brier score in the first, 0.25 against 0.50 in the second: half everywhere
        let y = [0.0, 1.0];
        let (p, q) = ([0.05f64.sqrt(), 0.5], [0.1f64.sqrt(), 1.0 - 0.5f64.sqrt()]);
        let s = skill(brier_of, &p, &q, &y, &[0, 1]);
        assert!((s.value - 0.5).abs() < 1e-12 && (s.low - 0.5).abs() < 1e-12 && (s.high - 0.5).abs() < 1e-12);
    }

    #[test]
    fn difference_by_hand() {
        // two forecasts in the first group, one in the second: (0.04 - 0.25) + (0.01 - 0.25) + (0.36 - 0.25), over 3
        let d = difference(brier_of, &[0.2, 0.9, 0.4], &[0.5; 3], &[0.0, 1.0, 1.0], &[0, 0, 1]);
        assert!((d.value + 0.34 / 3.0).abs() < 1e-12);
        // resamples of two groups are both of one or one of each
        assert!((d.low + 0.225).abs() < 1e-12 && (d.high - 0.11).abs() < 1e-12);
    }

    #[test]
    fn parts_by_hand() {
        // PAV of y in the order of p is (0, 1/2, 1/2, 1): Brier 1/8; constant 1/2: 1/4; forecasts: (0.01 + 0.49 + 0.16 + 0.04)
        // / 4
        let (p, y) = ([0.1, 0.3, 0.4, 0.8], [0.0, 1.0, 0.0, 1.0]);
        let c = parts(brier_of, &p, &y);
        assert!((c.uncertainty - 0.25).abs() < 1e-12);
        assert!((c.discrimination - 0.125).abs() < 1e-12);
        assert!((c.miscalibration - (0.175 - 0.125)).abs() < 1e-12);
    }

    #[test]
    fn bins_by_hand() {
        let bins = reliability(&[0.03, 0.04, 0.6, 1.0], &[0.0, 1.0, 1.0, 1.0], &[0, 0, 1, 1]);
        assert_eq!(bins.iter().map(|b| b.n).collect::<Vec<_>>(), [2, 1, 1]);
        assert!((bins[0].mean_p - 0.035).abs() < 1e-12 && bins[0].rate == 0.5);
        assert!((bins[0].se - 0.93 / 2.0).abs() < 1e-12, "one group of two: (-0.03 + 0.96) / 2");
        assert_eq!(bins[2].high, 1.0);
    }

    /// 12,000 digs whose chances are spread evenly over 0.02 to 0.98, and their outcomes.
    fn known_chances() -> (Vec<f64>, Vec<f64>, Vec<usize>) {
        let mut dice = Dice::new(11);
        let p: Vec<f64> = (0..12_000).map(|_| dice.uniform(0.02, 0.98)).collect();
        let y = p.iter().map(|&p| f64::from(u8::from(dice.chance(p)))).collect();
        (p, y, (0..12_000).map(|i| i / 60).collect())
    }

    /// A true forecaster: the eight judged bins hold 375 digs or more, with standard errors of at most 0.0106 below
    /// p = 0.2 and 0.014 above, so five points are 3.5 standard errors at the worst (bins 0.2-0.3: 0.0122, 4.1) and a
    /// false alarm over all bins has chance below 1e-3; the seed is fixed. An overconfident one (log odds doubled)
    /// says 0.80 where 0.67 is true: 13 points, caught with certainty.
    #[test]
    fn an_overconfident_forecaster_fails_the_reliability_gate_and_a_true_one_does_not() {
        let (p, y, group) = known_chances();
        assert!(unreliable(&reliability(&p, &y, &group)).is_empty());
        let bold: Vec<f64> = p.iter().map(|p| p * p / (p * p + (1.0 - p) * (1.0 - p))).collect();
        assert!(!unreliable(&reliability(&bold, &y, &group)).is_empty());
        let timid: Vec<f64> = p.iter().map(|p| 0.5 + 0.5 * (p - 0.5)).collect();
        assert!(!unreliable(&reliability(&timid, &y, &group)).is_empty());
    }

    /// A reference against itself has skill exactly 0; a copy with noise has less. The truth against a blurred copy of
    /// itself has much.
    #[test]
    fn a_baseline_against_itself_fails_the_skill_gate() {
        let (p, y, group) = known_chances();
        let own = skill(brier_of, &p, &p, &y, &group);
        assert_eq!((own.value, own.low), (0.0, 0.0));
        assert!(!skilled(own));
        let mut dice = Dice::new(12);
        let noisy: Vec<f64> = p.iter().map(|p| (p + dice.normal(0.1)).clamp(0.0, 1.0)).collect();
        assert!(!skilled(skill(brier_of, &noisy, &p, &y, &group)));
        let constant = vec![0.5; p.len()];
        assert!(skilled(skill(brier_of, &p, &constant, &y, &group)));
    }
}
