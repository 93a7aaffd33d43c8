//! Modules import downward only. Each file's `crate::` imports are read and held against the table.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// Module -> what it may import of ours. `error`, `monitor`, `rng`, `settings` and `class` are open where listed.
const TABLE: &[(&str, &[&str])] = &[
    ("class", &[]),
    ("rng", &[]),
    ("monitor", &[]),
    ("effort", &["monitor"]),
    ("memory", &["error", "monitor"]),
    ("settings", &[]),
    ("geometry", &[]),
    ("forest", &[]),
    ("diagnose", &[]),
    ("planting", &["class"]),
    ("error", &["evidence", "planting"]),
    ("evidence", &["class", "geometry", "planting", "settings"]),
    ("io", &["evidence", "settings", "class", "geometry"]),
    ("layout", &["class", "geometry", "forest", "rng"]),
    ("prior", &["class", "effort", "error", "evidence", "forest", "geometry", "layout", "rng", "settings"]),
    ("temper", &["monitor", "rng"]),
    ("strike", &["class", "effort", "forest", "geometry", "layout", "rng"]),
    ("moves", &["forest", "geometry", "layout", "prior", "rng"]),
    ("posterior", &["class", "effort", "forest", "geometry", "layout", "rng", "strike"]),
    (
        "joint",
        &[
            "effort",
            "error",
            "evidence",
            "forest",
            "layout",
            "moves",
            "posterior",
            "prior",
            "rng",
            "strike",
            "temper",
        ],
    ),
    (
        "infer",
        &[
            "class",
            "diagnose",
            "effort",
            "error",
            "evidence",
            "geometry",
            "joint",
            "layout",
            "memory",
            "monitor",
            "posterior",
            "prior",
            "rng",
            "strike",
            "temper",
        ],
    ),
    (
        "decision",
        &[
            "class",
            "effort",
            "error",
            "evidence",
            "geometry",
            "infer",
            "layout",
            "memory",
            "monitor",
            "planting",
            "posterior",
            "rng",
            "settings",
            "strike",
        ],
    ),
];

/// Files read below `src` (lib.rs apart); a test that looked at nothing proves nothing.
const LEAST_FILES: usize = 40;

fn rust_files(folder: &Path, found: &mut Vec<PathBuf>) {
    let entries = fs::read_dir(folder).expect("folder is readable");
    for entry in entries.map(|entry| entry.expect("entry is readable").path()) {
        if entry.is_dir() {
            rust_files(&entry, found);
        } else if entry.extension().is_some_and(|ext| ext == "rs") {
            found.push(entry);
        }
    }
}

/// Names after `crate::` outside comments, groups (`crate::{a, b}`) included.
fn imports(source: &str) -> BTreeSet<String> {
    let source = source.split("#[cfg(test)]\nmod tests").next().unwrap_or(source); // tests may look anywhere
    let code: String =
        source.lines().filter(|line| !line.trim_start().starts_with("//")).collect::<Vec<_>>().join("\n");
    let mut names = BTreeSet::new();
    for rest in code.split("crate::").skip(1) {
        let listed = rest.strip_prefix('{').and_then(|group| group.split('}').next()).unwrap_or(rest);
        let parts: Vec<&str> = if rest.starts_with('{') { listed.split(',').collect() } else { vec![listed] };
        for part in parts {
            names.insert(part.trim().chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect());
        }
    }
    names
}

fn breaches(module: &str, source: &str) -> Vec<String> {
    let allowed = TABLE.iter().find(|(name, _)| *name == module).map(|(_, allowed)| *allowed);
    let Some(allowed) = allowed else { return vec![format!("module {module} is not in the table")] };
    let known = |name: &String| TABLE.iter().any(|(module, _)| module == name);
    let wrong = imports(source)
        .into_iter()
        .filter(|name| known(name) && name != module && !allowed.contains(&name.as_str()));
    wrong.map(|name| format!("{module} imports {name}")).collect()
}

#[test]
fn modules_import_downward_only() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    rust_files(&src, &mut files);
    let mut wrong = Vec::new();
    let mut read = 0;
    let test = |file: &&PathBuf| file.ends_with("lib.rs") || file.ends_with("tests.rs"); // tests may look anywhere
    for file in files.iter().filter(|file| !test(file)) {
        let inside = file.strip_prefix(&src).expect("below src");
        let first = inside.components().next().expect("a name").as_os_str().to_string_lossy();
        let source = fs::read_to_string(file).expect("file is readable");
        read += 1;
        let found = breaches(first.trim_end_matches(".rs"), &source);
        wrong.extend(found.into_iter().map(|breach| format!("{}: {breach}", inside.display())));
    }
    assert!(read >= LEAST_FILES, "only {read} files were read");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn planted_imports_are_noticed() {
    assert_eq!(breaches("forest", "use crate::geometry::Point;"), ["forest imports geometry"]);
    assert_eq!(breaches("strike", "use crate::{class::Class, evidence::Site};"), ["strike imports evidence"]);
    assert!(breaches("layout", "// crate::evidence is not for us\nuse crate::forest::Network;").is_empty());
}

/// The table itself has no cycle: every module stands above all that it may import.
#[test]
fn table_has_no_cycle() {
    let mut done: BTreeSet<&str> = BTreeSet::new();
    while done.len() < TABLE.len() {
        let next =
            TABLE.iter().find(|(name, needs)| !done.contains(name) && needs.iter().all(|n| done.contains(n)));
        let (name, _) = next.expect("a module whose imports are all below it");
        done.insert(name);
    }
}
