//! Where to sweep next: short passes of a detector across places where drawn metal differs from draw to draw.
//!
//! A pass sounds where a metal line or a control wire runs under it and is heard, or over junk. In every draw its chance to sound
//! is known, so what it is expected to teach is exact on the draws (`passes`): bits about the layout, and what it takes off the
//! expected Brier score of the digs that matter. Passes are chosen one after the other, each given every outcome of those before
//! it. The choice is made on one half of the draws and judged on the other: a pass that is not seen to pay there is not offered.

mod passes;
mod places;
mod questions;

use super::dig::look;
use super::known::known;
use super::loss::{Loss, widening};
use super::sizes::UP_TO_50_M;
use crate::error::{Allowed, ArgumentError, Error};
use crate::geometry::{Footprint, Point};
use crate::inference::{Layouts, in_batches};
use crate::layout::{Kind, Piece};
use crate::monitor::Monitor;
use crate::site::Dig;
use crate::strike::RunIndex;
use passes::Outcomes;
use places::places;
pub use questions::Question;
use questions::Questions;

/// Most passes in one plan: outcomes double with each.
const MOST: usize = 6;

/// The most open places are weighed. Numerical choice.
const WEIGHED: usize = 240;

/// A pass that is surer than this to sound, or to stay silent, is not asked. Numerical choice.
const SURE: f64 = 0.02;

/// A pass is offered where its gain is above so many of its Monte Carlo errors: below, it may be nothing. Design.
const SEEN: f64 = 2.0;

/// What passes are chosen for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum SweepFor {
    /// Most bits about the layout.
    Information,
    /// Least expected Brier score of the digs: the sum of p (1 - p).
    #[default]
    Variance,
}

impl SweepFor {
    /// Every one.
    pub const ALL: [Self; 2] = [Self::Information, Self::Variance];

    /// The name used in Python.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Information => "information",
            Self::Variance => "variance",
        }
    }
}

/// How passes are made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SweepOptions {
    /// Most passes, 1 to 6.
    pub n: usize,
    /// What for.
    pub by: SweepFor,
    /// Length of a pass, metres.
    pub length_m: f64,
    /// How far to either side of its middle a line is heard, metres.
    pub reach_m: f64,
    /// Least distance between the middles of two passes, metres.
    pub spacing_m: f64,
    /// Chance that a line under a pass sounds.
    pub p_detect: f64,
    /// Chance that a pass sounds where nothing lies.
    pub p_false: f64,
}

impl SweepOptions {
    /// So many passes as a crew makes them: a metre and a half long, a coil's width; slow passes across a suspected line hear
    /// nine in ten, and junk sounds in one of twenty (common practice, no source).
    pub fn new(n: usize) -> Self {
        Self {
            n,
            by: SweepFor::default(),
            length_m: 1.5,
            reach_m: 0.15,
            spacing_m: 1.0,
            p_detect: 0.9,
            p_false: 0.05,
        }
    }

    fn check(&self) -> Result<(), ArgumentError> {
        if self.n == 0 || self.n > MOST {
            return Err(ArgumentError::Count { name: "n", count: self.n, least: 1, most: MOST });
        }
        UP_TO_50_M.check("length_m", self.length_m)?;
        Allowed::above(0.0, 5.0).metres().check("reach_m", self.reach_m)?;
        Allowed::within(0.0, 50.0).metres().check("spacing_m", self.spacing_m)?;
        Allowed::above(0.0, 1.0).check("p_detect", self.p_detect)?;
        Allowed::below(0.0, 1.0).check("p_false", self.p_false)
    }
}

/// One pass of a plan.
#[derive(Clone, Debug, PartialEq)]
pub struct PlannedSweep {
    /// Its ends, metres.
    pub ends: [Point; 2],
    /// Chance that it sounds.
    pub p_sounds: f64,
    /// Bits that it is expected to teach about the layout, after the passes before it; judged on draws that had no part in the
    /// choice.
    pub information_bits: Loss,
    /// What it takes off the sum over digs of p (1 - p), after the passes before it; judged on the same draws.
    pub variance_gain: Loss,
    /// What it settles best.
    pub settles: Question,
    /// Bits that it tells about that by itself: at most one.
    pub settles_bits: f64,
}

/// Passes in the order to make them.
#[derive(Clone, Debug, PartialEq)]
pub struct SweepPlan {
    /// The passes; fewer than asked for where no more are open, or the next is not seen to pay.
    pub rows: Vec<PlannedSweep>,
    /// Sum over digs of p (1 - p) as things stand.
    pub variance_before: f64,
    /// Places there were to choose from.
    pub candidates: usize,
    /// What the reader must know, a sentence each.
    pub notes: Vec<String>,
}

/// Plans passes of a detector for digs. Digs inside a tolerance zone or on flagged metal have no part: there marks and hands decide
/// whatever sounds.
///
/// # Errors
/// [`Error::Argument`]; [`Error::Interrupted`].
///
/// # Examples
/// ```
/// use underturf::decision::{SweepOptions, plan_sweeps};
/// use underturf::monitor::Unwatched;
/// let layouts = underturf::example::layouts()?;
/// let plan = plan_sweeps(&layouts, &layouts.site().digs, &SweepOptions::new(1), &Unwatched)?;
/// assert!(plan.rows.is_empty() && plan.notes[0].starts_with("No draw has metal"), "nobody flagged anything");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn plan_sweeps(
    layouts: &Layouts,
    digs: &[Dig],
    options: &SweepOptions,
    monitor: &dyn Monitor,
) -> Result<SweepPlan, Error> {
    options.check()?;
    let open: Vec<&Dig> = digs.iter().filter(|dig| known(layouts.site(), dig).is_none()).collect();
    let index = RunIndex::new(layouts.draws());
    let strikes = in_batches(open.len(), monitor, |k| {
        Ok(index.chances(layouts.prior(), &look(open[k]), layouts.findings()))
    })?;
    let places = places(layouts, options.length_m);
    let sounds =
        in_batches(places.len(), monitor, |k| Ok(sounds(layouts, &ground(&places[k], options), options)))?;
    let (places, sounds) = most_open(places, sounds);
    // Draws may come in chains, one after the other: each half has every second draw.
    let half =
        |values: &Vec<f64>, which: usize| values.iter().skip(which).step_by(2).copied().collect::<Vec<f64>>();
    let of_half =
        |rows: &[Vec<f64>], which: usize| rows.iter().map(|row| half(row, which)).collect::<Vec<_>>();
    let choosing = (of_half(&sounds, 0), of_half(&strikes, 0));
    let judging = (of_half(&sounds, 1), of_half(&strikes, 1));
    let draws = layouts.draws().len();
    let (mut before, mut judged) = (Outcomes::none(draws.div_ceil(2)), Outcomes::none(draws / 2));
    let (questions, wider) = (Questions::new(layouts), widening(layouts));
    let (mut rows, mut unseen) = (Vec::<PlannedSweep>::new(), false);
    let for_digs = options.by == SweepFor::Variance && !open.is_empty();
    while rows.len() < options.n {
        let free = |k: &usize| {
            let middle = |ends: &[Point; 2]| ends[0].towards(ends[1], 0.5);
            rows.iter().all(|row| middle(&row.ends).distance(middle(&places[*k])) >= options.spacing_m)
        };
        let values = in_batches(places.len(), monitor, |k| {
            Ok(if !free(&k) {
                f64::NEG_INFINITY
            } else if for_digs {
                before.variance_gain(&choosing.0[k], &choosing.1).loss
            } else {
                before.information(&choosing.0[k]).loss
            })
        })?;
        let best = (0..places.len()).max_by(|a, b| values[*a].total_cmp(&values[*b]).then(b.cmp(a)));
        let Some(best) = best.filter(|k| values[*k] > NOTHING) else { break };
        let wide = |gain: Loss| Loss { error: gain.error * wider, ..gain };
        let variance_gain = wide(judged.variance_gain(&judging.0[best], &judging.1));
        let information_bits = wide(judged.information(&judging.0[best]));
        // The next best would be judged on draws that have just refused this one: the plan ends here.
        if !seen(if for_digs { &variance_gain } else { &information_bits }) {
            unseen = true;
            break;
        }
        let (settles, settles_bits) = questions.best(&ground(&places[best], options), &sounds[best]);
        rows.push(PlannedSweep {
            ends: places[best],
            p_sounds: sounds[best].iter().sum::<f64>() / draws as f64,
            information_bits,
            variance_gain,
            settles,
            settles_bits,
        });
        (before, judged) = (before.after(&choosing.0[best]), judged.after(&judging.0[best]));
    }
    let mean = |row: &Vec<f64>| row.iter().sum::<f64>() / draws as f64;
    let variance_before = strikes.iter().map(mean).map(|p| p * (1.0 - p)).sum();
    let told =
        Told { left_out: digs.len() - open.len(), for_digs, unseen, asked: options.n, found: rows.len() };
    let notes = notes(layouts, &told);
    Ok(SweepPlan { rows, variance_before, candidates: places.len(), notes })
}

/// A gain below this is rounding.
const NOTHING: f64 = 1e-9;

/// Whether a gain stands out from its Monte Carlo error.
fn seen(gain: &Loss) -> bool {
    gain.loss > SEEN * gain.error
}

fn ground(ends: &[Point; 2], options: &SweepOptions) -> Footprint {
    Footprint::trench(ends, 2.0 * options.reach_m)
}

/// For each draw, the chance that a pass over this ground sounds.
fn sounds(layouts: &Layouts, ground: &Footprint, options: &SweepOptions) -> Vec<f64> {
    let (low, high) = ground.bounds();
    let may = |piece: &&Piece| {
        (piece.kind == Kind::Metal || piece.wire)
            && piece.a.x.max(piece.b.x) >= low.x
            && piece.a.x.min(piece.b.x) <= high.x
            && piece.a.y.max(piece.b.y) >= low.y
            && piece.a.y.min(piece.b.y) <= high.y
    };
    let of_draw = |k: usize| {
        let under =
            layouts.pieces().draw(k).iter().filter(may).any(|piece| ground.meets_segment(piece.a, piece.b));
        1.0 - (1.0 - options.p_false) * (1.0 - if under { options.p_detect } else { 0.0 })
    };
    (0..layouts.draws().len()).map(of_draw).collect()
}

/// The passes whose outcome is most open.
fn most_open(places: Vec<[Point; 2]>, sounds: Vec<Vec<f64>>) -> (Vec<[Point; 2]>, Vec<Vec<f64>>) {
    let mean = |row: &Vec<f64>| row.iter().sum::<f64>() / row.len().max(1) as f64;
    let differs = |row: &Vec<f64>| row.iter().any(|q| (q - row[0]).abs() > 1e-12);
    let mut order: Vec<usize> = (0..places.len()).collect();
    order.retain(|k| differs(&sounds[*k]) && (SURE..=1.0 - SURE).contains(&mean(&sounds[*k])));
    let open = |k: usize| (mean(&sounds[k]) - 0.5).abs();
    order.sort_by(|a, b| open(*a).total_cmp(&open(*b)).then(a.cmp(b)));
    order.truncate(WEIGHED);
    (order.iter().map(|k| places[*k]).collect(), order.iter().map(|k| sounds[*k].clone()).collect())
}

/// What the notes of a plan speak of.
struct Told {
    left_out: usize,
    for_digs: bool,
    unseen: bool,
    asked: usize,
    found: usize,
}

fn notes(layouts: &Layouts, told: &Told) -> Vec<String> {
    if layouts.draws().iter().all(|draw| draw.metal.is_empty()) {
        return vec![
            "No draw has metal lines: nothing on this site tells of any. Sweep the ground of every dig all the same.".to_owned(),
        ];
    }
    let mut notes = vec![
        "A pass that stays silent clears nothing: plastic does not sound, and a detector misses lines. Enter flags where it \
         sounds and swept ground where it does not, sample anew and plan again."
            .to_owned(),
    ];
    if told.left_out > 0 {
        let left_out = told.left_out;
        let digs = if left_out == 1 { "1 dig is".to_owned() } else { format!("{left_out} digs are") };
        notes.push(format!("{digs} left out: there marks and flags decide, and hands uncover the line."));
    }
    let (found, asked) = (told.found, told.asked);
    let further = if found == 0 { "No pass" } else { "No further pass" };
    if told.unseen {
        notes.push(format!(
            "{further} is seen to pay: what the next would teach is not above twice its Monte Carlo error on these draws. {found} of \
             the {asked} asked for."
        ));
    } else if found < asked {
        let of = if told.for_digs { " of these digs" } else { "" };
        notes.push(format!("{further} would tell anything{of}: {found} of the {asked} asked for."));
    }
    notes
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand. Planted fault: a gain of one error and a half passes where one error is the limit.
    #[test]
    fn a_gain_within_twice_its_error_is_not_seen() {
        let gain = |loss: f64| Loss { loss, error: 0.01 };
        for (loss, is) in [(0.0201, true), (0.02, false), (0.015, false), (0.0, false), (-0.05, false)] {
            assert_eq!(seen(&gain(loss)), is, "{loss}");
        }
        assert!(gain(0.015).loss > gain(0.015).error);
        assert!(!seen(&Loss { loss: 0.0, error: 0.0 }), "nothing is no gain, however sure");
    }
}
