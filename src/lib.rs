//! underturf: the chance that a hole dug on irrigated ground strikes a buried line nobody can detect.

#![warn(missing_docs)]

pub mod class;
pub mod forest;
pub mod geometry;
pub mod layout;
pub mod monitor;
pub mod rng;
pub mod settings;
pub mod strike;
