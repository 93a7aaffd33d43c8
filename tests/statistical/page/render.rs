//! The page: a template with places for records. `{record NAME}` is how the table of that name stands and the table itself;
//! `{standing NAME}` the first alone; `{NAME.VALUE}` one figure of it; `{closed LOW FROM BEST}` the share of the gap from a
//! simple forecast to the best possible one that a score closes, its three figures named as before; `{current}` counts the
//! tables that stand for the code as it is. A table whose test was never recorded leaves its place empty.

use super::record::Record;
use super::{folder, root, sources, tables};
use std::collections::BTreeMap;
use std::fs;

/// What goes into the page.
struct Page {
    template: String,
    records: BTreeMap<String, Record>,
    /// Fingerprints of the sources as they are, by table.
    now: BTreeMap<String, String>,
}

impl Page {
    fn read() -> Self {
        let read = |path: &std::path::Path| {
            fs::read_to_string(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
        };
        let entries = fs::read_dir(folder()).expect("the folder of records is readable");
        let paths = entries.map(|entry| entry.expect("an entry is readable").path());
        let records = paths.filter(|path| path.extension().is_some_and(|ext| ext == "toml")).map(|path| {
            let name = path.file_stem().expect("a name").to_string_lossy().into_owned();
            let record =
                Record::parse(&read(&path)).unwrap_or_else(|wrong| panic!("{}: {wrong}", path.display()));
            (name, record)
        });
        let now = tables::names().map(|name| (name.to_owned(), sources::fingerprint(&tables::judged(name))));
        Self { template: read(&folder().join("page.md")), records: records.collect(), now: now.collect() }
    }

    /// The page, or what is wrong with its template or records.
    fn render(&self) -> Result<String, String> {
        let mut page = String::new();
        let mut placed = Vec::new();
        for line in self.template.lines() {
            let mut rest = line;
            let mut filled = String::new();
            while let Some((before, after)) = rest.split_once('{') {
                let (place, after) = after.split_once('}').ok_or(format!("no end of a place: {line}"))?;
                filled += before;
                filled += &self.filled(place)?;
                placed.extend(place.strip_prefix("record ").map(str::to_owned));
                rest = after;
            }
            filled += rest;
            // a place that stays empty takes its line with it
            if line.is_empty() || !filled.is_empty() {
                page += &(filled + "\n");
            }
        }
        let names = self.records.keys().cloned().chain(tables::names().map(str::to_owned));
        let unplaced: Vec<String> = names.filter(|name| !placed.contains(name)).collect();
        if unplaced.is_empty() { Ok(single_blanks(&page)) } else { Err(format!("no place for {unplaced:?}")) }
    }

    fn filled(&self, place: &str) -> Result<String, String> {
        let parts: Vec<&str> = place.split(' ').collect();
        match parts[..] {
            ["current"] => Ok(self.current()),
            ["record", name] => {
                Ok(self.of(name)?.map_or_else(String::new, |record| record.shown(self.now(name))))
            }
            ["standing", name] => {
                Ok(self.of(name)?.map_or_else(String::new, |record| record.standing(self.now(name))))
            }
            ["closed", low, from, best] => self.closed([low, from, best]),
            [figure] => self.figure(figure),
            _ => Err(format!("no such place: {{{place}}}")),
        }
    }

    /// The record of that name; none for a table that was never recorded.
    fn of(&self, name: &str) -> Result<Option<&Record>, String> {
        match self.records.get(name) {
            None if !tables::names().any(|table| table == name) => Err(format!("no record {name}")),
            found => Ok(found),
        }
    }

    fn now(&self, name: &str) -> &str {
        self.now.get(name).map_or("", String::as_str)
    }

    fn figure(&self, place: &str) -> Result<String, String> {
        let (name, value) = place.split_once('.').ok_or(format!("no such place: {{{place}}}"))?;
        let record = self.records.get(name).ok_or(format!("no record {name}"))?;
        record.values.get(value).cloned().ok_or(format!("{name} has no figure {value}"))
    }

    fn closed(&self, places: [&str; 3]) -> Result<String, String> {
        let mut figures = [0.0; 3];
        for (figure, place) in figures.iter_mut().zip(places) {
            *figure = self.figure(place)?.parse::<f64>().map_err(|error| format!("{place}: {error}"))?;
        }
        let [low, from, best] = figures;
        let (done, all) = (from - low, from - best);
        Ok(format!("{:.0} % ({done:.4} of {all:.4})", 100.0 * done / all))
    }

    fn current(&self) -> String {
        let current = self.records.iter().filter(|(name, record)| record.is_current(self.now(name)));
        let names: Vec<String> = current.map(|(name, _)| format!("`{name}`")).collect();
        let all = tables::names().count();
        match names.len() {
            0 => format!("None of the {all} tables of the slow suite was made by the code as it is."),
            some => format!(
                "Made by the code as it is: {some} of the {all} tables of the slow suite ({}).",
                names.join(", ")
            ),
        }
    }
}

fn single_blanks(text: &str) -> String {
    let mut text = text.trim_end().to_owned() + "\n";
    while text.contains("\n\n\n") {
        text = text.replace("\n\n\n", "\n\n");
    }
    text
}

pub fn write() {
    let page = Page::read().render().unwrap_or_else(|wrong| panic!("{wrong}"));
    fs::write(root().join("python/docs/validation.md"), page).expect("the page is writable");
}

#[cfg(test)]
mod tests {
    use super::*;

    /// If this fails, somebody typed into the page, or the sources that a table judges were changed after its run. In either case
    /// `cargo test --release --test statistical write_page -- --ignored` sets it right.
    #[test]
    fn the_page_is_what_the_records_render_to() {
        let page = Page::read();
        assert!(page.records.len() >= 20, "{} records", page.records.len());
        let rendered = page.render().unwrap_or_else(|wrong| panic!("{wrong}"));
        let written = fs::read_to_string(root().join("python/docs/validation.md")).expect("the page");
        let first = written.lines().zip(rendered.lines()).find(|(a, b)| a != b);
        assert!(
            written == rendered,
            "the page is not what its records render to; first difference: {first:#?}"
        );
    }

    /// Planted: another figure in a record, and other sources under a table, each change the page.
    #[test]
    fn a_changed_figure_and_changed_sources_change_the_page() {
        let mut page = Page::read();
        let before = page.render().expect("a page");
        let body = &mut page.records.get_mut("installer_sites").expect("its record").body;
        assert!(body.contains('1'));
        *body = body.replace('1', "2");
        assert_ne!(page.render().expect("a page"), before);
        let run = toml::from_str(
            "day = ''\ncommit = ''\nminutes = 1.0\nn = ''\nseeds = ''\ncommand = ''\nsources = 'f00'",
        );
        let record = Record::of_run(run.expect("a run"), BTreeMap::new(), "| 1 |");
        page.records.insert("sbc".into(), record);
        page.now.insert("sbc".into(), "f00".into());
        let old = "Not rerun after a change of the code that it judges. Run on ";
        let (now, count) = (page.render().expect("a page"), |text: &str| text.matches(old).count());
        assert!(page.current().contains("`sbc`"));
        page.now.insert("sbc".into(), "f01".into());
        let later = page.render().expect("a page");
        assert!(!page.current().contains("`sbc`"));
        assert_eq!(count(&later), count(&now) + 1);
    }

    #[test]
    fn a_template_that_lacks_a_record_or_names_none_is_refused() {
        let mut page = Page::read();
        page.template = page.template.replace("{record sbc}", "");
        assert!(page.render().is_err_and(|wrong| wrong.contains("sbc")));
        page.template = "{record nobody}".into();
        assert!(page.render().is_err_and(|wrong| wrong.contains("nobody")));
        page.template = "{installer_sites.nothing}".into();
        assert!(page.render().is_err_and(|wrong| wrong.contains("nothing")));
    }

    /// 0.10 closes three quarters of the way from 0.16 to 0.08.
    #[test]
    fn the_share_of_the_gap_by_hand() {
        let mut page = Page::read();
        let figures = [("low", "0.10"), ("from", "0.16"), ("best", "0.08")];
        let record = page.records.get_mut("installer_sites").expect("its record");
        record.values = figures.map(|(name, value)| (name.to_owned(), value.to_owned())).into();
        let closed = page.closed(["installer_sites.low", "installer_sites.from", "installer_sites.best"]);
        assert_eq!(closed.as_deref(), Ok("75 % (0.0600 of 0.0800)"));
    }
}
