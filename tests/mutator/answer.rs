//! A site asked all that a crew would ask of it, and whether every probability lies strictly between 0 and 1.

use std::sync::Arc;
use underturf::Error;
use underturf::decision::{self, PlaceOptions, ProbePlan, RankOptions, SpotOptions};
use underturf::inference::posterior::Limits;
use underturf::inference::{Layouts, RunBudget, SampleOptions, sample_layouts_within};
use underturf::monitor::Monitor;
use underturf::site::Site;
use underturf::strike::{Form, Strike};

/// Layouts drawn for an answer.
pub const DRAWS: usize = 20;

/// Probabilities that are none, each with what it is of.
#[derive(Debug, Default)]
pub struct Wrong(pub Vec<String>);

impl Wrong {
    /// A probability that has to lie strictly between 0 and 1.
    pub fn hold(&mut self, what: &str, p: f64) {
        if !(p > 0.0 && p < 1.0) {
            self.0.push(format!("{what} = {p:e}"));
        }
    }

    /// The chances of a strike.
    pub fn strike(&mut self, what: &str, strike: &Strike) {
        self.hold(what, strike.p);
        self.hold(&format!("{what} upper"), strike.upper);
        for (class, chance) in strike.by_class.iter().enumerate() {
            if let Some(chance) = chance {
                self.hold(&format!("{what} class {class}"), chance.p);
            }
        }
    }
}

/// Samples layouts with at most so much work.
///
/// # Errors
/// Those of the sampler.
pub fn layouts(site: Site, effort: u64, monitor: &dyn Monitor) -> Result<Layouts, Error> {
    let options = SampleOptions { draws: DRAWS, seed: 7 };
    let budget = RunBudget { accept_unconverged: true, longest: 1, effort, ..RunBudget::default() };
    sample_layouts_within(&Arc::new(site), &options, Limits::default(), &budget, monitor)
}

/// Asks the layouts: every dig, a coarse map, one planned probe, a rank, a spot; where `exact`, the first dig in the
/// determinant form as well, which builds every outer state.
///
/// # Errors
/// Those of the questions, but for places where no spot is left.
pub fn ask(layouts: &Layouts, exact: bool, monitor: &dyn Monitor) -> Result<Wrong, Error> {
    let mut wrong = Wrong::default();
    let digs = &layouts.site().digs;
    for found in
        decision::assess_by(layouts, digs, &PlaceOptions { cell_m: 0.5, ..PlaceOptions::default() }, monitor)?
    {
        wrong.strike(&format!("strike of {}", found.id), &found.strike);
        if let Some(shift) = found.better.shift() {
            wrong.hold("shift", shift.p);
        }
        if let Some(drawn) = &found.drawn {
            wrong.strike("strike as drawn", drawn);
        }
        for tree in found.tree.iter().chain(&found.tree_there) {
            for within in [&tree.setback, &tree.roots].into_iter().flatten() {
                if let Some(any) = within.any {
                    wrong.hold("within setback or roots", any.p);
                }
                for chance in within.by_class.iter().flatten() {
                    wrong.hold("within setback or roots, class", chance.p);
                }
            }
        }
    }
    if exact
        && layouts.findings().found.len() <= 2
        && layouts.convergence().is_none()
        && layouts.priors().len() == 1
    {
        match decision::strike_probability(layouts, &digs[..digs.len().min(1)], Form::Determinant, monitor) {
            Ok(strikes) => strikes.iter().for_each(|strike| wrong.strike("determinant strike", strike)),
            Err(Error::DeterminantTooDear { .. } | Error::TooMuchMemory { .. }) => {}
            Err(error) => return Err(error),
        }
    }
    let heads = layouts.site().heads.iter().map(|head| head.at);
    let (low, high) =
        heads.fold((f64::MAX, f64::MIN), |(l, h), p| (l.min(p.x).min(p.y), h.max(p.x).max(p.y)));
    let cell_m = ((high - low).max(4.0) / 16.0).min(50.0);
    let map = decision::strike_map(layouts, 0.4, 0.5, cell_m, None, monitor);
    match map {
        Ok(map) => {
            map.p.iter().filter(|p| !p.is_nan()).for_each(|p| wrong.hold("map", *p));
            map.upper.iter().filter(|p| !p.is_nan()).for_each(|p| wrong.hold("map upper", *p));
        }
        Err(Error::Argument(_)) => {} // a boundary of kilometres round a few heads
        Err(error) => return Err(error),
    }
    if digs.is_empty() {
        return Ok(wrong);
    }
    let ranking = decision::rank(layouts, digs, &RankOptions::default(), monitor)?;
    ranking.rows.iter().for_each(|row| wrong.hold("rank", row.p.loss));
    let plan = ProbePlan { reach_m: 1.0, cell_m: Some(0.5), always: true, ..ProbePlan::new(1, 0.25) };
    match decision::plan_probes(layouts, digs, &plan, monitor) {
        Ok(plan) => {
            for row in &plan.rows {
                wrong.hold("find of a probe", row.p_found);
                wrong.hold("strike of a probe", row.p_strike);
                for after in &row.after {
                    wrong.hold("after: now", after.p_now.p);
                    wrong.hold("after: if found", after.p_if_found.p);
                    wrong.hold("after: if clear", after.p_if_clear.p);
                }
            }
        }
        Err(Error::Argument(_) | Error::NoRoom { .. }) => {}
        Err(error) => return Err(error),
    }
    match decision::best_spots(layouts, &SpotOptions { cell_m, ..SpotOptions::new(1, 0.4, 0.4) }, monitor) {
        Ok(spots) => {
            for spot in &spots.spots {
                wrong.hold("spot", spot.p.loss);
                wrong.hold("spot upper", spot.upper);
                spot.by_class.iter().flatten().for_each(|p| wrong.hold("spot class", *p));
            }
        }
        Err(Error::Argument(_) | Error::NoRoom { .. }) => {}
        Err(error) => return Err(error),
    }
    for probe in &layouts.site().probes {
        wrong.hold("chance of a probe", layouts.chance_of_probe(probe));
        wrong.hold("chance by known lines", layouts.chance_by_known_lines(probe));
    }
    Ok(wrong)
}
