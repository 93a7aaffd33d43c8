//! Least pipe, with tees in open ground: a shortest tree over valve and heads whose sharp corners are drawn together to a
//! tee at the point of least length (Torricelli's point, by Weiszfeld's iteration). A careful planner who counts pipe
//! (python/docs/trade-values.md, 3.18b, 3.18e). Outside both families: tees stand at no head and on no header.

use super::{Pipe, Zone, shortest_tree};
use crate::installer::dice::Dice;
use crate::plane::{Xy, xy};

pub fn pipe(zone: &Zone, dice: &mut Dice) -> Option<Vec<Pipe>> {
    let mut nodes = vec![zone.valve];
    nodes.extend(&zone.taps);
    let mut links = shortest_tree(nodes.len(), |i, j| nodes[i].to(nodes[j]));
    for _ in 0..2 * zone.taps.len() {
        let Some((u, a, b, tee)) = best_tee(&nodes, &links, zone) else { break };
        let t = nodes.len();
        nodes.push(tee);
        links.retain(|&(i, j)| ![(u, a), (a, u), (u, b), (b, u)].contains(&(i, j)));
        links.extend([(t, u), (t, a), (t, b)]);
    }
    Some(links.into_iter().map(|(i, j)| zone.trench(nodes[i], nodes[j], dice)).collect())
}

/// The corner whose tee saves most pipe, if any saves 3 % of its two legs.
fn best_tee(nodes: &[Xy], links: &[(usize, usize)], zone: &Zone) -> Option<(usize, usize, usize, Xy)> {
    let mut best: Option<(f64, (usize, usize, usize, Xy))> = None;
    for u in 0..nodes.len() {
        let ends: Vec<usize> =
            links.iter().filter_map(|&(i, j)| if i == u { Some(j) } else { (j == u).then_some(i) }).collect();
        for (k, &a) in ends.iter().enumerate() {
            for &b in &ends[k + 1..] {
                let legs = nodes[u].to(nodes[a]) + nodes[u].to(nodes[b]);
                let tee = least_point([nodes[u], nodes[a], nodes[b]]);
                let saved = legs - [u, a, b].iter().map(|&i| tee.to(nodes[i])).sum::<f64>();
                let free = [u, a, b].iter().all(|&i| zone.ways.is_free(tee, nodes[i]));
                let clear = [u, a, b].iter().all(|&i| tee.to(nodes[i]) > 0.25);
                if free && clear && saved > 0.03 * legs && best.is_none_or(|(s, _)| saved > s) {
                    best = Some((saved, (u, a, b, tee)));
                }
            }
        }
    }
    best.map(|(_, found)| found)
}

/// The point with least total distance to three points.
fn least_point(p: [Xy; 3]) -> Xy {
    let mut at = (p[0] + p[1] + p[2]) * (1.0 / 3.0);
    for _ in 0..60 {
        let weights = p.map(|q| 1.0 / at.to(q).max(1e-6));
        let sum: f64 = weights.iter().sum();
        at = p.iter().zip(weights).fold(xy(0.0, 0.0), |s, (&q, w)| s + q * (w / sum));
    }
    at
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_tee_of_an_equilateral_triangle_is_its_centre() {
        let tee = least_point([xy(0.0, 0.0), xy(2.0, 0.0), xy(1.0, 3f64.sqrt())]);
        assert!(tee.to(xy(1.0, 1.0 / 3f64.sqrt())) < 1e-9);
    }
}
