//! Many sites judged together: shares with a bootstrap over whole sites, skill over the fitted polyline, reliability, and the
//! table made of them.

use super::forecaster::MetalForecaster;
use super::scores::{SiteScores, score};
use super::{Names, Site, polyline, site};
use crate::installer::Dice;
use crate::scores::{self, Bin, Skill, brier_of, log_loss_of};
use std::fmt::Write;
use std::ops::Range;

/// Sites that are judged. Nothing is chosen by them: who tries a setting out does so on sites of `TRIED`.
pub const JUDGED: Range<u64> = 0..200;
pub const TRIED: Range<u64> = 500_000..500_200;

/// Pooled scores.
pub struct Judged {
    pub scores: Vec<SiteScores>,
    /// Holes of refused sites are out of the reference too.
    pub answered: Vec<usize>,
    pub refused: Vec<String>,
}

pub fn sites(seeds: Range<u64>, names: Names) -> Vec<Site> {
    seeds.map(|seed| site(seed, names)).collect()
}

/// A share right, of all.
type Share = fn(&SiteScores) -> (usize, usize);

pub const FLAGS: Share = |s| (s.flags_right, s.flags);
pub const STRAYS: Share = |s| (s.strays_right, s.strays);
pub const COVERED: Share = |s| (s.covered, s.stations);
pub const COVERED_WHERE_BANDED: Share = |s| (s.covered, s.banded);
pub const COVERED_IN_GAPS: Share = |s| (s.covered_in_gaps, s.in_gaps);
pub const TOLD: Share = |s| (s.told.crossings_right + s.told.bends_right, s.told.crossings + s.told.bends);
pub const CROSSINGS: Share = |s| (s.told.crossings_right, s.told.crossings);
pub const OBLIQUE: Share = |s| (s.told.oblique_right, s.told.oblique);
pub const LISTED: Share = |s| (s.told.listed, s.told.crossings);
pub const BENDS: Share = |s| (s.told.bends_right, s.told.bends);
pub const CLASSES: Share = |s| (s.classes.iter().filter(|c| c.1 > 0.5).count(), s.telling);
pub const CLASSES_WHERE_STATED: Share = |s| (s.classes.iter().filter(|c| c.1 > 0.5).count(), s.classes.len());

impl Judged {
    pub fn of(sites: &[Site], forecaster: &dyn MetalForecaster) -> Self {
        let mut judged = Self { scores: Vec::new(), answered: Vec::new(), refused: Vec::new() };
        for (k, site) in sites.iter().enumerate() {
            match forecaster.forecast(&site.survey, &site.holes) {
                Ok(forecast) => {
                    judged.scores.push(score(site, &forecast));
                    judged.answered.push(k);
                }
                Err(reason) => judged.refused.push(format!("{}: {reason}", site.survey.name())),
            }
        }
        judged
    }

    /// A share over all sites, with the 5 % and 95 % points of 2,000 resamples of whole sites.
    pub fn share(&self, of: Share) -> Skill {
        let parts: Vec<(usize, usize)> = self.scores.iter().map(of).collect();
        let value = |ks: &mut dyn Iterator<Item = usize>| {
            let (right, all) = ks.fold((0, 0), |s, k| (s.0 + parts[k].0, s.1 + parts[k].1));
            right as f64 / all as f64
        };
        let mut dice = Dice::new(2_000);
        let mut draws: Vec<f64> = (0..2_000)
            .map(|_| value(&mut (0..parts.len()).map(|_| dice.whole(0, parts.len() - 1))))
            .collect();
        draws.sort_by(f64::total_cmp);
        Skill { value: value(&mut (0..parts.len())), low: draws[100], high: draws[1_899] }
    }

    fn count(&self, of: Share) -> usize {
        self.scores.iter().map(|s| of(s).1).sum()
    }

    /// Chances, truths and sites of all holes.
    pub fn holes(&self) -> (Vec<f64>, Vec<f64>, Vec<usize>) {
        let all =
            self.scores.iter().enumerate().flat_map(|(g, s)| s.holes.iter().map(move |h| (h.0, h.1, g)));
        let (mut p, mut y, mut group) = (Vec::new(), Vec::new(), Vec::new());
        for (a, b, g) in all {
            p.push(a);
            y.push(b);
            group.push(g);
        }
        (p, y, group)
    }

    /// Brier skill of the holes over the polyline with its curve fitted on these very sites.
    pub fn skill(&self, sites: &[Site]) -> Skill {
        let (p, y, group) = self.holes();
        scores::skill(brier_of, &p, &self.reference(sites), &y, &group)
    }

    fn reference(&self, sites: &[Site]) -> Vec<f64> {
        let answered: Vec<Site> = self.answered.iter().map(|&k| sites[k].clone()).collect();
        polyline::fitted(&answered).p
    }

    pub fn reliability(&self) -> Vec<Bin> {
        let (p, y, group) = self.holes();
        scores::reliability(&p, &y, &group)
    }

    /// Mean chance stated for the likeliest class, less the share that is right, where ends tell.
    pub fn class_gap(&self) -> f64 {
        let all: Vec<&(f64, f64)> = self.scores.iter().flat_map(|s| &s.classes).collect();
        all.iter().map(|c| c.0 - c.1).sum::<f64>() / all.len() as f64
    }

    /// The table of the page.
    pub fn table(&self, title: &str, sites: &[Site]) -> String {
        let mut t = format!("\n## {title}\n\n");
        let (p, y, group) = self.holes();
        let reference = self.reference(sites);
        let _ = writeln!(
            t,
            "{} sites, {} flags, {} holes, base rate {:.3}, refused {}\n",
            self.scores.len(),
            self.count(FLAGS),
            y.len(),
            y.iter().sum::<f64>() / y.len() as f64,
            self.refused.len()
        );
        self.refused.iter().take(10).for_each(|r| {
            let _ = writeln!(t, "- refused {r}");
        });
        let _ = writeln!(t, "| figure | n | value | 90 % by sites |\n|---|---|---|---|");
        let shares: [(&str, Share); 12] = [
            ("flags on the right line or called stray", FLAGS),
            ("strays called stray", STRAYS),
            ("bands of 90 % that cover, all stations", COVERED),
            ("the same, of lines that have a band", COVERED_WHERE_BANDED),
            ("the same, all stations in gaps", COVERED_IN_GAPS),
            ("crossings told from bends", TOLD),
            ("of these: crossings", CROSSINGS),
            ("of these: oblique crossings", OBLIQUE),
            ("crossings listed", LISTED),
            ("of these: bends", BENDS),
            ("class right where an end tells, all lines", CLASSES),
            ("the same, of lines that are matched and have a class", CLASSES_WHERE_STATED),
        ];
        for (name, of) in shares {
            let n = self.count(of);
            if n == 0 {
                let _ = writeln!(t, "| {name} | 0 | | |");
                continue;
            }
            let s = self.share(of);
            let _ = writeln!(t, "| {name} | {n} | {:.3} | {:.3} to {:.3} |", s.value, s.low, s.high);
        }
        let stray: (Vec<f64>, Vec<f64>) = self.scores.iter().flat_map(|s| s.stray.iter().copied()).unzip();
        let widths: Vec<f64> = self.scores.iter().flat_map(|s| s.widths_m.iter().copied()).collect();
        let _ = writeln!(
            t,
            "| Brier score of strays | {} | {:.4} | |",
            stray.0.len(),
            scores::mean(brier_of, &stray.0, &stray.1)
        );
        if !widths.is_empty() {
            let mean = widths.iter().sum::<f64>() / widths.len() as f64;
            let _ = writeln!(t, "| mean full width of the bands, m | {} | {mean:.3} | |", widths.len());
        }
        let _ = writeln!(t, "| stated less seen, classes where an end tells | | {:.3} | |", self.class_gap());
        let skill = scores::skill(brier_of, &p, &reference, &y, &group);
        let _ = writeln!(
            t,
            "| skill of holes over the fitted polyline | {} | {:.3} | {:.3} to {:.3} |\n",
            y.len(),
            skill.value,
            skill.low,
            skill.high
        );
        let _ = writeln!(
            t,
            "Brier score {:.4}, log loss {:.4}; the fitted polyline {:.4}, {:.4}; a constant rate {:.4}\n",
            scores::mean(brier_of, &p, &y),
            scores::mean(log_loss_of, &p, &y),
            scores::mean(brier_of, &reference, &y),
            scores::mean(log_loss_of, &reference, &y),
            scores::parts(brier_of, &p, &y).uncertainty
        );
        let _ = writeln!(t, "| chance from | to | holes | stated | struck | se |\n|---|---|---|---|---|---|");
        for b in self.reliability() {
            let _ = writeln!(
                t,
                "| {} | {} | {} | {:.3} | {:.3} | {:.3} |",
                b.low, b.high, b.n, b.mean_p, b.rate, b.se
            );
        }
        t
    }
}
