//! What the sampler found beside what is exact, site by site: far more telling than ranks, and possible here since every explanation
//! is weighed.
//!
//! Chains tell their own standard errors only about. So what is judged rests on the spread over the sites alone: with differences z
//! whose mean is zero, the sum of z over the root of the sum of z^2 is about normal, whatever their spread. Where the sampler errs
//! one way on some sites and the other way on others the sum is blind; then the products of the differences of two runs tell, whose mean is
//! the square of the fault.

use super::facts::FACTS;
use super::pairs::Case;
use super::runs::Run;
use statrs::distribution::{ContinuousCDF, Normal};
use underturf::mcmc::diagnostics::{Chains, ess};

/// A mean is compared where its effective size is so many times the square of the exact skewness: about normal. For an event of
/// chance p that is to see it some nine times.
const TELLING: f64 = 9.0;

/// Differences of means on many sites.
#[derive(Default)]
pub struct Differences {
    rows: [Vec<Row>; FACTS.len()],
    /// Effective sizes of the log density, by site.
    pub sizes: Vec<f64>,
}

/// One measure on one site.
struct Row {
    difference: f64,
    /// In standard errors.
    z: f64,
    /// The same in a second run.
    again: Option<f64>,
}

/// What differences of one measure come to.
#[derive(Clone, Copy, Debug)]
pub struct Difference {
    pub measure: &'static str,
    pub sites: usize,
    pub mean: f64,
    /// Sum of differences in standard errors, as chains tell these.
    pub z: f64,
    /// Share of sites beyond two standard errors, and mean square in these.
    pub beyond: f64,
    pub square: f64,
    /// Chance of such a sum.
    pub p: f64,
    /// Chance of such products of two runs.
    pub p_products: Option<f64>,
}

impl Differences {
    /// One site with one run or two of the sampler.
    pub fn add(&mut self, case: &Case, runs: &[Run]) {
        let density = ess::mean(&chains(&runs[0], 0));
        self.sizes.push(density);
        for (measure, rows) in self.rows.iter_mut().enumerate() {
            let exact = case.exact[measure];
            let difference = |run: &Run| {
                let chains = chains(run, measure);
                // A measure that never changed tells nothing of its own effective size.
                let size = if chains.is_constant() { density } else { ess::mean(&chains) };
                let difference = chains.mean() - exact.mean;
                (difference, difference / (exact.variance / size).sqrt(), size)
            };
            let (difference_, z, size) = difference(&runs[0]);
            if exact.variance > 1e-9 && size >= TELLING * exact.skewness.powi(2) {
                let again = runs.get(1).map(|run| difference(run).1);
                rows.push(Row { difference: difference_, z, again });
            }
        }
    }

    pub fn judge(&self) -> Vec<Difference> {
        let of = |(measure, rows): (&&'static str, &Vec<Row>)| {
            let n = rows.len() as f64;
            let z: Vec<f64> = rows.iter().map(|row| row.z).collect();
            let products: Option<Vec<f64>> = rows.iter().map(|row| Some(row.z * row.again?)).collect();
            Difference {
                measure,
                sites: rows.len(),
                mean: rows.iter().map(|row| row.difference).sum::<f64>() / n,
                z: z.iter().sum::<f64>() / n.sqrt(),
                beyond: z.iter().filter(|z| z.abs() > 2.0).count() as f64 / n,
                square: z.iter().map(|z| z * z).sum::<f64>() / n,
                p: 2.0 * Normal::standard().sf(by_spread(&z).abs()),
                p_products: products.map(|products| Normal::standard().sf(by_spread(&products))),
            }
        };
        FACTS.iter().zip(&self.rows).map(of).collect()
    }
}

/// A sum over the root of its squares.
fn by_spread(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.iter().map(|v| v * v).sum::<f64>().sqrt()
}

fn chains(run: &Run, measure: usize) -> Chains {
    let row = |chain: &Vec<_>| chain.iter().map(|facts: &super::facts::Facts| facts[measure]).collect();
    let rows: Vec<Vec<f64>> = run.chains.iter().map(row).collect();
    Chains::new(&rows).expect("chains are as long as each other")
}
