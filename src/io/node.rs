//! A value as a file or a caller wrote it, before anything is known about what it should be.
//!
//! Unlike a JSON value it holds numbers that are no numbers and keys that are given twice, so that both can be reported
//! with their place instead of being lost on the way.

use serde::de::{Deserialize, Deserializer, MapAccess, SeqAccess, Visitor};
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
}

impl Node {
    /// The value in a few words, for messages.
    pub(super) fn in_words(&self) -> String {
        match self {
            Self::Nothing => "nothing".to_owned(),
            Self::Flag(value) => value.to_string(),
            Self::Whole(value) => value.to_string(),
            Self::Number(value) => value.to_string(),
            Self::Text(value) => format!("the text {value:?}"),
            Self::List(items) => format!("a list of {}", items.len()),
            Self::Table(entries) => {
                let keys: Vec<&str> = entries.iter().map(|(key, _)| key.as_str()).collect();
                format!("a table of ({})", keys.join(", "))
            }
        }
    }
}

impl From<toml::Value> for Node {
    fn from(value: toml::Value) -> Self {
        match value {
            toml::Value::String(value) => Self::Text(value),
            toml::Value::Integer(value) => Self::Whole(value),
            toml::Value::Float(value) => Self::Number(value),
            toml::Value::Boolean(value) => Self::Flag(value),
            toml::Value::Datetime(value) => Self::Text(value.to_string()),
            toml::Value::Array(items) => Self::List(items.into_iter().map(Self::from).collect()),
            toml::Value::Table(table) => table.into(),
        }
    }
}

impl From<toml::Table> for Node {
    fn from(table: toml::Table) -> Self {
        Self::Table(table.into_iter().map(|(key, value)| (key, value.into())).collect())
    }
}

impl<'de> Deserialize<'de> for Node {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        from.deserialize_any(NodeVisitor)
    }
}

struct NodeVisitor;

impl<'de> Visitor<'de> for NodeVisitor {
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
        Node::deserialize(from)
    }

    fn visit_newtype_struct<D: Deserializer<'de>>(self, from: D) -> Result<Node, D::Error> {
        Node::deserialize(from)
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
        let mut list = Vec::new();
        while let Some(item) = items.next_element()? {
            list.push(item);
        }
        Ok(Node::List(list))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut entries: A) -> Result<Node, A::Error> {
        let mut table = Vec::new();
        while let Some(entry) = entries.next_entry()? {
            table.push(entry);
        }
        Ok(Node::Table(table))
    }
}
