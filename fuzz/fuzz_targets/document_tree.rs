//! Any tree of values, written as JSON, as a site document: read, and answered where it can be.
#![no_main]

#[path = "../../tests/mutator/mod.rs"]
#[allow(dead_code)] // the mutator itself is for documents made from seeds
mod mutator;

use libfuzzer_sys::fuzz_target;
use underturf::effort::Effort;

fuzz_target!(|data: &[u8]| {
    if let Err(wrong) = mutator::targets::tree(data, Effort::USUAL / 100) {
        panic!("{wrong}");
    }
});
