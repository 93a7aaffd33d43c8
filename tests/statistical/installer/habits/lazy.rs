//! Lazy diagonals: one trench from the valve straight to the farthest head, whatever the grid; every other head is joined
//! by the shortest straight trench to pipe already in the ground (python/docs/trade-values.md, 3.18e, "most direct route, few
//! turns"). Outside both families: the long trench is off the grid and tees anywhere along it.

use super::{Part, Pipe, Zone, nearest_pipe};
use crate::installer::dice::Dice;

pub fn pipe(zone: &Zone, dice: &mut Dice) -> Option<Vec<Pipe>> {
    let mut left = zone.taps.clone();
    let far = (0..left.len())
        .max_by(|&a, &b| zone.valve.to(left[a]).total_cmp(&zone.valve.to(left[b])))
        .expect("a zone has heads");
    let mut long = zone.trench(zone.valve, left.swap_remove(far), dice);
    long.part = Part::Link;
    let mut laid = vec![long];
    while !left.is_empty() {
        let gap = |p: crate::plane::Xy| nearest_pipe(p, &laid).expect("pipe is laid").to(p);
        let next =
            (0..left.len()).min_by(|&a, &b| gap(left[a]).total_cmp(&gap(left[b]))).expect("heads are left");
        let head = left.swap_remove(next);
        let from = nearest_pipe(head, &laid).expect("pipe is laid");
        if from.to(head) > 0.03 {
            laid.push(zone.trench(from, head, dice));
        }
    }
    Some(laid)
}
