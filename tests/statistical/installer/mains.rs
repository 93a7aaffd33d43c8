//! Lines that are always under pressure, and what rides with them: mainline from the meter to the boxes, control wire in
//! its trench (trade-values row 1.9c), a potable line to an outlet on some sites, and lines nobody remembers.

use super::cover::{bury, forgotten_level, mainline_level, potable_level};
use super::dice::Dice;
use super::grounds::Grounds;
use super::ways::Ways;
use super::zoning::PlacedBox;
use crate::job::{Carries, Fixture, Line};
use crate::plane::{Xy, extent, nearest_on_path, to_edge, xy};

/// Outside diameters, trade-values row 2.1b and 2.10.
const MAIN_OD: [f64; 2] = [0.0334, 0.0422];
const POTABLE_OD: [f64; 2] = [0.0222, 0.0286];
/// A bundle of single conductors; common practice, no source.
const WIRE_OD: f64 = 0.015;

pub struct Mains {
    pub lines: Vec<Line>,
    pub outlets: Vec<Fixture>,
}

/// Lays everything that is not a lateral.
pub fn lay(grounds: &Grounds, boxes: &[PlacedBox], ways: &Ways, dice: &mut Dice) -> Mains {
    let walks: Vec<Vec<Xy>> = grounds.outlines("paving").map(<[Xy]>::to_vec).collect();
    let level = mainline_level(dice);
    let od = MAIN_OD[dice.whole(0, 1)];
    let square = dice.chance(0.45);
    let with_wire = dice.chance(0.9);
    let mut lines = Vec::new();
    let mut laid: Vec<Vec<Xy>> = Vec::new();
    let mut left: Vec<Xy> = boxes.iter().map(|b| b.at).collect();
    while !left.is_empty() {
        // the next box is the one nearest to mainline already laid, or to the meter
        let start = |p: Xy| {
            let on_main = laid.iter().map(|l| nearest_on_path(p, l)).min_by(|a, b| a.1.total_cmp(&b.1));
            on_main.unwrap_or((grounds.meter, grounds.meter.to(p)))
        };
        let k = (0..left.len())
            .min_by(|&a, &b| start(left[a]).1.total_cmp(&start(left[b]).1))
            .expect("boxes left");
        let at = left.swap_remove(k);
        let from = start(at).0;
        let way = if square { square_way(from, at, ways, dice) } else { ways.route(from, at) };
        let path = ways.wander(&way, dice);
        let cover_m = bury(&path, level, &walks, dice);
        if with_wire {
            let wire: Vec<Xy> = path.iter().map(|&p| p + dice.scatter(0.03)).collect();
            let cover_m = cover_m.iter().map(|c| (c - dice.uniform(-0.03, 0.06)).max(0.05)).collect();
            lines.push(Line { carries: Carries::ControlWire, path: wire, cover_m, diameter_m: WIRE_OD });
        }
        laid.push(path.clone());
        lines.push(Line { carries: Carries::Mainline, path, cover_m, diameter_m: od });
    }
    let mut outlets = Vec::new();
    if dice.chance(0.4) {
        outlets.push(outlet(grounds, ways, &laid, (level, od), &walks, &mut lines, dice));
    }
    for _ in 0..dice.pick(&[0.7, 0.2, 0.1]) {
        lines.extend(forgotten(grounds, ways, &walks, dice));
    }
    Mains { lines, outlets }
}

/// Along walls and edges: one elbow, square to the local axes, when either corner is open.
fn square_way(a: Xy, b: Xy, ways: &Ways, dice: &mut Dice) -> Vec<Xy> {
    let mut corners = [xy(a.x, b.y), xy(b.x, a.y)];
    if dice.chance(0.5) {
        corners.reverse();
    }
    corners
        .into_iter()
        .find(|&c| ways.is_free(a, c) && ways.is_free(c, b))
        .map_or_else(|| ways.route(a, b), |c| vec![a, c, b])
}

/// A bib on a post or hydrant on the potable line, or a quick coupler on the mainline. Some bibs hang on the house
/// and are fed from inside it: seen by the crew, with nothing buried.
fn outlet(
    grounds: &Grounds,
    ways: &Ways,
    laid: &[Vec<Xy>],
    (main_level, main_od): (f64, f64),
    walks: &[Vec<Xy>],
    lines: &mut Vec<Line>,
    dice: &mut Dice,
) -> Fixture {
    let (low, high) = extent(&grounds.boundary);
    let spot = xy(dice.uniform(low.x, high.x), dice.uniform(low.y, high.y));
    let at = grounds.open_near(spot, 0.25, dice);
    let on_wall = grounds.outlines("building").next().filter(|_| dice.chance(0.3));
    if let Some(house) = on_wall {
        let k = dice.whole(0, house.len() - 1);
        let on = house[k].between(house[(k + 1) % house.len()], dice.uniform(0.2, 0.8));
        return Fixture { at: grounds.open_near(on, 0.05, dice), kind: "hose_bib" };
    }
    if dice.chance(0.35) {
        let from =
            laid.iter().map(|l| nearest_on_path(at, l)).min_by(|a, b| a.1.total_cmp(&b.1)).expect("a main");
        let path = ways.trench(from.0, at, dice);
        let cover_m = bury(&path, main_level, walks, dice);
        lines.push(Line { carries: Carries::Mainline, path, cover_m, diameter_m: main_od });
        return Fixture { at, kind: "quick_coupler" };
    }
    let level = potable_level(dice);
    let path = ways.trench(grounds.meter, at, dice);
    let cover_m = bury(&path, level, walks, dice);
    lines.push(Line { carries: Carries::Potable, path, cover_m, diameter_m: POTABLE_OD[dice.whole(0, 1)] });
    Fixture { at, kind: if dice.chance(0.5) { "hose_bib" } else { "yard_hydrant" } }
}

/// An old line across the lawn.
fn forgotten(grounds: &Grounds, ways: &Ways, walks: &[Vec<Xy>], dice: &mut Dice) -> Option<Line> {
    let (low, high) = extent(&grounds.boundary);
    for _ in 0..30 {
        let a = xy(dice.uniform(low.x, high.x), dice.uniform(low.y, high.y));
        let b = a + xy(dice.uniform(5.0, 18.0), 0.0).turned(dice.bearing());
        if grounds.is_open(a, 0.1)
            && grounds.is_open(b, 0.1)
            && ways.is_free(a, b)
            && to_edge(a, &grounds.boundary) > 0.1
        {
            let path = ways.trench(a, b, dice);
            let cover_m = bury(&path, forgotten_level(dice), walks, dice);
            return Some(Line { carries: Carries::Abandoned, path, cover_m, diameter_m: 0.0267 });
        }
    }
    None
}
