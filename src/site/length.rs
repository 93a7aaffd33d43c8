//! Lengths as people write them: a number, or a text with its unit. One grammar, for documents, Python and the command line.
//!
//! ```text
//! length   = [sign] ( feet [inches] | inches | metric | yards | number )
//! feet     = number ( ' | ft | foot | feet )          a bare number after feet counts inches: 14'6
//! inches   = number ( " | '' | in | inch | inches )   less than 12 after feet
//! metric   = number ( mm | cm | m | metre(s) | meter(s) and so on )
//! yards    = number ( yd | yard | yards )
//! number   = 12 | 0.3 | 1/2 | 3 1/2 | 3-1/2 | 3½
//! ```
//! Prime marks, typographic quotes and fractions of Unicode count as what they look like; case and blanks do not matter. A
//! number without a unit is in the unit of the document (in Python: metres). Commas are refused, since half the world reads
//! `1,500` as one and a half; so are survey feet, which nobody means on a lawn.

use super::units::Units;
use std::fmt;

/// Metres in a foot: 0.3048 exactly (international yard and pound agreement, 1959).
const FOOT_M: f64 = Units::Feet.metres_per_unit();

/// Longest text that is read, characters: no length is longer, and a message repeats no more.
const LONGEST: usize = 60;

/// A length that was written as a text.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Length {
    /// A number without a unit: in the unit of whoever reads it.
    Bare(f64),
    /// Metres.
    Metres(f64),
    /// Feet: a length in feet, or feet and inches.
    Feet(f64),
    /// Inches alone.
    Inches(f64),
}

/// Why a text is no length. Each says what to write instead.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum LengthError {
    /// It follows no line of the grammar.
    #[error("{text:?} is not a length; write 0.3 m, 30 cm, 2 ft, 14' 6\" or 3 1/2 in")]
    NotALength {
        /// The text.
        text: String,
    },
    /// It holds a comma.
    #[error(
        "{text:?} has a comma, which some read as a decimal point and others as a mark of thousands; write {}",
        readings.join(" or ")
    )]
    Comma {
        /// The text.
        text: String,
        /// What may be meant, without a comma.
        readings: Vec<String>,
    },
    /// It is in survey feet.
    #[error(
        "{text:?} is in survey feet; write international feet, 14.5 ft: the two differ by 2 mm in a kilometre, and survey feet \
         are retired since 2023 (NIST)"
    )]
    SurveyFeet {
        /// The text.
        text: String,
    },
    /// Its unit is none that is read.
    #[error("{text:?} has the unit {unit:?}; lengths are read in mm, cm, m, in, ft and yd")]
    UnknownUnit {
        /// The text.
        text: String,
        /// The unit.
        unit: String,
    },
    /// Feet that are not whole, or twelve inches and more beside them.
    #[error("{text:?} mixes feet and inches; beside inches, feet are whole and inches are less than 12")]
    FeetAndInches {
        /// The text.
        text: String,
    },
    /// A number too large to be held.
    #[error("{text:?} is too large")]
    TooLarge {
        /// The text.
        text: String,
    },
}

impl Length {
    /// Reads a text.
    ///
    /// # Errors
    /// A [`LengthError`] that says what to write instead.
    ///
    /// # Examples
    /// ```
    /// use underturf::site::length::Length;
    /// use underturf::site::Units;
    /// let length = Length::read("14' 6\"")?;
    /// assert_eq!(length.in_units(Units::Feet), 14.5);
    /// assert_eq!(length.in_units(Units::Metres), 14.5 * 0.3048);
    /// assert_eq!(Length::read("30cm")?.in_units(Units::Metres), 0.3);
    /// # Ok::<(), underturf::site::length::LengthError>(())
    /// ```
    pub fn read(text: &str) -> Result<Self, LengthError> {
        if let Some((end, _)) = text.char_indices().nth(LONGEST) {
            return Err(LengthError::NotALength { text: format!("{}...", &text[..end]) });
        }
        let plain = plain(text);
        let (negative, rest) = match plain.strip_prefix('-') {
            Some(rest) => (true, rest.trim_start()),
            None => (false, plain.strip_prefix('+').map_or(plain.as_str(), str::trim_start)),
        };
        comma(text, &plain)?;
        let length = magnitude(rest, text)?;
        let turn = |value: f64| if negative { -value } else { value };
        let length = match length {
            Self::Bare(value) => Self::Bare(turn(value)),
            Self::Metres(value) => Self::Metres(turn(value)),
            Self::Feet(value) => Self::Feet(turn(value)),
            Self::Inches(value) => Self::Inches(turn(value)),
        };
        let finite = length.in_units(Units::Metres).is_finite();
        if finite { Ok(length) } else { Err(LengthError::TooLarge { text: text.to_owned() }) }
    }

    /// The length in a unit. A number without a unit counts in it.
    pub fn in_units(self, units: Units) -> f64 {
        match (self, units) {
            (Self::Bare(value), _)
            | (Self::Metres(value), Units::Metres)
            | (Self::Feet(value), Units::Feet) => value,
            (Self::Feet(value), Units::Metres) => value * FOOT_M,
            (Self::Inches(value), Units::Metres) => inches_m(value),
            (Self::Inches(value), Units::Feet) => feet_of(inches_m(value)),
            (Self::Metres(value), Units::Feet) => feet_of(value),
        }
    }
}

/// Metres of inches: 254 and 10,000 are exact, so that decimal inches are rounded once.
fn inches_m(inches: f64) -> f64 {
    inches * 254.0 / 10_000.0
}

/// Feet whose product with the foot is that many metres, to the last bit where there is such a number.
fn feet_of(metres: f64) -> f64 {
    let near = metres / FOOT_M;
    let exact = [near, near.next_up(), near.next_down()].into_iter().find(|feet| feet * FOOT_M == metres);
    exact.unwrap_or(near)
}

/// The text with every mark in its plain form: small letters, single blanks, ASCII quotes, dashes and fractions.
fn plain(text: &str) -> String {
    let mut plain = String::with_capacity(text.len());
    for letter in text.chars().flat_map(char::to_lowercase) {
        match letter {
            '\u{2032}' | '\u{2018}' | '\u{2019}' | '\u{b4}' | '`' => plain.push('\''),
            '\u{2033}' | '\u{201c}' | '\u{201d}' => plain.push('"'),
            '\u{2212}' | '\u{2010}' | '\u{2011}' | '\u{2013}' => plain.push('-'),
            '\u{2044}' => plain.push('/'),
            _ => match FRACTIONS.iter().find(|(mark, _)| *mark == letter) {
                Some((_, spelled)) => {
                    plain.push(' ');
                    plain.push_str(spelled);
                    plain.push(' ');
                }
                None => plain.push(letter),
            },
        }
    }
    plain.replace("''", "\"").split_whitespace().collect::<Vec<_>>().join(" ")
}

const FRACTIONS: &[(char, &str)] = &[
    ('\u{bd}', "1/2"),
    ('\u{bc}', "1/4"),
    ('\u{be}', "3/4"),
    ('\u{2153}', "1/3"),
    ('\u{2154}', "2/3"),
    ('\u{215b}', "1/8"),
    ('\u{215c}', "3/8"),
    ('\u{215d}', "5/8"),
    ('\u{215e}', "7/8"),
];

/// Refuses a comma within a length, with what may be meant.
fn comma(text: &str, plain: &str) -> Result<(), LengthError> {
    let is_length = |plain: &&str| magnitude(plain.trim_start_matches(['-', '+', ' ']), text).is_ok();
    let mut parts = plain.split(',');
    let thousands = parts.next().is_some_and(|first| first.ends_with(|c: char| c.is_ascii_digit()))
        && parts.all(|part| part.find(|c: char| !c.is_ascii_digit()).unwrap_or(part.len()) == 3);
    let (point, grouped) = (plain.replacen(',', ".", 1), plain.replace(',', ""));
    let readings = [Some(point.as_str()), thousands.then_some(grouped.as_str())];
    let readings: Vec<String> = readings.into_iter().flatten().filter(is_length).map(str::to_owned).collect();
    if plain.contains(',') && !readings.is_empty() {
        return Err(LengthError::Comma { text: text.to_owned(), readings });
    }
    Ok(())
}

/// What follows a number.
#[derive(Clone, Copy, PartialEq)]
enum Unit {
    None,
    Metric(f64),
    Feet,
    Inches,
    Yards,
}

fn magnitude(plain: &str, text: &str) -> Result<Length, LengthError> {
    let nonsense = || LengthError::NotALength { text: text.to_owned() };
    let (first, whole, unit, rest) = part(plain, text)?.ok_or_else(nonsense)?;
    if rest.is_empty() {
        return Ok(match unit {
            Unit::None => Length::Bare(first),
            Unit::Metric(per_metre) => Length::Metres(first / per_metre),
            Unit::Feet => Length::Feet(first),
            Unit::Yards => Length::Feet(first * 3.0),
            Unit::Inches => Length::Inches(first),
        });
    }
    // Drawings join feet and inches by a dash: 5'-3 1/2".
    let rest = rest.strip_prefix('-').map_or(rest, str::trim_start);
    let (inches, _, of_inches, end) = part(rest, text)?.ok_or_else(nonsense)?;
    if unit != Unit::Feet || !matches!(of_inches, Unit::Inches | Unit::None) || !end.is_empty() {
        return Err(nonsense());
    }
    if !whole || inches >= 12.0 {
        return Err(LengthError::FeetAndInches { text: text.to_owned() });
    }
    Ok(Length::Feet(first + inches / 12.0))
}

/// A number with its unit at the front: value, whether it is whole, unit, what follows. None where there is no number.
fn part<'a>(plain: &'a str, text: &str) -> Result<Option<(f64, bool, Unit, &'a str)>, LengthError> {
    let Some((value, whole, rest)) = number(plain) else { return Ok(None) };
    let rest = rest.trim_start();
    for (mark, unit) in [('\'', Unit::Feet), ('"', Unit::Inches)] {
        if let Some(rest) = rest.strip_prefix(mark) {
            return Ok(Some((value, whole, unit, rest.trim_start())));
        }
    }
    let end = rest.find(|letter: char| !letter.is_alphabetic()).unwrap_or(rest.len());
    let (word, mut after) = rest.split_at(end);
    let survey = |word: &str| matches!(word, "us" | "us." | "u.s." | "sft" | "ftus" | "usft" | "survey");
    if rest.split(' ').any(survey) {
        return Err(LengthError::SurveyFeet { text: text.to_owned() });
    }
    let unit = match word {
        "" => Unit::None,
        "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => Unit::Metric(1000.0),
        "cm" | "centimetre" | "centimetres" | "centimeter" | "centimeters" => Unit::Metric(100.0),
        "m" | "metre" | "metres" | "meter" | "meters" => Unit::Metric(1.0),
        "ft" | "foot" | "feet" => Unit::Feet,
        "in" | "inch" | "inches" => Unit::Inches,
        "yd" | "yard" | "yards" => Unit::Yards,
        _ => return Err(LengthError::UnknownUnit { text: text.to_owned(), unit: word.to_owned() }),
    };
    if !word.is_empty() {
        after = after.strip_prefix('.').unwrap_or(after); // 2 in.
    }
    Ok(Some((value, whole, unit, after.trim_start())))
}

/// A number at the front: decimal, fraction, or whole number and fraction. Whether it is whole, and what follows.
fn number(plain: &str) -> Option<(f64, bool, &str)> {
    let (value, is_decimal, rest) = decimal(plain)?;
    if is_decimal {
        return Some((value, false, rest));
    }
    if let Some((denominator, rest)) = fraction_after(rest) {
        return Some((value / denominator, false, rest));
    }
    let tail = rest.trim_start().strip_prefix('-').unwrap_or(rest).trim_start();
    if tail.len() < rest.len()
        && let Some((numerator, false, after)) = decimal(tail)
        && let Some((denominator, after)) = fraction_after(after)
        && numerator < denominator
    {
        return Some((value + numerator / denominator, false, after));
    }
    Some((value, true, rest))
}

/// `/8` and what follows.
fn fraction_after(rest: &str) -> Option<(f64, &str)> {
    let (denominator, is_decimal, rest) = decimal(rest.trim_start().strip_prefix('/')?.trim_start())?;
    (!is_decimal && denominator > 0.0).then_some((denominator, rest))
}

/// Digits, a point and an exponent at the front, whether there is more than digits, and what follows.
fn decimal(plain: &str) -> Option<(f64, bool, &str)> {
    let digits = |text: &str| text.find(|c: char| !c.is_ascii_digit()).unwrap_or(text.len());
    let before = digits(plain);
    let mut end = before;
    if let Some(after) = plain[end..].strip_prefix('.') {
        let decimals = digits(after);
        if before + decimals == 0 {
            return None;
        }
        end += 1 + decimals;
    }
    if end == 0 {
        return None;
    }
    if let Some(power) = plain[end..].strip_prefix('e') {
        let sign = usize::from(power.starts_with(['-', '+']));
        let places = digits(&power[sign..]);
        if places > 0 {
            end += 1 + sign + places;
        }
    }
    let value = plain[..end].parse().ok()?;
    Some((value, end > before, &plain[end..]))
}

impl fmt::Display for Length {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Bare(value) => write!(f, "{value}"),
            Self::Metres(value) => write!(f, "{value} m"),
            Self::Feet(value) => write!(f, "{value} ft"),
            Self::Inches(value) => write!(f, "{value} in"),
        }
    }
}

#[cfg(test)]
mod tests;
