//! The engine on trial: survey in as a site document, chances out. Nothing else of it is used here.

use crate::adapter;
use crate::forecaster::Forecaster;
use crate::job::{Hole, Survey};
use serde_json::Value;
use std::sync::Arc;
use underturf::decision::strike_probability;
use underturf::inference::posterior::Limits;
use underturf::inference::{Layouts, RunBudget, SampleOptions, sample_layouts_within};
use underturf::monitor::Unwatched;
use underturf::site::io;
use underturf::strike::Form;

const SEED: u64 = 7;

/// The engine with the settings that it ships with.
pub struct Engine {
    /// Layouts drawn for each site.
    pub draws: usize,
}

impl Engine {
    /// Layouts of the site of a document; where chains over zones did not pass, `budget` says what happens.
    pub fn layouts(&self, document: Value, budget: &RunBudget) -> Result<Layouts, String> {
        self.layouts_of(document, budget, SEED)
    }

    /// The same with layouts drawn from another seed.
    pub fn layouts_of(&self, document: Value, budget: &RunBudget, seed: u64) -> Result<Layouts, String> {
        let site = io::from_value(document).map_err(|faults| faults.to_string())?;
        let options = SampleOptions { draws: self.draws, seed };
        sample_layouts_within(&Arc::new(site), &options, Limits::default(), budget, &Unwatched)
            .map_err(|error| error.to_string())
    }
}

/// The chance of a strike for each dig of the document.
pub fn chances(layouts: &Layouts) -> Result<Vec<f64>, String> {
    let digs = layouts.site().digs.clone();
    let strikes = strike_probability(layouts, &digs, Form::General, &Unwatched);
    Ok(strikes.map_err(|error| error.to_string())?.iter().map(|strike| strike.p).collect())
}

impl Forecaster for Engine {
    fn forecast(&self, survey: &Survey, digs: &[Hole]) -> Result<Vec<f64>, String> {
        chances(&self.layouts(adapter::document(survey, digs), &RunBudget::default())?)
    }
}
