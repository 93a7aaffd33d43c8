//! Lines that are always under pressure, and what rides with them: mainline from the meter to the boxes, control wire in
//! its trench (python/docs/trade-values.md, 1.9c), a potable line to an outlet on some sites, and lines nobody remembers.

use super::cover::{bury, forgotten_level, mainline_level, potable_level};
use super::dice::Dice;
use super::grounds::Grounds;
use super::site::{FedBy, Site};
use super::ways::Ways;
use crate::job::{Carries, Line};
use crate::plane::{Xy, extent, nearest_on_path, to_edge, xy};

/// Outside diameters, python/docs/trade-values.md, 2.1b and 2.10.
const MAIN_OD: [f64; 2] = [0.0334, 0.0422];
const POTABLE_OD: [f64; 2] = [0.0222, 0.0286];
/// A bundle of single conductors; common practice, no source.
const WIRE_OD: f64 = 0.015;

/// Lays everything that is not a lateral.
pub fn lay(site: &Site, ways: &Ways, dice: &mut Dice) -> Vec<Line> {
    let grounds = &site.grounds;
    let walks: Vec<Vec<Xy>> = grounds.outlines("paving").map(<[Xy]>::to_vec).collect();
    let level = mainline_level(dice);
    let od = MAIN_OD[dice.whole(0, 1)];
    let square = dice.chance(0.45);
    let (potable, potable_od) = (potable_level(dice), POTABLE_OD[dice.whole(0, 1)]);
    let with_wire = dice.chance(0.9);
    let mut lines = Vec::new();
    let mut laid: Vec<Vec<Xy>> = Vec::new();
    let mut left: Vec<Xy> = site.boxes.iter().map(|b| b.at).collect();
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
    if let Some(outlet) = &site.outlet {
        let at = outlet.fixture.at;
        let mut feed = |from: Xy, level: f64, carries, diameter_m| {
            let path = ways.trench(from, at, dice);
            let cover_m = bury(&path, level, &walks, dice);
            lines.push(Line { carries, path, cover_m, diameter_m });
        };
        match outlet.fed_by {
            FedBy::House => {}
            FedBy::Mainline => {
                let on_main = laid.iter().map(|l| nearest_on_path(at, l)).min_by(|a, b| a.1.total_cmp(&b.1));
                feed(on_main.expect("a main is laid").0, level, Carries::Mainline, od);
            }
            FedBy::Potable => feed(grounds.meter, potable, Carries::Potable, potable_od),
        }
    }
    for _ in 0..dice.pick(&[0.7, 0.2, 0.1]) {
        lines.extend(forgotten(grounds, ways, &walks, dice));
    }
    lines
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
