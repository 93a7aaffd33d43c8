//! Named quantities held against the thresholds: a row for each, and every check that one of them did not pass.

use super::chains::Chains;
use super::diagnosis::Diagnosis;
use super::rare::Bound;
use super::thresholds::{Failure, Thresholds};
use rayon::prelude::*;

/// What a quantity is, and so what is asked of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Any number: a length, a log density.
    Scalar,
    /// A hit (1) or miss (0), or a chance worked out within each draw: its mean is reported as a probability.
    Probability,
}

/// A quantity to be judged.
#[derive(Clone, Debug)]
pub struct Quantity<'a> {
    /// Its name, as sentences shall say it.
    pub name: String,
    /// What it is.
    pub kind: Kind,
    /// Its draws.
    pub chains: &'a Chains,
}

/// What was found about one quantity.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: Kind,
    /// R-hat; `None` where undefined.
    pub r_hat: Option<f64>,
    /// Effective size for the bulk; `None` for constant draws.
    pub ess_bulk: Option<f64>,
    /// Effective size for the tails; `None` for constant draws.
    pub ess_tail: Option<f64>,
    /// Mean of all draws.
    pub mean: f64,
    /// Standard error of the mean; `None` for constant draws, as 0 would claim certainty.
    pub mcse: Option<f64>,
    /// For a probability that no draw or every draw hit, its one-sided 95 % bound, if the effective size of trees was
    /// given.
    pub bound: Option<Bound>,
}

/// Rows in the order of the quantities, and what failed.
#[derive(Clone, Debug, PartialEq)]
pub struct Checked {
    /// One row for each quantity.
    pub rows: Vec<Row>,
    /// Every check not passed, in the order of the rows.
    pub failures: Vec<Failure>,
}

impl Checked {
    /// Whether every quantity passed every check.
    #[must_use]
    pub fn passed(&self) -> bool {
        self.failures.is_empty()
    }
}

/// Why nothing could be judged.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum CheckError {
    /// There was nothing to check, which is not the same as a pass.
    #[error("no quantity was given; at least one is needed")]
    NoQuantity,
    /// A draw of a probability lies outside 0 to 1.
    #[error("{quantity}: a draw is {value}; draws of a probability lie between 0 and 1")]
    NotAProbability {
        /// Name of the quantity.
        quantity: String,
        /// The first such draw.
        value: f64,
    },
    /// The effective size of trees is no size.
    #[error("the effective size of trees is {value}; it must be a finite number above 0")]
    BadTreeEss {
        /// The value given.
        value: f64,
    },
}

/// Judges quantities. `tree_ess` is the effective size of the trees behind them (as [`frechet_ess`](super::frechet_ess)
/// gives it), for the bound of chances that no draw hit; without it there is none.
///
/// Constant draws have neither R-hat nor an effective size, so they pass; their row says `None`, and never an error of 0.
///
/// # Errors
/// Each rule of [`CheckError`].
pub fn check(
    quantities: &[Quantity<'_>],
    thresholds: &Thresholds,
    tree_ess: Option<f64>,
) -> Result<Checked, CheckError> {
    if quantities.is_empty() {
        return Err(CheckError::NoQuantity);
    }
    if let Some(value) = tree_ess.filter(|size| !(size.is_finite() && *size > 0.0)) {
        return Err(CheckError::BadTreeEss { value });
    }
    for Quantity { name, kind, chains } in quantities {
        let outside = chains.values().iter().find(|value| !(0.0..=1.0).contains(*value));
        if let (Kind::Probability, Some(&value)) = (kind, outside) {
            return Err(CheckError::NotAProbability { quantity: name.clone(), value });
        }
    }
    let rows: Vec<Row> = quantities.par_iter().map(|quantity| row(quantity, tree_ess)).collect();
    let failures =
        rows.iter().zip(quantities).flat_map(|(row, quantity)| failures(row, quantity, thresholds)).collect();
    Ok(Checked { rows, failures })
}

fn row(quantity: &Quantity<'_>, tree_ess: Option<f64>) -> Row {
    let Quantity { name, kind, chains } = quantity;
    let (name, kind, mean) = (name.clone(), *kind, chains.mean());
    if chains.is_constant() {
        let of_trees = |ess| (kind == Kind::Probability).then(|| Bound::of_constant(mean, ess)).flatten();
        let bound = tree_ess.and_then(of_trees);
        return Row { name, kind, r_hat: None, ess_bulk: None, ess_tail: None, mean, mcse: None, bound };
    }
    let Diagnosis { r_hat, ess_bulk, ess_tail, mcse_mean, .. } = Diagnosis::new(chains);
    let (ess_bulk, ess_tail, mcse) = (Some(ess_bulk), Some(ess_tail), Some(mcse_mean));
    Row { name, kind, r_hat, ess_bulk, ess_tail, mean, mcse, bound: None }
}

/// The value, unless it passes. What is no number passes no comparison, so it fails here.
fn failing(value: Option<f64>, passes: impl Fn(f64) -> bool) -> Option<f64> {
    value.filter(|value| !passes(*value))
}

fn failures(row: &Row, quantity: &Quantity<'_>, thresholds: &Thresholds) -> Vec<Failure> {
    let name = || row.name.clone();
    let mut failures = Vec::new();
    if quantity.chains.chains() < 2 {
        failures.push(Failure::OneChain { quantity: name() });
    }
    if let Some(value) = failing(row.r_hat, |value| value < thresholds.r_hat) {
        failures.push(Failure::RHat { quantity: name(), value, limit: thresholds.r_hat });
    }
    if let Some(value) = failing(row.ess_bulk, |value| value > thresholds.ess) {
        failures.push(Failure::EssBulk { quantity: name(), value, limit: thresholds.ess });
    }
    if let Some(value) = failing(row.ess_tail, |value| value > thresholds.ess) {
        failures.push(Failure::EssTail { quantity: name(), value, limit: thresholds.ess });
    }
    let limit = thresholds.mcse_limit(row.mean);
    let error = row.mcse.filter(|_| row.kind == Kind::Probability);
    if let Some(value) = failing(error, |value| value <= limit) {
        failures.push(Failure::Mcse { quantity: name(), p: row.mean, value, limit });
    }
    failures
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rng::stream;
    use approx::assert_relative_eq;
    use rand::RngExt;

    /// Independent draws of four chains, through `change(chain, draw, uniform)`.
    fn drawn(draws: usize, change: impl Fn(u64, usize, f64) -> f64) -> Chains {
        let row = |chain: u64| -> Vec<f64> {
            let mut stream = stream(23, chain);
            (0..draws).map(|draw| change(chain, draw, stream.random())).collect()
        };
        Chains::new(&(0..4).map(row).collect::<Vec<_>>()).unwrap()
    }

    fn hit(u: f64, p: f64) -> f64 {
        f64::from(u8::from(u < p))
    }

    fn checked(kind: Kind, chains: &Chains) -> Checked {
        let quantity = Quantity { name: "q".to_owned(), kind, chains };
        check(&[quantity], &Thresholds::default(), Some(400.0)).unwrap()
    }

    #[test]
    fn good_chains_pass() {
        let good = drawn(1_000, |_, _, u| u);
        assert!(checked(Kind::Scalar, &good).passed());
        let hits = drawn(1_000, |_, _, u| hit(u, 0.3));
        let checked = checked(Kind::Probability, &hits);
        assert!(checked.passed(), "{:?}", checked.failures);
        assert_relative_eq!(checked.rows[0].mean, 0.3, epsilon = 0.03);
        assert_relative_eq!(checked.rows[0].mcse.unwrap(), (0.21_f64 / 4_000.0).sqrt(), max_relative = 0.1);
    }

    /// Planted faults, one for each check.
    #[test]
    fn each_gate_shuts() {
        let shifted = drawn(1_000, |chain, _, u| u + if chain == 0 { 0.3 } else { 0.0 });
        assert!(
            matches!(checked(Kind::Scalar, &shifted).failures[..], [Failure::RHat { value, .. }, ..] if value > 1.01)
        );

        let short = drawn(60, |_, _, u| u);
        let failures = checked(Kind::Scalar, &short).failures;
        let sizes = |f: &Failure| matches!(f, Failure::EssBulk { .. } | Failure::EssTail { .. });
        assert_eq!(failures.iter().filter(|failure| sizes(failure)).count(), 2, "{failures:?}");

        let few = drawn(125, |_, _, u| hit(u, 0.1));
        let failures = checked(Kind::Probability, &few).failures;
        assert!(
            failures.iter().any(|f| matches!(f, Failure::Mcse { value, limit, .. } if value > limit)),
            "{failures:?}"
        );

        let one = Chains::new(&[drawn(1_000, |_, _, u| u).rows().next().unwrap()]).unwrap();
        assert_eq!(checked(Kind::Scalar, &one).failures, [Failure::OneChain { quantity: "q".to_owned() }]);
    }

    #[test]
    fn indicator_without_a_hit_gets_a_bound_and_no_failure() {
        let checked = checked(Kind::Probability, &drawn(100, |_, _, _| 0.0));
        assert!(checked.passed());
        let row = &checked.rows[0];
        assert_eq!((row.r_hat, row.ess_bulk, row.ess_tail, row.mcse), (None, None, None, None));
        let Some(Bound::AtMost(upper)) = row.bound else { panic!("{:?}", row.bound) };
        assert_relative_eq!(upper, 0.007_443, epsilon = 1e-6); // 1 - 0.05^(1 / 401)
    }

    #[test]
    fn bounds_are_for_hits_and_misses_only() {
        let bound = |kind, value| checked(kind, &drawn(100, move |_, _, _| value)).rows[0].bound;
        assert!(matches!(bound(Kind::Probability, 1.0), Some(Bound::AtLeast(lower)) if lower > 0.99));
        assert_eq!(bound(Kind::Probability, 0.4), None);
        assert_eq!(bound(Kind::Scalar, 0.0), None);
    }

    #[test]
    fn a_limit_that_is_no_number_lets_nothing_pass() {
        let hits = drawn(1_000, |_, _, u| hit(u, 0.3));
        let default = Thresholds::default();
        for thresholds in [
            Thresholds { r_hat: f64::NAN, ..default },
            Thresholds { ess: f64::NAN, ..default },
            Thresholds { mcse_floor: f64::NAN, ..default },
            Thresholds { mcse_share: f64::NAN, ..default },
        ] {
            let quantity = Quantity { name: "q".to_owned(), kind: Kind::Probability, chains: &hits };
            assert!(!check(&[quantity], &thresholds, None).unwrap().passed(), "{thresholds:?}");
        }
    }

    #[test]
    fn nothing_to_judge_is_no_pass() {
        assert_eq!(check(&[], &Thresholds::default(), None), Err(CheckError::NoQuantity));
        let chains = drawn(100, |_, _, u| 2.0 * u);
        let quantity = Quantity { name: "q".to_owned(), kind: Kind::Probability, chains: &chains };
        let refused = check(std::slice::from_ref(&quantity), &Thresholds::default(), None);
        assert!(matches!(refused, Err(CheckError::NotAProbability { value, .. }) if value > 1.0));
        let refused = check(&[quantity], &Thresholds::default(), Some(0.0));
        assert_eq!(refused, Err(CheckError::BadTreeEss { value: 0.0 }));
    }
}
