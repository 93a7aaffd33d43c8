//! The grammar by table: a wrong unit, a lost inch or a comma read as a point would show.

use super::*;

#[test]
fn lengths_are_read_as_people_write_them() {
    for (text, metres) in [
        ("2in", 0.0508),
        ("12in", 0.3048),
        ("3 in.", 0.0762),
        ("14' 6\"", 4.4196),
        ("14'6", 4.4196),
        ("14 ft 6 in", 4.4196),
        ("14 FT. 6 IN.", 4.4196),
        ("14\u{2032} 6\u{2033}", 4.4196),
        ("14\u{2019} 6\u{201d}", 4.4196),
        ("14' 6''", 4.4196),
        ("5' 3 1/2\"", 63.5 * 0.0254),
        ("5'-3 1/2\"", 63.5 * 0.0254),
        ("5'-3-1/2\"", 63.5 * 0.0254),
        ("5' 3\u{bd}\"", 63.5 * 0.0254),
        ("1/2 in", 0.0127),
        ("\u{bd} in", 0.0127),
        ("3 1\u{2044}2 in", 0.0889),
        ("3-1/2 in", 0.0889),
        ("1\u{be}\"", 1.75 * 0.0254),
        ("30cm", 0.3),
        ("35 cm", 0.35),
        ("300 mm", 0.3),
        ("0.3 m", 0.3),
        (".3m", 0.3),
        ("\u{a0}2.\u{a0}m ", 2.0),
        ("6 feet", 1.8288),
        ("1 foot", 0.3048),
        ("2 1/2 ft", 0.762),
        ("2 yd", 1.8288),
        ("2e-1 m", 0.2),
        ("0' 6\"", 0.1524),
        ("-14' 6\"", -4.4196),
        ("\u{2212}3 m", -3.0),
        ("- 3 m", -3.0),
        ("+3 m", 3.0),
    ] {
        let length = Length::read(text).unwrap_or_else(|error| panic!("{error}"));
        let found = length.in_units(Units::Metres);
        assert!((found - metres).abs() <= 2.3e-16 * metres.abs(), "{text}: {found} is not {metres}");
        assert!(!matches!(length, Length::Bare(_)), "{text} has a unit");
    }
    for (text, value) in
        [("12", 12.0), ("12.5", 12.5), ("-3", -3.0), ("1/2", 0.5), ("3 1/2", 3.5), ("1e3", 1e3)]
    {
        assert_eq!(Length::read(text), Ok(Length::Bare(value)), "{text}");
        assert_eq!(Length::Bare(value).in_units(Units::Feet), value);
    }
}

/// The same text is the same ground in every document: to the last bit in feet and inches, so that no answer hangs on the unit
/// of the document, and to one rounding in metres (no number of feet is 7 m).
#[test]
fn a_text_means_the_same_metres_in_feet_and_in_metres() {
    for (text, exact) in [
        ("14' 6\"", true),
        ("1.1 ft", true),
        ("5' 3 1/2\"", true),
        ("3 yd", true),
        ("2in", true),
        ("3 in", true),
        ("30cm", false),
        ("0.3 m", false),
        ("7 m", false),
        ("41 mm", false),
    ] {
        let length = Length::read(text).expect("a length");
        let (feet, metres) = (length.in_units(Units::Feet) * 0.3048, length.in_units(Units::Metres));
        let most = if exact { 0.0 } else { 2.3e-16 * metres };
        assert!((feet - metres).abs() <= most, "{text}: {feet} {metres}");
    }
    assert_eq!(Length::read("14' 6\"").expect("a length").in_units(Units::Metres), 14.5 * 0.3048);
    assert_eq!(Length::read("2ft").expect("a length").in_units(Units::Metres), 0.6096);
}

#[test]
fn what_is_no_length_is_refused_with_what_to_write() {
    for (text, words) in [
        ("", "is not a length; write 0.3 m"),
        ("wide", "is not a length"),
        ("nan", "is not a length"),
        ("inf m", "is not a length"),
        ("m", "is not a length"),
        ("1/0 in", "is not a length"),
        ("1,5 m", "write 1.5 m"),
        ("1,500 mm", "write 1.500 mm or 1500 mm"),
        ("3 ft us", "survey feet"),
        ("3 ftUS", "survey feet"),
        ("3 us survey feet", "survey feet"),
        ("3 survey ft", "survey feet"),
        ("3 rods", "unit \"rods\""),
        ("3 km", "unit \"km\""),
        ("14.5' 6\"", "feet are whole"),
        ("14' 12\"", "less than 12"),
        ("6\" 14'", "is not a length"),
        ("3 m 20 cm", "is not a length"),
        ("3 m 20", "is not a length"),
        ("1 2 m", "is not a length"),
        ("--3 m", "is not a length"),
        ("3 m wide", "is not a length"),
        ("14' 6\" 3", "is not a length"),
        ("14' -6\"x", "is not a length"),
        ("1e999 m", "is too large"),
        ("3' 5 cm", "is not a length"),
        (&"1".repeat(100_000), "1...\" is not a length"),
    ] {
        let said = Length::read(text).map(|length| length.to_string()).expect_err(text).to_string();
        assert!(said.contains(words), "{text:?}: {said}");
    }
}
