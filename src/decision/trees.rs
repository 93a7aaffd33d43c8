//! A tree to be planted against what lies around it: lines within the setback and within the roots at maturity, buildings
//! and pools, meters, and the hole that its ball needs.
//!
//! Distances are from the middle of the stem, which stands in the middle of the dig. Lines of the sampled layouts count at
//! any depth, with their marks integrated exactly; a line that was marked by a locator counts as a straight line with a
//! Gaussian error sideways. A class that is neither assessed nor marked has no number.

use super::dig::{footprint, round_width_m};
use super::loss::{Loss, widening};
use super::root_ball::{BallTable, RootBall, root_ball_of_caliper, root_ball_of_container};
use super::roots::mature_root_zone_m;
use super::setbacks::Setback;
use crate::class::Class;
use crate::error::Error;
use crate::evidence::document::{ObstacleKind, SourceKind, TreeSize};
use crate::evidence::{Dig, Mark, Plant, Site};
use crate::geometry::{Footprint, Point, segment_distance};
use crate::infer::{Layouts, in_batches};
use crate::layout::normal_cdf;
use crate::monitor::Monitor;
use crate::strike::{Chance, DrawChances, Look, RunIndex};

/// Deeper than any line that is dealt with, metres: setbacks and roots do not ask how deep a line lies.
pub(super) const ANY_DEPTH_M: f64 = 6.0;

/// No chance is reported above this.
const GREATEST: f64 = 1.0 - 1e-9;

const M_PER_IN: f64 = 0.0254;

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

/// A building or pool near a tree.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StructureNear {
    /// Index of the obstacle in the document.
    pub obstacle: usize,
    /// What it is.
    pub kind: ObstacleKind,
    /// Distance from the middle of the stem to its footing, metres; zero inside.
    pub distance_m: f64,
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
    pub hole: Option<Result<RootBall, String>>,
    /// Whether the dig is drawn smaller than that: its chances are then those of a smaller hole than will be dug.
    pub hole_too_small: bool,
}

/// What stands against the trees of digs; `None` for a dig without one.
///
/// # Errors
/// [`Error::Interrupted`].
pub fn tree_conflicts(
    layouts: &Layouts,
    digs: &[Dig],
    setback: &Setback,
    monitor: &dyn Monitor,
) -> Result<Vec<Option<TreeConflict>>, Error> {
    let index = RunIndex::new(layouts.draws());
    in_batches(digs.len(), monitor, |k| Ok(tree_conflict(layouts, &index, &digs[k], setback)))
}

/// What stands against the tree of a dig; `None` for a dig without one.
pub fn tree_conflict(
    layouts: &Layouts,
    index: &RunIndex,
    dig: &Dig,
    setback: &Setback,
) -> Option<TreeConflict> {
    let plant = dig.tree?;
    let (site, at) = (layouts.site(), footprint(dig).reference());
    let exempt = plant.size == TreeSize::Small && setback.exempts_small;
    let rings: Vec<(f64, &[Class])> = setback.rings().collect();
    let within_setback = (!exempt).then(|| within(layouts, index, at, &rings));
    let zone_m = mature_root_zone_m(&plant);
    let within_roots = zone_m.map(|radius| within(layouts, index, at, &[(radius, &Class::ALL)]));
    let structure = nearest_structure(site, at);
    let nearer =
        |limit: Option<f64>| structure.zip(limit).is_some_and(|(near, limit)| near.distance_m < limit);
    let meter_m = nearest_meter(site, at);
    let meter_limit = setback.meter_m().filter(|_| !exempt);
    let hole = hole(&plant);
    Some(TreeConflict {
        hole_too_small: is_too_small(hole.as_ref(), round_width_m(dig), dig.depth_m),
        structure_in_setback: nearer((!exempt).then(|| setback.greatest_m())),
        structure_in_roots: nearer(zone_m),
        setback: within_setback,
        roots: within_roots,
        structure,
        meter_m,
        meter_in_setback: meter_m.zip(meter_limit).is_some_and(|(near, limit)| near < limit),
        hole,
    })
}

/// The hole by caliper or container, as [`super::root_ball_of_caliper`] with three balls' width.
pub(super) fn hole(plant: &Plant) -> Option<Result<RootBall, String>> {
    let of = match (plant.caliper_m, plant.container) {
        (Some(caliper_m), _) => root_ball_of_caliper(caliper_m / M_PER_IN, BallTable::ShadeTree, 3.0),
        (None, Some(number)) => root_ball_of_container(number, None, 3.0),
        (None, None) => return None,
    };
    Some(of.map_err(|error: Error| error.to_string()))
}

/// Whether a hole so wide and deep is smaller than the one that a ball is known to need.
pub(super) fn is_too_small(needed: Option<&Result<RootBall, String>>, width_m: f64, depth_m: f64) -> bool {
    needed.is_some_and(|ball| ball.as_ref().is_ok_and(|ball| ball.needs_more_than(width_m, depth_m)))
}

/// Chances that lines lie within rings round a place, each for its classes.
fn within(layouts: &Layouts, index: &RunIndex, at: Point, rings: &[(f64, &[Class])]) -> Within {
    let (site, wider) = (layouts.site(), widening(layouts));
    let mut by_class = [None; Class::ALL.len()];
    let mut missed = vec![1.0; layouts.draws().len()];
    let mut no_mark = 1.0;
    let mut spoken_of = false;
    for &(radius, classes) in rings {
        let look = Look::dig(Footprint::disc(at, radius), ANY_DEPTH_M);
        let draws: Vec<DrawChances> = index.by_draw(layouts.law(), &look, layouts.findings());
        for &class in classes {
            let k = class as usize;
            let marked: Vec<f64> = marks_of(site, class).map(|mark| mark_within(mark, at, radius)).collect();
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

/// Chance that a marked line lies within a distance of a place: straight, with a Gaussian error sideways,
/// `F((r - d) / sd) - F((-r - d) / sd)` (trade values 8.19).
fn mark_within(mark: &Mark, at: Point, radius_m: f64) -> f64 {
    let d = mark
        .path
        .windows(2)
        .map(|leg| segment_distance(at, at, leg[0], leg[1]))
        .fold(f64::INFINITY, f64::min);
    if mark.sd_m > 0.0 {
        normal_cdf((radius_m - d) / mark.sd_m) - normal_cdf((-radius_m - d) / mark.sd_m)
    } else {
        f64::from(u8::from(d <= radius_m))
    }
}

/// The building or pool nearest to a place.
pub(super) fn nearest_structure(site: &Site, at: Point) -> Option<StructureNear> {
    let solid = site.obstacles.iter().enumerate().filter(|(_, obstacle)| obstacle.kind.blocks());
    let near = solid.map(|(obstacle, it)| StructureNear {
        obstacle,
        kind: it.kind,
        distance_m: it.outline.distance_to_segment(at, at),
    });
    near.min_by(|a, b| a.distance_m.total_cmp(&b.distance_m))
}

/// Distance to the nearest meter.
pub(super) fn nearest_meter(site: &Site, at: Point) -> Option<f64> {
    let meters = site.sources.iter().filter(|source| source.kind == SourceKind::Meter);
    meters.map(|meter| meter.at.distance(at)).min_by(f64::total_cmp)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// Trade values 8.19: (d, R, sd) = (0, 1, 1), (1, 1, 1), (2, 1, 1), (0.6, 0.6, 0.3), (1.2, 0.6, 0.3).
    #[test]
    fn a_marked_line_meets_the_worked_values() {
        for (d, radius, sd_m, expected) in [
            (0.0, 1.0, 1.0, 0.682_689),
            (1.0, 1.0, 1.0, 0.477_250),
            (2.0, 1.0, 1.0, 0.157_305),
            (0.6, 0.6, 0.3, 0.499_968),
            (1.2, 0.6, 0.3, 0.022_750),
        ] {
            let path = vec![Point::new(-50.0, 0.0), Point::new(50.0, 0.0)];
            let mark = Mark {
                class: Class::Gas,
                path,
                sd_m,
                half_zone_m: None,
                quality: None,
                date: None,
                by_probe: None,
            };
            assert_relative_eq!(mark_within(&mark, Point::new(3.0, d), radius), expected, epsilon = 1e-6);
            let sure = Mark { sd_m: 0.0, ..mark };
            assert_relative_eq!(
                mark_within(&sure, Point::new(3.0, d), radius),
                f64::from(u8::from(d <= radius))
            );
        }
    }
}
