//! Pieces: the straight bits of line that a drawn layout consists of, packed draw after draw.
//!
//! Maps, tables and plots read this form; it holds everything a strike test needs and nothing else.

use crate::class::Class;
use crate::geometry::Point;

/// What part a piece plays in its layout.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
#[repr(u8)]
pub enum Kind {
    /// Pipe between two heads.
    Run,
    /// Pipe from the valve to a head.
    ValveLink,
    /// Straight lateral that rows branch from.
    Header,
    /// Short pipe from a head to a header.
    Drop,
    /// Pipe from the valve to a header.
    HeaderLink,
    /// Always-pressurised pipe between source, valve boxes and outlets.
    Supply,
    /// A line of no system that a probe found.
    Unknown,
    /// A line of no system that flags, paint or known ends tell of.
    Metal,
}

impl Kind {
    /// Every kind, in the order of their codes.
    pub const ALL: [Self; 8] = [
        Self::Run,
        Self::ValveLink,
        Self::Header,
        Self::Drop,
        Self::HeaderLink,
        Self::Supply,
        Self::Unknown,
        Self::Metal,
    ];

    /// The name used in tables.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Run => "run",
            Self::ValveLink => "valve_link",
            Self::Header => "header",
            Self::Drop => "drop",
            Self::HeaderLink => "header_link",
            Self::Supply => "supply",
            Self::Unknown => "unknown",
            Self::Metal => "metal",
        }
    }
}

/// A straight piece of buried line in one draw.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Piece {
    /// One end, metres.
    pub a: Point,
    /// The other end, metres.
    pub b: Point,
    /// Ground above the top of the pipe, metres.
    pub cover_m: f32,
    /// Outside radius of the pipe, metres.
    pub radius_m: f32,
    /// What the line carries.
    pub class: Class,
    /// What part it plays.
    pub kind: Kind,
    /// Index of the system (zone, mainline, potable line) it belongs to; their number for an unknown line, one more
    /// for a metal line.
    pub system: u16,
    /// Whether the control wire lies beside it.
    pub wire: bool,
}

/// The pieces of many draws, packed: draw `k` is `items[starts[k]..starts[k + 1]]`.
#[derive(Clone, Debug, Default)]
pub struct Pieces {
    items: Vec<Piece>,
    starts: Vec<usize>,
}

impl Pieces {
    /// Packs the pieces of each draw, in order.
    pub fn pack<D: IntoIterator<Item = Piece>>(draws: impl IntoIterator<Item = D>) -> Self {
        let mut pieces = Self { items: Vec::new(), starts: vec![0] };
        for draw in draws {
            pieces.items.extend(draw);
            pieces.starts.push(pieces.items.len());
        }
        pieces
    }

    /// Number of draws.
    pub fn draws(&self) -> usize {
        self.starts.len().saturating_sub(1)
    }

    /// The pieces of one draw.
    ///
    /// # Panics
    /// If there is no such draw.
    pub fn draw(&self, k: usize) -> &[Piece] {
        &self.items[self.starts[k]..self.starts[k + 1]]
    }

    /// The same with further pieces in each draw.
    pub fn with(&self, more: impl Fn(usize) -> Vec<Piece>) -> Self {
        Self::pack((0..self.draws()).map(|k| self.draw(k).iter().copied().chain(more(k)).collect::<Vec<_>>()))
    }

    /// All pieces, draw after draw.
    pub fn all(&self) -> &[Piece] {
        &self.items
    }
}
