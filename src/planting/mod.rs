//! What planting a tree asks of the ground, from published tables only: the hole that a root ball needs, and how far a tree
//! has to stand from lines.

mod error;
mod root_ball;
mod setbacks;

pub use error::TableError;
pub use root_ball::{BallTable, RootBall, WIDE, root_ball_of_caliper, root_ball_of_container};
pub use setbacks::Setback;
