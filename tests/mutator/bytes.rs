//! Shapes and looks from any bytes: what a coverage-guided fuzzer changes, and what a seed makes. Numbers are coarse, so that
//! corners coincide and edges run along each other as they do on drawn plans.

use rand::RngExt;
use serde_json::{Value, json};
use underturf::rng;

/// Bytes that are taken from the front; zeros when they are at an end.
pub struct Bytes<'d> {
    left: &'d [u8],
    /// So many low bits of every number are dropped.
    coarse: u32,
}

/// Bytes of that number: enough for any shape below.
pub fn of_seed(seed: u64) -> Vec<u8> {
    let rng = &mut rng::stream(seed, 2);
    let length = rng.random_range(1..120);
    (0..length).map(|_| rng.random()).collect()
}

impl<'d> Bytes<'d> {
    pub fn new(data: &'d [u8]) -> Self {
        let mut bytes = Self { left: data, coarse: 0 };
        bytes.coarse = [0, 7, 9, 10][usize::from(bytes.byte() % 4)];
        bytes
    }

    pub fn byte(&mut self) -> u8 {
        let (first, left) = self.left.split_first().unwrap_or((&0, &[]));
        self.left = left;
        *first
    }

    /// A number of -16 to 16.
    pub fn number(&mut self) -> f64 {
        let whole = i16::from_le_bytes([self.byte(), self.byte()]);
        f64::from((whole >> self.coarse) << self.coarse) / 2048.0
    }

    /// A size of -0.25 to 2.3: most may be one, some may not.
    pub fn size(&mut self) -> f64 {
        f64::from(self.byte()) / 100.0 - 0.25
    }

    pub fn point(&mut self) -> [f64; 2] {
        [self.number(), self.number()]
    }

    pub fn points(&mut self, most: u8) -> Vec<[f64; 2]> {
        let count = self.byte() % (most + 1);
        (0..count).map(|_| self.point()).collect()
    }

    /// A dig, or the ground of a probe, as an entry of a document: a disc, a trench, a pit, or the first so many of these.
    fn ground(&mut self, kinds: u8) -> Value {
        match self.byte() % kinds {
            0 => {
                let [x, y] = self.point();
                json!({"x": x, "y": y, "radius": self.size(), "depth": self.size()})
            }
            1 => json!({"path": self.points(5), "width": self.size(), "depth": self.size()}),
            _ => json!({"outline": self.points(8), "depth": self.size()}),
        }
    }

    pub fn digs(&mut self) -> Value {
        (0..1 + self.byte() % 2).map(|_| self.ground(3)).collect()
    }

    /// One to three probes, a quarter of them finds.
    pub fn probes(&mut self) -> Value {
        let count = 1 + self.byte() % 3;
        let mut probe = || {
            let mut probe = self.ground(2);
            let seen = self.byte();
            probe["found"] = json!(seen.is_multiple_of(4));
            if seen.is_multiple_of(8) {
                probe["cover"] = json!(self.size());
            }
            if seen.is_multiple_of(12) {
                probe["azimuth_deg"] = json!(10.0 * self.number());
            }
            if seen % 5 == 1 {
                probe["tool"] = json!(["rod", "pothole", "slit", "spoon"][usize::from(seen % 4)]);
            }
            probe
        };
        (0..count).map(|_| probe()).collect()
    }
}
