//! Family `loose`: no fixed pattern. The shortest route is usual, but long detours occur (python/docs/trade-values.md, 3.18b):
//! pipe goes round what stood there on the day, straight from the valve to a far corner, or across the lawn to heads that were
//! added later. A tree as in family `direct` for which length matters little, so that open ground is never taken for empty.

use super::direct;
use crate::layout::OuterState;
use crate::model::zone::Zone;

/// The outer state of a `loose` zone. `None` if some head cannot be reached.
pub fn state(zone: &Zone) -> Option<OuterState> {
    let rate = zone.settings().loose_rate;
    direct::tree(zone, "loose", rate, rate)
}
