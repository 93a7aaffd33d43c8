//! underturf: the chance that a hole dug on irrigated ground strikes a buried line nobody can detect.
//!
//! A site document ([`io`]) becomes a checked site ([`evidence`], with the tables of [`planting`]); the law of layouts ([`prior`]) turns it into outer
//! states and random spanning trees ([`forest`], [`layout`]); [`moves`] go from one labelling of heads to another;
//! [`strike`] says what a look into the ground meets,
//! [`posterior`] draws layouts given what probes found, [`infer`] does so for a site, and [`decision`] says what that
//! comes to. Modules import downward only.

#![warn(missing_docs)]

pub mod class;
pub mod decision;
pub mod diagnose;
pub mod effort;
pub mod error;
pub mod evidence;
pub mod forest;
pub mod geometry;
pub mod infer;
pub mod io;
pub mod joint;
pub mod layout;
pub mod memory;
pub mod monitor;
pub mod moves;
pub mod planting;
pub mod posterior;
pub mod prior;
pub mod rng;
pub mod settings;
pub mod strike;
pub mod temper;

pub use error::Error;
