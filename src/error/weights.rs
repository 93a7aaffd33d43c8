//! What is wrong with consequence weights that somebody gave.

use crate::site::spelling::hint;

/// One fault of given weights.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum WeightFault {
    /// A name that is given more than once.
    #[error("{name} is given more than once")]
    Repeated {
        /// The name.
        name: String,
    },
    /// A weight that is negative or no finite number.
    #[error("{name} = {value} is no number from 0 up")]
    OutOfRange {
        /// What it is the weight of.
        name: String,
        /// The value.
        value: f64,
    },
    /// A name that neither a class has nor the factor for machines.
    #[error("there is no class {name:?}; there are {}{}", listed(known), hint(name, known.iter().copied()))]
    NoSuchClass {
        /// The name given.
        name: String,
        /// The names there are; the last is no class but the factor for machines.
        known: Vec<&'static str>,
    },
}

/// `gas, electric, and machine`.
fn listed(known: &[&str]) -> String {
    match known {
        [] => "none".to_owned(),
        [one] => (*one).to_owned(),
        [classes @ .., factor] => format!("{}, and {factor}", classes.join(", ")),
    }
}
