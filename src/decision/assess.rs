//! What to do with each proposed dig: chances, nearest line, tolerance zones, best shift, verdict.

use super::bars::{Bar, bar, half_zone_m};
use super::dig::{distance_to_mark, footprint, look};
use super::loss::{Loss, Weights, loss_by_draw, widening};
use super::maps::{Shift, check_reach, dig_maps_weighing};
use super::near::{Ballot, Nearest, nearest};
use super::roots::{TreeNear, standing_tree};
use super::setbacks::Setback;
use super::trees::{TreeConflict, tree_conflict};
use crate::class::Class;
use crate::effort::{Effort, Watched};
use crate::error::Error;
use crate::evidence::document::Method;
use crate::evidence::{Dig, Site};
use crate::infer::{Layouts, Reported, in_batches};
use crate::layout::OuterLaw;
use crate::memory;
use crate::monitor::Monitor;
use crate::strike::{Form, RunIndex, Strike, strike_unless};

/// From this chance on a line has to be uncovered by hand, or the dig shifted (design section 5).
pub(super) const LIKELY: f64 = 0.5;

/// What to do. There is no verdict that calls a spot safe.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// The dig enters the tolerance zone of a mark.
    ToleranceZone,
    /// A line is as likely as not.
    Uncover,
    /// The chance is at or above the limit.
    ProbeOrShift,
    /// The chance is below the limit.
    HandDigFirst,
}

impl Verdict {
    /// The verdict for a dig, inside a tolerance zone or not, with this chance of a strike (design section 5).
    pub fn of(inside: bool, p: f64, limit: f64) -> Self {
        if inside {
            Self::ToleranceZone
        } else if p >= LIKELY {
            Self::Uncover
        } else if p >= limit {
            Self::ProbeOrShift
        } else {
            Self::HandDigFirst
        }
    }

    /// The verdict as a sentence for people who dig by this method: a machine waits until hands have done their part.
    pub const fn sentence(self, method: Method) -> &'static str {
        match (self, method) {
            (Self::ToleranceZone, _) => {
                "inside a tolerance zone: call the one-call centre, wait for the marks, dig by hand or vacuum only"
            }
            (Self::Uncover, Method::Hand) => "a line is likely: uncover it by hand, or shift the dig",
            (Self::Uncover, Method::Machine) => {
                "a line is likely: no machine here before it is uncovered by hand, or shift the dig"
            }
            (Self::ProbeOrShift, Method::Hand) => "probe by hand first, or shift the dig",
            (Self::ProbeOrShift, Method::Machine) => {
                "no machine here before a probe by hand, or shift the dig"
            }
            (Self::HandDigFirst, Method::Hand) => "dig by hand to the usual cover first",
            (Self::HandDigFirst, Method::Machine) => {
                "dig by hand to the usual cover first, and only then by machine"
            }
        }
    }

    /// A short name for tables.
    pub const fn name(self) -> &'static str {
        match self {
            Self::ToleranceZone => "tolerance_zone",
            Self::Uncover => "uncover",
            Self::ProbeOrShift => "probe_or_shift",
            Self::HandDigFirst => "hand_dig_first",
        }
    }
}

/// How a dig lies to a mark.
#[derive(Clone, Debug, PartialEq)]
pub struct MarkNear {
    /// Index of the mark in the document.
    pub mark: usize,
    /// What the marked line carries.
    pub class: Class,
    /// Distance from the dig's edge to the marked line, metres.
    pub distance_m: f64,
    /// Half width of the tolerance zone, metres.
    pub half_zone_m: f64,
    /// Whether the dig enters the tolerance zone.
    pub inside: bool,
}

/// Everything known of one proposed dig.
#[derive(Clone, Debug)]
pub struct Assessment {
    /// Name of the dig.
    pub id: String,
    /// Strike chances.
    pub strike: Strike,
    /// Expected loss.
    pub loss: Loss,
    /// Nearest likely line; `None` on a site without lines.
    pub nearest: Option<Nearest>,
    /// Every mark, nearest first.
    pub marks: Vec<MarkNear>,
    /// What keeps it from being dug where it is drawn, marks apart.
    pub bar: Option<Bar>,
    /// The best place within reach, if it is better than here.
    pub shift: Option<Shift>,
    /// What stands against the tree that it is dug for.
    pub tree: Option<TreeConflict>,
    /// The standing tree whose protected roots are nearest, or reached into farthest.
    pub standing: Option<TreeNear>,
    /// How it is to be dug.
    pub method: Method,
    /// What to do.
    pub verdict: Verdict,
}

/// What an assessment goes by.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct AssessOptions {
    /// Consequence weights.
    pub weights: Weights,
    /// Setback of trees.
    pub setback: Setback,
    /// How far a better place is looked for, metres.
    pub reach_m: f64,
    /// Step of the shift, metres.
    pub cell_m: f64,
}

impl Default for AssessOptions {
    /// A reach of 1.5 m in steps of 0.1 m (design section 6).
    fn default() -> Self {
        Self { weights: Weights::default(), setback: Setback::default(), reach_m: 1.5, cell_m: 0.1 }
    }
}

/// Strike chance of each dig.
///
/// # Errors
/// [`Error::Interrupted`]; [`Error::ZonesAreSampled`] for the determinant form where zones are not settled;
/// [`Error::NotConverged`] where chains do not tell one of the chances closely enough.
pub fn strike_probability(
    layouts: &Layouts,
    digs: &[Dig],
    form: Form,
    monitor: &dyn Monitor,
) -> Result<Vec<Strike>, Error> {
    let assessed = layouts.assessed();
    if form == Form::Determinant {
        if layouts.convergence().is_some() {
            return Err(Error::ZonesAreSampled { what: "the determinant form" });
        }
        let (states, each) = outer_states(layouts);
        memory::check(monitor, "outer states of the determinant form", states, each, 0)?;
        let effort = Effort::new(layouts.effort());
        // One dig at a time, its outer states in parallel: a dig may take seconds, and has to be interruptible.
        let strike = |(k, dig): (usize, &Dig)| {
            let work = Watched { monitor, progress: (k, digs.len()), effort: effort.clone() };
            strike_unless(&layouts.laws(), &look(dig), layouts.findings(), assessed, &work)
                .ok_or_else(|| too_dear(&effort))
        };
        return digs.iter().enumerate().map(strike).collect();
    }
    let index = RunIndex::new(layouts.draws());
    let strike = |k: usize| {
        let (strike, chances) =
            index.strike_by_draw(layouts.law(), &look(&digs[k]), layouts.findings(), assessed);
        strike.widened(layouts.widening(&chances))
    };
    let mut strikes = in_batches(digs.len(), monitor, |k| Ok(strike(k)))?;
    let reported = |(dig, strike): (&Dig, &Strike)| reported(&dig.id, strike.p, strike.mcse);
    let rely = layouts.rely(&digs.iter().zip(&strikes).map(reported).collect::<Vec<_>>())?;
    strikes.iter_mut().zip(rely).for_each(|(strike, reliable)| strike.reliable = reliable);
    Ok(strikes)
}

/// Outer states that sums go over, and bytes that each takes once it is built, about: runs of each head of a zone, and lines for
/// each extent of a header. As measured on the shipped examples.
fn outer_states(layouts: &Layouts) -> (usize, usize) {
    let of_law = |law: &dyn OuterLaw| -> usize {
        let at = |bearing: usize, system: usize| {
            law.state_probabilities(bearing, system).iter().filter(|p| **p > 0.0).count()
        };
        (0..law.bearings().len()).flat_map(|b| (0..law.systems().len()).map(move |s| at(b, s))).sum()
    };
    let states = layouts.laws().iter().map(|(_, law)| of_law(*law)).sum();
    let mut heads = vec![0usize; layouts.site().zones.len()];
    layouts.zonings().first().into_iter().flatten().for_each(|&zone| heads[zone] += 1);
    let most = heads.into_iter().max().unwrap_or(0);
    (states, 2_000 + most * (700 + 750 * most))
}

/// Why sums over outer states were not finished.
fn too_dear(effort: &Effort) -> Error {
    if !effort.is_spent() {
        return Error::Interrupted;
    }
    let effort = effort.limit() as f64 / Effort::USUAL as f64;
    Error::TooDear {
        what: "the determinant form",
        effort,
        instead: "take form \"general\", or fewer digs at once",
    }
}

/// The strike chance of a dig, as gates name it.
pub fn reported(dig: &str, p: f64, mcse: f64) -> Reported {
    Reported { name: format!("strike chance of {dig}"), p, mcse }
}

/// Assesses each dig with the weights and the setback that are shipped.
///
/// # Errors
/// Those of [`assess_by`].
pub fn assess(layouts: &Layouts, digs: &[Dig], monitor: &dyn Monitor) -> Result<Vec<Assessment>, Error> {
    assess_by(layouts, digs, &AssessOptions::default(), monitor)
}

/// Assesses each dig.
///
/// # Errors
/// [`Error::BadArgument`] for a reach or step out of range; [`Error::Interrupted`]; [`Error::NotConverged`] where chains do not
/// tell one of the chances closely enough.
pub fn assess_by(
    layouts: &Layouts,
    digs: &[Dig],
    options: &AssessOptions,
    monitor: &dyn Monitor,
) -> Result<Vec<Assessment>, Error> {
    check_reach(options.reach_m, options.cell_m)?;
    let strikes = strike_probability(layouts, digs, Form::General, monitor)?;
    let (index, wider) = (RunIndex::new(layouts.draws()), widening(layouts));
    let ballot = Ballot::new(layouts);
    let more = in_batches(digs.len(), monitor, |k| {
        let dig = &digs[k];
        let loss = Loss::of(&loss_by_draw(layouts, &index, &options.weights, dig), wider);
        let tree = tree_conflict(layouts, &index, dig, &options.setback);
        Ok((loss, nearest(layouts, &ballot, dig), tree))
    })?;
    let AssessOptions { weights, reach_m, cell_m, .. } = options;
    let maps = dig_maps_weighing(layouts, digs, *reach_m, *cell_m, weights, monitor)?;
    let limit = layouts.site().settings.verdict_limit;
    let found = digs.iter().zip(strikes).zip(more).zip(maps).map(|(((dig, strike), more), map)| {
        let (loss, nearest, tree) = more;
        let marks = marks_near(layouts.site(), dig);
        let verdict = Verdict::of(marks.iter().any(|mark| mark.inside), strike.p, limit);
        Assessment {
            id: dig.id.clone(),
            method: dig.method,
            strike,
            loss,
            nearest,
            marks,
            bar: bar(layouts.site(), dig),
            shift: map.shift,
            tree,
            standing: standing_tree(layouts.site(), dig),
            verdict,
        }
    });
    Ok(found.collect())
}

/// How a dig lies to every mark of the site, nearest first.
pub fn marks_near(site: &Site, dig: &Dig) -> Vec<MarkNear> {
    let taken = footprint(dig);
    let near = |(index, mark): (usize, &crate::evidence::Mark)| {
        let (distance_m, half_zone_m) = (distance_to_mark(&taken, mark), half_zone_m(site, mark));
        MarkNear { mark: index, class: mark.class, distance_m, half_zone_m, inside: distance_m < half_zone_m }
    };
    let mut marks: Vec<MarkNear> = site.marks.iter().enumerate().map(near).collect();
    marks.sort_by(|a, b| a.distance_m.total_cmp(&b.distance_m));
    marks
}
