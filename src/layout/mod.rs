//! The hidden state: where every line runs in one full hypothesis.

mod draw;
mod id;
mod metal_line;
mod outer;
mod pick;
mod piece;
mod run;
mod run_attributes;

pub use draw::{Draw, Tree};
pub use id::{RunId, StateId};
pub use metal_line::MetalLine;
pub use outer::{Extent, FAMILIES, HeaderLines, Lines, OuterPrior, OuterState, System, UnmappedLines};
pub use pick::{listed_state, pick};
pub use piece::{Kind, Piece, Pieces};
pub use run::{CLEAR, Route, Run, Stock};
pub use run_attributes::{Cover, LEVELS, Offset, normal_cdf};
