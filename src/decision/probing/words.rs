//! A plan of probes in words.

use super::plan::{After, Change};
use super::plan::{Objective, ProbePlan};
use crate::decision::known::Known;
use crate::decision::verdict::Verdict;
use crate::site::Dig;

/// At most so many digs are named in a sentence; the table of outcomes has them all.
const NAMED: usize = 6;

/// A dig after one outcome.
struct Decided {
    p: f64,
    verdict: Verdict,
    /// Whether it goes elsewhere than it would now.
    moves: bool,
    change: Change,
}

/// What will be decided differently after each outcome of a probe; "perhaps" where draws are too few to tell.
pub fn decides(digs: &[Dig], after: &[After]) -> String {
    let outcome = |word: &str, of: &dyn Fn(&After) -> Decided| {
        let mut named: Vec<String> = after
            .iter()
            .filter_map(|after| {
                let told = of(after);
                let moves = match told.change {
                    _ if told.moves => " moves,",
                    Change::Unsure => " perhaps,",
                    _ => "",
                };
                let (now, then) = (percent(after.p_now.p), percent(told.p));
                let id = &digs[after.dig].id;
                (told.change != Change::None)
                    .then(|| format!("{id}{moves} {now} to {then}: {}", short(told.verdict)))
            })
            .collect();
        if named.len() > NAMED {
            let more = named.len() - NAMED;
            named.truncate(NAMED);
            named.push(format!("and {more} more"));
        }
        if named.is_empty() {
            format!("{word}: nothing changes")
        } else {
            format!("{word}: {}", named.join("; "))
        }
    };
    let found = outcome("found", &|after| Decided {
        p: after.p_if_found.p,
        verdict: after.verdict_if_found,
        moves: after.to_if_found != after.to_now,
        change: after.if_found(),
    });
    let clear = outcome("clear", &|after| Decided {
        p: after.p_if_clear.p,
        verdict: after.verdict_if_clear,
        moves: after.to_if_clear != after.to_now,
        change: after.if_clear(),
    });
    let says = |after: &After| after.if_found() != Change::None || after.if_clear() != Change::None;
    if after.iter().any(says) {
        format!("{found}. {clear}.")
    } else {
        "nothing changes by this probe alone".to_owned()
    }
}

const fn short(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::ToleranceZone => "wait for the marks",
        Verdict::FlaggedMetal => "uncover the flagged metal by hand",
        Verdict::Uncover => "uncover by hand or shift",
        Verdict::ProbeOrShift => "probe again or shift",
        Verdict::LineInSetback => "a line is likely within its setback",
        Verdict::HandDigFirst => "dig by hand to the usual cover first",
    }
}

/// A chance in words; never 0 or 100 %.
fn percent(p: f64) -> String {
    match 100.0 * p {
        p if p < 1.0 => "under 1 %".to_owned(),
        p if p > 99.0 => "over 99 %".to_owned(),
        p => format!("{p:.0} %"),
    }
}

/// What the reader of a plan must know.
pub fn notes(
    digs: &[Dig],
    there: &[Option<Known>],
    plan: &ProbePlan,
    places: usize,
    planned: usize,
    worth: &[bool],
) -> Vec<String> {
    let (mut notes, kept) = (Vec::new(), worth.len());
    let unpaid: Vec<String> = (1..=kept).filter(|k| !worth[k - 1]).map(|k| k.to_string()).collect();
    if digs.is_empty() {
        notes.push("There is no dig to plan probes for.".to_owned());
        return notes;
    }
    for (what, where_) in [
        (Known::ToleranceZone, "Inside a tolerance zone, where marks and hands decide"),
        (Known::FlaggedMetal, "On flagged metal, where hands uncover it first"),
    ] {
        let here = digs.iter().zip(there).filter(|(_, known)| **known == Some(what));
        let names: Vec<&str> = here.map(|(dig, _)| dig.id.as_str()).collect();
        if !names.is_empty() {
            notes.push(format!("{where_} whatever a probe says: {}.", names.join(", ")));
        }
    }
    let any_open = there.iter().any(Option::is_none);
    if places == 0 && any_open {
        notes.push("No place within reach is open to a probe.".to_owned());
    } else if kept == 0 && any_open {
        notes.push(match plan.objective {
            Objective::Loss => {
                "No probe is worth what it costs: none is expected to change a decision by more than that. \
                 That is no clearance: follow the verdicts as they stand."
            }
            Objective::Variance => {
                "No probe is expected to make any chance noticeably surer. That is no clearance: follow the verdicts as they \
                 stand."
            }
        }
        .to_owned());
    } else if !unpaid.is_empty() {
        notes.push(format!(
            "Not worth what they cost, but asked for, are these probes of the plan: {}.",
            unpaid.join(", ")
        ));
    } else if kept < plan.n {
        notes.push(format!("No further probe is worth what it costs: {kept} of the {} asked for.", plan.n));
    }
    if planned > 0 {
        notes.push(
            "Chosen on one half of the draws, gains judged on the other. Sample anew after each report and plan again."
                .to_owned(),
        );
    }
    notes
}
