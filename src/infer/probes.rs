//! The probes of a site as findings, and what to say of those that the law finds nearly impossible.

use super::strands::Strands;
use crate::error::Error;
use crate::evidence::{Probe, Site};
use crate::strike::{Find, Findings, Look, MOST_FINDS, Report};

/// Evidence less probable than this given everything else is pointed out (issue: surprise check).
const SURPRISE: f64 = 0.001;

/// The probes of a site.
///
/// # Errors
/// [`Error::BadArgument`] for more finds than can be summed over exactly.
pub fn findings(site: &Site) -> Result<Findings, Error> {
    let mut findings = Findings::default();
    for probe in &site.probes {
        let look = Look {
            footprint: probe.shape.footprint(),
            depth_m: probe.depth_m,
            detect: probe.p_detect,
            report: report(probe),
        };
        if probe.found {
            let false_find = probe.p_false * look.report.of_nothing(probe.depth_m);
            findings.found.push(Find { look, false_find });
        } else {
            findings.clear.push(look);
        }
    }
    if findings.found.len() > MOST_FINDS {
        let value = findings.found.len() as f64;
        return Err(Error::BadArgument { name: "probes", value, allowed: "at most 10 that found a line" });
    }
    Ok(findings)
}

fn report(probe: &Probe) -> Report {
    if !probe.found {
        return Report::default();
    }
    Report { class: probe.class, bearing_rad: probe.bearing_deg.map(f64::to_radians), cover_m: probe.cover_m }
}

/// One sentence for each find that no line of the law explains.
pub fn surprises(site: &Site, strands: &Strands<'_>) -> Vec<String> {
    let found = site.probes.iter().enumerate().filter(|(_, probe)| probe.found);
    let sentence = |(find, (index, _)): (usize, (usize, &Probe))| {
        let chance = strands.chance_of_find(find);
        (chance < SURPRISE).then(|| {
            format!(
                "probes[{index}] found a line where the law of layouts, with everything else seen, gives less than 1 in \
                 1,000 for one: its place or its report may be wrong, a zone or head may be missing or wrongly named, the \
                 line may be abandoned or of a kind not in the document, or the find false."
            )
        })
    };
    found.enumerate().filter_map(sentence).collect()
}
