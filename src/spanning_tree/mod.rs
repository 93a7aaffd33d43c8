//! Random spanning trees with probability proportional to the product of their run weights, solved exactly.
//!
//! Weights in; normaliser, run marginals, joint absences and independent draws out. The module knows no geometry and
//! no site. All of it rests on one elimination that only adds, multiplies and divides positive numbers (Grassmann,
//! Taksar & Heyman 1985, Oper. Res. 33, 1107-1116, from memory), so weights spread over e^±200 lose no digits:
//! no log-determinant of an assembled Laplacian is ever taken.

mod draw;
mod eliminate;
mod marginals;
mod network;

pub use draw::Sampler;
pub use eliminate::Scratch;
pub use network::{Edge, Fault, Network};
