//! Holes a landscaper would propose: most anywhere in the lawn, some along edges and beds where shrubs go, some near a
//! head that is to be replaced. Seeded apart from the job, so that holes know nothing of the pipes.

use crate::installer::Dice;
use crate::job::{Hole, Survey};
use crate::plane::{Xy, edges, extent, inside, to_edge, xy};

/// Proposes `n` holes of radius 0.3 to 0.6 m and depth 0.3 to 0.6 m, clear of buildings, pools and paving.
pub fn propose(survey: &Survey, n: usize, seed: u64) -> Vec<Hole> {
    let mut dice = Dice::new(seed ^ 0x_d165_0000_0000);
    let mut holes = Vec::with_capacity(n);
    while holes.len() < n {
        let radius_m = dice.uniform(0.3, 0.6);
        let at = match dice.pick(&[0.68, 0.22, 0.10]) {
            0 => anywhere(survey, &mut dice),
            1 => along_an_edge(survey, &mut dice),
            _ => {
                let head = &survey.heads[dice.whole(0, survey.heads.len() - 1)];
                head.at + xy(dice.uniform(0.0, 1.5), 0.0).turned(dice.bearing())
            }
        };
        let depth_m = dice.uniform(0.3, 0.6);
        if may_dig(survey, at, radius_m) {
            holes.push(Hole { at, radius_m, depth_m });
        }
    }
    holes
}

/// A hole lies on the ground given and touches no building, pool or paving.
pub fn may_dig(survey: &Survey, at: Xy, radius_m: f64) -> bool {
    inside(at, &survey.boundary)
        && to_edge(at, &survey.boundary) > 0.5 * radius_m
        && survey
            .obstacles
            .iter()
            .filter(|o| o.kind != "bed")
            .all(|o| !inside(at, &o.outline) && to_edge(at, &o.outline) > radius_m)
}

fn anywhere(survey: &Survey, dice: &mut Dice) -> Xy {
    let (low, high) = extent(&survey.boundary);
    xy(dice.uniform(low.x, high.x), dice.uniform(low.y, high.y))
}

fn along_an_edge(survey: &Survey, dice: &mut Dice) -> Xy {
    let outlines: Vec<&[Xy]> = std::iter::once(survey.boundary.as_slice())
        .chain(survey.obstacles.iter().map(|o| o.outline.as_slice()))
        .collect();
    let outline = outlines[dice.whole(0, outlines.len() - 1)];
    let (a, b) = edges(outline).nth(dice.whole(0, outline.len() - 1)).expect("an outline has edges");
    let out = if dice.chance(0.5) { 1.0 } else { -1.0 };
    a.between(b, dice.uniform(0.0, 1.0)) + (b - a).unit().left() * (out * dice.uniform(0.3, 1.4))
}
