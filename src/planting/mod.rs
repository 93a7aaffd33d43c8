//! What planting a tree asks of the ground, from published tables only: the hole that a root ball needs, and how far a tree
//! has to stand from lines.
//!
//! Tables are entered with what is bought: calipers in inches (`_in`), trade numbers of containers. Answers are metres (`_m`).

mod error;
mod root_ball;
mod setbacks;
mod tables;

pub use error::TableError;
pub use root_ball::{RootBall, WIDE, root_ball_of_caliper, root_ball_of_container};
pub use setbacks::Setback;
pub use tables::{BallTable, Table, TableKey};
