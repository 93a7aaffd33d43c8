//! The making of a site: a document is checked, converted, and noted on.

use super::checked_site::Site;
use super::document::{Document, ProbeEntry};
use super::fault::{Fault, SiteFaults};
use super::note::Note;
use super::{check, convert, zone_notes};

impl Site {
    /// The site of a document.
    ///
    /// # Errors
    /// Every fault of the document at once.
    ///
    /// # Examples
    /// ```
    /// use underturf::site::{Document, Site, Units};
    /// let site = Site::new(Document::new(Units::Feet))?;
    /// assert!(site.heads.is_empty() && site.notes().is_empty());
    /// # Ok::<(), underturf::site::SiteFaults>(())
    /// ```
    pub fn new(document: Document) -> Result<Self, SiteFaults> {
        let (faults, notes) = check::run(&document);
        if !faults.is_empty() {
            return Err(SiteFaults { faults });
        }
        let mut site = convert::site(document)?;
        site.notes = zone_notes::of(&site);
        site.notes.extend(notes);
        Ok(site)
    }

    /// The site with one more thing to say of how it was read.
    pub(super) fn with_note(mut self, note: Option<Note>) -> Self {
        self.notes.extend(note);
        self
    }

    /// The site with one more probe, at the end of its list. Only the probe is checked, and that the site stays a site: the rest
    /// has passed.
    ///
    /// # Errors
    /// Every fault of the probe at once, those that [`Site::new`] would report of the whole document.
    pub fn with_probe(&self, probe: ProbeEntry) -> Result<Self, SiteFaults> {
        let mut site = self.clone();
        site.document.probes.push(probe);
        let (faults, notes) = check::added_probe(&site.document);
        if !faults.is_empty() {
            return Err(SiteFaults { faults });
        }
        let index = site.probes.len();
        let probe = convert::probe(&site.document, index)?;
        let met = convert::met_by(index, &probe);
        site.notes.extend(met.as_ref().and_then(zone_notes::utility_met));
        // A site too wide is odd with or without the probe.
        site.notes.extend(notes.into_iter().filter(|note| !self.notes.contains(note)));
        site.marks.extend(met);
        site.probes.push(probe);
        Ok(site)
    }

    /// The faults that [`Site::with_probe`] would report of the last probe of a document whose rest has passed.
    pub(super) fn faults_of_added_probe(document: &Document) -> Vec<Fault> {
        check::added_probe(document).0
    }

    /// The faults that [`Site::new`] would report.
    pub fn faults(document: &Document) -> Option<SiteFaults> {
        let (faults, _) = check::run(document);
        (!faults.is_empty()).then_some(SiteFaults { faults })
    }
}
