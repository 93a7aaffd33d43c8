//! A generator that plays a script, for tests of places where a branch hangs on a draw: the outcome is worked out by hand, and
//! the number of words that a place takes is part of what is held. It panics when the script is at its end, and when it is
//! dropped before.

mod chains;
mod draws;

use rand::TryRng;
use std::collections::VecDeque;
use std::convert::Infallible;

/// The generator.
pub struct Scripted {
    left: VecDeque<u64>,
}

impl Scripted {
    /// Plays these words.
    pub fn words(script: &[u64]) -> Self {
        Self { left: script.iter().copied().collect() }
    }

    /// Plays shares of the whole range of a word, 0 or more and less than 1. `random::<f64>()` then gives the share itself
    /// (where it is a multiple of 2^-53), and `random_range(0..n)` the integer part of n times the share (where n is far below
    /// 2^32 and the share no near miss of a multiple of 1 / n).
    pub fn shares(script: &[f64]) -> Self {
        let word = |share: &f64| {
            assert!((0.0..1.0).contains(share), "{share} is no share");
            ((share * (1u64 << 53) as f64) as u64) << 11
        };
        Self { left: script.iter().map(word).collect() }
    }

    fn next(&mut self) -> u64 {
        self.left.pop_front().expect("more is drawn than the script holds")
    }
}

impl TryRng for Scripted {
    type Error = Infallible;

    /// The upper half of the next word.
    fn try_next_u32(&mut self) -> Result<u32, Infallible> {
        Ok((self.next() >> 32) as u32)
    }

    fn try_next_u64(&mut self) -> Result<u64, Infallible> {
        Ok(self.next())
    }

    fn try_fill_bytes(&mut self, to: &mut [u8]) -> Result<(), Infallible> {
        for chunk in to.chunks_mut(8) {
            chunk.copy_from_slice(&self.next().to_le_bytes()[..chunk.len()]);
        }
        Ok(())
    }
}

impl Drop for Scripted {
    fn drop(&mut self) {
        if !std::thread::panicking() {
            assert!(self.left.is_empty(), "{} words of the script were not drawn", self.left.len());
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::{Rng, RngExt};

    #[test]
    fn a_script_is_played_word_by_word() {
        let mut rng = Scripted::words(&[7, 1 << 32, 0x0807_0605_0403_0201]);
        assert_eq!((rng.next_u64(), rng.next_u32()), (7, 1));
        let mut bytes = [0; 3];
        rng.fill_bytes(&mut bytes);
        assert_eq!(bytes, [1, 2, 3]);
    }

    #[test]
    fn shares_are_what_is_drawn() {
        let mut rng = Scripted::shares(&[0.0, 0.375, 0.75, 0.3, 0.99]);
        assert_eq!([(); 3].map(|()| rng.random::<f64>()), [0.0, 0.375, 0.75]);
        assert_eq!((rng.random_range(0..5usize), rng.random_range(1..4usize)), (1, 3));
    }

    #[test]
    #[should_panic(expected = "more is drawn than the script holds")]
    fn an_exhausted_script_panics() {
        let mut rng = Scripted::shares(&[0.5]);
        let _ = (rng.next_u64(), rng.next_u64());
    }

    #[test]
    #[should_panic(expected = "2 words of the script were not drawn")]
    fn a_script_that_is_not_played_out_panics() {
        let mut rng = Scripted::shares(&[0.5; 3]);
        let _ = rng.next_u64();
    }
}
