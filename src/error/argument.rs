//! Arguments that break their rule: which one, the value given, and what is allowed.
//!
//! Names are those of the parameters and fields of this crate. A range is data, so a caller may read it or word it anew; it
//! is put into words here and nowhere else.

use super::numbers::thousands;
use std::fmt;
use std::ops::Bound;

/// The numbers that an argument may take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Allowed {
    /// Least number, itself in or out.
    pub least: Bound<f64>,
    /// Greatest number, itself in or out.
    pub greatest: Bound<f64>,
    /// Unit of both; empty for pure numbers.
    pub unit: &'static str,
}

impl Allowed {
    /// Every number from one to another, both in.
    pub const fn within(least: f64, greatest: f64) -> Self {
        Self { least: Bound::Included(least), greatest: Bound::Included(greatest), unit: "" }
    }

    /// Every number above one, up to another that is in.
    pub const fn above(least: f64, greatest: f64) -> Self {
        Self { least: Bound::Excluded(least), greatest: Bound::Included(greatest), unit: "" }
    }

    /// Every finite number from one up.
    pub const fn from(least: f64) -> Self {
        Self { least: Bound::Included(least), greatest: Bound::Excluded(f64::INFINITY), unit: "" }
    }

    /// Every finite number above nought.
    pub const fn positive() -> Self {
        Self { least: Bound::Excluded(0.0), greatest: Bound::Excluded(f64::INFINITY), unit: "" }
    }

    /// Every number from one up to another that is out.
    pub const fn below(least: f64, greatest: f64) -> Self {
        Self { least: Bound::Included(least), greatest: Bound::Excluded(greatest), unit: "" }
    }

    /// The same numbers in metres.
    pub const fn metres(self) -> Self {
        Self { unit: " m", ..self }
    }

    /// Whether a number is allowed. What is no number is not.
    pub fn contains(&self, value: f64) -> bool {
        let above = match self.least {
            Bound::Included(least) => value >= least,
            Bound::Excluded(least) => value > least,
            Bound::Unbounded => !value.is_nan(),
        };
        let below = match self.greatest {
            Bound::Included(greatest) => value <= greatest,
            Bound::Excluded(greatest) => value < greatest,
            Bound::Unbounded => !value.is_nan(),
        };
        above && below
    }

    /// Refuses a value of the argument of that name that is not allowed.
    ///
    /// # Errors
    /// [`ArgumentError::OutOfRange`].
    pub fn check(self, name: &'static str, value: f64) -> Result<(), ArgumentError> {
        if self.contains(value) {
            Ok(())
        } else {
            Err(ArgumentError::OutOfRange { name, value, allowed: self })
        }
    }
}

/// `from 0 to 1`, `above 0 and at most 50 m`, `at least 0 and finite`.
impl fmt::Display for Allowed {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let unit = self.unit;
        let infinite = |bound: f64| bound == f64::INFINITY;
        match (self.least, self.greatest) {
            (Bound::Included(low), Bound::Included(high)) => return write!(f, "from {low} to {high}{unit}"),
            (Bound::Included(low), _) => write!(f, "at least {low}")?,
            (Bound::Excluded(low), _) => write!(f, "above {low}")?,
            (Bound::Unbounded, _) => write!(f, "a number")?,
        }
        match self.greatest {
            Bound::Included(high) => write!(f, " and at most {high}{unit}"),
            Bound::Excluded(high) if infinite(high) => write!(f, "{unit} and finite"),
            Bound::Excluded(high) => write!(f, " and below {high}{unit}"),
            Bound::Unbounded => write!(f, "{unit}"),
        }
    }
}

/// What a grid of cells is made for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum GridUse {
    /// A map of strike chances.
    Map,
    /// Places to choose spots from.
    Spots,
    /// Places to choose probes from.
    Probes,
}

impl GridUse {
    const fn words(self) -> &'static str {
        match self {
            Self::Map => "cells in a map",
            Self::Spots => "cells to choose spots from",
            Self::Probes => "places for probes within reach of the digs",
        }
    }
}

/// An argument that breaks its rule.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ArgumentError {
    /// A number outside its range, or no number.
    #[error("{name} is {value}; it must be {allowed}")]
    OutOfRange {
        /// Name of the argument.
        name: &'static str,
        /// The value given.
        value: f64,
        /// What is allowed.
        allowed: Allowed,
    },
    /// A number of a list outside its range, or no number.
    #[error("{name}[{index}] is {value}; it must be {allowed}")]
    InList {
        /// Name of the argument.
        name: &'static str,
        /// Place in the list, from 0.
        index: usize,
        /// The value given.
        value: f64,
        /// What is allowed.
        allowed: Allowed,
    },
    /// Too few or too many of what is counted.
    #[error("{name} is {count}; it must be from {least} to {most}")]
    Count {
        /// Name of the argument.
        name: &'static str,
        /// The number given.
        count: usize,
        /// Fewest.
        least: usize,
        /// Most.
        most: usize,
    },
    /// More stems of one tree than the rule of combined stems was read for, or none.
    #[error("stems_m has {stems} stems; the rule holds for 1 to {most}")]
    Stems {
        /// The number given.
        stems: usize,
        /// Most.
        most: usize,
    },
    /// Fewer draws than an error can be told of.
    #[error("draws is {draws}; it must be at least {least}: one draw has no error estimate")]
    TooFewDraws {
        /// The number given.
        draws: usize,
        /// Fewest.
        least: usize,
    },
    /// More finds than can be summed over exactly.
    #[error("{finds} probes found a line; at most {most} finds can be summed over exactly")]
    TooManyFinds {
        /// Probes that found a line.
        finds: usize,
        /// Most.
        most: usize,
    },
    /// A grid so fine that it has more cells than can be looked at.
    #[error("cell_m is {cell_m}, which makes {} {}; at most {} are looked at: take larger cells", thousands(*cells), used.words(), thousands(*most as f64))]
    TooManyCells {
        /// Side of a cell, metres.
        cell_m: f64,
        /// Cells that it makes.
        cells: f64,
        /// Most.
        most: usize,
        /// What the grid is for.
        used: GridUse,
    },
    /// Cells so wide that nothing lies within reach.
    #[error("cell_m is {cell_m}; it must be above 0 and at most reach_m, which is {reach_m}")]
    CellBeyondReach {
        /// Side of a cell, metres.
        cell_m: f64,
        /// How far a dig may go, metres.
        reach_m: f64,
    },
    /// A slit that is wider than it is long, or has no width.
    #[error(
        "slit_m is {width_m} m wide; its width must be above 0 and at most its length, which is {length_m} m"
    )]
    SlitWidth {
        /// Its width, metres.
        width_m: f64,
        /// Its length, metres.
        length_m: f64,
    },
    /// A slit whose length is out of range.
    #[error("slit_m is {length_m} m long; its length must be {allowed}")]
    SlitLength {
        /// Its length, metres.
        length_m: f64,
        /// What is allowed.
        allowed: Allowed,
    },
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_range_says_which_ends_are_in_it() {
        let said = |allowed: Allowed| allowed.to_string();
        assert_eq!(said(Allowed::within(0.0, 1.0)), "from 0 to 1");
        assert_eq!(said(Allowed::above(0.0, 50.0).metres()), "above 0 and at most 50 m");
        assert_eq!(said(Allowed::from(0.0)), "at least 0 and finite");
        assert_eq!(said(Allowed::below(0.0, 1.0)), "at least 0 and below 1");
    }

    /// The ends are told apart, and what is no number is in no range.
    #[test]
    fn the_ends_of_a_range_are_in_it_or_out_as_it_says() {
        let ends = |allowed: Allowed| [0.0, 1.0].map(|value| allowed.contains(value));
        assert_eq!(ends(Allowed::within(0.0, 1.0)), [true, true]);
        assert_eq!(ends(Allowed::above(0.0, 1.0)), [false, true]);
        assert_eq!(ends(Allowed::below(0.0, 1.0)), [true, false]);
        assert!(!Allowed::from(0.0).contains(f64::INFINITY));
        for allowed in [Allowed::within(0.0, 1.0), Allowed::above(0.0, 1.0), Allowed::from(0.0)] {
            assert!(!allowed.contains(f64::NAN) && !allowed.contains(-0.1) && allowed.contains(0.5));
        }
    }

    #[test]
    fn a_refusal_names_the_argument_its_value_and_the_range() {
        let refused = Allowed::above(0.0, 50.0).metres().check("reach_m", 60.0);
        let said = refused.map_err(|error| error.to_string());
        assert_eq!(said, Err("reach_m is 60; it must be above 0 and at most 50 m".to_owned()));
    }
}
