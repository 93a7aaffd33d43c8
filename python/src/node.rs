//! Python values as the engine's reader takes them: no number, key or kind of value is lost on the way, and none is refused
//! here.
//!
//! None, NaN, NA and NaT say nothing; numbers of every kind, numpy's among them, are numbers; days are texts; rows of tables
//! are tables. What no document holds goes on as a foreign value, so that the reader names its place with all other faults.
//! However deep or circular a value is, no more than [`Node::MOST_DEEP`] of it is looked at.

use pyo3::prelude::*;
use pyo3::types::{PyBool, PyByteArray, PyBytes, PyFloat, PyInt, PyList, PyMapping, PyString, PyTuple};
use std::cell::Cell;
use underturf::site::io::Node;

/// Most characters of a value's own words that are kept.
const MOST_WORDS: usize = 60;

/// The value as a node.
///
/// # Errors
/// What the value's own code raises, such as an interrupt.
pub fn node_of(value: &Bound<'_, PyAny>) -> PyResult<Node> {
    Walk { too_deep: Cell::new(false) }.below(value, 0)
}

/// A walk over a value.
struct Walk {
    /// Whether some part was too deep: then the whole is refused, and nothing further is looked at. A value that holds itself
    /// twice would double the work at each step.
    too_deep: Cell<bool>,
}

impl Walk {
    fn below(&self, value: &Bound<'_, PyAny>, depth: usize) -> PyResult<Node> {
        if value.is_none() {
            return Ok(Node::Nothing);
        }
        if let Ok(flag) = value.cast::<PyBool>() {
            return Ok(Node::Flag(flag.is_true()));
        }
        if let Ok(text) = value.cast::<PyString>() {
            return Ok(Node::Text(text.to_string_lossy().into_owned()));
        }
        if value.is_instance_of::<PyInt>() {
            return Ok(match value.extract::<i64>() {
                Ok(whole) => Node::Whole(whole),
                // Beyond i64 no key has a meaning left; the value still shows in the message.
                Err(_) => value.extract::<f64>().map_or(Node::Number(f64::INFINITY), Node::Number),
            });
        }
        if let Ok(number) = value.cast::<PyFloat>() {
            return Ok(Node::Number(number.value()));
        }
        if value.is_instance_of::<PyBytes>() || value.is_instance_of::<PyByteArray>() {
            return Ok(foreign(value));
        }
        if let Ok(list) = value.cast::<PyList>() {
            return self.list(list.iter(), depth);
        }
        if let Ok(list) = value.cast::<PyTuple>() {
            return self.list(list.iter(), depth);
        }
        if let Ok(table) = value.cast::<PyMapping>() {
            let pairs = table.items()?; // a copy: what is asked of values may change the table
            return self.table(pairs.iter().map(|pair| Ok((pair.get_item(0)?, pair.get_item(1)?))), depth);
        }
        self.other(value, depth)
    }

    fn list<'py>(&self, items: impl Iterator<Item = Bound<'py, PyAny>>, depth: usize) -> PyResult<Node> {
        if self.stops(depth) {
            return Ok(Node::TooDeep);
        }
        items.map(|item| self.below(&item, depth + 1)).collect::<PyResult<_>>().map(Node::List)
    }

    fn table<'py>(
        &self,
        pairs: impl Iterator<Item = PyResult<(Bound<'py, PyAny>, Bound<'py, PyAny>)>>,
        depth: usize,
    ) -> PyResult<Node> {
        if self.stops(depth) {
            return Ok(Node::TooDeep);
        }
        // A key that is no text is written as Python writes it, and is unknown to every table.
        let entry = |pair: PyResult<(Bound<'py, PyAny>, Bound<'py, PyAny>)>| -> PyResult<(String, Node)> {
            let (key, value) = pair?;
            Ok((key.str()?.to_string_lossy().into_owned(), self.below(&value, depth + 1)?))
        };
        pairs.map(entry).collect::<PyResult<_>>().map(Node::Table)
    }

    /// Values of libraries: days, exact numbers, numpy's numbers and arrays, tables of pandas.
    fn other(&self, value: &Bound<'_, PyAny>, depth: usize) -> PyResult<Node> {
        let kind = value.get_type().name()?.to_string();
        match kind.as_str() {
            "NAType" | "NaTType" => return Ok(Node::Nothing),
            "Decimal" | "Fraction" => {
                return Ok(value.extract::<f64>().map_or_else(|_| foreign(value), Node::Number));
            }
            _ => {}
        }
        if value.hasattr("isoformat")? {
            // A day with a time that is midnight is what tables make of a day.
            let text = value.call_method0("isoformat")?.str()?.to_string_lossy().into_owned();
            return Ok(Node::Text(text.strip_suffix("T00:00:00").map_or(text.clone(), str::to_owned)));
        }
        if self.stops(depth) {
            return Ok(Node::TooDeep);
        }
        // One step down, so that an object that yields itself comes to an end.
        if kind == "DataFrame" {
            return self.below(&value.call_method1("to_dict", ("records",))?, depth + 1);
        }
        if value.hasattr("tolist")? {
            return self.below(&value.call_method0("tolist")?, depth + 1);
        }
        Ok(foreign(value))
    }

    /// Whether nothing further is looked at.
    fn stops(&self, depth: usize) -> bool {
        if depth >= Node::MOST_DEEP {
            self.too_deep.set(true);
        }
        self.too_deep.get()
    }
}

fn foreign(value: &Bound<'_, PyAny>) -> Node {
    let words =
        value.repr().map_or_else(|_| "a value".to_owned(), |words| words.to_string_lossy().into_owned());
    let kind = value.get_type().name().map_or_else(|_| "object".to_owned(), |kind| kind.to_string());
    let words: String = words.chars().take(MOST_WORDS).collect();
    Node::Foreign(format!("{words} of type {kind}"))
}
