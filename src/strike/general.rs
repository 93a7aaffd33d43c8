//! The general form, valid for any prior: one minus the mean over draws of the chance that a drawn tree is missed.
//!
//! Given outer states and trees run attributes are integrated exactly, so a draw contributes a probability, not a yes or no.

use super::findings::Findings;
use super::metal_missed::{MetalMissed, Missed};
use super::miss::Observations;
use super::observation::Observation;
use super::result::{Strike, Tally};
use super::run_likelihood::Miss;
use super::unknown::mean_beyond;
use crate::class::Class;
use crate::layout::{Draw, LEVELS, MetalLine, OuterPrior, Piece, Run, RunId};
use std::collections::HashMap;
use std::sync::Arc;

/// The distinct runs of many draws, and which of them each draw holds.
pub struct RunIndex {
    /// Each distinct run with the system it belongs to.
    runs: Vec<(Arc<Run>, usize)>,
    /// For each draw and system: its lines.
    system_runs: Vec<Vec<SystemRuns>>,
    /// For each draw: unknown lines that probes found.
    unknown: Vec<Vec<Piece>>,
    /// For each draw: lines that flags, paint or known ends tell of.
    metal: Vec<Arc<[Arc<MetalLine>]>>,
    /// For each draw: the chain that these come from.
    chains: Vec<u8>,
    /// For each draw: index of its bearing and case of the supply.
    bearings: Vec<usize>,
}

/// Chances of one dig in one draw.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DrawChances {
    /// Chance of striking any line.
    pub any: f64,
    /// Chance of striking a line of each class, in the order of [`Class::ALL`].
    pub by_class: [f64; Class::ALL.len()],
}

/// One system's lines in one draw.
struct SystemRuns {
    /// The cover level, where evidence has fixed it.
    level: Option<usize>,
    /// Places among the distinct runs, and whether the control wire lies beside each.
    runs: Vec<(u32, bool)>,
}

impl RunIndex {
    /// Indexes the runs of the draws.
    pub fn new(draws: &[Draw]) -> Self {
        let mut runs: Vec<(Arc<Run>, usize)> = Vec::new();
        let mut known: HashMap<RunId, u32> = HashMap::new();
        let mut number = |run: &Arc<Run>, system: usize| {
            *known.entry(run.id()).or_insert_with(|| {
                runs.push((run.clone(), system));
                runs.len() as u32 - 1
            })
        };
        let mut system_runs = Vec::with_capacity(draws.len());
        for draw in draws {
            let mut of_draw = Vec::with_capacity(draw.trees.len());
            for (system, tree) in draw.trees.iter().enumerate() {
                let wired = |k: usize| tree.wired.get(k).copied().unwrap_or(false);
                let edges = tree.runs.iter().enumerate().map(|(k, run)| (run, wired(k)));
                let lines = tree.lines.iter().map(|line| (line, false));
                let runs = edges.chain(lines).map(|(run, wired)| (number(run, system), wired)).collect();
                of_draw.push(SystemRuns { level: tree.level, runs });
            }
            system_runs.push(of_draw);
        }
        Self {
            runs,
            system_runs,
            unknown: draws.iter().map(|draw| draw.unknown.clone()).collect(),
            metal: draws.iter().map(|draw| draw.metal.clone()).collect(),
            chains: draws.iter().map(|draw| draw.metal_chain).collect(),
            bearings: draws.iter().map(|draw| draw.bearing).collect(),
        }
    }

    /// Strike chance of one dig, or chance that one look meets a line which answers to its report. `assessed` says for each
    /// class whether anything is known of it.
    pub fn strike(
        &self,
        prior: &dyn OuterPrior,
        dig: &Observation,
        findings: &Findings,
        assessed: &[bool; Class::ALL.len()],
    ) -> Strike {
        self.strike_by_draw(prior, dig, findings, assessed).0
    }

    /// The same, and the chance of striking any line in each draw.
    pub fn strike_by_draw(
        &self,
        prior: &dyn OuterPrior,
        dig: &Observation,
        findings: &Findings,
        assessed: &[bool; Class::ALL.len()],
    ) -> (Strike, Vec<f64>) {
        let (mut tally, mut chances) = (Tally::default(), Vec::with_capacity(self.system_runs.len()));
        let unmet = self.each(prior, dig, findings, |known, all, by_class| {
            tally.add(known, all, by_class);
            chances.push(all);
        });
        let strike = tally.strike(unmet, assessed);
        let strike = if self.has_metal() { self.with_metal_error(strike, dig) } else { strike };
        (strike, chances)
    }

    /// For each draw, the chance that a dig strikes any line, attributes summed over.
    pub fn chances(&self, prior: &dyn OuterPrior, dig: &Observation, findings: &Findings) -> Vec<f64> {
        let mut chances = Vec::with_capacity(self.system_runs.len());
        self.each(prior, dig, findings, |_, all, _| chances.push(all));
        chances
    }

    /// For each draw, the chances that a dig strikes any line and a line of each class, attributes summed over.
    pub fn by_draw(
        &self,
        prior: &dyn OuterPrior,
        dig: &Observation,
        findings: &Findings,
    ) -> Vec<DrawChances> {
        let mut chances = Vec::with_capacity(self.system_runs.len());
        self.each(prior, dig, findings, |_, any, by_class| chances.push(DrawChances { any, by_class }));
        chances
    }

    /// What the metal lines of the draws say of a dig, for the determinant form; `None` where there are none.
    pub fn metal_missed(
        &self,
        dig: &Observation,
        assessed: &[bool; Class::ALL.len()],
    ) -> Option<MetalMissed> {
        if !self.has_metal() {
            return None;
        }
        let mut tally = Tally::default();
        let mut missed = Vec::with_capacity(self.metal.len());
        for (lines, bearing) in self.metal.iter().zip(&self.bearings) {
            let of_draw = missed_by_class(lines, dig);
            tally.add(1.0 - of_draw.all, 1.0 - of_draw.all, of_draw.by_class.map(|missed| 1.0 - missed));
            missed.push((*bearing, of_draw));
        }
        let strike = self.with_metal_error(tally.strike(1.0, assessed), dig);
        Some(MetalMissed::new(&missed, strike))
    }

    /// With the spread between chains of metal in the errors, of any line and of each class.
    fn with_metal_error(&self, strike: Strike, dig: &Observation) -> Strike {
        let met = self.metal_by_draw(dig);
        let between =
            |of: &dyn Fn(&DrawChances) -> f64| self.between_chains(&met.iter().map(of).collect::<Vec<f64>>());
        let by_class = std::array::from_fn(|class| between(&|met| met.by_class[class]));
        strike.with_errors(between(&|met| met.any), &by_class)
    }

    /// For each draw, the chances that a dig strikes a metal line, and one of each class.
    fn metal_by_draw(&self, dig: &Observation) -> Vec<DrawChances> {
        let of_draw = |lines: &Arc<[Arc<MetalLine>]>| {
            let missed = missed_by_class(lines, dig);
            DrawChances { any: 1.0 - missed.all, by_class: missed.by_class.map(|missed| 1.0 - missed) }
        };
        self.metal.iter().map(of_draw).collect()
    }

    fn has_metal(&self) -> bool {
        self.metal.iter().any(|lines| !lines.is_empty())
    }

    /// Standard error of the mean of these values as the means of the chains of metal differ; draws of one chain are not
    /// independent, but chains are.
    fn between_chains(&self, values: &[f64]) -> f64 {
        let count = self.chains.iter().max().map_or(0, |most| usize::from(*most) + 1);
        let (mut sums, mut counts) = (vec![0.0; count], vec![0.0; count]);
        for (chain, value) in self.chains.iter().zip(values) {
            sums[usize::from(*chain)] += value;
            counts[usize::from(*chain)] += 1.0;
        }
        let means: Vec<f64> =
            sums.iter().zip(&counts).filter(|(_, n)| **n > 0.0).map(|(sum, n)| sum / n).collect();
        let n = means.len() as f64;
        if n < 2.0 {
            return 0.0;
        }
        let mean = means.iter().sum::<f64>() / n;
        (means.iter().map(|m| (m - mean).powi(2)).sum::<f64>() / (n * (n - 1.0))).sqrt()
    }

    /// For each draw, the chance that a dig strikes a line that flags, paint or known ends tell of.
    pub fn metal(&self, dig: &Observation) -> Vec<f64> {
        self.metal_by_draw(dig).iter().map(|met| met.any).collect()
    }

    /// For each draw, the chance that every one of these looks misses every line, attributes summed over for all looks
    /// together: never a product over looks, since two looks at one run share its attributes.
    pub fn missed(&self, prior: &dyn OuterPrior, looks: &[Observation], findings: &Findings) -> Vec<f64> {
        let of_system: Vec<Observations> =
            prior.systems().iter().map(|system| Observations::new(system, looks)).collect();
        let miss: Vec<Option<Miss>> =
            self.runs.iter().map(|(run, system)| of_system[*system].miss(run)).collect();
        let before = |k: usize| findings.clear.iter().chain(&looks[..k]).collect::<Vec<&Observation>>();
        let beyond = |k: usize| mean_beyond(prior.unmapped_lines(), &looks[k], &before(k));
        let unmet = (-(0..looks.len()).map(beyond).sum::<f64>()).exp();
        let of_runs = |(system, system_runs): (usize, &SystemRuns)| {
            let fixed =
                system_runs.level.map(|level| std::array::from_fn(|l| f64::from(u8::from(l == level))));
            let levels = fixed.as_ref().unwrap_or(&of_system[system].levels);
            missed_by_all(levels, system_runs.runs.iter().filter_map(|&(run, _)| miss[run as usize].as_ref()))
        };
        let overlooked = |piece: &Piece| looks.iter().map(|l| 1.0 - l.meets_piece(piece)).product::<f64>();
        let passed = |line: &Arc<MetalLine>| missed_metal(line, looks);
        let of_draw = |k: usize| {
            let known: f64 = self.system_runs[k].iter().enumerate().map(of_runs).product();
            let unknown: f64 = self.unknown[k].iter().map(overlooked).product();
            known * unmet * unknown * self.metal[k].iter().map(passed).product::<f64>()
        };
        (0..self.system_runs.len()).map(of_draw).collect()
    }

    /// Tells `add` for each draw the chance of striking a known line, any line, and a line of each class; returns the chance
    /// that no unknown line is met.
    fn each(
        &self,
        prior: &dyn OuterPrior,
        dig: &Observation,
        findings: &Findings,
        mut add: impl FnMut(f64, f64, [f64; Class::ALL.len()]),
    ) -> f64 {
        let systems = prior.systems();
        let looks: Vec<Observations> =
            systems.iter().map(|s| Observations::new(s, std::slice::from_ref(dig))).collect();
        let miss: Vec<Option<Miss>> =
            self.runs.iter().map(|(run, system)| looks[*system].miss(run)).collect();
        let clear: Vec<&Observation> = findings.clear.iter().collect();
        let unmet = (-mean_beyond(prior.unmapped_lines(), dig, &clear)).exp();
        for ((of_draw, unknown), metal) in self.system_runs.iter().zip(&self.unknown).zip(&self.metal) {
            let mut missed = [1.0; Class::ALL.len()];
            let mut all = 1.0;
            for (system, SystemRuns { level, runs }) in of_draw.iter().enumerate() {
                let fixed = level.map(|level| std::array::from_fn(|l| f64::from(u8::from(l == level))));
                let levels = fixed.as_ref().unwrap_or(&looks[system].levels);
                let line =
                    missed_by_all(levels, runs.iter().filter_map(|&(run, _)| miss[run as usize].as_ref()));
                missed[systems[system].class as usize] *= line;
                all *= line;
                let wired = runs.iter().filter(|(_, wired)| *wired);
                missed[Class::ControlWire as usize] *=
                    missed_by_all(levels, wired.filter_map(|&(run, _)| miss[run as usize].as_ref()));
            }
            let overlooked = |piece: &Piece| 1.0 - dig.meets_piece(piece);
            let unmapped = unmet * unknown.iter().map(overlooked).product::<f64>();
            missed[Class::Unknown as usize] *= unmapped;
            let metal = missed_by_class(metal, dig);
            missed.iter_mut().zip(metal.by_class).for_each(|(missed, metal)| *missed *= metal);
            all *= metal.all;
            let whole = all * unmapped;
            add(1.0 - all, 1.0 - whole, missed.map(|m| 1.0 - m));
        }
        unmet
    }
}

/// Chance that all of a system's runs are missed: they share the cover level.
fn missed_by_all<'a>(levels: &Miss, misses: impl Iterator<Item = &'a Miss>) -> f64 {
    let mut product = [1.0; LEVELS];
    let mut touched = false;
    for miss in misses {
        touched = true;
        product.iter_mut().zip(miss).for_each(|(p, m)| *p *= m);
    }
    if touched { product.iter().zip(levels).map(|(p, level)| p * level).sum() } else { 1.0 }
}

/// Chances that a dig misses these metal lines, and the control wire beside them, which lies in their trench.
fn missed_by_class(lines: &[Arc<MetalLine>], dig: &Observation) -> Missed {
    let mut missed = Missed::NONE;
    for line in lines {
        let missed_it = 1.0 - dig.meets_metal(line);
        missed.by_class[line.class as usize] *= missed_it;
        if line.wire {
            missed.by_class[Class::ControlWire as usize] *= missed_it;
        }
        missed.all *= missed_it;
    }
    missed
}

/// Chance that every one of these looks misses a metal line, its cover summed over for all together.
fn missed_metal(line: &MetalLine, looks: &[Observation]) -> f64 {
    let mut met: Vec<(f64, f64)> = looks
        .iter()
        .map(|look| (look.depth_m, look.meets_at_any_cover(line)))
        .filter(|it| it.1 > 0.0)
        .collect();
    met.sort_by(|a, b| a.0.total_cmp(&b.0));
    let (mut missed, mut above) = (1.0, 0.0);
    for (k, (depth, _)) in met.iter().enumerate() {
        // A cover between this depth and the one before lies in the way of this look and of all deeper ones.
        let share = (line.shallower(*depth) - above).max(0.0);
        above += share;
        missed -= share * (1.0 - met[k..].iter().map(|it| 1.0 - it.1).product::<f64>());
    }
    missed
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Footprint, Point};

    /// Two chains of metal that agree on a line and not on what it carries: the chance of any line has no error, that of each
    /// of the two classes has all of theirs, half a difference of one. Without the spread between chains in the classes (the
    /// planted fault, the errors of draws alone) it is a tenth of that.
    #[test]
    fn chains_that_disagree_on_a_class_widen_the_chance_of_that_class() {
        let line = |class| MetalLine {
            wire: false,
            class,
            path: vec![Point::new(-5.0, 0.0), Point::new(5.0, 0.0)],
            cover_m: 0.4,
            cover_law_m: (0.4, 0.01),
            radius_m: 0.01,
            items: Vec::new(),
            fixtures: Vec::new(),
        };
        let draw = |k: usize| Draw {
            bearing: 0,
            trees: Vec::new(),
            unknown: Vec::new(),
            metal: [Arc::new(line([Class::Gas, Class::Potable][k / 50]))].into(),
            metal_chain: (k / 50) as u8,
        };
        let index = RunIndex::new(&(0..100).map(draw).collect::<Vec<_>>());
        let dig = Observation::dig(Footprint::disc(Point::default(), 0.3), 0.8);
        let mut tally = Tally::default();
        index.metal_by_draw(&dig).iter().for_each(|met| tally.add(met.any, met.any, met.by_class));
        let alone = tally.strike(1.0, &[true; Class::ALL.len()]);
        let strike = index.with_metal_error(alone.clone(), &dig);
        assert!(strike.mcse < 1e-9, "{}", strike.mcse);
        for class in [Class::Gas, Class::Potable] {
            let of = |strike: &Strike| strike.by_class[class as usize].expect("assessed");
            assert!((of(&strike).p - 0.5).abs() < 1e-9);
            assert!((of(&strike).mcse - 0.5f64.hypot(of(&alone).mcse)).abs() < 1e-9, "{:?}", of(&strike));
            assert!(of(&alone).mcse < 0.06, "the planted fault is seen");
        }
    }
}
