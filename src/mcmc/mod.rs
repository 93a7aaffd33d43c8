//! Markov chains that know nothing of sites: tempered chains on any target, and what tells whether they can be relied on.

pub mod diagnostics;
pub mod tempering;
