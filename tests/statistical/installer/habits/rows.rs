//! Shared by the habits with headers: one header across the zone, heads hung on it by spurs. Heads that line up behind
//! one another on the same side share a spur. A header that meets a wall or a tree is given up: nobody bends a header round
//! the house, so the habit yields nothing and the zone is piped by the shortest way instead.

use super::{Part, Pipe, Zone, nearest_pipe};
use crate::installer::dice::Dice;
use crate::plane::{Xy, nearest_on_path, nearest_on_segment};

/// A head this near to a passing pipe sits on a fitting in it, metres.
const TOUCHING: f64 = 0.03;

/// Coordinates along and across a header direction.
#[derive(Clone, Copy)]
pub struct Across {
    pub along: Xy,
}

impl Across {
    pub fn split(self, p: Xy) -> (f64, f64) {
        (p.dot(self.along), p.dot(self.along.left()))
    }
    pub fn point(self, along: f64, across: f64) -> Xy {
        self.along * along + self.along.left() * across
    }
}

/// Lays a header at `across = c` over the span of `members`, and their spurs.
pub fn header_with_rows(
    zone: &Zone,
    axis: Across,
    c: f64,
    members: &[usize],
    dice: &mut Dice,
) -> Option<Vec<Pipe>> {
    let at = |i: usize| axis.split(zone.taps[i]);
    let (low, high) = members.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), &i| {
        let s = at(i).0;
        (l.min(s), h.max(s))
    });
    let (start, end) = (axis.point(low, c), axis.point(high, c));
    if !zone.ways.is_free(start, end) {
        return None;
    }
    let header = zone.ways.wander(&[start, end], dice);
    let mut laid = vec![Pipe { path: header, part: Part::Header }];
    let mut order = members.to_vec();
    order.sort_by(|&a, &b| (at(a).1 - c).abs().total_cmp(&(at(b).1 - c).abs()));
    let in_row = 0.3 * zone.spacing();
    for (k, &i) in order.iter().enumerate() {
        let (s, t) = at(i);
        let before = order[..k].iter().copied().filter(|&j| {
            let (sj, tj) = at(j);
            (sj - s).abs() < in_row && (tj - c) * (t - c) > 0.0 && (t - tj).abs() > 0.3 * zone.spacing()
        });
        let from = match before.max_by(|&a, &b| (at(a).1 - c).abs().total_cmp(&(at(b).1 - c).abs())) {
            Some(j) => zone.taps[j],
            None => {
                // square to the header, where the wandering header really is
                let straight = axis.point(s, c);
                nearest_on_path(straight.between(zone.taps[i], 0.1), &laid[0].path).0
            }
        };
        if from.to(zone.taps[i]) > TOUCHING {
            laid.push(zone.trench(from, zone.taps[i], dice));
        }
    }
    Some(laid)
}

/// Joins the valve to the laid pipe: at the nearest point, or at the nearer end of the first header.
pub fn join_valve(zone: &Zone, laid: &mut Vec<Pipe>, at_end: bool, dice: &mut Dice) {
    let header = &laid[0].path;
    let (a, b) = (header[0], header[header.len() - 1]);
    let end = if zone.valve.to(a) < zone.valve.to(b) { a } else { b };
    let joint = if at_end { end } else { nearest_pipe(zone.valve, &laid[..1]).expect("a header is laid") };
    let mut link = zone.trench(zone.valve, joint, dice);
    link.part = Part::Link;
    laid.push(link);
}

/// Cuts what sticks out of a header beyond the last pipe that tees from it.
pub fn trim_headers(zone: &Zone, laid: &mut [Pipe]) {
    let ends: Vec<Xy> = laid.iter().flat_map(|p| [p.path[0], p.path[p.path.len() - 1]]).collect();
    for (k, pipe) in laid.iter_mut().enumerate().filter(|(_, p)| p.part == Part::Header) {
        let others = ends.iter().enumerate().filter(|(e, _)| e / 2 != k).map(|(_, &p)| p);
        let ways: Vec<f64> =
            others.chain(zone.taps.iter().copied()).filter_map(|p| way_to(p, &pipe.path)).collect();
        let low = ways.iter().copied().fold(f64::INFINITY, f64::min);
        let high = ways.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        if high - low > 0.05 {
            pipe.path = piece(&pipe.path, low, high);
        }
    }
}

/// How far along a path a point on it lies.
fn way_to(p: Xy, path: &[Xy]) -> Option<f64> {
    let mut way = 0.0;
    for w in path.windows(2) {
        let on = nearest_on_segment(p, w[0], w[1]);
        if p.to(on) <= TOUCHING {
            return Some(way + w[0].to(on));
        }
        way += w[0].to(w[1]);
    }
    None
}

/// The part of a path between two ways along it.
fn piece(path: &[Xy], low: f64, high: f64) -> Vec<Xy> {
    let mut out = Vec::new();
    let mut way = 0.0;
    for w in path.windows(2) {
        let step = w[0].to(w[1]);
        let (from, to) = ((low - way).max(0.0), (high - way).min(step));
        if from < to {
            if out.is_empty() {
                out.push(w[0].between(w[1], from / step));
            }
            out.push(w[0].between(w[1], to / step));
        }
        way += step;
    }
    out
}
