//! Named columns of numbers and texts: what layouts are kept as, in files that others can read.
//!
//! A column is `group/name`; the columns of a group have a row each for the same things. What hangs on a row in numbers that
//! differ stands in a group of its own, one after the other, and a column of counts says how many belong to each (contiguous
//! ragged arrays, as the climate and forecast conventions call them, 9.3.3).

use crate::error::KeptFault;
use std::collections::BTreeMap;
use std::ops::Range;

/// A column.
#[derive(Clone, Debug, PartialEq)]
pub enum Column {
    /// Numbers.
    Float(Vec<f64>),
    /// Numbers of single precision.
    Single(Vec<f32>),
    /// Whole numbers.
    Whole(Vec<i64>),
    /// Texts.
    Text(Vec<String>),
}

impl Column {
    /// How many rows it has.
    pub fn len(&self) -> usize {
        match self {
            Self::Float(rows) => rows.len(),
            Self::Single(rows) => rows.len(),
            Self::Whole(rows) => rows.len(),
            Self::Text(rows) => rows.len(),
        }
    }

    /// Whether it has none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    const fn holds(&self) -> &'static str {
        match self {
            Self::Float(_) => "numbers",
            Self::Single(_) => "numbers of single precision",
            Self::Whole(_) => "whole numbers",
            Self::Text(_) => "texts",
        }
    }
}

impl From<Vec<f64>> for Column {
    fn from(rows: Vec<f64>) -> Self {
        Self::Float(rows)
    }
}

impl From<Vec<f32>> for Column {
    fn from(rows: Vec<f32>) -> Self {
        Self::Single(rows)
    }
}

impl From<Vec<i64>> for Column {
    fn from(rows: Vec<i64>) -> Self {
        Self::Whole(rows)
    }
}

impl From<Vec<String>> for Column {
    fn from(rows: Vec<String>) -> Self {
        Self::Text(rows)
    }
}

/// Columns by their names.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Columns(BTreeMap<String, Column>);

impl Columns {
    /// Puts a column in.
    pub fn put(&mut self, name: impl Into<String>, column: impl Into<Column>) {
        self.0.insert(name.into(), column.into());
    }

    /// Puts whole numbers in.
    pub(super) fn put_whole(&mut self, name: &str, rows: impl IntoIterator<Item = usize>) {
        self.put(name, rows.into_iter().map(|row| row as i64).collect::<Vec<i64>>());
    }

    /// Puts yes (1) and no (0) in.
    pub(super) fn put_flags(&mut self, name: &str, rows: impl IntoIterator<Item = bool>) {
        self.put_whole(name, rows.into_iter().map(usize::from));
    }

    /// Every column with its name, in the order of names.
    pub fn iter(&self) -> impl Iterator<Item = (&str, &Column)> {
        self.0.iter().map(|(name, column)| (name.as_str(), column))
    }

    /// A column.
    pub fn get(&self, name: &str) -> Option<&Column> {
        self.0.get(name)
    }

    fn column(&self, name: &str) -> Result<&Column, KeptFault> {
        self.get(name).ok_or_else(|| KeptFault::Missing { column: name.to_owned() })
    }

    pub(super) fn floats(&self, name: &str) -> Result<&[f64], KeptFault> {
        match self.column(name)? {
            Column::Float(rows) => Ok(rows),
            other => Err(other_kind(name, other, "numbers")),
        }
    }

    pub(super) fn singles(&self, name: &str) -> Result<&[f32], KeptFault> {
        match self.column(name)? {
            Column::Single(rows) => Ok(rows),
            other => Err(other_kind(name, other, "numbers of single precision")),
        }
    }

    pub(super) fn texts(&self, name: &str) -> Result<&[String], KeptFault> {
        match self.column(name)? {
            Column::Text(rows) => Ok(rows),
            other => Err(other_kind(name, other, "texts")),
        }
    }

    fn wholes(&self, name: &str) -> Result<&[i64], KeptFault> {
        match self.column(name)? {
            Column::Whole(rows) => Ok(rows),
            other => Err(other_kind(name, other, "whole numbers")),
        }
    }

    /// Whole numbers from zero to less than `end`.
    pub(super) fn indices(&self, name: &str, end: usize) -> Result<Vec<usize>, KeptFault> {
        let one = |(row, &value): (usize, &i64)| {
            let known = usize::try_from(value).ok().filter(|value| *value < end);
            let most = end as i64 - 1;
            known.ok_or_else(|| KeptFault::Range { column: name.to_owned(), row, value, most })
        };
        self.wholes(name)?.iter().enumerate().map(one).collect()
    }

    /// The same, where -1 stands for none.
    pub(super) fn maybe_indices(&self, name: &str, end: usize) -> Result<Vec<Option<usize>>, KeptFault> {
        let one = |(row, &value): (usize, &i64)| match usize::try_from(value) {
            Ok(index) if index < end => Ok(Some(index)),
            Err(_) if value == -1 => Ok(None),
            _ => Err(KeptFault::Range { column: name.to_owned(), row, value, most: end as i64 - 1 }),
        };
        self.wholes(name)?.iter().enumerate().map(one).collect()
    }

    pub(super) fn flags(&self, name: &str) -> Result<Vec<bool>, KeptFault> {
        Ok(self.indices(name, 2)?.into_iter().map(|flag| flag == 1).collect())
    }

    /// For each row the rows of another group that belong to it, by the counts in a column; there are `total` of these.
    pub(super) fn ranges(&self, name: &str, total: usize) -> Result<Vec<Range<usize>>, KeptFault> {
        let mut end = 0;
        let ranges: Vec<Range<usize>> = self
            .indices(name, total + 1)?
            .into_iter()
            .map(|count| {
                end += count;
                end - count..end
            })
            .collect();
        if end == total {
            return Ok(ranges);
        }
        Err(KeptFault::Length { column: format!("what {name} counts"), found: total, wanted: end })
    }

    /// How many rows a column has.
    pub(super) fn rows(&self, name: &str) -> Result<usize, KeptFault> {
        self.column(name).map(Column::len)
    }

    /// Refuses a group whose columns are not as long as each other.
    pub(super) fn even(&self, group: &str) -> Result<(), KeptFault> {
        let prefix = format!("{group}/");
        let mut columns = self.iter().filter(|(name, _)| name.starts_with(&prefix));
        let Some((_, first)) = columns.next() else { return Ok(()) };
        let wanted = first.len();
        match columns.find(|(_, column)| column.len() != wanted) {
            Some((name, column)) => {
                Err(KeptFault::Length { column: name.to_owned(), found: column.len(), wanted })
            }
            None => Ok(()),
        }
    }

    /// Every group.
    pub(super) fn groups(&self) -> Vec<&str> {
        let mut groups: Vec<&str> = self.0.keys().filter_map(|name| name.split('/').next()).collect();
        groups.dedup();
        groups
    }

    /// The only row of a column.
    pub(super) fn number(&self, name: &str) -> Result<f64, KeptFault> {
        match self.floats(name)? {
            [one] => Ok(*one),
            rows => Err(KeptFault::Length { column: name.to_owned(), found: rows.len(), wanted: 1 }),
        }
    }

    /// The only row of a column of texts, read as what it stands for: whole numbers too great for the other kinds.
    pub(super) fn written(&self, name: &str) -> Result<u64, KeptFault> {
        let unreadable = |value: &String| KeptFault::Text { column: name.to_owned(), value: value.clone() };
        match self.texts(name)? {
            [one] => one.parse().map_err(|_| unreadable(one)),
            rows => Err(KeptFault::Length { column: name.to_owned(), found: rows.len(), wanted: 1 }),
        }
    }
}

impl<N: Into<String>, C: Into<Column>> FromIterator<(N, C)> for Columns {
    fn from_iter<I: IntoIterator<Item = (N, C)>>(columns: I) -> Self {
        Self(columns.into_iter().map(|(name, column)| (name.into(), column.into())).collect())
    }
}

fn other_kind(name: &str, found: &Column, wanted: &'static str) -> KeptFault {
    KeptFault::Kind { column: name.to_owned(), found: found.holds(), wanted }
}
