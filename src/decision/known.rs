//! What is known to lie at a dig, whatever any probability says: utility marks with their tolerance zones, and metal that a
//! detector heard. Where one of them is entered, marks and hands decide.

use super::bars::half_zone_m;
use super::dig::{distance_to_mark, footprint};
use crate::class::Class;
use crate::site::{Dig, Mark, Site};

/// How a dig lies to a mark.
#[derive(Clone, Debug, PartialEq)]
pub struct MarkNear {
    /// Index of the mark in the document.
    pub mark: usize,
    /// What the marked line carries.
    pub class: Class,
    /// Distance from the dig's edge to the marked line, metres.
    pub distance_m: f64,
    /// Half width of the tolerance zone, metres.
    pub half_zone_m: f64,
    /// Whether the dig enters the tolerance zone.
    pub inside: bool,
}

/// How a dig lies to flagged metal.
#[derive(Clone, Debug, PartialEq)]
pub struct FlagNear {
    /// Index among the site's [`keep_offs`](Site::keep_offs).
    pub keep_off: usize,
    /// Distance from the dig's edge to the line of the flags, metres.
    pub distance_m: f64,
    /// Half width of the ground to keep off, metres.
    pub half_width_m: f64,
    /// Whether the dig enters that ground.
    pub inside: bool,
}

/// What is known to lie where a dig is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Known {
    /// It enters the tolerance zone of a mark.
    ToleranceZone,
    /// It enters the ground to keep off along flagged metal.
    FlaggedMetal,
}

/// How a dig lies to every mark of the site, nearest first.
///
/// # Examples
/// ```
/// let site = underturf::example::lawn()?;
/// assert!(underturf::decision::marks_near(&site, &site.digs[0]).is_empty(), "nobody has marked the lawn");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn marks_near(site: &Site, dig: &Dig) -> Vec<MarkNear> {
    let taken = footprint(dig);
    let near = |(index, mark): (usize, &Mark)| {
        let (distance_m, half_zone_m) = (distance_to_mark(&taken, mark), half_zone_m(site, mark));
        MarkNear { mark: index, class: mark.class, distance_m, half_zone_m, inside: distance_m < half_zone_m }
    };
    let mut marks: Vec<MarkNear> = site.marks.iter().enumerate().map(near).collect();
    marks.sort_by(|a, b| a.distance_m.total_cmp(&b.distance_m));
    marks
}

/// How a dig lies to all flagged metal of the site, nearest first.
///
/// # Examples
/// ```
/// let site = underturf::example::lawn()?;
/// assert!(underturf::decision::flags_near(&site, &site.digs[0]).is_empty(), "nobody has flagged the lawn");
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn flags_near(site: &Site, dig: &Dig) -> Vec<FlagNear> {
    let taken = footprint(dig);
    let near = |(keep_off, it): (usize, &crate::site::KeepOff)| {
        let distance_m = it.distance_m(&taken);
        let half_width_m = it.half_width_m;
        FlagNear { keep_off, distance_m, half_width_m, inside: distance_m < half_width_m }
    };
    let mut flags: Vec<FlagNear> = site.keep_offs.iter().enumerate().map(near).collect();
    flags.sort_by(|a, b| a.distance_m.total_cmp(&b.distance_m));
    flags
}

/// What is known to lie where a dig is; a tolerance zone goes before flagged metal.
///
/// # Examples
/// ```
/// let site = underturf::example::lawn()?;
/// assert_eq!(underturf::decision::known(&site, &site.digs[0]), None);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn known(site: &Site, dig: &Dig) -> Option<Known> {
    if marks_near(site, dig).iter().any(|mark| mark.inside) {
        Some(Known::ToleranceZone)
    } else if flags_near(site, dig).iter().any(|flag| flag.inside) {
        Some(Known::FlaggedMetal)
    } else {
        None
    }
}
