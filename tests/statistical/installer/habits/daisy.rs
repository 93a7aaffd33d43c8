//! Daisy chain, nearest to nearest, in walking order (python/docs/trade-values.md, 3.18 (a)). The trencher follows the person
//! who walks from head to head; when the next head is nearer to pipe already laid at another head, it tees there.
//! Inside the family `direct`.

use super::{Pipe, Zone};
use crate::installer::dice::Dice;

pub fn pipe(zone: &Zone, dice: &mut Dice) -> Option<Vec<Pipe>> {
    let budget = dice.uniform(1.2, 1.8);
    Some(chain(zone, zone.valve, (0..zone.taps.len()).collect(), budget, dice))
}

/// Chains `left` from `start`. A step longer than `budget` times the nearest tee-off goes back to that tee instead.
pub fn chain(
    zone: &Zone,
    start: crate::plane::Xy,
    mut left: Vec<usize>,
    budget: f64,
    dice: &mut Dice,
) -> Vec<Pipe> {
    let mut laid = Vec::new();
    let mut fed = vec![start];
    let mut here = start;
    while let Some(k) =
        (0..left.len()).min_by(|&a, &b| here.to(zone.taps[left[a]]).total_cmp(&here.to(zone.taps[left[b]])))
    {
        let (k, from) = {
            // is some other unfed head much nearer to a fed one than the next step from here?
            let step = here.to(zone.taps[left[k]]);
            let other = (0..left.len())
                .flat_map(|j| fed.iter().map(move |&f| (j, f)))
                .min_by(|a, b| a.1.to(zone.taps[left[a.0]]).total_cmp(&b.1.to(zone.taps[left[b.0]])))
                .expect("something is left and something is fed");
            if step > budget * other.1.to(zone.taps[left[other.0]]) { other } else { (k, here) }
        };
        let next = zone.taps[left.swap_remove(k)];
        laid.push(zone.trench(from, next, dice));
        fed.push(next);
        here = next;
    }
    laid
}
