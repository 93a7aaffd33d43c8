//! The law of layouts before any evidence but the heads: bearing, routing families, supply lines, unknown lines.
//!
//! One file per routing family. Each turns a zone, a bearing and what the family shares into an outer state.

mod bearing;
mod chain;
mod direct;
mod ground;
mod header;
mod labels;
mod law;
mod plan;
mod roots;
mod split;
mod zone;

pub use bearing::Bearing;
pub use labels::{Labelling, Labels, Suspicion};
pub use law::Law;
