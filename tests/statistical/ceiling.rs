//! The ceiling: a forecaster that knows the simulator's own law. It pipes each site again and again by the same habits and
//! counts; crews that would have buried what the probes contradict count less, by the chance of the plain reports.
//! No engine can be expected above it; where the gate lies between the fitted maps and this ceiling says how hard the
//! gate is. It sees true positions in place of surveyed ones, which lifts it slightly, and is deaf to notes on finds.

use crate::forecaster::Forecaster;
use crate::installer;
use crate::job::{Hole, Line, Probe, Survey};
use crate::probes::{FALSE_FIND, detection};
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
        let (mut sum, mut squares) = (0.0, 0.0);
        for lines in installer::piped_anew(seed, self.crews) {
            let weight: f64 = survey.probes.iter().map(|p| chance(p, &lines)).product();
            sum += weight;
            squares += weight * weight;
            for (hit, dig) in hits.iter_mut().zip(digs) {
                *hit += weight * f64::from(u8::from(lines.iter().any(|l| strikes_line(dig, l))));
            }
        }
        // half a hit of an effective crew on either side keeps the log score finite
        let crews = sum * sum / squares;
        Ok(hits.into_iter().map(|h| (crews * h / sum + 0.5) / (crews + 1.0)).collect())
    }
}

/// Chance of a plain report over these lines.
fn chance(probe: &Probe, lines: &[Line]) -> f64 {
    let met = lines.iter().filter(|l| strikes_line(&probe.hole(), l)).count();
    let clear = (1.0 - detection(probe.tool)).powi(met as i32) * (1.0 - FALSE_FIND);
    if probe.found { 1.0 - clear } else { clear }
}
