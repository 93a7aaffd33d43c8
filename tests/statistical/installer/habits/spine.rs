//! A spine down the middle of the zone with spurs to both sides (python/docs/trade-values.md, 3.18 (b), 3.18f). The spine runs
//! the long way of the zone, in the gap nearest the middle or along a middle row. Inside the family `header`.

use super::rows::{Across, header_with_rows, join_valve, trim_headers};
use super::{Pipe, Zone};
use crate::installer::dice::Dice;
use crate::plane::{extent, xy};

pub fn pipe(zone: &Zone, dice: &mut Dice) -> Option<Vec<Pipe>> {
    let axis = long_way(zone);
    let mut across: Vec<f64> = zone.taps.iter().map(|&p| axis.split(p).1).collect();
    across.sort_by(f64::total_cmp);
    let c = (across[0] + across[across.len() - 1]) / 2.0 + dice.normal(0.12 * zone.spacing());
    let all: Vec<usize> = (0..zone.taps.len()).collect();
    let mut laid = header_with_rows(zone, axis, c, &all, dice)?;
    let at_end = dice.chance(0.4);
    join_valve(zone, &mut laid, at_end, dice);
    trim_headers(zone, &mut laid);
    Some(laid)
}

/// The local axis along which the zone is longer.
pub fn long_way(zone: &Zone) -> Across {
    let (low, high) = extent(&zone.taps);
    Across { along: if high.x - low.x >= high.y - low.y { xy(1.0, 0.0) } else { xy(0.0, 1.0) } }
}
