//! Two parallel headers joined by a cross pipe, spurs from each: the H layout (python/docs/trade-values.md, 3.18f, name not
//! found in print). Outside both families: two headers, and the valve feeds the cross pipe.

use super::rows::{header_with_rows, trim_headers};
use super::spine::long_way;
use super::{Part, Pipe, Zone, nearest_pipe};
use crate::installer::dice::Dice;

pub fn pipe(zone: &Zone, dice: &mut Dice) -> Option<Vec<Pipe>> {
    let axis = long_way(zone);
    let across = |i: &usize| axis.split(zone.taps[*i]).1;
    let mut order: Vec<usize> = (0..zone.taps.len()).collect();
    order.sort_by(|a, b| across(a).total_cmp(&across(b)));
    let upper = order.split_off(order.len() / 2);
    let mut laid = Vec::new();
    let mut middles = Vec::new();
    for side in [&order, &upper] {
        let (low, high) = (across(&side[0]), across(&side[side.len() - 1]));
        let c = low + (high - low) * dice.uniform(0.3, 0.7) + dice.normal(0.15);
        laid.extend(header_with_rows(zone, axis, c, side, dice)?);
        middles.push(c);
    }
    // the cross pipe stands where the valve comes in, within the shorter header
    let (s, _) = axis.split(zone.valve);
    let spans = laid.iter().filter(|p| p.part == Part::Header).map(|p| {
        let (a, b) = (axis.split(p.path[0]).0, axis.split(p.path[p.path.len() - 1]).0);
        (a.min(b), a.max(b))
    });
    let (low, high) = spans.fold((f64::NEG_INFINITY, f64::INFINITY), |(l, h), (a, b)| (l.max(a), h.min(b)));
    let s = if low < high { s.clamp(low, high) } else { (low + high) / 2.0 };
    let headers: Vec<Pipe> = laid
        .iter()
        .filter(|p| p.part == Part::Header)
        .map(|p| Pipe { path: p.path.clone(), part: Part::Header })
        .collect();
    let joint =
        |k: usize| nearest_pipe(axis.point(s, middles[k]), &headers[k..=k]).expect("a header is laid");
    let mut cross = zone.trench(joint(0), joint(1), dice);
    cross.part = Part::Link;
    let meet = nearest_pipe(zone.valve, std::slice::from_ref(&cross)).expect("the cross pipe is laid");
    let mut link = zone.trench(zone.valve, meet, dice);
    link.part = Part::Link;
    laid.push(cross);
    laid.push(link);
    trim_headers(zone, &mut laid);
    Some(laid)
}
