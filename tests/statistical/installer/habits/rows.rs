//! Shared by the habits with headers: one header across the zone, heads hung on it by spurs. Heads that line up behind
//! one another on the same side share a spur.

use super::{Part, Pipe, Zone, nearest_pipe};
use crate::installer::dice::Dice;
use crate::plane::{Xy, nearest_on_path};

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
pub fn header_with_rows(zone: &Zone, axis: Across, c: f64, members: &[usize], dice: &mut Dice) -> Vec<Pipe> {
    let at = |i: usize| axis.split(zone.taps[i]);
    let (low, high) = members.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), &i| {
        let s = at(i).0;
        (l.min(s), h.max(s))
    });
    // a header that would start or end inside a wall starts at the head itself
    let end = |s: f64| {
        let p = axis.point(s, c);
        let lead = members
            .iter()
            .map(|&i| zone.taps[i])
            .min_by(|a, b| a.to(p).total_cmp(&b.to(p)))
            .expect("members");
        if zone.ways.is_free(p, lead) { p } else { lead }
    };
    let header = zone.ways.wander(&zone.ways.route(end(low), end(high)), dice);
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
        if from.to(zone.taps[i]) > 0.03 {
            laid.push(zone.trench(from, zone.taps[i], dice));
        }
    }
    laid
}

/// Joins the valve to the laid pipe: at the nearest point, or at the nearer end of the first header.
pub fn join_valve(zone: &Zone, laid: &mut Vec<Pipe>, at_end: bool, dice: &mut Dice) {
    let header = &laid[0].path;
    let (a, b) = (header[0], header[header.len() - 1]);
    let end = if zone.valve.to(a) < zone.valve.to(b) { a } else { b };
    let joint = if at_end { end } else { nearest_pipe(zone.valve, &laid[..1]).expect("a header is laid") };
    let mut link = zone.trench(zone.valve, joint, dice);
    link.part = Part::Header;
    laid.push(link);
}
