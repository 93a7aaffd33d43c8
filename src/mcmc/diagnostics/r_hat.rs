//! Rank-normalised split R-hat (Vehtari et al. 2021, section 4).

use super::chains::Chains;
use super::halves::Halves;
use super::moments::{mean, variance};
use super::rank::{folded, normal_scores};

/// R-hat: the greater of that of the normal scores of all draws and that of their folded draws, each chain halved.
///
/// `None` where it is undefined: for one chain (the reference implementation asks for two), and where no half chain
/// varies and all hold one value. Infinite where chains are stuck at different values.
#[must_use]
pub fn r_hat(chains: &Chains) -> Option<f64> {
    if chains.chains() < 2 {
        return None;
    }
    let halves = Halves::new(chains);
    let bulk = ratio(&normal_scores(&halves))?;
    // A balanced indicator folds to a constant: then its bulk says all there is.
    Some(ratio(&normal_scores(&folded(&halves))).map_or(bulk, |tail| bulk.max(tail)))
}

/// sqrt((B / W + n - 1) / n), with B and W the variances between and within; `None` if both are zero.
fn ratio(halves: &Halves) -> Option<f64> {
    let n = halves.length() as f64;
    let means: Vec<f64> = halves.rows().map(mean).collect();
    let variances: Vec<f64> = halves.rows().map(variance).collect();
    let (between, within) = (n * variance(&means), mean(&variances));
    (between > 0.0 || within > 0.0).then(|| ((between / within + n - 1.0) / n).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// By hand: halves [0, 2], [4, 6], means 1 and 5, W = 2, B = 2 * 8 = 16, so sqrt((8 + 1) / 2).
    #[test]
    fn ratio_by_hand() {
        let halves = Halves::new(&Chains::new(&[[0.0, 2.0, 4.0, 6.0]]).unwrap());
        assert_relative_eq!(ratio(&halves).unwrap(), 4.5_f64.sqrt(), max_relative = 1e-15);
    }

    #[test]
    fn monotone_change_of_scale_changes_nothing_in_the_bulk() {
        let draws = [[0.3, 1.2, -0.7, 2.2, 0.1, -1.4, 0.9, 0.2], [0.5, -0.2, 1.9, 0.6, -0.9, 1.1, 0.4, -0.3]];
        let bulk = |change: fn(f64) -> f64| {
            ratio(&normal_scores(&Halves::new(&Chains::new(&draws.map(|row| row.map(change))).unwrap())))
        };
        assert_eq!(bulk(|x| x), bulk(|x| (3.0 * x).exp()));
    }

    #[test]
    fn undefined_where_nothing_can_differ() {
        assert_eq!(r_hat(&Chains::new(&[[1.0, 2.0, 3.0, 4.0]]).unwrap()), None);
        assert_eq!(r_hat(&Chains::new(&[[0.1; 6]; 4]).unwrap()), None);
        // The only other value is the middle draw, which halving leaves out.
        assert_eq!(r_hat(&Chains::new(&[[0.0, 0.0, 1.0, 0.0, 0.0], [0.0; 5]]).unwrap()), None);
    }

    #[test]
    fn infinite_for_chains_stuck_apart() {
        assert_eq!(r_hat(&Chains::new(&[[0.1; 6], [0.3; 6]]).unwrap()), Some(f64::INFINITY));
    }

    /// Planted fault: equal centres, one chain ten times as wide. The bulk alone does not see it.
    #[test]
    fn folding_sees_unequal_spread() {
        let narrow: Vec<f64> = (0..100).map(|k| f64::from(k * 37 % 100) - 49.5).collect();
        let wide: Vec<f64> = narrow.iter().map(|x| 10.0 * x).collect();
        let chains = Chains::new(&[narrow, wide]).unwrap();
        assert!(ratio(&normal_scores(&Halves::new(&chains))).unwrap() < 1.01);
        assert!(r_hat(&chains).unwrap() > 1.5);
    }
}
