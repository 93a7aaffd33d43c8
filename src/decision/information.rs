//! What a probe is expected to teach: the mutual information of its outcome and the layout.
//!
//! The outcome is found or clear. Given a layout a probe finds something with a chance that is known without sampling, so the
//! expected information is `h(mean chance) - mean h(chance)` over draws, h the entropy of a yes or no (Lindley 1956;
//! python/docs/model.md, 5.6): no nested sampling and no bias of it.

use crate::error::Error;
use crate::inference::{Layouts, false_find, in_batches, probe_look};
use crate::monitor::Monitor;
use crate::site::Probe;
use crate::strike::RunIndex;

/// Expected information of each probe about the layout, in bits: at most one. Whether they found anything is not looked at.
///
/// # Errors
/// [`Error::Interrupted`].
pub fn expected_information(
    layouts: &Layouts,
    probes: &[Probe],
    monitor: &dyn Monitor,
) -> Result<Vec<f64>, Error> {
    let index = RunIndex::new(layouts.draws());
    let of_probe = |k: usize| {
        let open = Probe { found: false, ..probes[k].clone() }; // nothing is noted before it is dug
        let met = index.chances(layouts.prior(), &probe_look(&open), layouts.findings());
        Ok(information(&met, false_find(&open)))
    };
    in_batches(probes.len(), monitor, of_probe)
}

/// Bits that a yes or no teaches which is yes with chance `1 - (1 - false_find)(1 - met)` in each of equally likely cases.
pub fn information(met: &[f64], false_find: f64) -> f64 {
    let yes = |met: &f64| 1.0 - (1.0 - false_find) * (1.0 - met);
    let count = met.len().max(1) as f64;
    let mean = met.iter().map(yes).sum::<f64>() / count;
    (entropy(mean) - met.iter().map(|m| entropy(yes(m))).sum::<f64>() / count).max(0.0)
}

/// Entropy of a yes or no, bits.
pub(super) fn entropy(p: f64) -> f64 {
    let term = |p: f64| if p > 0.0 { -p * p.log2() } else { 0.0 };
    term(p) + term(1.0 - p)
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// A perfect probe of a dig that is hit with chance p teaches h(p); with errors
    /// h(p d + (1 - p) f) - p h(d) - (1 - p) h(f), d the chance of a find where the line is, f where it is not.
    #[test]
    fn one_dig_is_the_closed_form() {
        let cases = |hits: usize, detect: f64| -> Vec<f64> {
            (0..10).map(|k| if k < hits { detect } else { 0.0 }).collect()
        };
        let h = |p: f64| -p * p.log2() - (1.0 - p) * (1.0 - p).log2();
        assert_relative_eq!(information(&cases(3, 1.0), 0.0), h(0.3), epsilon = 1e-12);
        assert_relative_eq!(information(&cases(5, 1.0), 0.0), 1.0, epsilon = 1e-12);
        let (p, detect, f) = (0.3, 0.97, 0.01);
        let d = 1.0 - (1.0 - f) * (1.0 - detect);
        let exact = h(p * d + (1.0 - p) * f) - p * h(d) - (1.0 - p) * h(f);
        assert_relative_eq!(information(&cases(3, detect), f), exact, epsilon = 1e-12);
        assert!(information(&cases(0, 1.0), 0.01) < 1e-12, "nothing to be met anywhere teaches nothing");
        // Planted fault: the entropy of the outcome alone also counts the probe's own errors.
        assert!(h(p * d + (1.0 - p) * f) > exact + 0.05);
    }
}
