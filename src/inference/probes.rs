//! The probes of a site as findings, and what to say of those that the prior finds nearly impossible.

use super::known_zones::KnownZones;
use crate::class::Class;
use crate::effort::Work;
use crate::error::{ArgumentError, Error};
use crate::site::{Probe, Site};
use crate::strike::{Find, Findings, MOST_FINDS, Observation, Report};

/// Evidence less probable than this given everything else is pointed out.
pub const SURPRISE: f64 = 0.001;

/// Clear probes below this chance by the sift are weighed by all outer states. Numerical choice: twenty times the bound.
const SIFTED_BELOW: f64 = 20.0 * SURPRISE;

/// The probes of a site.
///
/// # Errors
/// [`ArgumentError::TooManyFinds`] for more finds than can be summed over exactly.
pub fn findings(site: &Site) -> Result<Findings, Error> {
    let mut findings = Findings::default();
    for probe in &site.probes {
        if probe.found {
            findings.found.push(Find { look: look(probe), false_find: false_find(probe) });
        } else {
            findings.clear.push(look(probe));
        }
    }
    if findings.found.len() > MOST_FINDS {
        return Err(ArgumentError::TooManyFinds { finds: findings.found.len(), most: MOST_FINDS }.into());
    }
    Ok(findings)
}

/// A probe as a look into the ground.
pub fn look(probe: &Probe) -> Observation {
    Observation {
        footprint: probe.shape.footprint(),
        depth_m: probe.depth_m,
        detect: probe.p_detect,
        report: report(probe),
    }
}

/// Chance that the same is noted where no line is met.
pub fn false_find(probe: &Probe) -> f64 {
    probe.p_false * report(probe).of_nothing(probe.depth_m)
}

fn report(probe: &Probe) -> Report {
    if !probe.found {
        return Report::default();
    }
    Report { class: probe.class, angle_rad: probe.angle_rad, cover_m: probe.cover_m }
}

/// One sentence for each finding that the prior, with everything else seen, finds nearly impossible; `chances` are those of
/// [`KnownZones::chances`]. `None` if `work` is to stop.
pub fn surprises(
    site: &Site,
    zones: &KnownZones<'_>,
    chances: &[f64],
    work: &dyn Work,
) -> Option<Vec<String>> {
    let mut sentences = Vec::new();
    let mut clear = 0;
    for (index, (probe, &chance)) in site.probes.iter().zip(chances).enumerate() {
        if probe.found {
            if chance < SURPRISE && !of_utility(probe) {
                sentences.push(unexplained_find(index));
            }
        } else {
            // Few outer states tell which probes are worth a closer look.
            if chance < SIFTED_BELOW && zones.chance_of_clear(clear, 1, work)? < SURPRISE {
                sentences.push(unexplained_clear(index));
            }
            clear += 1;
        }
    }
    Some(sentences)
}

/// A line of a utility has a note of its own: no system of the layouts could answer for it.
fn of_utility(probe: &Probe) -> bool {
    probe.found && probe.class.is_some_and(Class::is_utility)
}

fn unexplained_find(index: usize) -> String {
    format!(
        "probes[{index}] found a line where the model, with everything else seen, gives less than 1 in 1,000 for \
         one: its place or its report may be wrong, a zone or head may be missing or wrongly named, the line may be \
         abandoned or of a kind not in the document, or the find false."
    )
}

fn unexplained_clear(index: usize) -> String {
    format!(
        "probes[{index}] found nothing where the model, with everything else seen, gives less than 1 in 1,000 for \
         that: its place or depth may be wrong, it may have overlooked a line more easily than its chance of detection \
         says, a zone or head may be missing or wrongly named, or another find be false or an abandoned line."
    )
}

/// The same where zones are sampled: `chance(found, place)` is that of a find or of a clear probe, by its place among them.
pub fn surprises_by(site: &Site, chance: impl Fn(bool, usize) -> f64) -> Vec<String> {
    let place = |index: usize, found: bool| site.probes[..index].iter().filter(|p| p.found == found).count();
    let surprising = |(index, probe): &(usize, &Probe)| {
        !of_utility(probe) && chance(probe.found, place(*index, probe.found)) < SURPRISE
    };
    let sentence = |(index, p): (usize, &Probe)| {
        if p.found { unexplained_find(index) } else { unexplained_clear(index) }
    };
    site.probes.iter().enumerate().filter(surprising).map(sentence).collect()
}
