//! What chosen probes are worth, on draws that had no part in choosing them.
//!
//! The largest of many noisy gains is flattered by its noise. So the second half of the draws judges what the first half
//! chose: cells are made anew of the second half; for losses each cell decides as the first half says, so that no decision
//! is judged on the draws that made it. Errors are paired: a gain is a mean over draws of what each draw saves.

use super::cells::{Cell, MOST_WAYS, OfDig, decide};
use super::choose::Chosen;
use super::plan::Objective;
use super::sight::Sight;
use crate::decision::loss::Loss;

/// What is lost before any probe and what each probe takes off that, in the order of the choice.
#[derive(Clone, Debug, PartialEq)]
pub struct Judged {
    pub before: f64,
    pub gains: Vec<Loss>,
}

/// One dig, in both halves.
struct Dig<'a> {
    first: OfDig<'a>,
    second: OfDig<'a>,
    cells: Vec<[Cell; 2]>,
    /// Where each cell digs, if it does, by the first half, and the mean loss at each place.
    decided: Vec<(Option<usize>, [f64; MOST_WAYS])>,
}

impl Dig<'_> {
    /// What each draw of the second half loses.
    fn series(&self, objective: Objective) -> Vec<f64> {
        let mut series = vec![0.0; self.second.strikes.len()];
        for ([_, cell], (place, _)) in self.cells.iter().zip(&self.decided) {
            let p = cell.sums.strike / cell.sums.mass().max(f64::MIN_POSITIVE);
            for (k, (sum, weight)) in series.iter_mut().zip(&cell.weight).enumerate() {
                *sum += weight
                    * match objective {
                        // The mean over a draw's own marks of (s - p)^2 where s is a chance.
                        Objective::Variance => {
                            let s = self.second.strikes[k];
                            s * (1.0 - p).powi(2) + (1.0 - s) * p * p
                        }
                        Objective::Loss => place
                            .map_or(self.second.cost, |way| self.second.losses[way][self.second.from + k]),
                    };
            }
        }
        series
    }

    /// Their mean, corrected.
    fn value(&self, objective: Objective, series: &[f64]) -> f64 {
        let count = series.len().max(1) as f64;
        match objective {
            Objective::Variance => {
                self.cells.iter().map(|[_, cell]| cell.value(objective, self.second.cost)).sum::<f64>()
                    / count
            }
            Objective::Loss => series.iter().sum::<f64>() / count,
        }
    }

    fn listen(&mut self, first: &[f64], second: &[f64]) {
        let mut cells = Vec::with_capacity(2 * self.cells.len());
        let mut decided = Vec::with_capacity(2 * self.cells.len());
        for ([a, b], (_, means)) in self.cells.iter().zip(&self.decided) {
            for (a, b) in a.split(first, self.first).into_iter().zip(b.split(second, self.second)) {
                let mut own = [f64::INFINITY; MOST_WAYS];
                for (way, own) in own.iter_mut().enumerate().take(a.sums.ways) {
                    *own = a.sums.leaning(way, means[way]);
                }
                decided.push((decide(self.first.cost, own.into_iter().take(a.sums.ways)), own));
                cells.push([a, b]);
            }
        }
        (self.cells, self.decided) = (cells, decided);
    }
}

/// Judges a choice that was made on the first half of the draws.
pub fn judge(sight: &Sight, chosen: &[Chosen], objective: Objective, wider: f64) -> Judged {
    let half = sight.draws() / 2;
    let whole = |k: usize| {
        let (first, second) = (sight.of_dig(k, 0..half), sight.of_dig(k, half..sight.draws()));
        let cells = vec![[Cell::whole(first), Cell::whole(second)]];
        let means = first.means();
        let place = decide(first.cost, means.into_iter().take(first.losses.len()));
        Dig { first, second, cells, decided: vec![(place, means)] }
    };
    let mut digs: Vec<Dig<'_>> = (0..sight.strikes.len()).map(whole).collect();
    let mut now: Vec<(Vec<f64>, f64)> = digs
        .iter()
        .map(|dig| {
            let series = dig.series(objective);
            let value = dig.value(objective, &series);
            (series, value)
        })
        .collect();
    let before = now.iter().map(|(_, value)| value).sum();
    let gains = chosen.iter().map(|chosen| {
        let finds = &sight.finds[chosen.place];
        let mut saved = vec![0.0; sight.draws() - half];
        let mut gain = 0.0;
        for &k in &chosen.heard_by {
            digs[k].listen(&finds[..half], &finds[half..]);
            let series = digs[k].series(objective);
            let value = digs[k].value(objective, &series);
            saved.iter_mut().zip(now[k].0.iter().zip(&series)).for_each(|(sum, (a, b))| *sum += a - b);
            gain += now[k].1 - value;
            now[k] = (series, value);
        }
        Loss { loss: gain, error: Loss::of(&saved, wider).error }
    });
    let gains = gains.collect();
    Judged { before, gains }
}
