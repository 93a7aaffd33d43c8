//! Any bytes as the text of a site document, TOML and JSON: read, and answered where they can be.
#![no_main]

#[path = "../../tests/mutator/mod.rs"]
#[allow(dead_code)] // the mutator itself is for documents made from seeds
mod mutator;

use libfuzzer_sys::fuzz_target;
use underturf::effort::Effort;

fuzz_target!(|data: &[u8]| {
    if let Err(wrong) = mutator::targets::text(data, Effort::USUAL / 100) {
        panic!("{wrong}");
    }
});
