//! The state of the code that a table judges: a fingerprint of its sources, the commit, the day. The fingerprint and not the
//! commit says whether a table is out of date: most commits touch nothing that a table judges.

use super::root;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{SystemTime, UNIX_EPOCH};

/// Fingerprint of the Rust sources below these paths of the repository. Comments of whole lines, blank lines and files of tests
/// do not count: they change no number.
pub fn fingerprint(paths: &[&str]) -> String {
    let mut files = Vec::new();
    for path in paths {
        let path = root().join(path);
        assert!(path.exists(), "{} is no more: where are its sources now?", path.display());
        rust_files(&path, &mut files);
    }
    files.sort();
    files.dedup();
    let mut state = FNV_BASIS;
    for file in files {
        let name = file.strip_prefix(root()).expect("below the root").to_string_lossy().into_owned();
        let source = fs::read_to_string(&file).unwrap_or_else(|error| panic!("{}: {error}", file.display()));
        state = mixed(state, &name);
        state = counted(&source).fold(state, mixed);
    }
    format!("{state:016x}")
}

/// FNV-1a of 64 bits, <https://www.rfc-editor.org/rfc/rfc9923>: the same on every machine and with every compiler.
const FNV_BASIS: u64 = 0xcbf2_9ce4_8422_2325;
const FNV_PRIME: u64 = 0x0100_0000_01b3;

fn mixed(state: u64, text: &str) -> u64 {
    text.bytes().chain([b'\n']).fold(state, |state, byte| (state ^ u64::from(byte)).wrapping_mul(FNV_PRIME))
}

/// The lines that count.
fn counted(source: &str) -> impl Iterator<Item = &str> {
    source.lines().map(str::trim).filter(|line| !line.is_empty() && !line.starts_with("//"))
}

fn rust_files(path: &Path, found: &mut Vec<PathBuf>) {
    if path.is_dir() {
        let entries = fs::read_dir(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        for entry in entries {
            rust_files(&entry.expect("an entry is readable").path(), found);
        }
    } else if path.extension().is_some_and(|ext| ext == "rs") && !path.ends_with("tests.rs") {
        found.push(path.to_owned());
    }
}

/// The commit of the tree, with `-dirty` where code differs from it.
pub fn commit() -> String {
    let git = |arguments: &[&str]| {
        let output = Command::new("git").current_dir(root()).args(arguments).output().ok()?;
        output.status.success().then(|| String::from_utf8_lossy(&output.stdout).trim().to_owned())
    };
    let Some(commit) = git(&["rev-parse", "--short=10", "HEAD"]) else { return "unknown".to_owned() };
    // Records themselves do not count: the first of a suite would make the tree dirty for all that follow.
    let code = ["src", "tests/statistical", "tests/mutator", "Cargo.toml", "Cargo.lock"];
    let changed = git(&[&["status", "--porcelain", "--"], &code[..]].concat());
    if changed.is_none_or(|changed| !changed.is_empty()) { commit + "-dirty" } else { commit }
}

/// Today in UTC, YYYY-MM-DD.
pub fn today() -> String {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).expect("the clock is past 1970");
    day(since.as_secs() / 86_400)
}

/// The day so many days after 1970-01-01, in the calendar of today (Hinnant, <https://howardhinnant.github.io/date_algorithms.html>,
/// `civil_from_days`, for days that are not before 1970). Years begin in March there, so that a leap day comes last.
fn day(days: u64) -> String {
    let shifted = days + 719_468; // from 0000-03-01
    let (era, of_era) = (shifted / 146_097, shifted % 146_097);
    let year_of_era = (of_era - of_era / 1_460 + of_era / 36_524 - of_era / 146_096) / 365;
    let of_year = of_era - (365 * year_of_era + year_of_era / 4 - year_of_era / 100);
    let month_from_march = (5 * of_year + 2) / 153;
    let day = of_year - (153 * month_from_march + 2) / 5 + 1;
    let month = if month_from_march < 10 { month_from_march + 3 } else { month_from_march - 9 };
    let year = era * 400 + year_of_era + u64::from(month <= 2);
    format!("{year:04}-{month:02}-{day:02}")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn days_by_hand() {
        let known =
            [(0, "1970-01-01"), (11_016, "2000-02-29"), (11_017, "2000-03-01"), (20_787, "2026-11-30")];
        known.iter().for_each(|&(days, text)| assert_eq!(day(days), text));
    }

    #[test]
    fn fnv_by_its_published_values() {
        // RFC 9923, the 64-bit test vectors of "" and "a"; `mixed` ends every text with a line break
        let plain =
            |text: &str| text.bytes().fold(FNV_BASIS, |s, b| (s ^ u64::from(b)).wrapping_mul(FNV_PRIME));
        assert_eq!((plain(""), plain("a")), (0xcbf2_9ce4_8422_2325, 0xaf63_dc4c_8601_ec8c));
        assert_eq!(mixed(FNV_BASIS, "a"), plain("a\n"));
    }

    #[test]
    fn comments_and_blank_lines_change_no_fingerprint_and_code_does() {
        let lines = |source| counted(source).fold(FNV_BASIS, mixed);
        let bare = "fn f() {\n1\n}";
        assert_eq!(
            lines(bare),
            lines("//! Says something.\n\n/// More.\nfn f() {\n    // a number\n    1\n}\n")
        );
        assert_ne!(lines(bare), lines("fn f() {\n2\n}"));
    }

    #[test]
    fn a_fingerprint_looks_at_all_paths() {
        let [engine, room] = [["src"], ["src/strike"]].map(|paths| fingerprint(&paths));
        assert_ne!(engine, room);
        assert_eq!(room, fingerprint(&["src/strike", "src/strike"]));
        assert_ne!(room, fingerprint(&["src/strike", "src/rng.rs"]));
    }
}
