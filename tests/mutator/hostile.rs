//! Changes that the format allows and that ask the most of an engine: evidence that hardly fits the picture, sizes and
//! settings at their limits, heads where no crew sets them.

use super::sites::{place, probe};
use super::{happens, one};
use rand::RngExt;
use serde_json::{Value, json};
use underturf::rng::Stream;
use underturf::settings::{Field, Settings};

/// The document with one to five changes.
pub fn changed(mut document: Value, rng: &mut Stream) -> Value {
    for _ in 0..rng.random_range(1..=5) {
        match rng.random_range(0..15) {
            0 | 1 => slit_across(&mut document, rng),
            2 => many_finds(&mut document, rng),
            3 => ring(&mut document, rng),
            4 => probes_again(&mut document, rng),
            5 => probe_limits(&mut document, rng),
            6 | 7 => settings(&mut document, rng),
            8 => heads(&mut document, rng),
            9 => labels(&mut document, rng),
            10 => tests(&mut document, rng),
            11 => digs(&mut document, rng),
            12 => drop_list(&mut document, rng),
            13 => metal(&mut document, rng),
            _ => drawn(&mut document, rng),
        }
    }
    document
}

fn scale(document: &Value) -> f64 {
    if document["units"] == "ft" { 3.28 } else { 1.0 }
}

fn at(item: &Value) -> [f64; 2] {
    [item["x"].as_f64().unwrap_or(0.0), item["y"].as_f64().unwrap_or(0.0)]
}

/// Places of the heads, the boxes among them.
fn places(document: &Value) -> Vec<[f64; 2]> {
    let of = |key: &str| document[key].as_array().into_iter().flatten().map(at).collect::<Vec<_>>();
    let mut places = of("heads");
    places.extend(of("valve_boxes"));
    if places.is_empty() { vec![[0.0, 0.0]] } else { places }
}

fn list<'d>(document: &'d mut Value, key: &str) -> &'d mut Vec<Value> {
    if !document[key].is_array() {
        document[key] = json!([]);
    }
    document[key].as_array_mut().expect("a list")
}

/// A slit between two heads, lengthwise or across, clear or not: pipe must often pass there.
fn slit_across(document: &mut Value, rng: &mut Stream) {
    let (scale, places) = (scale(document), places(document));
    for _ in 0..rng.random_range(1..=4) {
        let (a, b) = (*one(&places, rng), *one(&places, rng));
        let middle = [0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])];
        let (dx, dy) = (0.5 * (b[0] - a[0]), 0.5 * (b[1] - a[1]));
        let share = rng.random_range(0.3..3.0);
        let path = if happens(0.6, rng) {
            [
                [middle[0] - share * dy, middle[1] + share * dx],
                [middle[0] + share * dy, middle[1] - share * dx],
            ]
        } else {
            [a, b]
        };
        let depth = rng.random_range(0.2..1.0) * scale;
        list(document, "probes").push(json!({
            "path": path, "width": 0.2 * scale, "depth": depth, "found": happens(0.25, rng), "tool": "slit",
        }));
    }
}

/// Finds at heads and between them, up to the most there may be.
fn many_finds(document: &mut Value, rng: &mut Stream) {
    let (scale, places) = (scale(document), places(document));
    let known = document["probes"].as_array().into_iter().flatten().filter(|p| p["found"] == true).count();
    for _ in known..rng.random_range(2..=10) {
        let (a, b) = (*one(&places, rng), *one(&places, rng));
        let share = if happens(0.3, rng) { 0.0 } else { rng.random_range(0.0..1.0) };
        let middle = [a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])];
        let mut find = probe(middle, scale, rng);
        find["found"] = json!(true);
        list(document, "probes").push(find);
    }
}

/// Clear slits all round a head or box: no pipe is left to reach it.
fn ring(document: &mut Value, rng: &mut Stream) {
    let (scale, places) = (scale(document), places(document));
    let [x, y] = *one(&places, rng);
    let r = rng.random_range(0.4..2.0) * scale;
    let path = [[x - r, y - r], [x + r, y - r], [x + r, y + r], [x - r, y + r], [x - r, y - 0.9 * r]];
    let mut probe = json!({"path": path, "width": 0.3 * scale, "depth": 0.9 * scale, "found": false});
    if happens(0.4, rng) {
        probe["p_detect"] = json!(1.0);
    }
    list(document, "probes").push(probe);
}

/// Probes doubled, moved onto heads, and with the other result.
fn probes_again(document: &mut Value, rng: &mut Stream) {
    let places = places(document);
    let probes = list(document, "probes");
    if probes.is_empty() {
        return;
    }
    let mut again = one(probes, rng).clone();
    match rng.random_range(0..3) {
        0 => again["found"] = json!(again["found"] != true),
        1 if again.get("x").is_some() => {
            let [x, y] = *one(&places, rng);
            (again["x"], again["y"]) = (json!(x), json!(y));
        }
        _ => {}
    }
    if again["found"] != true {
        for key in ["class", "azimuth_deg", "cover"] {
            again.as_object_mut().expect("a table").remove(key);
        }
    }
    probes.push(again);
}

/// A probe of the greatest or the least size, surest or blindest tool.
fn probe_limits(document: &mut Value, rng: &mut Stream) {
    let (scale, places) = (scale(document), places(document));
    let [x, y] = *one(&places, rng);
    let radius = *one(&[1e-6, 0.05, 1.0, 1.5, 10.0, 1e6], rng) * scale;
    let depth = *one(&[0.001, 0.05, 0.6, 1.9, 2.0, 5.9], rng) * scale;
    let found = happens(0.4, rng);
    let mut probe = json!({"x": x, "y": y, "radius": radius, "depth": depth, "found": found});
    if happens(0.6, rng) {
        probe["p_detect"] = json!(*one(&[0.0, 1e-9, 0.5, 1.0], rng));
    }
    if happens(0.6, rng) {
        probe["p_false"] = json!(*one(&[0.0, 1e-300, 0.5, 1.0], rng));
    }
    if found && happens(0.5, rng) {
        probe["cover"] = json!(depth * *one(&[0.0, 0.5, 1.0], rng));
    }
    list(document, "probes").push(probe);
}

/// Settings at their least and greatest, several at once.
fn settings(document: &mut Value, rng: &mut Stream) {
    if !document["settings"].is_object() {
        document["settings"] = json!({});
    }
    for _ in 0..rng.random_range(1..=4) {
        let field = one(Settings::FIELDS, rng);
        set(document, field, rng);
    }
}

/// Whether a setting acts on metal lines, marks, and what shares a trench or a wall with them. Among all settings these are
/// rarely met on a site that has such things.
pub fn of_metal(field: &Field) -> bool {
    let shares = ["house_fed_share", "wire_with_metal_share", "main_with_wire_share"];
    field.name.starts_with("metal_") || field.name.starts_with("mark_") || shares.contains(&field.name)
}

/// A row of flags, a mark and an outlet with its feed, and settings that act on them.
fn metal(document: &mut Value, rng: &mut Stream) {
    let (scale, [x, y]) = (scale(document), *one(&places(document), rng));
    let class = *one(&["control_wire", "mainline", "potable", "reclaimed", "gas"], rng);
    let good = *one(&["sd", "accuracy_95"], rng);
    for k in 0..rng.random_range(1..=5) {
        let mut flag = json!({"x": x + 1.2 * f64::from(k) * scale, "y": y + 0.3 * scale});
        flag[good] = json!(*one(&[0.0, 0.1, 3.0], rng) * scale);
        if happens(0.5, rng) {
            flag["class"] = json!(class);
        }
        list(document, "flags").push(flag);
    }
    if happens(0.5, rng) {
        let mut mark = json!({"class": class, "path": [[x, y], [x + 4.0 * scale, y]], "date": "2026-01-02"});
        mark[good] = json!(0.3 * scale);
        list(document, "marks").push(mark);
        document["date"] = json!("2026-06-15");
    }
    if happens(0.5, rng) {
        let place = x - 5.0 * scale;
        let id = format!("bib{}", list(document, "outlets").len());
        let mut outlet = json!({"id": id, "x": place, "y": y, "kind": "hose_bib"});
        if happens(0.5, rng) {
            outlet["fed"] = json!(*one(&["house", "ground"], rng));
        }
        list(document, "outlets").push(outlet);
    }
    let fields: Vec<&Field> = Settings::FIELDS.iter().filter(|field| of_metal(field)).collect();
    if !document["settings"].is_object() {
        document["settings"] = json!({});
    }
    for _ in 0..rng.random_range(1..=3) {
        let field = *one(&fields, rng);
        set(document, field, rng);
    }
}

/// A setting at its least, its greatest, or between.
fn set(document: &mut Value, field: &Field, rng: &mut Stream) {
    let value = match rng.random_range(0..3) {
        0 => field.least,
        1 => field.greatest,
        _ => field.least + (field.greatest - field.least) * rng.random::<f64>(),
    };
    document["settings"][field.name] = json!(value);
}

/// Heads nearly on each other, on one line, far apart, or of a poor survey.
fn heads(document: &mut Value, rng: &mut Stream) {
    let scale = scale(document);
    let kind = rng.random_range(0..5);
    let heads = list(document, "heads");
    if heads.is_empty() {
        return;
    }
    let [x, y] = at(one(heads, rng));
    let count = heads.len();
    let some = rng.random_range(1..=count);
    for head in heads.iter_mut().take(some) {
        match kind {
            0 => {
                head["x"] = json!(x + rng.random_range(-0.02..0.02) * scale);
                head["y"] = json!(y + rng.random_range(-0.02..0.02) * scale);
            }
            1 => head["y"] = json!(y),
            2 => head["x"] = json!(at(head)[0] * *one(&[0.01, 10.0, 100.0], rng)),
            3 => {
                head.as_object_mut().expect("a table").remove("accuracy_95");
                head["sd"] = json!(*one(&[0.0, 0.5, 5.0, 100.0], rng) * scale);
            }
            _ => head["flow"] = json!(*one(&[1e-6, 0.1, 1e3], rng)),
        }
    }
}

/// Labels changed, taken away, or all of their own.
fn labels(document: &mut Value, rng: &mut Stream) {
    let kind = rng.random_range(0..3);
    for (k, head) in list(document, "heads").iter_mut().enumerate() {
        match kind {
            0 => {
                head.as_object_mut().expect("a table").remove("zone");
            }
            1 if happens(0.3, rng) => head["zone"] = json!(*one(&["1", "2", "3"], rng)),
            2 if happens(0.5, rng) => head["zone"] = json!(format!("z{k}")),
            _ => {}
        }
    }
}

/// Station tests that raise heads at random, sure or of no worth.
fn tests(document: &mut Value, rng: &mut Stream) {
    let ids: Vec<Value> =
        document["heads"].as_array().into_iter().flatten().map(|h| h["id"].clone()).collect();
    let zones: Vec<Value> =
        document["heads"].as_array().into_iter().flatten().filter_map(|h| h.get("zone").cloned()).collect();
    for _ in 0..rng.random_range(1..=3) {
        let up: Vec<Value> = ids.iter().filter(|_| happens(0.4, rng)).cloned().collect();
        let mut test = json!({"heads": up});
        if zones.is_empty() || happens(0.2, rng) {
            test["valve"] = document["valve_boxes"][0]["id"].clone();
        } else {
            test["zone"] = one(&zones, rng).clone();
        }
        if happens(0.6, rng) {
            test["error"] = json!(*one(&[0.0, 1e-9, 0.5, 1.0], rng));
        }
        list(document, "station_tests").push(test);
    }
}

/// Digs on heads and probes, as deep and wide, or as small, as they may be.
fn digs(document: &mut Value, rng: &mut Stream) {
    let (scale, places) = (scale(document), places(document));
    for _ in 0..rng.random_range(1..=4) {
        let [x, y] = if happens(0.7, rng) { *one(&places, rng) } else { place(20.0 * scale, rng) };
        let radius = *one(&[1e-4, 0.05, 0.5, 3.0, 20.0], rng) * scale;
        let depth = *one(&[1e-4, 0.05, 0.4, 1.5, 5.9], rng) * scale;
        list(document, "digs").push(json!({"x": x, "y": y, "radius": radius, "depth": depth}));
    }
}

fn drop_list(document: &mut Value, rng: &mut Stream) {
    let key = *one(&["valve_boxes", "sources", "outlets", "boundary", "digs", "obstacles", "probes"], rng);
    document.as_object_mut().expect("a table").remove(key);
}

/// Drawings and sweeps that are sure of themselves.
fn drawn(document: &mut Value, rng: &mut Stream) {
    let places = places(document);
    let (a, b, c) = (*one(&places, rng), *one(&places, rng), *one(&places, rng));
    if happens(0.6, rng) {
        list(document, "sketches").push(json!({"path": [a, b, c], "trust": *one(&[0.0, 0.9, 1.0], rng)}));
    } else {
        let r = *one(&[0.5, 3.0, 30.0], rng);
        let outline =
            [[a[0] - r, a[1] - r], [a[0] + r, a[1] - r], [a[0] + r, a[1] + r], [a[0] - r, a[1] + r]];
        list(document, "swept").push(json!({"outline": outline, "p_detect": *one(&[0.0, 0.5, 1.0], rng)}));
    }
}
