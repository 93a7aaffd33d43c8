//! Where to probe before digging: exploratory hand digs that change what is decided about the digs planned.
//!
//! A probe is worth what it saves in later decisions, less what it costs itself. The decisions are those of the verdicts:
//! dig as planned where the expected loss is below that of the verdict's limit, else act (uncover by hand, shift), which is
//! taken to cost as much as the loss at which that limit is indifferent. A probe is a hand dig with its own chance of a
//! strike; hands that look for a line rarely break it, which [`ProbePlan::careful`] says.
//!
//! A dig that may be shifted (`ways`) has the least loss of several places; then the first question is where it would go as
//! things stand, and a probe is worth what it saves in the choice among places.
//!
//! Steps: look at all places and digs in all draws (`sight`), choose on the first half of the draws (`choose`), judge the
//! choice on the second (`judge`), tell what becomes of each dig (`after`). The order of a plan is the order to dig. After
//! each report, or each batch of them, layouts are sampled anew with it and a new plan is made: the rest of the old one was
//! made without knowing it.

mod after;
mod cells;
mod choose;
mod cut;
mod dig_by_draw;
mod judge;
mod places;
mod plan;
mod sight;
#[cfg(test)]
mod tests;
mod ways;
mod words;
mod worth;

use super::known::{Known, known};
use super::loss::{Loss, widening};
use crate::error::{Error, MemoryUse};
use crate::inference::Layouts;
use crate::memory;
use crate::monitor::Monitor;
use crate::site::Dig;
use choose::{Chosen, Rule, choose};
use judge::judge;
use places::{ProbePlace, ProbePlaces};
use plan::DEEPEST_M;
pub use plan::{After, Change, Objective, Plan, PlannedProbe, ProbePlan};
use sight::Sight;

/// Plans probes for digs. Digs inside a tolerance zone or on flagged metal have no part: there marks and hands decide whatever
/// a probe says.
///
/// # Errors
/// [`Error::Argument`]; [`Error::Interrupted`].
///
/// # Examples
/// ```
/// use underturf::monitor::Unwatched;
/// use underturf::decision::{ProbePlan, plan_probes};
/// let layouts = underturf::example::layouts()?;
/// let digs = &layouts.site().digs;
/// let (n, radius_m) = (1, 0.25);
/// let potholes = ProbePlan { cell_m: Some(0.5), always: true, ..ProbePlan::new(n, radius_m) };
/// let plan = plan_probes(&layouts, digs, &potholes, &Unwatched)?;
/// assert!(plan.rows[0].p_found > 0.0 && plan.rows[0].p_found < 1.0);
/// assert!(!plan.rows[0].decides.is_empty());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn plan_probes(
    layouts: &Layouts,
    digs: &[Dig],
    plan: &ProbePlan,
    monitor: &dyn Monitor,
) -> Result<Plan, Error> {
    plan.check()?;
    let deepest = digs.iter().map(|dig| dig.depth_m).fold(0.0, f64::max);
    let depth_m = plan.depth_m.unwrap_or(if deepest > 0.0 { deepest.min(DEEPEST_M) } else { DEEPEST_M });
    let ways = ways::ways(layouts, digs, plan.shift_m, &plan.weights, &plan.rules, monitor)?;
    let there: Vec<Option<Known>> = ways.iter().map(|ways| known(layouts.site(), &ways[0])).collect();
    let open: Vec<usize> = (0..digs.len()).filter(|&k| there[k].is_none()).collect();
    let counted: Vec<Vec<Dig>> = open.iter().map(|&k| ways[k].clone()).collect();
    let firsts: Vec<Dig> = counted.iter().map(|ways| ways[0].clone()).collect();
    let places = ProbePlaces::new(layouts, &firsts, plan, depth_m, monitor)?;
    memory::check(monitor, MemoryUse::ProbePlaces, places.all.len(), 16 * layouts.draws().len(), 0)?;
    let sight = Sight::new(layouts, &counted, &places, &plan.weights, &plan.rules, monitor)?;
    let draws = layouts.draws().len();
    let price: Vec<f64> = match plan.objective {
        Objective::Loss => sight.own.iter().map(|own| plan.careful * own[0] + plan.probe_cost).collect(),
        Objective::Variance => vec![0.0; places.all.len()],
    };
    let rule = Rule { objective: plan.objective, n: plan.n, price: &price, always: plan.always, pairs: true };
    let overlap = |a: usize, b: usize| places.overlap(&places.all[a], &places.all[b]);
    let mut chosen = choose(&sight, 0..draws / 2, &rule, &overlap, monitor)?;
    let wider = widening(layouts);
    let own = |place: usize| plan.careful * sight.own[place][1] + plan.probe_cost;
    let nets = |numbers: &[usize]| -> Vec<f64> {
        let some = worth::of(&chosen, numbers);
        let gains = judge(&sight, &some, plan.objective, wider).gains;
        let net = |(gain, chosen): (&Loss, &Chosen)| match plan.objective {
            Objective::Loss => gain.loss - own(chosen.place),
            Objective::Variance => gain.loss - gain.error,
        };
        gains.iter().zip(&some).map(net).collect()
    };
    let kept = worth::paying(chosen.len(), &nets);
    let planned = chosen.len();
    let worth: Vec<bool> = if plan.always {
        (0..planned).map(|k| kept.contains(&k)).collect()
    } else {
        chosen = worth::of(&chosen, &kept);
        vec![true; kept.len()]
    };
    let by_loss = judge(&sight, &chosen, Objective::Loss, wider);
    let by_variance = judge(&sight, &chosen, Objective::Variance, wider);
    let taken: Vec<ProbePlace> = chosen.iter().map(|chosen| places.all[chosen.place]).collect();
    let seen: Vec<Option<usize>> = (0..digs.len()).map(|k| open.iter().position(|&o| o == k)).collect();
    let numbered: Vec<(usize, ProbePlace)> =
        chosen.iter().map(|c| c.place).zip(taken.iter().copied()).collect();
    let of = after::Digs { drawn: digs, ways: &ways, seen: &seen, rules: &plan.rules };
    let after = after::after(layouts, &of, &sight, &places, &numbered, monitor)?;
    let row = |(k, (p_found, after)): (usize, (f64, Vec<After>))| {
        let (place, at) = (chosen[k].place, taken[k]);
        PlannedProbe {
            probe: places.probe(&at),
            at: at.at,
            angle_rad: places.bearings[at.turned],
            p_found,
            p_strike: sight.own_strike[place],
            gain: by_loss.gains[k],
            variance_gain: by_variance.gains[k],
            own_cost: own(place),
            worth: worth[k],
            information_bits: sight.information(place, 0..draws),
            decides: words::decides(digs, &after),
            after,
        }
    };
    let rows: Vec<PlannedProbe> = after.into_iter().enumerate().map(row).collect();
    let notes = words::notes(digs, &there, plan, places.all.len(), planned, &worth);
    Ok(Plan {
        rows,
        loss_before: by_loss.before,
        variance_before: by_variance.before,
        candidates: places.all.len(),
        cell_m: places.cell_m,
        depth_m,
        notes,
    })
}
