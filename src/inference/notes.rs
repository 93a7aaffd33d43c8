//! Station tests compared with what else is known of the heads: a test that contradicts too much of it is pointed out.
//!
//! Each head whose zone is written, or was noted in another test, should have come up or not. Label and notes are wrong each
//! with its own small chance; so many contradictions or more have the chance of a sum of unlike trials (Poisson binomial).
//! Beside that, a test that raised none of a site's heads, or all of them though other valves are there, is wrong at so many
//! heads as zones have, whoever says what of them: every working valve feeds some.
//! The posterior over zones weighs the same contradictions head by head, but never says that the test itself went wrong: the
//! wrong valve, no water.

use super::probes::SURPRISE;
use crate::site::{Site, StationTest};

/// What the document itself gives cause to warn of: its notes, and station tests that contradict what is written or noted
/// elsewhere.
///
/// # Examples
/// ```
/// let site = underturf::example::lawn()?;
/// assert!(underturf::inference::warnings(&site).iter().all(|sentence| !sentence.is_empty()));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn warnings(site: &Site) -> Vec<String> {
    site.warnings().into_iter().chain(contradicted(site)).collect()
}

/// Heads that say something of one test.
struct TestedHeads {
    /// Chance that each contradicts it if nothing went wrong but labels and notes.
    chances: Vec<f64>,
    contradict: usize,
}

impl TestedHeads {
    /// One test compared with labels and with other tests, as if one zone had run.
    fn new(site: &Site, index: usize, ran: usize) -> Self {
        let test = &site.station_tests[index];
        let mut tested = Self { chances: Vec::new(), contradict: 0 };
        for (head, it) in site.heads.iter().enumerate() {
            let noted = || others(site, index).find_map(|other| by_other(site, other, head, ran));
            let written = it.zone.map(|zone| (zone == ran, site.settings.zone_error));
            let Some((should, error)) = written.or_else(noted) else { continue };
            tested.contradict += usize::from(test.heads.contains(&head) != should);
            tested.chances.push((error + error_of(site, test)).min(1.0));
        }
        tested
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

/// A test whose heads cannot be those of one zone among several.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Plain {
    /// No head came up.
    None,
    /// Every head came up, though so many other working valves are there.
    All { others: usize },
}

/// Whether a test raised none or all of the heads, and the chance of that if notes alone are wrong. Zones are taken to be of
/// one size, uncounted valves among them, so that few notes need be wrong; with one head at least.
fn plain(site: &Site, index: usize) -> Option<(Plain, f64)> {
    let (test, heads) = (&site.station_tests[index], site.heads.len());
    let zones = site.zones.len().max(1);
    let others = site.zones.iter().filter(|zone| !zone.optional && !zone.unseen).count().saturating_sub(1);
    // A valve whose heads nobody saw may raise none.
    let silent = may_have_run(site, test).into_iter().any(|zone| site.zones[zone].unseen);
    let (plain, wrong) = match test.heads.len() {
        0 if heads > 0 && !silent => (Plain::None, (heads / zones).max(1)),
        up if up == heads && others > 0 => (Plain::All { others }, (heads * others / zones).max(others)),
        _ => return None,
    };
    Some((plain, error_of(site, test).powi(i32::try_from(wrong).unwrap_or(i32::MAX))))
}

/// Chance of a station test, or of one as far off, if only labels and notes are wrong now and then: that so much of what is
/// written and noted elsewhere contradicts it, for the zone that agrees best where a test says only which box a valve of was
/// run; or, if that is less, that it raised none or all of the heads. 1 where nothing says which heads should have come up.
pub fn chance_of_contradictions(site: &Site, index: usize) -> f64 {
    plain(site, index).map_or(1.0, |(_, chance)| chance).min(by_others(site, index))
}

/// Zones that a test may have run.
fn may_have_run(site: &Site, test: &StationTest) -> Vec<usize> {
    match (test.zone, test.valve_box) {
        (Some(zone), _) => vec![zone],
        (None, Some(valve_box)) if !site.valve_boxes[valve_box].zones.is_empty() => {
            site.valve_boxes[valve_box].zones.clone()
        }
        _ => (0..site.zones.len()).collect(),
    }
}

/// The part of it that labels and other tests say.
fn by_others(site: &Site, index: usize) -> f64 {
    let zones = may_have_run(site, &site.station_tests[index]);
    zones.into_iter().map(|ran| TestedHeads::new(site, index, ran).tail()).fold(0.0, f64::max)
}

/// One sentence for each test that contradicts too much.
pub fn contradicted(site: &Site) -> Vec<String> {
    let named = |index: usize| {
        let test = &site.station_tests[index];
        let zone = test.zone.map(|zone| format!("zone {:?}", site.zones[zone].name));
        let ran = zone.or_else(|| {
            test.valve_box.map(|valve_box| format!("a valve of box {}", site.valve_boxes[valve_box].id))
        });
        format!("station_tests[{index}] ({})", ran.unwrap_or_default())
    };
    let of = |index: usize| {
        let test = named(index);
        if by_others(site, index) < SURPRISE {
            return Some(format!(
                "{test} contradicts what is written or noted elsewhere about its heads more than labels and notes \
                 err, with less than 1 in 1,000 for so much of it: another valve may have run than was thought, the water been off, \
                 or the box or zones be wrongly named."
            ));
        }
        match plain(site, index)? {
            (_, chance) if chance >= SURPRISE => None,
            (Plain::None, _) => Some(format!(
                "{test} raised no head, though a working valve feeds some: the water may have been off, the valve \
                 not have opened or be a spare one, or its heads not be among those written."
            )),
            (Plain::All { others }, _) => Some(format!(
                "{test} raised every head of the site, though other working valves are there ({others}), which \
                 feed some: more than one valve may have run, or valves be there that feed nothing and are not written as spare."
            )),
        }
    };
    (0..site.station_tests.len()).filter_map(of).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::site::io;
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
        let document = json!({"format": "underturf-site/2", "units": "m", "heads": heads, "valve_boxes": boxes,
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
        assert!((one.settings.zone_error - 0.005).abs() < 1e-12);
        assert!((chance_of_contradictions(&one, 0) - (1.0 - none)).abs() < 1e-12);
        let two = site(true, &run(up(0..6)));
        let expected = 1.0 - none - 16.0 * 0.015 * 0.985f64.powi(15);
        assert!((chance_of_contradictions(&two, 0) - expected).abs() < 1e-12);
        assert!((chance_of_contradictions(&site(true, &run(up(0..8))), 0) - 1.0).abs() < 1e-12);
    }

    /// Without labels: sixteen heads on two zones. None or all up takes eight wrong notes; with an error of 0.5 that is 1 in
    /// 256, with 0.01 it is named. One head less, or one zone alone, and nothing is odd about it.
    #[test]
    fn no_head_and_every_head_are_named_without_labels() {
        let run = |heads: Vec<String>, error: f64| json!([{"zone": "1", "heads": heads, "error": error}]);
        let said = |heads: Vec<String>, error: f64| contradicted(&site(false, &run(heads, error)));
        for (heads, words) in [(up(0..0), "raised no head"), (up(0..16), "raised every head")] {
            let odd = site(false, &run(heads.clone(), 0.5));
            assert!((chance_of_contradictions(&odd, 0) - 0.5f64.powi(8)).abs() < 1e-12);
            assert!(said(heads.clone(), 0.5).is_empty());
            let named = said(heads, 0.01);
            assert!(named.len() == 1 && named[0].contains(words) && named[0].contains("station_tests[0]"));
        }
        assert!(said(up(0..15), 0.01).is_empty() && said(up(0..1), 0.01).is_empty());
        let alone = |heads: Vec<String>| {
            let mut document = site(false, &run(heads, 0.01)).document.clone();
            document.valve_boxes[0].zones = Some(vec!["1".to_owned()]);
            contradicted(&Site::new(document).expect("a sound document"))
        };
        assert!(alone(up(0..16)).is_empty() && alone(up(0..0)).len() == 1);
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
        assert!(contradicted(&site(false, &json!([run("1", up(0..3))]))).is_empty());
        // A box with both zones: whichever ran agrees with one of them.
        let held = json!([{"valve": "v", "heads": up(8..16)}]);
        assert!(contradicted(&site(true, &held)).is_empty());
        assert!(contradicted(&site(true, &json!([run("1", up(0..8)), run("2", up(8..15))]))).is_empty());
    }
}
