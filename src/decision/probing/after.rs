//! What becomes of every dig once one probe has reported: marks summed over for dig and probe together.
//!
//! With M the chance that all looks of a set miss, and f that of a false find: clear has chance (1 - f) M(probe), clear and
//! dig missed (1 - f) M(dig and probe); found and dig missed is the rest of M(dig).

use super::places::{Place, Places};
use crate::decision::assess::{Verdict, marks_near};
use crate::decision::dig::look;
use crate::error::Error;
use crate::evidence::Dig;
use crate::infer::{Layouts, in_batches};
use crate::monitor::Monitor;
use crate::strike::RunIndex;

/// A dig before and after one probe, nothing else being dug.
#[derive(Clone, Debug, PartialEq)]
pub struct After {
    /// Index of the dig.
    pub dig: usize,
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
    /// Whether some outcome changes the verdict.
    pub fn decides(&self) -> bool {
        self.verdict_if_found != self.verdict_now || self.verdict_if_clear != self.verdict_now
    }
}

/// For each place, the chance of a find and what becomes of each dig.
pub fn after(
    layouts: &Layouts,
    digs: &[Dig],
    places: &Places,
    chosen: &[Place],
    monitor: &dyn Monitor,
) -> Result<Vec<(f64, Vec<After>)>, Error> {
    let index = RunIndex::new(layouts.draws());
    let limit = layouts.site().settings.verdict_limit;
    let mean = |looks: &[_]| {
        let missed = index.missed(layouts.law(), looks, layouts.findings());
        missed.iter().sum::<f64>() / missed.len().max(1) as f64
    };
    let missed: Vec<f64> = in_batches(digs.len(), monitor, |k| Ok(mean(&[look(&digs[k])])))?;
    let inside: Vec<bool> =
        digs.iter().map(|dig| marks_near(layouts.site(), dig).iter().any(|mark| mark.inside)).collect();
    let pairs = in_batches(chosen.len() * (digs.len() + 1), monitor, |k| {
        let probe = places.look(&chosen[k / (digs.len() + 1)]);
        Ok(match k % (digs.len() + 1) {
            0 => mean(&[probe]),
            dig => mean(&[probe, look(&digs[dig - 1])]),
        })
    })?;
    let of_probe = |pairs: &[f64]| {
        let clear = (1.0 - places.p_false) * pairs[0];
        let of_dig = |dig: usize| {
            let both = (1.0 - places.p_false) * pairs[dig + 1];
            let p_now = 1.0 - missed[dig];
            let share =
                |part: f64, of: f64| if of > 1e-12 { (1.0 - part / of).clamp(0.0, 1.0) } else { p_now };
            let (p_if_clear, p_if_found) = (share(both, clear), share(missed[dig] - both, 1.0 - clear));
            let verdict = |p: f64| Verdict::of(inside[dig], p, limit);
            After {
                dig,
                p_now,
                p_if_found,
                p_if_clear,
                verdict_now: verdict(p_now),
                verdict_if_found: verdict(p_if_found),
                verdict_if_clear: verdict(p_if_clear),
            }
        };
        (1.0 - clear, (0..digs.len()).map(of_dig).collect())
    };
    Ok(pairs.chunks(digs.len() + 1).map(of_probe).collect())
}
