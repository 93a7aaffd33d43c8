//! The referee: is the chance that the engine states the chance that comes true? Simulated installers and found networks
//! are piped by laws the engine does not know; its answers are scored beside simple maps fitted to the same truths.
//! Fast tests check the referee itself. The judgement is `#[ignore]`:
//! `cargo test --release --test statistical -- --ignored --nocapture`.

mod adapter;
mod baseline;
mod by_eye;
mod calibration;
mod campaign_record;
mod campaigns;
mod ceiling;
mod crews;
mod digs;
mod draw;
mod ecdf;
mod engine;
mod feeders;
mod forecaster;
mod fuzz;
mod installer;
mod job;
mod labelling;
#[allow(dead_code)] // part of it is for the laws
#[path = "../mutator/mod.rs"]
mod mutator;
mod neighbours;
mod page;
mod pav;
mod plane;
mod planned_probes;
mod probe_law;
mod probes;
mod ranks;
mod sbc;
mod sbc_metal;
mod sbc_zones;
mod scores;
mod trial;
mod truth;
mod unknown_zones;
mod unlabelled;
mod walk;
mod with_probes;
mod zoning_law;
