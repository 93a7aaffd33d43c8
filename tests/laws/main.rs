//! The laws that the engine keeps: one fast binary, one module for each part of the engine.

mod after_probes;
mod all_evidence;
mod common;
mod decisions;
mod diagnostics;
mod document;
mod effort;
mod examples;
mod fuzz;
mod ground;
mod integral_geometry;
mod joint;
mod labels;
mod layering;
mod memory;
mod metal;
mod metal_evidence;
mod metal_figures;
mod metal_finds;
mod mistakes;
#[allow(dead_code)] // part of it is for the slow suite and for libFuzzer
#[path = "../mutator/mod.rs"]
mod mutator;
mod planning;
mod pools;
mod probe_figures;
mod probes;
mod properties;
mod proposals;
mod random_sites;
mod recommended;
mod scripted;
mod settings_ends;
mod site;
mod small_law;
mod spanning_tree;
mod spanning_tree_draws;
mod spots;
mod standing_trees;
mod strike;
mod tempering;
mod unknown_zones;
mod utilities;
mod whole_layouts;
mod zone_laws;
mod zone_states;
