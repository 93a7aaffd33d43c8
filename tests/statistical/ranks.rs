//! Ranks of a truth among draws, and the table that says whether they are uniform: what every simulation-based calibration
//! here ends with (Talts et al. 2018; bands: `ecdf`).

use crate::ecdf::{Bands, Verdict};
use crate::installer::Dice;
use std::cmp::Ordering;
use std::fmt::Write;

/// Thinned draws among which the truth is ranked.
pub const RANKED: usize = 99;
const ALPHA: f64 = 0.01;

/// Ranks by so many measures, site after site.
pub struct Ranks<const M: usize> {
    names: [&'static str; M],
    ranks: [Vec<usize>; M],
}

impl<const M: usize> Ranks<M> {
    pub fn new(names: [&'static str; M]) -> Self {
        Self { names, ranks: std::array::from_fn(|_| Vec::new()) }
    }

    /// Ranks a truth among its draws by each measure, ties broken at random.
    pub fn add(&mut self, truth: &[f64; M], drawn: &[[f64; M]], dice: &mut Dice) {
        assert_eq!(drawn.len(), RANKED);
        for (m, ranks) in self.ranks.iter_mut().enumerate() {
            let of = |how| drawn.iter().filter(|d| d[m].total_cmp(&truth[m]) == how).count();
            ranks.push(of(Ordering::Less) + dice.whole(0, of(Ordering::Equal)));
        }
    }

    /// Of each measure its mean rank and where its ranks stray furthest.
    pub fn verdicts(&self, bands: &Bands) -> Vec<(&'static str, f64, Verdict)> {
        let of = |(name, ranks): (&&'static str, &Vec<usize>)| {
            let mean = ranks.iter().sum::<usize>() as f64 / ranks.len() as f64;
            (*name, mean, bands.judge(ranks))
        };
        self.names.iter().zip(&self.ranks).map(of).collect()
    }

    /// The table, and the measures whose ranks leave the bands.
    pub fn judge(&self, title: &str) -> (String, Vec<&'static str>) {
        let sites = self.ranks[0].len();
        let bands = Bands::new(sites, RANKED + 1, ALPHA, 99);
        let mut t = format!("\n## {title}\n\n");
        let _ = writeln!(t, "{RANKED} draws a site; bands at 99 %, pointwise level {:.5}\n", bands.gamma());
        let _ = writeln!(
            t,
            "| measure | mean rank, of 0 to {RANKED} | worst place | ranks below | band there | p | |\n|---|---|---|---|---|---|---|"
        );
        let mut outside = Vec::new();
        for (name, mean, v) in self.verdicts(&bands) {
            let verdict = if v.within { "within" } else { "OUTSIDE" };
            let _ = writeln!(
                t,
                "| {name} | {mean:.1} | {:.2} | {:.3} | {:.3} to {:.3} | {:.4} | {verdict} |",
                v.z, v.share, v.band.0, v.band.1, v.p
            );
            if !v.within {
                outside.push(name);
            }
        }
        (t, outside)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 300 truths among 99 draws of their own law are within the bands (false alarm 1 %, the seed is fixed), by a measure
    /// full of ties too; truths of a law moved by half a standard deviation are not.
    #[test]
    fn a_truth_of_the_same_law_is_within_and_one_of_another_is_not() {
        let mut ranks = Ranks::new(["even", "tied", "moved"]);
        let mut dice = Dice::new(6);
        for _ in 0..300 {
            let mut one = |moved: f64| {
                let x = dice.normal(1.0);
                [x, x.round(), x + moved]
            };
            let (truth, drawn) = (one(0.5), [(); RANKED].map(|()| one(0.0)));
            ranks.add(&truth, &drawn, &mut Dice::new(truth[0].to_bits()));
        }
        assert_eq!(ranks.judge("planted").1, ["moved"]);
    }
}
