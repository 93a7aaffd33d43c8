//! A probe that is added to a site: checked by itself, with the outcome that checking the whole document would have.

use crate::mutator::sites;
use rand::RngExt;
use serde::Deserialize;
use serde_json::{Value, json};
use underturf::rng::{self, Stream};
use underturf::site::Site;
use underturf::site::io::{Node, from_value, to_value, with_probe};

/// A probe, two in three with a mistake or an oddity.
fn probe(rng: &mut Stream) -> Value {
    let at = sites::place(12.0, rng);
    let mut probe = sites::probe(at, 1.0, rng);
    match rng.random_range(0..18) {
        0 => probe["depth"] = json!(-0.2),
        1 => probe["depth"] = json!("18 in"),
        2 => probe["depth"] = json!("deep"),
        3 => probe["radius"] = json!(900.0),
        4 => probe["radius"] = json!(1.7),
        5 => probe["cover"] = json!(5.0),
        6 => (probe["found"], probe["class"]) = (json!(true), json!("gas")),
        7 => (probe["found"], probe["cover"], probe["depth"]) = (json!(true), json!(1.1), json!(1.2)),
        8 => probe["x"] = json!(50_000.0),
        9 => probe["x"] = json!(2_500.0),
        10 => (probe["p_detect"], probe["p_false"]) = (json!(0.0), json!(0.0)),
        11 => probe["depht"] = json!(0.3),
        12 | 13 => {
            let probe = probe.as_object_mut().expect("a table");
            ["x", "y", "radius"].iter().for_each(|key| drop(probe.remove(*key)));
            let end = if rng.random_range(0..2) == 0 { [at[0] + 1.0, at[1]] } else { at };
            probe.insert("path".to_owned(), json!([at, at, end]));
            probe.insert("width".to_owned(), json!(0.2));
        }
        _ => {}
    }
    probe
}

fn told(site: &Site) -> Vec<String> {
    let mut said = site.warnings();
    said.sort();
    said
}

/// 600 random sites and probes. A check that is left out, or a note, would show; so would a place counted wrongly.
#[test]
fn an_added_probe_is_told_and_kept_as_with_the_whole_document() {
    let (mut kept, mut refused, mut noted) = (0, 0, 0);
    for seed in 0..600 {
        let rng = &mut rng::stream(seed, 0);
        let document = sites::any(rng);
        let Ok(site) = from_value(document.clone()) else { continue };
        let probe = probe(rng);
        let mut whole = to_value(&site.document).expect("writes");
        let mut all = whole["probes"].as_array().cloned().unwrap_or_default();
        all.push(probe.clone());
        whole["probes"] = all.into();
        let added = with_probe(&site, &Node::deserialize(probe).expect("a value"));
        match (added, from_value(whole)) {
            (Ok(added), Ok(whole)) => {
                assert_eq!(added.document, whole.document, "seed {seed}");
                assert_eq!((&added.probes, &added.marks), (&whole.probes, &whole.marks), "seed {seed}");
                assert_eq!(told(&added), told(&whole), "seed {seed}");
                kept += 1;
                noted += usize::from(added.notes().len() > site.notes().len());
            }
            (Err(added), Err(whole)) => {
                let (mut added, mut whole) = (added.faults, whole.faults);
                added.sort_by_key(ToString::to_string);
                whole.sort_by_key(ToString::to_string);
                assert_eq!(added, whole, "seed {seed}");
                refused += 1;
            }
            (added, whole) => panic!("seed {seed}: {added:?} and {whole:?}"),
        }
    }
    assert!(kept > 200 && refused > 100 && noted > 30, "{kept} kept, {refused} refused, {noted} noted");
}
