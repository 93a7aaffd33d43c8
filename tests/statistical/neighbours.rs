//! Two real networks as one site whose zones are not known: neighbouring feeders of one district, slid together until
//! their take-offs stand as far apart as those of either. Take-offs do not say which supply feeds them; each supply is a
//! box with one valve. The same holes are answered with the feeders known. What a pass shows: not knowing which of two
//! lines a take-off is on does not make chances false. It shows nothing of how installers zone heads.
//! Slow: `cargo test --release --test statistical neighbours -- --ignored --nocapture`.

use crate::feeders::{self, Feeder};
use crate::forecaster::Forecaster;
use crate::job::{Hole, Job, Survey};
use crate::page::Keeping;
use crate::plane::{Xy, extent, xy};
use crate::scores::{self, brier_of, log_loss_of};
use crate::trial::Trial;
use crate::unknown_zones::{Answer, Pairs, answer};
use crate::unlabelled::Told;
use std::fmt::Write;

const RADIUS_M: f64 = 1.0;
const HOLES: usize = 200;
/// Sites made of any two neighbouring feeders, at most.
const SITES_OF_TWO: usize = 2;

/// An answer that was given before.
struct Stated(Vec<f64>);

impl Forecaster for Stated {
    fn forecast(&self, _: &Survey, _: &[Hole]) -> Result<Vec<f64>, String> {
        Ok(self.0.clone())
    }
}

/// Two neighbouring feeders as one site, zone by feeder.
struct Neighbours {
    job: Job,
    axis_rad: f64,
}

/// Sites of two feeders each: cases of successive feeders of one network, in the order of the index.
fn sites(cases: &[Feeder]) -> Vec<Neighbours> {
    let feeder = |case: &Feeder| case.job.survey.name.split("_tee").next().expect("a name").to_owned();
    let feeders: Vec<&[Feeder]> = cases.chunk_by(|a, b| feeder(a) == feeder(b)).collect();
    let next = feeders.windows(2).filter(|two| two[0][0].job.group == two[1][0].job.group);
    next.flat_map(|two| two[0].iter().zip(two[1]).take(SITES_OF_TWO).map(|(a, b)| merged(a, b))).collect()
}

fn merged(first: &Feeder, second: &Feeder) -> Neighbours {
    let (a, mut b) = (first.job.clone(), second.job.clone());
    let heads = |job: &Job| job.survey.heads.iter().map(|head| head.at).collect::<Vec<Xy>>();
    let shift = xy(slide(&heads(&a), &heads(&b)), 0.0);
    let moved = |p: &mut Xy| *p = *p + shift;
    b.survey.heads.iter_mut().for_each(|head| moved(&mut head.at));
    b.survey.boxes.iter_mut().for_each(|held| moved(&mut held.at));
    b.lines.iter_mut().flat_map(|line| &mut line.path).for_each(moved);
    b.heads.iter_mut().for_each(moved);
    b.survey.heads.iter_mut().for_each(|head| head.zone = "2".into());
    b.survey.boxes.iter_mut().for_each(|held| held.zones = vec!["2".into()]);
    let mut job = a;
    job.survey.name = format!("{} and {}", job.survey.name, b.survey.name);
    job.survey.heads.extend(b.survey.heads);
    job.survey.boxes.extend(b.survey.boxes);
    job.lines.extend(b.lines);
    job.heads.extend(b.heads);
    let seen: Vec<Xy> = heads(&job).into_iter().chain(job.survey.boxes.iter().map(|held| held.at)).collect();
    let (low, high) = extent(&seen);
    let (centre, reach) = (low.between(high, 0.5), low.to(high) / 2.0 + 8.0);
    let turn = |k: i32| f64::from(k) * std::f64::consts::TAU / 72.0;
    job.survey.boundary = (0..72).map(|k| centre + xy(reach, 0.0).turned(turn(k))).collect();
    Neighbours { job, axis_rad: first.axis_rad }
}

/// How far the second group of points has to be moved along x to lie beyond the first with the usual spacing between.
fn slide(first: &[Xy], second: &[Xy]) -> f64 {
    let gap = f64::midpoint(spacing(first), spacing(second));
    let clear = |by: f64| {
        let moved = second.iter().map(|&p| p + xy(by, 0.0));
        moved.flat_map(|p| first.iter().map(move |q| p.to(*q))).fold(f64::INFINITY, f64::min)
    };
    // from far off, in steps of a decimetre
    let far = extent(first).1.x - extent(second).0.x + gap;
    let steps = (0..).map(|k| far - 0.1 * f64::from(k));
    steps.take_while(|&by| clear(by) >= gap).last().unwrap_or(far)
}

/// Median distance from a point to its nearest.
fn spacing(points: &[Xy]) -> f64 {
    let nearest = |p: &Xy| {
        let others = points.iter().map(|q| p.to(*q)).filter(|&d| d > 0.0);
        others.fold(f64::INFINITY, f64::min)
    };
    let mut all: Vec<f64> = points.iter().map(nearest).collect();
    all.sort_by(f64::total_cmp);
    all[all.len() / 2]
}

/// The same survey for one who does not know that there are two feeders: what the simple maps are made of.
fn lumped(job: &Job) -> Job {
    let mut job = job.clone();
    job.survey.heads.iter_mut().for_each(|head| head.zone = "1".into());
    job.survey.boxes.iter_mut().for_each(|held| held.zones = vec!["1".into()]);
    job
}

#[test]
#[ignore = "minutes: run with --ignored --nocapture"]
fn neighbours_beside_known_feeders() {
    let keeping = Keeping::begin("neighbours", "neighbours::neighbours_beside_known_feeders");
    let dir = feeders::data();
    let (mut known, mut unknown) = (Trial::default(), Trial::default());
    let (mut pairs, mut passed, mut seconds, mut refused) = (Pairs::default(), 0, [0.0; 2], Vec::new());
    let all = sites(&feeders::take_off_cases(&dir));
    for (k, site) in all.iter().enumerate() {
        let lumped = lumped(&site.job);
        let holes = feeders::holes(&lumped.survey, RADIUS_M, HOLES, k as u64);
        let ask = |told| answer(&site.job.survey, &holes, told, 0);
        match (ask(Told::Zones), ask(Told::Valves)) {
            (Ok(told), Ok(untold)) => {
                for (sum, answer) in seconds.iter_mut().zip([&told, &untold]) {
                    *sum += answer.seconds;
                }
                let Answer { p, pairs: judged, passed: pass, .. } = untold;
                pairs.add(judged);
                passed += usize::from(pass == Some(true));
                let group = || site.job.group.clone();
                known.add(&site.job, &holes, site.axis_rad, &Stated(told.p), |_| group());
                unknown.add(&lumped, &holes, site.axis_rad, &Stated(p), |_| group());
            }
            (Err(reason), _) | (_, Err(reason)) => refused.push(reason),
        }
    }
    let mut t = known.judge("Two neighbouring feeders, which take-off is on which known").table;
    t += &unknown.judge("Two neighbouring feeders, which take-off is on which not known").table;
    t += "\n";
    for (name, score) in [("Brier", brier_of as fn(f64, f64) -> f64), ("log loss", log_loss_of)] {
        let d = scores::difference(score, &unknown.p, &known.p, &known.y, &known.group);
        let _ = writeln!(
            t,
            "- {name}, unknown less known: {:+.4} [{:+.4}, {:+.4}], 90 % by networks",
            d.value, d.low, d.high
        );
    }
    let _ = writeln!(
        t,
        "- {pairs}; gates passed on {passed} of {}; seconds a site {:.1} known, {:.1} unknown",
        all.len(),
        seconds[0] / all.len() as f64,
        seconds[1] / all.len() as f64
    );
    keeping.keep(
        &format!("{} sites, {} holes", all.len(), known.y.len()),
        "of holes 0 to the number of sites",
        &t,
    );
    assert!(refused.is_empty(), "sites without an answer: {refused:#?}");
}

#[test]
fn a_group_is_slid_until_the_usual_spacing_is_left() {
    // spacings 2 and 4, so 3 is left: the second group's corner ends at x = 2 + 3, height alike
    let first = [xy(0.0, 0.0), xy(2.0, 0.0)];
    let second = [xy(10.0, 0.0), xy(14.0, 0.0)];
    assert!((slide(&first, &second) - (5.0 - 10.0)).abs() < 0.11);
    // past each other sideways, they may interlock
    let aside = [xy(10.0, 2.9), xy(14.0, 2.9)];
    assert!(slide(&first, &aside) < -5.0);
}

#[test]
#[ignore = "reads the open network data"]
fn neighbours_are_two_whole_feeders() {
    let dir = feeders::data();
    let cases = feeders::take_off_cases(&dir);
    let all = sites(&cases);
    assert!((20..=60).contains(&all.len()), "{} sites", all.len());
    for site in &all {
        let survey = &site.job.survey;
        assert_eq!(survey.zones(), ["1", "2"]);
        assert_eq!((survey.boxes.len(), survey.heads.len()), (2, site.job.heads.len()));
        for (head, truth) in survey.heads.iter().zip(&site.job.heads) {
            assert!(head.at.to(*truth) < 0.61);
            let on = |line: &crate::job::Line| crate::plane::nearest_on_path(*truth, &line.path).1;
            assert!(site.job.lines.iter().map(on).fold(f64::INFINITY, f64::min) < 0.01);
        }
    }
}
