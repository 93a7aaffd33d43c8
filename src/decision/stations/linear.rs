//! How well yes or no answers predict a number at least: the best linear prediction, learned on some draws and judged on
//! others.
//!
//! The mean given the answers predicts better than anything; a line through them is something, so what it takes off the
//! variance of draws that it was not learned from is a lower bound in expectation. Ridge regression (Hoerl & Kennard,
//! Technometrics 12 (1970) 55-67), its penalty chosen inside the draws that it learns from.

/// Penalties that are tried, as shares of the mean variance of an answer. Numerical choice.
const PENALTIES: [f64; 5] = [0.01, 0.1, 1.0, 10.0, 100.0];

/// Answers of each row, and the numbers to be predicted.
pub struct Rows<'a> {
    pub answers: &'a [Vec<f64>],
    pub targets: &'a [Vec<f64>],
}

/// A line for each target.
#[derive(Clone, Debug)]
pub struct Lines {
    centre: Vec<f64>,
    mean: Vec<f64>,
    slope: Vec<Vec<f64>>,
}

impl Lines {
    /// Learns from some rows, the penalty chosen by what their second half says of their first and the other way round.
    pub fn learned(rows: &Rows<'_>, from: &[usize]) -> Self {
        let (first, second) = from.split_at(from.len() / 2);
        let miss = |penalty: f64| -> f64 {
            let one = |learn: &[usize], judge: &[usize]| {
                let lines = Self::with(rows, learn, penalty);
                (0..rows.targets.len()).map(|t| lines.squares(rows, judge, t)).sum::<f64>()
            };
            one(first, second) + one(second, first)
        };
        let best = PENALTIES.into_iter().min_by(|a, b| miss(*a).total_cmp(&miss(*b))).unwrap_or(1.0);
        Self::with(rows, from, best)
    }

    fn with(rows: &Rows<'_>, from: &[usize], penalty: f64) -> Self {
        let (n, k) = (from.len().max(1) as f64, rows.answers.first().map_or(0, Vec::len));
        let mut centre = vec![0.0; k];
        for &row in from {
            centre.iter_mut().zip(&rows.answers[row]).for_each(|(c, a)| *c += a / n);
        }
        let mean: Vec<f64> =
            rows.targets.iter().map(|target| from.iter().map(|&row| target[row]).sum::<f64>() / n).collect();
        let mut gram = vec![vec![0.0; k]; k];
        let mut cross = vec![vec![0.0; k]; rows.targets.len()];
        let mut off = vec![0.0; k];
        for &row in from {
            off.iter_mut().zip(rows.answers[row].iter().zip(&centre)).for_each(|(o, (a, c))| *o = a - c);
            for a in 0..k {
                let scaled = off[a] / n;
                gram[a][..=a].iter_mut().zip(&off).for_each(|(g, o)| *g += scaled * o);
            }
            for (cross, (target, mean)) in cross.iter_mut().zip(rows.targets.iter().zip(&mean)) {
                let scaled = (target[row] - mean) / n;
                cross.iter_mut().zip(&off).for_each(|(c, o)| *c += scaled * o);
            }
        }
        let ridge = penalty * (0..k).map(|a| gram[a][a]).sum::<f64>() / k.max(1) as f64 + 1e-12;
        (0..k).for_each(|a| gram[a][a] += ridge);
        cholesky(&mut gram);
        let slope = cross.into_iter().map(|c| solve(&gram, c)).collect();
        Self { centre, mean, slope }
    }

    /// The prediction of a target for a row of answers.
    pub fn predict(&self, answers: &[f64], target: usize) -> f64 {
        let off = answers.iter().zip(&self.centre).zip(&self.slope[target]);
        self.mean[target] + off.map(|((a, c), s)| (a - c) * s).sum::<f64>()
    }

    /// The prediction without answers.
    pub fn mean(&self, target: usize) -> f64 {
        self.mean[target]
    }

    fn squares(&self, rows: &Rows<'_>, of: &[usize], target: usize) -> f64 {
        of.iter()
            .map(|&row| (rows.targets[target][row] - self.predict(&rows.answers[row], target)).powi(2))
            .sum()
    }
}

/// Lower triangle of the root of a positive definite matrix, in its place.
fn cholesky(m: &mut [Vec<f64>]) {
    for a in 0..m.len() {
        for b in 0..=a {
            let sum: f64 = m[a][b] - (0..b).map(|k| m[a][k] * m[b][k]).sum::<f64>();
            m[a][b] = if a == b { sum.max(1e-300).sqrt() } else { sum / m[b][b] };
        }
    }
}

fn solve(root: &[Vec<f64>], mut x: Vec<f64>) -> Vec<f64> {
    for a in 0..x.len() {
        let sum: f64 = (0..a).map(|k| root[a][k] * x[k]).sum();
        x[a] = (x[a] - sum) / root[a][a];
    }
    for a in (0..x.len()).rev() {
        let sum: f64 = (a + 1..x.len()).map(|k| root[k][a] * x[k]).sum();
        x[a] = (x[a] - sum) / root[a][a];
    }
    x
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rng::stream;
    use approx::assert_relative_eq;
    use rand::RngExt;

    #[test]
    fn a_small_system_is_solved() {
        let mut m = vec![vec![4.0, 0.0, 0.0], vec![2.0, 5.0, 0.0], vec![1.0, 3.0, 6.0]];
        let full = [[4.0, 2.0, 1.0], [2.0, 5.0, 3.0], [1.0, 3.0, 6.0]];
        cholesky(&mut m);
        let x = solve(&m, vec![1.0, -2.0, 0.5]);
        for (row, right) in full.iter().zip([1.0, -2.0, 0.5]) {
            assert_relative_eq!(row.iter().zip(&x).map(|(a, b)| a * b).sum::<f64>(), right, epsilon = 1e-12);
        }
    }

    /// A number that is one answer: all of its variance is taken off draws that had no part in the learning. One that has
    /// nothing to do with forty answers: nothing is. Planted fault: judged on the rows that it learned from, a line
    /// through noise takes off a good part.
    #[test]
    fn lines_learn_what_there_is_and_no_noise() {
        let mut rng = stream(1, 0);
        let answers: Vec<Vec<f64>> =
            (0..300).map(|_| (0..40).map(|_| f64::from(u8::from(rng.random_bool(0.4)))).collect()).collect();
        let own: Vec<f64> = answers.iter().map(|a| a[3]).collect();
        let noise: Vec<f64> = (0..300).map(|_| rng.random::<f64>()).collect();
        let targets = vec![own, noise];
        let rows = Rows { answers: &answers, targets: &targets };
        let (learn, judge): (Vec<usize>, Vec<usize>) = ((0..150).collect(), (150..300).collect());
        let lines = Lines::learned(&rows, &learn);
        let share = |of: &[usize], lines: &Lines, t: usize| {
            let plain: f64 = of.iter().map(|&r| (targets[t][r] - lines.mean(t)).powi(2)).sum();
            1.0 - lines.squares(&rows, of, t) / plain
        };
        assert!(share(&judge, &Lines::with(&rows, &learn, 0.01), 0) > 0.95);
        assert!(share(&judge, &lines, 1) < 0.05, "{}", share(&judge, &lines, 1));
        let bold = Lines::with(&rows, &learn, 0.01);
        assert!(share(&learn, &bold, 1) > 0.15, "{}", share(&learn, &bold, 1));
    }
}
