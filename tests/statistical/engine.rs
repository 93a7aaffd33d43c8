//! The engine on trial: survey in as a site document, chances out. Nothing else of it is used here.

use crate::adapter;
use crate::forecaster::Forecaster;
use crate::job::{Hole, Survey};
use std::sync::Arc;
use underturf::decision::strike_probability;
use underturf::infer::{SampleOptions, sample_layouts};
use underturf::io;
use underturf::monitor::Unwatched;
use underturf::strike::Form;

/// The engine with the settings that it ships with.
pub struct Engine {
    /// Layouts drawn for each site.
    pub draws: usize,
}

impl Forecaster for Engine {
    fn forecast(&self, survey: &Survey, digs: &[Hole]) -> Result<Vec<f64>, String> {
        let site = io::from_value(adapter::document(survey, digs)).map_err(|faults| faults.to_string())?;
        let options = SampleOptions { draws: self.draws, seed: 7 };
        let layouts =
            sample_layouts(&Arc::new(site), &options, &Unwatched).map_err(|error| error.to_string())?;
        let digs = layouts.site().digs.clone();
        let strikes = strike_probability(&layouts, &digs, Form::General, &Unwatched);
        Ok(strikes.map_err(|error| error.to_string())?.iter().map(|strike| strike.p).collect())
    }
}
