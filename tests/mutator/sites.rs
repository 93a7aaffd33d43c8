//! Where cases begin: the shipped examples, and invented sites with any of the kinds of evidence.

use super::{happens, one};
use rand::RngExt;
use serde_json::{Value, json};
use underturf::rng::Stream;

/// The shipped examples.
pub const EXAMPLES: [&str; 3] = [
    include_str!("../../python/underturf/examples/green.toml"),
    include_str!("../../python/underturf/examples/terrace.toml"),
    include_str!("../../python/underturf/examples/unlabelled.toml"),
];

/// The text of an example.
pub fn example_text(rng: &mut Stream) -> String {
    (*one(&EXAMPLES, rng)).to_owned()
}

/// An example as values; a date becomes text.
pub fn example(rng: &mut Stream) -> Value {
    let table: toml::Table = one(&EXAMPLES, rng).parse().expect("examples are TOML");
    plain(toml::Value::Table(table))
}

fn plain(value: toml::Value) -> Value {
    match value {
        toml::Value::Datetime(date) => json!(date.to_string()),
        toml::Value::Array(items) => items.into_iter().map(plain).collect(),
        toml::Value::Table(table) => table.into_iter().map(|(key, value)| (key, plain(value))).collect(),
        toml::Value::String(text) => json!(text),
        toml::Value::Integer(number) => json!(number),
        toml::Value::Float(number) => json!(number),
        toml::Value::Boolean(truth) => json!(truth),
    }
}

/// An example or an invented site.
pub fn any(rng: &mut Stream) -> Value {
    if happens(0.3, rng) { example(rng) } else { invented(rng) }
}

fn round(x: f64) -> f64 {
    (x * 100.0).round() / 100.0
}

/// A place on a site of that width.
pub fn place(width: f64, rng: &mut Stream) -> [f64; 2] {
    [round(rng.random_range(0.0..width)), round(rng.random_range(0.0..width))]
}

/// A lawn with heads in rows, and around it whatever a site may have.
pub fn invented(rng: &mut Stream) -> Value {
    let feet = happens(0.2, rng);
    let scale = if feet { 3.28 } else { 1.0 };
    let (cols, rows) = (rng.random_range(1..7), rng.random_range(1..5));
    let gap = rng.random_range(2.5..5.0) * scale;
    let jitter = *one(&[0.02, 0.1, 0.4], rng) * scale;
    let zones = rng.random_range(1..4usize).min(cols * rows);
    let width = gap * (cols.max(rows) as f64);
    let labelled = *one(&[1.0, 1.0, 0.8, 0.0], rng);
    let mut heads = Vec::new();
    for k in 0..cols * rows {
        let (col, row) = (k % cols, k / cols);
        let at = |n: usize, rng: &mut Stream| round(gap * n as f64 + jitter * rng.random_range(-1.0..1.0));
        let mut head = json!({"id": format!("h{k}"), "x": at(col, rng), "y": at(row, rng)});
        if happens(labelled, rng) {
            head["zone"] = json!(format!("{}", 1 + col * zones / cols));
        }
        if happens(0.3, rng) {
            head["kind"] = json!(*one(&["spray", "rotor", "bubbler", "drip", "other"], rng));
        }
        if happens(0.15, rng) {
            head["accuracy_95"] = json!(round(rng.random_range(0.02..0.6) * scale));
        }
        heads.push(head);
    }
    let names: Vec<String> = (1..=zones).map(|zone| zone.to_string()).collect();
    let mut document = json!({
        "format": "underturf-site/2", "units": if feet { "ft" } else { "m" }, "heads": heads,
    });
    if happens(0.8, rng) {
        let mut held = json!({"id": "v", "x": round(-1.5 * scale), "y": round(rng.random_range(0.0..width))});
        if labelled > 0.0 || happens(0.5, rng) {
            held["zones"] = json!(names)
        } else {
            held["valves"] = json!(zones)
        }
        document["valve_boxes"] = json!([held]);
    }
    let put = |document: &mut Value,
               key: &str,
               chance: f64,
               most: usize,
               make: &mut dyn FnMut(usize, &mut Stream) -> Value,
               rng: &mut Stream| {
        if happens(chance, rng) {
            let items: Vec<Value> = (0..rng.random_range(1..=most)).map(|k| make(k, rng)).collect();
            document[key] = Value::Array(items);
        }
    };
    let at = |rng: &mut Stream| place(width, rng);
    put(
        &mut document,
        "sources",
        0.5,
        2,
        &mut |k, rng| {
            let [x, _] = at(rng);
            json!({"id": format!("m{k}"), "x": x, "y": -2.0 * scale, "kind": *one(&["meter", "backflow", "pump", "stub"], rng)})
        },
        rng,
    );
    put(
        &mut document,
        "outlets",
        0.3,
        2,
        &mut |k, rng| {
            let [_, y] = at(rng);
            let kind = *one(&["hose_bib", "yard_hydrant", "quick_coupler"], rng);
            let mut outlet = json!({"id": format!("o{k}"), "x": width + scale, "y": y, "kind": kind});
            if kind != "quick_coupler" && rng.random_bool(0.4) {
                outlet["fed"] = json!(*one(&["house", "ground"], rng));
            }
            outlet
        },
        rng,
    );
    put(
        &mut document,
        "trees",
        0.3,
        3,
        &mut |_, rng| {
            let [x, y] = at(rng);
            json!({"x": x, "y": y, "stem_diameter": round(rng.random_range(0.1..0.6) * scale)})
        },
        rng,
    );
    put(
        &mut document,
        "flags",
        0.2,
        4,
        &mut |_, rng| {
            let [x, y] = at(rng);
            let mut flag = json!({"x": x, "y": y, "line": "iron"});
            if happens(0.3, rng) {
                flag["accuracy_95"] = json!(round(rng.random_range(0.05..0.6) * scale));
            }
            flag
        },
        rng,
    );
    put(
        &mut document,
        "marks",
        0.2,
        2,
        &mut |k, rng| {
            let mut mark = json!({"class": *one(&["gas", "electric", "potable", "sewer"], rng), "path": [at(rng), at(rng)]});
            if k == 0 {
                mark["date"] = json!("2026-05-04");
            }
            if happens(0.3, rng) {
                mark["accuracy_95"] = json!(round(rng.random_range(0.1..1.0) * scale));
            }
            mark
        },
        rng,
    );
    if document.get("marks").is_some() {
        document["date"] = json!("2026-06-15");
    }
    put(
        &mut document,
        "services",
        0.15,
        1,
        &mut |_, rng| json!({"class": "gas", "from": at(rng), "to": at(rng)}),
        rng,
    );
    put(
        &mut document,
        "sketches",
        0.25,
        2,
        &mut |_, rng| json!({"path": [at(rng), at(rng), at(rng)], "trust": round(rng.random_range(0.0..1.0))}),
        rng,
    );
    put(
        &mut document,
        "swept",
        0.2,
        1,
        &mut |_, rng| {
            let [x, y] = at(rng);
            json!({"outline": square(x, y, gap), "p_detect": round(rng.random_range(0.0..1.0))})
        },
        rng,
    );
    let few: Vec<String> = (0..cols * rows).filter(|_| happens(0.4, rng)).map(|k| format!("h{k}")).collect();
    put(
        &mut document,
        "station_tests",
        0.25,
        2,
        &mut |_, rng| {
            if labelled > 0.0 || happens(0.5, rng) {
                json!({"zone": one(&names, rng), "heads": few})
            } else {
                json!({"valve": "v", "heads": few})
            }
        },
        rng,
    );
    put(
        &mut document,
        "obstacles",
        0.3,
        2,
        &mut |_, rng| {
            let (x, y) = (
                gap * (rng.random_range(0..cols) as f64 + 0.5),
                gap * (rng.random_range(0..rows) as f64 + 0.5),
            );
            json!({"kind": *one(&["building", "paving", "pool", "bed"], rng), "outline": square(round(x), round(y), 0.5 * gap)})
        },
        rng,
    );
    put(&mut document, "probes", 0.7, 4, &mut |_, rng| probe(at(rng), scale, rng), rng);
    put(&mut document, "digs", 0.9, 3, &mut |_, rng| dig(at(rng), scale, rng), rng);
    document
}

fn square(x: f64, y: f64, side: f64) -> Value {
    let half = round(0.5 * side);
    json!([[x - half, y - half], [x + half, y - half], [x + half, y + half], [x - half, y + half]])
}

/// A probe at a place.
pub fn probe([x, y]: [f64; 2], scale: f64, rng: &mut Stream) -> Value {
    let depth = round(rng.random_range(0.2..0.6) * scale);
    let found = happens(0.4, rng);
    let mut probe = json!({"x": x, "y": y, "radius": round(0.25 * scale), "depth": depth, "found": found});
    if found && happens(0.5, rng) {
        probe["class"] =
            json!(*one(&["lateral", "lateral", "mainline", "unknown", "control_wire", "gas"], rng));
    }
    if found && happens(0.4, rng) {
        probe["azimuth_deg"] = json!(round(rng.random_range(-180.0..180.0)));
    }
    if found && happens(0.4, rng) {
        probe["cover"] = json!(round(depth * rng.random_range(0.2..1.0)));
    }
    probe
}

fn dig([x, y]: [f64; 2], scale: f64, rng: &mut Stream) -> Value {
    let depth = round(rng.random_range(0.2..0.9) * scale);
    match rng.random_range(0..4) {
        0 => {
            json!({"path": [[x, y], [x + 2.0 * scale, y + 0.5 * scale]], "width": round(0.3 * scale), "depth": depth})
        }
        1 => json!({"outline": square(x, y, 1.5 * scale), "depth": depth, "method": "machine"}),
        2 => json!({"x": x, "y": y, "radius": round(0.4 * scale), "depth": depth, "tree": "large"}),
        _ => json!({"x": x, "y": y, "radius": round(rng.random_range(0.1..0.8) * scale), "depth": depth}),
    }
}
