//! The published tables by name, and what they are entered with.

use std::fmt;

/// A table of ball diameters by caliper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum BallTable {
    /// Field-grown shade trees, ANSI Z60.1.
    ShadeTree,
    /// Florida Grades and Standards, balled and burlapped, minimum.
    Florida,
}

impl BallTable {
    /// Every table.
    pub const ALL: [Self; 2] = [Self::ShadeTree, Self::Florida];

    /// The name used in Python.
    pub const fn name(self) -> &'static str {
        match self {
            Self::ShadeTree => "shade_tree",
            Self::Florida => "florida",
        }
    }
}

/// What a published table is entered with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TableKey {
    /// Caliper, inches.
    Caliper,
    /// Trade number of a container.
    Container,
    /// Diameter of a root ball, inches.
    BallDiameter,
}

impl fmt::Display for TableKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Caliper => "caliper, in",
            Self::Container => "container, trade number",
            Self::BallDiameter => "ball diameter, in",
        })
    }
}

/// A published table.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Table {
    /// Ball diameters by caliper.
    Balls(BallTable),
    /// Ball depths by ball diameter.
    BallDepths,
    /// Calipers by container.
    Containers,
}

impl fmt::Display for Table {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Balls(BallTable::ShadeTree) => {
                "the table of ball diameters of shade trees (ANSI Z60.1), in"
            }
            Self::Balls(BallTable::Florida) => {
                "the table of ball diameters of Florida Grades and Standards, in"
            }
            Self::BallDepths => "the table of ball depths (ANSI Z60.1), in",
            Self::Containers => "the table of containers (Florida Grades and Standards), trade number",
        })
    }
}
