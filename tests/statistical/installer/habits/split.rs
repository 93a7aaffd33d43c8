//! Split at the valve, half of the heads each way, to balance the flow (python/docs/trade-values.md, 3.18 (c)). With the valve
//! among its heads two pipes leave it; with a distant valve one pipe runs to a tee in the middle of the zone and splits there.
//! Outside both families: the tee stands in open ground, at no head, and no straight header exists.

use super::daisy::chain;
use super::spine::long_way;
use super::{Part, Pipe, Zone};
use crate::installer::dice::Dice;
use crate::plane::xy;

pub fn pipe(zone: &Zone, dice: &mut Dice) -> Option<Vec<Pipe>> {
    let axis = long_way(zone);
    let mut order: Vec<usize> = (0..zone.taps.len()).collect();
    order.sort_by(|&a, &b| axis.split(zone.taps[a]).0.total_cmp(&axis.split(zone.taps[b]).0));
    let second = order.split_off(order.len() / 2);
    let middle = zone.taps.iter().fold(xy(0.0, 0.0), |s, &p| s + p) * (1.0 / zone.taps.len() as f64);
    let nearest = zone.taps.iter().map(|p| p.to(zone.valve)).fold(f64::INFINITY, f64::min);
    let mut laid = Vec::new();
    let mut tee = zone.valve;
    if nearest > 0.8 * zone.spacing() || dice.chance(0.3) {
        let aim = zone.valve.between(middle, dice.uniform(0.75, 1.05)) + dice.scatter(0.3);
        tee = if zone.ways.is_free(aim, middle) { aim } else { middle };
        if zone.ways.is_free(tee, tee + xy(0.01, 0.0)) {
            let mut link = zone.trench(zone.valve, tee, dice);
            link.part = Part::Link;
            laid.push(link);
        } else {
            tee = zone.valve;
        }
    }
    for half in [order, second] {
        laid.extend(chain(zone, tee, half, 1.6, dice));
    }
    Some(laid)
}
