//! The hidden state: where every line runs in one full hypothesis.

mod piece;

pub use piece::{Kind, Piece, Pieces};
