//! Buried metal: how many lines the detector's flags, the paint and the known ends tell of, where each runs, what it carries.
//!
//! Flags are set along lines with a sideways error, or are stray; a line is a course of straight legs, on the site's axes by
//! preference, with few bends (python/docs/model.md, 14). Given which items lie on which leg everything is in closed form: `leg`
//! (where it runs), `line` (steps, bends, ends, names, class). What is sampled is which lies on which: `state`, changed by
//! `moves`.
//!
//! # Units
//! Metres, 1 / m2 for densities; angles in radians where a name ends in `_rad`.

mod bessel;
mod class_law;
mod draw;
mod ends;
mod evidence;
mod law;
mod leg;
mod line;
mod model;
mod moves;
mod sample;
mod state;
mod stations;
mod summary;
mod supply;
mod sweeps;
#[cfg(test)]
mod tests;

pub use class_law::{ByClass, CLASSES, ClassLaw, Fixture};
pub use draw::MetalDraw;
pub use ends::{Beyond, End};
pub use evidence::{Evidence, Item, Origin};
pub use law::Law;
pub use leg::{Direction, Fit, Weighted};
pub use line::{Leg, Line};
pub use model::{LegKind, Model, Shared};
pub use moves::{NAMES, Rates, Tried, exchange, sweep};
pub use sample::{MetalChains, MetalOptions, judge, systematic};
pub use state::State;
pub use stations::Station;
pub use summary::{Crossing, ItemSummary, LineSummary, Summary, class_names};
pub use supply::supply_cases;
