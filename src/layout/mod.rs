//! The hidden state: where every line runs in one full hypothesis.

mod draw;
mod marks;
mod outer;
mod pick;
mod piece;
mod run;

pub use draw::{Draw, Tree};
pub use marks::{Cover, LEVELS, Offset, normal_cdf};
pub use outer::{Extent, Floor, HeaderLines, Lines, OuterLaw, OuterState, System};
pub use pick::{listed_state, pick};
pub use piece::{Kind, Piece, Pieces};
pub use run::{CLEAR, Route, Run, Stock};
