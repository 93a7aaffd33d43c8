//! Where a dig may end up: the places among which later decisions choose once probes have reported.
//!
//! A crew that may shift a hole does not ask whether this place is struck but which place is not. The first of the places is
//! where the dig would go as things stand. The others are those that would be wanted most by someone who saw through the
//! ground: one after another, each is the place that takes most off the expected loss of the best of those chosen so far.
//! That loss is submodular in the set of places, so that the greedy choice comes within 1 - 1/e of the best one (Nemhauser,
//! Wolsey & Fisher, Mathematical Programming 14 (1978) 265-294).

use super::cells::MOST_WAYS;
use super::cut::radii;
use super::dig_by_draw::DigByDraw;
use crate::decision::bars::{bars, is_paved};
use crate::decision::dig::footprint;
use crate::decision::loss::Weights;
use crate::decision::maps::shifted;
use crate::decision::shift::PlaceOptions;
use crate::decision::tree_rules::{Asked, TreeRules};
use crate::error::Error;
use crate::geometry::{Footprint, Point};
use crate::inference::{Layouts, in_batches};
use crate::monitor::Monitor;
use crate::site::Dig;
use crate::strike::raster::Grid;

/// Step of the place where a dig would go now, metres.
const FINE_M: f64 = 0.1;

/// Steps of the other places from the middle to the end of the reach, and the least step, metres. Numerical choices: at most
/// 150 places a dig.
const STEPS: f64 = 7.0;
const LEAST_STEP_M: f64 = 0.1;

/// A further place takes off at least this share of the loss of the first. Numerical choice.
const LEAST_SHARE: f64 = 0.01;

/// For each dig, the places it may be at, the first where it would go as things stand.
pub fn ways(
    layouts: &Layouts,
    digs: &[Dig],
    shift_m: f64,
    weights: &Weights,
    rules: &TreeRules,
    monitor: &dyn Monitor,
) -> Result<Vec<Vec<Dig>>, Error> {
    if shift_m <= 0.0 {
        return Ok(digs.iter().map(|dig| vec![dig.clone()]).collect());
    }
    let options =
        PlaceOptions { weights: *weights, rules: *rules, reach_m: shift_m, cell_m: FINE_M.min(shift_m) };
    let now = shifted(layouts, digs, &options, monitor)?;
    let radii = radii(layouts.pieces().all());
    let first_half = |mut of: DigByDraw| -> Vec<f64> {
        of.losses.truncate(of.losses.len() / 2);
        of.losses
    };
    let look = |dig: &Dig| DigByDraw::new(layouts, dig, weights, rules, &radii);
    in_batches(digs.len(), monitor, |k| {
        let places = open_places(layouts, &digs[k], shift_m, (weights, rules), monitor)?;
        let kept = places
            .into_iter()
            .map(|place| (look(&place), place))
            .filter(|(of, _)| !rules.is_over(of.p_setback));
        let (seen, open): (Vec<Vec<f64>>, Vec<Dig>) = kept.map(|(of, place)| (first_half(of), place)).unzip();
        let chosen = covering(&first_half(look(&now[k])), &seen, MOST_WAYS - 1);
        Ok([now[k].clone()].into_iter().chain(chosen.into_iter().map(|place| open[place].clone())).collect())
    })
}

/// The dig at every place of a grid within reach where it may be dug and its tree may stand: where it is drawn, nothing is
/// said of paving.
fn open_places(
    layouts: &Layouts,
    dig: &Dig,
    shift_m: f64,
    (weights, rules): (&Weights, &TreeRules),
    monitor: &dyn Monitor,
) -> Result<Vec<Dig>, Error> {
    let (site, whole) = (layouts.site(), footprint(dig));
    let here = whole.reference();
    let cell_m = (shift_m / STEPS).max(LEAST_STEP_M);
    let half = (shift_m / cell_m + 1e-9).floor() as usize;
    let side = 2 * half + 1;
    let (x0, y0) = (here.x - half as f64 * cell_m, here.y - half as f64 * cell_m);
    let grid = Grid { x0, y0, cell_m, rows: side, cols: side };
    let barred = bars(&grid, site, &whole.translated(-here), monitor)?.barred;
    let may_be_paved = is_paved(site, &whole);
    let asked = dig.tree.as_ref().map(|plant| Asked::of_tree(rules, plant, weights));
    let to = |((row, col), barred): ((usize, usize), &bool)| -> Option<Dig> {
        let by: Point = grid.centre(row, col) - here;
        let tree_may = |ground: &Footprint| {
            asked.as_ref().is_none_or(|asked| !asked.bars(site, dig.stem() + by, ground))
        };
        let near = !barred && by.x.hypot(by.y) <= shift_m + 1e-9;
        let open = near && {
            let ground = whole.translated(by);
            (may_be_paved || !is_paved(site, &ground)) && tree_may(&ground)
        };
        open.then(|| dig.moved(by))
    };
    Ok(barred.indexed_iter().filter_map(to).collect())
}

/// The places that take most off the mean of the least loss, one after another.
fn covering(first: &[f64], places: &[Vec<f64>], most: usize) -> Vec<usize> {
    let mut least = first.to_vec();
    let enough = LEAST_SHARE * first.iter().sum::<f64>();
    let mut chosen = Vec::new();
    while chosen.len() < most {
        let saved = |losses: &[f64]| -> f64 {
            least.iter().zip(losses).map(|(least, loss)| (least - loss).max(0.0)).sum()
        };
        let gains = places.iter().enumerate().map(|(k, losses)| (saved(losses), k));
        let best = gains.max_by(|a, b| a.0.total_cmp(&b.0).then(b.1.cmp(&a.1)));
        let Some((_, place)) = best.filter(|(saved, _)| *saved > enough) else { break };
        least.iter_mut().zip(&places[place]).for_each(|(least, loss)| *least = least.min(*loss));
        chosen.push(place);
    }
    chosen
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first place loses in draws 0 to 4. Place 1 is right in draws 0 to 3, place 2 in draws 2 to 4, place 3 in draw 0
    /// alone: 1 first, then 2, and 3 adds nothing, however many are allowed.
    #[test]
    fn places_are_taken_for_what_the_others_do_not_cover() {
        let yes = |of: &[usize]| (0..6).map(|k| f64::from(u8::from(of.contains(&k)))).collect::<Vec<f64>>();
        let first = yes(&[0, 1, 2, 3, 4]);
        let places = [yes(&[0, 1, 2, 3, 4, 5]), yes(&[4, 5]), yes(&[0, 1, 5]), yes(&[1, 2, 3, 4])];
        assert_eq!(covering(&first, &places, 7), [1, 2]);
        assert_eq!(covering(&first, &places, 1), [1]);
        // Planted: places taken by their own mean loss alone would take the twin of the first, which covers nothing more.
        assert_eq!(covering(&first, &[yes(&[4, 5]), yes(&[4, 5]), yes(&[0, 1, 5])], 2), [0, 2]);
    }
}
