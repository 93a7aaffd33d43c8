//! What it costs not to know which head is on which zone: the same holes on the same simulated sites are answered with the
//! zones known, with all valves run, with one, and with the valves only counted, before and after five potholes. The
//! installer zones heads by habits of his own, so the law of labels is on trial as well as the chains that sample it.
//! Slow: `cargo test --release --test statistical unknown_zones -- --ignored --nocapture`.

use crate::engine::{Engine, chances};
use crate::job::{Hole, Job, Survey};
use crate::scores::{self, Bin, Skill, brier_of, log_loss_of};
use crate::unlabelled::{self, Told, near_pairs};
use crate::{digs, installer, probes, truth};
use std::fmt::{self, Write};
use std::time::Instant;
use underturf::infer::{Layouts, Patience};

const SITES: usize = 16;
/// Chains are made twice as long once at most: more is minutes a site.
const LONGEST: usize = 2;
const HOLES_PER_SITE: usize = 60;
const PROBES_PER_SITE: usize = 5;
const DRAWS: usize = 1_000;
/// Heads are judged in pairs with so many of their nearest.
const NEAR: usize = 4;
/// A bin of fewer holes is not called the worst: its standard error by sites is of the size of the gate.
const JUDGED: usize = 100;

/// How often heads were rightly taken to share a zone, or not to.
#[derive(Clone, Copy, Default)]
pub struct Pairs {
    all: usize,
    right: usize,
    /// Sum of the chances stated that they share a zone, and how many do.
    stated: f64,
    together: usize,
}

impl Pairs {
    pub fn add(&mut self, more: Self) {
        self.all += more.all;
        self.right += more.right;
        self.stated += more.stated;
        self.together += more.together;
    }

    /// Percentages: rightly judged, stated to share a zone, sharing one.
    fn shares(&self) -> [f64; 3] {
        [self.right as f64, self.stated, self.together as f64].map(|part| 100.0 * part / self.all as f64)
    }
}

impl fmt::Display for Pairs {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [right, stated, together] = self.shares();
        write!(
            f,
            "near pairs right {right:.1} %, stated on one zone {stated:.1} %, on one zone {together:.1} %"
        )
    }
}

/// One way to tell the zones, pooled over the sites.
struct Arm {
    told: Told,
    probed: bool,
    p: Vec<f64>,
    pairs: Pairs,
    passed: usize,
    sampled: usize,
    seconds: f64,
}

/// One answer for one site.
pub struct Answer {
    pub p: Vec<f64>,
    pub pairs: Pairs,
    /// Whether chains were needed, and passed.
    pub passed: Option<bool>,
    pub seconds: f64,
}

/// All ways to tell the zones of the same sites.
struct Arms {
    arms: Vec<Arm>,
    y: Vec<f64>,
    group: Vec<usize>,
    refused: Vec<String>,
}

/// Asks the engine about a survey of which so much of the zones is told.
pub fn answer(survey: &Survey, holes: &[Hole], told: Told, seed: u64) -> Result<Answer, String> {
    let patience = Patience { accept_unconverged: true, longest: LONGEST, ..Patience::default() };
    let began = Instant::now();
    let document = unlabelled::document(survey, holes, told, seed);
    let layouts = Engine { draws: DRAWS }.layouts(document, &patience)?;
    let p = chances(&layouts)?;
    let seconds = began.elapsed().as_secs_f64();
    let passed = layouts.convergence().map(|convergence| convergence.passed);
    Ok(Answer { p, pairs: pairs(survey, &layouts), passed, seconds })
}

fn pairs(survey: &Survey, layouts: &Layouts) -> Pairs {
    let mut pairs = Pairs::default();
    for (a, b) in near_pairs(survey, NEAR) {
        let zonings = layouts.zonings();
        let same = zonings.iter().filter(|zone_of| zone_of[a] == zone_of[b]).count();
        let stated = same as f64 / zonings.len() as f64;
        let together = survey.heads[a].zone == survey.heads[b].zone;
        pairs.all += 1;
        pairs.right += usize::from((stated > 0.5) == together);
        pairs.stated += stated;
        pairs.together += usize::from(together);
    }
    pairs
}

/// The first sites with two zones or more.
fn jobs(n: usize) -> impl Iterator<Item = (u64, Job)> {
    let jobs = (0..).map(|seed| (seed, installer::job(seed)));
    jobs.filter(|(_, job)| job.survey.zones().len() > 1).take(n)
}

fn arms(sites: usize) -> Arms {
    let new = |probed: bool| {
        Told::ALL.map(|told| {
            let (p, pairs) = Default::default();
            Arm { told, probed, p, pairs, passed: 0, sampled: 0, seconds: 0.0 }
        })
    };
    let mut all = Arms {
        arms: [false, true].into_iter().flat_map(new).collect(),
        y: Vec::new(),
        group: Vec::new(),
        refused: Vec::new(),
    };
    for (group, (seed, job)) in jobs(sites).enumerate() {
        let planned = digs::propose(&job.survey, HOLES_PER_SITE, seed);
        let places = probes::propose(&job.survey, &planned, PROBES_PER_SITE, seed);
        let probed = Survey { probes: probes::dig(&job, &places, seed), ..job.survey.clone() };
        let holes: Vec<Hole> =
            planned.into_iter().filter(|h| !places.iter().any(|&p| probes::overlaps(h, p))).collect();
        let ask = |arm: &Arm| {
            let survey = if arm.probed { &probed } else { &job.survey };
            answer(survey, &holes, arm.told, seed).map_err(|reason| format!("{}: {reason}", survey.name))
        };
        match all.arms.iter().map(ask).collect::<Result<Vec<Answer>, String>>() {
            Ok(answers) => all.add(&job, &holes, group, answers),
            Err(reason) => all.refused.push(reason),
        }
    }
    all
}

impl Arms {
    fn add(&mut self, job: &Job, holes: &[Hole], group: usize, answers: Vec<Answer>) {
        self.y.extend(holes.iter().map(|hole| f64::from(u8::from(truth::strikes(hole, job)))));
        self.group.resize(self.y.len(), group);
        for (arm, answer) in self.arms.iter_mut().zip(answers) {
            arm.p.extend(answer.p);
            arm.pairs.add(answer.pairs);
            arm.sampled += usize::from(answer.passed.is_some());
            arm.passed += usize::from(answer.passed == Some(true));
            arm.seconds += answer.seconds;
        }
    }

    /// The arm with zones known and as many probes.
    fn known(&self, arm: &Arm) -> &Arm {
        let known = |other: &&Arm| other.told == Told::Zones && other.probed == arm.probed;
        self.arms.iter().find(known).expect("zones are known in some arm")
    }

    fn bins(&self, arm: &Arm) -> Vec<Bin> {
        scores::reliability(&arm.p, &self.y, &self.group)
    }

    fn worst(&self, arm: &Arm) -> Bin {
        let gap = |bin: &Bin| (bin.rate - bin.mean_p).abs();
        let bins = self.bins(arm).into_iter().filter(|bin| bin.n >= JUDGED);
        bins.max_by(|a, b| gap(a).total_cmp(&gap(b))).expect("some bin is full")
    }

    fn table(&self, title: &str) -> String {
        let sites = self.group.iter().max().map_or(0, |group| group + 1);
        let rate = 100.0 * self.y.iter().sum::<f64>() / self.y.len() as f64;
        let mut t = format!(
            "\n## {title}\n\n{sites} sites, {} holes, {rate:.1} % struck, {} refused\n\n",
            self.y.len(),
            self.refused.len()
        );
        let _ = writeln!(
            t,
            "| told | probes | Brier | less that of known zones (x 1000), 90 % by sites | log loss | less that of known zones (x 1000) | worst bin, points | near pairs right | stated on one zone | are | gates passed | seconds a site |\n|---|---|---|---|---|---|---|---|---|---|---|---|"
        );
        for arm in &self.arms {
            let known = self.known(arm);
            let less = |score| {
                let Skill { value, low, high } =
                    scores::difference(score, &arm.p, &known.p, &self.y, &self.group);
                if arm.told == Told::Zones {
                    return String::new();
                }
                format!("{:+.1} [{:+.1}, {:+.1}]", 1e3 * value, 1e3 * low, 1e3 * high)
            };
            let worst = self.worst(arm);
            let [right, stated, together] = arm.pairs.shares();
            let passed = if arm.sampled == 0 {
                "no chains".into()
            } else {
                format!("{} of {}", arm.passed, arm.sampled)
            };
            let _ = writeln!(
                t,
                "| {} | {} | {:.4} | {} | {:.4} | {} | {:+.1} ({:.1}) | {right:.1} % | {stated:.1} % | {together:.1} % | {passed} | {:.1} |",
                arm.told.name(),
                if arm.probed { PROBES_PER_SITE } else { 0 },
                scores::mean(brier_of, &arm.p, &self.y),
                less(brier_of),
                scores::mean(log_loss_of, &arm.p, &self.y),
                less(log_loss_of),
                100.0 * (worst.rate - worst.mean_p),
                100.0 * worst.se,
                arm.seconds / sites as f64
            );
        }
        self.reliability(&mut t);
        t
    }

    /// Gap in points, standard error by sites and number of holes, for each bin and arm.
    fn reliability(&self, t: &mut String) {
        let names = self
            .arms
            .iter()
            .map(|arm| format!("{}, {}", arm.told.name(), if arm.probed { PROBES_PER_SITE } else { 0 }));
        let names: Vec<String> = names.collect();
        let _ = writeln!(t, "\n| stated | {} |\n|---{}|", names.join(" | "), "|---".repeat(names.len()));
        for edge in scores::EDGES.windows(2) {
            let cells = self.arms.iter().map(|arm| {
                let bin = self.bins(arm).into_iter().find(|bin| bin.low == edge[0]);
                let gap = |bin: Bin| {
                    format!("{:+.1} ({:.1}) n {}", 100.0 * (bin.rate - bin.mean_p), 100.0 * bin.se, bin.n)
                };
                bin.map_or_else(String::new, gap)
            });
            let _ = writeln!(t, "| {}-{} | {} |", edge[0], edge[1], cells.collect::<Vec<_>>().join(" | "));
        }
    }
}

#[test]
#[ignore = "minutes: run with --ignored --nocapture"]
fn unknown_zones_beside_known_ones() {
    let all = arms(SITES);
    println!("{}", all.table("Unknown zones beside known ones"));
    assert!(all.refused.is_empty(), "sites without an answer: {:#?}", all.refused);
}
