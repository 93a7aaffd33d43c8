//! The laws that the engine keeps: one fast binary, one module for each part of the engine.

mod common;
mod diagnose;
mod document;
mod forest;
mod ground;
mod integral_geometry;
mod labels;
mod layering;
mod probe_figures;
mod probes;
mod site;
mod strike;
