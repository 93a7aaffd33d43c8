//! What passes of a detector teach, exactly on draws: each pass sounds or stays silent with a chance that is known in every
//! draw, so outcomes of several are summed over.

use crate::decision::information::entropy;
use crate::decision::loss::Loss;

/// The draws shared out by what earlier passes said: for each outcome, the weight of every draw. Weights of a draw sum to one.
pub struct Outcomes {
    weights: Vec<Vec<f64>>,
}

impl Outcomes {
    /// Before any pass.
    pub fn none(draws: usize) -> Self {
        Self { weights: vec![vec![1.0; draws]] }
    }

    /// After one more pass that sounds with these chances.
    pub fn after(&self, sounds: &[f64]) -> Self {
        let with = |weights: &Vec<f64>| {
            let share =
                |of: &dyn Fn(f64) -> f64| weights.iter().zip(sounds).map(|(w, q)| w * of(*q)).collect();
            [share(&|q| q), share(&|q| 1.0 - q)]
        };
        Self { weights: self.weights.iter().flat_map(with).collect() }
    }

    /// Bits that a pass teaches about the layout beyond the earlier ones: entropy of its outcome, less what stays open given the
    /// layout (Lindley 1956). It is the mean over draws of the divergence of the outcome in the draw from that at large, so its
    /// error is that of this mean (delta method).
    pub fn information(&self, sounds: &[f64]) -> Loss {
        let mut influence = vec![0.0; sounds.len()];
        for weights in &self.weights {
            let mass: f64 = weights.iter().sum();
            let sounding: f64 = weights.iter().zip(sounds).map(|(w, q)| w * q).sum();
            if mass <= 0.0 {
                continue;
            }
            let p = sounding / mass;
            for ((part, w), q) in influence.iter_mut().zip(weights).zip(sounds) {
                *part += w * (part_of(*q, p) + part_of(1.0 - q, 1.0 - p));
            }
        }
        let (mean, error) = mean_and_error(&influence);
        Loss { loss: mean.max(0.0), error }
    }

    /// Mean over outcomes of p^2, p the mean of these values given the outcome; and what each draw adds to its error.
    fn squared(&self, values: &[f64], influence: &mut [f64], sign: f64) -> f64 {
        let mut sum = 0.0;
        for weights in &self.weights {
            let mass: f64 = weights.iter().sum();
            if mass <= 0.0 {
                continue;
            }
            let p = weights.iter().zip(values).map(|(w, v)| w * v).sum::<f64>() / mass;
            sum += mass * p * p;
            for ((part, w), v) in influence.iter_mut().zip(weights).zip(values) {
                *part += sign * w * (2.0 * p * v - p * p);
            }
        }
        sum / values.len().max(1) as f64
    }

    /// What a pass takes off the sum over digs of p (1 - p), the expected Brier score, with its standard error over the draws
    /// (delta method; python/docs/model.md, 14.9).
    pub fn variance_gain(&self, sounds: &[f64], digs: &[Vec<f64>]) -> Loss {
        let (next, draws) = (self.after(sounds), sounds.len());
        let mut influence = vec![0.0; draws];
        let mut gain = 0.0;
        for values in digs {
            gain += next.squared(values, &mut influence, 1.0) - self.squared(values, &mut influence, -1.0);
        }
        Loss { loss: gain, error: mean_and_error(&influence).1 }
    }
}

/// What one outcome adds to a divergence, bits: chance q in the draw, p at large.
fn part_of(q: f64, p: f64) -> f64 {
    if q > 0.0 && p > 0.0 { q * (q / p).log2() } else { 0.0 }
}

/// Mean of these values, and its standard error.
fn mean_and_error(values: &[f64]) -> (f64, f64) {
    let n = values.len().max(2) as f64;
    let mean = values.iter().sum::<f64>() / n;
    (mean, (values.iter().map(|it| (it - mean).powi(2)).sum::<f64>() / (n * (n - 1.0))).sqrt())
}

/// Bits that a pass teaches about a yes or no that every draw answers.
pub fn settles(sounds: &[f64], answers: &[bool]) -> f64 {
    let mean = |of: &dyn Fn(bool) -> bool| -> (f64, f64) {
        let kept = sounds.iter().zip(answers).filter(|(_, answer)| of(**answer));
        let (sum, count) = kept.fold((0.0, 0.0), |(sum, count), (q, _)| (sum + q, count + 1.0));
        (count, if count > 0.0 { sum / count } else { 0.0 })
    };
    let (all, q) = mean(&|_| true);
    let (yes, q_yes) = mean(&|answer| answer);
    let (no, q_no) = mean(&|answer| !answer);
    (entropy(q) - (yes * entropy(q_yes) + no * entropy(q_no)) / all.max(1.0)).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Six draws; two passes that hear a line in some of them, 0.9 of the time, and junk 0.05 of the time.
    fn heard(present: [bool; 6]) -> Vec<f64> {
        present.iter().map(|there| 1.0 - (1.0 - 0.05) * (1.0 - if *there { 0.9 } else { 0.0 })).collect()
    }

    const FIRST: [bool; 6] = [true, true, true, false, false, false];
    const SECOND: [bool; 6] = [true, false, true, false, true, false];

    /// The same by going through all outcomes of both passes.
    fn enumerated(passes: &[Vec<f64>], digs: &[Vec<f64>]) -> (f64, f64) {
        let (mut score, mut open) = (0.0, 0.0);
        for outcome in 0..1 << passes.len() {
            let chance = |k: usize| -> f64 {
                let of =
                    |(bit, q): (usize, &Vec<f64>)| if outcome >> bit & 1 == 1 { q[k] } else { 1.0 - q[k] };
                passes.iter().enumerate().map(of).product()
            };
            let mass: f64 = (0..6).map(chance).sum::<f64>() / 6.0;
            for dig in digs {
                let p = (0..6).map(|k| chance(k) * dig[k]).sum::<f64>() / 6.0 / mass;
                score += mass * p * (1.0 - p);
            }
            open -= mass * mass.log2();
            open += (0..6).map(|k| chance(k) / 6.0 * chance(k).log2()).sum::<f64>();
        }
        (score, open)
    }

    /// To 1e-12. Planted fault: false alarms left out changes both by more than 0.005.
    #[test]
    fn gains_equal_enumeration_over_outcomes() {
        let (first, second) = (heard(FIRST), heard(SECOND));
        let digs = vec![vec![0.9, 0.8, 0.9, 0.1, 0.0, 0.1], vec![0.2, 0.0, 0.3, 0.0, 0.4, 0.1]];
        let before = Outcomes::none(6);
        let one = before.after(&first);
        let [none, with_first, both] = [
            enumerated(&[], &digs),
            enumerated(std::slice::from_ref(&first), &digs),
            enumerated(&[first.clone(), second.clone()], &digs),
        ];
        assert_relative_eq!(before.variance_gain(&first, &digs).loss, none.0 - with_first.0, epsilon = 1e-12);
        assert_relative_eq!(one.variance_gain(&second, &digs).loss, with_first.0 - both.0, epsilon = 1e-12);
        assert_relative_eq!(before.information(&first).loss, with_first.1, epsilon = 1e-12);
        assert_relative_eq!(one.information(&second).loss, both.1 - with_first.1, epsilon = 1e-12);
        let deaf: Vec<f64> = FIRST.iter().map(|there| if *there { 0.9 } else { 0.0 }).collect();
        assert!((before.information(&deaf).loss - with_first.1).abs() > 0.005);
        assert!((before.variance_gain(&deaf, &digs).loss - (none.0 - with_first.0)).abs() > 0.005);
    }

    /// A sure detector settles the question of where it passes, one bit where the odds are even, and teaches nothing of one
    /// that has nothing to do with it.
    #[test]
    fn a_pass_settles_what_lies_under_it() {
        let sure: Vec<f64> = FIRST.iter().map(|there| f64::from(u8::from(*there))).collect();
        assert_relative_eq!(settles(&sure, &FIRST), 1.0, epsilon = 1e-12);
        assert!(settles(&sure, &[true, false, false, true, false, false]) < 1e-12);
        assert!(settles(&heard(FIRST), &FIRST) < 1.0);
    }

    /// 400 sets of 400 draws: the standard deviation of the gains and of the bits is the stated error within a sixth (its own error
    /// is 0.035 of it). Planted fault: half of the error.
    #[test]
    fn the_stated_error_is_that_of_other_draws() {
        use rand::RngExt;
        let rng = &mut crate::rng::stream(3, 0);
        let mut found: [Vec<Loss>; 3] = Default::default();
        for _ in 0..400 {
            let there: Vec<bool> = (0..400).map(|_| rng.random::<f64>() < 0.3).collect();
            let heard: Vec<f64> = there.iter().map(|t| if *t { 0.9 } else { 0.05 }).collect();
            let again: Vec<f64> = there.iter().map(|t| if *t { 0.8 } else { 0.1 }).collect();
            let dig: Vec<f64> = there
                .iter()
                .map(|t| if *t { rng.random::<f64>() } else { 0.1 * rng.random::<f64>() })
                .collect();
            let none = Outcomes::none(400);
            found[0].push(none.variance_gain(&heard, &[dig]));
            found[1].push(none.information(&heard));
            found[2].push(none.after(&heard).information(&again));
        }
        for kind in found {
            let errors = kind.iter().map(|it| it.error).sum::<f64>() / 400.0;
            let mean = kind.iter().map(|it| it.loss).sum::<f64>() / 400.0;
            let sd = (kind.iter().map(|it| (it.loss - mean).powi(2)).sum::<f64>() / 399.0).sqrt();
            assert!((sd / errors - 1.0).abs() < 1.0 / 6.0, "{sd} {errors}");
        }
    }
}
