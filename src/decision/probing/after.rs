//! What becomes of every dig once one probe has reported: marks summed over for dig and probe together.
//!
//! With M the chance that all looks of a set miss, and f that of a false find: clear has chance (1 - f) M(probe), clear and
//! dig missed (1 - f) M(dig and probe); found and dig missed is the rest of M(dig).
//!
//! These chances are means over draws and have an error. A verdict is said to change only where the chance before and the one
//! after lie on either side of a limit by more than their errors; one that may change is said to be unsure.

use super::places::{ProbePlace, ProbePlaces};
use super::plan::{After, Change};
use super::sight::Sight;
use crate::decision::dig::{footprint, look};
use crate::decision::known::{Known, known};
use crate::decision::loss::widening;
use crate::decision::tree_conflicts::within_setback;
use crate::decision::tree_rules::TreeRules;
use crate::decision::verdict::{LIKELY, Verdict};
use crate::error::Error;
use crate::geometry::Point;
use crate::inference::{Layouts, in_batches};
use crate::monitor::Monitor;
use crate::site::Dig;
use crate::strike::{Chance, RunIndex, probability};

impl After {
    /// What a find changes.
    pub fn if_found(&self) -> Change {
        self.change(self.to_if_found, self.p_if_found, self.verdict_if_found)
    }

    /// What a clear probe changes.
    pub fn if_clear(&self) -> Change {
        self.change(self.to_if_clear, self.p_if_clear, self.verdict_if_clear)
    }

    /// A place changes only where it gains more than twice its error (`best_way`), so that is sure.
    fn change(&self, to: Point, then: Chance, verdict: Verdict) -> Change {
        let now = self.p_now;
        let crosses = |limit: f64| {
            let (before, after) = (now.p - limit, then.p - limit);
            before * after < 0.0 && before.abs() > now.mcse && after.abs() > then.mcse
        };
        if to != self.to_now {
            Change::Sure
        } else if verdict == self.verdict_now {
            Change::None
        } else if self.limits.iter().any(|&limit| crosses(limit)) {
            Change::Sure
        } else {
            Change::Unsure
        }
    }

    /// Whether a find changes the verdict or the place.
    pub fn changes_if_found(&self) -> bool {
        self.if_found() == Change::Sure
    }

    /// Whether a clear probe does.
    pub fn changes_if_clear(&self) -> bool {
        self.if_clear() == Change::Sure
    }

    /// Whether a find may change the verdict, which these draws cannot tell.
    pub fn unsure_if_found(&self) -> bool {
        self.if_found() == Change::Unsure
    }

    /// Whether a clear probe may.
    pub fn unsure_if_clear(&self) -> bool {
        self.if_clear() == Change::Unsure
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
    /// What trees ask of their places.
    pub rules: &'a TreeRules,
}

/// What a verdict takes of a place besides the chance of a strike.
struct Situation {
    known: Option<Known>,
    line_in_setback: bool,
}

/// For each place, the chance of a find and what becomes of each dig.
pub fn after(
    layouts: &Layouts,
    digs: &Digs<'_>,
    sight: &Sight,
    places: &ProbePlaces,
    chosen: &[(usize, ProbePlace)],
    monitor: &dyn Monitor,
) -> Result<Vec<(f64, Vec<After>)>, Error> {
    let index = RunIndex::new(layouts.draws());
    let (limit, wider) = (layouts.site().settings.verdict_limit, widening(layouts));
    let missed = |looks: &[_]| index.missed(layouts.prior(), looks, layouts.findings());
    let situation = |dig: &Dig| {
        let within = |plant| within_setback(layouts, &index, plant, dig.stem(), digs.rules);
        let p_setback = dig.tree.as_ref().and_then(within).and_then(|within| Some(within.any?.p));
        Situation { known: known(layouts.site(), dig), line_in_setback: digs.rules.is_over(p_setback) }
    };
    let situations: Vec<Vec<Situation>> =
        in_batches(digs.ways.len(), monitor, |dig| Ok(digs.ways[dig].iter().map(situation).collect()))?;
    let count = digs.drawn.len();
    let unprobed: Vec<Vec<f64>> =
        in_batches(chosen.len(), monitor, |k| Ok(missed(&[places.look(&chosen[k].1)])))?;
    let missed_now: Vec<Vec<f64>> =
        in_batches(count, monitor, |dig| Ok(missed(&[look(&digs.ways[dig][0])])))?;
    let all = in_batches(chosen.len() * count, monitor, |k| {
        let (number, dig) = (k / count, k % count);
        let (place, at) = chosen[number];
        let probe = places.look(&at);
        let to = |outcome| digs.seen[dig].map_or(0, |seen| sight.best_way(seen, place, outcome));
        let (found, clear) = (to(true), to(false));
        let no_find = 1.0 - places.p_false;
        let clear_by_draw: Vec<f64> = unprobed[number].iter().map(|missed| no_find * missed).collect();
        // At a place: the chance now, if found, if clear.
        let chances = |way: usize| {
            let own = look(&digs.ways[dig][way]);
            let elsewhere = (way > 0).then(|| missed(std::slice::from_ref(&own)));
            let (alone, both) =
                (elsewhere.as_ref().unwrap_or(&missed_now[dig]), missed(&[probe.clone(), own]));
            outcomes(alone, &clear_by_draw, &both, no_find, wider)
        };
        let at_now = chances(0);
        let at = |way: usize| if way == 0 { at_now } else { chances(way) };
        let (p_now, p_if_found, p_if_clear) = (at_now[0], at(found)[1], at(clear)[2]);
        let reference = |dig: &Dig| footprint(dig).reference();
        let by = |way: usize| reference(&digs.ways[dig][way]) - reference(&digs.drawn[dig]);
        let verdict = |way: usize, p: f64| {
            let Situation { known, line_in_setback } = situations[dig][way];
            Verdict::of(known, p, limit, line_in_setback)
        };
        Ok(After {
            dig,
            to_now: by(0),
            to_if_found: by(found),
            to_if_clear: by(clear),
            p_now,
            p_if_found,
            p_if_clear,
            verdict_now: verdict(0, p_now.p),
            verdict_if_found: verdict(found, p_if_found.p),
            verdict_if_clear: verdict(clear, p_if_clear.p),
            limits: [limit, LIKELY],
        })
    })?;
    let mut all = all.into_iter();
    let of_probe = |unprobed: &Vec<f64>| {
        let found =
            1.0 - (1.0 - places.p_false) * unprobed.iter().sum::<f64>() / unprobed.len().max(1) as f64;
        (probability(found), all.by_ref().take(count).collect())
    };
    Ok(unprobed.iter().map(of_probe).collect())
}

/// Chance of a strike now, if found and if clear, from what each draw misses: the dig, the probe (a clear report), both.
fn outcomes(alone: &[f64], clear: &[f64], both: &[f64], no_find: f64, wider: f64) -> [Chance; 3] {
    let ones = vec![1.0; alone.len()];
    let found: Vec<f64> = clear.iter().map(|clear| 1.0 - clear).collect();
    let now: Vec<f64> = alone.iter().map(|missed| 1.0 - missed).collect();
    let with_clear: Vec<f64> = clear.iter().zip(both).map(|(clear, both)| clear - no_find * both).collect();
    let with_found: Vec<f64> = now.iter().zip(&with_clear).map(|(now, clear)| now - clear).collect();
    let p_now = share(&now, &ones, wider);
    let or_now = |of: &[f64], given: &[f64]| {
        if given.iter().sum::<f64>() > 1e-12 * given.len() as f64 { share(of, given, wider) } else { p_now }
    };
    [p_now, or_now(&with_found, &found), or_now(&with_clear, clear)]
}

/// The share that a part has of a whole, both sums over draws, and its error: that of a ratio (the delta method), no less than
/// one in as many draws as the whole is worth and one more, since a count of draws proves no more.
fn share(part: &[f64], whole: &[f64], wider: f64) -> Chance {
    let n = part.len() as f64;
    let (sum, squares) = (whole.iter().sum::<f64>(), whole.iter().map(|w| w * w).sum::<f64>());
    let p = part.iter().sum::<f64>() / sum;
    let apart = part.iter().zip(whole).map(|(part, whole)| (part - p * whole).powi(2)).sum::<f64>();
    let error = if n > 1.0 { wider * (apart * n / (n - 1.0)).sqrt() / sum } else { f64::INFINITY };
    let worth = sum * sum / squares / (wider * wider);
    Chance { p: probability(p), mcse: error.max(1.0 / (worth + 1.0)) }
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

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn after(p_now: (f64, f64), p_then: (f64, f64)) -> After {
        let (now, then) = (Chance { p: p_now.0, mcse: p_now.1 }, Chance { p: p_then.0, mcse: p_then.1 });
        let (limit, verdict) = (0.05, |p| Verdict::of(None, p, 0.05, false));
        After {
            dig: 0,
            to_now: Point::default(),
            to_if_found: Point::default(),
            to_if_clear: Point::default(),
            p_now: now,
            p_if_found: then,
            p_if_clear: now,
            verdict_now: verdict(now.p),
            verdict_if_found: verdict(then.p),
            verdict_if_clear: verdict(now.p),
            limits: [limit, LIKELY],
        }
    }

    /// A verdict changes where both chances are beyond a limit by more than their errors. Planted fault: verdicts compared
    /// without errors call the first two changes as well.
    #[test]
    fn a_verdict_that_changes_by_less_than_its_error_is_unsure() {
        for (now, then, change) in [
            ((0.052, 0.010), (0.045, 0.010), Change::Unsure),
            ((0.300, 0.020), (0.049, 0.010), Change::Unsure),
            ((0.052, 0.001), (0.010, 0.003), Change::Sure),
            ((0.300, 0.020), (0.700, 0.040), Change::Sure),
            ((0.040, 0.020), (0.900, 0.040), Change::Sure),
            ((0.052, 0.010), (0.060, 0.010), Change::None),
        ] {
            let found = after(now, then);
            assert_eq!(found.if_found(), change, "{now:?} {then:?}");
            assert_eq!(found.if_clear(), Change::None);
            assert_eq!(found.verdict_if_found != found.verdict_now, change != Change::None);
        }
        let moved = After { to_if_found: Point::new(1.0, 0.0), ..after((0.2, 0.1), (0.2, 0.1)) };
        assert!(moved.changes_if_found(), "a place that changes is a change");
    }

    /// Eight draws, four found, of which three strike; of the clear ones none does. The error of 3/4 of four draws by the
    /// textbook, and where none strikes one in five.
    #[test]
    fn chances_of_outcomes_are_counts_with_the_error_of_a_ratio() {
        let strikes = [1., 1., 1., 0., 0., 0., 0., 0.];
        let finds = [1., 1., 1., 1., 0., 0., 0., 0.];
        let alone: Vec<f64> = strikes.iter().map(|s| 1.0 - s).collect();
        let clear: Vec<f64> = finds.iter().map(|f| 1.0 - f).collect();
        let both: Vec<f64> = alone.iter().zip(&clear).map(|(a, c)| a * c).collect();
        let [now, found, clear] = outcomes(&alone, &clear, &both, 1.0, 1.0);
        assert_relative_eq!(now.p, 0.375);
        assert_relative_eq!(now.mcse, (0.375 * 0.625 / 7.0f64).sqrt(), epsilon = 1e-12);
        assert_relative_eq!(found.p, 0.75);
        assert_relative_eq!(found.mcse, (0.75 * 0.25 / 4.0 * 8.0 / 7.0f64).sqrt(), epsilon = 1e-12);
        assert!(clear.p > 0.0 && clear.p < 1e-8, "no chance is reported as 0: {}", clear.p);
        assert_relative_eq!(clear.mcse, 0.2, epsilon = 1e-12);
    }
}
