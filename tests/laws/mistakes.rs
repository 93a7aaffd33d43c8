//! The tables of mistakes: what people type, and what must be said to them. Each case is a whole site document with the faults
//! and warnings that it must have, no more and no fewer faults than these; hostile but legal documents must be read, and where
//! the case says so layouts are sampled too.
//!
//! One file a theme, `tests/mistakes/<theme>.toml`; bases of cases that change little are in `tests/mistakes/bases`. Faults
//! caught here: a mistake that is no longer noticed, one that hides another, a message that no longer names the thing, how far
//! off it is or what to do, and a legal document that is refused.

use serde::Deserialize;
use std::collections::BTreeSet;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use underturf::inference::{SampleOptions, sample_layouts};
use underturf::monitor::Unwatched;
use underturf::site::Site;
use underturf::site::io::{self, ReadError};

/// One file of cases.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Theme {
    case: Vec<Case>,
}

/// One document and what must be said of it.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Case {
    name: String,
    kind: Kind,
    #[serde(default)]
    json: bool,
    document: Option<String>,
    base: Option<String>,
    #[serde(default)]
    replace: Vec<(String, String)>,
    #[serde(default)]
    append: String,
    /// Each must be contained in one line of the error, and the error has as many lines.
    #[serde(default)]
    faults: Vec<String>,
    /// Each must be contained in a warning of the site, or of the layouts where they are sampled.
    #[serde(default)]
    warns: Vec<String>,
    /// There must be no warning at all.
    #[serde(default)]
    silent: bool,
    /// Layouts must be sampled from it.
    #[serde(default)]
    answers: bool,
}

#[derive(Deserialize, PartialEq)]
#[serde(rename_all = "lowercase")]
enum Kind {
    /// The document is refused, or read with a warning.
    Mistake,
    /// The document is legal, however odd: it must be read.
    Hostile,
}

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/mistakes")
}

fn themes() -> Vec<(String, Theme)> {
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder())
        .expect("the folder of mistakes")
        .map(|entry| entry.expect("a file").path())
        .filter(|path| path.extension().is_some_and(|end| end == "toml"))
        .collect();
    files.sort();
    let theme = |path: &PathBuf| {
        let text = std::fs::read_to_string(path).expect("a file of cases");
        let name = path.file_stem().expect("a name").to_string_lossy().into_owned();
        let theme = toml::from_str(&text).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        (name, theme)
    };
    files.iter().map(theme).collect()
}

impl Case {
    /// The text of the document, or why the case has none.
    fn text(&self) -> Result<String, String> {
        let mut text = match (&self.document, &self.base) {
            (Some(document), None) => document.clone(),
            (None, Some(base)) => {
                let path = folder().join("bases").join(format!("{base}.toml"));
                std::fs::read_to_string(&path).map_err(|error| format!("{}: {error}", path.display()))?
            }
            _ => return Err("give either a document or a base".to_owned()),
        };
        for (old, new) in &self.replace {
            match text.matches(old.as_str()).count() {
                1 => text = text.replacen(old.as_str(), new, 1),
                found => return Err(format!("{old:?} stands {found} times in the base")),
            }
        }
        Ok(text + &self.append)
    }

    /// What the case is found to break, one sentence each.
    fn complaints(&self) -> Vec<String> {
        let text = match self.text() {
            Ok(text) => text,
            Err(why) => return vec![why],
        };
        if self.kind == Kind::Hostile && !self.faults.is_empty() {
            return vec!["a hostile document is legal: it has no faults".to_owned()];
        }
        if self.kind == Kind::Mistake && self.faults.is_empty() && self.warns.is_empty() {
            return vec!["a mistake has faults or warnings".to_owned()];
        }
        let site = if self.json { io::parse_json(&text) } else { io::parse_toml(&text) };
        match site {
            Err(error) => self.held_against_faults(&error),
            Ok(_) if !self.faults.is_empty() => vec!["it is read without a fault".to_owned()],
            Ok(site) => self.held_against_warnings(&Arc::new(site)),
        }
    }

    fn held_against_faults(&self, error: &ReadError) -> Vec<String> {
        let said: Vec<String> = match error {
            ReadError::Faults(found) => found.faults.iter().map(ToString::to_string).collect(),
            other => vec![other.to_string()],
        };
        let mut complaints = Vec::new();
        for words in &self.faults {
            let lines = said.iter().filter(|line| line.contains(words.as_str())).count();
            if lines != 1 {
                complaints.push(format!("{words:?} stands in {lines} faults"));
            }
        }
        if said.len() != self.faults.len() {
            complaints.push(format!("{} faults, expected {}", said.len(), self.faults.len()));
        }
        if !complaints.is_empty() {
            complaints.extend(said.into_iter().map(|line| format!("  said: {line}")));
        }
        complaints
    }

    fn held_against_warnings(&self, site: &Arc<Site>) -> Vec<String> {
        let mut complaints = Vec::new();
        let mut said = site.warnings();
        if self.answers {
            match sample_layouts(site, &SampleOptions { draws: 20, seed: 1 }, &Unwatched) {
                Ok(layouts) => said.extend(layouts.warnings().iter().cloned()),
                Err(error) => complaints.push(format!("no layouts: {error}")),
            }
        }
        let missing =
            self.warns.iter().filter(|words| !said.iter().any(|line| line.contains(words.as_str())));
        complaints.extend(missing.map(|words| format!("no warning says {words:?}")));
        if self.silent && !said.is_empty() {
            complaints.push("it has warnings".to_owned());
        }
        if !complaints.is_empty() {
            complaints.extend(said.into_iter().map(|line| format!("  said: {line}")));
        }
        complaints
    }
}

/// Every case of every theme; all that fail are shown at once.
#[test]
fn what_is_typed_gets_the_answer_it_must_get() {
    let (mut names, mut failed, mut count) = (BTreeSet::new(), Vec::new(), 0);
    for (theme, cases) in themes() {
        for case in cases.case {
            count += 1;
            let mut complaints = case.complaints();
            if !names.insert(case.name.clone()) {
                complaints.push("another case has this name".to_owned());
            }
            if !complaints.is_empty() {
                failed.push(format!("{theme}: {}\n    {}", case.name, complaints.join("\n    ")));
            }
        }
    }
    assert!(count > 0, "no cases were found");
    assert!(failed.is_empty(), "{} of {count} cases fail:\n{}", failed.len(), failed.join("\n"));
}
