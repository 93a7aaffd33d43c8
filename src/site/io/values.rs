//! What single values say: which of them say nothing, and what to tell who wrote a number as a text.

use super::node::{Node, shortened};
use crate::site::spelling::folded;
use crate::site::{FaultKind, Units};

/// Greatest whole number up to which every whole number is exact as f64.
const EXACT: f64 = 9.007_199_254_740_992e15;

/// Whether a value says no more than an absent key does: nothing, the NaN of an empty cell, or a text without letters.
pub(super) fn is_absent(node: &Node) -> bool {
    match node {
        Node::Nothing => true,
        Node::Number(value) => value.is_nan(),
        Node::Text(text) => folded(text).is_empty(),
        _ => false,
    }
}

/// A whole number. Tables of other tools carry counts and names as 2.0.
pub(super) fn whole(node: &Node) -> Option<i64> {
    match *node {
        Node::Whole(value) => Some(value),
        Node::Number(value) if value.fract() == 0.0 && value.abs() <= EXACT => Some(value as i64),
        _ => None,
    }
}

/// A text as it is kept; whole numbers are texts too, since ids and zones are often numbered.
pub(super) fn text(node: &Node) -> Option<String> {
    match node {
        Node::Text(value) => Some(folded(value)),
        _ => whole(node).map(|value| value.to_string()),
    }
}

/// A number.
pub(super) fn number(node: &Node) -> Option<f64> {
    match *node {
        Node::Number(value) => Some(value),
        Node::Whole(value) => Some(value as f64),
        _ => None,
    }
}

/// What to say where something else was expected.
pub(super) fn unexpected(node: &Node, expected: &'static str, plain: Option<String>) -> FaultKind {
    match node {
        Node::Nothing => FaultKind::MissingKey,
        Node::Number(value) if value.is_nan() => FaultKind::MissingKey,
        Node::Text(text) if folded(text).is_empty() => FaultKind::Empty,
        Node::Text(text) if plain.is_some() => {
            FaultKind::AsText { found: shortened(text), plain: plain.unwrap_or_default() }
        }
        other => FaultKind::WrongType { expected, found: other.in_words() },
    }
}

/// The number that a text spells, as it is written without quotes.
pub(super) fn spelled_number(node: &Node) -> Option<String> {
    let Node::Text(text) = node else { return None };
    let text = folded(text);
    let is_plain =
        text.bytes().all(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b'-' | b'+' | b'e' | b'E'));
    text.parse::<f64>().ok().filter(|value| is_plain && value.is_finite()).map(|value| value.to_string())
}

/// `true` or `false`, where a text says one of them.
pub(super) fn spelled_flag(node: &Node) -> Option<String> {
    let Node::Text(text) = node else { return None };
    match folded(text).to_lowercase().as_str() {
        "true" | "yes" | "y" => Some("true".to_owned()),
        "false" | "no" | "n" => Some("false".to_owned()),
        _ => None,
    }
}

/// The unit of a document that is not read yet: lengths with a unit of their own need it.
pub(super) fn units_of(node: &Node) -> Units {
    let Node::Table(entries) = node else { return Units::Metres };
    let given = entries.iter().find(|(key, _)| key == "units").and_then(|(_, value)| text(value));
    if given.as_deref() == Some(Units::Feet.name()) { Units::Feet } else { Units::Metres }
}
