//! The making of a site: a document is checked, converted, and noted on.

use super::checked_site::Site;
use super::document::Document;
use super::fault::SiteFaults;
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

    /// The faults that [`Site::new`] would report.
    pub fn faults(document: &Document) -> Option<SiteFaults> {
        let (faults, _) = check::run(document);
        (!faults.is_empty()).then_some(SiteFaults { faults })
    }
}
