//! Random streams. One ChaCha8 stream per draw, named by (seed, stream), so that a result depends on the seed
//! alone and never on the number of threads or on the order in which they work.

use rand::SeedableRng;
pub use rand::rngs::ChaCha8Rng as Stream;

/// The random stream number `stream` of `seed`. Streams of one seed do not overlap
/// (ChaCha's 64-bit stream number; each stream is 2^64 blocks long).
pub fn stream(seed: u64, stream: u64) -> Stream {
    let mut rng = Stream::seed_from_u64(seed);
    rng.set_stream(stream);
    rng
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::RngExt;

    #[test]
    fn a_stream_is_named_by_seed_and_number() {
        let draw = |seed, k| stream(seed, k).random::<u64>();
        assert_eq!(draw(7, 3), draw(7, 3));
        assert_ne!(draw(7, 3), draw(7, 4));
        assert_ne!(draw(7, 3), draw(8, 3));
    }
}
