//! A serde deserialiser that does not stop at the first fault.
//!
//! Where a value does not fit what the type asks for, it notes the fault with its place, hands out a stand-in (no
//! number, empty text, last word of a list of words) and goes on. One pass so reports every unknown key, missing key,
//! wrong type and unknown word of a document, and serde's derived code stays the only description of the format.
//!
//! Optional keys that say nothing (see `values`) are absent. Lengths that are texts become numbers in the document's unit, and
//! their texts are kept by place.

use super::node::{Node, shortened};
use super::values::{self, is_absent, unexpected};
use crate::settings::Settings;
use crate::site::document::{LENGTH, Texts, WORD_OR_TABLE};
use crate::site::length::Length;
use crate::site::spelling::folded;
use crate::site::{Fault, FaultKind, Units};
use serde::de::value::StrDeserializer;
use serde::de::{self, DeserializeSeed, Deserializer, IntoDeserializer, MapAccess, SeqAccess, Visitor};
use std::cell::RefCell;
use std::collections::HashSet;
use std::fmt;

/// What was read: the value, every fault met on the way, and the texts of its lengths.
pub(super) struct Collected<T> {
    pub(super) value: T,
    pub(super) faults: Vec<Fault>,
    pub(super) texts: Texts,
}

/// Reads a value of type `T`.
///
/// # Errors
/// Only when the type refuses even the stand-ins: its own words.
pub(super) fn collect<'de, T: de::Deserialize<'de>>(node: &Node) -> Result<Collected<T>, Refused> {
    collect_at(node, String::new(), values::units_of(node))
}

/// The same of a part of a document, at its place.
///
/// # Errors
/// As [`collect`].
pub(super) fn collect_at<'de, T: de::Deserialize<'de>>(
    node: &Node,
    place: String,
    units: Units,
) -> Result<Collected<T>, Refused> {
    let found = Found { units, faults: RefCell::default(), texts: RefCell::default() };
    let value = T::deserialize(Reader { node, place, found: &found, quiet: false })?;
    Ok(Collected { value, faults: found.faults.into_inner(), texts: found.texts.into_inner() })
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

/// What is found on the way.
struct Found {
    units: Units,
    faults: RefCell<Vec<Fault>>,
    texts: RefCell<Texts>,
}

struct Reader<'a> {
    node: &'a Node,
    place: String,
    found: &'a Found,
    /// Within the stand-in of a table there is nothing to report: the table itself is.
    quiet: bool,
}

impl<'a> Reader<'a> {
    fn add(&self, what: FaultKind) {
        if !self.quiet {
            self.found.faults.borrow_mut().push(Fault { place: self.place.clone(), what });
        }
    }

    /// Notes that something else was expected here.
    fn expected(&self, expected: &'static str) {
        self.add(unexpected(self.node, expected, None));
    }

    fn whole(&self, least: i64, greatest: i64) -> i64 {
        let value = values::whole(self.node).filter(|value| (least..=greatest).contains(value));
        value.unwrap_or_else(|| {
            let expected = if least >= 0 { "a whole number, 0 or more" } else { "a whole number" };
            self.add(unexpected(self.node, expected, values::spelled_number(self.node)));
            0
        })
    }

    fn text(&self) -> String {
        values::text(self.node).unwrap_or_else(|| {
            self.expected("a text");
            String::new()
        })
    }

    fn number(&self) -> f64 {
        if let Node::Text(_) = self.node
            && self.is_length_setting()
        {
            return self.length(Units::Metres);
        }
        values::number(self.node).unwrap_or_else(|| {
            self.add(unexpected(self.node, "a number", values::spelled_number(self.node)));
            f64::NAN
        })
    }

    /// A length in a unit: a number, or a text that is kept.
    fn length(&self, units: Units) -> f64 {
        let Node::Text(text) = self.node else {
            return values::number(self.node).unwrap_or_else(|| {
                self.expected("a length");
                f64::NAN
            });
        };
        if folded(text).is_empty() {
            self.expected("a length");
            return f64::NAN;
        }
        match Length::read(text) {
            Ok(length) => {
                self.found.texts.borrow_mut().keep(self.place.clone(), text.clone());
                length.in_units(units)
            }
            Err(wrong) => {
                self.add(FaultKind::NotALength(wrong));
                f64::NAN
            }
        }
    }

    /// Whether this is a setting in metres.
    fn is_length_setting(&self) -> bool {
        let setting = self.place.strip_prefix("settings.");
        setting
            .is_some_and(|name| Settings::FIELDS.iter().any(|field| field.name == name && field.unit == "m"))
    }

    fn child(&self, node: &'a Node, key: &str) -> Self {
        let place = if self.place.is_empty() { key.to_owned() } else { format!("{}.{key}", self.place) };
        Reader { node, place, found: self.found, quiet: self.quiet }
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

    /// The entries of a table of known or of any keys, one for each key. The others are faults.
    fn table(&self, known: Option<&'static [&'static str]>) -> Vec<(&'a str, &'a Node)> {
        let mut seen = HashSet::new();
        let mut kept = Vec::new();
        for (key, node) in self.entries() {
            match known.filter(|known| !known.contains(&key.as_str())) {
                Some(allowed) => {
                    self.child(node, key).add(FaultKind::UnknownKey { key: key.clone(), allowed })
                }
                None if seen.insert(key.as_str()) => kept.push((key.as_str(), node)),
                None => self.child(node, key).add(FaultKind::RepeatedKey),
            }
        }
        kept
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
            Node::Foreign(_) | Node::TooDeep => {
                self.expected("a number, text, list or table");
                visitor.visit_unit()
            }
        }
    }

    fn deserialize_bool<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Refused> {
        let Node::Flag(value) = *self.node else {
            self.add(unexpected(self.node, "true or false", values::spelled_flag(self.node)));
            return visitor.visit_bool(false);
        };
        visitor.visit_bool(value)
    }

    fn deserialize_f32<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Refused> {
        self.deserialize_f64(visitor)
    }

    fn deserialize_f64<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Refused> {
        visitor.visit_f64(self.number())
    }

    fn deserialize_str<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Refused> {
        visitor.visit_string(self.text())
    }

    fn deserialize_string<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Refused> {
        visitor.visit_string(self.text())
    }

    fn deserialize_option<V: Visitor<'de>>(self, visitor: V) -> Result<V::Value, Refused> {
        if is_absent(self.node) { visitor.visit_none() } else { visitor.visit_some(self) }
    }

    fn deserialize_newtype_struct<V: Visitor<'de>>(
        self,
        name: &'static str,
        visitor: V,
    ) -> Result<V::Value, Refused> {
        if name == LENGTH {
            visitor.visit_f64(self.length(self.found.units))
        } else {
            visitor.visit_newtype_struct(self)
        }
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
        // The only table of any keys is that of the settings: one that says nothing is not set, if there is such a setting.
        let is_setting = |key: &str| Settings::FIELDS.iter().any(|field| field.name == key);
        let mut entries = self.table(None);
        entries.retain(|(key, node)| {
            let absent = is_absent(node);
            if absent && !is_setting(key) {
                self.child(node, key).add(FaultKind::UnknownSetting { name: (*key).to_owned() });
            }
            !absent
        });
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
        let given = self.table(Some(fields));
        self.quiet |= !matches!(self.node, Node::Table(_));
        // Every field is handed out, so that a missing one is noted where it is missing.
        let value =
            |field: &'static str| given.iter().find(|(key, _)| *key == field).map_or(&NOTHING, |(_, v)| *v);
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
            Node::Text(given) if !is_absent(self.node) => {
                let given = folded(given);
                let known = variants.iter().find(|variant| **variant == given).copied();
                if known.is_none() {
                    self.add(FaultKind::UnknownName { found: shortened(&given), allowed: variants });
                }
                known
            }
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
        seed.deserialize(Reader { node, place, found: self.of.found, quiet: self.of.quiet }).map(Some)
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
