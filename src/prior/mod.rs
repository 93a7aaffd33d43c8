//! The law of layouts: bearing, routing families, supply lines, unknown lines, and the evidence that weighs single
//! ways.
//!
//! One file per routing family. Each turns a zone, a bearing and what the family shares into an outer state. What does
//! not depend on which head is on which zone is in `common` and `shared`, once for all zones of a site; `system` is the
//! law of one zone or supply line, and `law` puts them together.

mod bearing;
mod chain;
mod common;
mod direct;
mod drawings;
mod explained;
mod grid;
mod ground;
mod header;
mod labels;
mod law;
mod loose;
mod outline;
mod pair;
mod plan;
mod psi;
mod roots;
mod shared;
mod silence;
mod split;
mod system;
mod trees;
mod way;
mod zone;

pub use bearing::Bearing;
pub use common::{Common, Valve};
pub use labels::{LabelLaw, Labelling, Labels, Part, Share, Sums, Suspicion};
pub use law::Law;
pub use psi::Psi;
pub use system::SystemLaw;
