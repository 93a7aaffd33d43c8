//! The chance that every look misses a run: one number for a SET of looks, integrated over the run's attributes.
//!
//! Never a product over looks: a clear probe beside a hole says much about the same run. Exact in the offset (each leg
//! hits a convex footprint on one interval of offsets) and in the cover given the system's cover level. A look with a
//! report counts a line only as far as the line answers to it: by class, by the bearing of the leg, by the cover.

use super::find_set::{BySet, FindSet};
use super::observation::Observation;
use super::run_likelihood::{Miss, RunLikelihood};
use crate::effort;
use crate::geometry::{Footprint, OffsetHit, Point};
use crate::layout::{Cover, LEVELS, Route, Run, System};

/// Slices of a run's cover where a noted cover must be answered to, and their reach in standard deviations. Numerical
/// choice: slices a third of the scatter of a noted cover.
const COVER_SLICES: usize = 49;
const COVER_REACH: f64 = 6.0;

/// Covers that a run may have at one level, in slices.
struct Slices {
    /// Probability of each slice.
    share: Vec<f64>,
    /// For each look and slice, the chance that a run there which answers to all else is met.
    met: Vec<Vec<f64>>,
    /// For each look, the mean of that over the slices.
    mean: Vec<f64>,
}

/// A set of looks as one system of lines meets them.
pub struct Observations {
    looks: Vec<Observation>,
    /// Footprints widened by the pipe's radius.
    footprints: Vec<Footprint>,
    /// Chance that a line that answers to the report is met: zero where the class does not allow it.
    detect: Vec<f64>,
    /// Chance that a run is shallower than each look is deep, by level.
    shallower: Vec<Miss>,
    /// Observations in order of depth.
    by_depth: Vec<usize>,
    paving_m: f64,
    /// By level; empty where no cover was noted.
    slices: Vec<Slices>,
    /// Probability of each level.
    pub levels: Miss,
}

/// An interval of offsets at which a look meets a run, and how far the run answers to the look's report there.
#[derive(Clone, Copy, Debug)]
struct Hit {
    low: f64,
    high: f64,
    look: usize,
    gain: f64,
}

impl Observations {
    /// The looks as a system meets them.
    pub fn new(system: &System, looks: &[Observation]) -> Self {
        let level = system.cover.levels();
        let shallower = |look: &Observation| -> Miss {
            std::array::from_fn(|l| system.cover.shallower(level[l].1, look.depth_m))
        };
        let mut by_depth: Vec<usize> = (0..looks.len()).collect();
        by_depth.sort_by(|&i, &j| looks[i].depth_m.total_cmp(&looks[j].depth_m));
        let noted = looks.iter().any(|look| look.report.cover_m.is_some());
        let detect = |look: &Observation| if look.report.allows(system.class) { look.detect } else { 0.0 };
        let met = |look: &Observation, cover_m: f64| detect(look) * answers(look, cover_m);
        let slices = level.iter().filter(|_| noted).map(|(_, level_m)| {
            let (share, covers): (Vec<f64>, Vec<f64>) =
                slices(&system.cover, *level_m, looks).into_iter().unzip();
            let of_look = |look| covers.iter().map(|cover_m| met(look, *cover_m)).collect();
            let met: Vec<Vec<f64>> = looks.iter().map(of_look).collect();
            let mean = |met: &Vec<f64>| met.iter().zip(&share).map(|(met, share)| met * share).sum();
            Slices { mean: met.iter().map(mean).collect(), share, met }
        });
        Self {
            footprints: looks.iter().map(|look| look.footprint.inflated(system.radius_m)).collect(),
            detect: looks.iter().map(detect).collect(),
            shallower: looks.iter().map(shallower).collect(),
            by_depth,
            looks: looks.to_vec(),
            paving_m: system.cover.paving_m,
            slices: slices.collect(),
            levels: level.map(|(probability, _)| probability),
        }
    }

    /// Whether the cover level makes no difference: every look is deeper, or shallower, than any run can lie.
    pub fn level_free(&self) -> bool {
        self.looks.iter().all(|look| look.report.cover_m.is_none())
            && self.shallower.iter().all(|s| s.iter().all(|x| (x - s[0]).abs() < 1e-12))
    }

    /// The chance of missing a run by level; `None` when no look can meet it.
    pub fn miss(&self, run: &Run) -> Option<Miss> {
        self.run_likelihood(run, 0).missed(FindSet::NONE).copied()
    }

    /// [`Self::miss`] for each set of the last `finds` looks, with all looks before them.
    pub fn run_likelihood(&self, run: &Run, finds: usize) -> RunLikelihood {
        let first = self.looks.len() - finds;
        // Hits of all routes in one list, and where those of each route end: most runs are met by nothing.
        let mut hits: Vec<Hit> = Vec::new();
        let to_end = |route: &Route| {
            self.hits(route, run.tied, run.offset.reach(), &mut hits);
            hits.len()
        };
        let ends: Vec<usize> = run.routes.iter().map(to_end).collect();
        let mut own: Vec<usize> = hits.iter().filter_map(|hit| hit.look.checked_sub(first)).collect();
        own.sort_unstable();
        own.dedup();
        let mut work = effort::LOOK * (run.routes.len() * self.looks.len()) as u64;
        if hits.is_empty() {
            return RunLikelihood::new(own, BySet::new(0, |_| None), work);
        }
        let is_in = |look: usize, set: FindSet| {
            look < first || own.iter().position(|&find| find + first == look).is_some_and(|k| set.contains(k))
        };
        let mut miss = BySet::new(own.len(), |_| [0.0; LEVELS]);
        let mut met = BySet::new(own.len(), |_| false);
        let mut part = vec![0.0; self.looks.len()];
        let mut lost: BySet<Vec<Option<Miss>>> = BySet::new(own.len(), |_| None);
        let mut from = 0;
        for (route, end) in run.routes.iter().zip(ends) {
            let hits = &hits[from..end];
            from = end;
            for (set, met) in met.iter_mut() {
                *met = *met || hits.iter().any(|hit| is_in(hit.look, set));
            }
            let mut missed = BySet::new(own.len(), |_| [1.0; LEVELS]);
            self.each_stretch(run, route, hits, |mass, gain| {
                // The finds that meet the run here: sets that differ in others lose the same, worked out for the least of them.
                let here: FindSet = (0..own.len()).filter(|&k| gain[own[k] + first] > 0.0).collect();
                for (set, missed) in missed.iter_mut() {
                    if set.is_within(here) {
                        let kept = |look: usize| if is_in(look, set) { gain[look] } else { 0.0 };
                        part.iter_mut().enumerate().for_each(|(look, part)| *part = kept(look));
                        let is_met = part.iter().any(|gain| *gain != 0.0);
                        let at = |l: usize| mass * (1.0 - self.missed_below(&part, run, l));
                        lost[set] = is_met.then(|| std::array::from_fn(at));
                        work += self.price(&part);
                    }
                    if let Some(lost) = &lost[set.intersection(here)] {
                        missed.iter_mut().zip(lost).for_each(|(m, lost)| *m -= lost);
                    }
                }
            });
            for (set, sum) in miss.iter_mut() {
                let missed = missed[set];
                sum.iter_mut().zip(missed).for_each(|(sum, m)| *sum += route.share * m.max(0.0));
            }
        }
        work += (FindSet::count(own.len()) * LEVELS) as u64 * 4;
        let by_set = BySet::new(own.len(), |set| met[set].then_some(miss[set]));
        RunLikelihood::new(own, by_set, work)
    }

    /// About what one stretch costs where these looks meet a run.
    fn price(&self, gain: &[f64]) -> u64 {
        let met = gain.iter().filter(|gain| **gain > 0.0).count() as u64;
        let slices = self.slices.first().map_or(1, |slices| slices.share.len() as u64);
        LEVELS as u64 * (10 + met * (8 + 2 * slices))
    }

    /// Whether some look can meet a run: whether [`Self::miss`] has an answer.
    pub fn meets(&self, run: &Run) -> bool {
        let mut hits: Vec<Hit> = Vec::new();
        run.routes.iter().any(|route| {
            self.hits(route, run.tied, run.offset.reach(), &mut hits);
            !hits.is_empty()
        })
    }

    /// The looks that can meet a run, by their places, ascending: the others say nothing of it.
    pub fn meeting(&self, run: &Run) -> Vec<usize> {
        let mut hits: Vec<Hit> = Vec::new();
        run.routes.iter().for_each(|route| self.hits(route, run.tied, run.offset.reach(), &mut hits));
        let mut looks: Vec<usize> = hits.iter().map(|hit| hit.look).collect();
        looks.sort_unstable();
        looks.dedup();
        looks
    }

    /// For a run with these attributes, the chance that each look meets it: zero where it does not lie in the way.
    pub fn met(&self, run: &Run, route: &Route, offset_m: f64, cover_m: f64) -> Vec<f64> {
        let mut hits: Vec<Hit> = Vec::new();
        self.hits(route, run.tied, offset_m.abs() + 1e-6, &mut hits);
        let mut met = vec![0.0; self.looks.len()];
        for hit in hits.iter().filter(|hit| hit.low <= offset_m && offset_m <= hit.high) {
            met[hit.look] = f64::max(met[hit.look], self.met_at(hit.look, hit.gain, cover_m));
        }
        met
    }

    /// Chance that a look meets a run that passes under it at this cover and answers to its report so far.
    fn met_at(&self, look: usize, gain: f64, cover_m: f64) -> f64 {
        self.detect[look] * gain * answers(&self.looks[look], cover_m)
    }

    /// The intervals of offset at which a route meets each look deep enough to matter.
    fn hits(&self, route: &Route, tied: [bool; 2], reach: f64, hits: &mut Vec<Hit>) {
        let mut found: Vec<OffsetHit> = Vec::new();
        for (look, footprint) in self.footprints.iter().enumerate() {
            if self.detect[look] == 0.0 {
                continue;
            }
            let report = &self.looks[look].report;
            found.clear();
            if route.paved.is_empty() || self.looks[look].depth_m > self.paving_m {
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
            let along = |leg: usize| route.path.legs().get(leg).map_or(Point::default(), |leg| leg.along);
            let hit = |h: &OffsetHit, along: Point| Hit {
                low: h.low,
                high: h.high,
                look,
                gain: report.of_bearing(along),
            };
            hits.extend(found.iter().map(|h| hit(h, along(h.leg))));
            for (tied, at_last) in tied.into_iter().zip([false, true]) {
                if tied {
                    found.clear();
                    route.path.tie_intervals(at_last, footprint, reach, &mut found);
                    hits.extend(found.iter().map(|h| hit(h, along(h.leg).left())));
                }
            }
        }
    }

    /// Calls with the probability of each stretch of offsets at which some look is met, and how far the run answers to each
    /// look there: between two neighbouring ends of intervals the set of looks that it meets is constant.
    fn each_stretch(&self, run: &Run, route: &Route, hits: &[Hit], mut call: impl FnMut(f64, &[f64])) {
        let mut ends: Vec<f64> = hits.iter().flat_map(|hit| [hit.low, hit.high]).collect();
        ends.sort_by(f64::total_cmp);
        ends.dedup();
        let mut gain = vec![0.0; self.footprints.len()];
        for pair in ends.windows(2) {
            let middle = 0.5 * (pair[0] + pair[1]);
            gain.fill(0.0);
            for hit in hits.iter().filter(|h| h.low <= middle && middle <= h.high) {
                gain[hit.look] = f64::max(gain[hit.look], hit.gain);
            }
            if gain.iter().all(|g| *g == 0.0) {
                continue;
            }
            let mass = run.offset_within(route, pair[0], pair[1]);
            if mass > 0.0 {
                call(mass, &gain);
            }
        }
    }

    /// Given that the run passes under these looks, answering to each so far: the chance that all miss it.
    fn missed_below(&self, gain: &[f64], run: &Run, level: usize) -> f64 {
        let met = |look: &usize| gain[*look] > 0.0;
        let looks = || (0..gain.len()).filter(met);
        if let Some(cover_m) = run.cover_m {
            return looks().map(|look| 1.0 - self.met_at(look, gain[look], cover_m)).product();
        }
        if looks().any(|look| self.looks[look].report.cover_m.is_some()) {
            let Slices { share, met, mean } = &self.slices[level];
            if let (Some(only), None) = (looks().next(), looks().nth(1)) {
                return 1.0 - gain[only] * mean[only];
            }
            let missed = |(slice, share): (usize, &f64)| -> f64 {
                looks().fold(*share, |missed, look| missed * (1.0 - gain[look] * met[look][slice]))
            };
            return share.iter().enumerate().map(missed).sum();
        }
        self.missed_at_depths(gain, level)
    }

    /// The same in closed form where no cover was noted: the run is missed by each look that is not deep enough, or by
    /// chance.
    fn missed_at_depths(&self, gain: &[f64], level: usize) -> f64 {
        let looks = || self.by_depth.iter().copied().filter(|&look| gain[look] > 0.0);
        let unmet = |look: usize| 1.0 - self.detect[look] * gain[look];
        let mut unseen: f64 = looks().map(unmet).product();
        let (mut missed, mut shallower) = (0.0, 0.0);
        for (place, look) in looks().enumerate() {
            let next = self.shallower[look][level];
            missed += (next - shallower) * unseen;
            shallower = next;
            unseen = looks().skip(place + 1).map(unmet).product();
        }
        missed + (1.0 - shallower)
    }
}

/// How far a line at this cover answers to a look's depth and to the cover noted.
fn answers(look: &Observation, cover_m: f64) -> f64 {
    if cover_m < look.depth_m { look.report.of_cover(cover_m) } else { 0.0 }
}

/// The covers of runs at one level, each slice's probability and a cover that stands for all of it, cut at the depth of every
/// look: whether a look is deep enough is the same throughout a slice, so that looks of which no cover was noted are missed by
/// exactly what the closed form says.
fn slices(cover: &Cover, level_m: f64, looks: &[Observation]) -> Vec<(f64, f64)> {
    let reach = COVER_REACH * cover.run_sd_m;
    let step = 2.0 * reach / COVER_SLICES as f64;
    let inside = |c: &f64| cover.least_m < *c && *c < cover.greatest_m;
    let grid = (0..=COVER_SLICES).map(|k| level_m - reach + step * k as f64);
    let mut cuts: Vec<f64> = grid.chain(looks.iter().map(|look| look.depth_m)).filter(inside).collect();
    cuts.extend([cover.least_m, cover.greatest_m]);
    cuts.sort_by(f64::total_cmp);
    let slice = |pair: &[f64]| {
        let share = cover.shallower(level_m, pair[1]) - cover.shallower(level_m, pair[0]);
        // Beyond the grid nearly all lies at the near end.
        let middle = 0.5 * (pair[0] + pair[1]);
        (share, middle.clamp(pair[1].min(level_m) - step, pair[0].max(level_m) + step))
    };
    cuts.windows(2).map(slice).filter(|(share, _)| *share > 0.0).collect()
}
