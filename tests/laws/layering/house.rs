//! The sources as the order of the house sees them: what each file names, and which file defines what is named. Sources are
//! parsed, `use` trees and paths in code both; a name that a `mod.rs` hands on counts as the file that defines it.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use syn::visit::Visit;

/// By module path, `a::b`, the source of each file.
pub type Sources = BTreeMap<String, String>;

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

pub fn sources() -> Sources {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    rust_files(&src, &mut files);
    let test = |file: &PathBuf| file.ends_with("lib.rs") || file.ends_with("tests.rs"); // tests may look anywhere
    files.retain(|file| !test(file));
    let name = |file: &Path| {
        let inside = file.strip_prefix(&src).expect("below src").with_extension("");
        let parts: Vec<String> =
            inside.components().map(|part| part.as_os_str().to_string_lossy().into_owned()).collect();
        let parts =
            if parts.last().is_some_and(|last| last == "mod") { &parts[..parts.len() - 1] } else { &parts };
        parts.join("::")
    };
    files.iter().map(|file| (name(file), fs::read_to_string(file).expect("file is readable"))).collect()
}

/// What one file names: `use` paths with the name that they bring and whether it is handed on, and paths in code.
#[derive(Default)]
pub struct Named {
    pub uses: Vec<(Vec<String>, String, bool)>,
    paths: Vec<Vec<String>>,
}

impl Named {
    fn of(source: &str) -> Self {
        let mut named = Self::default();
        named.visit_file(&syn::parse_file(source).expect("a Rust file"));
        named
    }

    fn flatten(&mut self, tree: &syn::UseTree, prefix: &mut Vec<String>, handed_on: bool) {
        match tree {
            syn::UseTree::Path(path) => {
                prefix.push(path.ident.to_string());
                self.flatten(&path.tree, prefix, handed_on);
                prefix.pop();
            }
            syn::UseTree::Group(group) => {
                group.items.iter().for_each(|item| self.flatten(item, prefix, handed_on));
            }
            syn::UseTree::Glob(_) => self.uses.push((prefix.clone(), String::new(), handed_on)),
            syn::UseTree::Name(name) if name.ident == "self" => {
                self.uses.push((prefix.clone(), prefix.last().cloned().unwrap_or_default(), handed_on));
            }
            syn::UseTree::Name(name) => self.leaf(&name.ident, &name.ident, prefix, handed_on),
            syn::UseTree::Rename(name) => self.leaf(&name.ident, &name.rename, prefix, handed_on),
        }
    }

    fn leaf(&mut self, name: &syn::Ident, brought: &syn::Ident, prefix: &[String], handed_on: bool) {
        let path = prefix.iter().cloned().chain([name.to_string()]).collect();
        self.uses.push((path, brought.to_string(), handed_on));
    }
}

fn only_for_tests(attributes: &[syn::Attribute]) -> bool {
    attributes.iter().any(|attribute| {
        attribute.path().is_ident("cfg")
            && attribute.parse_args::<syn::Path>().is_ok_and(|path| path.is_ident("test"))
    })
}

impl<'ast> Visit<'ast> for Named {
    fn visit_item_mod(&mut self, item: &'ast syn::ItemMod) {
        if !only_for_tests(&item.attrs) {
            syn::visit::visit_item_mod(self, item);
        }
    }

    fn visit_item_use(&mut self, item: &'ast syn::ItemUse) {
        if !only_for_tests(&item.attrs) {
            self.flatten(&item.tree, &mut Vec::new(), !matches!(item.vis, syn::Visibility::Inherited));
        }
    }

    fn visit_visibility(&mut self, _: &'ast syn::Visibility) {} // `pub(super)` imports nothing

    fn visit_path(&mut self, path: &'ast syn::Path) {
        self.paths.push(path.segments.iter().map(|segment| segment.ident.to_string()).collect());
        syn::visit::visit_path(self, path);
    }

    fn visit_macro(&mut self, called: &'ast syn::Macro) {
        let tokens = called.tokens.to_string();
        let words: Vec<&str> =
            tokens.split(|c: char| !(c.is_alphanumeric() || c == '_')).filter(|w| !w.is_empty()).collect();
        for at in (0..words.len()).filter(|&at| words[at] == "crate") {
            self.paths
                .push(words[at..words.len().min(at + 4)].iter().map(|word| (*word).to_owned()).collect());
        }
    }
}

/// Which file imports from which, and what rooms hand on.
pub struct House {
    pub names: BTreeMap<String, Named>,
}

impl House {
    pub fn of(sources: &Sources) -> Self {
        Self { names: sources.iter().map(|(module, source)| (module.clone(), Named::of(source))).collect() }
    }

    /// A path as seen from a module, from the root of the crate; `None`: not ours.
    pub fn absolute(&self, module: &str, path: &[String]) -> Option<Vec<String>> {
        let mut at: Vec<String> = module.split("::").map(str::to_owned).collect();
        let first = path.first()?;
        if first == "crate" {
            return Some(path[1..].to_vec());
        }
        let ups = path.iter().take_while(|part| *part == "super" || *part == "self").count();
        if ups == 0 && !self.names.contains_key(&format!("{module}::{first}")) {
            return None;
        }
        for part in &path[..ups] {
            if part == "super" {
                at.pop();
            }
        }
        at.extend(path[ups..].iter().cloned());
        Some(at)
    }

    /// The file that defines what a path from the root names: a name handed on counts as where it comes from.
    pub fn defines(&self, path: &[String], seen: &mut BTreeSet<Vec<String>>) -> Option<String> {
        if !seen.insert(path.to_vec()) {
            return None;
        }
        let length = (1..=path.len()).rev().find(|&k| self.names.contains_key(&path[..k].join("::")))?;
        let module = path[..length].join("::");
        if let Some(name) = path.get(length) {
            let brought = self.names[&module].uses.iter().filter(|(_, brought, _)| brought == name);
            for (path, ..) in brought {
                let from = self.absolute(&module, path).and_then(|path| self.defines(&path, seen));
                if from.is_some() {
                    return from;
                }
            }
        }
        Some(module)
    }

    fn imports(&self, module: &str) -> BTreeSet<String> {
        let named = &self.names[module];
        let paths = named.uses.iter().map(|(path, ..)| path).chain(&named.paths);
        let found =
            paths.filter_map(|path| self.defines(&self.absolute(module, path)?, &mut BTreeSet::new()));
        found.filter(|file| file != module).collect()
    }

    pub fn all(&self) -> BTreeMap<&str, BTreeSet<String>> {
        self.names.keys().map(|module| (module.as_str(), self.imports(module))).collect()
    }
}
