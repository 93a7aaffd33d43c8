//! Sites as crews write them down, drawn at random with every kind of evidence: heads that nobody labelled, valves miscounted,
//! drip zones that nobody saw, heads measured twice, corners typed twice, bibs behind the wall. None is refused.
//!
//! What is drawn is a lawn with a house, heads on a jittered grid in stripes of zones, and notes of it that are each right or
//! wrong as notes are. Catches refusals of notes that may be right: of 128 such sites 24 were refused before valves out of
//! sight were answered.

use rand::RngExt;
use serde_json::{Value, json};
use std::sync::Arc;
use std::time::Instant;
use underturf::inference::posterior::Limits;
use underturf::inference::{RunBudget, SampleOptions, sample_layouts_within};
use underturf::monitor::Unwatched;
use underturf::rng::{Stream, stream};
use underturf::site::Site;
use underturf::site::io;

/// The house: nothing but what hangs on its walls is within it.
const HOUSE: [f64; 4] = [18.0, 9.0, 25.0, 14.0];

/// The dice of one site.
struct Dice(Stream);

impl Dice {
    fn chance(&mut self, p: f64) -> bool {
        self.0.random::<f64>() < p
    }

    fn within(&mut self, low: f64, high: f64) -> f64 {
        // As a tape reads: to the centimetre.
        (self.0.random_range(low..high) * 100.0).round() / 100.0
    }

    fn below(&mut self, n: usize) -> usize {
        self.0.random_range(0..n)
    }
}

/// One site, its truth and what was written of it.
fn document(seed: u64) -> Value {
    let dice = &mut Dice(stream(0x51_7E, seed));
    let zones = 1 + dice.below(5);
    let columns = 2 + dice.below(3); // the house stands east of them
    let labelled = [1.0, 1.0, 0.8, 0.3, 0.0][dice.below(5)];
    let mut heads = Vec::new();
    let mut zone_of = Vec::new();
    for row in 0..3 {
        for column in 0..columns {
            let (x, y) = (
                2.0 + 4.5 * column as f64 + dice.within(-0.3, 0.3),
                1.5 + 4.0 * row as f64 + dice.within(-0.3, 0.3),
            );
            let zone = (row * columns + column) * zones / (3 * columns);
            let id = format!("h{}", heads.len() + 1);
            let mut head = json!({"id": id, "x": x, "y": y});
            if dice.chance(labelled) {
                let noted = if dice.chance(0.03) { dice.below(zones) } else { zone };
                head["zone"] = json!(format!("{}", noted + 1));
            }
            if dice.chance(0.5) {
                head["kind"] = json!(["spray", "rotor", "bubbler", "drip"][dice.below(4)]);
            }
            if dice.chance(0.3) {
                head["radius"] = json!(dice.within(3.0, 6.0));
            }
            if dice.chance(0.05) {
                let mut again = head.clone();
                again["id"] = json!(format!("again{}", heads.len() + 1));
                if dice.chance(0.5) {
                    again.as_object_mut().expect("a table").remove("zone");
                }
                heads.push(again);
                zone_of.push(zone);
            }
            heads.push(head);
            zone_of.push(zone);
        }
    }
    // A head along the foundation, measured a little behind it.
    if dice.chance(0.3) {
        heads.push(json!({"id": "wall", "x": dice.within(19.0, 24.0), "y": HOUSE[1] + dice.within(-0.05, 0.12), "zone": "1"}));
        zone_of.push(0);
    }
    let mut document = json!({
        "format": "underturf-site/2", "units": "m", "heads": heads,
        "boundary": [[0, 0], [28, 0], [28, 15], [0, 15]],
        "digs": [{"x": dice.within(1.0, 16.0), "y": dice.within(1.0, 14.0), "radius": 0.3, "depth": 0.5}],
    });
    let [west, south, east, north] = HOUSE;
    let mut outline =
        vec![json!([west, south]), json!([east, south]), json!([east, north]), json!([west, north])];
    if dice.chance(0.3) {
        outline.push(json!([west, south]));
    }
    if dice.chance(0.2) {
        outline.insert(2, json!([east, south]));
    }
    document["obstacles"] = json!([{"kind": "building", "outline": outline}]);
    write_valves(&mut document, zones, dice);
    write_findings(&mut document, &zone_of, zones, dice);
    write_ground(&mut document, dice);
    document
}

/// Boxes as somebody opened them, or did not: zones listed or counted, one too few or too many now and then.
fn write_valves(document: &mut Value, zones: usize, dice: &mut Dice) {
    let mut boxes = Vec::new();
    let count = dice.below(3);
    for number in 0..count {
        let mine: Vec<String> =
            (0..zones).filter(|zone| zone % count == number).map(|zone| (zone + 1).to_string()).collect();
        let mut held =
            json!({"id": format!("box{number}"), "x": dice.within(1.0, 17.0), "y": dice.within(13.5, 14.5)});
        match dice.below(4) {
            0 => held["zones"] = json!(mine),
            1 => held["valves"] = json!((mine.len() + dice.below(3)).saturating_sub(1)),
            2 => {
                let drip = dice.chance(0.5).then(|| format!("drip {number}"));
                let listed: Vec<String> =
                    mine.iter().filter(|_| dice.chance(0.8)).cloned().chain(drip).collect();
                held["zones"] = json!(listed);
                held["valves"] = json!(listed.len() + dice.below(2));
                held["spare"] = json!(dice.below(2));
            }
            _ => {}
        }
        boxes.push(held);
    }
    document["valve_boxes"] = json!(boxes);
    if dice.chance(0.7) {
        document["sources"] = json!([{"id": "meter", "x": 27, "y": dice.within(0.5, 8.0), "kind": "meter"}]);
    }
    if dice.chance(0.5) {
        let at = HOUSE[1] + dice.within(-0.1, 0.14);
        document["outlets"] =
            json!([{"id": "bib", "x": dice.within(19.0, 24.0), "y": at, "kind": "hose_bib"}]);
    }
}

/// Station tests, probes, flags and swept ground.
fn write_findings(document: &mut Value, zone_of: &[usize], zones: usize, dice: &mut Dice) {
    let ids: Vec<Value> =
        document["heads"].as_array().expect("heads").iter().map(|head| head["id"].clone()).collect();
    let known = |document: &Value, zone: &str| {
        let named = |it: &Value, key: &str| it[key].as_str() == Some(zone);
        let listed = |it: &Value| {
            it["zones"].as_array().is_some_and(|all| all.iter().any(|z| z.as_str() == Some(zone)))
        };
        document["heads"].as_array().is_some_and(|all| all.iter().any(|head| named(head, "zone")))
            || document["valve_boxes"].as_array().is_some_and(|all| all.iter().any(listed))
    };
    let mut tests = Vec::new();
    for zone in 0..zones {
        if !dice.chance(0.3) {
            continue;
        }
        let up: Vec<Value> = ids
            .iter()
            .zip(zone_of)
            .filter(|(_, of)| (**of == zone) != dice.chance(0.02))
            .map(|(id, _)| id.clone())
            .collect();
        let name = (zone + 1).to_string();
        if known(document, &name) {
            tests.push(json!({"zone": name, "heads": up}));
        } else if let Some(held) = document["valve_boxes"].as_array().and_then(|all| all.first()) {
            tests.push(json!({"valve": held["id"], "heads": up}));
        }
    }
    document["station_tests"] = json!(tests);
    let probe = |dice: &mut Dice| {
        let found = dice.chance(0.3);
        let mut probe = json!({"x": dice.within(1.0, 17.0), "y": dice.within(0.5, 13.0), "radius": 0.2, "depth": 0.5, "found": found});
        if found && dice.chance(0.5) {
            probe["cover"] = json!(dice.within(0.1, 0.4));
        }
        probe
    };
    let probes: Vec<Value> = (0..dice.below(4)).map(|_| probe(dice)).collect();
    document["probes"] = json!(probes);
    if dice.chance(0.4) {
        document["flags"] = json!([{"x": dice.within(1.0, 17.0), "y": 5, "line": "iron"}, {"x": 12, "y": dice.within(1.0, 13.0)}]);
    }
    if dice.chance(0.3) {
        document["swept"] = json!([{"outline": [[1, 1], [10, 1], [10, 10], [1, 10]]}]);
    }
}

/// Trees, marks, services, sketches.
fn write_ground(document: &mut Value, dice: &mut Dice) {
    if dice.chance(0.5) {
        document["trees"] = json!([{"x": dice.within(1.0, 17.0), "y": dice.within(1.0, 14.0), "stem_diameter": dice.within(0.1, 0.6)}]);
    }
    if dice.chance(0.4) {
        let x = dice.within(10.0, 27.0);
        document["marks"] = json!([{"class": "gas", "path": [[x, 0], [x, 4], [x, 4], [x, 9]]}]);
    }
    if dice.chance(0.3) {
        document["services"] = json!([{"class": "potable", "from": [27, 1], "to": [22, 9]}]);
    }
    if dice.chance(0.3) {
        let y = dice.within(1.0, 12.0);
        document["sketches"] = json!([{"path": [[2, y], [16, y]], "trust": dice.within(0.2, 0.9)}]);
    }
}

fn site(seed: u64) -> Site {
    let document = document(seed);
    io::from_value(document.clone()).unwrap_or_else(|error| panic!("site {seed}: {error}\n{document:#}"))
}

/// n = 1,000 sites are read; of those that were refused before there are many, so that the test looks at something.
#[test]
fn none_of_a_thousand_random_sites_is_refused() {
    let (mut headless, mut short, mut out_of_sight, mut mended) = (0, 0, 0, 0);
    for seed in 0..1000 {
        let site = site(seed);
        let has = |name: &str| usize::from(site.notes().iter().any(|note| note.what.name() == name));
        headless += has("headless_zones");
        short += has("valves_short");
        out_of_sight += has("valves_out_of_sight").max(has("no_working_valve"));
        mended += has("at_wall").max(has("merged")).max(has("cleaned"));
    }
    assert!(
        headless > 50 && short > 20 && out_of_sight > 20 && mended > 200,
        "{headless} {short} {out_of_sight} {mended}"
    );
}

/// Sites with valves that nobody saw, or too few, are answered. How long each took is printed, not judged.
fn answered(seeds: impl Iterator<Item = u64>) -> usize {
    let mut count = 0;
    for seed in seeds {
        let site = Arc::new(site(seed));
        let budget = RunBudget { longest: 1, accept_unconverged: true, ..RunBudget::default() };
        let options = SampleOptions { draws: 20, seed };
        let start = Instant::now();
        let layouts = sample_layouts_within(&site, &options, Limits::default(), &budget, &Unwatched);
        println!("site {seed}: {:.1} s", start.elapsed().as_secs_f64());
        let layouts = layouts.unwrap_or_else(|error| panic!("site {seed}: {error}\n{:#}", document(seed)));
        assert!(layouts.draws().len() >= 20);
        count += 1;
    }
    count
}

#[test]
fn random_sites_with_known_zones_are_answered() {
    let settled = |seed: &u64| {
        let site = site(*seed);
        let odd = |name: &str| ["headless_zones", "valves_short", "valves_out_of_sight"].contains(&name);
        let few = site.probes.len() < 2 && site.heads.iter().all(|head| head.zone.is_some());
        few && site.notes().iter().any(|note| odd(note.what.name()))
    };
    assert_eq!(answered((0..1000).filter(settled).take(12)), 12);
}

/// All 128 of the count in the opening, or those from `UNDERTURF_FIRST` on: two minutes on two cores, half a minute the
/// slowest.
#[test]
#[ignore = "minutes: every kind of site, zones unknown too"]
fn none_of_128_random_sites_goes_without_an_answer() {
    let first = std::env::var("UNDERTURF_FIRST").ok().and_then(|value| value.parse().ok()).unwrap_or(0);
    assert_eq!(answered(first..128), 128 - first as usize);
}
