//! Who is next to whom among points: Delaunay edges, nearest points, spacing.

use super::Point;
use delaunator::{EMPTY, triangulate};

/// The edges `(i, j)`, `i < j`, of the Delaunay triangulation, sorted; together they connect all points.
///
/// Points on one line are joined in order along it, equal points are joined to their first, and a point that the
/// triangulation leaves out for being too near to another is joined to the nearest point that is in it.
pub fn delaunay_edges(points: &[Point]) -> Vec<(usize, usize)> {
    let mut order: Vec<usize> = (0..points.len()).collect();
    order.sort_unstable_by(|&i, &j| {
        let (p, q) = (points[i], points[j]);
        p.x.total_cmp(&q.x).then(p.y.total_cmp(&q.y)).then(i.cmp(&j))
    });
    let mut edges = Vec::with_capacity(3 * points.len());
    let mut join = |i: usize, j: usize| edges.push((i.min(j), i.max(j)));
    let mut distinct: Vec<usize> = Vec::with_capacity(points.len());
    for i in order {
        match distinct.last() {
            Some(&twin) if points[twin] == points[i] => join(twin, i),
            _ => distinct.push(i),
        }
    }
    let sites: Vec<delaunator::Point> = if on_one_line(points, &distinct) {
        Vec::new()
    } else {
        distinct.iter().map(|&i| delaunator::Point { x: points[i].x, y: points[i].y }).collect()
    };
    let mesh = triangulate(&sites);
    if mesh.triangles.is_empty() {
        // On one line, or fewer than three: the order by x, then y, is the order along it.
        for pair in distinct.windows(2) {
            join(pair[0], pair[1]);
        }
    } else {
        let mut placed = vec![false; distinct.len()];
        for (e, &start) in mesh.triangles.iter().enumerate() {
            let end = mesh.triangles[delaunator::next_halfedge(e)];
            placed[start] = true;
            if mesh.halfedges[e] == EMPTY || e < mesh.halfedges[e] {
                join(distinct[start], distinct[end]);
            }
        }
        for k in (0..distinct.len()).filter(|&k| !placed[k]) {
            let here = points[distinct[k]];
            let host = (0..distinct.len()).filter(|&j| placed[j]).min_by(|&i, &j| {
                here.distance(points[distinct[i]]).total_cmp(&here.distance(points[distinct[j]]))
            });
            if let Some(host) = host {
                join(distinct[k], distinct[host]);
            }
        }
    }
    edges.sort_unstable();
    edges.dedup();
    edges
}

/// Whether the points stray from the line through the first and last by rounding only: a row of heads on a slanting
/// grid must not gain sliver triangles, whose long sides would join heads past those between them.
fn on_one_line(points: &[Point], order: &[usize]) -> bool {
    let (Some(&first), Some(&last)) = (order.first(), order.last()) else { return true };
    let along = points[last] - points[first];
    let most = 1e-9 * along.dot(along); // a strayed width of 1e-9 of the length
    order.iter().all(|&i| along.cross(points[i] - points[first]).abs() <= most)
}

/// For each point, the indices of its `k` nearest others (all of them when there are fewer), nearest first; ties go to
/// the lower index. Every pair is measured: meant for the heads of a site, hundreds at most.
pub fn nearest(points: &[Point], k: usize) -> Vec<Vec<usize>> {
    let mut near: Vec<(f64, usize)> = Vec::with_capacity(points.len());
    (0..points.len())
        .map(|i| {
            near.clear();
            near.extend((0..points.len()).filter(|&j| j != i).map(|j| {
                let gap = points[j] - points[i];
                (gap.dot(gap), j)
            }));
            let by_distance = |a: &(f64, usize), b: &(f64, usize)| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1));
            if k < near.len() {
                near.select_nth_unstable_by(k, by_distance);
                near.truncate(k);
            }
            near.sort_unstable_by(by_distance);
            near.iter().map(|&(_, j)| j).collect()
        })
        .collect()
}

/// The median over points of the distance to the nearest other one, metres; `None` for fewer than two points.
pub fn median_nearest_spacing(points: &[Point]) -> Option<f64> {
    if points.len() < 2 {
        return None;
    }
    let to_others = |i: usize| (0..points.len()).filter(move |j| *j != i).map(move |j| points[j] - points[i]);
    let to_nearest = |i: usize| to_others(i).map(|gap| gap.dot(gap)).fold(f64::INFINITY, f64::min).sqrt();
    let mut gaps: Vec<f64> = (0..points.len()).map(to_nearest).collect();
    gaps.sort_unstable_by(f64::total_cmp);
    let half = gaps.len() / 2;
    Some(if gaps.len() % 2 == 1 { gaps[half] } else { f64::midpoint(gaps[half - 1], gaps[half]) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rng::stream;
    use approx::assert_relative_eq;
    use rand::RngExt;

    fn connected(n: usize, edges: &[(usize, usize)]) -> bool {
        let mut label: Vec<usize> = (0..n).collect();
        for _ in 0..n {
            for &(i, j) in edges {
                let least = label[i].min(label[j]);
                (label[i], label[j]) = (least, least);
            }
        }
        label.iter().all(|&l| l == 0)
    }

    #[test]
    fn every_set_of_points_is_connected_and_holds_its_nearest_neighbour_edges() {
        // n = 200 sets, in general position every second time, else on a lattice with equal and collinear points.
        let mut rng = stream(4, 0);
        for round in 0..200 {
            let n = rng.random_range(1..40);
            let points: Vec<Point> = (0..n)
                .map(|_| {
                    if round % 2 == 0 {
                        Point::new(rng.random(), rng.random())
                    } else {
                        Point::new(f64::from(rng.random_range(0..4)), f64::from(rng.random_range(0..3)))
                    }
                })
                .collect();
            let edges = delaunay_edges(&points);
            assert!(connected(n, &edges));
            assert!(edges.iter().all(|&(i, j)| i < j && j < n));
            if round % 2 == 0 {
                // The nearest-neighbour graph is part of the Delaunay graph (Toussaint 1980).
                for (i, near) in nearest(&points, 1).iter().enumerate() {
                    assert!(near.iter().all(|&j| edges.contains(&(i.min(j), i.max(j)))));
                }
            }
        }
    }

    #[test]
    fn a_line_a_pair_and_nothing_are_joined_in_order() {
        let line: Vec<Point> = [3.0, 0.0, 2.0, 1.0].iter().map(|&t| Point::new(0.1 * t, 0.3 * t)).collect();
        assert_eq!(delaunay_edges(&line), vec![(0, 2), (1, 3), (2, 3)]);
        assert_eq!(delaunay_edges(&line[..2]), vec![(0, 1)]);
        assert!(delaunay_edges(&line[..1]).is_empty() && delaunay_edges(&[]).is_empty());
        assert_eq!(delaunay_edges(&[line[0]; 3]), vec![(0, 1), (0, 2)]);
    }

    #[test]
    fn spacing_of_a_square_grid_is_its_step() {
        let grid: Vec<Point> = (0..5)
            .flat_map(|i| (0..4).map(move |j| Point::new(3.5 * f64::from(i), 3.5 * f64::from(j))))
            .collect();
        assert_relative_eq!(median_nearest_spacing(&grid).expect("points"), 3.5);
        assert_eq!(median_nearest_spacing(&grid[..1]), None);
        assert_eq!(nearest(&grid, 2)[0], vec![1, 4]);
        assert_eq!(nearest(&grid[..2], 5), vec![vec![1], vec![0]]);
    }
}
