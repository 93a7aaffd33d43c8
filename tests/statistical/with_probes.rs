//! What probes are worth: the same holes on the same simulated sites are answered before and after five probes a site, once
//! with plain reports (found or clear) and once with class, bearing and cover noted. Holes that share ground with a
//! probe are dropped from all. An engine that learns from probes may not get worse, nor say what does not come true.

use crate::baseline::longest_edge_axis;
use crate::ceiling::Ceiling;
use crate::engine::Engine;
use crate::forecaster::{EvenSpread, Forecaster};
use crate::job::{Hole, Job, Probe, Survey};
use crate::page::Keeping;
use crate::scores::{self, Skill, brier_of, log_loss_of};
use crate::trial::{Trial, came_true};
use crate::{digs, installer, probes};
use std::fmt::Write;

const HOLES_PER_SITE: usize = 60;
const PROBES_PER_SITE: usize = 5;
/// A hole is near a probe when their middles are closer than this, metres.
const NEAR_M: f64 = 2.0;
const NEAR: &str = "within 2 m of a probe";

/// The three trials over the same holes.
struct BeforeAfter {
    before: Trial,
    plain: Trial,
    noted: Trial,
    found: usize,
    dug: usize,
    dropped: usize,
}

fn trials(seeds: std::ops::Range<u64>, forecaster: &dyn Forecaster) -> BeforeAfter {
    let (before, plain, noted) = Default::default();
    let mut all = BeforeAfter { before, plain, noted, found: 0, dug: 0, dropped: 0 };
    for seed in seeds {
        let job = installer::job(seed);
        let planned = digs::propose(&job.survey, HOLES_PER_SITE, seed);
        let places = probes::propose(&job.survey, &planned, PROBES_PER_SITE, seed);
        let dug = probes::dig(&job, &places, seed);
        let holes: Vec<Hole> =
            planned.into_iter().filter(|h| !places.iter().any(|&p| probes::overlaps(h, p))).collect();
        all.found += dug.iter().filter(|p| p.found).count();
        all.dug += dug.len();
        all.dropped += HOLES_PER_SITE - holes.len();
        let axis_rad = longest_edge_axis(&job.survey.boundary);
        let add = |trial: &mut Trial, probes: Vec<Probe>| {
            let known = Job { survey: Survey { probes, ..job.survey.clone() }, ..job.clone() };
            trial.add(&known, &holes, axis_rad, forecaster, |hole| {
                let near = places.iter().any(|p| p.to(hole.at) < NEAR_M);
                if near { NEAR } else { "further off" }.into()
            });
        };
        add(&mut all.before, Vec::new());
        add(&mut all.plain, probes::plain(&dug));
        add(&mut all.noted, dug);
    }
    all
}

impl BeforeAfter {
    /// Every report was taken: else the trials do not hold the same holes.
    fn refused(&self) -> Vec<&String> {
        [&self.before, &self.plain, &self.noted].into_iter().flat_map(|t| &t.refused).collect()
    }

    fn gain(&self, after: &Trial, score: fn(f64, f64) -> f64, which: &str) -> Skill {
        let b = &self.before;
        let of: Vec<usize> = (0..b.y.len()).filter(|&i| b.label[i].contains(which)).collect();
        let take = |v: &[f64]| of.iter().map(|&i| v[i]).collect::<Vec<f64>>();
        let group: Vec<usize> = of.iter().map(|&i| b.group[i]).collect();
        scores::skill(score, &take(&after.p), &take(&b.p), &take(&b.y), &group)
    }

    fn table(&self, title: &str) -> String {
        let mut t = format!(
            "\n## {title}\n\n{} digs ({} dropped for sharing ground with a probe), {} probes, {} finds\n\n",
            self.before.y.len(),
            self.dropped,
            self.dug,
            self.found
        );
        let _ = writeln!(
            t,
            "| | Brier | log loss | Brier skill over before, 90 % by sites | log skill | Brier skill {NEAR} |\n|---|---|---|---|---|---|"
        );
        for (name, trial) in self.rows() {
            let show = |s: Skill| format!("{:+.3} [{:+.3}, {:+.3}]", s.value, s.low, s.high);
            let _ = writeln!(
                t,
                "| {name} | {:.4} | {:.4} | {} | {} | {} |",
                scores::mean(brier_of, &trial.p, &trial.y),
                scores::mean(log_loss_of, &trial.p, &trial.y),
                show(self.gain(trial, brier_of, "")),
                show(self.gain(trial, log_loss_of, "")),
                show(self.gain(trial, brier_of, NEAR))
            );
        }
        let _ = writeln!(
            t,
            "\n| stated | | n | mean stated | came true | gap, points | standard error by sites |\n|---|---|---|---|---|---|---|"
        );
        for edge in scores::EDGES {
            for (name, trial) in self.rows() {
                let bins = scores::reliability(&trial.p, &trial.y, &trial.group);
                if let Some(b) = bins.iter().find(|b| b.low == edge) {
                    let _ = writeln!(t, "| {}-{} | {name} | {} |", b.low, b.high, came_true(b));
                }
            }
        }
        t
    }

    fn rows(&self) -> [(&'static str, &Trial); 3] {
        [("before", &self.before), ("after, plain", &self.plain), ("after, noted", &self.noted)]
    }

    fn n(&self) -> String {
        format!("{} holes, {} probes, {} finds", self.before.y.len(), self.dug, self.found)
    }

    /// What speaks against learning as this forecaster does.
    fn faults(&self) -> Vec<String> {
        let mut faults = Vec::new();
        let brier = |t: &Trial| scores::mean(brier_of, &t.p, &t.y);
        for (name, trial) in &self.rows()[1..] {
            let (b, a) = (brier(&self.before), brier(trial));
            if a > b + 1e-12 {
                faults.push(format!("{name}: Brier score {a:.5} against {b:.5} before"));
            }
            let bins = scores::reliability(&trial.p, &trial.y, &trial.group);
            faults.extend(scores::unreliable(&bins).iter().map(|bin| format!("{name}: {bin:?}")));
        }
        faults
    }
}

/// n = 200 sites, some 11,600 holes. Whoever knows the simulator's law gains 0.059 of the Brier score by plain reports,
/// standard error 0.012 over sites (the ceiling below), so a gain of none is a false alarm with chance 1e-6 for it; for a
/// forecaster with half that gain it is 1 %. Bins hold 200 holes or more: standard errors by sites of up to 1.5 points,
/// five points are three of them. The seeds are fixed.
#[test]
#[ignore = "the judgement: run with --ignored --nocapture"]
fn installer_sites_200_with_five_probes() {
    let keeping = Keeping::begin("five_probes", "with_probes::installer_sites_200_with_five_probes");
    let all = trials(0..200, &Engine { draws: 1_000 });
    keeping.keep(&all.n(), "0 to 199", &all.table("Simulated installers, 200 sites, five probes each"));
    assert!(all.refused().is_empty(), "sites without an answer: {:#?}", all.refused());
    assert!(all.faults().is_empty(), "{:#?}", all.faults());
}

/// What five plain reports are worth to one who knows the simulator's law: the yardstick for the engine's gain.
#[test]
#[ignore = "how much there is to learn: run with --ignored --nocapture"]
fn ceiling_of_installer_sites_200_with_five_probes() {
    let keeping =
        Keeping::begin("five_probes_ceiling", "with_probes::ceiling_of_installer_sites_200_with_five_probes");
    let all = trials(0..200, &Ceiling { crews: 1_000 });
    let gain = |which| format!("{:.1} %", 100.0 * all.gain(&all.plain, brier_of, which).value);
    let keeping = keeping.value("gain", gain("")).value("gain_near", gain(NEAR));
    keeping.keep(&all.n(), "0 to 199", &all.table("Ceiling, 200 sites, five probes each"));
}

/// One who knows nothing before and learns nothing from probes: no gain at all, and to the last digit no loss.
#[test]
fn a_deaf_forecaster_gains_exactly_nothing() {
    let all = trials(0..20, &EvenSpread);
    assert!(all.refused().is_empty());
    for trial in [&all.plain, &all.noted] {
        assert_eq!((all.before.p.clone(), all.before.y.clone()), (trial.p.clone(), trial.y.clone()));
        assert_eq!(all.gain(trial, brier_of, "").value, 0.0);
    }
    assert!(all.dropped > 0 && all.before.y.len() + all.dropped == 20 * HOLES_PER_SITE);
}

/// The simulator's own law learns: on 60 sites its gain is several standard errors above nothing and it stays reliable.
#[test]
fn the_simulators_own_law_gains_by_probes() {
    let all = trials(0..60, &Ceiling { crews: 200 });
    assert!(all.gain(&all.plain, brier_of, "").low > 0.0, "{}", all.table("Ceiling, 60 sites"));
    assert!(all.faults().is_empty(), "{:#?}\n{}", all.faults(), all.table("Ceiling, 60 sites"));
}

/// Planted: one who takes the nearest probe within 2 m for the whole truth. With 60 sites some 1,000 holes lie so near.
#[test]
fn a_hasty_forecaster_is_found_out() {
    struct Hasty(Ceiling);
    impl Forecaster for Hasty {
        fn forecast(&self, survey: &Survey, digs: &[Hole]) -> Result<Vec<f64>, String> {
            let deaf = Survey { probes: Vec::new(), ..survey.clone() };
            let p = self.0.forecast(&deaf, digs)?;
            let told = |dig: &Hole| {
                let near = survey.probes.iter().filter(|p| p.at.to(dig.at) < NEAR_M);
                near.min_by(|a, b| a.at.to(dig.at).total_cmp(&b.at.to(dig.at))).map(|p| p.found)
            };
            Ok(digs
                .iter()
                .zip(p)
                .map(|(dig, p)| told(dig).map_or(p, |found| if found { 0.9 } else { 0.02 }))
                .collect())
        }
    }
    let all = trials(0..60, &Hasty(Ceiling { crews: 100 }));
    let faults = all.faults();
    assert!(faults.iter().any(|f| f.contains("Brier")), "{}", all.table("Hasty, 60 sites"));
    assert!(faults.iter().any(|f| f.contains("Bin")), "{}", all.table("Hasty, 60 sites"));
}
