//! Pipe beside the heads: one run follows the edge of the lawn, 0.15 to 0.6 m inside the line of heads, and every head
//! hangs on its own swing pipe (python/docs/trade-values.md, 3.17, 3.20b; the offset is common practice, no source). Heads in
//! the middle are reached from the nearest point of the run. Outside both families: the run bends with the edge, passes
//! heads without touching them, and tees wherever a swing pipe starts.

use super::{Part, Pipe, Zone, nearest_pipe};
use crate::installer::dice::Dice;
use crate::plane::{Xy, area, edges, nearest_on_segment};

pub fn pipe(zone: &Zone, dice: &mut Dice) -> Option<Vec<Pipe>> {
    let aside = dice.uniform(0.15, 0.6);
    let mut laid: Vec<Pipe> = Vec::new();
    for (k, outline) in zone.panels.iter().enumerate() {
        let mut edge: Vec<(f64, Xy)> = (zone.heads.iter().zip(&zone.taps))
            .filter(|(h, _)| h.panel == k)
            .filter_map(|(h, &p)| h.lap.map(|lap| (lap, p + inward(p, outline) * aside)))
            .collect();
        if edge.len() < 2 {
            continue;
        }
        edge.sort_by(|a, b| a.0.total_cmp(&b.0));
        // open the ring at its widest gap
        let gap = |i: usize| edge[i].1.to(edge[(i + edge.len() - 1) % edge.len()].1);
        let cut = (0..edge.len()).max_by(|&a, &b| gap(a).total_cmp(&gap(b))).expect("two heads or more");
        edge.rotate_left(cut);
        let stops: Vec<Xy> = edge.into_iter().map(|(_, p)| p).collect();
        let run = zone.ways.wander(&zone.ways.route_through(&stops), dice);
        if let Some(from) = nearest_pipe(run[0], &laid) {
            // a second panel is fed from the first
            let to = nearest_pipe(from, std::slice::from_ref(&Pipe { path: run.clone(), part: Part::Run }));
            laid.push(zone.trench(from, to.expect("the run has points"), dice));
        }
        laid.push(Pipe { path: run, part: Part::Header });
    }
    let start = nearest_pipe(zone.valve, &laid).unwrap_or(zone.taps[0]);
    laid.insert(0, zone.trench(zone.valve, start, dice));
    let mut order: Vec<Xy> = zone.taps.clone();
    order.sort_by(|a, b| {
        nearest_pipe(*a, &laid)
            .map(|q| q.to(*a))
            .partial_cmp(&nearest_pipe(*b, &laid).map(|q| q.to(*b)))
            .expect("finite")
    });
    for head in order {
        let from = nearest_pipe(head, &laid).expect("pipe is laid");
        if from.to(head) < 1.2 {
            laid.push(Pipe { path: vec![from, head], part: Part::Swing });
        } else {
            laid.push(zone.trench(from, head, dice));
        }
    }
    Some(laid)
}

/// Unit vector square to the nearest edge, into the lawn.
fn inward(p: Xy, outline: &[Xy]) -> Xy {
    let turn = area(outline).signum();
    let near = edges(outline).map(|(a, b)| (p.to(nearest_on_segment(p, a, b)), (b - a).unit().left() * turn));
    // at a corner both edges pull: the pipe cuts the corner inside the head
    let sorted: Vec<(f64, Xy)> = near.collect();
    let least = sorted.iter().map(|n| n.0).fold(f64::INFINITY, f64::min);
    sorted.iter().filter(|n| n.0 < least + 0.25).fold(Xy { x: 0.0, y: 0.0 }, |s, n| s + n.1).unit()
}
