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
mod dig_by_draw;
mod judge;
mod places;
mod sight;
#[cfg(test)]
mod tests;
mod ways;
mod words;
mod worth;

use super::known::{Known, known};
use super::loss::{Loss, Weights, widening};
use super::maps::positive;
use super::tree_rules::TreeRules;
use crate::error::Error;
use crate::evidence::{Dig, Probe};
use crate::geometry::Point;
use crate::infer::Layouts;
use crate::memory;
use crate::monitor::Monitor;
pub use after::{After, Change};
use choose::{Chosen, Rule, choose};
use judge::judge;
use places::{Place, Places};
use sight::Sight;

/// Most probes in one plan.
const MOST: usize = 64;

/// Hands dig no deeper for a probe than this unless told to, metres. Common practice, no source.
const DEEPEST_M: f64 = 0.9;

/// What probes are chosen for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Objective {
    /// Least expected loss of the decisions that follow.
    #[default]
    Loss,
    /// Least expected Brier score: the sum over digs of p (1 - p).
    Variance,
}

impl Objective {
    /// The name used in Python.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Loss => "loss",
            Self::Variance => "variance",
        }
    }
}

/// What may be dug, and how it is chosen.
#[derive(Clone, Debug, PartialEq)]
pub struct ProbePlan {
    /// Most probes, 1 to 64.
    pub n: usize,
    /// What for.
    pub objective: Objective,
    /// Radius of a pothole, metres.
    pub radius_m: f64,
    /// Length and width of a slit, metres, if slits are dug instead: along the likeliest grid bearing or across it.
    pub slit_m: Option<(f64, f64)>,
    /// Whether a rod is pushed down instead of digging a pothole.
    pub rod: bool,
    /// Depth, metres; that of the deepest dig, at most 0.9 m, when nothing is said.
    pub depth_m: Option<f64>,
    /// Chance that a line within the probe is met; that of the tool when nothing is said.
    pub p_detect: Option<f64>,
    /// Chance of a find where there is no line; [`Probe::P_FALSE`] when nothing is said.
    pub p_false: Option<f64>,
    /// How far from the edge of a dig the middle of a probe may lie, metres.
    pub reach_m: f64,
    /// Side of a cell of the grid of places, metres; as fine as some two thousand places allow when nothing is said.
    pub cell_m: Option<f64>,
    /// How far each dig may be shifted once probes have reported, metres; 0: digs stay where they are drawn.
    pub shift_m: f64,
    /// Consequence weights.
    pub weights: Weights,
    /// What trees ask of their places.
    pub rules: TreeRules,
    /// What a line met by the probe itself costs, as a share of a strike by ordinary hand digging.
    pub careful: f64,
    /// What each probe costs besides, in units of the weights.
    pub probe_cost: f64,
    /// Whether to plan on where no probe is worth what it costs.
    pub always: bool,
}

impl ProbePlan {
    /// Hands that look for a line with trowel or vacuum break few of those they meet (common practice, no source).
    pub const CAREFUL: f64 = 0.02;

    /// So many potholes of this radius, everything else as shipped.
    pub fn new(n: usize, radius_m: f64) -> Self {
        Self {
            n,
            objective: Objective::Loss,
            radius_m,
            slit_m: None,
            rod: false,
            depth_m: None,
            p_detect: None,
            p_false: None,
            reach_m: 3.0,
            cell_m: None,
            shift_m: 0.0,
            weights: Weights::default(),
            rules: TreeRules::default(),
            careful: Self::CAREFUL,
            probe_cost: 0.0,
            always: false,
        }
    }

    fn check(&self) -> Result<(), Error> {
        let bad = |name, value, allowed| Err(Error::BadArgument { name, value, allowed });
        if self.n == 0 || self.n > MOST {
            return bad("n", self.n as f64, "1 to 64 probes");
        }
        positive("radius_m", self.radius_m, 5.0, "above 0, up to 5 m")?;
        if let Some((length, width)) = self.slit_m {
            positive("slit_m length", length, 20.0, "above 0, up to 20 m")?;
            positive("slit_m width", width, length, "above 0, up to its length")?;
        }
        if let Some(depth) = self.depth_m {
            positive("depth_m", depth, 6.0, "above 0, up to 6 m")?;
        }
        positive("reach_m", self.reach_m, 50.0, "above 0, up to 50 m")?;
        if let Some(cell) = self.cell_m {
            positive("cell_m", cell, 50.0, "above 0, up to 50 m")?;
        }
        if !(0.0..=50.0).contains(&self.shift_m) {
            return bad("shift_m", self.shift_m, "0 to 50 m");
        }
        if let Some(p) = self.p_detect.filter(|p| !(*p > 0.0 && *p <= 1.0)) {
            return bad("p_detect", p, "above 0, up to 1");
        }
        if let Some(p) = self.p_false.filter(|p| !(0.0..1.0).contains(p)) {
            return bad("p_false", p, "0 up to, but not 1");
        }
        if !(0.0..=1.0).contains(&self.careful) {
            return bad("careful", self.careful, "0 to 1");
        }
        if !(self.probe_cost >= 0.0 && self.probe_cost.is_finite()) {
            return bad("probe_cost", self.probe_cost, "a number from 0 up");
        }
        self.rules.check()
    }
}

/// One probe of a plan.
#[derive(Clone, Debug, PartialEq)]
pub struct PlannedProbe {
    /// The probe, not dug yet.
    pub probe: Probe,
    /// Its middle, metres.
    pub at: Point,
    /// Direction of a slit, radians counter-clockwise from x.
    pub bearing_rad: Option<f64>,
    /// Chance that it reports a find.
    pub p_found: f64,
    /// Chance that the dig for it meets a line.
    pub p_strike: f64,
    /// What it takes off the expected loss of decisions, after the probes before it; judged on draws that had no part in the
    /// choice. Zero or less: nothing that these draws can see.
    pub gain: Loss,
    /// The same for the sum over digs of p (1 - p), the expected Brier score.
    pub variance_gain: Loss,
    /// What it costs itself: its chance to strike, weighted, times the share for careful hands, and the fixed cost.
    pub own_cost: f64,
    /// Whether it pays by itself, or the plan is worth less without it because later ones need it. Under the objective loss
    /// gains are held against costs, under variance against their errors.
    pub worth: bool,
    /// Bits that it is expected to tell about whether each dig strikes, summed over digs.
    pub information_bits: f64,
    /// What becomes of every dig by this probe alone.
    pub after: Vec<After>,
    /// What will be decided differently after each outcome.
    pub decides: String,
}

/// A plan: probes in the order to dig them.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// The probes; fewer than asked for where no more are worth it.
    pub rows: Vec<PlannedProbe>,
    /// Expected loss of decisions as things stand.
    pub loss_before: f64,
    /// Sum over digs of p (1 - p) as things stand.
    pub variance_before: f64,
    /// Places there were to choose from.
    pub candidates: usize,
    /// Side of a cell of their grid, metres.
    pub cell_m: f64,
    /// Depth of the probes, metres.
    pub depth_m: f64,
    /// What the reader must know, a sentence each.
    pub notes: Vec<String>,
}

/// Plans probes for digs. Digs inside a tolerance zone or on flagged metal have no part: there marks and hands decide whatever a
/// probe says.
///
/// # Errors
/// [`Error::BadArgument`]; [`Error::Interrupted`].
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
    let places = Places::new(layouts, &firsts, plan, depth_m, monitor)?;
    memory::check(monitor, "places for probes", places.all.len(), 16 * layouts.draws().len(), 0)?;
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
    let taken: Vec<Place> = chosen.iter().map(|chosen| places.all[chosen.place]).collect();
    let seen: Vec<Option<usize>> = (0..digs.len()).map(|k| open.iter().position(|&o| o == k)).collect();
    let numbered: Vec<(usize, Place)> = chosen.iter().map(|c| c.place).zip(taken.iter().copied()).collect();
    let of = after::Digs { drawn: digs, ways: &ways, seen: &seen, rules: &plan.rules };
    let after = after::after(layouts, &of, &sight, &places, &numbered, monitor)?;
    let row = |(k, (p_found, after)): (usize, (f64, Vec<After>))| {
        let (place, at) = (chosen[k].place, taken[k]);
        PlannedProbe {
            probe: places.probe(&at),
            at: at.at,
            bearing_rad: places.bearings[at.turned],
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
