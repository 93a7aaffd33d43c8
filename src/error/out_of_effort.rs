//! Work that was given up, put into words: what was allowed, which probes are at odds with the rest, what to check.

use super::numbers::thousands;

/// A probe that the rest of the picture hardly explains.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unexplained {
    /// Its place in the document.
    pub probe: usize,
    /// Whether it found a line.
    pub found: bool,
    /// Where it is, document units.
    pub at: [f64; 2],
    /// Chance of what it saw, given the picture without probes and the clear ones before it.
    pub chance: f64,
}

impl Unexplained {
    fn sentence(&self) -> String {
        let [x, y] =
            self.at.map(|z| format!("{:.2}", z).trim_end_matches('0').trim_end_matches('.').to_owned());
        let saw = if self.found { "found a line" } else { "found nothing" };
        format!(
            "probes[{}] at ({x}, {y}) {saw}: the rest of the picture gives that {}",
            self.probe,
            odds(self.chance)
        )
    }
}

/// A small chance as people say it.
fn odds(chance: f64) -> String {
    let least = 1e-9;
    let words = if chance < least { "less than 1 in" } else { "1 in" };
    let one_in = 1.0 / chance.max(least);
    let step = 10f64.powf((one_in.log10().floor() - 1.0).max(0.0));
    format!("{words} {}", thousands((one_in / step).round() * step))
}

pub(super) fn out_of_effort(
    effort: f64,
    impossible: bool,
    probes: usize,
    unexplained: &[Unexplained],
    unlabelled: usize,
) -> String {
    let mut lines = vec![match (impossible, probes) {
        (true, _) => "No layout of pipes agrees with what the probes saw; no answer is given.".to_owned(),
        (false, 0) => format!(
            "This site takes more work than the effort allowed ({effort}; 1 is about a minute); no answer is given."
        ),
        (false, _) => format!(
            "Layouts that agree with all {probes} probes were not found within the effort allowed ({effort}; 1 is about a \
             minute); no answer is given."
        ),
    }];
    lines.extend(unexplained.iter().map(|probe| format!("  {}", probe.sentence())));
    if probes > 0 && unexplained.is_empty() {
        lines.push("  No single probe is at odds with the rest of the picture.".to_owned());
    }
    if probes > 0 {
        lines.push(
            "Check where these probes were dug, their depth and their units, and the zones of the heads near them. A line that \
             was found may be an abandoned one: leave that probe out to see. If in doubt, dig again."
                .to_owned(),
        );
    }
    if unlabelled > 0 {
        lines.push(format!(
            "The zones of {unlabelled} heads are not known: run the valves and enter the heads that come up as station tests."
        ));
    }
    if !impossible {
        lines.push("If all is right, ask for fewer draws, or allow more work.".to_owned());
    }
    lines.join("\n")
}
