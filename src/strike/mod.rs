//! Strikes: the chance that a dig meets a line, in two forms that check each other, and as maps.
//!
//! Outer states come in through the trait [`crate::layout::OuterPrior`]; nothing here knows heads, sites or priors.

mod belts;
mod determinant;
mod find_set;
mod findings;
mod general;
mod metal_missed;
mod miss;
mod moved;
mod observation;
pub mod raster;
mod result;
mod run_likelihood;
mod unknown;

pub use determinant::{missed, strike as strike_by_determinants, strike_unless};
pub use find_set::{BySet, FindSet};
pub use findings::{Find, Findings, MOST_FINDS};
pub use general::{DrawChances, RunIndex};
pub use metal_missed::MetalMissed;
pub use miss::Observations;
pub use moved::Moved;
pub use observation::{Observation, Report};
pub use result::{Chance, Form, Strike, probability};
pub use run_likelihood::{Miss, RunLikelihood};
pub use unknown::mean_beyond;
