//! One trial: a forecaster's answers and the simple maps' features for the same holes, pooled over jobs, and the table made
//! of them.

use crate::baseline::{self, Metric};
use crate::forecaster::Forecaster;
use crate::job::{Carries, Hole, Job};
use crate::scores::{self, Bin, Skill, brier_of, log_loss_of};
use crate::truth;
use std::collections::BTreeMap;
use std::fmt::Write;

/// Pooled answers, one entry per dig.
#[derive(Default)]
pub struct Trial {
    pub p: Vec<f64>,
    pub y: Vec<f64>,
    /// Resampling unit of each dig, numbered from 0.
    pub group: Vec<usize>,
    /// What each dig is counted under in the split table.
    pub label: Vec<String>,
    straight: Vec<f64>,
    square: Vec<f64>,
    groups: Vec<String>,
    jobs: usize,
    /// Jobs the forecaster refused, with its reason.
    pub refused: Vec<String>,
    struck: BTreeMap<String, usize>,
}

/// The verdict on a trial.
pub struct Judgement {
    pub table: String,
    /// Scores that the validation page cites by name.
    pub figures: Vec<(&'static str, String)>,
    /// Jobs and digs.
    pub n: String,
    pub skill: Skill,
    pub unreliable: Vec<Bin>,
}

impl Trial {
    /// Asks the forecaster about one job and notes what happened. `label` names each dig for the split table.
    pub fn add(
        &mut self,
        job: &Job,
        holes: &[Hole],
        axis_rad: f64,
        forecaster: &dyn Forecaster,
        label: impl Fn(&Hole) -> String,
    ) {
        let answers = match forecaster.forecast(&job.survey, holes) {
            Ok(answers) => answers,
            Err(reason) => return self.refused.push(format!("{}: {reason}", job.survey.name)),
        };
        assert_eq!(answers.len(), holes.len(), "one answer per hole");
        assert!(answers.iter().all(|p| (0.0..=1.0).contains(p)), "{}: not a probability", job.survey.name);
        let group = self.groups.iter().position(|g| *g == job.group).unwrap_or_else(|| {
            self.groups.push(job.group.clone());
            self.groups.len() - 1
        });
        let straight = baseline::tree_map(&job.survey, Metric::Euclidean);
        let square = baseline::tree_map(&job.survey, Metric::Rectilinear { axis_rad });
        for (hole, p) in holes.iter().zip(answers) {
            self.p.push(p);
            self.y.push(f64::from(u8::from(truth::strikes(hole, job))));
            self.group.push(group);
            self.label.push(label(hole));
            self.straight.push(baseline::edge_distance(hole, &straight));
            self.square.push(baseline::edge_distance(hole, &square));
            for what in [
                Carries::Lateral,
                Carries::Mainline,
                Carries::ControlWire,
                Carries::Potable,
                Carries::Abandoned,
            ] {
                if truth::strikes_a(hole, job, what) {
                    *self.struck.entry(format!("{what:?}")).or_default() += 1;
                }
            }
        }
        self.jobs += 1;
    }

    pub fn base_rate(&self) -> f64 {
        self.y.iter().sum::<f64>() / self.y.len() as f64
    }

    /// Scores the trial beside the fitted maps.
    pub fn judge(&self, title: &str) -> Judgement {
        assert!(!self.p.is_empty(), "no answers at all; refused: {:?}", self.refused);
        let y = &self.y;
        let rivals = [
            ("straight tree, isotonic in-sample", baseline::isotonic(&self.straight, y)),
            ("straight tree, logistic in-sample", baseline::logistic(&self.straight, y)),
            ("square tree, isotonic in-sample", baseline::isotonic(&self.square, y)),
            ("constant rate in-sample", baseline::constant(y)),
        ];
        let mut t = format!("\n## {title}\n\n");
        let n = y.len();
        let (jobs, groups) = (self.jobs, self.groups.len());
        let _ = writeln!(
            t,
            "{jobs} jobs in {groups} groups, {n} digs, base rate {:.4}, refused {}\n",
            self.base_rate(),
            self.refused.len()
        );
        for reason in self.refused.iter().take(10) {
            let _ = writeln!(t, "- refused {reason}");
        }
        let shares: Vec<String> =
            self.struck.iter().map(|(what, k)| format!("{what} {:.4}", *k as f64 / n as f64)).collect();
        let _ = writeln!(t, "Rate of strikes by what was struck: {}\n", shares.join(", "));
        let _ = writeln!(
            t,
            "| map | Brier | log loss | Brier skill of the forecaster over it, 90 % by groups | log skill |\n|---|---|---|---|---|"
        );
        let _ = writeln!(
            t,
            "| forecaster | {:.4} | {:.4} | | |",
            scores::mean(brier_of, &self.p, y),
            scores::mean(log_loss_of, &self.p, y)
        );
        let over = |q: &[f64]| scores::skill(brier_of, &self.p, q, y, &self.group);
        for (name, q) in &rivals {
            let (s, l) = (over(q), scores::skill(log_loss_of, &self.p, q, y, &self.group));
            let _ = writeln!(
                t,
                "| {name} | {:.4} | {:.4} | {:+.3} [{:+.3}, {:+.3}] | {:+.3} [{:+.3}, {:+.3}] |",
                scores::mean(brier_of, q, y),
                scores::mean(log_loss_of, q, y),
                s.value,
                s.low,
                s.high,
                l.value,
                l.low,
                l.high
            );
        }
        let bins = scores::reliability(&self.p, y, &self.group);
        let _ = writeln!(
            t,
            "\n| stated | n | mean stated | came true | gap, points | standard error by groups |\n|---|---|---|---|---|---|"
        );
        for b in &bins {
            let _ = writeln!(t, "| {}-{} | {} |", b.low, b.high, came_true(b));
        }
        let c = scores::parts(brier_of, &self.p, y);
        let _ = writeln!(
            t,
            "\nBrier score = miscalibration {:.4} - discrimination {:.4} + uncertainty {:.4}",
            c.miscalibration, c.discrimination, c.uncertainty
        );
        self.split(&mut t, &rivals[0].1);
        let unreliable = scores::unreliable(&bins);
        let of = |q: &[f64]| {
            [(brier_of as fn(f64, f64) -> f64), log_loss_of].map(|score| scores::mean(score, q, y))
        };
        let [own, tree, constant] = [&self.p, &rivals[0].1, &rivals[3].1].map(|q| of(q));
        let figures = [
            ("brier", own[0]),
            ("log_loss", own[1]),
            ("tree_brier", tree[0]),
            ("tree_log_loss", tree[1]),
            ("constant_brier", constant[0]),
            ("constant_log_loss", constant[1]),
        ];
        Judgement {
            figures: figures.map(|(name, score)| (name, format!("{score:.4}"))).to_vec(),
            n: format!("{jobs} jobs, {n} holes"),
            table: t,
            skill: over(&rivals[0].1),
            unreliable,
        }
    }

    /// The same by label. The rival keeps its pooled curve.
    fn split(&self, t: &mut String, rival: &[f64]) {
        let _ = writeln!(
            t,
            "\n| digs by | n | base rate | mean stated | Brier | straight tree | skill |\n|---|---|---|---|---|---|---|"
        );
        let mut labels: Vec<&String> = self.label.iter().collect();
        labels.sort();
        labels.dedup();
        for label in labels {
            let of: Vec<usize> = (0..self.y.len()).filter(|&i| self.label[i] == *label).collect();
            let take = |v: &[f64]| of.iter().map(|&i| v[i]).collect::<Vec<f64>>();
            let (p, q, y) = (take(&self.p), take(rival), take(&self.y));
            let (b, r) = (scores::mean(brier_of, &p, &y), scores::mean(brier_of, &q, &y));
            let mean = |v: &[f64]| v.iter().sum::<f64>() / v.len() as f64;
            let _ = writeln!(
                t,
                "| {label} | {} | {:.4} | {:.4} | {b:.4} | {r:.4} | {:+.3} |",
                y.len(),
                mean(&y),
                mean(&p),
                1.0 - b / r
            );
        }
    }
}

/// What came true of a bin's statements, as cells of a table: n, mean stated, rate, gap and standard error in points.
pub fn came_true(b: &Bin) -> String {
    let gap = 100.0 * (b.rate - b.mean_p);
    format!("{} | {:.4} | {:.4} | {gap:+.1} | {:.1}", b.n, b.mean_p, b.rate, 100.0 * b.se)
}
