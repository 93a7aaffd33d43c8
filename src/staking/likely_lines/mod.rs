//! Likely lines: where pipe probably runs, as chains of stations with a width of doubt, so that flags can be set from it.
//!
//! Sampled layouts name the courses that pipe may take (`courses`): from head to head, from head to header, along a header.
//! Across each course stand stations (`station`), and at each the draws are asked which line of the class passes, and how
//! far aside. So a line counts by where it lies and not by what it is called: the same row piped from a header or from head
//! to head, or fed through another valve where zones are unknown, is one line. A line that the station of another holds
//! within its band is not told twice. All of it is counted from draws; nothing here is exact beyond their number.

mod chain;
mod courses;
mod line;
mod station;

use crate::class::Class;
use crate::error::Error;
use crate::inference::{Layouts, in_batches};
use crate::monitor::Monitor;
use chain::chains;
use courses::courses;
pub use line::{LikelyLine, LineOptions, Station};
use station::{Crossings, Transect, transects};

/// The likely lines of sampled layouts, by class and then the longest first. Lines of no system that probes found are no
/// part of this: their place is known as well as the probe's.
///
/// # Errors
/// [`Error::Argument`]; [`Error::Interrupted`].
///
/// # Examples
/// ```
/// use underturf::monitor::Unwatched;
/// use underturf::staking::{LineOptions, likely_lines};
/// let layouts = underturf::example::layouts()?;
/// let lines = likely_lines(&layouts, &LineOptions::default(), &Unwatched)?;
/// assert!(lines.iter().all(|line| line.chance > 0.0 && line.length_m() > 0.0));
///
/// let never = LineOptions { least_chance: 0.0, ..LineOptions::default() };
/// let said = likely_lines(&layouts, &never, &Unwatched).unwrap_err().to_string();
/// assert_eq!(said, "least_chance is 0; it must be above 0 and at most 1");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
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
