//! Where to dig n holes: the places of least total expected loss, apart from each other and from what they must keep off.
//!
//! Places are the cells of a grid. A cell is barred where the hole would enter a tolerance zone, meet a building or pool, or
//! leave the boundary or the ground asked for, and where it is nearer to them than asked for. For a tree, what is *known* to
//! lie within its setback (a mark, a meter) bars a cell; what is only *likely* to (a sampled line) adds to its loss: weight
//! times chance times the share of a strike that a conflict is taken to cost. A hole that reaches into the protected roots of a
//! standing tree is barred (BS 5837:2012 keeps digging out of them; trade values 5.2); a building within the roots that the
//! planted tree will have adds to the loss, the more the nearer it is. Lines within those roots are left to the setback.
//!
//! The least of many figures that each have a Monte Carlo error is too low by chance: chosen places look better than they are.
//! Their figures say so with an upper bound; layouts of another seed judge them without that favour.
//!
//! Small questions are solved exactly (`exact`); for large ones a good choice (`greedy`) comes with a proven lower bound of
//! every choice (`bound`), so that it is known how much could be gained at most.

mod bound;
mod candidates;
mod exact;
mod greedy;

use super::loss::{Loss, Weights, widening};
use super::maps::positive;
use super::root_ball::RootBall;
use super::setbacks::Setback;
use super::trees::{hole, is_too_small};
use crate::class::Class;
use crate::error::Error;
use crate::evidence::Plant;
use crate::evidence::document::Method;
use crate::geometry::{Point, Polygon};
use crate::infer::Layouts;
use crate::monitor::Monitor;
use candidates::{Candidate, Ground};

/// Steps that the exact search may take: a few seconds. Numerical choice; more help only where many places cost the same.
const STEPS: u64 = 200_000_000;

/// Most spots that are looked for at once.
const MOST_SPOTS: usize = 1_000;

/// What is looked for.
#[derive(Clone, Debug, PartialEq)]
pub struct SpotOptions {
    /// Number of spots.
    pub n: usize,
    /// Radius of each hole, metres.
    pub radius_m: f64,
    /// Depth of each hole, metres.
    pub depth_m: f64,
    /// Least distance between two centres, metres.
    pub spacing_m: f64,
    /// Least distance from the edge of a hole to a building or pool, metres.
    pub from_building_m: f64,
    /// Least distance from the edge of a hole to the boundary, metres.
    pub from_boundary_m: f64,
    /// Side of a cell, metres.
    pub cell_m: f64,
    /// Consequence weights.
    pub weights: Weights,
    /// Who digs.
    pub method: Method,
    /// The ground to stay in, besides the boundary.
    pub within: Option<Polygon>,
    /// The setback of the tree that is planted, from the middle of the hole.
    pub setback: Option<Setback>,
    /// What is planted: one that stays small is exempt from some setbacks, others have roots at maturity.
    pub tree: Option<Plant>,
    /// What a line within the setback costs, as a share of striking it.
    pub setback_share: f64,
    /// What a building or pool at the stem costs, as a share of striking a sewer.
    pub roots_share: f64,
    /// Whether to keep out of the protected roots of standing trees.
    pub spare_roots: bool,
}

impl SpotOptions {
    /// What a line within the setback costs when nothing is said, as a share of striking it: the conflict is less sure and
    /// comes later (common practice, no source).
    pub const SETBACK_SHARE: f64 = 0.1;

    /// What a building or pool at the stem costs when nothing is said, as a share of striking a sewer (common practice, no
    /// source).
    pub const ROOTS_SHARE: f64 = 0.1;

    /// Spots of this size that do not share ground, without margins, tree or setback.
    pub fn new(n: usize, radius_m: f64, depth_m: f64) -> Self {
        Self {
            n,
            radius_m,
            depth_m,
            spacing_m: 2.0 * radius_m,
            from_building_m: 0.0,
            from_boundary_m: 0.0,
            cell_m: 0.25,
            weights: Weights::default(),
            method: Method::Hand,
            within: None,
            setback: None,
            tree: None,
            setback_share: Self::SETBACK_SHARE,
            roots_share: Self::ROOTS_SHARE,
            spare_roots: true,
        }
    }

    fn check(&self) -> Result<(), Error> {
        let bad = |name, value, allowed| Err(Error::BadArgument { name, value, allowed });
        if self.n == 0 || self.n > MOST_SPOTS {
            return bad("n", self.n as f64, "1 to 1000 spots");
        }
        positive("radius_m", self.radius_m, 50.0, "above 0, up to 50 m")?;
        positive("depth_m", self.depth_m, 6.0, "above 0, up to 6 m")?;
        positive("spacing_m", self.spacing_m, 1000.0, "above 0, up to 1000 m")?;
        positive("cell_m", self.cell_m, 50.0, "above 0, up to 50 m")?;
        for (name, value) in [
            ("from_building_m", self.from_building_m),
            ("from_boundary_m", self.from_boundary_m),
            ("setback_share", self.setback_share),
            ("roots_share", self.roots_share),
        ] {
            if !(0.0..=1000.0).contains(&value) {
                return bad(name, value, "0 to 1000");
            }
        }
        Ok(())
    }
}

/// One chosen spot.
#[derive(Clone, Debug, PartialEq)]
pub struct Spot {
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
    /// What a building or pool within the roots at maturity adds.
    pub roots_loss: f64,
    /// Chance by class, in the order of [`Class::ALL`]; `None`: not assessed.
    pub by_class: [Option<f64>; Class::ALL.len()],
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
    /// Places there were to choose from.
    pub candidates: usize,
    /// The hole that the ball of the tree needs, where caliper or container are given, or why the tables do not tell.
    pub hole: Option<Result<RootBall, String>>,
    /// Whether the holes asked for are smaller than that.
    pub hole_too_small: bool,
}

/// The spots of least total expected loss.
///
/// # Errors
/// [`Error::BadArgument`]; [`Error::NoRoom`] if so many do not fit, saying how many do; [`Error::Interrupted`].
pub fn best_spots(layouts: &Layouts, options: &SpotOptions, monitor: &dyn Monitor) -> Result<Spots, Error> {
    options.check()?;
    let ground = Ground::new(layouts, options, monitor)?;
    let all = ground.candidates();
    let Choice { chosen, lower_bound, exact } = choose(&all, options.n, options.spacing_m, STEPS, monitor)?;
    let total = exact::total(&all, &chosen);
    let wider = widening(layouts);
    let spot = |&k: &usize| {
        let place = &all[k];
        let (p, upper) = ground.any(place);
        Spot {
            at: place.at,
            p,
            upper,
            loss: ground.loss(place, wider),
            setback_loss: ground.setback_loss(place),
            roots_loss: ground.roots_loss(place),
            by_class: ground.by_class(place),
        }
    };
    let spots = chosen.iter().map(spot).collect();
    let hole = options.tree.as_ref().and_then(hole);
    let hole_too_small = is_too_small(hole.as_ref(), 2.0 * options.radius_m, options.depth_m);
    Ok(Spots { spots, total, lower_bound, exact, candidates: all.len(), hole, hole_too_small })
}

/// A choice among places.
struct Choice {
    chosen: Vec<usize>,
    lower_bound: f64,
    exact: bool,
}

/// The best choice that is found within so many steps of the exact search. `all` sorted by cost.
fn choose(
    all: &[Candidate],
    n: usize,
    spacing_m: f64,
    steps: u64,
    monitor: &dyn Monitor,
) -> Result<Choice, Error> {
    let cheapest: Vec<usize> = (0..all.len()).collect();
    let tries = [cheapest, greedy::packed(all)].map(|order| greedy::take(all, &order, n, spacing_m));
    let fit = tries.iter().map(Vec::len).max().unwrap_or(0);
    let known = tries.into_iter().find(|chosen| chosen.len() == n).map(|mut chosen| {
        greedy::exchange(all, &mut chosen, spacing_m);
        chosen
    });
    let lower_bound = bound::lower_bound(all, n, spacing_m);
    if let Some(chosen) = known.as_ref().filter(|chosen| exact::total(all, chosen) <= lower_bound + 1e-12) {
        return Ok(sorted(chosen.clone(), lower_bound, true));
    }
    let found = exact::search(all, n, spacing_m, known, steps, monitor)?;
    match found.chosen {
        Some(chosen) => {
            let lower_bound = if found.complete { exact::total(all, &chosen) } else { lower_bound };
            Ok(sorted(chosen, lower_bound, found.complete))
        }
        None => Err(no_room(all, n, spacing_m, fit, steps, monitor)?),
    }
}

fn sorted(mut chosen: Vec<usize>, lower_bound: f64, exact: bool) -> Choice {
    chosen.sort_unstable();
    Choice { chosen, lower_bound, exact }
}

/// How many fit where `n` do not: more and more are packed until no more are found.
fn no_room(
    all: &[Candidate],
    n: usize,
    spacing_m: f64,
    mut fit: usize,
    steps: u64,
    monitor: &dyn Monitor,
) -> Result<Error, Error> {
    let mut alike: Vec<Candidate> =
        greedy::packed(all).into_iter().map(|k| Candidate { cost: 0.0, ..all[k] }).collect();
    alike.shrink_to_fit();
    let mut proven = fit + 1 > all.len();
    while !proven && fit < n {
        let found = exact::search(&alike, fit + 1, spacing_m, None, steps / 4, monitor)?;
        match found.chosen {
            Some(_) => fit += 1,
            None if found.complete => proven = true,
            None => break,
        }
    }
    Ok(Error::NoRoom { asked: n, fit, proven, candidates: all.len() })
}

#[cfg(test)]
mod tests;
