//! An installer simulator: a seed makes a job, that is a surveyed site with its buried truth. It is the independent referee
//! of the engine: heads are set for coverage, then piped by habit; it imports nothing of the engine and shares none of
//! its laws. Numbers come from the trade values or are common practice, no source; each file says which.

mod cover;
mod coverage;
mod dice;
#[cfg(test)]
mod facts;
mod grounds;
pub mod habits;
mod mains;
mod piping;
mod site;
mod ways;
mod zoning;

pub use dice::Dice;

use crate::job::{Fixture, Head, Job, Line, Obstacle, Survey, Tree, ValveBox};
use crate::plane::Xy;
use piping::Piping;
use site::Site;

/// Streams of one seed: what stands above ground, what lies below, what the crew measures.
const SITE: u64 = 0;
const PIPING: u64 = 0x_9196_0000_0000;
const SURVEY: u64 = 0x_5372_0000_0000;
const AGAIN: u64 = 0x_a6a1_0000_0000;

/// Job number `seed`: the same for ever.
pub fn job(seed: u64) -> Job {
    let (site, piping) = draw(seed);
    let mut dice = Dice::new(seed ^ SURVEY);
    let mut job = Job {
        heads: site.zones.iter().flatten().map(|&i| site.heads[i].at).collect(),
        survey: survey(&site, seed, &mut dice),
        lines: piping.lines,
        habits: piping.habits,
        group: format!("site {seed}"),
    };
    turn(&mut job, bearing(seed));
    job
}

/// The buried lines of job number `seed`, had other crews piped the very same site: `n` times anew.
pub fn piped_anew(seed: u64, n: usize) -> impl Iterator<Item = Vec<Line>> {
    let (site, _) = draw(seed);
    let angle_rad = bearing(seed);
    let mut dice = Dice::new(seed ^ AGAIN);
    let mut next = move || {
        loop {
            if let Some(mut piping) = piping::draw(&site, &mut dice) {
                let points = piping.lines.iter_mut().flat_map(|l| &mut l.path);
                points.for_each(|p| *p = p.turned(angle_rad));
                return piping.lines;
            }
        }
    };
    (0..n).map(move |_| next())
}

fn draw(seed: u64) -> (Site, Piping) {
    let (mut above, mut below) = (Dice::new(seed ^ SITE), Dice::new(seed ^ PIPING));
    loop {
        if let Some(site) = site::draw(&mut above)
            && let Some(piping) = piping::draw(&site, &mut below)
        {
            return (site, piping);
        }
    }
}

/// The bearing by which a job is turned, so that no axis of the page means anything.
fn bearing(seed: u64) -> f64 {
    Dice::new(seed ^ SURVEY ^ 1 << 32).bearing()
}

/// What a crew measures.
fn survey(site: &Site, seed: u64, dice: &mut Dice) -> Survey {
    let grounds = &site.grounds;
    let sd = dice.uniform(0.05, 0.15);
    let mut seen = |p: Xy| {
        // nobody records a head inside a wall or in the neighbour's ground
        (0..40).map(|_| p + dice.scatter(sd)).find(|&q| grounds.is_open(q, 0.0)).unwrap_or(p)
    };
    let label = |z: usize| (z + 1).to_string();
    let mut heads = Vec::new();
    for (z, members) in site.zones.iter().enumerate() {
        heads.extend(members.iter().map(|&i| {
            let head = &site.heads[i];
            let radius_m = Some((head.radius_m * 10.0).round() / 10.0);
            Head { at: seen(head.at), zone: label(z), kind: head.kind, radius_m }
        }));
    }
    let boxes = site
        .boxes
        .iter()
        .map(|b| ValveBox { at: seen(b.at), zones: b.zones.iter().map(|&z| label(z)).collect() });
    let boxes = boxes.collect();
    let outlets =
        site.outlet.iter().map(|o| Fixture { at: seen(o.fixture.at), kind: o.fixture.kind }).collect();
    let meter = Fixture { at: seen(grounds.meter), kind: "meter" };
    // now and then nobody finds the meter
    let sources = if dice.chance(0.15) { Vec::new() } else { vec![meter] };
    Survey {
        name: format!("installer {seed}, {}", grounds.shape),
        boundary: grounds.boundary.clone(),
        heads,
        boxes,
        sources,
        outlets,
        obstacles: grounds.obstacles.clone(),
        trees: grounds.trees.clone(),
        probes: Vec::new(),
    }
}

/// Turns the whole job.
fn turn(job: &mut Job, angle_rad: f64) {
    let t = |p: &mut Xy| *p = p.turned(angle_rad);
    let survey = &mut job.survey;
    survey.boundary.iter_mut().for_each(t);
    survey.heads.iter_mut().for_each(|h| t(&mut h.at));
    survey.boxes.iter_mut().for_each(|b| t(&mut b.at));
    survey.sources.iter_mut().chain(&mut survey.outlets).for_each(|f| t(&mut f.at));
    survey.obstacles.iter_mut().for_each(|Obstacle { outline, .. }| outline.iter_mut().for_each(t));
    survey.trees.iter_mut().for_each(|Tree { at, .. }| t(at));
    job.lines.iter_mut().for_each(|l| l.path.iter_mut().for_each(t));
    job.heads.iter_mut().for_each(t);
}

#[cfg(test)]
mod tests {
    use super::habits::HABITS;
    use super::*;
    use crate::job::Carries;
    use crate::plane::{inside, point_to_segment, segment_enters};

    #[test]
    fn a_seed_is_one_job_for_ever_and_another_seed_another() {
        let shape = |s| format!("{:?}", job(s).lines);
        assert_eq!(shape(5), shape(5));
        assert_ne!(shape(5), shape(6));
    }

    #[test]
    fn every_head_is_fed_and_no_pipe_runs_through_a_house_or_pool() {
        for seed in 0..150 {
            let job = job(seed);
            let laterals: Vec<&Line> = job.lines.iter().filter(|l| l.carries == Carries::Lateral).collect();
            for head in &job.heads {
                let near = laterals
                    .iter()
                    .flat_map(|l| l.path.windows(2).map(|w| point_to_segment(*head, w[0], w[1])))
                    .fold(f64::INFINITY, f64::min);
                // a head within 3 cm of a passing pipe is fed by its fitting
                assert!(near < 0.03, "seed {seed} {:?}: a head stands {near} m from its pipe", job.habits);
            }
            for wall in job.survey.outlines("building").chain(job.survey.outlines("pool")) {
                for line in &job.lines {
                    let through = line.path.windows(2).any(|w| segment_enters(w[0], w[1], wall));
                    assert!(!through, "seed {seed} {:?}: {:?} through a wall", job.habits, line.carries);
                }
            }
            assert!(job.lines.iter().all(|l| l.cover_m.len() + 1 == l.path.len()));
            let heads = job.survey.heads.iter().map(|h| h.at).chain(job.survey.boxes.iter().map(|b| b.at));
            for p in heads {
                assert!(inside(p, &job.survey.boundary), "seed {seed}: a head or box off the ground");
            }
        }
    }

    #[test]
    fn every_habit_occurs_and_half_of_them_lie_outside_both_families() {
        let zones: Vec<&str> = (0..300).flat_map(|s| job(s).habits).collect();
        for habit in &HABITS {
            // 300 sites have some 600 zones; the rarest habit (7 %) would be missed with chance below 1e-9
            assert!(zones.contains(&habit.name), "{} never occurs", habit.name);
        }
        assert!(HABITS.iter().filter(|h| h.outside).count() >= 3);
    }
}
