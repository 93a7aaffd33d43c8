//! Simulation-based calibration of the engine's answer where zones are not known: a zoning is drawn from the zoning prior
//! (every zoning of a small site is weighed), a layout from the law of that zoning; one valve is run and some
//! heads are noted wrongly, two probes are dug. The truth's rank among what the engine samples given the notes and the
//! finds must be uniform, whatever is measured. Heads, boxes and grounds are those of small simulated sites: covariates,
//! no truth. Slow: `cargo test --release --test statistical sbc_zones -- --ignored --nocapture`.

use crate::installer::{self, Dice};
use crate::job::{Hole, Probe, Survey};
use crate::page::Keeping;
use crate::probe_law::{self, Run};
use crate::ranks::{RANKED, Ranks};
use crate::sbc::places;
use crate::{adapter, digs, labelling, probes, unlabelled};
use serde_json::{Value, json};
use std::ops::Range;
use std::sync::Arc;
use underturf::inference::posterior::Limits;
use underturf::inference::proposals::Zoning;
use underturf::inference::{RunBudget, SampleOptions, sample_layouts_within};
use underturf::layout::{Draw, OuterPrior, UnmappedLines};
use underturf::model::{LayoutPrior, WeightedZoning, ZoningPrior};
use underturf::monitor::Unwatched;
use underturf::rng;
use underturf::site::Site;
use underturf::site::io;
use underturf::spanning_tree::Scratch;

const SITES: usize = 300;
const DRAWS: usize = 1_000;
/// Every zoning of so many heads on three zones is weighed: half a million.
const HEADS: std::ops::RangeInclusive<usize> = 8..=12;
const ZONES: std::ops::RangeInclusive<usize> = 2..=3;
/// Chance that the test's note on one head is wrong.
const ERROR: f64 = 0.1;
const PROBES: usize = 2;
const HOLES: usize = 8;
const NEAR: usize = 4;

const MEASURES: [&str; 8] = [
    "near pairs of heads on one zone",
    "lateral length",
    "holes struck, of 8",
    "log density of labels",
    "log-likelihood of notes and reports",
    "heads of the largest zone",
    "log-likelihood of notes",
    "log-likelihood of reports",
];

/// Where the layouts come from among which the truth is ranked.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Ranked {
    /// The engine's, given the test and the probes: on trial.
    Posterior,
    /// The engine's on the same site with both dropped: the planted fault.
    Deaf,
}

/// A site, its true zones and layout, and what was noted and dug.
struct Case {
    seed: u64,
    survey: Survey,
    holes: Vec<Hole>,
    pairs: Vec<(usize, usize)>,
    /// The site with all that is known of it.
    site: Site,
    unmapped: UnmappedLines,
    zone_of: Vec<usize>,
    truth: Vec<Run>,
}

/// Small sites from a range that no other judgement uses, by their places in it.
fn cases(places: Range<usize>) -> impl Iterator<Item = Case> {
    let jobs = (40_000..).map(|seed| (seed, installer::job(seed).survey));
    let small = jobs.filter(|(_, s)| HEADS.contains(&s.heads.len()) && ZONES.contains(&s.zones().len()));
    small.skip(places.start).take(places.len()).map(|(seed, survey)| Case::new(seed, survey))
}

/// The document of a survey without zones at its heads, with steps of the law coarse enough for a quick answer: truth and
/// answer are of the same law, whichever it is.
fn document(survey: &Survey) -> Value {
    let mut document = adapter::document(survey, &[]);
    unlabelled::forget(&mut document);
    document["settings"] = json!({"grid_step_deg": 5.0, "header_step_m": 0.6});
    document
}

fn read(document: Value) -> Site {
    io::from_value(document).expect("a sound document")
}

impl Case {
    fn new(seed: u64, mut survey: Survey) -> Self {
        let mut dice = Dice::new(seed ^ 0x_5bc4_0000_0000);
        let mut rng = rng::stream(seed, 1 << 50);
        let silent = read(document(&survey));
        let zone_of = labelling::draw(&silent, &mut rng);
        let known = WeightedZoning { zone_of: zone_of.clone(), probability: 1.0 };
        let law = LayoutPrior::with_zoning(&silent, &known).expect("a law");
        let draw = Draw::sample(&law, &mut rng).expect("a layout");
        let truth = probe_law::runs(&draw.pieces(&law, &mut rng));
        let test = test(&silent, &zone_of, &mut dice);
        let places = places(&survey, PROBES, &mut dice);
        let dig = |at| {
            let (tool, depth_m) = ("pothole", dice.uniform(0.3, 0.5));
            let probe = Probe { at, radius_m: probes::RADIUS_M, depth_m, tool, found: false, noted: None };
            let note = dice.chance(0.5);
            probe_law::dig(probe, note, &truth, law.unmapped_lines(), &mut dice)
        };
        survey.probes = places.into_iter().map(dig).collect();
        let mut all = document(&survey);
        all["station_tests"] = json!([test]);
        Self {
            holes: digs::propose(&survey, HOLES, seed),
            pairs: unlabelled::near_pairs(&survey, NEAR),
            site: read(all),
            unmapped: *law.unmapped_lines(),
            seed,
            survey,
            zone_of,
            truth,
        }
    }

    /// What the truth is ranked among, and whether the chains passed.
    fn ranked(&self, by: Ranked) -> (Vec<[f64; MEASURES.len()]>, bool) {
        let site = match by {
            Ranked::Posterior => self.site.clone(),
            Ranked::Deaf => read(document(&Survey { probes: Vec::new(), ..self.survey.clone() })),
        };
        let options = SampleOptions { draws: DRAWS, seed: self.seed };
        let budget = RunBudget { accept_unconverged: true, longest: 4, ..RunBudget::default() };
        let layouts =
            sample_layouts_within(&Arc::new(site), &options, Limits::default(), &budget, &Unwatched)
                .expect("layouts");
        let every = layouts.draws().len() / (RANKED + 1);
        let measures = |k: usize| {
            self.measures(&layouts.zonings()[k * every], &probe_law::runs(layouts.pieces().draw(k * every)))
        };
        let passed = layouts.convergence().expect("zones are not known").passed;
        ((1..=RANKED).map(measures).collect(), passed)
    }

    fn measures(&self, zone_of: &[usize], runs: &[Run]) -> [f64; MEASURES.len()] {
        let law = ZoningPrior::new(&self.site);
        let zoning = Zoning::new(&law, zone_of.to_vec(), &mut Scratch::default());
        let laterals = runs.iter().filter(|r| r.class == "lateral").flat_map(|r| &r.bits);
        let sizes = zoning.parts.iter().map(|part| part.heads.len());
        let reports = probe_law::log_chance(&self.survey.probes, runs, &self.unmapped);
        [
            self.pairs.iter().filter(|&&(a, b)| zone_of[a] == zone_of[b]).count() as f64,
            laterals.map(|bit| bit.a.to(bit.b)).sum(),
            self.holes.iter().filter(|hole| runs.iter().any(|run| run.meets(hole))).count() as f64,
            zoning.log_trees() + zoning.log_prior,
            zoning.log_notes + reports,
            sizes.max().unwrap_or(0) as f64,
            zoning.log_notes,
            reports,
        ]
    }
}

/// A valve is run, any alike; half of the crews know which, the others only in which box it is. Each head is noted rightly
/// or not.
fn test(site: &Site, zone_of: &[usize], dice: &mut Dice) -> Value {
    let ran = dice.whole(0, site.zones.len() - 1);
    let noted = |head: &usize| (zone_of[*head] == ran) != dice.chance(ERROR);
    let heads: Vec<usize> = (0..zone_of.len()).filter(noted).collect();
    let heads: Vec<&str> = heads.iter().map(|&head| site.heads[head].id.as_str()).collect();
    let zone = &site.zones[ran];
    if dice.chance(0.5) {
        json!({"zone": zone.name, "heads": heads, "error": ERROR})
    } else {
        json!({"valve": site.valve_boxes[zone.boxes[0]].id, "heads": heads, "error": ERROR})
    }
}

/// Ranks all measures over the sites and keeps the table; the measures whose ranks leave the bands.
fn judge(keeping: Keeping, by: Ranked, sites: Range<usize>) -> Vec<&'static str> {
    let mut ranks = Ranks::new(MEASURES);
    let (mut found, mut passed, mut heads) = (0, 0, 0);
    let (count, skipped) = (sites.len(), sites.start);
    for case in cases(sites) {
        found += case.survey.probes.iter().filter(|p| p.found).count();
        heads += case.survey.heads.len();
        let (drawn, pass) = case.ranked(by);
        passed += usize::from(pass);
        let truth = case.measures(&case.zone_of, &case.truth);
        ranks.add(&truth, &drawn, &mut Dice::new(case.seed ^ 0x_5bc5_0000_0000));
    }
    let n = format!("{count} sites, {heads} heads, {found} finds");
    let (table, outside) = ranks.judge(&format!("Zones not known, {by:?}: {n}, gates passed on {passed}"));
    keeping.keep(&n, &format!("from 40000 on, small sites, the first {skipped} left out"), &table);
    outside
}

/// n = 300 sites; each of the eight measures raises a false alarm with chance 1 %, all together 8 % at most; seeds are fixed.
#[test]
#[ignore = "minutes: run with --ignored --nocapture"]
fn sbc_zones_of_the_posterior() {
    let keeping = Keeping::begin("sbc_zones", "sbc_zones::sbc_zones_of_the_posterior");
    let outside = judge(keeping, Ranked::Posterior, 0..SITES);
    assert!(outside.is_empty(), "the engine's answer is not its law's: {outside:?}");
}

/// The same on as many other sites, because a measure came near its band on the first.
#[test]
#[ignore = "minutes: run with --ignored --nocapture"]
fn sbc_zones_of_the_posterior_on_other_sites() {
    let keeping =
        Keeping::begin("sbc_zones_other_sites", "sbc_zones::sbc_zones_of_the_posterior_on_other_sites");
    let outside = judge(keeping, Ranked::Posterior, SITES..2 * SITES);
    assert!(outside.is_empty(), "the engine's answer is not its law's: {outside:?}");
}

/// The planted fault: an engine deaf to the test and the probes is found out by the likelihood.
#[test]
#[ignore = "minutes: run with --ignored --nocapture"]
fn sbc_zones_finds_out_a_deaf_engine() {
    let keeping = Keeping::begin("sbc_zones_deaf", "sbc_zones::sbc_zones_finds_out_a_deaf_engine");
    let outside = judge(keeping, Ranked::Deaf, 0..SITES);
    assert!(outside.contains(&MEASURES[4]), "dropped notes and probes went unnoticed");
}
