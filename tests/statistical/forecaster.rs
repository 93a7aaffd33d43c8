//! What is judged: anything that states a strike probability for each hole from the survey alone.

use crate::job::{Hole, Survey};
use crate::plane::area;

/// States the chance that each hole strikes a buried line. The survey is all it may know.
pub trait Forecaster {
    /// # Errors
    /// A sentence that says why no answer is given for this site.
    fn forecast(&self, survey: &Survey, digs: &[Hole]) -> Result<Vec<f64>, String>;
}

/// Pipe spread evenly over the ground, one throw of pipe per head: 1 - exp(-2 r L) (python/docs/model.md, 10). It exercises the
/// judging before an engine is plugged in, and is the "no information" line beside it afterwards.
pub struct EvenSpread;

impl Forecaster for EvenSpread {
    fn forecast(&self, survey: &Survey, digs: &[Hole]) -> Result<Vec<f64>, String> {
        let ground = area(&survey.boundary).abs();
        if ground <= 0.0 {
            return Err("the survey has no boundary".into());
        }
        let pipe: f64 = survey.heads.iter().map(|h| h.radius_m.unwrap_or(8.0)).sum();
        Ok(digs.iter().map(|d| 1.0 - (-2.0 * (d.radius_m + 0.015) * pipe / ground).exp()).collect())
    }
}
