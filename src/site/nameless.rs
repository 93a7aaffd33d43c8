//! Zones that no one has named: where heads carry no zone, every working valve that the document knows of, or must leave
//! open, is a zone that such heads may be on.
//!
//! A box that says how many valves it holds has as many zones; one that says nothing holds one to four valves
//! (python/docs/trade-values.md,
//! 3.21c), those that are spare among them. With no box at all the valves are out of sight and their number is open.
//! Zones that may or may not be there are marked as such. Where every head carries a zone nothing is added: names alone
//! tell which zones there are.

use super::document::HeadEntry;
use super::items::{ValveBox, Zone};

/// Where no box is known: at most one valve for so many heads, and no more than that many. Numerical choice: zones
/// smaller than this are rarer than one in a hundred under the price of a further valve.
const HEADS_PER_UNSEEN: usize = 3;
const MOST_UNSEEN: usize = 12;

/// Adds the nameless zones of these heads to the named ones; `boxes` are the valve boxes as far as zones are named.
pub(super) fn add(heads: &[HeadEntry], boxes: &mut [ValveBox], zones: &mut Vec<Zone>) {
    if heads.iter().all(|head| head.zone.is_some()) {
        return;
    }
    let named = zones.len();
    // Where boxes have no working valve left and no zone has a name, the valves are out of sight as if there were no box.
    if boxes.iter().all(|held| held.room() == 0) && named == 0 {
        let most = heads.len().div_ceil(HEADS_PER_UNSEEN).min(MOST_UNSEEN);
        for k in 1..=most.saturating_sub(named) {
            let optional = named + k > 1;
            push(zones, format!("unseen valve {k}"), Vec::new(), optional);
        }
        return;
    }
    // Zones that heads name and no box lists take up valves, of which box is not known.
    let mut boxless = zones.iter().filter(|zone| zone.boxes.is_empty()).count();
    let open = boxes.iter().filter(|held| held.room() > 0).count();
    for (index, held) in boxes.iter_mut().enumerate() {
        let counted = held.valves.is_some();
        let (room, listed) = (held.room(), held.zones.len());
        let taken = room.min(boxless);
        boxless -= taken;
        let place = if taken > 0 && open > 1 { Vec::new() } else { vec![index] };
        for k in taken..room {
            let optional = !counted && k > 0;
            let name = format!("{} valve {}", held.id, listed + k + 1);
            if !place.is_empty() {
                held.zones.push(zones.len());
            }
            push(zones, name, place.clone(), optional);
        }
    }
}

/// Marks the zones that may have none of the site's heads: where fewer heads lack a zone than zones that must be there lack a
/// head, some of these zones feed what nobody saw, and nobody can say which.
pub(super) fn mark_unseen(heads: &[HeadEntry], zones: &mut [Zone]) {
    let bare = heads.iter().filter(|head| head.zone.is_none()).count();
    let headless = |zone: &Zone| !zone.optional && zone.heads.is_empty();
    if zones.iter().filter(|zone| headless(zone)).count() > bare {
        zones.iter_mut().filter(|zone| headless(zone)).for_each(|zone| zone.unseen = true);
    }
}

fn push(zones: &mut Vec<Zone>, mut name: String, boxes: Vec<usize>, optional: bool) {
    while zones.iter().any(|zone| zone.name == name) {
        name.push('\'');
    }
    zones.push(Zone { name, heads: Vec::new(), boxes, optional, unseen: false, nameless: true });
}
