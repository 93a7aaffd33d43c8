//! How a crew joins heads to a valve: one file for each family, and the pipe between two nodes that all families share.

pub mod chain;
pub mod direct;
pub mod header;
pub mod loose;
pub mod pair;
pub mod split;
pub mod supply;
