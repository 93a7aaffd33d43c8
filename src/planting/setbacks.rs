//! How far a tree has to stand from buried lines: published municipal rows, selectable by name.
//!
//! Distances are from the middle of the stem, sideways. Ordinances speak of public mains and services; where a row names
//! classes only those are asked about. Local codes decide; the rows are examples of what has been written into law.

use crate::class::Class;

const M_PER_FT: f64 = 0.3048;

/// One published setback rule.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Setback {
    /// The name it is selected by.
    pub name: &'static str,
    /// As published.
    pub published: &'static str,
    /// Where.
    pub source: &'static str,
    /// Distance for each class that it speaks of, feet.
    lines_ft: &'static [(&'static [Class], f64)],
    /// Distance from water and gas meters, feet.
    meters_ft: Option<f64>,
    /// Whether trees that stay small are exempt (python/docs/trade-values.md, 5.8g: ordinances read exempt these and treat all
    /// others alike).
    pub exempts_small: bool,
}

/// Every class: "any underground utility".
const ANY: &[Class] = &Class::ALL;
/// Water and sewer mains as ordinances mean them: not the pipe of a lawn.
const WATER: &[Class] = &[Class::Reclaimed, Class::Potable, Class::Sewer];
const TRANSMISSION: &[Class] = &[Class::Gas, Class::Electric, Class::Communication];
const SERVICES: &[Class] =
    &[Class::Reclaimed, Class::Potable, Class::Sewer, Class::Gas, Class::Electric, Class::Communication];

impl Setback {
    /// The rows, the default first (python/docs/trade-values.md, 5.8 to 5.8f).
    pub const ALL: [Self; 6] = [
        Self {
            name: "lateral_5ft",
            published: "5 ft lateral from buried water, sewer or other lines; trees that stay small are exempt",
            source: "Colstrip MT 6-5-11; Oak Harbor OH 97; Quincy IL 91.086; Indianola IA",
            lines_ft: &[(ANY, 5.0)],
            meters_ft: None,
            exempts_small: true,
        },
        Self {
            name: "lateral_10ft",
            published: "10 ft lateral; species above 20 ft",
            source: "Vienna WV 907.11; Oxford OH",
            lines_ft: &[(ANY, 10.0)],
            meters_ft: None,
            exempts_small: true,
        },
        Self {
            name: "mains_25ft",
            published: "25 ft from water, sanitary and storm lines, 10 ft from transmission (read here as gas, electric and \
                        communication)",
            source: "Claremore OK 11-312",
            lines_ft: &[(WATER, 25.0), (TRANSMISSION, 10.0)],
            meters_ft: None,
            exempts_small: true,
        },
        Self {
            name: "utility_3ft",
            published: "3 ft from any utility",
            source: "Corry PA 154.139",
            lines_ft: &[(ANY, 3.0)],
            meters_ft: None,
            exempts_small: true,
        },
        Self {
            name: "all_trees_5ft",
            published: "5 ft from each of sewer, water, gas, underground electric and cable; all trees",
            source: "Syracuse NY planting standards",
            lines_ft: &[(SERVICES, 5.0)],
            meters_ft: None,
            exempts_small: false,
        },
        Self {
            name: "meters_6ft",
            published: "6 ft from water and gas meters",
            source: "Los Angeles street-tree spacing",
            lines_ft: &[],
            meters_ft: Some(6.0),
            exempts_small: false,
        },
    ];

    /// The row of that name.
    ///
    /// # Examples
    /// ```
    /// use underturf::class::Class;
    /// use underturf::planting::Setback;
    /// let row = Setback::named("lateral_5ft").expect("a published row");
    /// assert!(row.line_m(Class::Lateral).is_some_and(|m| (m - 5.0 * 0.3048).abs() < 1e-9));
    /// assert_eq!(Setback::named("of my own"), None);
    /// # Ok::<(), Box<dyn std::error::Error>>(())
    /// ```
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|row| row.name == name)
    }

    /// Distance from lines of a class, metres; `None` where the row does not speak of it.
    pub fn line_m(&self, class: Class) -> Option<f64> {
        self.lines_ft.iter().find(|(classes, _)| classes.contains(&class)).map(|(_, feet)| feet * M_PER_FT)
    }

    /// Distance from meters, metres.
    pub fn meter_m(&self) -> Option<f64> {
        self.meters_ft.map(|feet| feet * M_PER_FT)
    }

    /// The greatest distance that it asks for, metres.
    pub fn greatest_m(&self) -> f64 {
        let lines = self.lines_ft.iter().map(|(_, feet)| *feet);
        lines.chain(self.meters_ft).fold(0.0, f64::max) * M_PER_FT
    }

    /// The distances from lines that it asks for with the classes each holds for, metres.
    pub fn rings(&self) -> impl Iterator<Item = (f64, &'static [Class])> {
        self.lines_ft.iter().map(|&(classes, feet)| (feet * M_PER_FT, classes))
    }
}

impl Default for Setback {
    /// 5 ft from any buried line: the row that most ordinances read have (python/docs/trade-values.md, 5.8).
    fn default() -> Self {
        Self::ALL[0]
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    /// python/docs/trade-values.md, 5.8 to 5.8f as printed there in metres, to their digits.
    #[test]
    fn distances_are_those_of_the_published_rows() {
        let row = |name: &str| Setback::named(name).expect("there is such a row");
        for (name, class, metres, digits) in [
            ("lateral_5ft", Class::Lateral, 1.52, 0.005),
            ("lateral_10ft", Class::Sewer, 3.05, 0.005),
            ("mains_25ft", Class::Potable, 7.6, 0.05),
            ("mains_25ft", Class::Gas, 3.05, 0.005),
            ("utility_3ft", Class::Unknown, 0.91, 0.005),
            ("all_trees_5ft", Class::Electric, 1.52, 0.005),
        ] {
            assert_relative_eq!(row(name).line_m(class).expect("spoken of"), metres, epsilon = digits);
        }
        assert_relative_eq!(row("meters_6ft").meter_m().expect("given"), 1.83, epsilon = 0.005);
        assert_eq!(
            row("mains_25ft").line_m(Class::Lateral),
            None,
            "ordinances mean mains, not the pipe of a lawn"
        );
        assert_eq!((Setback::default().name, Setback::named("12ft")), ("lateral_5ft", None));
        assert!(!row("all_trees_5ft").exempts_small && row("lateral_5ft").exempts_small);
    }
}
