//! One table of the page with what is known of its run, as a file. A record of a run is written by its test and by nobody else.
//! Figures from before there were records, and those of benches, were entered by hand: they have no run, and their first words
//! say how they stand.

use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

/// How figures that were entered by hand may begin. "Entered" alone is for those that came with the change they judge.
const BY_HAND: [&str; 2] = ["Not rerun", "Entered"];

/// The run that made a table.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Run {
    pub day: String,
    /// Of the tree that was judged; ends in `-dirty` where sources were changed after it.
    pub commit: String,
    pub minutes: f64,
    /// How much was looked at.
    pub n: String,
    pub seeds: String,
    pub command: String,
    /// Fingerprint of the sources that the table judges.
    pub sources: String,
}

#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Record {
    /// First words of figures that were entered by hand.
    #[serde(skip_serializing_if = "Option::is_none")]
    entered: Option<String>,
    /// Markdown, as it stands on the page.
    pub body: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    pub run: Option<Run>,
    /// Figures that the page cites by name.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub values: BTreeMap<String, String>,
}

impl Record {
    pub fn of_run(run: Run, values: BTreeMap<String, String>, table: &str) -> Self {
        Self { entered: None, body: without_title(table), run: Some(run), values }
    }

    /// Reads a record and refuses one that does not say how it stands.
    pub fn parse(text: &str) -> Result<Self, String> {
        let record: Self = toml::from_str(text).map_err(|error| error.to_string())?;
        match (&record.entered, &record.run) {
            (Some(words), None) if BY_HAND.iter().any(|begin| words.starts_with(begin)) => Ok(record),
            (None, Some(_)) => Ok(record),
            (words, run) => Err(format!(
                "a record has a run, or was entered by hand and begins with one of {BY_HAND:?}: {words:?}, {run:?}"
            )),
        }
    }

    pub fn write(&self, folder: &Path, name: &str) {
        let text = toml::to_string_pretty(self).expect("a record is plain text");
        let path = folder.join(format!("{name}.toml"));
        fs::write(&path, text).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    }

    /// How the figures stand, in one paragraph. `now` is the fingerprint of the judged sources as they are.
    pub fn standing(&self, now: &str) -> String {
        let Some(run) = &self.run else { return self.entered.clone().unwrap_or_default() };
        let old =
            if run.sources == now { "" } else { "Not rerun after a change of the code that it judges. " };
        let Run { day, commit, minutes, n, seeds, command, .. } = run;
        format!("{old}Run on {day} at commit {commit}, {minutes} minutes: {n}, seeds {seeds}. `{command}`")
    }

    /// Standing and table.
    pub fn shown(&self, now: &str) -> String {
        let between = if self.run.is_some() { "\n\n" } else { " " };
        let shown = format!("{}{between}{}", self.standing(now), self.body.trim());
        shown.trim_end().to_owned()
    }

    pub fn is_current(&self, now: &str) -> bool {
        self.run.as_ref().is_some_and(|run| run.sources == now)
    }
}

/// The page has headings of its own.
fn without_title(table: &str) -> String {
    let lines = table
        .trim()
        .lines()
        .map(|line| line.strip_prefix("## ").map_or(line.to_owned(), |t| format!("{t}:")));
    lines.map(|line| line.trim_end().to_owned() + "\n").collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run() -> Record {
        let run = Run {
            day: "2026-01-02".into(),
            commit: "abc".into(),
            minutes: 1.5,
            n: "3 sites".into(),
            seeds: "0 to 2".into(),
            command: "cargo test".into(),
            sources: "f00".into(),
        };
        Record::of_run(
            run,
            [("brier".to_owned(), "0.1".to_owned())].into(),
            "\n## Title\n\n| a |\n|---|\n| 1 |\n",
        )
    }

    #[test]
    fn a_record_reads_back_as_it_was_written() {
        let text = toml::to_string_pretty(&run()).expect("plain text");
        assert_eq!(Record::parse(&text), Ok(run()));
    }

    #[test]
    fn a_record_says_first_that_its_code_has_changed() {
        let as_it_is = "Run on 2026-01-02 at commit abc, 1.5 minutes: 3 sites, seeds 0 to 2. `cargo test`";
        assert_eq!(run().standing("f00"), as_it_is);
        assert_eq!(
            run().standing("f01"),
            format!("Not rerun after a change of the code that it judges. {as_it_is}")
        );
        assert!(run().is_current("f00") && !run().is_current("f01"));
    }

    #[test]
    fn figures_by_hand_say_how_they_stand_or_are_refused() {
        let by_hand = |words: &str| Record::parse(&format!("entered = {words:?}\nbody = \"0.1\""));
        assert!(by_hand("Not rerun after the last change.").is_ok_and(|record| !record.is_current("")));
        assert!(by_hand("Measured well.").is_err());
        assert!(Record::parse("body = \"0.1\"").is_err());
    }
}
