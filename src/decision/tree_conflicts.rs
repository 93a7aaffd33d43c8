//! A tree to be planted against what lies around it: lines within the setback and within the roots at maturity, buildings
//! and pools, meters, and the hole that its ball needs.
//!
//! Distances are from the middle of the stem, which stands in the middle of the dig. Lines of the sampled layouts count at
//! any depth, with their marks integrated exactly; a line that was marked by a locator counts as a straight line with a
//! Gaussian error sideways. A class that is neither assessed nor marked has no number.

use super::loss::{Loss, widening};
use super::roots::mature_root_zone_m;
use super::surroundings::{
    ANY_DEPTH_M, StructureNear, mark_within, metal_within, nearest_meter, nearest_structure,
};
use super::tree_rules::TreeRules;
use crate::class::Class;
use crate::error::Error;
use crate::geometry::{Footprint, Point};
use crate::inference::{Layouts, in_batches};
use crate::monitor::Monitor;
use crate::planting::{RootBall, TableError};
use crate::site::{Dig, Mark, Plant, Site};
use crate::strike::{Chance, DrawChances, Observation, RunIndex};

/// No chance is reported above this.
const GREATEST: f64 = 1.0 - 1e-9;

/// Chances that lines lie within a distance of a tree.
#[derive(Clone, Debug, PartialEq)]
pub struct Within {
    /// The distance, metres; the greatest where classes have different ones.
    pub radius_m: f64,
    /// Chance that any line spoken of does; `None` where none is spoken of.
    pub any: Option<Chance>,
    /// Chance by class, in the order of [`Class::ALL`]; `None`: not spoken of, or neither assessed nor marked.
    pub by_class: [Option<Chance>; Class::ALL.len()],
}

/// What stands against a tree where a dig is made for it.
#[derive(Clone, Debug)]
pub struct TreeConflict {
    /// Lines within the setback; `None` where the tree is exempt.
    pub setback: Option<Within>,
    /// Lines within the roots at maturity; `None` for trees that stay small.
    pub roots: Option<Within>,
    /// The nearest building or pool.
    pub structure: Option<StructureNear>,
    /// Whether its footing lies within the greatest distance of the setback.
    pub structure_in_setback: bool,
    /// Whether it lies within the roots at maturity.
    pub structure_in_roots: bool,
    /// Distance to the nearest meter, metres.
    pub meter_m: Option<f64>,
    /// Whether that is less than the setback from meters.
    pub meter_in_setback: bool,
    /// The hole that the ball needs, where caliper or container are given, or why the tables do not tell.
    pub hole: Option<Result<RootBall, TableError>>,
    /// Whether the dig is drawn smaller than that; it is reckoned with as the ball needs it.
    pub hole_too_small: bool,
}

impl TreeConflict {
    /// Chance that any line lies within the setback.
    pub fn p_setback(&self) -> Option<f64> {
        Some(self.setback.as_ref()?.any?.p)
    }
}

/// What stands against the trees of digs; `None` for a dig without one.
///
/// # Errors
/// [`Error::Interrupted`].
///
/// # Examples
/// ```
/// use underturf::monitor::Unwatched;
/// use underturf::decision::{TreeRules, tree_conflicts};
/// let layouts = underturf::example::layouts()?;
/// let digs = &layouts.site().digs;
/// let found = tree_conflicts(&layouts, digs, &TreeRules::default(), &Unwatched)?;
/// assert!(found[0].is_none(), "the post is no tree");
/// let oak = found[1].as_ref().expect("the oak is one");
/// assert!(oak.p_setback().is_some_and(|p| p > 0.0 && p < 1.0));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn tree_conflicts(
    layouts: &Layouts,
    digs: &[Dig],
    rules: &TreeRules,
    monitor: &dyn Monitor,
) -> Result<Vec<Option<TreeConflict>>, Error> {
    let index = RunIndex::new(layouts.draws());
    in_batches(digs.len(), monitor, |k| Ok(tree_conflict(layouts, &index, &digs[k], rules)))
}

/// What stands against the tree of a dig; `None` for a dig without one.
pub fn tree_conflict(
    layouts: &Layouts,
    index: &RunIndex,
    dig: &Dig,
    rules: &TreeRules,
) -> Option<TreeConflict> {
    let plant = dig.tree?;
    let (site, at) = (layouts.site(), dig.stem());
    let setback = rules.setback_of(&plant);
    let zone_m = mature_root_zone_m(&plant);
    let within_roots = zone_m.map(|radius| within(layouts, index, at, &[(radius, &Class::ALL)]));
    let structure = nearest_structure(site, at);
    let nearer =
        |limit: Option<f64>| structure.zip(limit).is_some_and(|(near, limit)| near.distance_m < limit);
    let meter_m = nearest_meter(site, at);
    let meter_limit = setback.and_then(|setback| setback.meter_m());
    Some(TreeConflict {
        hole_too_small: dig.drawn.is_some(),
        structure_in_setback: nearer(setback.map(|setback| setback.greatest_m())),
        structure_in_roots: nearer(zone_m),
        setback: within_setback(layouts, index, &plant, at, rules),
        roots: within_roots,
        structure,
        meter_m,
        meter_in_setback: meter_m.zip(meter_limit).is_some_and(|(near, limit)| near < limit),
        hole: plant.hole(),
    })
}

/// Lines within the setback of a tree whose stem stands at a place; `None` where it is exempt.
pub(super) fn within_setback(
    layouts: &Layouts,
    index: &RunIndex,
    plant: &Plant,
    stem: Point,
    rules: &TreeRules,
) -> Option<Within> {
    let setback = rules.setback_of(plant)?;
    let rings: Vec<(f64, &[Class])> = setback.rings().collect();
    Some(within(layouts, index, stem, &rings))
}

/// Chances that lines lie within rings round a place, each for its classes.
fn within(layouts: &Layouts, index: &RunIndex, at: Point, rings: &[(f64, &[Class])]) -> Within {
    let (site, wider) = (layouts.site(), widening(layouts));
    let mut by_class = [None; Class::ALL.len()];
    let mut missed = vec![1.0; layouts.draws().len()];
    let mut no_mark = 1.0;
    let mut spoken_of = false;
    for &(radius, classes) in rings {
        let look = Observation::dig(Footprint::disc(at, radius), ANY_DEPTH_M);
        let draws: Vec<DrawChances> = index.by_draw(layouts.prior(), &look, layouts.findings());
        for &class in classes {
            let k = class as usize;
            let marks = marks_of(site, class).map(|mark| mark_within(&mark.path, mark.sd_m, at, radius));
            let unknown = class == Class::Unknown;
            let flagged = site.keep_offs.iter().filter(|_| unknown).map(|it| metal_within(it, at, radius));
            let marked: Vec<f64> = marks.chain(flagged).collect();
            let clear: f64 = marked.iter().map(|p| 1.0 - p).product();
            no_mark *= clear;
            let assessed = layouts.assessed()[k];
            if assessed {
                let of_class: Vec<f64> = draws.iter().map(|draw| draw.by_class[k]).collect();
                let Loss { loss: p, error } = Loss::of(&of_class, wider);
                by_class[k] = Some(joined(Chance { p, mcse: error }, clear));
                // The control wire lies beside the mainline: where that counts, it adds nothing.
                if class != Class::ControlWire || !classes.contains(&Class::Mainline) {
                    missed.iter_mut().zip(&of_class).for_each(|(m, p)| *m *= 1.0 - p);
                }
            } else if !marked.is_empty() {
                by_class[k] = Some(joined(Chance { p: 0.0, mcse: 0.0 }, clear));
            }
            spoken_of |= by_class[k].is_some();
        }
    }
    let met: Vec<f64> = missed.iter().map(|m| 1.0 - m).collect();
    let Loss { loss: p, error } = Loss::of(&met, wider);
    let any = spoken_of.then(|| joined(Chance { p, mcse: error }, no_mark));
    Within { radius_m: rings.iter().map(|ring| ring.0).fold(0.0, f64::max), any, by_class }
}

/// A chance of layouts joined with the chance that no marked line is there.
fn joined(chance: Chance, clear: f64) -> Chance {
    let p = (1.0 - (1.0 - chance.p) * clear).clamp(1.0 - GREATEST, GREATEST);
    Chance { p, mcse: chance.mcse * clear }
}

fn marks_of(site: &Site, class: Class) -> impl Iterator<Item = &Mark> {
    site.marks.iter().filter(move |mark| mark.class == class)
}
