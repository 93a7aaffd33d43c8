//! Rank normalisation: pooled ranks turned into normal scores, which exist however heavy the tails of the draws are.
//!
//! z = Phi^-1((rank - 3/8) / (S + 1/4)), ties averaged (Blom 1958; Vehtari et al. 2021, eq. 14).

use super::halves::Halves;
use super::level::median;
use statrs::distribution::{ContinuousCDF, Normal};

/// Normal scores of the pooled ranks of all draws.
pub fn normal_scores(halves: &Halves) -> Halves {
    let values = halves.values();
    let size = values.len() as f64;
    let normal = Normal::standard();
    let mut scores = vec![0.0; values.len()];
    for tied in tied_groups(values) {
        let score = normal.inverse_cdf((tied.rank - 0.375) / (size + 0.25));
        tied.places.iter().for_each(|&place| scores[place] = score);
    }
    halves.with(scores)
}

/// Distances from the median of all draws: large in either tail, so that chains with equal means and unequal spread
/// differ.
pub fn folded(halves: &Halves) -> Halves {
    let median = median(halves.values());
    halves.map(|value| (value - median).abs())
}

/// Equal values, with the mean of the ranks (from 1) that they share.
struct Tied {
    rank: f64,
    places: Vec<usize>,
}

fn tied_groups(values: &[f64]) -> Vec<Tied> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_unstable_by(|&a, &b| values[a].total_cmp(&values[b]));
    let mut below = 0;
    let groups = order.chunk_by(|&a, &b| values[a] == values[b]).map(|places| {
        let rank = below as f64 + (places.len() + 1) as f64 / 2.0;
        below += places.len();
        Tied { rank, places: places.to_vec() }
    });
    groups.collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mcmc::diagnostics::Chains;
    use approx::assert_relative_eq;

    #[test]
    fn ties_share_the_mean_rank() {
        let groups = tied_groups(&[3.0, 1.0, 1.0, 2.0, -0.0, 0.0]);
        let ranks: Vec<(f64, usize)> = groups.iter().map(|group| (group.rank, group.places.len())).collect();
        assert_eq!(ranks, [(1.5, 2), (3.5, 2), (5.0, 1), (6.0, 1)]);
    }

    #[test]
    fn scores_are_symmetric_and_blom() {
        let chains = Chains::new(&[[10.0, -5.0, 1e9, 0.0]]).unwrap();
        let scores = normal_scores(&Halves::new(&chains));
        // Rank 3 of 4: Phi^-1(2.625 / 4.25); scipy 1.17 gives 0.29930690.
        assert_relative_eq!(scores.values()[0], 0.299_306_9, epsilon = 1e-7);
        assert_relative_eq!(scores.values()[0], -scores.values()[3], max_relative = 1e-14);
        assert_relative_eq!(scores.values()[2], -scores.values()[1], max_relative = 1e-14);
    }

    #[test]
    fn folding_measures_from_the_median() {
        let chains = Chains::new(&[[1.0, 2.0, 4.0, 9.0]]).unwrap();
        assert_eq!(folded(&Halves::new(&chains)).values(), [2.0, 1.0, 1.0, 6.0]);
    }
}
