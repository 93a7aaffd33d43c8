//! The ceiling: a forecaster that knows the simulator's own law. It pipes each site again and again by the same habits and
//! counts. No engine can be expected above it; where the gate lies between the fitted maps and this ceiling says how
//! hard the gate is. It sees true positions in place of surveyed ones, which lifts it slightly.

use crate::forecaster::Forecaster;
use crate::installer;
use crate::job::{Hole, Survey};
use crate::truth::strikes_line;

/// Counts strikes over `crews` crews on the site whose number stands in the survey's name.
pub struct Ceiling {
    pub crews: usize,
}

impl Forecaster for Ceiling {
    fn forecast(&self, survey: &Survey, digs: &[Hole]) -> Result<Vec<f64>, String> {
        let number = survey.name.split([' ', ',']).nth(1).and_then(|k| k.parse().ok());
        let seed = number.ok_or("the survey's name has no site number")?;
        let mut hits = vec![0.0; digs.len()];
        for lines in installer::piped_anew(seed, self.crews) {
            for (hit, dig) in hits.iter_mut().zip(digs) {
                *hit += f64::from(u8::from(lines.iter().any(|l| strikes_line(dig, l))));
            }
        }
        // half a hit on either side keeps the log score finite
        Ok(hits.into_iter().map(|h| (h + 0.5) / (self.crews as f64 + 1.0)).collect())
    }
}
