//! Ways through the grounds: the shortest way round what cannot be trenched (a small visibility graph, walked by
//! Dijkstra's method), walks crossed straight in a sleeve or gone round, and the wander of real trenches.

use super::dice::Dice;
use super::grounds::Grounds;
use crate::plane::{Xy, edges, grown, inside, length, point_to_segment, segment_enters, segments_meet, xy};

/// How one crew trenches on one site.
#[derive(Clone, Copy, Debug)]
pub struct TrenchStyle {
    /// Sideways wander of a long run, standard deviation, metres.
    pub wander_m: f64,
    /// Share of runs that have one kink instead of a gentle curve.
    pub kinked: f64,
    /// Distance kept from walls, metres.
    pub clearance_m: f64,
    /// Distance kept from stems (python/docs/trade-values.md, 3.19 asks for 1.5 to 1.8 m; many crews keep less), metres.
    pub stem_m: f64,
    /// Whether the crew goes round a walk when that costs little, instead of driving a sleeve.
    pub goes_round_walks: bool,
}

impl TrenchStyle {
    pub fn draw(dice: &mut Dice) -> Self {
        TrenchStyle {
            wander_m: dice.uniform(0.05, 0.25) * 0.7,
            kinked: dice.uniform(0.0, 0.6),
            clearance_m: dice.uniform(0.3, 0.7),
            stem_m: if dice.chance(0.5) { 0.5 } else { 1.6 },
            goes_round_walks: dice.chance(0.3),
        }
    }
}

/// Routes trenches on one site.
pub struct Ways {
    boundary: Vec<Xy>,
    /// Outlines no trench enters, grown by a hand's breadth.
    walls: Vec<Vec<Xy>>,
    walks: Vec<Vec<Xy>>,
    stems: Vec<Xy>,
    corners: Vec<Xy>,
    pub style: TrenchStyle,
}

impl Ways {
    pub fn new(grounds: &Grounds, style: TrenchStyle) -> Self {
        let hard: Vec<&[Xy]> = grounds.walls().collect();
        let walks: Vec<Vec<Xy>> = grounds.outlines("paving").map(<[Xy]>::to_vec).collect();
        let mut corners: Vec<Xy> = hard.iter().flat_map(|o| grown(o, style.clearance_m)).collect();
        corners.extend(grown(&grounds.boundary, -0.3));
        if style.goes_round_walks {
            corners.extend(walks.iter().flat_map(|o| grown(o, style.clearance_m)));
        }
        let stems: Vec<Xy> = grounds.trees.iter().map(|t| t.at).collect();
        for &s in &stems {
            corners.extend((0..8).map(|k| {
                s + xy(1.15 * style.stem_m, 0.0).turned(f64::from(k) * std::f64::consts::FRAC_PI_4)
            }));
        }
        let walls: Vec<Vec<Xy>> = hard.iter().map(|o| grown(o, 0.08)).collect();
        corners.retain(|&c| inside(c, &grounds.boundary) && walls.iter().all(|w| !inside(c, w)));
        Ways { boundary: grounds.boundary.clone(), walls, walks, stems, corners, style }
    }

    /// Whether a trench straight from `a` to `b` keeps out of walls, stems and the neighbours' ground.
    pub fn is_free(&self, a: Xy, b: Xy) -> bool {
        self.is_open(a, b) && self.clears_stems(a, b)
    }

    /// Whether a trench can be dug straight from `a` to `b` at all.
    fn is_open(&self, a: Xy, b: Xy) -> bool {
        self.walls.iter().all(|w| !segment_enters(a, b, w))
            && edges(&self.boundary).all(|(c, d)| !segments_meet(a, b, c, d))
    }

    fn clears_stems(&self, a: Xy, b: Xy) -> bool {
        self.stems.iter().all(|&s| {
            // towards a head that stands under a tree the trench has to come nearer
            let keep = self.style.stem_m.min(0.6 * s.to(a)).min(0.6 * s.to(b));
            point_to_segment(s, a, b) >= keep
        })
    }

    /// Price of a straight trench: length, and for a walk the work of a sleeve.
    fn price(&self, a: Xy, b: Xy) -> f64 {
        let crossings = self.walks.iter().filter(|w| segment_enters(a, b, w)).count() as f64;
        a.to(b) + crossings * if self.style.goes_round_walks { 4.0 } else { 0.3 }
    }

    /// Shortest way from `a` to `b`. Where a tree fills the only gap the crew cuts its roots; where all is blocked
    /// the straight line comes back, and the job is thrown away by whoever asked.
    pub fn route(&self, a: Xy, b: Xy) -> Vec<Xy> {
        let tolls = self.price(a, b) - a.to(b);
        if self.is_free(a, b) && tolls < 1.0 {
            return vec![a, b];
        }
        self.shortest(a, b, |p, q| self.is_free(p, q))
            .or_else(|| self.shortest(a, b, |p, q| self.is_open(p, q)))
            .unwrap_or_else(|| vec![a, b])
    }

    /// Dijkstra's method over the corners to go round.
    fn shortest(&self, a: Xy, b: Xy, free: impl Fn(Xy, Xy) -> bool) -> Option<Vec<Xy>> {
        let mut nodes = vec![a, b];
        nodes.extend(&self.corners);
        let n = nodes.len();
        let (mut best, mut from, mut left) = (vec![f64::INFINITY; n], vec![0; n], (0..n).collect::<Vec<_>>());
        best[0] = 0.0;
        loop {
            let k = (0..left.len()).min_by(|&i, &j| best[left[i]].total_cmp(&best[left[j]]))?;
            let u = left.swap_remove(k);
            if best[u].is_infinite() {
                return None;
            }
            if u == 1 {
                break;
            }
            for &v in &left {
                let through = best[u] + self.price(nodes[u], nodes[v]);
                if through < best[v] && free(nodes[u], nodes[v]) {
                    (best[v], from[v]) = (through, u);
                }
            }
        }
        let mut path = vec![b];
        let mut v = 1;
        while v != 0 {
            v = from[v];
            path.push(nodes[v]);
        }
        path.reverse();
        Some(path)
    }

    /// Route through several points in turn.
    pub fn route_through(&self, stops: &[Xy]) -> Vec<Xy> {
        let mut path = vec![stops[0]];
        for w in stops.windows(2) {
            path.extend(self.route(w[0], w[1]).into_iter().skip(1));
        }
        path
    }

    /// A dug trench from `a` to `b`: the way, with wander, ends kept.
    pub fn trench(&self, a: Xy, b: Xy, dice: &mut Dice) -> Vec<Xy> {
        self.wander(&self.route(a, b), dice)
    }

    /// Sideways wander of a path, its two ends and the ground's limits kept.
    pub fn wander(&self, path: &[Xy], dice: &mut Dice) -> Vec<Xy> {
        let total = length(path);
        let sd = self.style.wander_m * (total / 4.0).min(1.0);
        if total < 0.6 {
            return path.to_vec();
        }
        let kink = dice.chance(self.style.kinked).then(|| (dice.uniform(0.25, 0.75), dice.normal(1.5 * sd)));
        let waves: Vec<(f64, f64, f64)> = (1..=3)
            .map(|k| {
                (dice.normal(sd / f64::from(k).sqrt()), f64::from(k) * total.max(3.0) / 6.0, dice.bearing())
            })
            .collect();
        let aside = |s: f64| match kink {
            Some((at, by)) => by * (s / (at * total)).min((total - s) / ((1.0 - at) * total)),
            None => {
                let taper = (s / 1.0).min((total - s) / 1.0).clamp(0.0, 1.0);
                taper * waves.iter().map(|(a, f, p)| a * (s / total * f * 1.6 + p).sin()).sum::<f64>()
            }
        };
        let mut out = vec![path[0]];
        let mut s0 = 0.0;
        for w in path.windows(2) {
            let len = w[0].to(w[1]);
            let side = (w[1] - w[0]).unit().left();
            let pieces = (len / 1.2).ceil().max(1.0) as usize;
            for k in 1..=pieces {
                let t = k as f64 / pieces as f64;
                let on = w[0].between(w[1], t);
                let last = k == pieces && (s0 + len - total).abs() < 1e-9;
                let off = if last { on } else { on + side * aside(s0 + len * t) };
                let from = *out.last().expect("starts with one point");
                out.push(if self.is_open(from, off) && inside(off, &self.boundary) { off } else { on });
            }
            s0 += len;
        }
        out
    }
}
