//! What becomes of every dig once one probe has reported: marks summed over for dig and probe together.
//!
//! With M the chance that all looks of a set miss, and f that of a false find: clear has chance (1 - f) M(probe), clear and
//! dig missed (1 - f) M(dig and probe); found and dig missed is the rest of M(dig).

use super::places::{Place, Places};
use super::sight::Sight;
use crate::decision::assess::{Verdict, marks_near};
use crate::decision::dig::{footprint, look};
use crate::error::Error;
use crate::evidence::Dig;
use crate::geometry::Point;
use crate::infer::{Layouts, in_batches};
use crate::monitor::Monitor;
use crate::strike::RunIndex;

/// A dig before and after one probe, nothing else being dug: where it would go, if it may be shifted, and what it meets there.
#[derive(Clone, Debug, PartialEq)]
pub struct After {
    /// Index of the dig.
    pub dig: usize,
    /// From where it is drawn to where it would go as things stand, metres.
    pub to_now: Point,
    /// If the probe finds a line.
    pub to_if_found: Point,
    /// If it finds nothing.
    pub to_if_clear: Point,
    /// Chance of a strike as things stand.
    pub p_now: f64,
    /// Chance of a strike if the probe finds a line, of whatever kind.
    pub p_if_found: f64,
    /// Chance of a strike if it finds nothing.
    pub p_if_clear: f64,
    /// The verdicts that go with these.
    pub verdict_now: Verdict,
    /// If found.
    pub verdict_if_found: Verdict,
    /// If clear.
    pub verdict_if_clear: Verdict,
}

impl After {
    /// Whether a find changes the verdict or the place.
    pub fn changes_if_found(&self) -> bool {
        self.verdict_if_found != self.verdict_now || self.to_if_found != self.to_now
    }

    /// Whether a clear probe does.
    pub fn changes_if_clear(&self) -> bool {
        self.verdict_if_clear != self.verdict_now || self.to_if_clear != self.to_now
    }

    /// Whether some outcome does.
    pub fn decides(&self) -> bool {
        self.changes_if_found() || self.changes_if_clear()
    }
}

/// The digs of a plan.
pub struct Digs<'a> {
    /// As they are drawn.
    pub drawn: &'a [Dig],
    /// For each, the places where it may be; the first is where it would go now.
    pub ways: &'a [Vec<Dig>],
    /// For each, its number among those that were looked at.
    pub seen: &'a [Option<usize>],
}

/// For each place, the chance of a find and what becomes of each dig.
pub fn after(
    layouts: &Layouts,
    digs: &Digs<'_>,
    sight: &Sight,
    places: &Places,
    chosen: &[(usize, Place)],
    monitor: &dyn Monitor,
) -> Result<Vec<(f64, Vec<After>)>, Error> {
    let index = RunIndex::new(layouts.draws());
    let limit = layouts.site().settings.verdict_limit;
    let mean = |looks: &[_]| {
        let missed = index.missed(layouts.law(), looks, layouts.findings());
        missed.iter().sum::<f64>() / missed.len().max(1) as f64
    };
    let inside = |dig: &Dig| marks_near(layouts.site(), dig).iter().any(|mark| mark.inside);
    let count = digs.drawn.len();
    let unprobed: Vec<f64> = in_batches(chosen.len(), monitor, |k| Ok(mean(&[places.look(&chosen[k].1)])))?;
    let missed_now: Vec<f64> = in_batches(count, monitor, |dig| Ok(mean(&[look(&digs.ways[dig][0])])))?;
    let all = in_batches(chosen.len() * count, monitor, |k| {
        let (number, dig) = (k / count, k % count);
        let (place, at) = chosen[number];
        let probe = places.look(&at);
        let to = |outcome| digs.seen[dig].map_or(0, |seen| sight.best_way(seen, place, outcome));
        let (found, clear) = (to(true), to(false));
        let no_find = 1.0 - places.p_false;
        let is_clear = no_find * unprobed[number];
        // At a place: the chance now, if found, if clear.
        let chances = |way: usize| {
            let own = look(&digs.ways[dig][way]);
            let missed = if way == 0 { missed_now[dig] } else { mean(std::slice::from_ref(&own)) };
            let both = no_find * mean(&[probe.clone(), own]);
            let now = 1.0 - missed;
            let share = |part: f64, of: f64| if of > 1e-12 { (1.0 - part / of).clamp(0.0, 1.0) } else { now };
            [now, share(missed - both, 1.0 - is_clear), share(both, is_clear)]
        };
        let at_now = chances(0);
        let at = |way: usize| if way == 0 { at_now } else { chances(way) };
        let (p_now, p_if_found, p_if_clear) = (at_now[0], at(found)[1], at(clear)[2]);
        let reference = |dig: &Dig| footprint(dig).reference();
        let by = |way: usize| reference(&digs.ways[dig][way]) - reference(&digs.drawn[dig]);
        let verdict = |way: usize, p: f64| Verdict::of(inside(&digs.ways[dig][way]), p, limit);
        Ok(After {
            dig,
            to_now: by(0),
            to_if_found: by(found),
            to_if_clear: by(clear),
            p_now,
            p_if_found,
            p_if_clear,
            verdict_now: verdict(0, p_now),
            verdict_if_found: verdict(found, p_if_found),
            verdict_if_clear: verdict(clear, p_if_clear),
        })
    })?;
    let mut all = all.into_iter();
    let of_probe = |&unprobed: &f64| {
        let found = 1.0 - (1.0 - places.p_false) * unprobed;
        (found, all.by_ref().take(count).collect())
    };
    Ok(unprobed.iter().map(of_probe).collect())
}

impl Sight {
    /// The place where a dig loses least once a probe has reported: the first of its places unless another one gains more
    /// than twice the error of the difference.
    fn best_way(&self, dig: usize, place: usize, found: bool) -> usize {
        let losses = &self.losses[dig];
        let weight = |k: usize| if found { self.finds[place][k] } else { 1.0 - self.finds[place][k] };
        let weights: Vec<f64> = (0..self.draws()).map(weight).collect();
        let (mass, squares) = (weights.iter().sum::<f64>(), weights.iter().map(|w| w * w).sum::<f64>());
        if mass <= 0.0 {
            return 0;
        }
        let mut best = (0.0, 0);
        for way in 1..losses.len() {
            let saved = |k: usize| losses[0][k] - losses[way][k];
            let mean = weights.iter().enumerate().map(|(k, w)| w * saved(k)).sum::<f64>() / mass;
            let apart = weights.iter().enumerate().map(|(k, w)| w * (saved(k) - mean).powi(2)).sum::<f64>();
            let error = (apart / mass * squares).sqrt() / mass;
            if mean > best.0 && mean > 2.0 * error {
                best = (mean, way);
            }
        }
        best.1
    }
}
