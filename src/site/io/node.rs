//! A value as a file or a caller wrote it, before anything is known about what it should be.
//!
//! Unlike a JSON value it holds numbers that are no numbers, keys that are given twice and values of foreign kinds, so that
//! all can be reported with their place instead of being lost on the way. However deep a source is nested, a value is not: what
//! lies deeper than [`Node::MOST_DEEP`] is left out and reported, so that no walk over a value can exhaust the stack.

use serde::de::{Deserialize, DeserializeSeed, Deserializer, IgnoredAny, MapAccess, SeqAccess, Visitor};
use std::fmt;

/// A value of any shape.
#[derive(Clone, Debug, PartialEq)]
pub enum Node {
    /// Nothing: counts as an absent key.
    Nothing,
    /// True or false.
    Flag(bool),
    /// A whole number.
    Whole(i64),
    /// Any other number, infinite ones and NaN included.
    Number(f64),
    /// A text; dates and times of TOML are kept as texts.
    Text(String),
    /// A list.
    List(Vec<Node>),
    /// Keys and values in the order given, a repeated key included.
    Table(Vec<(String, Node)>),
    /// A value of a kind that no document holds, in words.
    Foreign(String),
    /// A list or table deeper than [`Node::MOST_DEEP`]: what it holds was left out.
    TooDeep,
}

/// Longest text, and most keys, that a message repeats.
const MOST_TEXT: usize = 60;
const MOST_KEYS: usize = 8;

impl Node {
    /// Lists and tables within one another that are read; the format needs five.
    pub const MOST_DEEP: usize = 32;

    /// The value in a few words, for messages.
    pub(super) fn in_words(&self) -> String {
        match self {
            Self::Nothing => "nothing".to_owned(),
            Self::Flag(value) => value.to_string(),
            Self::Whole(value) => value.to_string(),
            Self::Number(value) => value.to_string(),
            Self::Text(value) => format!("the text {:?}", shortened(value)),
            Self::List(items) => format!("a list of {}", items.len()),
            Self::Table(entries) => {
                let keys = entries.iter().take(MOST_KEYS).map(|(key, _)| shortened(key));
                let more = if entries.len() > MOST_KEYS { ", ..." } else { "" };
                format!("a table of ({}{more})", keys.collect::<Vec<_>>().join(", "))
            }
            Self::Foreign(words) => shortened(words),
            Self::TooDeep => "deeply nested lists or tables".to_owned(),
        }
    }

    /// Place of the first value that is nested too deeply, cut where it gets long.
    pub(super) fn too_deep(&self) -> Option<String> {
        match self {
            Self::TooDeep => Some(String::new()),
            Self::List(items) => {
                items.iter().enumerate().find_map(|(k, item)| Some(format!("[{k}]{}", item.too_deep()?)))
            }
            Self::Table(entries) => entries
                .iter()
                .find_map(|(key, item)| Some(format!(".{}{}", shortened(key), item.too_deep()?))),
            _ => None,
        }
    }
}

/// The beginning of a text.
pub(super) fn shortened(text: &str) -> String {
    match text.char_indices().nth(MOST_TEXT) {
        Some((end, _)) => format!("{}...", &text[..end]),
        None => text.to_owned(),
    }
}

/// A TOML value that lies so many lists and tables deep.
fn from_toml(value: toml::Value, depth: usize) -> Node {
    match value {
        toml::Value::String(value) => Node::Text(value),
        toml::Value::Integer(value) => Node::Whole(value),
        toml::Value::Float(value) => Node::Number(value),
        toml::Value::Boolean(value) => Node::Flag(value),
        toml::Value::Datetime(value) => Node::Text(value.to_string()),
        toml::Value::Array(_) | toml::Value::Table(_) if depth >= Node::MOST_DEEP => Node::TooDeep,
        toml::Value::Array(items) => {
            Node::List(items.into_iter().map(|item| from_toml(item, depth + 1)).collect())
        }
        toml::Value::Table(table) => {
            Node::Table(table.into_iter().map(|(key, value)| (key, from_toml(value, depth + 1))).collect())
        }
    }
}

impl From<toml::Table> for Node {
    fn from(table: toml::Table) -> Self {
        from_toml(toml::Value::Table(table), 0)
    }
}

impl<'de> Deserialize<'de> for Node {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        Below { depth: 0 }.deserialize(from)
    }
}

/// Reads a value that lies so many lists and tables deep.
#[derive(Clone, Copy)]
struct Below {
    depth: usize,
}

impl<'de> DeserializeSeed<'de> for Below {
    type Value = Node;

    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<Node, D::Error> {
        from.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Below {
    type Value = Node;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a value made of numbers, texts, lists and tables")
    }

    fn visit_unit<E>(self) -> Result<Node, E> {
        Ok(Node::Nothing)
    }

    fn visit_none<E>(self) -> Result<Node, E> {
        Ok(Node::Nothing)
    }

    fn visit_some<D: Deserializer<'de>>(self, from: D) -> Result<Node, D::Error> {
        self.deserialize(from)
    }

    fn visit_newtype_struct<D: Deserializer<'de>>(self, from: D) -> Result<Node, D::Error> {
        self.deserialize(from)
    }

    fn visit_bool<E>(self, value: bool) -> Result<Node, E> {
        Ok(Node::Flag(value))
    }

    fn visit_i64<E>(self, value: i64) -> Result<Node, E> {
        Ok(Node::Whole(value))
    }

    fn visit_u64<E>(self, value: u64) -> Result<Node, E> {
        // Beyond i64 no key of the format has a meaning left; the value still shows in the message.
        Ok(i64::try_from(value).map_or(Node::Number(value as f64), Node::Whole))
    }

    fn visit_f64<E>(self, value: f64) -> Result<Node, E> {
        Ok(Node::Number(value))
    }

    fn visit_str<E>(self, value: &str) -> Result<Node, E> {
        Ok(Node::Text(value.to_owned()))
    }

    fn visit_string<E>(self, value: String) -> Result<Node, E> {
        Ok(Node::Text(value))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Node, A::Error> {
        if self.depth >= Node::MOST_DEEP {
            while items.next_element::<IgnoredAny>()?.is_some() {}
            return Ok(Node::TooDeep);
        }
        let mut list = Vec::new();
        while let Some(item) = items.next_element_seed(Below { depth: self.depth + 1 })? {
            list.push(item);
        }
        Ok(Node::List(list))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut entries: A) -> Result<Node, A::Error> {
        if self.depth >= Node::MOST_DEEP {
            while entries.next_entry::<IgnoredAny, IgnoredAny>()?.is_some() {}
            return Ok(Node::TooDeep);
        }
        let mut table = Vec::new();
        while let Some(key) = entries.next_key()? {
            table.push((key, entries.next_value_seed(Below { depth: self.depth + 1 })?));
        }
        Ok(Node::Table(table))
    }
}
