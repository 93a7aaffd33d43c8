//! What is judged: anything that makes lines of flags. It is given what was seen and the holes, and returns which flag is on
//! which line, where lines run, what they carry, where they cross, and the chance that each hole strikes metal.

use super::survey::Survey;
use crate::job::Hole;
use crate::plane::Xy;

/// Makes lines of flags. The survey is all it may know.
pub trait MetalForecaster {
    /// # Errors
    /// A sentence that says why no answer is given for this site.
    fn forecast(&self, survey: &Survey, holes: &[Hole]) -> Result<Forecast, String>;
}

/// The answer for one site.
#[derive(Clone, Debug, Default)]
pub struct Forecast {
    /// One for each flag, in the order of the survey.
    pub flags: Vec<FlagForecast>,
    pub lines: Vec<LineForecast>,
    pub crossings: Vec<CrossingForecast>,
    /// Chance that each hole strikes metal, in the order of the holes.
    pub p_strike: Vec<f64>,
}

#[derive(Clone, Copy, Debug)]
pub struct FlagForecast {
    /// Index into `lines`; nothing for a stray.
    pub line: Option<usize>,
    pub p_stray: f64,
}

#[derive(Clone, Debug)]
pub struct LineForecast {
    pub course: CourseForecast,
    /// Names of classes as in the site document, with their chances.
    pub class: Vec<(String, f64)>,
}

/// Where a line runs.
#[derive(Clone, Debug)]
pub enum CourseForecast {
    /// Sampled courses, all alike in weight: the referee takes the middle 90 % of them.
    Draws(Vec<Vec<Xy>>),
    /// The mean course by stations with the half-width of a 90 % band.
    Band(Vec<Station>),
    /// Nothing is said.
    Untold,
}

#[derive(Clone, Copy, Debug)]
pub struct Station {
    pub at: Xy,
    pub half_width_m: f64,
}

/// Two lines of the forecast that cross.
#[derive(Clone, Copy, Debug)]
pub struct CrossingForecast {
    pub at: Xy,
    pub lines: [usize; 2],
}
