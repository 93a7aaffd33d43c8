//! Names that may be slips of each other: what a "did you mean" is built on.
//!
//! Numbered and lettered series (1 and 2, 10 and 11, front 1 and front 2, A and B, NE and NW) differ on purpose, so only case,
//! spaces and one letter of a longer word count as a slip.

use super::spelling::distance;

/// A word shorter than this may differ from another on purpose: N and S, NE and NW, top and mop would be rare. Numerical
/// choice.
const LEAST_WORD: usize = 4;

/// Longer names are not compared. Numerical choice: a page of text is no slip of a name.
const LONGEST: usize = 60;

/// Whether two different names are the same but for case, spaces, hyphens and underscores, or for one letter of one longer
/// word.
pub(super) fn slip(a: &str, b: &str) -> bool {
    if a == b || a.len().max(b.len()) > LONGEST {
        return false;
    }
    let words = |name: &str| -> Vec<String> {
        let parts = name.split(|c: char| c.is_whitespace() || c == '-' || c == '_');
        parts.filter(|part| !part.is_empty()).map(str::to_lowercase).collect()
    };
    let (a, b) = (words(a), words(b));
    if a.concat() == b.concat() {
        return true;
    }
    let differing: Vec<(&String, &String)> = a.iter().zip(&b).filter(|(x, y)| x != y).collect();
    match (a.len() == b.len(), &differing[..]) {
        (true, [(x, y)]) => one_letter(x, y),
        _ => false,
    }
}

/// Whether two words differ by one letter, or by two neighbours exchanged; digits do not count, they number things.
fn one_letter(a: &str, b: &str) -> bool {
    if distance(a, b) != 1 {
        return false;
    }
    let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
    let (short, long) = if a.len() <= b.len() { (&a, &b) } else { (&b, &a) };
    if long.len() < LEAST_WORD {
        return false;
    }
    let same = short.iter().zip(long.iter()).take_while(|(x, y)| x == y).count();
    let changed = |word: &[char]| word.get(same).is_some_and(char::is_ascii_digit);
    !changed(short) && !changed(long)
}

/// The known name that was most likely meant, if one is near enough and no other as near.
pub(super) fn meant<'a>(name: &str, known: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    if name.len() > LONGEST {
        return None;
    }
    let known = known.into_iter().filter(|candidate| candidate.len() <= LONGEST);
    let lower = name.to_lowercase();
    let off = |candidate: &str| {
        let other = candidate.to_lowercase();
        if slip(name, candidate) || other == lower {
            return 0;
        }
        distance(&lower, &other)
    };
    let mut nearest: Vec<(usize, &str)> = known.map(|candidate| (off(candidate), candidate)).collect();
    nearest.sort_unstable();
    nearest.dedup();
    let &(off, candidate) = nearest.first()?;
    if off > 0 && nearest.get(1).is_some_and(|(other, _)| *other == off) {
        return None; // h99 may be h9 or h19: nobody can say
    }
    let longest = lower.chars().count().max(candidate.chars().count());
    (off == 0 || (off == 1 && longest > 1) || off <= longest / 3).then_some(candidate)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Catches a wolf that is cried over every numbered zone, and slips that pass unseen.
    #[test]
    fn series_are_no_slips_and_slips_are() {
        for (a, b) in [
            ("1", "2"),
            ("10", "11"),
            ("1", "10"),
            ("A", "B"),
            ("NE", "NW"),
            ("front 1", "front 2"),
            ("zone1", "zone12"),
            ("lawn N", "lawn S"),
            ("east", "west"),
            ("front", "front"),
        ] {
            assert!(!slip(a, b), "{a} and {b}");
        }
        for (a, b) in [
            ("a", "A"),
            ("Front", "front"),
            ("zone 1", "zone1"),
            ("front-1", "front_1"),
            ("front", "frnt"),
            ("garden", "gardne"),
            ("back lawn", "back lawm"),
        ] {
            assert!(slip(a, b) && slip(b, a), "{a} and {b}");
        }
    }

    #[test]
    fn the_nearest_known_name_is_meant_if_it_is_near() {
        assert_eq!(meant("H3", ["h1", "h2", "h3"]), Some("h3"));
        assert_eq!(meant("h99", ["h1", "h9"]), Some("h9"));
        assert_eq!(meant("h99", ["h19", "h29"]), None);
        assert_eq!(meant("z", ["a", "b"]), None);
        assert_eq!(meant("back lawn", ["front", "side"]), None);
        assert_eq!(meant("9", []), None);
    }
}
