//! Any bytes as probes of a small site: refused or answered.
#![no_main]

#[path = "../../tests/mutator/mod.rs"]
#[allow(dead_code)] // the mutator itself is for documents made from seeds
mod mutator;

use libfuzzer_sys::fuzz_target;
use underturf::effort::Effort;

fuzz_target!(|data: &[u8]| {
    if let Err(wrong) = mutator::ground::probes(data, Effort::USUAL / 100) {
        panic!("{wrong}");
    }
});
