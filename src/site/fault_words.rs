//! Parts of the sentences of faults: what may have been meant, and what stands there instead.

use super::figures::typed;
use super::former;
use super::spelling;
use crate::settings::{OutOfRange, Settings};

/// Asks for a name that is near.
pub(super) fn did_you_mean(meant: Option<&str>) -> String {
    meant.map_or_else(String::new, |name| format!("; did you mean {name:?}?"))
}

/// What a setting is called now, or the one that may be meant.
pub(super) fn setting_hint(name: &str) -> String {
    let former = former::hint(name);
    if former.is_empty() {
        spelling::hint(name, Settings::FIELDS.iter().map(|field| field.name))
    } else {
        former
    }
}

/// A setting outside its range, or shares of one whole that exceed it.
pub(super) fn setting(fault: &OutOfRange) -> String {
    let OutOfRange { name, value, least, greatest } = fault;
    let said = format!("{} is outside {} to {}", typed(*value), typed(*least), typed(*greatest));
    if name.contains(" + ") { format!("{name} = {said}: they are shares of one whole") } else { said }
}

/// An unknown key with the one that may be meant, and those that are known.
pub(super) fn unknown_key(key: &str, allowed: &[&str]) -> String {
    let hint = spelling::key_hint(key, allowed);
    let stop = if hint.ends_with('?') { "" } else { ";" };
    format!("unknown key{hint}{stop} known here: {}", allowed.join(", "))
}
