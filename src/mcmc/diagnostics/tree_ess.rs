//! Effective sample sizes of trees drawn as sets of runs.
//!
//! A tree is no number, but it is far from or near to another: D^2 = number of runs that two trees do not share, the
//! squared distance of their 0/1 vectors. Magee et al. (Bayesian Analysis 19 (2024) 565-593) compare tree sizes with the
//! real Monte Carlo error of split chances; the Frechet correlation and the pseudo sizes do best there. The multi-chain
//! form with halved chains is that of scalars: with sets of at most one identifier both are the same sum.

use super::chains::Chains;
use super::ess;
use super::geyer::effective_size;
use super::sets::{SetChains, unshared};
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Effective size by Frechet correlation: rho(lag) = 1 - mean D^2 at that lag / (2 V), summed by Geyer's rule.
///
/// V is the Frechet variance of all chains together: mean variance within half chains plus variance between their
/// means, each summed over runs. `None` if all draws are one tree: nothing was seen to move, so nothing is known.
#[must_use]
pub fn frechet_ess(chains: &SetChains) -> Option<f64> {
    let halves = chains.halves();
    let length = halves[0].len();
    let variance = frechet_variance(&halves);
    let rho = |lag: usize| {
        let far = |half: &&[Vec<u64>]| -> usize {
            half.iter().zip(&half[lag..]).map(|(now, later)| unshared(now, later)).sum()
        };
        let total: usize = halves.par_iter().map(far).sum();
        1.0 - total as f64 / ((length - lag) * halves.len()) as f64 / (2.0 * variance)
    };
    (variance > 0.0).then(|| effective_size(halves.len() * length, length, rho))
}

/// Sum over identifiers of p (1 - p) in each half, averaged, plus the variance of p between halves.
fn frechet_variance(halves: &[&[Vec<u64>]]) -> f64 {
    let mut counts: BTreeMap<u64, Vec<u32>> = BTreeMap::new(); // ordered: the sum below has to be reproducible
    for (index, half) in halves.iter().enumerate() {
        for &identifier in half.iter().flatten() {
            counts.entry(identifier).or_insert_with(|| vec![0; halves.len()])[index] += 1;
        }
    }
    let (length, number) = (halves[0].len() as f64, halves.len() as f64);
    let of_one = |counts: &Vec<u32>| {
        let p = || counts.iter().map(|&count| f64::from(count) / length);
        let mean = p().sum::<f64>() / number;
        let within = p().map(|p| p * (1.0 - p)).sum::<f64>() / number;
        within + p().map(|p| (p - mean).powi(2)).sum::<f64>() / (number - 1.0)
    };
    counts.values().map(of_one).sum()
}

/// Effective sizes of the distance to fixed trees.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PseudoEss {
    /// Median over the reference trees.
    pub median: f64,
    /// Least of them.
    pub least: f64,
}

/// A number of reference trees that the draws cannot give.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "{references} reference trees were asked for; there must be between 1 and {draws}, the number of draws"
)]
pub struct ReferencesError {
    /// The number asked for.
    pub references: usize,
    /// Draws of all chains.
    pub draws: usize,
}

/// Pseudo effective sizes (Lanfear, Hua and Warren 2016): of the number of runs not shared with a reference tree, for
/// reference trees evenly spaced among the draws of all chains.
///
/// References from which every draw is equally far say nothing and are left out; `None` if all are, as when all
/// draws are one tree.
///
/// # Errors
/// [`ReferencesError`] for no reference or more than there are draws.
pub fn pseudo_ess(chains: &SetChains, references: usize) -> Result<Option<PseudoEss>, ReferencesError> {
    let sets = chains.sets();
    if references == 0 || references > sets.len() {
        return Err(ReferencesError { references, draws: sets.len() });
    }
    let of_reference = |k: usize| {
        let reference = &sets[(2 * k + 1) * sets.len() / (2 * references)];
        let far: Vec<f64> = sets.iter().map(|set| unshared(set, reference) as f64).collect();
        let rows: Vec<&[f64]> = far.chunks_exact(chains.draws()).collect();
        let trace = Chains::new(&rows).expect("as long as the chains of sets, and counts are finite");
        (!trace.is_constant()).then(|| ess::mean(&trace))
    };
    let mut sizes: Vec<f64> = (0..references).into_par_iter().filter_map(of_reference).collect();
    sizes.sort_unstable_by(f64::total_cmp);
    let middle = sizes.len() / 2;
    Ok(sizes.first().map(|&least| PseudoEss {
        least,
        median: if sizes.len() % 2 == 1 {
            sizes[middle]
        } else {
            f64::midpoint(sizes[middle - 1], sizes[middle])
        },
    }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rng::stream;
    use approx::assert_relative_eq;
    use rand::RngExt;

    const PLACES: u64 = 20;

    /// Each of 20 places holds one of three runs; at each draw each place is kept with chance `keep`, else drawn anew.
    /// Every indicator then has autocorrelation keep^lag, so the effective size is S (1 - keep) / (1 + keep).
    fn renewed(keep: f64, chains: u64, draws: usize) -> SetChains {
        let chain = |chain: u64| {
            let mut stream = stream(17, chain);
            let mut held: Vec<u64> = (0..PLACES).map(|place| 3 * place + stream.random_range(0..3)).collect();
            let mut step = || {
                for (place, run) in (0..PLACES).zip(&mut held) {
                    if stream.random::<f64>() >= keep {
                        *run = 3 * place + stream.random_range(0..3);
                    }
                }
                held.clone()
            };
            (0..draws).map(|_| step()).collect()
        };
        SetChains::new((0..chains).map(chain).collect()).unwrap()
    }

    /// With sets of at most one identifier, D^2 is the squared difference of an indicator: worked out here by the plain
    /// variogram of numbers.
    #[test]
    fn one_identifier_is_an_indicator() {
        let mut stream = stream(5, 0);
        let mut on = false;
        let mut step = || {
            on ^= stream.random::<f64>() < 0.3;
            on
        };
        let rows: [Vec<bool>; 2] = std::array::from_fn(|_| (0..200).map(|_| step()).collect());
        let sets = rows.iter().map(|row| row.iter().map(|&on| vec![9; usize::from(on)]).collect()).collect();
        let found = frechet_ess(&SetChains::new(sets).unwrap()).unwrap();

        let numbers: Vec<Vec<f64>> = rows
            .iter()
            .flat_map(|row| row.chunks(100))
            .map(|half| half.iter().map(|&on| f64::from(u8::from(on))).collect())
            .collect();
        let means: Vec<f64> = numbers.iter().map(|half| half.iter().sum::<f64>() / 100.0).collect();
        let centre = means.iter().sum::<f64>() / 4.0;
        let total = means.iter().map(|p| p * (1.0 - p)).sum::<f64>() / 4.0
            + means.iter().map(|p| (p - centre).powi(2)).sum::<f64>() / 3.0;
        let rho = |lag: usize| {
            let sum: f64 =
                numbers.iter().flat_map(|half| (lag..100).map(|t| (half[t] - half[t - lag]).powi(2))).sum();
            1.0 - sum / (4.0 * (100 - lag) as f64) / 2.0 / total
        };
        assert_relative_eq!(found, effective_size(400, 100, rho), max_relative = 1e-12);
        assert!(found > 100.0 && found < 300.0, "{found}"); // lag-one correlation 0.4: 400 * 0.6 / 1.4 = 171
    }

    /// n = 4 chains of 2,000 draws, fixed seed. Bands are four standard deviations of the estimate over 60 other seeds
    /// (0.6, 1.3 and 1.8 %), so a fresh seed would give a false alarm less than once in 10,000. Catches a factor of two in
    /// D^2 or V; the planted fault is the size of another chance to keep.
    #[test]
    fn renewal_gives_known_size() {
        let off = |keep: f64, truth: f64| {
            let expected = 8_000.0 * (1.0 - truth) / (1.0 + truth);
            (frechet_ess(&renewed(keep, 4, 2_000)).unwrap() / expected - 1.0).abs()
        };
        for (keep, band) in [(0.0, 0.03), (0.5, 0.06), (0.8, 0.08)] {
            assert!(off(keep, keep) < band, "{keep}: {}", off(keep, keep));
        }
        assert!(off(0.8, 0.76) > 0.08);
    }

    /// n = 4 chains of 1,000 draws and 21 references, fixed seed. Over 60 other seeds the median is 0.995 of the known size
    /// with standard deviation 0.023 and the least 0.83 with 0.058; bands of four of them. Catches a distance that
    /// is not to a fixed tree.
    #[test]
    fn pseudo_sizes_agree_with_renewal() {
        let pseudo = pseudo_ess(&renewed(0.5, 4, 1_000), 21).unwrap().unwrap();
        let expected = 4_000.0 / 3.0;
        assert!((pseudo.median / expected - 1.0).abs() < 0.10, "{pseudo:?}");
        assert!((pseudo.least / expected - 0.83).abs() < 0.23, "{pseudo:?}");
        let other = pseudo_ess(&renewed(0.2, 4, 1_000), 21).unwrap().unwrap(); // planted fault: size 2,667
        assert!((other.median / expected - 1.0).abs() > 0.10, "{other:?}");
    }

    /// Planted fault: every chain mixes well within its own third of the runs, so the four agree on nothing.
    #[test]
    fn chains_on_different_trees_are_noticed() {
        let apart = renewed(0.0, 4, 500);
        let moved = (0..4).map(|chain| {
            let row = &apart.sets()[chain * 500..(chain + 1) * 500];
            row.iter().map(|set| set.iter().map(|run| run + 1000 * chain as u64).collect()).collect()
        });
        let moved = SetChains::new(moved.collect()).unwrap();
        assert!(frechet_ess(&apart).unwrap() > 1_500.0);
        assert!(frechet_ess(&moved).unwrap() < 20.0);
        assert!(pseudo_ess(&moved, 20).unwrap().unwrap().median < 20.0);
    }

    #[test]
    fn one_tree_says_nothing() {
        let stuck = SetChains::new(vec![vec![vec![1, 2, 3]; 10]; 2]).unwrap();
        assert_eq!(frechet_ess(&stuck), None);
        assert_eq!(pseudo_ess(&stuck, 5), Ok(None));
    }

    #[test]
    fn references_are_among_the_draws() {
        let chains = renewed(0.0, 1, 10);
        assert_eq!(pseudo_ess(&chains, 0), Err(ReferencesError { references: 0, draws: 10 }));
        assert_eq!(pseudo_ess(&chains, 11), Err(ReferencesError { references: 11, draws: 10 }));
        assert!(pseudo_ess(&chains, 10).unwrap().is_some());
    }
}
