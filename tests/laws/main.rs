//! The laws that the engine keeps: one fast binary, one module for each part of the engine.

mod common;
mod forest;
mod layering;
mod site;
mod strike;
