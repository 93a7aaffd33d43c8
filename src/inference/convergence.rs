//! Whether chains over unknown zones can be believed: what is watched, what the convergence checks say of it, how the run went.

use crate::class::Class;
use crate::error::Error;
use crate::layout::Piece;
use crate::mcmc::diagnostics::{
    Chains, Checked, Failure, Kind, Quantity, SetChains, Thresholds, check, frechet_ess, mcse,
};

/// What stands over every output whose chains did not converge and which was accepted anyway.
pub const NOT_CONVERGED: &str = "NOT CONVERGED, do not rely on these figures";

/// Name of the length of laterals.
pub(super) const LATERALS: &str = "length of laterals, m";

/// Length of the laterals among pieces, metres.
pub(super) fn laterals_m(pieces: &[Piece]) -> f64 {
    let laterals = pieces.iter().filter(|piece| piece.class == Class::Lateral);
    laterals.map(|piece| piece.a.distance(piece.b)).sum()
}

/// Name of the chance that a dig strikes a line.
pub(super) fn chance_of(dig: &str) -> String {
    format!("strike chance of {dig}")
}

/// Draws of one quantity, chain after chain.
#[derive(Clone, Debug, PartialEq)]
pub struct Watched {
    /// Its name.
    pub name: String,
    /// A chance, or any number.
    pub kind: Kind,
    /// Its draws, by chain.
    pub chains: Vec<Vec<f64>>,
}

/// Proposals of one kind in the chain at the target.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Moved {
    /// Name of the kind.
    pub name: String,
    /// How many were tried, those that would have changed nothing among them.
    pub tried: u64,
    /// How many were made.
    pub made: u64,
}

/// How the chains went, and what the convergence checks say.
#[derive(Clone, Debug, PartialEq)]
pub struct Convergence {
    /// What was watched.
    pub watched: Vec<Watched>,
    /// What the convergence checks say of it.
    pub checked: Checked,
    /// Effective number of zonings (which near heads share a zone), by Frechet correlation; `None` if all are one.
    pub zoning_ess: Option<f64>,
    /// The same of trees (which places a pipe joins).
    pub tree_ess: Option<f64>,
    /// Sweeps of each chain.
    pub sweeps: usize,
    /// Inverse temperatures.
    pub betas: Vec<f64>,
    /// The communication barrier; chains number about twice that.
    pub barrier: Option<f64>,
    /// Trips from the reference to the target and back, all chains together.
    pub round_trips: u64,
    /// Proposals at the target.
    pub moves: Vec<Moved>,
    /// Whether all convergence checks were passed.
    pub passed: bool,
    /// Thresholds of the convergence checks.
    pub thresholds: Thresholds,
    /// Whether what does not pass is given all the same, marked as such.
    pub accept_unconverged: bool,
}

/// A reported chance, by the name of what it is of.
#[derive(Clone, Debug, PartialEq)]
pub struct Reported {
    /// What it is of, as a sentence shall say it.
    pub name: String,
    /// The chance.
    pub p: f64,
    /// Its Monte Carlo standard error.
    pub mcse: f64,
}

/// Draws as sets of identifiers, by chain.
pub(super) type Sets = Vec<Vec<Vec<u64>>>;

/// What the convergence checks say on these quantities, and the effective numbers of zonings and of trees.
///
/// # Errors
/// [`Error::Chains`], [`Error::Check`] where a quantity is no number, which no layout should give.
pub(super) fn weigh(
    watched: &[Watched],
    [zonings, trees]: [Sets; 2],
    thresholds: &Thresholds,
) -> Result<(Checked, [Option<f64>; 2]), Error> {
    let of = |sets: Sets| SetChains::new(sets).ok().and_then(|sets| frechet_ess(&sets));
    let sizes = [of(zonings), of(trees)];
    Ok((judged(watched, sizes, thresholds)?, sizes))
}

/// What the convergence checks say on these quantities and effective numbers of zonings and of trees.
///
/// # Errors
/// As [`weigh`].
pub(super) fn judged(
    watched: &[Watched],
    [zoning_ess, tree_ess]: [Option<f64>; 2],
    thresholds: &Thresholds,
) -> Result<Checked, Error> {
    let chains: Vec<Chains> = watched.iter().map(|w| Chains::new(&w.chains)).collect::<Result<_, _>>()?;
    let quantities: Vec<Quantity<'_>> = watched
        .iter()
        .zip(&chains)
        .map(|(w, chains)| Quantity { name: w.name.clone(), kind: w.kind, chains })
        .collect();
    let mut checked = check(&quantities, thresholds, zoning_ess.filter(|ess| *ess > 0.0))?;
    for (ess, quantity) in [(zoning_ess, "which heads share a zone"), (tree_ess, "which places a pipe joins")]
    {
        if let Some(value) = ess.filter(|ess| *ess <= thresholds.ess) {
            let quantity = quantity.to_owned();
            checked.failures.push(Failure::EssBulk { quantity, value, limit: thresholds.ess });
        }
    }
    Ok(checked)
}

impl Convergence {
    /// Share of independent draws that the draws are worth: of the quantity that is worth least.
    pub fn efficiency(&self) -> f64 {
        let kept: usize = self.watched.first().map_or(1, |w| w.chains.iter().map(Vec::len).sum());
        let bulk = self.checked.rows.iter().filter_map(|row| row.ess_bulk);
        let least = bulk.chain(self.zoning_ess).chain(self.tree_ess).fold(kept as f64, f64::min);
        (least / kept as f64).clamp(1e-6, 1.0)
    }

    /// Standard error of the mean of these values, one for each draw, chain after chain. `None` where all are equal.
    pub fn mcse(&self, values: &[f64]) -> Option<f64> {
        let chains = self.watched.first().map_or(1, |watched| watched.chains.len());
        let rows: Vec<&[f64]> = values.chunks(values.len().div_ceil(chains).max(1)).collect();
        let chains = Chains::new(&rows).ok().filter(|chains| !chains.is_constant())?;
        Some(mcse::mean(&chains)).filter(|error| error.is_finite())
    }

    /// For each of these chances, whether it can be relied on: the chains passed, and its own error passes too.
    ///
    /// # Errors
    /// [`Error::NotConverged`] where the chains passed in what was watched and one of these does not, unless such are given all
    /// the same.
    pub fn rely(&self, reported: &[Reported]) -> Result<Vec<bool>, Error> {
        let beyond = |one: &Reported| {
            let limit = self.thresholds.mcse_limit(one.p);
            let failure = Failure::Mcse { quantity: one.name.clone(), p: one.p, value: one.mcse, limit };
            (one.mcse.is_nan() || one.mcse > limit).then_some(failure)
        };
        let failures: Vec<Option<Failure>> = reported.iter().map(beyond).collect();
        if self.passed && !self.accept_unconverged && failures.iter().any(Option::is_some) {
            let failures = failures.into_iter().flatten().collect();
            let chains = self.watched.first().map_or(0, |watched| watched.chains.len());
            return Err(Error::NotConverged { failures, sweeps: self.sweeps, chains });
        }
        Ok(failures.iter().map(|failure| self.passed && failure.is_none()).collect())
    }

    /// What the reader of every output must know where convergence checks were not passed.
    pub fn warning(&self) -> Option<String> {
        let failed: Vec<String> = self.checked.failures.iter().map(ToString::to_string).collect();
        (!self.passed).then(|| format!("{NOT_CONVERGED}: {}.", failed.join("; ")))
    }
}
