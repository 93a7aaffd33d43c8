//! Why a published table does not tell.

/// A table that has no row for what was asked, or a question outside what was published.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum TableError {
    /// A table that has no row for what was asked.
    #[error(
        "{what} = {value} lies outside {table} ({least} to {greatest}): tables are not extrapolated{}",
        elsewhere.map_or_else(String::new, |other| format!("; the table {other:?} has a row for it"))
    )]
    Outside {
        /// What was asked for, with its unit.
        what: &'static str,
        /// The value.
        value: f64,
        /// The table.
        table: &'static str,
        /// Its first row.
        least: f64,
        /// Its last row.
        greatest: f64,
        /// Name of another table that has a row for it.
        elsewhere: Option<&'static str>,
    },
    /// A hole narrower or wider than published rules dig it.
    #[error("width_factor = {value} is out of range: 2 to 3 balls wide, as published")]
    Width {
        /// Balls wide.
        value: f64,
    },
}
