//! A header along one side of the zone and a pipe down every row: the comb (python/docs/trade-values.md, 3.18f; the side
//! nearest the supply is common practice, no source). The header stands a little off the row ends, on either side of them.
//! Inside the family `header`.

use super::rows::{Across, header_with_rows, join_valve, trim_headers};
use super::spine::long_way;
use super::{Pipe, Zone};
use crate::installer::dice::Dice;

pub fn pipe(zone: &Zone, dice: &mut Dice) -> Option<Vec<Pipe>> {
    let mut axis = long_way(zone);
    if dice.chance(0.35) {
        axis = Across { along: axis.along.left() };
    }
    let across: Vec<f64> = zone.taps.iter().map(|&p| axis.split(p).1).collect();
    let low = across.iter().copied().fold(f64::INFINITY, f64::min);
    let high = across.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let valve = axis.split(zone.valve).1;
    let near_low = (valve - low).abs() < (valve - high).abs();
    let inward = if near_low == dice.chance(0.85) { 1.0 } else { -1.0 };
    let side = if inward > 0.0 { low } else { high };
    let c = side + inward * dice.triangular(-0.1, 0.2, 0.9);
    let all: Vec<usize> = (0..zone.taps.len()).collect();
    let mut laid = header_with_rows(zone, axis, c, &all, dice)?;
    let at_end = dice.chance(0.3);
    join_valve(zone, &mut laid, at_end, dice);
    trim_headers(zone, &mut laid);
    Some(laid)
}
