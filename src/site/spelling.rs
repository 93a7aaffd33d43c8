//! What somebody may have meant by a word that is unknown: the nearest known one, or what other tools call the same thing.
//!
//! Used for keys, words of enumerations, settings, classes, setbacks, examples and names of digs, so that one slip is
//! answered in one way everywhere. Also how names are kept: trimmed, with single blanks.

use super::{document, former};

/// A text as names are kept: without white space around it, and single blanks within. Blanks that do not break count as blanks.
pub fn folded(text: &str) -> String {
    text.split(is_blank).filter(|word| !word.is_empty()).collect::<Vec<_>>().join(" ")
}

/// White space of Unicode, and the marks without width that tables of other tools leave in cells.
fn is_blank(letter: char) -> bool {
    letter.is_whitespace() || matches!(letter, '\u{200b}' | '\u{feff}')
}

/// The known word that a word most likely stands for: the same but for case, blanks, dashes and underscores; or at most two
/// slips away (a letter too many, missing, wrong, or swapped with its neighbour; one slip in words of three or four letters).
/// The first known one where several are as near.
///
/// # Examples
/// ```
/// use underturf::site::spelling::nearest;
/// assert_eq!(nearest("raduis", ["x", "y", "radius"]), Some("radius"));
/// assert_eq!(nearest("Valve-Boxes", ["heads", "valve_boxes"]), Some("valve_boxes"));
/// assert_eq!(nearest("colour", ["x", "y", "radius"]), None);
/// ```
pub fn nearest<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let word = bare(word);
    let most = match word.len() {
        0..=2 => 0,
        3..=4 => 1,
        _ => 2,
    };
    let slips = known.into_iter().map(|candidate| (distance(&word, &bare(candidate)), candidate));
    let best = slips.filter(|(slips, _)| *slips <= most).min_by_key(|(slips, _)| *slips);
    // A word of which nothing is left but the slips is another word.
    best.filter(|(slips, candidate)| *slips == 0 || *slips < bare(candidate).len().min(word.len()) - 1)
        .map(|(_, candidate)| candidate)
}

/// `; did you mean "radius"?`, or nothing where no known word is near.
pub fn hint<'a>(word: &str, known: impl IntoIterator<Item = &'a str>) -> String {
    nearest(word, known).map_or_else(String::new, |meant| format!("; did you mean {meant:?}?"))
}

/// The key of a dig under which all stands that is said of its tree.
const TREE: &str = "tree";

/// What was meant by a key of a table that knows these keys: where it belongs, by spelling, by a unit in its name, or by what other tools call
/// it.
pub(super) fn key_hint(key: &str, known: &[&str]) -> String {
    let former = if known.contains(&former::AZIMUTH) { former::hint(key) } else { String::new() };
    if !former.is_empty() {
        return former;
    }
    let lower = key.to_lowercase().replace(['-', ' '], "_");
    if known.contains(&TREE) && document::TREE_KEYS.contains(&lower.as_str()) {
        // Beside `tree = "small"`, where nobody sees that the word may be a table.
        let size = if lower == "size" { "" } else { "size = ..., " };
        return format!("; it belongs to {TREE:?}: {TREE} = {{ {size}{lower} = ... }}");
    }
    if let Some((stem, unit)) = lower.rsplit_once('_')
        && matches!(unit, "m" | "cm" | "mm" | "ft" | "in")
        && known.contains(&stem)
    {
        return format!("; did you mean {stem:?}? Its unit may stand in the value: {stem} = \"2 {unit}\"");
    }
    if let Some(meant) = nearest(key, known.iter().copied()) {
        return format!("; did you mean {meant:?}?");
    }
    let lower = bare(&lower);
    let said =
        ELSEWHERE.iter().find(|(words, meant, _)| known.contains(meant) && words.contains(&lower.as_str()));
    said.map_or_else(String::new, |(_, meant, why)| match *why {
        "" => format!("; did you mean {meant:?}?"),
        why => format!("; did you mean {meant:?}? {why}"),
    })
}

/// What was meant by a word of a list: by spelling, or by what people call the same thing.
pub(super) fn word_hint(word: &str, known: &[&str]) -> String {
    let said = bare(word);
    let called = CALLED.iter().find(|(words, meant)| known.contains(meant) && words.contains(&said.as_str()));
    called
        .map_or_else(|| hint(word, known.iter().copied()), |(_, meant)| format!("; did you mean {meant:?}?"))
}

/// What people call things, and the word of documents.
const CALLED: &[(&[&str], &str)] = &[
    (&["metre", "metres", "meter", "meters", "mtr"], "m"),
    (&["foot", "feet", "ftus"], "ft"),
    (&["water", "domestic", "drinkingwater"], "potable"),
    (&["power", "electricity", "electrical"], "electric"),
    (&["telecom", "telephone", "phone", "cable", "fibre", "fiber", "internet"], "communication"),
    (&["drain", "drainage", "storm", "stormdrain", "sewage"], "sewer"),
    (&["wire", "wires", "lowvoltage"], "control_wire"),
    (&["irrigation", "pipe"], "lateral"),
    (&["main"], "mainline"),
    (&["recycled", "nonpotable"], "reclaimed"),
    (&["house", "home", "garage", "shed", "wall"], "building"),
    (&["driveway", "patio", "walk", "walkway", "sidewalk", "concrete", "asphalt", "road", "path"], "paving"),
    (&["pond", "lake"], "pool"),
    (&["garden", "planting", "border"], "bed"),
    (&["tap", "faucet", "spigot", "bib", "hosetap"], "hose_bib"),
    (&["hydrant"], "yard_hydrant"),
    (&["coupler"], "quick_coupler"),
    (&["well"], "pump"),
    (&["popup", "fixed"], "spray"),
    (&["impact", "gear", "turning"], "rotor"),
    (&["shovel", "spade", "manual"], "hand"),
    (&["auger", "excavator", "backhoe", "digger"], "machine"),
    (&["hole", "pit"], "pothole"),
    (&["trench"], "slit"),
    (&["bar", "probe"], "rod"),
];

const PLANE: &str = "x and y are lengths on the plan, east and north of a corner you choose; longitude and latitude of that corner \
                     stand in [frame]";

/// What other tools call a key, the key, and what to know about it.
const ELSEWHERE: &[(&[&str], &str, &str)] = &[
    (&["lon", "lng", "long", "longitude", "easting", "east", "e"], "x", PLANE),
    (&["lat", "latitude", "northing", "north", "n"], "y", PLANE),
    (&["longitude", "lng", "long"], "lon", ""),
    (&["latitude"], "lat", ""),
    (
        &["rotation", "northdeg", "azimuth", "bearing", "heading", "direction"],
        "azimuth_deg",
        "It is counted clockwise from north",
    ),
    (&["diameter", "dia", "d"], "radius", "A radius is half the diameter"),
    (&["dbh", "diameter", "caliper", "trunk", "stem"], "stem_diameter", ""),
    (&["name", "label", "number", "no", "nr"], "id", ""),
    (&["type", "category"], "kind", ""),
    (&["type", "kind", "utility", "category"], "class", ""),
    (&["station", "circuit", "zonename", "program"], "zone", ""),
    (&["stations", "circuits"], "zones", ""),
    (&["zone", "station"], "zones", "A valve box lists its zones: zones = [\"1\"]"),
    (&["throw", "range", "reach"], "radius", ""),
    (&["arc", "angle", "sweep"], "arc_deg", ""),
    (&["gpm", "lps", "flowrate"], "flow", ""),
    (
        &["polygon", "ring", "corners", "vertices", "points", "coordinates", "shape", "boundary"],
        "outline",
        "",
    ),
    (&["line", "polyline", "points", "coordinates", "route", "course"], "path", ""),
    (&["size"], "stem_diameter", ""),
    (
        &["accuracy", "accuracyr", "horizontalaccuracy", "hacc", "nssda"],
        "accuracy_95",
        "It is the horizontal accuracy at 95 %, after NSSDA; a standard deviation is sd",
    ),
    (&["accuracy", "error", "uncertainty", "sigma", "stdev", "std"], "sd", ""),
    (&["hit", "result", "struck"], "found", ""),
    (&["detect", "pod", "sensitivity"], "p_detect", ""),
    (&["tolerance", "tolerancezone", "halfwidth"], "half_zone", "It is half the width of the tolerance zone"),
    (&["confidence", "weight"], "trust", ""),
    (&["day", "when", "marked"], "date", ""),
    (&["sprinklers", "sprinkler", "nozzles"], "heads", ""),
    (&["valves", "valve", "boxes", "box", "manifolds"], "valve_boxes", ""),
    (&["holes", "hole", "pits", "trenches", "excavations"], "digs", ""),
    (&["buildings", "houses", "house", "paving", "pools", "beds"], "obstacles", "Each says its kind"),
    (&["meters", "meter", "supply", "pointofconnection", "poc"], "sources", ""),
    (&["taps", "hosebibs", "bibs", "hydrants"], "outlets", ""),
    (&["potholes", "findings"], "probes", ""),
    (&["utilities", "paint", "locates"], "marks", ""),
    (&["drawings", "asbuilt", "asbuilts", "plans"], "sketches", ""),
    (&["unit", "lengthunit"], "units", ""),
    (&["version", "schema"], "format", ""),
    (&["lawn", "perimeter", "outline", "property", "edge"], "boundary", ""),
    (&["georeference", "crs", "origin", "location"], "frame", ""),
    (&["species", "plant"], "tree", ""),
];

/// Small letters and digits alone.
fn bare(word: &str) -> String {
    word.chars().filter(|letter| letter.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

/// Letters to add, drop, change or swap with a neighbour to get from one word to the other (optimal string alignment).
pub(super) fn distance(one: &str, other: &str) -> usize {
    let (one, other): (Vec<char>, Vec<char>) = (one.chars().collect(), other.chars().collect());
    if one.len().abs_diff(other.len()) > 2 || one.len().max(other.len()) > 64 {
        return usize::MAX; // nobody mistypes that much; and what is given may be of any length
    }
    let mut rows = vec![vec![0; other.len() + 1]; one.len() + 1];
    for i in 0..=one.len() {
        for j in 0..=other.len() {
            if i == 0 || j == 0 {
                rows[i][j] = i + j;
                continue;
            }
            let change = usize::from(one[i - 1] != other[j - 1]);
            let mut least = (rows[i - 1][j] + 1).min(rows[i][j - 1] + 1).min(rows[i - 1][j - 1] + change);
            if i > 1 && j > 1 && one[i - 1] == other[j - 2] && one[i - 2] == other[j - 1] {
                least = least.min(rows[i - 2][j - 2] + 1);
            }
            rows[i][j] = least;
        }
    }
    rows[one.len()][other.len()]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A slip counted as two, or a guess where nothing is near, would show.
    #[test]
    fn one_or_two_slips_are_seen_through_and_no_more() {
        let known = ["x", "y", "radius", "depth", "kind", "zone", "valve_boxes", "heads"];
        for (word, meant) in [
            ("raduis", Some("radius")),
            ("radus", Some("radius")),
            ("radiuss", Some("radius")),
            ("Radius", Some("radius")),
            ("RADIUS_", Some("radius")),
            ("valveboxes", Some("valve_boxes")),
            ("valve boxs", Some("valve_boxes")),
            ("knid", Some("kind")),
            ("zon", Some("zone")),
            ("dpeht", Some("depth")),
            ("X", Some("x")),
            ("z", None),
            ("width", None),
            ("hue", None),
            ("", None),
            ("colour", None),
        ] {
            assert_eq!(nearest(word, known), meant, "{word}");
        }
        assert_eq!(nearest(&"x".repeat(100_000), known), None);
    }

    #[test]
    fn keys_of_other_tools_are_known() {
        let head = ["id", "x", "y", "kind", "zone", "radius"];
        for (key, words) in [
            ("lat", "did you mean \"y\"? x and y are lengths"),
            ("Longitude", "did you mean \"x\"?"),
            ("easting", "did you mean \"x\"?"),
            ("radius_ft", "did you mean \"radius\"? Its unit may stand in the value: radius = \"2 ft\""),
            ("diameter", "half the diameter"),
            ("type", "did you mean \"kind\"?"),
        ] {
            assert!(key_hint(key, &head).contains(words), "{key}: {}", key_hint(key, &head));
        }
        assert_eq!(key_hint("colour", &head), "");
    }

    #[test]
    fn names_are_trimmed_and_blanks_fold() {
        for (text, name) in
            [(" A ", "A"), ("front\u{a0} \t lawn", "front lawn"), ("\u{feff}1\u{200b}", "1"), (" ", "")]
        {
            assert_eq!(folded(text), name, "{text:?}");
        }
    }
}
