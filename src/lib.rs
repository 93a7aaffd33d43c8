//! underturf: the chance that a hole dug on irrigated ground strikes a buried line nobody can detect.
//!
//! A site document becomes a checked site ([`site`], with the tables of [`planting`]); the [`model`] of layouts turns it into
//! outer states and random spanning trees ([`spanning_tree`], [`layout`]); [`strike`] says what a look into the ground meets;
//! [`inference`] draws layouts given what was found, with the chains of [`mcmc`] where zones are not known; [`decision`] says
//! what that comes to. Modules import downward only.

#![warn(missing_docs)]

pub mod class;
pub mod decision;
pub mod effort;
pub mod error;
pub mod example;
pub mod geometry;
pub mod inference;
pub mod layout;
pub mod mcmc;
pub mod memory;
pub mod metal;
pub mod model;
pub mod monitor;
pub mod planting;
pub mod rng;
pub mod settings;
pub mod site;
pub mod spanning_tree;
pub mod staking;
pub mod strike;

pub use error::Error;
