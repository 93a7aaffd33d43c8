//! Wrong values in the right places: other types, other keys, missing and doubled entries, nesting.

use super::{happens, one};
use rand::RngExt;
use serde_json::{Map, Value, json};
use underturf::rng::Stream;

/// Names that stand for nothing, or for something else.
const WORDS: &[&str] =
    &["", " ", "nan", "NaN", "None", "null", "1", "2", "lateral", "gas", "x", "h01 ", "H01", "🌱", "$z$"];

/// The document with one to four changes.
pub fn changed(mut document: Value, rng: &mut Stream) -> Value {
    for _ in 0..rng.random_range(1..=4) {
        let paths = paths(&document);
        let at = one(&paths, rng).clone();
        change(&mut document, &at, rng);
    }
    document
}

/// The way to every value of a document.
fn paths(value: &Value) -> Vec<String> {
    fn walk(value: &Value, at: &str, found: &mut Vec<String>) {
        found.push(at.to_owned());
        match value {
            Value::Array(items) => {
                items.iter().enumerate().for_each(|(k, item)| walk(item, &format!("{at}/{k}"), found));
            }
            Value::Object(table) => {
                table.iter().for_each(|(key, item)| walk(item, &format!("{at}/{}", escaped(key)), found));
            }
            _ => {}
        }
    }
    let mut found = Vec::new();
    walk(value, "", &mut found);
    found
}

fn escaped(key: &str) -> String {
    key.replace('~', "~0").replace('/', "~1")
}

fn change(document: &mut Value, at: &str, rng: &mut Stream) {
    let other = {
        let paths = paths(document);
        document.pointer(one::<String>(&paths, rng).as_str()).cloned().unwrap_or(Value::Null)
    };
    let Some(value) = document.pointer_mut(at) else { return };
    match value {
        Value::Array(items) if happens(0.7, rng) => list(items, rng),
        Value::Object(table) if happens(0.7, rng) => keys(table, other, rng),
        value => *value = any(other, rng),
    }
}

fn list(items: &mut Vec<Value>, rng: &mut Stream) {
    match (items.len(), rng.random_range(0..4)) {
        (0, _) | (_, 0) => items.push(Value::Null),
        (n, 1) => {
            items.remove(rng.random_range(0..n));
        }
        (n, 2) => {
            let again = items[rng.random_range(0..n)].clone();
            items.insert(rng.random_range(0..=n), again);
        }
        (n, _) => items.swap(0, n - 1),
    }
}

fn keys(table: &mut Map<String, Value>, other: Value, rng: &mut Stream) {
    let names: Vec<String> = table.keys().cloned().collect();
    if names.is_empty() || happens(0.2, rng) {
        table.insert((*one(WORDS, rng)).to_owned(), other);
        return;
    }
    let name = one(&names, rng).clone();
    let value = table.remove(&name).unwrap_or(Value::Null);
    if happens(0.5, rng) {
        let typo = if happens(0.5, rng) { name.to_uppercase() } else { format!("{name}s") };
        table.insert(typo, value);
    }
}

/// Any value in place of the one that belongs there.
fn any(other: Value, rng: &mut Stream) -> Value {
    match rng.random_range(0..10) {
        0 => Value::Null,
        1 => json!(rng.random::<bool>()),
        2 => json!(*one(WORDS, rng)),
        3 => json!(*one(&[0.0, -0.0, -1.0, 1e308, 1e-300, 1e6, -1e6, 0.5, 2.0, 1e18], rng)),
        4 => json!(*one(&[i64::MIN, i64::MAX, 0, -1, 1_000_000], rng)),
        5 => json!([]),
        6 => json!({}),
        7 => nested(other, *one(&[1, 30, 400, 2_000], rng)),
        8 => json!(rng.random_range(-100.0..100.0)),
        _ => other,
    }
}

/// A value within so many lists.
fn nested(value: Value, depth: usize) -> Value {
    (0..depth).fold(value, |inner, _| Value::Array(vec![inner]))
}
