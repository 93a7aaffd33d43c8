//! What to do with each proposed dig: chances, nearest line, what is known there, best shift, verdict.

use super::bars::{Bar, bar};
use super::dig::look;
use super::known::{FlagNear, MarkNear, flags_near, known, marks_near};
use super::loss::{Loss, loss_by_draw, widening};
use super::maps::dig_maps;
use super::near::{Ballot, Nearest, nearest};
use super::roots::{TreeNear, standing_tree};
use super::shift::{Better, PlaceOptions};
use super::tree_conflicts::{TreeConflict, tree_conflict};
use super::verdict::Verdict;
use crate::effort::{Effort, Watched};
use crate::error::{Error, MemoryUse};
use crate::geometry::Point;
use crate::inference::{Layouts, Reported, in_batches};
use crate::layout::OuterPrior;
use crate::memory;
use crate::monitor::Monitor;
use crate::site::document::Method;
use crate::site::{Dig, Site};
use crate::strike::{Form, RunIndex, Strike, strike_unless};

/// Everything known of one proposed dig.
#[derive(Clone, Debug)]
pub struct Assessment {
    /// Name of the dig.
    pub id: String,
    /// Strike chances, of the hole that its tree needs where that is larger than what was drawn.
    pub strike: Strike,
    /// Strike chance of what was drawn, where that is smaller.
    pub drawn: Option<Strike>,
    /// Expected loss.
    pub loss: Loss,
    /// Nearest likely line; `None` on a site without lines.
    pub nearest: Option<Nearest>,
    /// Every mark, nearest first.
    pub marks: Vec<MarkNear>,
    /// All flagged metal, nearest first.
    pub flags: Vec<FlagNear>,
    /// What keeps it from being dug where it is drawn, marks and flagged metal apart.
    pub bar: Option<Bar>,
    /// What a search for a better place within reach came to.
    pub better: Better,
    /// What stands against the tree that it is dug for.
    pub tree: Option<TreeConflict>,
    /// The same at the better place, if there is one.
    pub tree_there: Option<TreeConflict>,
    /// Whether a line is likelier within the setback of its tree than the limit allows.
    pub line_in_setback: bool,
    /// The standing tree whose protected roots are nearest, or reached into farthest.
    pub standing: Option<TreeNear>,
    /// How it is to be dug.
    pub method: Method,
    /// What to do.
    pub verdict: Verdict,
    /// The same as a sentence for people who dig.
    pub sentence: String,
}

/// Strike chance of each dig.
///
/// # Errors
/// [`Error::Interrupted`]; [`Error::DeterminantNeedsZones`] for the determinant form where zones are not settled, [`Error::DeterminantKnowsNoMetal`]
/// where probes may have met metal;
/// [`Error::NotConverged`] where chains do not tell one of the chances closely enough.
///
/// # Examples
/// ```
/// use underturf::monitor::Unwatched;
/// use underturf::decision::strike_probability;
/// use underturf::strike::Form;
/// let layouts = underturf::example::layouts()?;
/// let digs = &layouts.site().digs;
/// let strikes = strike_probability(&layouts, digs, Form::Auto, &Unwatched)?;
/// assert!(strikes[0].p > strikes[1].p, "the post stands on the row of heads, the oak between two");
/// assert!(strike_probability(&layouts, &[], Form::Auto, &Unwatched)?.is_empty());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn strike_probability(
    layouts: &Layouts,
    digs: &[Dig],
    form: Form,
    monitor: &dyn Monitor,
) -> Result<Vec<Strike>, Error> {
    let assessed = layouts.assessed();
    if form == Form::Determinant {
        if layouts.convergence().is_some() {
            return Err(Error::DeterminantNeedsZones);
        }
        if layouts.metal().is_some_and(|metal| metal.is_met()) {
            return Err(Error::DeterminantKnowsNoMetal);
        }
        let (states, each) = outer_states(layouts);
        memory::check(monitor, MemoryUse::OuterStates, states, each, 0)?;
        let effort = Effort::new(layouts.effort());
        // One dig at a time, its outer states in parallel: a dig may take seconds, and has to be interruptible.
        let index = RunIndex::new(layouts.draws());
        let strike = |(k, dig): (usize, &Dig)| {
            let work = Watched { monitor, progress: (k, digs.len()), effort: effort.clone() };
            let (seen, findings) = (look(dig), layouts.findings());
            let metal = index.metal_missed(&seen, assessed);
            let strike = strike_unless(&layouts.priors(), &seen, findings, assessed, metal.as_ref(), &work);
            let strike = strike.ok_or_else(|| too_dear(&effort))?;
            let reliable = strike.reliable && layouts.passed();
            Ok(Strike { reliable, ..strike })
        };
        return digs.iter().enumerate().map(strike).collect();
    }
    let index = RunIndex::new(layouts.draws());
    let strike = |k: usize| {
        let (strike, chances) =
            index.strike_by_draw(layouts.prior(), &look(&digs[k]), layouts.findings(), assessed);
        strike.widened(layouts.widening(&chances))
    };
    let mut strikes = in_batches(digs.len(), monitor, |k| Ok(strike(k)))?;
    let reported = |(dig, strike): (&Dig, &Strike)| reported(&dig.id, strike.p, strike.mcse);
    let rely = layouts.rely(&digs.iter().zip(&strikes).map(reported).collect::<Vec<_>>())?;
    strikes.iter_mut().zip(rely).for_each(|(strike, reliable)| strike.reliable = reliable);
    Ok(strikes)
}

/// Outer states that sums go over, and bytes that each takes once it is built, about: runs of each head of a zone, and lines
/// for each extent of a header. As measured on the shipped examples.
fn outer_states(layouts: &Layouts) -> (usize, usize) {
    let of_law = |law: &dyn OuterPrior| -> usize {
        let at = |bearing: usize, system: usize| {
            law.state_probabilities(bearing, system).iter().filter(|p| **p > 0.0).count()
        };
        (0..law.bearings().len()).flat_map(|b| (0..law.systems().len()).map(move |s| at(b, s))).sum()
    };
    let states = layouts.priors().iter().map(|(_, law)| of_law(*law)).sum();
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
    Error::DeterminantTooDear { effort: effort.limit() as f64 / Effort::USUAL as f64 }
}

/// The strike chance of a dig, as convergence checks name it.
pub fn reported(dig: &str, p: f64, mcse: f64) -> Reported {
    Reported { name: format!("strike chance of {dig}"), p, mcse }
}

/// Assesses each dig with the weights and the rules for trees that are shipped.
///
/// # Errors
/// Those of [`assess_by`].
///
/// # Examples
/// ```
/// use underturf::monitor::Unwatched;
/// use underturf::decision::assess;
/// let layouts = underturf::example::layouts()?;
/// let digs = &layouts.site().digs;
/// let found = assess(&layouts, digs, &Unwatched)?;
/// assert_eq!(found[0].id, "post");
/// assert!(found[0].sentence.contains("by hand"), "no dig is ever called safe");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn assess(layouts: &Layouts, digs: &[Dig], monitor: &dyn Monitor) -> Result<Vec<Assessment>, Error> {
    assess_by(layouts, digs, &PlaceOptions::default(), monitor)
}

/// Assesses each dig.
///
/// # Errors
/// [`Error::Argument`] for a reach, step or rule out of range; [`Error::Interrupted`]; [`Error::NotConverged`] where chains
/// do not tell one of the chances closely enough.
///
/// # Examples
/// ```
/// use underturf::monitor::Unwatched;
/// use underturf::decision::{PlaceOptions, assess_by};
/// let layouts = underturf::example::layouts()?;
/// let digs = &layouts.site().digs;
/// let near = assess_by(&layouts, digs, &PlaceOptions::within(0.5, 0.25), &Unwatched)?;
/// assert!(near.iter().filter_map(|dig| dig.better.shift()).all(|shift| shift.dx_m.abs() <= 0.5));
///
/// let refused = assess_by(&layouts, digs, &PlaceOptions::within(-1.0, 0.25), &Unwatched);
/// assert!(refused.is_err_and(|error| error.to_string().starts_with("reach_m is -1; it must be above 0")));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn assess_by(
    layouts: &Layouts,
    digs: &[Dig],
    options: &PlaceOptions,
    monitor: &dyn Monitor,
) -> Result<Vec<Assessment>, Error> {
    options.check()?;
    let strikes = strike_probability(layouts, digs, Form::General, monitor)?;
    let (index, wider) = (RunIndex::new(layouts.draws()), widening(layouts));
    let ballot = Ballot::new(layouts);
    let more = in_batches(digs.len(), monitor, |k| {
        let dig = &digs[k];
        let loss = Loss::of(&loss_by_draw(layouts, &index, &options.weights, dig), wider);
        let tree = tree_conflict(layouts, &index, dig, &options.rules);
        let smaller =
            |_| index.strike(layouts.prior(), &look(&dig.as_drawn()), layouts.findings(), layouts.assessed());
        let drawn = dig.drawn.as_ref().map(smaller);
        Ok((loss, nearest(layouts, &ballot, dig), tree, drawn))
    })?;
    let maps = dig_maps(layouts, digs, options, monitor)?;
    let site = layouts.site();
    let found = digs.iter().zip(strikes).zip(more).zip(maps).map(|(((dig, strike), more), map)| {
        let (loss, nearest, tree, drawn) = more;
        let line_in_setback = options.rules.is_over(tree.as_ref().and_then(TreeConflict::p_setback));
        let verdict = Verdict::of(known(site, dig), strike.p, site.settings.verdict_limit, line_in_setback);
        let there = map.better.shift().map(|shift| dig.moved(Point::new(shift.dx_m, shift.dy_m)));
        let flags = flags_near(site, dig);
        Assessment {
            id: dig.id.clone(),
            method: dig.method,
            strike,
            drawn,
            loss,
            nearest,
            marks: marks_near(site, dig),
            bar: bar(site, dig),
            better: map.better,
            tree_there: there.and_then(|dig| tree_conflict(layouts, &index, &dig, &options.rules)),
            tree,
            line_in_setback,
            standing: standing_tree(site, dig),
            sentence: sentence(site, dig, verdict, &flags, line_in_setback),
            flags,
            verdict,
        }
    });
    Ok(found.collect())
}

/// The verdict in words: what flagged metal is called, and that a line is likely within the setback where the verdict has
/// another reason.
fn sentence(site: &Site, dig: &Dig, verdict: Verdict, flags: &[FlagNear], line_in_setback: bool) -> String {
    let metal: Vec<String> =
        flags.iter().filter(|it| it.inside).map(|it| site.keep_offs[it.keep_off].in_words()).collect();
    let said = verdict.sentence(dig.method, &metal.join(" and "));
    if line_in_setback && verdict != Verdict::LineInSetback {
        format!("{said}; a line is likely within its setback")
    } else {
        said
    }
}
