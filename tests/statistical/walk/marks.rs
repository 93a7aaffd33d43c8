//! Paint of utility locators: for lines of utilities mostly, since owners' lines are not marked (python/docs/trade-values.md,
//! 4.5). It lies off the line by an error that wanders along it, up to about a metre; it ends before the line does; now and then
//! it names another class or lies where nothing is. Paint alone counts as level D (4.6b). Shares are common practice, no source.

use super::lot::Lot;
use super::survey::{Class, Mark};
use super::truth::{End, Line, MarkIs, MarkOrigin};
use crate::installer::Dice;
use crate::plane::Xy;

/// Chance that a line is marked.
fn marked(line: &Line) -> f64 {
    match line.class {
        Class::Gas | Class::Electric => 0.7,
        Class::Communication => 0.6,
        Class::Potable => 0.35,
        Class::Mainline | Class::ControlWire => 0.05,
    }
}

/// Marks of a lot with their origins.
pub fn paint(lot: &Lot, lines: &[Line], dice: &mut Dice) -> Vec<(Mark, MarkOrigin)> {
    let mut marks = Vec::new();
    for (k, line) in lines.iter().enumerate() {
        if !dice.chance(marked(line)) {
            continue;
        }
        let is = [MarkIs::Right, MarkIs::WrongClass, MarkIs::WrongPlace][dice.pick(&[0.90, 0.05, 0.05])];
        let (sd, quality) = match dice.pick(&[0.55, 0.25, 0.08, 0.12]) {
            0 => (dice.uniform(0.12, 0.45), None),
            1 => (dice.uniform(0.12, 0.45), Some("D")),
            2 => (dice.uniform(0.12, 0.40), Some("C")),
            _ => (dice.uniform(0.06, 0.20), Some("B")),
        };
        let path = painted(lot, line, sd, is, dice);
        if path.len() < 2 {
            continue;
        }
        let others: Vec<Class> = Class::ALL.into_iter().filter(|c| *c != line.class).collect();
        let class =
            if is == MarkIs::WrongClass { others[dice.whole(0, others.len() - 1)] } else { line.class };
        let round = |x: f64| (x * 100.0).round() / 100.0;
        let sd_m = dice.chance(0.5).then(|| round(sd * dice.uniform(0.7, 1.4)).max(0.05));
        let date = dice.chance(0.8).then(|| {
            let (year, month, day) = (dice.whole(2025, 2026), dice.whole(1, 12), dice.whole(1, 28));
            format!("{year}-{month:02}-{day:02}")
        });
        marks.push((Mark { class, path, sd_m, quality, date }, MarkOrigin { line: k, is }));
    }
    marks
}

/// A painted path. Its error is one level and a part that forgets itself over some 6 m; together they have the given standard
/// deviation and stay within a metre.
fn painted(lot: &Lot, line: &Line, sd_m: f64, is: MarkIs, dice: &mut Dice) -> Vec<Xy> {
    let course = &line.course;
    // from the end that the utility knows, not quite to the other
    let share = dice.uniform(0.4, 1.0);
    let back = line.ends[0] != End::Edge && line.ends[1] == End::Edge;
    let level = dice.normal(sd_m * 0.6);
    let mut drift = dice.normal(sd_m * 0.8);
    let far = dice.uniform(1.5, 4.0) * if dice.chance(0.5) { 1.0 } else { -1.0 };
    let off = if is == MarkIs::WrongPlace { far } else { 0.0 };
    let mut path = Vec::new();
    let mut s = 0.0;
    while s <= course.length() * share {
        let at = if back { course.length() - s } else { s };
        let aside = (level + drift).clamp(-1.0, 1.0) + off;
        let p = course.at(at) + course.direction(at).left() * aside;
        if lot.is_open(p, 0.0) {
            path.push(p);
        }
        let step = dice.uniform(1.2, 3.0);
        let keep = (-step / 6.0f64).exp();
        drift = keep * drift + dice.normal(sd_m * 0.8 * (1.0 - keep * keep).sqrt());
        s += step;
    }
    path
}
