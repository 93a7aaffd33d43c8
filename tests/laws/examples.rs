//! Every function that a Rust caller would ask has an example, which `cargo test --doc` runs. Sources are parsed; what a room
//! hands on by `pub use` is what it can be asked.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;
use syn::visit::Visit;

/// Rooms that are asked.
const ROOMS: [&str; 4] = ["decision", "inference", "planting", "staking"];

/// What has no example, and why.
const WITHOUT: &[(&str, &str)] = &[
    ("chance_of_contradictions", "a part of what the sampled layouts tell"),
    ("distance_to_mark", "a part of marks_near"),
    ("expected_information", "a part of what plan_probes tells"),
    ("false_find", "a part of the likelihood of a probe"),
    ("footprint", "a dig as geometry"),
    ("half_zone_m", "a part of marks_near"),
    ("in_batches", "how the other rooms run in parallel"),
    ("information", "a part of expected_information"),
    ("look", "a dig as strikes see it"),
    ("loss_by_draw", "a part of assess and rank"),
    ("mature_root_zone_m", "a part of tree_conflicts"),
    ("standing_tree", "a part of assess"),
    ("tree_conflict", "one of tree_conflicts"),
];

/// Names that a room hands on.
fn handed_on(source: &str) -> BTreeSet<String> {
    fn leaves(tree: &syn::UseTree, found: &mut BTreeSet<String>) {
        match tree {
            syn::UseTree::Path(path) => leaves(&path.tree, found),
            syn::UseTree::Group(group) => group.items.iter().for_each(|item| leaves(item, found)),
            syn::UseTree::Name(name) => _ = found.insert(name.ident.to_string()),
            syn::UseTree::Rename(name) => _ = found.insert(name.rename.to_string()),
            syn::UseTree::Glob(_) => {}
        }
    }
    let mut found = BTreeSet::new();
    for item in syn::parse_file(source).expect("a Rust file").items {
        match item {
            syn::Item::Use(item) if matches!(item.vis, syn::Visibility::Public(_)) => {
                leaves(&item.tree, &mut found)
            }
            syn::Item::Fn(item) if matches!(item.vis, syn::Visibility::Public(_)) => {
                found.insert(item.sig.ident.to_string());
            }
            _ => {}
        }
    }
    found
}

/// Public functions of files, and whether their documentation holds code.
#[derive(Default)]
struct Functions(BTreeMap<String, bool>);

impl<'ast> Visit<'ast> for Functions {
    fn visit_item_fn(&mut self, item: &'ast syn::ItemFn) {
        if matches!(item.vis, syn::Visibility::Public(_)) {
            let code = item.attrs.iter().any(|attribute| {
                let syn::Meta::NameValue(doc) = &attribute.meta else { return false };
                doc.path.is_ident("doc")
                    && matches!(&doc.value, syn::Expr::Lit(text)
                        if matches!(&text.lit, syn::Lit::Str(text) if text.value().contains("```")))
            });
            self.0.insert(item.sig.ident.to_string(), code);
        }
    }
}

fn read(folder: &Path, found: &mut Functions) {
    for entry in fs::read_dir(folder).expect("folder is readable").map(|entry| entry.expect("entry").path()) {
        if entry.is_dir() {
            read(&entry, found);
        } else if entry.extension().is_some_and(|ext| ext == "rs") {
            let source = fs::read_to_string(&entry).expect("file is readable");
            found.visit_file(&syn::parse_file(&source).expect("a Rust file"));
        }
    }
}

#[test]
fn what_can_be_asked_has_an_example() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let (mut bare, mut seen) = (BTreeSet::new(), 0);
    for room in ROOMS {
        let folder = src.join(room);
        let offered = handed_on(&fs::read_to_string(folder.join("mod.rs")).expect("a room has a mod.rs"));
        let mut functions = Functions::default();
        read(&folder, &mut functions);
        for (name, code) in functions.0.into_iter().filter(|(name, _)| offered.contains(name)) {
            seen += 1;
            if !code {
                bare.insert(name);
            }
        }
    }
    assert!(seen > 35, "{seen} functions");
    let expected: BTreeSet<String> = WITHOUT.iter().map(|(name, _)| (*name).to_owned()).collect();
    assert_eq!(bare, expected);
}

/// Planted fault: a function whose example was taken out.
#[test]
fn a_function_without_an_example_is_seen() {
    let mut functions = Functions::default();
    functions.visit_file(
        &syn::parse_file("/// One.\n/// ```\n/// ```\npub fn shown() {}\n/// Two.\npub fn bare() {}")
            .expect("Rust"),
    );
    assert_eq!((functions.0["shown"], functions.0["bare"]), (true, false));
}
