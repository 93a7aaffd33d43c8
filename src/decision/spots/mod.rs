//! Where to dig holes: the places of least total expected loss, apart from each other and from what they must keep off.
//!
//! Places are the cells of a grid. A cell is barred where the hole would enter a tolerance zone or stand on flagged metal, meet
//! a building or pool, or leave the boundary or the ground asked for, where it is nearer to them than asked for, and where its
//! tree may not stand ([`TreeRules`](super::TreeRules)). Holes may differ, each with a tree of its own.
//!
//! The least of many figures that each have a Monte Carlo error is too low by chance: chosen places look better than they are.
//! Their figures say so with an upper bound; layouts of another seed judge them without that advantage.
//!
//! Small questions are solved exactly (`exact`); for large ones a good choice (`greedy`) comes with a proven lower bound of
//! every choice (`bound`), so that it is known how much could be gained at most.

mod bound;
mod candidates;
mod exact;
mod greedy;
mod options;
mod question;

use super::loss::{Loss, widening};
use super::tree_conflicts::within_setback;
use crate::class::Class;
use crate::error::Error;
use crate::geometry::Point;
use crate::inference::Layouts;
use crate::monitor::Monitor;
use crate::planting::{RootBall, TableError};
use crate::site::{Dig, Plant};
use crate::strike::RunIndex;
use candidates::{Candidate, Ground};
pub use options::{SpotHole, SpotOptions};
use question::{Pick, Question};

/// Steps that the exact search may take: a few seconds. Numerical choice; more help only where many places cost the same.
const STEPS: u64 = 200_000_000;

/// One chosen spot.
#[derive(Clone, Debug, PartialEq)]
pub struct Spot {
    /// Which of the holes asked for.
    pub hole: usize,
    /// The dig there, as its ball needs it.
    pub dig: Dig,
    /// Centre of the hole, metres.
    pub at: Point,
    /// Chance of a strike and its Monte Carlo standard error.
    pub p: Loss,
    /// One-sided 95 % upper bound of that chance; where no draw strikes here, the bound that so many draws allow.
    pub upper: f64,
    /// Expected loss of digging, and its error.
    pub loss: Loss,
    /// What lines within the setback add.
    pub setback_loss: f64,
    /// Chance of a line within the setback of its tree, as the tree is assessed here.
    pub p_setback: Option<f64>,
    /// What a building or pool within the roots at maturity adds.
    pub roots_loss: f64,
    /// Chance by class, in the order of [`Class::ALL`]; `None`: not assessed.
    pub by_class: [Option<f64>; Class::ALL.len()],
    /// The hole that the ball of its tree needs, where caliper or container are given, or why the tables do not tell.
    pub ball: Option<Result<RootBall, TableError>>,
}

/// The chosen spots, and how good the choice is.
#[derive(Clone, Debug, PartialEq)]
pub struct Spots {
    /// The spots, least loss first.
    pub spots: Vec<Spot>,
    /// Total expected loss, conflicts with the setback and of the roots included.
    pub total: f64,
    /// No choice of so many spots on this grid comes to less.
    pub lower_bound: f64,
    /// Whether the choice is proven best on this grid.
    pub exact: bool,
    /// Places there were to choose from, of all kinds of holes together.
    pub candidates: usize,
}

/// The spots of least total expected loss.
///
/// # Errors
/// [`Error::Argument`]; [`Error::NoRoom`] if so many do not fit, saying how many do; [`Error::Interrupted`].
///
/// # Examples
/// ```
/// use underturf::monitor::Unwatched;
/// use underturf::decision::{SpotOptions, best_spots};
/// let layouts = underturf::example::layouts()?;
/// let (n, radius_m, depth_m) = (2, 0.3, 0.4);
/// let options = SpotOptions { cell_m: 0.5, spacing_m: 2.0, ..SpotOptions::new(n, radius_m, depth_m) };
/// let spots = best_spots(&layouts, &options, &Unwatched)?.spots;
/// assert!((spots[0].at - spots[1].at).norm() >= 2.0);
///
/// let none = SpotOptions::new(0, radius_m, depth_m);
/// assert_eq!(best_spots(&layouts, &none, &Unwatched).unwrap_err().to_string(), "n is 0; it must be from 1 to 1000");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn best_spots(layouts: &Layouts, options: &SpotOptions, monitor: &dyn Monitor) -> Result<Spots, Error> {
    options.check()?;
    let kinds = kinds(options);
    let ground = |of: &Vec<usize>| Ground::new(layouts, options, &options.holes[of[0]], monitor);
    let mut grounds: Vec<Ground<'_>> = kinds.iter().map(ground).collect::<Result<_, _>>()?;
    let index = RunIndex::new(layouts.draws());
    loop {
        let question = question(options, &kinds, &grounds);
        let choice = choose(&question, STEPS, monitor)?;
        // Cells are looked through by counts of draws; a tree is assessed with run attributes integrated, and its limit holds
        // for that figure.
        let p_setback = |pick: &Pick| {
            let (plant, at) = (grounds[pick.0].dig.tree.as_ref()?, question.place(*pick).at);
            Some(within_setback(layouts, &index, plant, at, &options.rules)?.any?.p)
        };
        let chances: Vec<Option<f64>> = choice.chosen.iter().map(p_setback).collect();
        let over = |(_, p): &(&Pick, &Option<f64>)| options.rules.is_over(**p);
        let over: Vec<Pick> =
            choice.chosen.iter().zip(&chances).filter(over).map(|(pick, _)| *pick).collect();
        if over.is_empty() {
            return Ok(spots(layouts, options, &kinds, &grounds, &question, &choice, &chances));
        }
        for pick in over {
            grounds[pick.0].bar(question.place(pick));
        }
    }
}

/// Holes that ask the same of their places, the widest first: for each kind, the holes of it.
fn kinds(options: &SpotOptions) -> Vec<Vec<usize>> {
    let mut kinds: Vec<Vec<usize>> = Vec::new();
    for (k, hole) in options.holes.iter().enumerate() {
        let alike = |of: &&mut Vec<usize>| {
            let first = &options.holes[of[0]];
            options::SpotHole { id: None, ..first.clone() } == options::SpotHole { id: None, ..hole.clone() }
        };
        match kinds.iter_mut().find(alike) {
            Some(of) => of.push(k),
            None => kinds.push(vec![k]),
        }
    }
    let width = |of: &Vec<usize>| {
        let (low, high) =
            super::dig::footprint(&options.holes[of[0]].dig(Point::default(), options.method)).bounds();
        high.x - low.x
    };
    kinds.sort_by(|a, b| width(b).total_cmp(&width(a)));
    kinds
}

fn question(options: &SpotOptions, kinds: &[Vec<usize>], grounds: &[Ground<'_>]) -> Question {
    let gap = |a: &Ground<'_>, b: &Ground<'_>| options.spacing_m.max(a.radius_m + b.radius_m + options.gap_m);
    Question {
        places: grounds.iter().map(Ground::candidates).collect(),
        counts: kinds.iter().map(Vec::len).collect(),
        spacing_m: grounds.iter().map(|a| grounds.iter().map(|b| gap(a, b)).collect()).collect(),
    }
}

/// The chosen spots with their figures, least loss first.
fn spots(
    layouts: &Layouts,
    options: &SpotOptions,
    kinds: &[Vec<usize>],
    grounds: &[Ground<'_>],
    question: &Question,
    choice: &Choice,
    chances: &[Option<f64>],
) -> Spots {
    let wider = widening(layouts);
    let mut taken = vec![0usize; kinds.len()];
    let mut spot = |(&pick, &p_setback): (&Pick, &Option<f64>)| {
        let (ground, place) = (&grounds[pick.0], question.place(pick));
        let hole = kinds[pick.0][taken[pick.0]];
        taken[pick.0] += 1;
        let (p, upper) = ground.any(place);
        let mut dig = ground.dig.moved(place.at);
        dig.id = options.holes[hole].id.clone().unwrap_or_default();
        Spot {
            hole,
            at: place.at,
            p,
            upper,
            loss: ground.loss(place, wider),
            setback_loss: ground.setback_loss(place.cell),
            p_setback,
            roots_loss: ground.roots_loss(place),
            by_class: ground.by_class(place),
            ball: dig.tree.as_ref().and_then(Plant::hole),
            dig,
        }
    };
    Spots {
        spots: choice.chosen.iter().zip(chances).map(&mut spot).collect(),
        total: question.total(&choice.chosen),
        lower_bound: choice.lower_bound,
        exact: choice.exact,
        candidates: question.candidates(),
    }
}

/// A choice among places.
struct Choice {
    chosen: Vec<Pick>,
    lower_bound: f64,
    exact: bool,
}

/// The best choice that is found within so many steps of the exact search.
fn choose(question: &Question, steps: u64, monitor: &dyn Monitor) -> Result<Choice, Error> {
    let n = question.n();
    let cheapest = |all: &Vec<Candidate>| (0..all.len()).collect::<Vec<usize>>();
    let orders = [
        question.places.iter().map(cheapest).collect::<Vec<_>>(),
        question.places.iter().map(|all| greedy::packed(all)).collect(),
    ];
    let tries = orders.map(|orders| greedy::take(question, &orders));
    let fit = tries.iter().map(Vec::len).max().unwrap_or(0);
    let known = tries.into_iter().find(|chosen| chosen.len() == n).map(|mut chosen| {
        greedy::exchange(question, &mut chosen);
        chosen
    });
    let lower_bound = bound::of_question(question);
    if let Some(chosen) = known.as_ref().filter(|chosen| question.total(chosen) <= lower_bound + 1e-12) {
        return Ok(sorted(question, chosen.clone(), lower_bound, true));
    }
    let found = exact::search(question, known, steps, monitor)?;
    match found.chosen {
        Some(chosen) => {
            let lower_bound = if found.complete { question.total(&chosen) } else { lower_bound };
            Ok(sorted(question, chosen, lower_bound, found.complete))
        }
        None => Err(no_room(question, fit, found.complete, steps, monitor)?),
    }
}

/// Least loss first; places of one kind are sorted by it already.
fn sorted(question: &Question, mut chosen: Vec<Pick>, lower_bound: f64, exact: bool) -> Choice {
    chosen.sort_unstable();
    chosen.sort_by(|&a, &b| question.place(a).cost.total_cmp(&question.place(b).cost));
    Choice { chosen, lower_bound, exact }
}

/// How many fit where as many as asked for do not: of one kind more and more are packed until no more are found; of several,
/// as many as were placed.
fn no_room(
    question: &Question,
    mut fit: usize,
    complete: bool,
    steps: u64,
    monitor: &dyn Monitor,
) -> Result<Error, Error> {
    let (asked, candidates) = (question.n(), question.candidates());
    let [all] = &question.places[..] else {
        return Ok(Error::NoRoom { asked, fit, proven: complete && fit + 1 == asked, candidates });
    };
    let mut alike: Vec<Candidate> =
        greedy::packed(all).into_iter().map(|k| Candidate { cost: 0.0, ..all[k] }).collect();
    alike.shrink_to_fit();
    let mut packing =
        Question { places: vec![alike], counts: vec![0], spacing_m: question.spacing_m.clone() };
    let mut proven = fit + 1 > all.len();
    while !proven && fit < asked {
        packing.counts[0] = fit + 1;
        let found = exact::search(&packing, None, steps / 4, monitor)?;
        match found.chosen {
            Some(_) => fit += 1,
            None if found.complete => proven = true,
            None => break,
        }
    }
    Ok(Error::NoRoom { asked, fit, proven, candidates })
}

#[cfg(test)]
mod tests;
