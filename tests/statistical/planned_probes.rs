//! What planned probes are worth: a planting plan of twelve holes on each simulated site, eight probes chosen by the engine
//! and dug in batches, layouts sampled anew after each, against eight probes put where a crew would put them without a
//! plan, and against eight in the middle of the holes that the engine is least sure of. All crews meet the same buried
//! truth and note what they find.

use crate::engine::{self, Engine};
use crate::job::{Hole, Job, Probe, Survey};
use crate::page::Keeping;
use crate::plane::xy;
use crate::scores::{self, Skill, brier_of};
use crate::unlabelled::{self, Told};
use crate::{digs, installer, probes, truth};
use std::fmt::Write;
use underturf::decision::{Objective, ProbePlan, plan_probes};
use underturf::inference::Layouts;
use underturf::monitor::Unwatched;

const HOLES_PER_SITE: usize = 12;
const PROBES_PER_SITE: usize = 8;
/// Radius and depth of a hole that is planted, metres, are those of `digs`; the probes' are those of `probes`.
const DEPTH_M: f64 = 0.45;
/// What eight planned probes have to take off the Brier score (the prototype took off 35 %).
const LEAST_CUT: f64 = 0.35;

/// Answers before, after random probes, after planned ones, after probes in the least sure holes.
#[derive(Default)]
struct Campaign {
    p: [Vec<f64>; 4],
    y: Vec<f64>,
    group: Vec<usize>,
    /// Whether each hole shares ground with a probe of either kind.
    touched: Vec<bool>,
    found: [usize; 3],
    dug: [usize; 3],
    /// Answers from chains over zones, and how many of them passed their convergence checks.
    passed: [usize; 2],
}

/// Plans the next batch; places for probes.
type Planner = dyn Fn(&Layouts, usize) -> Vec<crate::plane::Xy>;

fn engine_plan(layouts: &Layouts, n: usize) -> Vec<crate::plane::Xy> {
    let plan = ProbePlan {
        objective: Objective::Variance,
        depth_m: Some(DEPTH_M),
        always: true,
        ..ProbePlan::new(n, probes::RADIUS_M)
    };
    let digs = layouts.site().digs.clone();
    let plan = plan_probes(layouts, &digs, &plan, &Unwatched).expect("a plan");
    plan.rows.iter().map(|row| xy(row.at.x, row.at.y)).collect()
}

impl Campaign {
    fn run(
        seeds: impl Iterator<Item = u64>,
        told: Told,
        engine: &Engine,
        batch: usize,
        planner: &Planner,
    ) -> Self {
        let mut all = Self::default();
        for (group, seed) in seeds.enumerate() {
            let job = installer::job(seed);
            let holes = digs::propose(&job.survey, HOLES_PER_SITE, seed);
            let ask = |probes: &[Probe]| {
                let survey = Survey { probes: probes.to_vec(), ..job.survey.clone() };
                let document = unlabelled::document(&survey, &holes, told, seed);
                engine.layouts(document, &unlabelled::budget(told)).expect("layouts")
            };
            let first = ask(&[]);
            let places = probes::propose(&unlabelled::seen(&job.survey, told), &holes, PROBES_PER_SITE, seed);
            let random = probes::dig(&job, &places, seed);
            let planned = campaign(&job, &first, batch, seed, planner, &ask);
            let middles = probes::dig(&job, &least_sure(&first, &holes), seed);
            let dug = [random, planned, middles];
            let after = dug.each_ref().map(|probes| ask(probes));
            for (layouts, p) in [&first, &after[0], &after[1], &after[2]].into_iter().zip(&mut all.p) {
                p.extend(engine::chances(layouts).expect("chances"));
                if let Some(convergence) = layouts.convergence() {
                    all.passed[0] += 1;
                    all.passed[1] += usize::from(convergence.passed);
                }
            }
            for hole in &holes {
                all.y.push(f64::from(u8::from(truth::strikes(hole, &job))));
                all.group.push(group);
                all.touched.push(dug.iter().any(|probes| touches(hole, probes)));
            }
            for (k, probes) in dug.iter().enumerate() {
                all.dug[k] += probes.len();
                all.found[k] += probes.iter().filter(|p| p.found).count();
            }
            if group % 8 == 7 {
                println!("{}", all.table("So far"));
            }
        }
        all
    }

    /// Share of the Brier score that is taken off, with 5 % and 95 % points over sites: random, planned.
    fn cut(&self, which: usize, apart: bool) -> Skill {
        let of: Vec<usize> = (0..self.y.len()).filter(|&i| !apart || !self.touched[i]).collect();
        let take = |v: &[f64]| of.iter().map(|&i| v[i]).collect::<Vec<f64>>();
        let group: Vec<usize> = of.iter().map(|&i| self.group[i]).collect();
        scores::skill(brier_of, &take(&self.p[which]), &take(&self.p[0]), &take(&self.y), &group)
    }

    fn sites(&self) -> usize {
        self.group.last().map_or(0, |g| g + 1)
    }

    fn n(&self) -> String {
        format!("{} sites, {} holes", self.sites(), self.y.len())
    }

    fn table(&self, title: &str) -> String {
        let sites = self.sites();
        let mut t = format!(
            "\n## {title}\n\n{sites} sites, {} holes, {} of them sharing ground with a probe; finds among random probes {} of {}, \
             planned {} of {}, in holes {} of {}\n\n| | Brier | cut, 90 % by sites | Brier, holes apart from probes | cut, apart |\n|---|---|---|---|---|\n",
            self.y.len(),
            self.touched.iter().filter(|t| **t).count(),
            self.found[0],
            self.dug[0],
            self.found[1],
            self.dug[1],
            self.found[2],
            self.dug[2]
        );
        let apart = |v: &[f64]| -> Vec<f64> {
            v.iter().zip(&self.touched).filter(|(_, t)| !**t).map(|(v, _)| *v).collect()
        };
        for (which, name) in ["before", "eight random", "eight planned", "eight in the least sure holes"]
            .into_iter()
            .enumerate()
        {
            let show = |s: Skill| format!("{:+.3} [{:+.3}, {:+.3}]", s.value, s.low, s.high);
            let _ = writeln!(
                t,
                "| {name} | {:.4} | {} | {:.4} | {} |",
                scores::mean(brier_of, &self.p[which], &self.y),
                show(self.cut(which, false)),
                scores::mean(brier_of, &apart(&self.p[which]), &apart(&self.y)),
                show(self.cut(which, true)),
            );
        }
        let stated = |p: &[f64]| p.iter().map(|p| p * (1.0 - p)).sum::<f64>() / p.len() as f64;
        let _ = writeln!(
            t,
            "\nExpected by the engine itself, mean p (1 - p): {:.4}, {:.4}, {:.4}, {:.4}",
            stated(&self.p[0]),
            stated(&self.p[1]),
            stated(&self.p[2]),
            stated(&self.p[3])
        );
        let _ = writeln!(t, "Thresholds passed: {} of {}", self.passed[1], self.passed[0]);
        t
    }
}

/// Plans, digs, and samples anew until all probes are dug.
fn campaign(
    job: &Job,
    first: &Layouts,
    batch: usize,
    seed: u64,
    planner: &Planner,
    ask: &dyn Fn(&[Probe]) -> Layouts,
) -> Vec<Probe> {
    let mut dug: Vec<Probe> = Vec::new();
    let mut places = planner(first, batch);
    while !places.is_empty() {
        dug.extend(probes::dig(job, &places, seed ^ ((dug.len() as u64) << 32)));
        if dug.len() >= PROBES_PER_SITE {
            break;
        }
        places = planner(&ask(&dug), batch.min(PROBES_PER_SITE - dug.len()));
    }
    dug
}

/// The middles of the eight holes whose chance is nearest to a half.
fn least_sure(layouts: &Layouts, holes: &[Hole]) -> Vec<crate::plane::Xy> {
    let p = engine::chances(layouts).expect("chances");
    let mut order: Vec<usize> = (0..holes.len()).collect();
    order.sort_by(|&a, &b| (p[a] - 0.5).abs().total_cmp(&(p[b] - 0.5).abs()));
    order.iter().take(PROBES_PER_SITE).map(|&k| holes[k].at).collect()
}

fn touches(hole: &Hole, probes: &[Probe]) -> bool {
    probes.iter().any(|probe| probes::overlaps(hole, probe.at))
}

fn setting<T: std::str::FromStr>(name: &str, default: T) -> T {
    std::env::var(name).ok().and_then(|n| n.parse().ok()).unwrap_or(default)
}

fn sites(default: usize) -> usize {
    setting("UNDERTURF_SITES", default)
}

/// n = 40 sites, 480 holes. The cut is judged by its own value against the target; its interval is printed. Planted fault:
/// [`probes_put_blindly_miss_the_target`].
#[test]
#[ignore = "the judgement: run with --ignored --nocapture"]
fn eight_planned_probes_on_installer_sites() {
    let keeping = Keeping::begin("planned_probes", "planned_probes::eight_planned_probes_on_installer_sites");
    let batch = setting("UNDERTURF_BATCH", 2);
    let all = Campaign::run(0..sites(40) as u64, Told::Zones, &Engine { draws: 2_000 }, batch, &engine_plan);
    let title = format!("Planting plans, known zones, planned in batches of {batch}");
    keeping.keep(&all.n(), "from 0 on", &all.table(&title));
    assert!(all.cut(2, false).value >= LEAST_CUT, "{}", all.table(&title));
    assert!(all.cut(2, false).value > all.cut(1, false).value);
}

/// n = 16 sites of two zones or more, 192 holes: a table beside that of known zones, no judgement. Chains over zones are slow.
#[test]
#[ignore = "an hour: run with --ignored --nocapture"]
fn eight_planned_probes_with_unknown_zones() {
    let keeping = Keeping::begin(
        "planned_probes_unknown_zones",
        "planned_probes::eight_planned_probes_with_unknown_zones",
    );
    let batch = setting("UNDERTURF_BATCH", 4);
    let (mut tables, mut n) = (String::new(), String::new());
    let several = |seed: &u64| installer::job(*seed).survey.zones().len() > 1;
    let seeds = || (0..).filter(several).take(sites(16));
    for (told, draws) in [(Told::Zones, 2_000), (Told::Valves, 1_000)] {
        let all = Campaign::run(seeds(), told, &Engine { draws }, batch, &engine_plan);
        tables += &all.table(&format!("Planting plans, {}, in batches of {batch}", told.name()));
        n = all.n();
    }
    keeping.keep(&n, "from 0 on, sites of two zones or more", &tables);
}

/// Planted: a planner that goes round the site without looking at the digs does not reach the target.
#[test]
#[ignore = "minutes: run with --ignored"]
fn probes_put_blindly_miss_the_target() {
    let blind = |layouts: &Layouts, n: usize| -> Vec<crate::plane::Xy> {
        let site = layouts.site();
        let nth = |k: usize| {
            let head = site.heads[(site.probes.len() + k) * 7 % site.heads.len()].at;
            xy(head.x + 0.5, head.y + 0.5)
        };
        (0..n).map(nth).collect()
    };
    let all = Campaign::run(0..sites(12).min(12) as u64, Told::Zones, &Engine { draws: 500 }, 8, &blind);
    assert!(all.cut(2, false).value < LEAST_CUT, "{}", all.table("Blind"));
}
