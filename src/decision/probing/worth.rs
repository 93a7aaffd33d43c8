//! Which probes of a plan are worth what they cost.
//!
//! A probe that does not pay by itself stays only for the sake of later ones whose gain needs it: two probes may be worth much
//! where each alone is worth nothing (Malings & Pozzi, see `choose`). Whether they need it is asked by leaving it out: where
//! the others together are worth no less without it, it goes. A sum up to the best row would not do: it keeps a probe that
//! loses for a later one that gains just as much alone.

use super::choose::Chosen;

/// Sums closer than this are alike: rounding.
const NOTHING: f64 = 1e-12;

/// The probes that stay, by their number in the plan. `nets` gives, for some of them in the order of the plan, what each gains
/// after those before it, less what it costs.
pub fn paying(count: usize, nets: &dyn Fn(&[usize]) -> Vec<f64>) -> Vec<usize> {
    let mut kept: Vec<usize> = (0..count).collect();
    let mut now = nets(&kept);
    // What loses most is asked first; after each that goes, all are asked again.
    'again: loop {
        let mut losing: Vec<usize> = (0..kept.len()).filter(|&k| now[k] <= 0.0).collect();
        losing.sort_by(|&a, &b| now[a].total_cmp(&now[b]).then(b.cmp(&a)));
        for place in losing {
            let without: Vec<usize> = kept.iter().copied().filter(|&k| k != kept[place]).collect();
            let then = nets(&without);
            if then.iter().sum::<f64>() >= now.iter().sum::<f64>() - NOTHING {
                (kept, now) = (without, then);
                continue 'again;
            }
        }
        // Probes that need each other and lose together are held by each other.
        return if now.iter().sum::<f64>() > 0.0 { kept } else { Vec::new() };
    }
}

/// The chosen ones of these numbers.
pub fn of(chosen: &[Chosen], numbers: &[usize]) -> Vec<Chosen> {
    numbers.iter().map(|&k| chosen[k].clone()).collect()
}
