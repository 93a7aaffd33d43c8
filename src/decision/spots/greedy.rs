//! A good choice of spots, soon: cheapest first, kind after kind, then exchanges of one spot for another as long as that pays.

use super::candidates::Candidate;
use super::question::{Pick, Question};

/// Takes places of each kind in the given order, each as far from the chosen ones as asked for, until there are as many as
/// asked for or no more fit. `orders` are for each kind indices in the order in which places are taken.
pub fn take(question: &Question, orders: &[Vec<usize>]) -> Vec<Pick> {
    let mut chosen: Vec<Pick> = Vec::with_capacity(question.n());
    for (kind, order) in orders.iter().enumerate() {
        let mut more = question.counts[kind];
        for &index in order {
            if more == 0 {
                break;
            }
            let pick = (kind, index);
            if chosen.iter().all(|&other| question.apart(other, pick)) {
                chosen.push(pick);
                more -= 1;
            }
        }
    }
    chosen
}

/// Exchanges one chosen place for a cheaper one of its kind that fits beside the others, until no exchange pays.
pub fn exchange(question: &Question, chosen: &mut [Pick]) {
    let mut improved = true;
    while improved {
        improved = false;
        for place in 0..chosen.len() {
            let (kind, _) = chosen[place];
            let all = &question.places[kind];
            let fits = |&k: &usize| {
                let others = chosen.iter().enumerate().filter(|(other, _)| *other != place);
                others.map(|(_, &c)| c).all(|c| c != (kind, k) && question.apart(c, (kind, k)))
            };
            let cost = question.place(chosen[place]).cost;
            let better = (0..all.len()).take_while(|&k| all[k].cost < cost - 1e-12).find(fits);
            if let Some(better) = better {
                chosen[place] = (kind, better);
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
