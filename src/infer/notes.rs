//! Station tests held against what else is known of the heads: a test that contradicts too much of it is pointed out.
//!
//! Each head whose zone is written, or was noted in another test, should have come up or not. Label and notes are wrong each
//! with its own small chance; so many contradictions or more have the chance of a sum of unlike trials (Poisson binomial).
//! The posterior over zones weighs the same contradictions head by head, but never says that the test itself went wrong: the
//! wrong valve, no water.

use super::probes::SURPRISE;
use crate::evidence::{Site, StationTest};

/// Heads that say something of one test.
struct Held {
    /// Chance that each contradicts it if nothing went wrong but labels and notes.
    chances: Vec<f64>,
    contradict: usize,
}

impl Held {
    /// One test held against labels and against other tests, as if one zone had run.
    fn new(site: &Site, index: usize, ran: usize) -> Self {
        let test = &site.station_tests[index];
        let mut held = Self { chances: Vec::new(), contradict: 0 };
        for (head, it) in site.heads.iter().enumerate() {
            let noted = || others(site, index).find_map(|other| by_other(site, other, head, ran));
            let written = it.zone.map(|zone| (zone == ran, site.settings.label_error));
            let Some((should, error)) = written.or_else(noted) else { continue };
            held.contradict += usize::from(test.heads.contains(&head) != should);
            held.chances.push((error + error_of(site, test)).min(1.0));
        }
        held
    }

    /// Chance of so many contradictions or more.
    fn tail(&self) -> f64 {
        let mut counts = vec![0.0; self.chances.len() + 1];
        counts[0] = 1.0;
        for (done, chance) in self.chances.iter().enumerate() {
            for k in (0..=done).rev() {
                counts[k + 1] += chance * counts[k];
                counts[k] *= 1.0 - chance;
            }
        }
        counts[self.contradict..].iter().sum()
    }
}

fn others(site: &Site, index: usize) -> impl Iterator<Item = &StationTest> {
    site.station_tests.iter().enumerate().filter(move |(k, _)| *k != index).map(|(_, test)| test)
}

fn error_of(site: &Site, test: &StationTest) -> f64 {
    test.error.unwrap_or(site.settings.station_error)
}

/// Whether a head should have come up when `ran` did, as another test has it, if it says so.
fn by_other(site: &Site, other: &StationTest, head: usize, ran: usize) -> Option<(bool, f64)> {
    let (zone, up) = (other.zone?, other.heads.contains(&head));
    // That it did not come up on another zone leaves every third one open.
    (zone == ran || up).then(|| (up == (zone == ran), error_of(site, other)))
}

/// Chance that so much of what is written and noted elsewhere contradicts a station test, or more, if only labels and notes
/// are wrong now and then; for the zone that agrees best, where a test says only which box a valve of was run. 1 where
/// nothing says which heads should have come up.
pub fn chance_of_contradictions(site: &Site, index: usize) -> f64 {
    let test = &site.station_tests[index];
    let zones = match (test.zone, test.valve_box) {
        (Some(zone), _) => vec![zone],
        (None, Some(held)) if !site.valve_boxes[held].zones.is_empty() => {
            site.valve_boxes[held].zones.clone()
        }
        _ => (0..site.zones.len()).collect(),
    };
    zones.into_iter().map(|ran| Held::new(site, index, ran).tail()).fold(0.0, f64::max)
}

/// One sentence for each test that contradicts too much.
pub fn contradicted(site: &Site) -> Vec<String> {
    let of = |index: usize| {
        (chance_of_contradictions(site, index) < SURPRISE).then(|| {
            format!(
                "station_tests[{index}] contradicts what is written or noted elsewhere about its heads more than labels and notes \
                 err, with less than 1 in 1,000 for so much of it: another valve may have run than was thought, the water been off, \
                 or the box or zones be wrongly named."
            )
        })
    };
    (0..site.station_tests.len()).filter_map(of).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::io;
    use serde_json::{Value, json};

    /// Sixteen labelled heads, eight a zone, and these tests.
    fn site(labelled: bool, tests: &Value) -> Site {
        let heads: Vec<Value> = (0..16)
            .map(|k| {
                let zone = if k < 8 { "1" } else { "2" };
                let mut head =
                    json!({"id": format!("h{k}"), "x": 3.0 * f64::from(k % 8), "y": f64::from(k / 8) * 3.0});
                if labelled {
                    head["zone"] = zone.into();
                }
                head
            })
            .collect();
        let boxes = json!([{"id": "v", "x": -2.0, "y": 1.0, "zones": ["1", "2"]}]);
        let document = json!({"format": "underturf-site/1", "units": "m", "heads": heads, "valve_boxes": boxes,
            "station_tests": tests});
        io::from_value(document).expect("a sound document")
    }

    fn up(heads: impl IntoIterator<Item = usize>) -> Vec<String> {
        heads.into_iter().map(|k| format!("h{k}")).collect()
    }

    /// By hand: with 0.005 for labels and 0.01 for notes each of 16 heads contradicts with 0.015; one does or more with
    /// 1 - 0.985^16, two with that less 16 x 0.015 x 0.985^15.
    #[test]
    fn contradictions_by_hand() {
        let run = |heads: Vec<String>| json!([{"zone": "1", "heads": heads, "error": 0.01}]);
        let one = site(true, &run(up(0..7)));
        let none = 0.985f64.powi(16);
        assert!((one.settings.label_error - 0.005).abs() < 1e-12);
        assert!((chance_of_contradictions(&one, 0) - (1.0 - none)).abs() < 1e-12);
        let two = site(true, &run(up(0..6)));
        let expected = 1.0 - none - 16.0 * 0.015 * 0.985f64.powi(15);
        assert!((chance_of_contradictions(&two, 0) - expected).abs() < 1e-12);
        assert!((chance_of_contradictions(&site(true, &run(up(0..8))), 0) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn a_test_that_went_wrong_is_named() {
        let run = |zone: &str, heads: Vec<String>| json!({"zone": zone, "heads": heads});
        let dry = site(true, &json!([run("1", vec![]), run("2", up(8..16))]));
        assert!(contradicted(&dry).len() == 1 && contradicted(&dry)[0].contains("station_tests[0]"));
        for wrong in [up(0..16), up(8..16)] {
            assert_eq!(contradicted(&site(true, &json!([run("1", wrong)]))).len(), 1);
        }
        // Without labels two tests of one zone contradict each other, and one says nothing against itself.
        let twice = json!([run("1", up(0..8)), run("1", up(8..16))]);
        assert_eq!(contradicted(&site(false, &twice)).len(), 2);
        assert!(contradicted(&site(false, &json!([run("1", vec![])]))).is_empty());
        // A box with both zones: whichever ran agrees with one of them.
        let held = json!([{"valve": "v", "heads": up(8..16)}]);
        assert!(contradicted(&site(true, &held)).is_empty());
        assert!(contradicted(&site(true, &json!([run("1", up(0..8)), run("2", up(8..15))]))).is_empty());
    }
}
