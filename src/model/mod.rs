//! The prior of layouts: bearing, routing families, supply lines, unknown lines, and the evidence that weighs single
//! ways.
//!
//! One file per routing family. Each turns a zone, a bearing and what the family shares into an outer state. What does
//! not depend on which head is on which zone is in `common` and `shared`, once for all zones of a site; `system` is the
//! prior of one zone or supply line, and `layout_prior` puts them together.

mod bearing;
mod common;
mod explained;
mod ground;
mod layout_prior;
mod node;
mod plan;
mod psi;
mod routing;
mod shared;
mod supplied;
mod supply_roots;
mod system;
mod zone;
mod zoning;

pub use bearing::{Bearing, bearings as grid_bearings};
pub use common::{Common, Valve, house_fed_chances};
pub use layout_prior::LayoutPrior;
pub use psi::Psi;
pub use system::SystemPrior;
pub use zoning::{FlaggedHead, ListedZonings, Part, Share, Sums, WeightedZoning, ZoningPrior};
