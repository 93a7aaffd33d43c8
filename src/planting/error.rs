//! Why a published table does not tell.

use super::tables::{BallTable, Table, TableKey};

/// A table that has no row for what was asked, or a question outside what was published.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum TableError {
    /// A table that has no row for what was asked.
    #[error(
        "{key} = {value} lies outside {table} ({least} to {greatest}): tables are not extrapolated{}",
        elsewhere.map_or_else(String::new, |other| format!("; the table {:?} has a row for it", other.name()))
    )]
    Outside {
        /// What the table was entered with.
        key: TableKey,
        /// The value.
        value: f64,
        /// The table.
        table: Table,
        /// Its first row.
        least: f64,
        /// Its last row.
        greatest: f64,
        /// Another table that has a row for it.
        elsewhere: Option<BallTable>,
    },
    /// A hole narrower or wider than published rules dig it.
    #[error("width_factor is {value}; it must be from {least} to {greatest} balls wide, as published")]
    Width {
        /// Balls wide.
        value: f64,
        /// Narrowest.
        least: f64,
        /// Widest.
        greatest: f64,
    },
}
