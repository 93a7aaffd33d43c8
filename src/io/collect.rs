//! A serde deserialiser that does not stop at the first fault.
//!
//! Where a value does not fit what the type asks for, it notes the fault with its place, hands out a stand-in (no
//! number, empty text, last word of a list of words) and goes on. One pass so reports every unknown key, missing key,
//! wrong type and unknown word of a document, and serde's derived code stays the only description of the format.

use super::node::Node;
use crate::evidence::document::WORD_OR_TABLE;
use crate::evidence::{Fault, FaultKind};
use serde::de::value::StrDeserializer;
use serde::de::{self, DeserializeSeed, Deserializer, IntoDeserializer, MapAccess, SeqAccess, Visitor};
use std::cell::RefCell;
use std::fmt;

/// Reads a value of type `T`, with every fault met on the way.
///
/// # Errors
/// Only when the type refuses even the stand-ins: its own words.
pub(super) fn collect<'de, T: de::Deserialize<'de>>(node: &Node) -> Result<(T, Vec<Fault>), Refused> {
    let faults = RefCell::new(Vec::new());
    let value = T::deserialize(Reader { node, place: String::new(), faults: &faults, quiet: false })?;
    Ok((value, faults.into_inner()))
}

/// The type refused a value for a reason of its own.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[error("{message}")]
pub(super) struct Refused {
    pub(super) message: String,
}

impl de::Error for Refused {
    fn custom<T: fmt::Display>(message: T) -> Self {
        Self { message: message.to_string() }
    }
}

static NOTHING: Node = Node::Nothing;
static NO_NUMBER: Node = Node::Number(f64::NAN);

struct Reader<'a> {
    node: &'a Node,
    place: String,
    faults: &'a RefCell<Vec<Fault>>,
    /// Within the stand-in of a table there is nothing to report: the table itself is.
    quiet: bool,
}

impl<'a> Reader<'a> {
    fn add(&self, what: FaultKind) {
        if !self.quiet {
            self.faults.borrow_mut().push(Fault { place: self.place.clone(), what });
        }
    }

    /// Notes that something else was expected here.
    fn expected(&self, expected: &'static str) {
        self.add(match self.node {
            Node::Nothing => FaultKind::MissingKey,
            other => FaultKind::WrongType { expected, found: other.in_words() },
        });
    }

    fn whole(&self, least: i64, greatest: i64) -> i64 {
        let value = match *self.node {
            Node::Whole(value) => Some(value),
            // Tables of other tools carry counts as 2.0; every whole number below 2^53 is exact as f64.
            Node::Number(value) if value.fract() == 0.0 && value.abs() < 9.0e15 => Some(value as i64),
            _ => None,
        };
        value.filter(|value| (least..=greatest).contains(value)).unwrap_or_else(|| {
            self.expected(if least >= 0 { "a whole number, 0 or more" } else { "a whole number" });
            0
        })
    }

    fn text(&self) -> String {
        match self.node {
            Node::Text(value) => value.clone(),
            // Ids and zones are often numbered; they are kept as text.
            Node::Whole(value) => value.to_string(),
            _ => {
                self.expected("a text");
                String::new()
            }
        }
    }

    fn child(&self, node: &'a Node, key: &str) -> Self {
        let place = if self.place.is_empty() { key.to_owned() } else { format!("{}.{key}", self.place) };
        Reader { node, place, faults: self.faults, quiet: self.quiet }
    }

    fn entries(&self) -> &'a [(String, Node)] {
        match self.node {
            Node::Table(entries) => entries,
            _ => {
                self.expected("a table");
                &[]
            }
        }
    }
}

/// Whole numbers of every width: in range, or a fault and 0.
macro_rules! whole_numbers {
    ($($method:ident $visit:ident $type:ty;)*) => {$(
        fn $method<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Refused> {
            let greatest = i64::try_from(<$type>::MAX).unwrap_or(i64::MAX);
            let least = i64::try_from(<$type>::MIN).unwrap_or(i64::MIN);
            visitor.$visit(self.whole(least, greatest) as $type)
        }
    )*};
}

impl<'de> Deserializer<'de> for Reader<'_> {
    type Error = Refused;

    whole_numbers! {
        deserialize_i8 visit_i8 i8;
        deserialize_i16 visit_i16 i16;
        deserialize_i32 visit_i32 i32;
        deserialize_i64 visit_i64 i64;
        deserialize_u8 visit_u8 u8;
        deserialize_u16 visit_u16 u16;
        deserialize_u32 visit_u32 u32;
        deserialize_u64 visit_u64 u64;
    }

    fn deserialize_any<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Refused> {
        match self.node {
            Node::Nothing => visitor.visit_unit(),
            Node::Flag(_) => self.deserialize_bool(visitor),
            Node::Whole(_) => self.deserialize_i64(visitor),
            Node::Number(_) => self.deserialize_f64(visitor),
            Node::Text(_) => self.deserialize_string(visitor),
            Node::List(_) => self.deserialize_seq(visitor),
            Node::Table(_) => self.deserialize_map(visitor),
        }
    }

    fn deserialize_bool<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Refused> {
        let Node::Flag(value) = *self.node else {
            self.expected("true or false");
            return visitor.visit_bool(false);
        };
        visitor.visit_bool(value)
    }

    fn deserialize_f32<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Refused> {
        self.deserialize_f64(visitor)
    }

    fn deserialize_f64<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Refused> {
        visitor.visit_f64(match *self.node {
            Node::Number(value) => value,
            Node::Whole(value) => value as f64,
            _ => {
                self.expected("a number");
                f64::NAN
            }
        })
    }

    fn deserialize_str<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Refused> {
        visitor.visit_string(self.text())
    }

    fn deserialize_string<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Refused> {
        visitor.visit_string(self.text())
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Refused> {
        if *self.node == Node::Nothing { visitor.visit_none() } else { visitor.visit_some(self) }
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(
        self,
        _name: &'static str,
        visitor: V,
    ) -> Result<V::Value, Refused> {
        visitor.visit_newtype_struct(self)
    }

    fn deserialize_seq<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Refused> {
        let items: &[Node] = match self.node {
            Node::List(items) => items,
            _ => {
                self.expected("a list");
                &[]
            }
        };
        visitor.visit_seq(Items { items: items.iter().collect(), next: 0, of: &self })
    }

    fn deserialize_tuple<V: Visitor<'de>>(self, len: usize, visitor: V) -> Result<V::Value, Refused> {
        let items = match self.node {
            Node::List(items) if items.len() == len => items.iter().collect(),
            other => {
                if let Node::List(items) = other {
                    self.add(FaultKind::WrongLength { expected: len, found: items.len() });
                } else {
                    self.expected("a point [x, y]");
                }
                vec![&NO_NUMBER; len] // the only fixed-length lists of the format are points
            }
        };
        visitor.visit_seq(Items { items, next: 0, of: &self })
    }

    fn deserialize_map<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Refused> {
        let entries = self.entries();
        for (i, (key, node)) in entries.iter().enumerate() {
            if entries[..i].iter().any(|(earlier, _)| earlier == key) {
                self.child(node, key).add(FaultKind::RepeatedKey);
            }
        }
        let entries = entries.iter().map(|(key, node)| (key.as_str(), node)).collect();
        visitor.visit_map(Entries { entries, next: 0, of: &self })
    }

    fn deserialize_struct<V: Visitor<'de>>(
        mut self,
        name: &'static str,
        fields: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Refused> {
        if name == WORD_OR_TABLE && !matches!(self.node, Node::Table(_) | Node::Nothing) {
            return visitor.visit_newtype_struct(self);
        }
        let given = self.entries();
        self.quiet |= !matches!(self.node, Node::Table(_));
        for (i, (key, node)) in given.iter().enumerate() {
            if !fields.contains(&key.as_str()) {
                self.child(node, key).add(FaultKind::UnknownKey { allowed: fields });
            } else if given[..i].iter().any(|(earlier, _)| earlier == key) {
                self.child(node, key).add(FaultKind::RepeatedKey);
            }
        }
        // Every field is handed out, so that a missing one is noted where it is missing.
        let value =
            |field: &'static str| given.iter().find(|(key, _)| key == field).map_or(&NOTHING, |(_, v)| v);
        let entries = fields.iter().map(|&field| (field, value(field))).collect();
        visitor.visit_map(Entries { entries, next: 0, of: &self })
    }

    fn deserialize_enum<V: Visitor<'de>>(
        self,
        _name: &'static str,
        variants: &'static [&'static str],
        visitor: V,
    ) -> Result<V::Value, Refused> {
        let word = match self.node {
            Node::Text(word) => variants.iter().find(|variant| *variant == word).copied().or_else(|| {
                self.add(FaultKind::UnknownName { found: word.clone(), allowed: variants });
                None
            }),
            _ => {
                self.expected("a text");
                None
            }
        };
        let word = word.or(variants.last().copied()).unwrap_or_default();
        visitor.visit_enum(IntoDeserializer::<Refused>::into_deserializer(word))
    }

    serde::forward_to_deserialize_any! {
        i128 u128 char bytes byte_buf unit unit_struct tuple_struct identifier ignored_any
    }
}

struct Items<'a> {
    items: Vec<&'a Node>,
    next: usize,
    of: &'a Reader<'a>,
}

impl<'de> SeqAccess<'de> for Items<'_> {
    type Error = Refused;

    fn next_element_seed<T: DeserializeSeed<'de>>(&mut self, seed: T) -> Result<Option<T::Value>, Refused> {
        let Some(&node) = self.items.get(self.next) else { return Ok(None) };
        let place = format!("{}[{}]", self.of.place, self.next);
        self.next += 1;
        seed.deserialize(Reader { node, place, faults: self.of.faults, quiet: self.of.quiet }).map(Some)
    }
}

struct Entries<'a> {
    entries: Vec<(&'a str, &'a Node)>,
    next: usize,
    of: &'a Reader<'a>,
}

impl<'de> MapAccess<'de> for Entries<'_> {
    type Error = Refused;

    fn next_key_seed<K: DeserializeSeed<'de>>(&mut self, seed: K) -> Result<Option<K::Value>, Refused> {
        let Some(&(key, _)) = self.entries.get(self.next) else { return Ok(None) };
        let key: StrDeserializer<'_, Refused> = key.into_deserializer();
        seed.deserialize(key).map(Some)
    }

    fn next_value_seed<V: DeserializeSeed<'de>>(&mut self, seed: V) -> Result<V::Value, Refused> {
        let Some(&(key, node)) = self.entries.get(self.next) else {
            return Err(de::Error::custom("a value was asked for before its key"));
        };
        self.next += 1;
        seed.deserialize(self.of.child(node, key))
    }
}
