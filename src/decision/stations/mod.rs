//! Which valve to run first where zones are not known, and what it settles.
//!
//! Running a valve and noting which heads come up is the cheapest evidence there is; the advice is always to run every zone
//! and flag the wet heads before anybody digs. Where that cannot be done at once the valves are ranked: by the bits that the
//! wet heads are expected to tell about which heads share a zone, at most (`tree_bound`), and by what the digs gain, at
//! least (`linear`).
//!
//! Valves without a name that share a box cannot be told apart, so that they are one row: any of them is run, each as
//! likely. Which of them it was is then part of what is seen, and no news about which heads go together: its bits are taken
//! off.

mod linear;
mod tree_bound;

use super::dig::look;
use super::information::entropy;
use super::known::known;
use super::loss::{Loss, Weights, loss_by_draw, widening};
use super::valves::by_what_tells;
use crate::error::Error;
use crate::inference::{Layouts, in_batches};
use crate::monitor::Monitor;
use crate::rng::stream;
use crate::site::Dig;
use crate::strike::RunIndex;
use linear::{Lines, Rows};
use rand::RngExt;
use tree_bound::Pairs;

/// Streams of noted errors, one for each row; the engine's own use none of these.
const NOTE_STREAMS: u64 = 1 << 52;

/// Lines are drawn through the answers of so many heads at most, those whose zone is least sure. Numerical choice: seconds.
const MOST_HEADS: usize = 60;

/// A head is unsure where the chance that it comes up is further than this from 0 and 1.
const UNSURE: f64 = 0.05;

/// One valve, or any one of those in a box that cannot be told apart.
#[derive(Clone, Debug, PartialEq)]
pub struct StationRow {
    /// Indices of the zones it may be.
    pub zones: Vec<usize>,
    /// Indices of its valve boxes.
    pub boxes: Vec<usize>,
    /// Bits that the wet heads tell about which heads share a zone: no more than this, up to the errors of notes.
    pub information_bits: f64,
    /// What the digs' expected loss of decisions loses at least.
    pub gain: Loss,
    /// What the digs' expected Brier score, the sum of p (1 - p), loses at least.
    pub variance_gain: Loss,
    /// Heads of which it is open whether they come up, the least sure first, with the chance.
    pub unsure: Vec<(usize, f64)>,
    /// Mean number of heads that come up.
    pub heads: f64,
}

/// The valves in the order to run them.
#[derive(Clone, Debug, PartialEq)]
pub struct StationPlan {
    /// Most information first; empty where zones are known.
    pub rows: Vec<StationRow>,
    /// What the reader must know, a sentence each.
    pub notes: Vec<String>,
}

/// The advice that always stands.
const ADVICE: &str = "Run every zone once and flag the heads that come up before anybody digs: minutes of work, and the \
                      cheapest evidence there is.";

/// Ranks valves to run.
///
/// # Errors
/// [`Error::Interrupted`].
///
/// # Examples
/// ```
/// use underturf::monitor::Unwatched;
/// use underturf::decision::{Weights, plan_station_tests};
/// let layouts = underturf::example::layouts()?;
/// let digs = &layouts.site().digs;
/// let plan = plan_station_tests(&layouts, digs, &Weights::default(), &Unwatched)?;
/// assert!(plan.rows.is_empty(), "every head of the lawn has its zone");
/// assert!(plan.notes[0].contains("known or settled"));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn plan_station_tests(
    layouts: &Layouts,
    digs: &[Dig],
    weights: &Weights,
    monitor: &dyn Monitor,
) -> Result<StationPlan, Error> {
    let mut notes = vec![ADVICE.to_owned()];
    if layouts.convergence().is_none() {
        notes.insert(0, settled(layouts));
        return Ok(StationPlan { rows: Vec::new(), notes });
    }
    let targets = Targets::new(layouts, digs, weights, monitor)?;
    let groups = by_what_tells(&layouts.site().zones);
    let mut rows = in_batches(groups.len(), monitor, |k| Ok(row(layouts, &groups[k], k, &targets)))?;
    rows.retain(|row| row.heads > 0.0);
    rows.sort_by(|a, b| b.information_bits.total_cmp(&a.information_bits).then(a.zones.cmp(&b.zones)));
    notes.push(
        "Bits are an upper bound, gains are lower bounds. After each test enter it, sample anew and rank again.".to_owned(),
    );
    Ok(StationPlan { rows, notes })
}

/// Ways to assign heads that are less probable are not worth a test of their own. Numerical choice: labels err in one of two
/// hundred.
const LEAST_WAY: f64 = 0.01;

/// Why there is nothing to rank.
fn settled(layouts: &Layouts) -> String {
    if layouts.site().heads.is_empty() {
        return "There are no heads, hence no zones to tell apart.".to_owned();
    }
    match layouts.zoning_shares().iter().filter(|share| **share >= LEAST_WAY).count() {
        0 | 1 => {
            "The zone of every head is known or settled by tests: no valve has to be run for that.".to_owned()
        }
        ways => format!(
            "Tests settle the zones but for {ways} ways to assign heads: run again the valves whose notes contradict each \
             other or the lie of the heads."
        ),
    }
}

/// What the digs are, by draw.
struct Targets {
    strikes: Vec<Vec<f64>>,
    losses: Vec<Vec<f64>>,
    costs: Vec<f64>,
    wider: f64,
}

impl Targets {
    fn new(layouts: &Layouts, digs: &[Dig], weights: &Weights, monitor: &dyn Monitor) -> Result<Self, Error> {
        let index = RunIndex::new(layouts.draws());
        let open: Vec<&Dig> = digs.iter().filter(|dig| known(layouts.site(), dig).is_none()).collect();
        let limit = layouts.site().settings.verdict_limit;
        let of = in_batches(open.len(), monitor, |k| {
            let strikes = index.chances(layouts.prior(), &look(open[k]), layouts.findings());
            let losses = loss_by_draw(layouts, &index, weights, open[k]);
            let (struck, lost): (f64, f64) = (strikes.iter().sum(), losses.iter().sum());
            Ok((strikes, losses, if struck > 0.0 { limit * lost / struck } else { 0.0 }))
        })?;
        let wider = widening(layouts);
        let mut found = Self { strikes: vec![], losses: vec![], costs: vec![], wider };
        for (strikes, losses, cost) in of {
            found.strikes.push(strikes);
            found.losses.push(losses);
            found.costs.push(cost);
        }
        Ok(found)
    }
}

/// One run of one valve in one draw: which heads come up.
struct Case {
    draw: usize,
    /// Share of the draw: one over the valves that it may have been.
    share: f64,
    wet: Vec<bool>,
}

fn cases(layouts: &Layouts, group: &[usize]) -> Vec<Case> {
    let of_draw = |(draw, zone_of): (usize, &Vec<usize>)| {
        let there: Vec<usize> = group.iter().copied().filter(|zone| zone_of.contains(zone)).collect();
        let share = 1.0 / there.len().max(1) as f64;
        there
            .into_iter()
            .map(|zone| Case { draw, share, wet: zone_of.iter().map(|of| *of == zone).collect() })
            .collect::<Vec<Case>>()
    };
    layouts.zonings().iter().enumerate().flat_map(of_draw).collect()
}

fn row(layouts: &Layouts, group: &[usize], number: usize, targets: &Targets) -> StationRow {
    let site = layouts.site();
    let cases = cases(layouts, group);
    let all: f64 = cases.iter().map(|case| case.share).sum();
    let heads = site.heads.len();
    let error = site.settings.station_error;
    let pairs =
        Pairs::new(heads, cases.iter().map(|case| (case.share / all.max(1e-300), case.wet.as_slice())));
    let which: f64 = cases.iter().map(|case| case.share * -case.share.log2()).sum::<f64>() / all.max(1e-300);
    let told = pairs.noted(error).entropy_at_most() - which - heads as f64 * entropy(error);
    let chance = |h: usize| pairs.pairs[h][h];
    let doubt = |h: usize| chance(h) * (1.0 - chance(h));
    let mut unsure: Vec<usize> = (0..heads).filter(|&h| doubt(h) > 0.0).collect();
    unsure.sort_by(|&a, &b| doubt(b).total_cmp(&doubt(a)).then(a.cmp(&b)));
    let asked: Vec<usize> = unsure.iter().copied().take(MOST_HEADS).collect();
    let (gain, variance_gain) = gains(layouts, &cases, &asked, error, number, targets);
    let open = |&&h: &&usize| chance(h) > UNSURE && chance(h) < 1.0 - UNSURE;
    StationRow {
        zones: group.to_vec(),
        boxes: group.first().map_or_else(Vec::new, |&zone| site.zones[zone].boxes.clone()),
        information_bits: if cases.is_empty() { 0.0 } else { told.max(0.0) },
        gain,
        variance_gain,
        unsure: unsure.iter().filter(open).map(|&h| (h, chance(h))).collect(),
        heads: (0..heads).map(chance).sum(),
    }
}

/// What decisions and chances of digs gain at least: lines learned on one half of the draws, judged on the other, both ways.
fn gains(
    layouts: &Layouts,
    cases: &[Case],
    asked: &[usize],
    error: f64,
    number: usize,
    targets: &Targets,
) -> (Loss, Loss) {
    let draws = layouts.draws().len();
    let mut rng = stream(layouts.seed(), NOTE_STREAMS + number as u64);
    let mut note = |wet: bool| f64::from(u8::from(wet != rng.random_bool(error)));
    let answers: Vec<Vec<f64>> =
        cases.iter().map(|case| asked.iter().map(|&h| note(case.wet[h])).collect()).collect();
    let by_case = |of: &Vec<f64>| cases.iter().map(|case| of[case.draw]).collect::<Vec<f64>>();
    let strikes: Vec<Vec<f64>> = targets.strikes.iter().map(by_case).collect();
    let losses: Vec<Vec<f64>> = targets.losses.iter().map(by_case).collect();
    let (first, second): (Vec<usize>, Vec<usize>) =
        (0..cases.len()).partition(|&k| cases[k].draw < draws / 2);
    let (mut saved, mut surer) = (vec![0.0; draws], vec![0.0; draws]);
    for (learn, judge) in [(&first, &second), (&second, &first)] {
        if asked.is_empty() || learn.len() < 4 {
            continue;
        }
        let of_strikes = Lines::learned(&Rows { answers: &answers, targets: &strikes }, learn);
        let of_losses = Lines::learned(&Rows { answers: &answers, targets: &losses }, learn);
        for &row in judge {
            let Case { draw, share, .. } = cases[row];
            for dig in 0..strikes.len() {
                let s = strikes[dig][row];
                let (before, after) =
                    (of_strikes.mean(dig), of_strikes.predict(&answers[row], dig).clamp(0.0, 1.0));
                surer[draw] += share * ((s - before).powi(2) - (s - after).powi(2));
                let cost = targets.costs[dig];
                let pay = |expected: f64| if expected <= cost { losses[dig][row] } else { cost };
                saved[draw] +=
                    share * (pay(of_losses.mean(dig)) - pay(of_losses.predict(&answers[row], dig)));
            }
        }
    }
    let of = |series: &[f64]| {
        let found = Loss::of(series, targets.wider);
        Loss { loss: found.loss.max(0.0), ..found }
    };
    (of(&saved), of(&surer))
}
