//! The simulator's own dice: a named generator, so that job number k is the same job for ever, and the few laws drawn from.

use crate::plane::{Xy, xy};
use rand::{RngExt, SeedableRng};
use rand_distr::{Distribution, Gamma, StandardNormal, Triangular};

/// The one source of chance in the simulator.
pub struct Dice(rand::rngs::ChaCha20Rng);

impl Dice {
    pub fn new(seed: u64) -> Self {
        Dice(rand::rngs::ChaCha20Rng::seed_from_u64(seed))
    }
    /// Uniform on [lo, hi).
    pub fn uniform(&mut self, lo: f64, hi: f64) -> f64 {
        lo + (hi - lo) * self.0.random::<f64>()
    }
    pub fn chance(&mut self, p: f64) -> bool {
        self.0.random::<f64>() < p
    }
    /// An angle, uniform on the full turn, radians.
    pub fn bearing(&mut self) -> f64 {
        self.uniform(0.0, std::f64::consts::TAU)
    }
    /// Whole number in lo..=hi.
    pub fn whole(&mut self, lo: usize, hi: usize) -> usize {
        self.0.random_range(lo..=hi)
    }
    pub fn normal(&mut self, sd: f64) -> f64 {
        let z: f64 = StandardNormal.sample(&mut self.0);
        z * sd
    }
    pub fn scatter(&mut self, sd: f64) -> Xy {
        xy(self.normal(sd), self.normal(sd))
    }
    pub fn triangular(&mut self, lo: f64, mode: f64, hi: f64) -> f64 {
        Triangular::new(lo, hi, mode).expect("lo <= mode <= hi").sample(&mut self.0)
    }
    /// Gamma of mean one and the given coefficient of variation.
    pub fn gamma_about_one(&mut self, cv: f64) -> f64 {
        let shape = 1.0 / (cv * cv);
        Gamma::new(shape, 1.0 / shape).expect("cv > 0").sample(&mut self.0)
    }
    /// Index drawn in proportion to `weights`.
    pub fn pick(&mut self, weights: &[f64]) -> usize {
        let mut u = self.uniform(0.0, weights.iter().sum());
        for (i, w) in weights.iter().enumerate() {
            u -= w;
            if u < 0.0 {
                return i;
            }
        }
        weights.len() - 1
    }
}
