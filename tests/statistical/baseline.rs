//! The simple maps to beat: a shortest tree over the surveyed heads of each zone and its valve box, and a curve that turns the
//! distance from the hole's edge to that tree into a probability. The curve is fitted on the very truths it is scored on, which
//! flatters the map; a forecaster that beats it all the same has more than distance to offer.

use crate::job::{Hole, Survey};
use crate::pav;
use crate::plane::{Xy, edges, point_to_segment, xy};

/// How a tree map measures and draws a link.
#[derive(Clone, Copy, Debug)]
pub enum Metric {
    /// Straight links.
    Euclidean,
    /// Links of two legs square to an axis at this angle; both elbows are drawn.
    Rectilinear { axis_rad: f64 },
}

/// Straight pieces of the tree map of a site, all zones together.
pub fn tree_map(survey: &Survey, metric: Metric) -> Vec<(Xy, Xy)> {
    let mut pieces = Vec::new();
    for zone in survey.zones() {
        let mut nodes: Vec<Xy> = survey.heads.iter().filter(|h| h.zone == zone).map(|h| h.at).collect();
        nodes.extend(survey.boxes.iter().filter(|b| b.zones.iter().any(|z| z == zone)).map(|b| b.at));
        for (i, j) in prim(&nodes, metric) {
            let (a, b) = (nodes[i], nodes[j]);
            match metric {
                Metric::Euclidean => pieces.push((a, b)),
                Metric::Rectilinear { axis_rad } => {
                    let d = (b - a).turned(-axis_rad);
                    for leg in [xy(d.x, 0.0), xy(0.0, d.y)] {
                        let elbow = a + leg.turned(axis_rad);
                        pieces.extend([(a, elbow), (elbow, b)]);
                    }
                }
            }
        }
    }
    pieces
}

/// Links of a minimum spanning tree (Prim 1957), by the metric given.
fn prim(nodes: &[Xy], metric: Metric) -> Vec<(usize, usize)> {
    let far = |i: usize, j: usize| match metric {
        Metric::Euclidean => nodes[i].to(nodes[j]),
        Metric::Rectilinear { axis_rad } => {
            let d = (nodes[j] - nodes[i]).turned(-axis_rad);
            d.x.abs() + d.y.abs()
        }
    };
    let mut outside: Vec<(usize, usize)> = (1..nodes.len()).map(|i| (0, i)).collect();
    let mut links = Vec::new();
    while let Some(k) = (0..outside.len()).min_by(|&a, &b| {
        let (p, q) = (outside[a], outside[b]);
        far(p.0, p.1).total_cmp(&far(q.0, q.1))
    }) {
        let link = outside.swap_remove(k);
        links.push(link);
        for entry in &mut outside {
            if far(link.1, entry.1) < far(entry.0, entry.1) {
                entry.0 = link.1;
            }
        }
    }
    links
}

/// Signed distance from the hole's edge to the map; negative when the map enters the hole.
pub fn edge_distance(hole: &Hole, map: &[(Xy, Xy)]) -> f64 {
    map.iter().map(|&(a, b)| point_to_segment(hole.at, a, b)).fold(f64::INFINITY, f64::min) - hole.radius_m
}

/// The axis a draughtsman would take for a lawn: along its longest edge.
pub fn longest_edge_axis(outline: &[Xy]) -> f64 {
    let (a, b) =
        edges(outline).max_by(|p, q| p.0.to(p.1).total_cmp(&q.0.to(q.1))).expect("an outline has edges");
    (b - a).y.atan2((b - a).x)
}

/// In-sample isotonic curve: the nearer, the likelier.
pub fn isotonic(distance: &[f64], struck: &[f64]) -> Vec<f64> {
    pav::falling(distance, struck)
}

/// In-sample logistic curve in the signed distance, by Newton's method; falls back on the constant where it does not settle.
pub fn logistic(distance: &[f64], struck: &[f64]) -> Vec<f64> {
    let (mut a, mut b) = (0.0f64, 0.0f64);
    let p = |a: f64, b: f64, x: f64| 1.0 / (1.0 + (-(a + b * x)).exp());
    let clip = |x: f64| x.clamp(-1.0, 8.0);
    for _ in 0..60 {
        let (mut g, mut h) = ([0.0; 2], [1e-9, 0.0, 1e-9]);
        for (&d, &y) in distance.iter().zip(struck) {
            let (x, q) = (clip(d), p(a, b, clip(d)));
            g[0] += y - q;
            g[1] += (y - q) * x;
            let w = q * (1.0 - q);
            h[0] += w;
            h[1] += w * x;
            h[2] += w * x * x;
        }
        let det = h[0] * h[2] - h[1] * h[1];
        let step = ((h[2] * g[0] - h[1] * g[1]) / det, (h[0] * g[1] - h[1] * g[0]) / det);
        if !(step.0.is_finite() && step.1.is_finite()) {
            return constant(struck);
        }
        a += step.0.clamp(-2.0, 2.0);
        b += step.1.clamp(-2.0, 2.0);
    }
    distance.iter().map(|&d| p(a, b, clip(d))).collect()
}

/// In-sample constant rate.
pub fn constant(struck: &[f64]) -> Vec<f64> {
    vec![struck.iter().sum::<f64>() / struck.len() as f64; struck.len()]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{Head, HeadKind, ValveBox};

    fn survey(points: &[(f64, f64)]) -> Survey {
        let head = |&(x, y): &(f64, f64)| Head {
            at: xy(x, y),
            zone: "1".into(),
            kind: HeadKind::Spray,
            radius_m: None,
        };
        Survey {
            heads: points[1..].iter().map(head).collect(),
            boxes: vec![ValveBox { at: xy(points[0].0, points[0].1), zones: vec!["1".into()] }],
            ..Survey::default()
        }
    }

    #[test]
    fn the_tree_takes_the_short_links() {
        // a unit square with its valve at a corner and one head far off: three sides and one long link
        let map = tree_map(
            &survey(&[(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0), (1.0, 4.0)]),
            Metric::Euclidean,
        );
        let total: f64 = map.iter().map(|(a, b)| a.to(*b)).sum();
        assert_eq!(map.len(), 4);
        assert!((total - 6.0).abs() < 1e-12);
    }

    #[test]
    fn a_rectilinear_link_is_drawn_with_both_elbows_on_the_axis_given() {
        let s = survey(&[(0.0, 0.0), (3.0, 4.0)]);
        let total = |axis_rad| {
            tree_map(&s, Metric::Rectilinear { axis_rad }).iter().map(|(a, b)| a.to(*b)).sum::<f64>()
        };
        assert!((total(0.0) - 14.0).abs() < 1e-12);
        // along the link itself the legs are 5 and 0
        assert!((total(4f64.atan2(3.0)) - 10.0).abs() < 1e-12);
    }

    #[test]
    fn distance_is_from_the_edge_of_the_hole() {
        let hole = Hole { at: xy(1.0, 2.0), radius_m: 0.5, depth_m: 0.4 };
        assert_eq!(edge_distance(&hole, &[(xy(0.0, 0.0), xy(5.0, 0.0))]), 1.5);
    }

    #[test]
    fn the_logistic_curve_solves_its_score_equations() {
        let d = [-0.4, -0.1, 0.2, 0.5, 0.9, 1.5, 2.0, 3.0];
        let y = [1.0, 1.0, 0.0, 1.0, 0.0, 1.0, 0.0, 0.0];
        let p = logistic(&d, &y);
        assert!(p.iter().zip(&y).map(|(p, y)| y - p).sum::<f64>().abs() < 1e-9);
        assert!(p.iter().zip(&y).zip(&d).map(|((p, y), d)| (y - p) * d).sum::<f64>().abs() < 1e-9);
    }
}
