//! Expected loss: consequence weights times chances. What a struck line costs differs by orders of magnitude between an
//! empty lateral and gas.
//!
//! # The weights are an order, not a measurement
//! Nobody has published what a strike of each class costs on planted ground (common practice, no source). The weights that
//! are shipped mean an **order** only: gas and electric before sewer, communication, potable and reclaimed water and mainline
//! before laterals and control wire before unknown lines (most of which are abandoned). Their plain numbers put whole steps
//! of that order apart; who knows better costs sets their own. A loss has no unit and compares digs of one table.

use super::dig::look;
use crate::class::Class;
use crate::error::{Error, WeightFault};
use crate::inference::Layouts;
use crate::site::Dig;
use crate::site::document::Method;
use crate::strike::{DrawChances, RunIndex};

/// The name under which the factor for digs by machine stands among the weights.
pub const MACHINE: &str = "machine";

/// What a strike costs, by class.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Weights {
    /// Weight of each class, in the order of [`Class::ALL`].
    pub by_class: [f64; Class::ALL.len()],
    /// How many times as bad a strike by machine is: hands meet a line, a bucket or an auger takes it along. The chance of a
    /// strike is the same.
    pub machine: f64,
}

impl Default for Weights {
    /// An order in plain numbers (common practice, no source): see the head of this file.
    fn default() -> Self {
        let of = |class: &Class| match class {
            Class::Gas | Class::Electric => 100.0,
            Class::Sewer | Class::Communication => 20.0,
            Class::Potable | Class::Reclaimed | Class::Mainline => 10.0,
            Class::Lateral | Class::ControlWire => 2.0,
            Class::Unknown => 1.0,
        };
        Self { by_class: std::array::from_fn(|k| of(&Class::ALL[k])), machine: 2.0 }
    }
}

impl Weights {
    /// The default weights with some replaced: by the name of the class, or `machine` for the factor.
    ///
    /// # Errors
    /// [`Error::BadWeights`] naming every name that is no class, every repeated one, and every number that is negative or not
    /// finite.
    ///
    /// # Examples
    /// ```
    /// use underturf::class::Class;
    /// use underturf::decision::Weights;
    /// let weights = Weights::with([("gas", 300.0)])?;
    /// assert_eq!(weights.by_class[Class::Gas as usize], 300.0);
    ///
    /// let said = Weights::with([("gass", 1.0), ("lateral", -2.0)]).unwrap_err().to_string();
    /// assert!(said.contains("did you mean \"gas\"?") && said.contains("lateral = -2"), "every fault at once");
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn with<'a>(given: impl IntoIterator<Item = (&'a str, f64)>) -> Result<Self, Error> {
        let (mut weights, mut faults, mut seen) = (Self::default(), Vec::new(), Vec::new());
        for (name, value) in given {
            if seen.contains(&name) {
                faults.push(WeightFault::Repeated { name: name.to_owned() });
            }
            seen.push(name);
            if !(value.is_finite() && value >= 0.0) {
                faults.push(WeightFault::OutOfRange { name: name.to_owned(), value });
            }
            match Class::from_name(name) {
                Some(class) => weights.by_class[class as usize] = value,
                None if name == MACHINE => weights.machine = value,
                None => {
                    let known = Class::ALL.into_iter().map(Class::name).chain([MACHINE]).collect();
                    faults.push(WeightFault::NoSuchClass { name: name.to_owned(), known });
                }
            }
        }
        if faults.is_empty() { Ok(weights) } else { Err(Error::BadWeights { faults }) }
    }

    /// The weights for one method, nothing for classes that are not assessed.
    pub fn of(&self, method: Method, assessed: &[bool; Class::ALL.len()]) -> [f64; Class::ALL.len()] {
        let factor = if method == Method::Machine { self.machine } else { 1.0 };
        std::array::from_fn(|k| if assessed[k] { factor * self.by_class[k] } else { 0.0 })
    }
}

/// An expected loss; without a unit.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Loss {
    /// Sum over assessed classes of weight times chance that a line of the class is struck.
    pub loss: f64,
    /// Its Monte Carlo standard error.
    pub error: f64,
}

impl Loss {
    /// Mean and standard error of the losses of single draws, the error so many times as large as for independent ones.
    pub fn of(draws: &[f64], wider: f64) -> Self {
        let n = draws.len() as f64;
        let mean = draws.iter().sum::<f64>() / n.max(1.0);
        let squares = draws.iter().map(|x| (x - mean).powi(2)).sum::<f64>();
        let error = if n > 1.0 { wider * (squares / (n * (n - 1.0))).sqrt() } else { f64::INFINITY };
        Self { loss: mean, error }
    }
}

/// By how much the error of a mean over these draws exceeds that over independent ones.
pub fn widening(layouts: &Layouts) -> f64 {
    (layouts.draws().len() as f64 / layouts.effective_draws()).max(1.0).sqrt()
}

/// For each draw, the loss of one dig: weights times the chances of striking each class, marks summed over.
pub fn loss_by_draw(layouts: &Layouts, index: &RunIndex, weights: &Weights, dig: &Dig) -> Vec<f64> {
    let chances = index.by_draw(layouts.prior(), &look(dig), layouts.findings());
    let weights = weights.of(dig.method, layouts.assessed());
    chances.iter().map(|draw| weighted(&weights, draw)).collect()
}

/// Weights times chances of one draw.
pub(super) fn weighted(weights: &[f64; Class::ALL.len()], draw: &DrawChances) -> f64 {
    weights.iter().zip(draw.by_class).map(|(weight, chance)| weight * chance).sum()
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    #[test]
    fn the_shipped_weights_keep_their_order() {
        let of = |class: Class| Weights::default().by_class[class as usize];
        let steps: [&[Class]; 5] = [
            &[Class::Gas, Class::Electric],
            &[Class::Sewer, Class::Communication],
            &[Class::Potable, Class::Reclaimed, Class::Mainline],
            &[Class::Lateral, Class::ControlWire],
            &[Class::Unknown],
        ];
        assert_eq!(steps.iter().map(|step| step.len()).sum::<usize>(), Class::ALL.len());
        for pair in steps.windows(2) {
            assert!(pair[0].iter().all(|&above| pair[1].iter().all(|&below| of(above) > of(below))));
        }
    }

    #[test]
    fn every_fault_of_given_weights_is_named() {
        let given =
            [("gas", -1.0), ("steam", 3.0), ("lateral", f64::NAN), ("machine", f64::INFINITY), ("gas", 5.0)];
        let Err(Error::BadWeights { faults }) = Weights::with(given) else { panic!("faults were expected") };
        let all = faults.iter().map(ToString::to_string).collect::<Vec<_>>().join("\n");
        assert_eq!(faults.len(), 5, "{all}");
        for words in [
            "gas = -1",
            "no class \"steam\"",
            "lateral = NaN",
            "machine = inf",
            "gas is given more than once",
        ] {
            assert!(all.contains(words), "{words} in {all}");
        }
        let weights = Weights::with([("gas", 7.0), ("machine", 3.0)]).expect("sound");
        assert_eq!((weights.by_class[Class::Gas as usize], weights.machine), (7.0, 3.0));
        assert_eq!(
            weights.by_class[Class::Lateral as usize],
            Weights::default().by_class[Class::Lateral as usize]
        );
    }

    /// Mean and standard error of 1, 2, 3, 6: mean 3, squared deviations 14, error sqrt(14 / 12).
    #[test]
    fn error_of_a_mean_is_the_textbook_one() {
        let loss = Loss::of(&[1.0, 2.0, 3.0, 6.0], 2.0);
        assert_relative_eq!(loss.loss, 3.0, epsilon = 1e-12);
        assert_relative_eq!(loss.error, 2.0 * (14.0f64 / 12.0).sqrt(), epsilon = 1e-12);
        assert!(Loss::of(&[1.0], 1.0).error.is_infinite(), "one draw has no error estimate");
    }

    #[test]
    fn machines_cost_more_and_unassessed_classes_nothing() {
        let mut assessed = [true; Class::ALL.len()];
        assessed[Class::Gas as usize] = false;
        let (hand, machine) = (
            Weights::default().of(Method::Hand, &assessed),
            Weights::default().of(Method::Machine, &assessed),
        );
        assert_eq!(hand[Class::Gas as usize], 0.0);
        assert!(hand.iter().zip(machine).all(|(h, m)| m == 2.0 * h));
    }
}
