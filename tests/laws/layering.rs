//! The order of the house. Rooms (folders of `src`) import downward only, by the table below, which holds no permission that
//! nobody uses; no room hands on what belongs to another; and no files import each other in a circle, not even inside one room.

mod house;

use house::{House, sources};
use std::collections::{BTreeMap, BTreeSet};

/// Room -> rooms that it may import from. A room within another is named by its path; the outer one may look into it freely.
const TABLE: &[(&str, &[&str])] = &[
    ("class", &[]),
    ("rng", &[]),
    ("monitor", &[]),
    ("settings", &[]),
    ("geometry", &[]),
    ("spanning_tree", &[]),
    ("effort", &["monitor"]),
    ("planting", &["class"]),
    ("mcmc::diagnostics", &[]),
    ("mcmc::tempering", &["monitor", "rng"]),
    ("mcmc", &[]),
    ("site", &["class", "geometry", "planting", "settings"]),
    ("error", &["mcmc::diagnostics", "planting", "site"]),
    ("memory", &["error", "monitor"]),
    ("layout", &["class", "geometry", "spanning_tree"]),
    ("strike", &["class", "effort", "geometry", "layout", "spanning_tree"]),
    (
        "model",
        &["class", "effort", "error", "geometry", "layout", "rng", "settings", "site", "spanning_tree"],
    ),
    ("metal", &["class", "geometry", "layout", "mcmc::diagnostics", "monitor", "rng", "settings", "site"]),
    ("inference::proposals", &["geometry", "layout", "model", "spanning_tree"]),
    ("inference::posterior", &["class", "effort", "geometry", "layout", "rng", "spanning_tree", "strike"]),
    (
        "inference::joint",
        &[
            "effort",
            "error",
            "inference::posterior",
            "inference::proposals",
            "layout",
            "mcmc::tempering",
            "model",
            "rng",
            "site",
            "spanning_tree",
            "strike",
        ],
    ),
    (
        "inference",
        &[
            "class",
            "effort",
            "error",
            "geometry",
            "layout",
            "mcmc::diagnostics",
            "mcmc::tempering",
            "memory",
            "metal",
            "model",
            "monitor",
            "rng",
            "site",
            "strike",
        ],
    ),
    ("example", &["error", "inference", "monitor", "site"]),
    ("staking", &["class", "error", "geometry", "inference", "layout", "monitor", "site"]),
    (
        "decision",
        &[
            "class",
            "effort",
            "error",
            "geometry",
            "inference",
            "inference::posterior",
            "layout",
            "memory",
            "monitor",
            "planting",
            "rng",
            "site",
            "strike",
        ],
    ),
];

/// Files below `src`, lib.rs and files of tests apart, at least: a test that looked at nothing proves nothing.
const LEAST_FILES: usize = 200;

fn room(module: &str) -> &str {
    let within = |room: &&str| {
        module == *room || module.strip_prefix(*room).is_some_and(|rest| rest.starts_with("::"))
    };
    TABLE.iter().map(|(room, _)| *room).filter(within).max_by_key(|room| room.len()).unwrap_or("none")
}

/// Whether `of` is a room within `outer`.
fn is_within(of: &str, outer: &str) -> bool {
    of.strip_prefix(outer).is_some_and(|rest| rest.starts_with("::"))
}

/// Imports that the table does not allow, permissions that nobody uses, and names of one room that another hands on.
fn breaches(house: &House) -> Vec<String> {
    let mut used: BTreeSet<(&str, &str)> = BTreeSet::new();
    let mut wrong = Vec::new();
    let all = house.all();
    for (module, imports) in &all {
        let own = room(module);
        let allowed = TABLE.iter().find(|(name, _)| *name == own).map_or(&[][..], |(_, allowed)| *allowed);
        if own == "none" {
            wrong.push(format!("{module} is in no room of the table"));
        }
        for other in imports.iter().map(|file| room(file)).filter(|other| *other != own) {
            match allowed.iter().find(|name| **name == other) {
                Some(name) => drop(used.insert((own, name))),
                None if is_within(other, own) => {}
                None => wrong.push(format!("{module} imports {other}")),
            }
        }
        for (path, name, _) in house.names[*module].uses.iter().filter(|(_, _, handed_on)| *handed_on) {
            let from =
                house.absolute(module, path).and_then(|path| house.defines(&path, &mut BTreeSet::new()));
            if from.is_some_and(|from| room(&from) != own && !is_within(room(&from), own)) {
                wrong.push(format!("{module} hands on {name}"));
            }
        }
    }
    for (own, allowed) in
        TABLE.iter().filter(|(own, _)| house.names.keys().any(|module| room(module) == *own))
    {
        let unused = allowed.iter().filter(|name| !used.contains(&(*own, **name)));
        wrong.extend(unused.map(|name| format!("{own} may import {name} and never does")));
    }
    wrong
}

/// The files of each circle of imports.
fn circles(house: &House) -> Vec<Vec<String>> {
    let mut left: BTreeMap<&str, BTreeSet<String>> = house.all();
    // Files that import nothing that is left stand on firm ground; what is left at last are circles and what rests on them.
    loop {
        let firm: Vec<&str> = left
            .iter()
            .filter(|(_, imports)| imports.iter().all(|import| !left.contains_key(import.as_str())))
            .map(|(module, _)| *module)
            .collect();
        if firm.is_empty() {
            break;
        }
        firm.iter().for_each(|module| drop(left.remove(module)));
    }
    let reaches = |from: &str, to: &str| {
        let (mut open, mut seen) = (vec![from.to_owned()], BTreeSet::new());
        while let Some(next) = open.pop() {
            for import in left.get(next.as_str()).into_iter().flatten() {
                if import == to {
                    return true;
                }
                if seen.insert(import.clone()) {
                    open.push(import.clone());
                }
            }
        }
        false
    };
    let round: Vec<&str> = left.keys().copied().filter(|module| reaches(module, module)).collect();
    if round.is_empty() { Vec::new() } else { vec![round.into_iter().map(str::to_owned).collect()] }
}

#[test]
fn rooms_import_downward_only_and_no_permission_is_idle() {
    let sources = sources();
    assert!(sources.len() >= LEAST_FILES, "only {} files were read", sources.len());
    let wrong = breaches(&House::of(&sources));
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn no_files_import_each_other_in_a_circle() {
    let circles = circles(&House::of(&sources()));
    assert!(circles.is_empty(), "{circles:#?}");
}

fn house(files: &[(&str, &str)]) -> House {
    House::of(&files.iter().map(|(module, source)| ((*module).to_owned(), (*source).to_owned())).collect())
}

#[test]
fn planted_imports_are_noticed() {
    let found = |files: &[(&str, &str)], what: &str| {
        let wrong = breaches(&house(files));
        assert!(wrong.iter().any(|wrong| wrong == what), "{what}: {wrong:?}");
    };
    let point = ("geometry::point", "pub struct Point;");
    let shared = ("geometry", "mod point; pub use point::Point;");
    found(
        &[shared, point, ("spanning_tree", "use crate::geometry::Point;")],
        "spanning_tree imports geometry",
    );
    found(&[shared, point, ("class", "fn f() { crate::geometry::Point; }")], "class imports geometry");
    found(
        &[shared, point, ("rng", "fn f() { let _ = format!(\"{}\", crate::geometry::Point); }")],
        "rng imports geometry",
    );
    // A room that hands on another's name does not make it its own.
    let through = ("layout", "pub use crate::geometry::Point;");
    found(&[shared, point, through], "layout hands on Point");
    found(&[shared, point, through, ("rng", "use crate::layout::Point;")], "rng imports geometry");
    found(
        &[shared, point, ("layout", "use crate::geometry::Point;")],
        "layout may import class and never does",
    );
    found(&[("attic", "")], "attic is in no room of the table");
    let tests = "#[cfg(test)] mod tests { use crate::geometry::Point; }";
    assert!(
        !breaches(&house(&[shared, point, ("rng", tests)])).iter().any(|wrong| wrong.contains("rng imports"))
    );
}

#[test]
fn planted_circles_are_noticed() {
    let facade = ("site", "mod a; mod b; pub use a::A; pub use b::B;");
    let round = house(&[
        facade,
        ("site::a", "use super::B; pub struct A;"),
        ("site::b", "use super::A; pub struct B;"),
    ]);
    assert_eq!(circles(&round), [["site::a", "site::b"]]);
    let from_parent =
        house(&[("site", "mod a; use a::A; pub struct S;"), ("site::a", "use super::S; pub struct A;")]);
    assert_eq!(circles(&from_parent), [["site", "site::a"]]);
    assert!(
        circles(&house(&[facade, ("site::a", "use super::B; pub struct A;"), ("site::b", "pub struct B;")]))
            .is_empty()
    );
}

/// The table itself has no circle: every room stands above all that it may import.
#[test]
fn table_has_no_circle() {
    let mut done: BTreeSet<&str> = BTreeSet::new();
    while done.len() < TABLE.len() {
        let next =
            TABLE.iter().find(|(name, needs)| !done.contains(name) && needs.iter().all(|n| done.contains(n)));
        let (name, _) = next.expect("a room whose imports are all below it");
        done.insert(name);
    }
}
