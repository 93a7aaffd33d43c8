//! What is known of a site: its document as written, and the checked site in metres that the engine reads.
//!
//! [`Document`] holds a site document word for word, in its own units, and loses nothing on the way back to a file.
//! [`Site`] is made from one, once, after every check has passed; nothing later doubts it.

mod check;
mod convert;
mod day;
pub mod document;
mod fault;
mod frame;
mod items;
pub mod length;
mod nameless;
mod shape;
mod site;
pub mod spelling;
mod units;

pub use day::{NotADay, check_day};
pub use document::Document;
pub use fault::{Fault, FaultKind, SiteFaults};
pub use frame::frame_note;
pub use items::{
    Dig, Flag, Head, Mark, Obstacle, Outlet, Plant, Probe, Service, Sketch, Source, StationTest, Swept, Tree,
    ValveBox, Zone,
};
pub use shape::DigShape;
pub use site::Site;
pub use units::Units;
