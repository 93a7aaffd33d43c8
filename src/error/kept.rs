//! What is wrong with layouts that were kept, when they are taken up again.

/// A fault of kept layouts.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum KeptFault {
    /// A column that must be there.
    #[error("{column} is missing")]
    Missing {
        /// Its name.
        column: String,
    },
    /// A column that holds another kind of thing.
    #[error("{column} holds {found}; it must hold {wanted}")]
    Kind {
        /// Its name.
        column: String,
        /// What it holds.
        found: &'static str,
        /// What it must hold.
        wanted: &'static str,
    },
    /// A column that is longer or shorter than it must be.
    #[error("{column} has {found} rows; it must have {wanted}")]
    Length {
        /// Its name.
        column: String,
        /// How many rows it has.
        found: usize,
        /// How many it must have.
        wanted: usize,
    },
    /// A number that points nowhere, or means nothing.
    #[error("{column}[{row}] is {value}; it must be from 0 to {most}")]
    Range {
        /// Its name.
        column: String,
        /// The row.
        row: usize,
        /// The number.
        value: i64,
        /// The greatest that means something.
        most: i64,
    },
    /// A text that says nothing known.
    #[error("{column} is {value:?}, which cannot be read")]
    Text {
        /// Its name.
        column: String,
        /// The text.
        value: String,
    },
}
