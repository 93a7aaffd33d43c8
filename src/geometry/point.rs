//! Points and vectors of the flat site plane: metres, x east, y north.

use serde::{Deserialize, Serialize};
use std::ops::{Add, Mul, Neg, Sub};

/// A point of the site plane, or a vector between two: metres, x east, y north.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(from = "[f64; 2]", into = "[f64; 2]")]
pub struct Point {
    /// Metres east.
    pub x: f64,
    /// Metres north.
    pub y: f64,
}

impl Point {
    /// The point (x, y), in metres.
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// The unit vector at `angle_rad` counter-clockwise from x.
    pub fn unit(angle_rad: f64) -> Self {
        Self::new(angle_rad.cos(), angle_rad.sin())
    }

    /// Scalar product.
    pub fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y
    }

    /// The z component of the vector product: positive when `other` lies counter-clockwise of `self`.
    pub fn cross(self, other: Self) -> f64 {
        self.x * other.y - self.y * other.x
    }

    /// Length of the vector, in metres.
    pub fn norm(self) -> f64 {
        self.x.hypot(self.y)
    }

    /// Distance to another point, in metres.
    pub fn distance(self, other: Self) -> f64 {
        (self - other).norm()
    }

    /// The vector turned a quarter counter-clockwise.
    pub fn left(self) -> Self {
        Self::new(-self.y, self.x)
    }

    /// The vector of length one in the same direction, or `None` for a vector without length.
    pub fn direction(self) -> Option<Self> {
        let norm = self.norm();
        (norm > 0.0).then(|| self * (1.0 / norm))
    }

    /// The point that divides the way to `other` at the share `t`.
    pub fn towards(self, other: Self, t: f64) -> Self {
        self + (other - self) * t
    }
}

impl Add for Point {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self::new(self.x + other.x, self.y + other.y)
    }
}

impl Sub for Point {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self::new(self.x - other.x, self.y - other.y)
    }
}

impl Mul<f64> for Point {
    type Output = Self;
    fn mul(self, factor: f64) -> Self {
        Self::new(self.x * factor, self.y * factor)
    }
}

impl Neg for Point {
    type Output = Self;
    fn neg(self) -> Self {
        Self::new(-self.x, -self.y)
    }
}

impl From<[f64; 2]> for Point {
    fn from([x, y]: [f64; 2]) -> Self {
        Self::new(x, y)
    }
}

impl From<Point> for [f64; 2] {
    fn from(point: Point) -> Self {
        [point.x, point.y]
    }
}
