//! The chance that every look misses a run: one number for a SET of looks, integrated over the run's marks.
//!
//! Never a product over looks: a clear probe beside a hole says much about the same run. Exact in the offset (each leg
//! hits a convex footprint on one interval of offsets) and in the cover given the system's cover level.

use super::look::Look;
use crate::geometry::{Footprint, OffsetHit, merge_intervals};
use crate::layout::{LEVELS, Route, Run, System};

/// For each cover level of a system, the chance that a run is missed by every look.
pub type Miss = [f64; LEVELS];

/// A set of looks as one system of lines meets them.
pub struct Looks {
    /// Footprints widened by the pipe's radius.
    footprints: Vec<Footprint>,
    depth_m: Vec<f64>,
    detect: Vec<f64>,
    /// Chance that a run is shallower than each look is deep, by level.
    shallower: Vec<Miss>,
    /// Looks in order of depth.
    by_depth: Vec<usize>,
    paving_m: f64,
    /// Probability of each level.
    pub levels: Miss,
}

impl Looks {
    /// The looks as a system meets them.
    pub fn new(system: &System, looks: &[Look]) -> Self {
        let levels = system.cover.levels();
        let shallower = |look: &Look| -> Miss {
            std::array::from_fn(|l| system.cover.shallower(levels[l].1, look.depth_m))
        };
        let depth_m: Vec<f64> = looks.iter().map(|look| look.depth_m).collect();
        let mut by_depth: Vec<usize> = (0..looks.len()).collect();
        by_depth.sort_by(|&i, &j| depth_m[i].total_cmp(&depth_m[j]));
        Self {
            footprints: looks.iter().map(|look| look.footprint.inflated(system.radius_m)).collect(),
            detect: looks.iter().map(|look| look.detect).collect(),
            shallower: looks.iter().map(shallower).collect(),
            by_depth,
            depth_m,
            paving_m: system.cover.paving_m,
            levels: levels.map(|(probability, _)| probability),
        }
    }

    /// Whether the cover level makes no difference: every look is deeper, or shallower, than any run can lie.
    pub fn level_free(&self) -> bool {
        self.shallower.iter().all(|s| s.iter().all(|x| (x - s[0]).abs() < 1e-12))
    }

    /// The chance of missing a run by level; `None` when no look can meet it.
    pub fn miss(&self, run: &Run) -> Option<Miss> {
        let mut miss = [0.0; LEVELS];
        let mut touched = false;
        let mut hits: Vec<(f64, f64, usize)> = Vec::new();
        for route in &run.routes {
            hits.clear();
            self.hits(route, run.tied, run.offset.reach(), &mut hits);
            let missed = if hits.is_empty() {
                [1.0; LEVELS]
            } else {
                touched = true;
                if self.footprints.len() == 1 { self.miss_one(run, &hits) } else { self.miss_all(run, &hits) }
            };
            for (sum, m) in miss.iter_mut().zip(missed) {
                *sum += route.share * m;
            }
        }
        touched.then_some(miss)
    }

    /// The intervals of offset at which a route meets each look deep enough to matter.
    fn hits(&self, route: &Route, tied: [bool; 2], reach: f64, hits: &mut Vec<(f64, f64, usize)>) {
        let mut found: Vec<OffsetHit> = Vec::new();
        for (look, footprint) in self.footprints.iter().enumerate() {
            found.clear();
            if route.paved.is_empty() || self.depth_m[look] > self.paving_m {
                route.path.hit_intervals(footprint, reach, &mut found);
            } else {
                for leg in 0..route.path.legs().len() {
                    let mut from = 0.0;
                    let paved = route.paved.get(leg).map_or(&[][..], Vec::as_slice);
                    for &(start, end) in paved.iter().chain(&[(1.0, 1.0)]) {
                        if start > from {
                            route.path.hit_intervals_between(leg, from, start, footprint, reach, &mut found);
                        }
                        from = end;
                    }
                }
            }
            for (tied, at_last) in tied.into_iter().zip([false, true]) {
                if tied {
                    route.path.tie_intervals(at_last, footprint, reach, &mut found);
                }
            }
            hits.extend(found.iter().map(|hit| (hit.low, hit.high, look)));
        }
    }

    /// One look: the chance of offset times the chance of cover.
    fn miss_one(&self, run: &Run, hits: &[(f64, f64, usize)]) -> Miss {
        let mut intervals: Vec<(f64, f64)> = hits.iter().map(|&(low, high, _)| (low, high)).collect();
        merge_intervals(&mut intervals);
        let met: f64 = intervals.iter().map(|&(low, high)| run.offset.within(low, high)).sum();
        std::array::from_fn(|l| 1.0 - self.detect[0] * met * self.shallower[0][l])
    }

    /// Several looks: between two neighbouring interval ends the set of looks that the run meets is constant.
    fn miss_all(&self, run: &Run, hits: &[(f64, f64, usize)]) -> Miss {
        let mut ends: Vec<f64> = hits.iter().flat_map(|&(low, high, _)| [low, high]).collect();
        ends.sort_by(f64::total_cmp);
        ends.dedup();
        let mut miss = [1.0; LEVELS];
        let mut met = vec![false; self.footprints.len()];
        for pair in ends.windows(2) {
            let middle = 0.5 * (pair[0] + pair[1]);
            met.fill(false);
            hits.iter().filter(|h| h.0 <= middle && middle <= h.1).for_each(|h| met[h.2] = true);
            if !met.contains(&true) {
                continue;
            }
            let mass = run.offset.within(pair[0], pair[1]);
            for (l, m) in miss.iter_mut().enumerate() {
                *m -= mass * (1.0 - self.missed_at_depths(&met, l));
            }
        }
        miss
    }

    /// Given that the run passes under these looks: it is missed by each that is not deep enough, or by chance.
    fn missed_at_depths(&self, met: &[bool], level: usize) -> f64 {
        let looks = || self.by_depth.iter().copied().filter(|&look| met[look]);
        let mut unseen: f64 = looks().map(|look| 1.0 - self.detect[look]).product();
        let (mut missed, mut shallower) = (0.0, 0.0);
        for (place, look) in looks().enumerate() {
            let next = self.shallower[look][level];
            missed += (next - shallower) * unseen;
            shallower = next;
            unseen = looks().skip(place + 1).map(|later| 1.0 - self.detect[later]).product();
        }
        missed + (1.0 - shallower)
    }
}
