//! Numbers as people write them: the one formatter of every fault and warning.

use super::units::Units;

/// Digits that are kept of a number as it was typed. Numerical choice: more than anybody types, fewer than rounding spoils.
const TYPED: i32 = 10;

/// Digits that are kept of a number that was worked out. Numerical choice: a tape is read to no more.
const WORKED_OUT: i32 = 3;

/// A number as it was typed: 3.05, not 3.0500000000000003.
pub(super) fn typed(value: f64) -> String {
    rounded(value, TYPED).to_string()
}

/// A number that was worked out, to three digits: 0.412, 12.3, 1230.
pub(super) fn about(value: f64) -> String {
    rounded(value, WORKED_OUT).to_string()
}

/// A length in metres, in the document's units with their name: `0.412 m`, `12.3 ft`.
pub(super) fn length(metres: f64, units: Units) -> String {
    format!("{} {}", about(metres / units.metres_per_unit()), units.name())
}

/// A limit that is round in metres, in the document's units: `6 m`, `19.7 ft`.
pub(super) fn limit(metres: f64, units: Units) -> String {
    length(metres, units)
}

/// A place in the document's units: `(3.05, 12)`.
pub(super) fn place(at: [f64; 2]) -> String {
    format!("({}, {})", about_place(at[0]), about_place(at[1]))
}

/// Coordinates to the millimetre, or thousandth of a foot.
fn about_place(value: f64) -> String {
    let rounded = (value * 1e3).round() / 1e3;
    (rounded + 0.0).to_string() // -0 reads 0
}

/// The nearest number with so many digits; whole numbers keep all of theirs.
fn rounded(value: f64, digits: i32) -> f64 {
    if value == 0.0 || !value.is_finite() {
        return value + 0.0;
    }
    let after_point = digits - 1 - value.abs().log10().floor() as i32;
    if after_point <= 0 {
        return value.round();
    }
    // The shortest text of that many places is what a person would write.
    format!("{value:.*}", after_point.min(300) as usize).parse().unwrap_or(value)
}

/// Names as a list that stays short: `h1, h2, h3 and 14 more`.
pub(super) fn listed(names: &[String]) -> String {
    const MOST: usize = 6;
    match names.len() {
        0 => String::new(),
        1 => names[0].clone(),
        n if n <= MOST => format!("{} and {}", names[..n - 1].join(", "), names[n - 1]),
        n => format!("{} and {} more", names[..MOST - 1].join(", "), n - (MOST - 1)),
    }
}

/// `1 head`, `2 heads`.
pub(super) fn counted(count: usize, thing: &str) -> String {
    format!("{count} {thing}{}", if count == 1 { "" } else { "s" })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Catches numbers printed with the dust of binary arithmetic, and digits nobody measured.
    #[test]
    fn numbers_read_as_people_write_them() {
        for (value, text) in [
            (3.050_000_000_000_000_3, "3.05"),
            (0.1 + 0.2, "0.3"),
            (-0.1, "-0.1"),
            (18.0, "18"),
            (4_000_000_000.0, "4000000000"),
            (0.0, "0"),
            (-0.0, "0"),
            (f64::INFINITY, "inf"),
            (1e-7, "0.0000001"),
        ] {
            assert_eq!(typed(value), text);
        }
        for (value, text) in
            [(0.412_34, "0.412"), (12.345, "12.3"), (1234.5, "1235"), (0.05, "0.05"), (99.96, "100")]
        {
            assert_eq!(about(value), text);
        }
        assert_eq!(length(0.3048, Units::Feet), "1 ft");
        assert_eq!(place([3.050_000_000_000_000_3, -0.000_04]), "(3.05, 0)");
        let names: Vec<String> = (1..=9).map(|k| format!("h{k}")).collect();
        assert_eq!(listed(&names[..2]), "h1 and h2");
        assert_eq!(listed(&names), "h1, h2, h3, h4, h5 and 4 more");
    }
}
