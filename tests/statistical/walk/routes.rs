//! How a trencher gets from one place to another: straight, round one corner, two or three, or off the axes. Most pieces are
//! square to the lot; shares are common practice, no source.

use super::lot::{Anchor, Lot};
use crate::installer::Dice;
use crate::plane::{Xy, xy};

/// The shortest piece that is trenched on its own, metres.
const SHORTEST_M: f64 = 1.5;
/// Ground kept between a corner and a wall, metres.
const CLEAR_M: f64 = 0.45;

/// Shares of the ways: straight, one corner, two, three, one piece on an axis and one off it.
pub struct Habit(pub [f64; 5]);

/// Between two places on one lot.
pub const USUAL: Habit = Habit([0.14, 0.38, 0.28, 0.12, 0.08]);
/// Over the whole lot, with nothing to go to.
pub const THROUGH: Habit = Habit([0.60, 0.18, 0.10, 0.02, 0.10]);

/// Corners of a way from one anchor to the other. The way that was meant is tried ten times, then any; nothing where no way is
/// open.
pub fn between(lot: &Lot, from: Anchor, to: Anchor, habit: &Habit, dice: &mut Dice) -> Option<Vec<Xy>> {
    let meant = dice.pick(&habit.0);
    (0..25).find_map(|k| {
        let way = if k < 10 { meant } else { dice.pick(&habit.0) };
        let mut path = attempt(from, to, way, dice);
        let last = path.len() - 1;
        for p in &mut path[1..last] {
            *p = *p + dice.scatter(0.08); // corners are set out by eye
        }
        is_open(lot, from, to, &path).then_some(path)
    })
}

fn attempt(from: Anchor, to: Anchor, way: usize, dice: &mut Dice) -> Vec<Xy> {
    let (a, b) = (from.at, to.at);
    let flip = dice.chance(0.5);
    // a way is drawn as if its first piece ran along x, with both axes swapped half of the time
    let swap = |p: Xy| if flip { xy(p.y, p.x) } else { p };
    let (p, q) = (swap(a), swap(b));
    let beyond = |lo: f64, hi: f64, dice: &mut Dice| {
        let (lo, hi) = (lo.min(hi), lo.max(hi));
        dice.uniform(lo - 2.5, hi + 2.5)
    };
    let corners = match way {
        0 => vec![],
        1 => vec![xy(q.x, p.y)],
        2 => {
            let x = beyond(p.x, q.x, dice);
            vec![xy(x, p.y), xy(x, q.y)]
        }
        3 => {
            let (x, y) = (beyond(p.x, q.x, dice), beyond(p.y, q.y, dice));
            vec![xy(x, p.y), xy(x, y), xy(q.x, y)]
        }
        _ => vec![xy(p.x + dice.uniform(0.25, 0.75) * (q.x - p.x), p.y)],
    };
    let mut path = vec![a];
    path.extend(corners.into_iter().map(swap));
    path.push(b);
    path
}

fn is_open(lot: &Lot, from: Anchor, to: Anchor, path: &[Xy]) -> bool {
    let last = path.len() - 1;
    let leaves = |anchor: Anchor, next: Xy| {
        anchor.out == xy(0.0, 0.0) || (next - anchor.at).unit().dot(anchor.out) > 0.3
    };
    path.windows(2).all(|w| w[0].to(w[1]) >= SHORTEST_M && lot.passes(w[0], w[1]))
        && path[1..last].iter().all(|&p| lot.is_open(p, CLEAR_M))
        && path.windows(3).all(|w| turn_deg(w) < 125.0) // no way doubles back
        && leaves(from, path[1])
        && leaves(to, path[last - 1])
}

/// Change of direction at the middle of three points, degrees.
pub fn turn_deg(w: &[Xy]) -> f64 {
    let (u, v) = (w[1] - w[0], w[2] - w[1]);
    u.cross(v).abs().atan2(u.dot(v)).to_degrees()
}

/// A path moved sideways by `by_m`, to the left where that is positive, its corners mitred.
pub fn beside(path: &[Xy], by_m: f64) -> Vec<Xy> {
    let last = path.len() - 1;
    let normal = |i: usize| (path[i + 1] - path[i]).unit().left();
    (0..=last)
        .map(|i| {
            let (u, v) = (normal(i.saturating_sub(1)), normal(i.min(last - 1)));
            let half = (u + v).unit();
            path[i] + half * (by_m / half.dot(u).max(0.4))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_beside_a_path_keeps_its_distance() {
        let path = [xy(0.0, 0.0), xy(5.0, 0.0), xy(5.0, 4.0)];
        let left = [xy(0.0, 1.0), xy(4.0, 1.0), xy(4.0, 4.0)];
        assert!(beside(&path, 1.0).iter().zip(left).all(|(p, q)| p.to(q) < 1e-12));
        assert!((turn_deg(&path) - 90.0).abs() < 1e-12);
    }
}
