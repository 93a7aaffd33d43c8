//! Holes that are asked about: near flags, near paint, on the straight way between the ends of services, on from a row of flags,
//! and anywhere. They are placed by what is seen and never by the truth: holes chosen by their distance to the true lines would
//! strike more often than an honest chance says, and the reliability table would judge the choice.

use super::survey::Survey;
use crate::installer::Dice;
use crate::job::Hole;
use crate::plane::{Xy, extent, inside, xy};

/// 60 to 100 holes, clear of buildings. Their middles lie on the lot.
pub fn ask(survey: &Survey, dice: &mut Dice) -> Vec<Hole> {
    let wanted = dice.whole(60, 100);
    let mut holes = Vec::with_capacity(wanted);
    while holes.len() < wanted {
        let at = spot(survey, dice);
        let hole = Hole { at, radius_m: dice.uniform(0.15, 0.6), depth_m: dice.uniform(0.3, 0.9) };
        let built = |p: Xy| survey.obstacles.iter().any(|o| o.kind == "building" && inside(p, &o.outline));
        if inside(at, &survey.boundary) && !built(at) {
            holes.push(hole);
        }
    }
    holes
}

fn spot(survey: &Survey, dice: &mut Dice) -> Xy {
    let off = |most: f64, dice: &mut Dice| xy(dice.uniform(0.0, most), 0.0).turned(dice.bearing());
    let any = |n: usize, dice: &mut Dice| dice.whole(0, n - 1);
    let flag = |dice: &mut Dice| survey.flags[any(survey.flags.len(), dice)].at;
    match dice.pick(&[0.22, 0.22, 0.14, 0.10, 0.08, 0.24]) {
        0 => flag(dice) + off(0.8, dice),
        1 => flag(dice) + off(2.5, dice),
        // between two flags that may be neighbours, or on beyond one of them
        2 => {
            let p = flag(dice);
            let mut near: Vec<Xy> = survey.flags.iter().map(|f| f.at).filter(|q| p.to(*q) > 0.3).collect();
            near.sort_by(|a, b| p.to(*a).total_cmp(&p.to(*b)));
            let Some(&q) = near.get(any(near.len().clamp(1, 3), dice)) else { return p };
            p.between(q, dice.uniform(0.2, 3.0)) + dice.scatter(0.3)
        }
        3 if !survey.marks.is_empty() => {
            let path = &survey.marks[any(survey.marks.len(), dice)].path;
            let k = any(path.len() - 1, dice);
            path[k].between(path[k + 1], dice.uniform(0.0, 1.0)) + off(1.5, dice)
        }
        4 if !survey.services.is_empty() => {
            let s = survey.services[any(survey.services.len(), dice)];
            let (a, b) = (survey.fixtures[s.from].at, survey.fixtures[s.to].at);
            a.between(b, dice.uniform(0.0, 1.0)) + off(1.5, dice)
        }
        _ => {
            let (low, high) = extent(&survey.boundary);
            xy(dice.uniform(low.x, high.x), dice.uniform(low.y, high.y))
        }
    }
}
