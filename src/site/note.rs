//! Notes: what a reader of a legal document must know before trusting an answer. Each is typed, names the thing by its id and
//! place, says how far off it is in the document's units, and what to do.

use super::document::ObstacleKind;
use super::figures::{counted, length, listed};
use super::units::Units;
use std::fmt;

/// One note.
#[derive(Clone, Debug, PartialEq)]
pub struct Note {
    /// Where it is, for example `heads[3]` (lists count from 0); empty for the document as a whole.
    pub place: String,
    /// What it is about, for example `head h4`; empty where the sentence says it.
    pub thing: String,
    /// What must be known.
    pub what: NoteKind,
}

/// What must be known. Lengths are in metres, and said in the document's units.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum NoteKind {
    /// Evidence of metal lines: it counts in the probabilities, and bars digs whatever they say.
    Metal {
        /// Its keys in the document.
        keys: Vec<&'static str>,
    },
    /// A thing inside an obstacle by no more than noise: it is put at the wall.
    AtWall {
        /// How far inside it was written.
        inside_m: f64,
        /// The standard deviation of its place.
        sd_m: f64,
        /// What it lay in.
        kind: ObstacleKind,
        /// Place of the obstacle.
        obstacle: String,
        /// Units of the document.
        units: Units,
    },
    /// Noise that was left out of an outline or path.
    Cleaned {
        /// Whether the last corner only repeated the first.
        closed: bool,
        /// Corners that repeated the one before.
        repeated: usize,
        /// Spikes of less than a centimetre.
        spikes: usize,
    },
    /// A head at the place of an earlier one: they are one.
    Merged {
        /// The earlier head, as `head h1 (heads[0])`.
        with: String,
        /// Keys of which they say different things: those of the earlier one are kept.
        contradicting: Vec<&'static str>,
    },
    /// A head very near to another.
    NearlyMerged {
        /// The other head, as `head h1 (heads[0])`.
        other: String,
        /// How far apart they are.
        apart_m: f64,
        /// Units of the document.
        units: Units,
    },
    /// Zones no head of which anybody saw.
    HeadlessZones {
        /// Their names.
        zones: Vec<String>,
        /// Boxes that list them.
        boxes: Vec<String>,
        /// Whether some heads of the site carry no zone, so that they may have some of them.
        some_open: bool,
    },
    /// A box that counts fewer valves than it lists.
    TooFewValves {
        /// Valves counted.
        valves: u32,
        /// Zones listed.
        zones: usize,
        /// Spare valves.
        spare: u32,
    },
    /// Counts leave room for some of the zones that no box lists, not for all.
    ValvesShort {
        /// Working valves that no listed zone takes.
        valves: usize,
        /// The zones that no box lists.
        zones: Vec<String>,
    },
    /// Counts leave no room for zones that no box lists.
    ValvesOutOfSight {
        /// Those zones.
        zones: Vec<String>,
    },
    /// Heads without a zone, and no valve that could feed them.
    NoWorkingValve {
        /// Such heads.
        heads: Vec<String>,
    },
    /// A zone whose name may be a slip of another's.
    NameAlike {
        /// The zone.
        zone: String,
        /// Its heads.
        heads: Vec<String>,
        /// The zone that was probably meant.
        meant: String,
        /// Boxes that list that one; else it has more heads.
        boxes: Vec<String>,
    },
    /// Words of the first format, read as those of the present one.
    FormerWords {
        /// Words as typed, and as read.
        words: Vec<(&'static str, &'static str)>,
    },
    /// What of the frame is used, and what is only kept.
    Frame {
        /// The sentence.
        said: String,
    },
    /// A mark whose age tells against it, on a site whose day is known.
    MarkAge {
        /// Days since it was set, negative where that is after the day of the site; `None`: no day is written.
        days: Option<i64>,
        /// Days that a ticket holds.
        life: f64,
    },
    /// An outlet that its house feeds, on a site without any building.
    NoHouse,
    /// A probe that met the line of a utility.
    UtilityMet {
        /// What the line carries.
        class: &'static str,
    },
    /// What is possible but odd, by a rule of the table of plausibility.
    Odd {
        /// Name of the rule.
        rule: &'static str,
        /// What was found, in the unit of the rule.
        value: f64,
        /// The limit that it passes, in that unit.
        limit: f64,
        /// What is said of the thing.
        said: String,
    },
}

impl NoteKind {
    /// A word for tables: the rule's name for what is odd.
    pub const fn name(&self) -> &'static str {
        match self {
            Self::Metal { .. } => "metal",
            Self::AtWall { .. } => "at_wall",
            Self::Cleaned { .. } => "cleaned",
            Self::Merged { .. } => "merged",
            Self::NearlyMerged { .. } => "nearly_merged",
            Self::HeadlessZones { .. } => "headless_zones",
            Self::TooFewValves { .. } => "too_few_valves",
            Self::ValvesShort { .. } => "valves_short",
            Self::ValvesOutOfSight { .. } => "valves_out_of_sight",
            Self::NoWorkingValve { .. } => "no_working_valve",
            Self::NameAlike { .. } => "name_alike",
            Self::FormerWords { .. } => "former_words",
            Self::Frame { .. } => "frame",
            Self::MarkAge { .. } => "mark_age",
            Self::NoHouse => "no_house",
            Self::UtilityMet { .. } => "utility_met",
            Self::Odd { rule, .. } => rule,
        }
    }
}

/// A full sentence, or several.
impl fmt::Display for Note {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let named = match (self.thing.as_str(), self.place.as_str()) {
            ("", place) => place.to_owned(),
            (thing, place) if place.is_empty() || thing == place => capital(thing),
            (thing, place) => format!("{} ({place})", capital(thing)),
        };
        write!(f, "{named}{}{}", if named.is_empty() { "" } else { " " }, self.what)
    }
}

/// What is said of the thing.
impl fmt::Display for NoteKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Metal { keys } => {
                write!(
                    f,
                    "This evidence of the site counts in the probabilities as metal lines: {}.",
                    keys.join(", ")
                )?;
                if keys.contains(&"marks") {
                    write!(f, " The tolerance zones of marks are kept off whatever the probabilities say.")?;
                }
                if keys.contains(&"flags") {
                    write!(f, " Ground along flagged metal is kept off whatever the probabilities say.")?;
                }
                Ok(())
            }
            Self::AtWall { inside_m, sd_m, kind, obstacle, units } => write!(
                f,
                "lies {} inside a {} ({obstacle}). That is within 3 times its survey error of {}, so it is put at the nearest \
                 wall. Correct the place or the outline if it stands elsewhere.",
                length(*inside_m, *units),
                kind.name(),
                length(*sd_m, *units)
            ),
            Self::Cleaned { closed, repeated, spikes } => {
                let mut found = Vec::new();
                if *closed {
                    found.push("its first corner once more at its end".to_owned());
                }
                if *repeated > 0 {
                    found.push(counted(*repeated, "repeated corner"));
                }
                if *spikes > 0 {
                    found.push(format!("{} of less than 1 cm", counted(*spikes, "spike")));
                }
                write!(f, "has {}: left out, the rest stands as written.", listed(&found))
            }
            Self::Merged { with, contradicting } => {
                write!(
                    f,
                    "stands at the place of {with}: they are taken as one head, and station tests of either count for it."
                )?;
                if !contradicting.is_empty() {
                    write!(f, " They differ in {}: that of the first is kept.", contradicting.join(", "))?;
                }
                write!(f, " Delete one, or correct its place.")
            }
            Self::NearlyMerged { other, apart_m, units } => write!(
                f,
                "stands {} from {other}. They are kept as two heads; delete one if it was measured twice.",
                length(*apart_m, *units)
            ),
            Self::HeadlessZones { zones, boxes, some_open } => {
                let of = if boxes.is_empty() { String::new() } else { format!(" of {}", listed(boxes)) };
                let have = if zones.len() == 1 { "has a valve" } else { "have valves" };
                let seen = if *some_open {
                    "more zones lack a head than heads lack a zone: each may feed some of those heads, or only what nobody saw. Pipes \
                     to what nobody saw take"
                } else if zones.len() == 1 {
                    "no head is on it. Its pipes are not known and take"
                } else {
                    "no head is on them. Their pipes are not known and take"
                };
                write!(
                    f,
                    "Zone{} {} {have}{of}, but {seen} no part in any chance: lines may lie where nothing is shown. Run each such valve \
                     and enter the heads or drip points that come up.",
                    if zones.len() == 1 { "" } else { "s" },
                    quoted(zones)
                )
            }
            Self::TooFewValves { valves, zones, spare } => write!(
                f,
                "counts {}, but lists {} and {}. The list is believed and the count is not. Count again.",
                counted(*valves as usize, "valve"),
                counted(*zones, "zone"),
                counted(*spare as usize, "spare valve")
            ),
            Self::ValvesShort { valves, zones } => write!(
                f,
                "The valve boxes have room for {}, but heads are on {} that no box lists ({}). Nobody can say which valve is out of \
                 sight: each of these zones is fed from a box with a chance of {} in {}, else from a valve nobody saw, and the mainline \
                 to that one is not drawn. Count the valves again, or list the zones of each box.",
                counted(*valves, "more working valve"),
                counted(zones.len(), "zone"),
                quoted(zones),
                valves,
                zones.len()
            ),
            Self::ValvesOutOfSight { zones } => write!(
                f,
                "No valve box lists zone {}, and by their counts none has a valve left for it: its valve is taken to be out of \
                 sight, by the sources or buildings, along the edge of the site or beside one of its heads, and the mainline to \
                 it is not drawn.",
                quoted(zones)
            ),
            Self::NoWorkingValve { heads } => write!(
                f,
                "No valve box has a working valve left for heads without a zone ({}). Their valves are taken to be out of sight, and \
                 the mainline to them is not drawn. Count the valves again, spare ones too.",
                listed(heads)
            ),
            Self::NameAlike { zone, heads, meant, boxes } => {
                let of = if heads.is_empty() { String::new() } else { format!(" of {}", listed(heads)) };
                let why = if boxes.is_empty() {
                    "which has more heads".to_owned()
                } else {
                    format!("which {} lists", listed(boxes))
                };
                write!(
                    f,
                    "Zone {zone:?}{of} is in no valve box: did you mean {meant:?}, {why}? They are taken as two zones as written."
                )
            }
            Self::MarkAge { days: None, .. } => f.write_str(
                "has no date, and the day of the site is known: it is taken as fresh. Write the day it was set, or have it set anew.",
            ),
            Self::MarkAge { days: Some(days), .. } if *days < 0 => write!(
                f,
                "was set {} after the day of the site: it is taken as fresh. Correct one of the two days.",
                counted(days.unsigned_abs() as usize, "day")
            ),
            Self::MarkAge { days: Some(days), life } => write!(
                f,
                "is {days} days old; marks count as faded after {life} (setting mark_life_days). It is less sure and less exact than a fresh \
                 one. Call the one-call centre and have it set anew before you dig."
            ),
            Self::NoHouse => f.write_str(
                "is fed by the house (fed = \"house\"), and the document has no building: no pipe to it counts in any chance. Draw the \
                 building, or write fed = \"ground\".",
            ),
            Self::UtilityMet { class } => write!(
                f,
                "met a line of class {class}: it is kept as a mark with its tolerance zone where it was met. Where it runs from there \
                 is not known; the chances count it as a metal line through that place. Call the one-call centre and have it \
                 marked."
            ),
            Self::FormerWords { words } => {
                let said = words.iter().map(|(typed, read)| format!("{typed} is read as {read}"));
                write!(
                    f,
                    "The document is of the format underturf-site/1: {}. Directions were counter-clockwise from x there and are azimuths \
                     now, clockwise from north. It is written as underturf-site/2.",
                    said.collect::<Vec<_>>().join(", ")
                )
            }
            Self::Frame { said } | Self::Odd { said, .. } => f.write_str(said),
        }
    }
}

fn quoted(names: &[String]) -> String {
    names.iter().map(|name| format!("{name:?}")).collect::<Vec<_>>().join(", ")
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}
