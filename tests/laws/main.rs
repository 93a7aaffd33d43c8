//! The laws that the engine keeps: one fast binary, one module for each part of the engine.

mod after_probes;
mod all_evidence;
mod common;
mod decisions;
mod diagnose;
mod document;
mod effort;
mod forest;
mod forest_draws;
mod fuzz;
mod ground;
mod held;
mod integral_geometry;
mod joint;
mod labels;
mod layering;
mod memory;
mod mistakes;
mod moves;
#[allow(dead_code)] // part of it is for the slow suite and for libFuzzer
#[path = "../mutator/mod.rs"]
mod mutator;
mod open;
mod planning;
mod probe_figures;
mod probes;
mod random_sites;
mod recommended;
mod settings_ends;
mod site;
mod spots;
mod standing_trees;
mod strike;
mod temper;
mod utilities;
mod whole_layouts;
mod zone_laws;
