//! Documents as careless and hostile hands write them, from a seed: what the fuzz of the laws, of the slow suite and of
//! `fuzz/` are run on. The same seed gives the same document.
//!
//! A case begins with a shipped example or an invented site with every kind of evidence ([`sites`]). It is then changed as
//! text ([`text`]: bytes, words, numbers, lines), as a tree of values ([`tree`]: types, keys, nesting) or within what the
//! format allows ([`hostile`]: probes across heads, many finds, settings at their limits), and read. Polygons, digs and probes
//! are made from bytes alone ([`bytes`]) and held to laws of their own ([`ground`]).

pub mod answer;
pub mod bytes;
pub mod ground;
pub mod hostile;
pub mod sites;
pub mod targets;
pub mod text;
pub mod tree;

use rand::RngExt;
use serde_json::Value;
use underturf::rng::{self, Stream};
use underturf::site::Site;
use underturf::site::io::{self, ReadError};

/// One document.
#[derive(Clone, Debug)]
pub enum Document {
    /// A TOML text.
    Toml(String),
    /// A JSON text.
    Json(String),
    /// A value.
    Tree(Value),
}

impl Document {
    /// A document of that number: text, tree and legal changes in turn.
    pub fn of(seed: u64) -> Self {
        let rng = &mut rng::stream(seed, 0);
        match rng.random_range(0..4) {
            0 => Self::Toml(text::changed(sites::example_text(rng), rng)),
            1 => Self::Json(text::changed(sites::any(rng).to_string(), rng)),
            2 => Self::Tree(tree::changed(sites::any(rng), rng)),
            _ => Self::hostile(seed),
        }
    }

    /// A document that was only changed in ways the format allows: most of these are read and must be answered.
    pub fn hostile(seed: u64) -> Self {
        let rng = &mut rng::stream(seed, 1);
        Self::Tree(hostile::changed(sites::any(rng), rng))
    }

    /// Reads it.
    ///
    /// # Errors
    /// Those of the reader.
    pub fn read(&self) -> Result<Site, ReadError> {
        match self {
            Self::Toml(text) => io::parse_toml(text),
            Self::Json(text) => io::parse_json(text),
            Self::Tree(value) => Ok(io::from_value(value.clone())?),
        }
    }

    /// Reads it as a fuzzer does, from its bytes, and answers it with at most so much work.
    ///
    /// # Errors
    /// What must not be: see [`targets::answer`].
    pub fn run(&self, effort: u64) -> Result<targets::Outcome, String> {
        match self {
            Self::Toml(text) | Self::Json(text) => targets::text(text.as_bytes(), effort),
            Self::Tree(value) => targets::tree(value.to_string().as_bytes(), effort),
        }
    }
}

/// One of these.
pub fn one<'t, T>(of: &'t [T], rng: &mut Stream) -> &'t T {
    &of[rng.random_range(0..of.len())]
}

/// Whether something of this chance happens.
pub fn happens(chance: f64, rng: &mut Stream) -> bool {
    rng.random::<f64>() < chance
}
