//! What is known of a site: its document as written, and the checked site in metres that the engine reads.
//!
//! [`Document`] holds a site document word for word, in its own units, and loses nothing on the way back to a file.
//! [`Site`] is made from one, once, after every check has passed; nothing later doubts it.

mod alike;
mod as_dug;
mod check;
mod checked_site;
mod clean;
mod convert;
mod day;
pub mod direction;
pub mod document;
mod fault;
mod fault_words;
mod figures;
mod former;
mod frame;
pub mod io;
mod items;
mod keep_off;
pub mod length;
mod making;
mod merge;
mod metal_supply;
mod nameless;
mod note;
pub mod plausible;
mod shape;
pub mod spelling;
mod units;
mod walls;
mod zone_notes;

pub use checked_site::Site;
pub use day::{NotADay, check_day};
pub use document::Document;
pub use fault::{Fault, FaultKind, SiteFaults};
pub use items::{
    Dig, Drawn, Flag, Head, Mark, Obstacle, Outlet, Plant, Probe, Service, Sketch, Source, StationTest,
    Swept, Tree, ValveBox, Zone,
};
pub use keep_off::KeepOff;
pub use metal_supply::{MetalSupply, SupplyLine};
pub use note::{Note, NoteKind};
pub use shape::DigShape;
pub use units::Units;
