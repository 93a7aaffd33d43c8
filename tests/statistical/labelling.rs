//! A zoning drawn from the zoning prior of a small site, exactly: every zoning is weighed, none is left out. Independent
//! of the moves by which the engine samples the same law.

use rand::Rng;
use underturf::layout::pick;
use underturf::model::{Part, Sums, ZoningPrior};
use underturf::site::Site;
use underturf::spanning_tree::Scratch;

/// Draws the zone of every head from the law before anything is noted. Takes zones^heads steps.
pub fn draw(site: &Site, rng: &mut impl Rng) -> Vec<usize> {
    let (heads, zones) = (site.heads.len(), site.zones.len());
    let logs = logs(site);
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let weights: Vec<f64> = logs.iter().map(|log| (log - top).exp()).collect();
    zone_of(pick(&weights, rng), heads, zones)
}

/// The zone of every head in zoning number `code`.
fn zone_of(code: usize, heads: usize, zones: usize) -> Vec<usize> {
    (0..heads).map(|head| code / zones.pow(head as u32) % zones).collect()
}

/// Log density of every zoning, by number.
fn logs(site: &Site) -> Vec<f64> {
    let law = ZoningPrior::new(site);
    let (heads, zones) = (site.heads.len(), site.zones.len());
    let scratch = &mut Scratch::default();
    // a zone contributes the same whatever the others hold
    let mut part = |zone: usize, set: usize| {
        let members = (0..heads).filter(|head| set >> head & 1 == 1).collect();
        law.part(zone, members, scratch)
    };
    let parts: Vec<Vec<Part>> =
        (0..zones).map(|zone| (0..1 << heads).map(|set| part(zone, set)).collect()).collect();
    (0..zones.pow(heads as u32))
        .map(|code| {
            let mut sets = vec![0usize; zones];
            let mut left = code;
            for head in 0..heads {
                sets[left % zones] |= 1 << head;
                left /= zones;
            }
            let there = || parts.iter().zip(&sets).map(|(parts, &set)| &parts[set]);
            there().map(|part| part.log_trees).sum::<f64>()
                + law.log_prior(&Sums::of(there().map(|part| &part.share)))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;
    use underturf::inference::proposals::Zoning;
    use underturf::rng;
    use underturf::site::io;

    #[test]
    fn densities_are_those_of_the_law_and_draws_follow_them() {
        let heads: Vec<_> = [0.0, 4.0, 8.0, 12.0, 16.0]
            .iter()
            .enumerate()
            .map(|(k, x)| json!({"id": format!("h{k}"), "x": x, "y": 0.3 * x, "kind": "rotor"}))
            .collect();
        let document = json!({"format": "underturf-site/2", "units": "m", "heads": heads,
            "valve_boxes": [{"id": "v", "x": 1.0, "y": -2.0, "valves": 2}]});
        let site = io::from_value(document).expect("a sound document");
        let (law, logs) = (ZoningPrior::new(&site), logs(&site));
        for (code, log) in logs.iter().enumerate().take(31).skip(1) {
            let zoning = Zoning::new(&law, zone_of(code, 5, 2), &mut Scratch::default());
            assert!((log - zoning.log_density()).abs() < 1e-9);
        }
        // 4,000 draws: the likeliest zoning within 4.5 standard errors of its share, and never an empty zone
        let top = (1..31).max_by(|&a, &b| logs[a].total_cmp(&logs[b])).expect("labellings");
        let total: f64 = logs.iter().map(|log| (log - logs[top]).exp()).sum();
        let mut rng = rng::stream(3, 0);
        let drawn: Vec<Vec<usize>> = (0..4_000).map(|_| draw(&site, &mut rng)).collect();
        let seen = drawn.iter().filter(|drawn| **drawn == zone_of(top, 5, 2)).count() as f64;
        let p = 1.0 / total;
        assert!((seen - 4_000.0 * p).abs() < 4.5 * (4_000.0 * p * (1.0 - p)).sqrt(), "{seen} of 4,000, {p}");
        assert!(drawn.iter().all(|drawn| drawn.contains(&0) && drawn.contains(&1)));
    }
}
