//! A good choice of spots, soon: cheapest first, then exchanges of one spot for another as long as that pays.

use super::candidates::{Candidate, apart};

/// Cheapest places first, each as far from the chosen ones as asked for, until there are `n` or no more fit. `order` are
/// indices in the order in which places are taken.
pub fn take(all: &[Candidate], order: &[usize], n: usize, spacing_m: f64) -> Vec<usize> {
    let mut chosen: Vec<usize> = Vec::with_capacity(n);
    for &k in order {
        if chosen.len() == n {
            break;
        }
        if chosen.iter().all(|&c| apart(&all[c], &all[k], spacing_m)) {
            chosen.push(k);
        }
    }
    chosen
}

/// Exchanges one chosen place for a cheaper one that fits beside the others, until no exchange pays. `all` sorted by cost.
pub fn exchange(all: &[Candidate], chosen: &mut [usize], spacing_m: f64) {
    let mut improved = true;
    while improved {
        improved = false;
        for place in 0..chosen.len() {
            let fits = |&k: &usize| {
                let others = chosen.iter().enumerate().filter(|(other, _)| *other != place);
                others.map(|(_, &c)| c).all(|c| c != k && apart(&all[c], &all[k], spacing_m))
            };
            let better =
                (0..all.len()).take_while(|&k| all[k].cost < all[chosen[place]].cost - 1e-12).find(fits);
            if let Some(better) = better {
                chosen[place] = better;
                improved = true;
            }
        }
    }
}

/// The indices from the lower left, column by column: packs places tightly.
pub fn packed(all: &[Candidate]) -> Vec<usize> {
    let mut order: Vec<usize> = (0..all.len()).collect();
    order.sort_by(|&a, &b| all[a].at.x.total_cmp(&all[b].at.x).then(all[a].at.y.total_cmp(&all[b].at.y)));
    order
}
