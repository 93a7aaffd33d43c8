//! The validation page writes itself. A slow test that yields a table keeps it as a record, `python/docs/validation/NAME.toml`:
//! the table, on what it was made, on which day, of which state of the code, by which command. `python/docs/validation.md` is
//! the template `python/docs/validation/page.md` with the records filled in, and a fast test holds it to that. Numbers are
//! never typed into the page.
//!
//! Records are written on demand, as the golden run is, so that a look at a slow test changes no file:
//! `UNDERTURF_RECORD=write cargo test --release --test statistical NAME -- --ignored --nocapture`. Each record that is written
//! renders the page anew. `write_page` renders it alone: after a change of sources, which makes tables out of date.

mod record;
mod render;
mod sources;
mod tables;

use record::{Record, Run};
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::time::Instant;

/// A table in the making: what a slow test holds from its first line on.
pub struct Keeping {
    name: &'static str,
    test: &'static str,
    began: Instant,
    /// Commit and fingerprint as the run began: sources may be edited while it goes on.
    judged: (String, String),
    values: BTreeMap<String, String>,
}

impl Keeping {
    /// Begins the table of that name, made by the test of that path. The clock of the run starts.
    pub fn begin(name: &'static str, test: &'static str) -> Self {
        let judged = (sources::commit(), sources::fingerprint(&tables::judged(name)));
        Self { name, test, began: Instant::now(), judged, values: BTreeMap::new() }
    }

    /// A figure that the page cites by name.
    pub fn value(mut self, name: &str, value: String) -> Self {
        self.values.insert(name.to_owned(), value);
        self
    }

    /// Prints the table. Keeps it, if records are to be written, with what it was made on and from which seeds. To be called
    /// before anything is asserted of the table: a judgement that failed belongs on the page as well.
    pub fn keep(self, n: &str, seeds: &str, table: &str) {
        println!("{table}");
        if std::env::var("UNDERTURF_RECORD").as_deref() != Ok("write") {
            return;
        }
        let (commit, sources) = self.judged;
        let run = Run {
            day: sources::today(),
            commit,
            minutes: (self.began.elapsed().as_secs_f64() / 6.0).round() / 10.0,
            n: n.to_owned(),
            seeds: seeds.to_owned(),
            command: command(self.test),
            sources,
        };
        Record::of_run(run, self.values, table).write(&folder(), self.name);
        render::write();
    }
}

/// The command that was given, with the variables that scale it.
fn command(test: &str) -> String {
    let mut set: Vec<String> = std::env::vars()
        .filter(|(name, _)| {
            name.starts_with("UNDERTURF_") && name != "UNDERTURF_RECORD" && name != "UNDERTURF_DATA"
        })
        .map(|(name, value)| format!("{name}={value} "))
        .collect();
    set.sort();
    format!("{}cargo test --release --test statistical {test} -- --exact --ignored --nocapture", set.concat())
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn folder() -> PathBuf {
    root().join("python/docs/validation")
}

/// Renders the page from the records as they are.
#[test]
#[ignore = "writes python/docs/validation.md; at once"]
fn write_page() {
    render::write();
}
