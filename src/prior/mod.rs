//! The law of layouts: bearing, routing families, supply lines, unknown lines, and the evidence that weighs single
//! ways.
//!
//! One file per routing family. Each turns a zone, a bearing and what the family shares into an outer state.

mod bearing;
mod chain;
mod direct;
mod drawings;
mod explained;
mod ground;
mod header;
mod labels;
mod law;
mod plan;
mod roots;
mod silence;
mod split;
mod trees;
mod zone;

pub use bearing::Bearing;
pub use labels::{LabelLaw, Labelling, Labels, Part, Share, Suspicion};
pub use law::Law;
