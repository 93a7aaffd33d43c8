//! Crews that plant: each is given the same plan of holes on the same simulated site and may shift every hole within reach.
//! They differ in what they go by: the plan, lines drawn by eye and a setback, or the engine, before or after probes. Two
//! more are yardsticks that no crew can be: one knows the installers' law, one what lies buried.

use crate::by_eye::{CELL_M, drawn_lines, keep_off, knowing, least, places};
use crate::ceiling::Ceiling;
use crate::engine::Engine;
use crate::forecaster::Forecaster;
use crate::job::{Hole, Job, Probe, Survey};
use crate::plane::{Xy, xy};
use crate::unlabelled::{self, Told, budget};
use crate::{digs, installer, probes};
use std::time::Instant;
use underturf::class::Class;
use underturf::decision::{
    DigMap, Objective, PlaceOptions, ProbePlan, Weights, dig_maps, plan_probes, shifted, strike_probability,
};
use underturf::geometry::Point;
use underturf::inference::Layouts;
use underturf::monitor::Unwatched;
use underturf::site::{Dig, DigShape};
use underturf::strike::Form;

const HOLES_PER_SITE: usize = 6;
/// Most probes of any crew.
const PROBES_PER_SITE: usize = 6;
/// Probes that are planned before layouts are sampled anew.
const BATCH: usize = 2;
/// From drawn line to hole edge, metres. Common practice, no source.
pub const SETBACK_M: f64 = 0.6;
/// Layouts of a second sample judge the places that the first one chose.
const SECOND_SEED: u64 = 8;
/// Times that the law's own crew pipes a site.
const PIPED: usize = 300;

/// What a crew goes by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Crew {
    AsPlanned,
    /// Keeps hole edges this far from drawn lines, or as far as reach allows.
    Setback(f64),
    /// The engine's best shifts, every strike counting alike.
    Engine,
    /// The same with the consequence weights that are shipped.
    EngineWeighing,
    /// Probes where crews would put them without a plan, then the engine.
    RandomProbes,
    /// A probe in the middle of each hole as the engine would shift it, then the engine.
    ProbesInHoles,
    /// Probes planned by the engine, in batches, until it says that probing is not worth it.
    PlannedProbes,
    /// The same, planned for the holes as the engine would shift them by what it knows so far.
    PlannedForShifted,
    /// The same, told to plan on where no probe is worth it.
    PlannedForShiftedAlways,
    /// Probes planned for holes that may go to the best of several places once probes have reported.
    PlannedToShift,
    /// Knows the installers' law, not the ground.
    KnowsTheLaw,
    /// Knows the ground.
    KnowsTheGround,
}

impl Crew {
    pub fn name(self) -> String {
        match self {
            Self::AsPlanned => "as planned".into(),
            Self::Setback(m) if m.is_infinite() => "drawn lines, as far off as reach allows".into(),
            Self::Setback(m) => format!("drawn lines, setback {m} m"),
            Self::Engine => "engine".into(),
            Self::EngineWeighing => "engine, shipped weights".into(),
            Self::RandomProbes => format!("{PROBES_PER_SITE} random probes, engine"),
            Self::ProbesInHoles => "a probe in each shifted hole, engine".into(),
            Self::PlannedProbes => "planned probes, engine".into(),
            Self::PlannedForShifted => "probes planned for shifted holes, engine".into(),
            Self::PlannedForShiftedAlways => {
                format!("{PROBES_PER_SITE} probes planned for shifted holes, engine")
            }
            Self::PlannedToShift => "probes planned for holes free to shift, engine".into(),
            Self::KnowsTheLaw => "knows the installers' law".into(),
            Self::KnowsTheGround => "knows the ground".into(),
        }
    }
}

/// What one crew did on one site.
#[derive(Clone, Debug, Default)]
pub struct Done {
    /// Where it dug the holes.
    pub at: Vec<Xy>,
    /// The chances that the engine states there, by the layouts that chose where it chose; none for the yardstick that
    /// knows the ground, which no chance can be held against.
    pub stated: Vec<f64>,
    /// The same by a second sample that had no part in the choice.
    pub second: Vec<f64>,
    pub probes: usize,
    pub finds: usize,
    /// Best shifts onto ground that may not be dug: the crew reads the map instead.
    pub not_ground: usize,
    /// Whether chains were needed, and passed, for the layouts that it ended with.
    pub passed: Option<bool>,
    pub seconds: f64,
}

/// A site with its planting plan, and what the engine says of it before anybody probes.
pub struct Campaign {
    pub job: Job,
    pub holes: Vec<Hole>,
    seed: u64,
    told: Told,
    /// How far a hole may be shifted, metres.
    reach_m: f64,
    engine: Engine,
    first: Layouts,
}

impl Campaign {
    pub fn new(seed: u64, told: Told, reach_m: f64, draws: usize) -> Result<Self, String> {
        let job = installer::job(seed);
        let holes = digs::propose(&job.survey, HOLES_PER_SITE, seed);
        let engine = Engine { draws };
        let document = unlabelled::document(&job.survey, &holes, told, seed);
        let first = engine.layouts(document, &budget(told))?;
        Ok(Self { job, holes, seed, told, reach_m, engine, first })
    }

    /// One crew's work.
    pub fn go(&self, crew: Crew) -> Result<Done, String> {
        let began = Instant::now();
        let mut done = match crew {
            Crew::AsPlanned => self.overheard(|hole, _| hole.at)?,
            Crew::Setback(setback_m) => {
                let lines = drawn_lines(&self.seen());
                self.overheard(|hole, places| keep_off(hole, &lines, setback_m, places))?
            }
            Crew::Engine => self.by_engine(&[], &alike())?,
            Crew::EngineWeighing => self.by_engine(&[], &Weights::default())?,
            Crew::RandomProbes => {
                let places = probes::propose(&self.seen(), &self.holes, PROBES_PER_SITE, self.seed);
                self.by_engine(&probes::dig(&self.job, &places, self.seed), &alike())?
            }
            Crew::ProbesInHoles => {
                let (places, _) = self.shifted(&self.first, &alike())?;
                self.by_engine(&probes::dig(&self.job, &places, self.seed), &alike())?
            }
            Crew::PlannedProbes => self.by_engine(&self.planned(false, 0.0, false)?, &alike())?,
            Crew::PlannedForShifted => self.by_engine(&self.planned(true, 0.0, false)?, &alike())?,
            Crew::PlannedForShiftedAlways => self.by_engine(&self.planned(true, 0.0, true)?, &alike())?,
            Crew::PlannedToShift => self.by_engine(&self.planned(false, self.reach_m, false)?, &alike())?,
            Crew::KnowsTheLaw => self.by_the_law()?,
            Crew::KnowsTheGround => self.unstated(|hole, places| knowing(hole, &self.job, places)),
        };
        done.seconds = began.elapsed().as_secs_f64();
        Ok(done)
    }

    /// The survey as far as zones are told.
    fn seen(&self) -> Survey {
        unlabelled::seen(&self.job.survey, self.told)
    }

    fn unstated(&self, choose: impl Fn(&Hole, &[Xy]) -> Xy) -> Done {
        let at = self
            .holes
            .iter()
            .map(|hole| choose(hole, &places(&self.job.survey, hole, self.reach_m)))
            .collect();
        Done { at, ..Done::default() }
    }

    /// A crew that does not ask the engine; what it would have said is noted.
    fn overheard(&self, choose: impl Fn(&Hole, &[Xy]) -> Xy) -> Result<Done, String> {
        let done = self.unstated(choose);
        Ok(Done { stated: chances_at(&self.first, &done.at)?, ..done })
    }

    fn by_the_law(&self) -> Result<Done, String> {
        let mut done = Done::default();
        for hole in &self.holes {
            let places = places(&self.job.survey, hole, self.reach_m);
            let moved: Vec<Hole> = places.iter().map(|&at| Hole { at, ..*hole }).collect();
            let p = Ceiling { crews: PIPED }.forecast(&self.job.survey, &moved)?;
            let best = (0..p.len()).min_by(|&a, &b| p[a].total_cmp(&p[b])).expect("the planned place");
            done.at.push(places[best]);
            done.stated.push(p[best]);
        }
        Ok(done)
    }

    fn document(&self, probes: &[Probe]) -> serde_json::Value {
        let survey = Survey { probes: probes.to_vec(), ..self.job.survey.clone() };
        unlabelled::document(&survey, &self.holes, self.told, self.seed)
    }

    fn by_engine(&self, probes: &[Probe], weights: &Weights) -> Result<Done, String> {
        let anew;
        let layouts = if probes.is_empty() {
            &self.first
        } else {
            anew = self.engine.layouts(self.document(probes), &budget(self.told))?;
            &anew
        };
        let (at, not_ground) = self.shifted(layouts, weights)?;
        let second = if self.told == Told::Zones {
            let document = self.document(probes);
            let judge = self.engine.layouts_of(document, &budget(self.told), SECOND_SEED)?;
            chances_at(&judge, &at)?
        } else {
            Vec::new()
        };
        Ok(Done {
            stated: chances_at(layouts, &at)?,
            second,
            probes: probes.len(),
            finds: probes.iter().filter(|probe| probe.found).count(),
            not_ground,
            passed: layouts.convergence().map(|convergence| convergence.passed),
            at,
            seconds: 0.0,
        })
    }

    /// Where the engine's best shifts put the holes, and how many of them led onto ground that may not be dug.
    fn shifted(&self, layouts: &Layouts, weights: &Weights) -> Result<(Vec<Xy>, usize), String> {
        let digs = &layouts.site().digs;
        let options = PlaceOptions { weights: *weights, ..PlaceOptions::within(self.reach_m, CELL_M) };
        let maps = dig_maps(layouts, digs, &options, &Unwatched);
        let mut not_ground = 0;
        let of_hole = |(hole, found): (&Hole, DigMap)| {
            let to = found.better.shift().map_or(hole.at, |shift| hole.at + xy(shift.dx_m, shift.dy_m));
            if digs::may_dig(&self.job.survey, to, hole.radius_m) {
                return to;
            }
            not_ground += 1;
            let grid = &found.map.grid;
            least(&places(&self.job.survey, hole, self.reach_m), |at| {
                let col = ((at.x - grid.x0) / CELL_M).round() as usize;
                let row = grid.rows - 1 - ((at.y - grid.y0) / CELL_M).round() as usize;
                let p = found.map.p[(row, col)];
                if p.is_nan() { f64::INFINITY } else { p }
            })
        };
        let maps = maps.map_err(|error| error.to_string())?;
        let at = self.holes.iter().zip(maps).map(of_hole).collect();
        Ok((at, not_ground))
    }

    /// Plans, digs, and samples anew until all probes are dug or none is worth it.
    fn planned(&self, for_shifted: bool, shift_m: f64, always: bool) -> Result<Vec<Probe>, String> {
        let mut dug: Vec<Probe> = Vec::new();
        let mut anew = None;
        while dug.len() < PROBES_PER_SITE {
            let layouts = anew.as_ref().unwrap_or(&self.first);
            let planned = &layouts.site().digs;
            let digs = if for_shifted {
                let options = PlaceOptions { weights: alike(), ..PlaceOptions::within(self.reach_m, CELL_M) };
                let digs = shifted(layouts, planned, &options, &Unwatched);
                digs.map_err(|error| error.to_string())?
            } else {
                planned.clone()
            };
            let options = ProbePlan {
                objective: Objective::Loss,
                depth_m: Some(probes::DEPTH_M),
                weights: alike(),
                shift_m,
                always,
                ..ProbePlan::new(BATCH.min(PROBES_PER_SITE - dug.len()), probes::RADIUS_M)
            };
            let plan =
                plan_probes(layouts, &digs, &options, &Unwatched).map_err(|error| error.to_string())?;
            if plan.rows.is_empty() {
                break;
            }
            let places: Vec<Xy> = plan.rows.iter().map(|row| xy(row.at.x, row.at.y)).collect();
            dug.extend(probes::dig(&self.job, &places, self.seed ^ ((dug.len() as u64) << 32)));
            if dug.len() < PROBES_PER_SITE {
                anew = Some(self.engine.layouts(self.document(&dug), &budget(self.told))?);
            }
        }
        Ok(dug)
    }
}

/// Every strike counts alike, whatever the line carries.
fn alike() -> Weights {
    Weights { by_class: [1.0; Class::ALL.len()], ..Weights::default() }
}

/// The digs of the document at other places.
fn moved(layouts: &Layouts, at: &[Xy]) -> Vec<Dig> {
    let to = |(dig, at): (&Dig, &Xy)| {
        let DigShape::Disc { radius_m, .. } = dig.shape else { panic!("holes are round") };
        let shape = DigShape::Disc { centre: Point::new(at.x, at.y), radius_m };
        Dig { shape, ..dig.clone() }
    };
    layouts.site().digs.iter().zip(at).map(to).collect()
}

fn chances_at(layouts: &Layouts, at: &[Xy]) -> Result<Vec<f64>, String> {
    let strikes = strike_probability(layouts, &moved(layouts, at), Form::General, &Unwatched);
    Ok(strikes.map_err(|error| error.to_string())?.iter().map(|strike| strike.p).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    const REACH_M: f64 = 1.5;

    /// The engine's shifts are within reach on open ground, and lead where the engine sees less; mirrored, as by a map read
    /// upside down, they lead where it sees more than that.
    #[test]
    fn best_shifts_are_read_the_right_way_round() {
        let (mut here, mut there, mut mirrored) = (0.0, 0.0, 0.0);
        for seed in 0..3 {
            let campaign = Campaign::new(seed, Told::Zones, REACH_M, 200).expect("layouts");
            let (at, _) = campaign.shifted(&campaign.first, &alike()).expect("shifts");
            let planned: Vec<Xy> = campaign.holes.iter().map(|hole| hole.at).collect();
            for (hole, &at) in campaign.holes.iter().zip(&at) {
                assert!(hole.at.to(at) <= REACH_M + 1e-9);
                assert!(digs::may_dig(&campaign.job.survey, at, hole.radius_m));
            }
            let over = |(hole, at): (&Xy, &Xy)| xy(at.x, 2.0 * hole.y - at.y);
            let wrong: Vec<Xy> = planned.iter().zip(&at).map(over).collect();
            let sum = |at: &[Xy]| chances_at(&campaign.first, at).expect("chances").iter().sum::<f64>();
            here += sum(&planned);
            there += sum(&at);
            mirrored += sum(&wrong);
        }
        assert!(there < 0.5 * here && there < 0.5 * mirrored, "{here} {there} {mirrored}");
    }
}
