//! What to do with each proposed dig: chances, nearest line, tolerance zones, best shift, verdict.

use super::dig::{distance_to_mark, footprint, look};
use super::maps::{Shift, dig_maps, half_zone_m};
use crate::class::Class;
use crate::error::Error;
use crate::evidence::document::Method;
use crate::evidence::{Dig, Site};
use crate::infer::{Layouts, in_batches};
use crate::monitor::Monitor;
use crate::strike::{Form, RunIndex, Strike, strike_unless};

/// From this chance on a line has to be uncovered by hand, or the dig shifted (design section 5).
const LIKELY: f64 = 0.5;

/// How far a better place is looked for, and on which grid, metres (design section 6).
const REACH_M: f64 = 1.5;
const CELL_M: f64 = 0.1;

/// What to do. There is no verdict that calls a spot safe.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// The dig enters the tolerance zone of a mark.
    ToleranceZone,
    /// A line is as likely as not.
    Uncover,
    /// The chance is at or above the limit.
    ProbeOrShift,
    /// The chance is below the limit.
    HandDigFirst,
}

impl Verdict {
    /// The verdict as a sentence for people who dig by this method: a machine waits until hands have done their part.
    pub const fn sentence(self, method: Method) -> &'static str {
        match (self, method) {
            (Self::ToleranceZone, _) => {
                "inside a tolerance zone: call the one-call centre, wait for the marks, dig by hand or vacuum only"
            }
            (Self::Uncover, Method::Hand) => "a line is likely: uncover it by hand, or shift the dig",
            (Self::Uncover, Method::Machine) => {
                "a line is likely: no machine here before it is uncovered by hand, or shift the dig"
            }
            (Self::ProbeOrShift, Method::Hand) => "probe by hand first, or shift the dig",
            (Self::ProbeOrShift, Method::Machine) => {
                "no machine here before a probe by hand, or shift the dig"
            }
            (Self::HandDigFirst, Method::Hand) => "dig by hand to the usual cover first",
            (Self::HandDigFirst, Method::Machine) => {
                "dig by hand to the usual cover first, and only then by machine"
            }
        }
    }

    /// A short name for tables.
    pub const fn name(self) -> &'static str {
        match self {
            Self::ToleranceZone => "tolerance_zone",
            Self::Uncover => "uncover",
            Self::ProbeOrShift => "probe_or_shift",
            Self::HandDigFirst => "hand_dig_first",
        }
    }
}

/// The line that a dig most often comes nearest to.
#[derive(Clone, Debug, PartialEq)]
pub struct Nearest {
    /// Index of the system; their number for unknown lines.
    pub system: usize,
    /// Share of draws in which this system comes nearest.
    pub share: f64,
    /// Median over draws of the distance from the dig's edge to the nearest line of any system, metres.
    pub distance_m: f64,
}

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

/// Everything known of one proposed dig.
#[derive(Clone, Debug)]
pub struct Assessment {
    /// Name of the dig.
    pub id: String,
    /// Strike chances.
    pub strike: Strike,
    /// Nearest likely line; `None` on a site without lines.
    pub nearest: Option<Nearest>,
    /// Every mark, nearest first.
    pub marks: Vec<MarkNear>,
    /// The best place within 1.5 m, if it is better than here.
    pub shift: Option<Shift>,
    /// How it is to be dug.
    pub method: Method,
    /// What to do.
    pub verdict: Verdict,
}

/// Strike chance of each dig.
///
/// # Errors
/// [`Error::Interrupted`]; [`Error::ZonesAreSampled`] for the determinant form where zones are not settled.
pub fn strike_probability(
    layouts: &Layouts,
    digs: &[Dig],
    form: Form,
    monitor: &dyn Monitor,
) -> Result<Vec<Strike>, Error> {
    let assessed = layouts.assessed();
    if form == Form::Determinant {
        if layouts.convergence().is_some() {
            return Err(Error::ZonesAreSampled { what: "the determinant form" });
        }
        // One dig at a time, its outer states in parallel: a dig may take seconds, and has to be interruptible.
        let strike = |(k, dig): (usize, &Dig)| {
            let stop = || !monitor.tick(k, digs.len());
            strike_unless(&layouts.laws(), &look(dig), layouts.findings(), assessed, &stop)
                .ok_or(Error::Interrupted)
        };
        return digs.iter().enumerate().map(strike).collect();
    }
    let index = RunIndex::new(layouts.draws());
    let wider = (layouts.draws().len() as f64 / layouts.effective_draws()).max(1.0).sqrt();
    let strike = |k: usize| index.strike(layouts.law(), &look(&digs[k]), layouts.findings(), assessed);
    in_batches(digs.len(), monitor, |k| Ok(strike(k).widened(wider)))
}

/// Assesses each dig.
///
/// # Errors
/// [`Error::Interrupted`].
pub fn assess(layouts: &Layouts, digs: &[Dig], monitor: &dyn Monitor) -> Result<Vec<Assessment>, Error> {
    let strikes = strike_probability(layouts, digs, Form::General, monitor)?;
    let nearest = in_batches(digs.len(), monitor, |k| Ok(nearest(layouts, &digs[k])))?;
    let maps = dig_maps(layouts, digs, REACH_M, CELL_M, monitor)?;
    let limit = layouts.site().settings.verdict_limit;
    let found = digs.iter().zip(strikes).zip(nearest).zip(maps).map(|(((dig, strike), nearest), map)| {
        let marks = marks_near(layouts.site(), dig);
        let verdict = if marks.iter().any(|mark| mark.inside) {
            Verdict::ToleranceZone
        } else if strike.p >= LIKELY {
            Verdict::Uncover
        } else if strike.p >= limit {
            Verdict::ProbeOrShift
        } else {
            Verdict::HandDigFirst
        };
        Assessment {
            id: dig.id.clone(),
            method: dig.method,
            strike,
            nearest,
            marks,
            shift: map.shift,
            verdict,
        }
    });
    Ok(found.collect())
}

/// How a dig lies to every mark of the site, nearest first.
pub fn marks_near(site: &Site, dig: &Dig) -> Vec<MarkNear> {
    let taken = footprint(dig);
    let near = |(index, mark): (usize, &crate::evidence::Mark)| {
        let (distance_m, half_zone_m) = (distance_to_mark(&taken, mark), half_zone_m(site, mark));
        MarkNear { mark: index, class: mark.class, distance_m, half_zone_m, inside: distance_m < half_zone_m }
    };
    let mut marks: Vec<MarkNear> = site.marks.iter().enumerate().map(near).collect();
    marks.sort_by(|a, b| a.distance_m.total_cmp(&b.distance_m));
    marks
}

fn nearest(layouts: &Layouts, dig: &Dig) -> Option<Nearest> {
    let taken = footprint(dig);
    let pieces = layouts.pieces();
    let mut distances = Vec::with_capacity(pieces.draws());
    let mut counts = vec![0usize; layouts.systems().len() + 1]; // the last: unknown lines
    for k in 0..pieces.draws() {
        let to_piece = |piece: &crate::layout::Piece| {
            let gap = taken.distance_to_segment(piece.a, piece.b) - f64::from(piece.radius_m);
            (gap.max(0.0), piece.system)
        };
        let least = pieces.draw(k).iter().map(to_piece).min_by(|a, b| a.0.total_cmp(&b.0));
        let (distance, system) = least?;
        distances.push(distance);
        counts[usize::from(system)] += 1;
    }
    distances.sort_by(f64::total_cmp);
    let system = (0..counts.len()).max_by_key(|&system| counts[system])?;
    let share = counts[system] as f64 / pieces.draws() as f64;
    Some(Nearest { system, share, distance_m: *distances.get(distances.len() / 2)? })
}
