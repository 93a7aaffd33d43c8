//! Simulation-based calibration of the engine's answer to probes (Talts et al. 2018; Modrák et al., Bayesian Analysis, doi
//! 10.1214/23-BA1404; python/docs/model.md, 9.1): a layout is drawn from the engine's own law, probes are dug in it, and the
//! layout's rank among layouts drawn given the probes must be uniform, whatever is measured. The log-likelihood of the reports
//! is among the measures since a sampler that ignores its data passes all others. Heads, boxes and grounds are those of
//! small simulated sites: covariates, no truth. Slow: `cargo test --release --test statistical sbc -- --ignored --nocapture`.

use crate::digs;
use crate::installer::{self, Dice};
use crate::job::{Hole, Probe, Survey};
use crate::page::Keeping;
use crate::plane::{Xy, extent, xy};
use crate::probe_law::{self, Run};
use crate::ranks::{RANKED, Ranks};
use crate::{adapter, probes};
use std::sync::Arc;
use underturf::inference::{Layouts, SampleOptions, sample_layouts};
use underturf::monitor::Unwatched;
use underturf::site::io;

const SITES: usize = 300;
const DRAWS: usize = 1_000;
/// Draws of the law that are reweighted by the reports, for the control.
const MANY: usize = 20_000;
const MOST_HEADS: usize = 16;
const HOLES: usize = 8;

/// Where the layouts come from among which the truth is ranked.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Ranked {
    /// The engine's, given the probes: on trial.
    Posterior,
    /// The engine's on the same site with its probes dropped: the planted fault.
    Deaf,
    /// The engine's without the probes, reweighted by the likelihood here: the control of this very file.
    Reweighted,
}

const MEASURES: [&str; 6] = [
    "holes struck, of 8",
    "lateral length",
    "length within 2 m of the first probe",
    "mean cover of laterals",
    "holes struck within 2 m of a probe",
    "log-likelihood of the reports",
];

/// A site, its true layout, and what was dug.
struct Case {
    seed: u64,
    survey: Survey,
    holes: Vec<Hole>,
    truth: Vec<Run>,
    prior: Layouts,
}

/// The first `n` small sites from a range that no other judgement uses.
fn cases(n: usize) -> impl Iterator<Item = Case> {
    let jobs = (20_000..).map(|seed| (seed, installer::job(seed).survey));
    let small = jobs.filter(|(_, survey)| survey.heads.len() <= MOST_HEADS);
    small.take(n).map(|(seed, survey)| Case::new(seed, survey))
}

fn layouts(survey: &Survey, draws: usize, seed: u64) -> Layouts {
    let site = io::from_value(adapter::document(survey, &[])).expect("a sound document");
    sample_layouts(&Arc::new(site), &SampleOptions { draws, seed }, &Unwatched).expect("layouts")
}

impl Case {
    fn new(seed: u64, mut survey: Survey) -> Self {
        let mut dice = Dice::new(seed ^ 0x_5bc0_0000_0000);
        let prior = layouts(&survey, 2, seed);
        let truth = probe_law::runs(prior.pieces().draw(0));
        let places = places(&survey, dice.whole(4, 6), &mut dice);
        let unmapped = prior.prior().unmapped_lines();
        survey.probes = places
            .into_iter()
            .map(|at| {
                let rod = dice.chance(0.3);
                let tool = if rod { "rod" } else { "pothole" };
                let depth_m = dice.uniform(0.2, 0.5);
                let probe =
                    Probe { at, radius_m: probes::RADIUS_M, depth_m, tool, found: false, noted: None };
                let note = !rod && dice.chance(0.5);
                probe_law::dig(probe, note, &truth, unmapped, &mut dice)
            })
            .collect();
        let holes = digs::propose(&survey, HOLES, seed);
        Self { seed, survey, holes, truth, prior }
    }

    /// The layouts among which the truth is ranked.
    fn ranked(&self, by: Ranked) -> Vec<Vec<Run>> {
        let thinned = |survey: &Survey| {
            let layouts = layouts(survey, DRAWS, self.seed ^ 1 << 40);
            let every = DRAWS / (RANKED + 1);
            (1..=RANKED).map(|k| probe_law::runs(layouts.pieces().draw(every * k))).collect()
        };
        match by {
            Ranked::Posterior => thinned(&self.survey),
            Ranked::Deaf => thinned(&Survey { probes: Vec::new(), ..self.survey.clone() }),
            Ranked::Reweighted => {
                let silent = Survey { probes: Vec::new(), ..self.survey.clone() };
                let many = layouts(&silent, MANY, self.seed ^ 1 << 41);
                let logs: Vec<f64> =
                    (0..MANY).map(|k| self.log_chance(&probe_law::runs(many.pieces().draw(k)))).collect();
                let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
                let weights: Vec<f64> = logs.iter().map(|l| (l - top).exp()).collect();
                let mut dice = Dice::new(self.seed ^ 0x_5bc1_0000_0000);
                (0..RANKED).map(|_| probe_law::runs(many.pieces().draw(dice.pick(&weights)))).collect()
            }
        }
    }

    fn log_chance(&self, runs: &[Run]) -> f64 {
        probe_law::log_chance(&self.survey.probes, runs, self.prior.prior().unmapped_lines())
    }

    fn measures(&self, runs: &[Run]) -> [f64; MEASURES.len()] {
        let struck = |hole: &&Hole| runs.iter().any(|r| r.meets(hole));
        let near = |hole: &&Hole| self.survey.probes.iter().any(|p| p.at.to(hole.at) < 2.0);
        let laterals = || runs.iter().filter(|r| r.class == "lateral").flat_map(|r| &r.bits);
        let length = laterals().map(|b| b.a.to(b.b)).sum::<f64>();
        let first = self.survey.probes[0].at;
        [
            self.holes.iter().filter(struck).count() as f64,
            length,
            runs.iter().flat_map(|r| &r.bits).map(|b| length_within(first, 2.0, b.a, b.b)).sum(),
            laterals().map(|b| b.a.to(b.b) * b.cover_m()).sum::<f64>() / length,
            self.holes.iter().filter(near).filter(struck).count() as f64,
            self.log_chance(runs),
        ]
    }
}

/// Places for probes on ground that may be dug: half anywhere, half within a metre of a head.
pub fn places(survey: &Survey, n: usize, dice: &mut Dice) -> Vec<Xy> {
    let (low, high) = extent(&survey.boundary);
    let mut places: Vec<Xy> = Vec::with_capacity(n);
    while places.len() < n {
        let at = if dice.chance(0.5) {
            xy(dice.uniform(low.x, high.x), dice.uniform(low.y, high.y))
        } else {
            let head = &survey.heads[dice.whole(0, survey.heads.len() - 1)];
            head.at + xy(dice.uniform(0.0, 1.0), 0.0).turned(dice.bearing())
        };
        // apart, so that no unknown line is counted as met anew where two probes share ground
        let apart = places.iter().all(|p| p.to(at) > 3.0 * probes::RADIUS_M);
        if apart && digs::may_dig(survey, at, probes::RADIUS_M) {
            places.push(at);
        }
    }
    places
}

/// Length of the part of `a b` within `r` of `p`.
fn length_within(p: Xy, r: f64, a: Xy, b: Xy) -> f64 {
    let (d, length) = ((b - a).unit(), a.to(b));
    let (along, aside) = ((p - a).dot(d), (p - a).cross(d));
    let half = (r * r - aside * aside).max(0.0).sqrt();
    ((along + half).min(length) - (along - half).max(0.0)).max(0.0)
}

/// Ranks all measures over the sites and keeps the table; the measures whose ranks leave the bands.
fn judge(keeping: Keeping, by: Ranked) -> Vec<&'static str> {
    let mut ranks = Ranks::new(MEASURES);
    let (mut found, mut dug) = (0, 0);
    for case in cases(SITES) {
        dug += case.survey.probes.len();
        found += case.survey.probes.iter().filter(|p| p.found).count();
        let drawn: Vec<_> = case.ranked(by).iter().map(|runs| case.measures(runs)).collect();
        ranks.add(&case.measures(&case.truth), &drawn, &mut Dice::new(case.seed ^ 0x_5bc2_0000_0000));
    }
    let n = format!("{SITES} sites, {dug} probes, {found} finds");
    let (table, outside) = ranks.judge(&format!("{by:?}: {n}"));
    keeping.keep(&n, "from 20000 on, small sites", &table);
    outside
}

/// n = 300 sites; each of the six measures raises a false alarm with chance 1 %, all together 6 % at most; seeds are fixed.
#[test]
#[ignore = "minutes: run with --ignored --nocapture"]
fn sbc_of_the_posterior_given_probes() {
    let keeping = Keeping::begin("sbc", "sbc::sbc_of_the_posterior_given_probes");
    let outside = judge(keeping, Ranked::Posterior);
    assert!(outside.is_empty(), "the engine's answer to probes is not its law's: {outside:?}");
}

/// The planted fault: an engine deaf to its probes is found out by the likelihood (mean rank 86 of 0 to 99) and by
/// nothing else, as Modrák et al. say it must be.
#[test]
#[ignore = "minutes: run with --ignored --nocapture"]
fn sbc_finds_out_an_engine_deaf_to_probes() {
    let keeping = Keeping::begin("sbc_deaf", "sbc::sbc_finds_out_an_engine_deaf_to_probes");
    assert!(judge(keeping, Ranked::Deaf).contains(&MEASURES[5]), "dropped probes went unnoticed");
}

/// The control: what is simulated, scored and ranked here agrees with itself. Reweighting 20,000 draws is the exact
/// posterior but for few effective draws where several finds are noted. Budget as for the judgement.
#[test]
#[ignore = "minutes: run with --ignored --nocapture"]
fn sbc_passes_draws_reweighted_by_the_reports() {
    let keeping = Keeping::begin("sbc_reweighted", "sbc::sbc_passes_draws_reweighted_by_the_reports");
    let outside = judge(keeping, Ranked::Reweighted);
    assert!(outside.is_empty(), "the referee contradicts itself: {outside:?}");
}

/// Pieces fall into as many runs as the draw holds: tree edges, header lines, and unknown lines that probes found.
#[test]
fn pieces_are_told_apart_by_run() {
    for case in cases(6) {
        let layouts = layouts(&case.survey, 40, 5);
        for (k, draw) in layouts.draws().iter().enumerate() {
            let held: usize = draw.trees.iter().map(|t| t.edges.len() + t.lines.len()).sum();
            let held = held + draw.unknown.len();
            assert_eq!(probe_law::runs(layouts.pieces().draw(k)).len(), held, "site {} draw {k}", case.seed);
        }
    }
}

#[test]
fn length_within_by_hand() {
    // a chord 1.2 from the centre of a circle of radius 2 is 2 x 1.6 long
    let p = xy(0.0, 1.2);
    assert!((length_within(p, 2.0, xy(-9.0, 0.0), xy(9.0, 0.0)) - 3.2).abs() < 1e-12);
    assert!((length_within(p, 2.0, xy(0.0, 0.0), xy(9.0, 0.0)) - 1.6).abs() < 1e-12);
    assert_eq!(length_within(p, 2.0, xy(3.0, 0.0), xy(9.0, 0.0)), 0.0);
    assert_eq!(length_within(p, 1.0, xy(-9.0, 0.0), xy(9.0, 0.0)), 0.0);
}
