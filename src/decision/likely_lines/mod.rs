//! Likely lines: where pipe probably runs, as chains of stations with a width of doubt, so that flags can be set from it.
//!
//! Sampled layouts name the courses that pipe may take (`courses`): from head to head, from head to header, along a header.
//! Across each course stand stations (`station`), and at each the draws are asked which line of the class passes, and how
//! far aside. So a line counts by where it lies and not by what it is called: the same row piped from a header or from head
//! to head, or fed through another valve where zones are unknown, is one line. A line that the station of another holds
//! within its band is not told twice. All of it is counted from draws; nothing here is exact beyond their number.

mod chain;
mod courses;
mod station;

use crate::class::Class;
use crate::error::Error;
use crate::geometry::Point;
use crate::infer::{Layouts, in_batches};
use crate::monitor::Monitor;
use chain::chains;
use courses::courses;
use station::{Crossings, Transect, transects};

/// What counts as likely, and how finely it is told.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LineOptions {
    /// Least share of draws, above 0 and at most 1.
    pub least_chance: f64,
    /// Distance between stations is at most this, metres.
    pub step_m: f64,
    /// A line further aside than this from its course belongs to another, metres.
    pub reach_m: f64,
}

impl Default for LineOptions {
    /// A quarter of the draws; a stake every 2 m; a reach beyond which one offset in five hundred lies
    /// (settings `offset_sd_m` and `offset_stray_sd_m` as shipped).
    fn default() -> Self {
        Self { least_chance: 0.25, step_m: 2.0, reach_m: 1.0 }
    }
}

impl LineOptions {
    fn check(&self) -> Result<(), Error> {
        let within = |name, value: f64, low: f64, high: f64, allowed| {
            if value > low && value <= high {
                Ok(())
            } else {
                Err(Error::BadArgument { name, value, allowed })
            }
        };
        within("least_chance", self.least_chance, 0.0, 1.0, "above 0 and at most 1")?;
        within("step_m", self.step_m, 0.05, 100.0, "above 0.05 and at most 100 m")?;
        within("reach_m", self.reach_m, 0.0, 10.0, "above 0 and at most 10 m")
    }
}

/// One place along a likely line: where a flag stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Station {
    /// Middle of the band across the line that holds the line in 90 % of the draws that have it here, metres.
    pub at: Point,
    /// Half width of that band, metres.
    pub half_width_m: f64,
    /// Direction of the line, radians counter-clockwise from x.
    pub bearing_rad: f64,
    /// Length of line that the station stands for, half to each side, metres.
    pub span_m: f64,
    /// Share of draws in which a line of the class passes here.
    pub chance: f64,
}

/// A line that is likely, station after station.
#[derive(Clone, Debug, PartialEq)]
pub struct LikelyLine {
    /// What it carries.
    pub class: Class,
    /// Index of the system it most often belongs to.
    pub system: usize,
    /// Share of the draws that have the line in which it belongs to that system.
    pub system_share: f64,
    /// Mean of its stations' chances, weighted by length.
    pub chance: f64,
    /// Its stations, in order.
    pub stations: Vec<Station>,
}

impl LikelyLine {
    /// Length, metres.
    pub fn length_m(&self) -> f64 {
        self.stations.iter().map(|station| station.span_m).sum()
    }
}

/// The likely lines of sampled layouts, by class and then the longest first. Lines of no system that probes found are no
/// part of this: their place is known as well as the probe's.
///
/// # Errors
/// [`Error::BadArgument`]; [`Error::Interrupted`].
pub fn likely_lines(
    layouts: &Layouts,
    options: &LineOptions,
    monitor: &dyn Monitor,
) -> Result<Vec<LikelyLine>, Error> {
    options.check()?;
    let courses = courses(layouts, options.least_chance);
    let seen: Vec<Vec<Transect>> =
        in_batches(courses.len(), monitor, |k| Ok(transects(layouts, &courses[k], options)))?;
    let mut order: Vec<usize> = (0..courses.len()).collect();
    let weight = |k: &usize| seen[*k].iter().map(|t| t.share() * t.span_m).sum::<f64>();
    order.sort_by(|a, b| weight(b).total_cmp(&weight(a)).then(a.cmp(b)));
    let mut told = Crossings::default();
    let mut lines = Vec::new();
    for (done, &k) in order.iter().enumerate() {
        if !monitor.tick(done, order.len()) {
            return Err(Error::Interrupted);
        }
        let fresh: Vec<Option<Transect>> =
            seen[k].iter().map(|t| told.without(t, courses[k].class, options.least_chance)).collect();
        for part in fresh.split(Option::is_none).filter(|part| !part.is_empty()) {
            let part: Vec<&Transect> = part.iter().flatten().collect();
            let stations: Vec<Station> = part.iter().map(|transect| transect.station()).collect();
            told.add(courses[k].class, &stations);
            lines.push(line(courses[k].class, &part, stations));
        }
    }
    Ok(chains(lines))
}

fn line(class: Class, part: &[&Transect], stations: Vec<Station>) -> LikelyLine {
    let (system, system_share) = station::system_of(part);
    let mut line = LikelyLine { class, system, system_share, chance: 0.0, stations };
    line.chance = chain::mean_chance(&line.stations);
    line
}

#[cfg(test)]
mod tests;
