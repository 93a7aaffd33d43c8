//! A small invented lawn, for first steps and for the examples of this documentation.

use crate::error::Error;
use crate::inference::{Layouts, SampleOptions, sample_layouts};
use crate::monitor::Unwatched;
use crate::site::Site;
use crate::site::io::{ReadError, parse_toml};
use std::sync::Arc;

/// The document of the lawn: two zones of three heads, one valve box, a shed, and two digs, one of them for a tree.
pub const LAWN: &str = r#"
format = "underturf-site/2"
units = "m"
boundary = [[-1, -4], [11, -4], [11, 7], [-1, 7]]
heads = [
    { id = "a", x = 0, y = 0, zone = "1" },
    { id = "b", x = 4, y = 0, zone = "1" },
    { id = "c", x = 8, y = 0, zone = "1" },
    { id = "d", x = 0, y = 5, zone = "2" },
    { id = "e", x = 4, y = 5, zone = "2" },
    { id = "f", x = 8, y = 5, zone = "2" },
]
valve_boxes = [{ id = "box", x = 2, y = -2, zones = ["1", "2"] }]
obstacles = [{ kind = "building", outline = [[6, -4], [10, -4], [10, -2], [6, -2]] }]
digs = [
    { id = "post", x = 2, y = 0.3, radius = 0.2, depth = 0.6 },
    { id = "oak", x = 6, y = 2.5, radius = 0.4, depth = 0.5, tree = { size = "large" } },
]
"#;

/// The lawn as a checked site.
///
/// # Errors
/// None, as long as [`LAWN`] is a sound document.
///
/// # Examples
/// ```
/// let site = underturf::example::lawn()?;
/// assert_eq!((site.heads.len(), site.digs.len()), (6, 2));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn lawn() -> Result<Arc<Site>, ReadError> {
    parse_toml(LAWN).map(Arc::new)
}

/// A few sampled layouts of the lawn: enough for examples, too few for a decision.
///
/// # Errors
/// Those of [`sample_layouts`].
///
/// # Examples
/// ```
/// let layouts = underturf::example::layouts()?;
/// assert_eq!(layouts.draws().len(), 100);
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn layouts() -> Result<Layouts, Box<dyn std::error::Error>> {
    let sampled: Result<Layouts, Error> =
        sample_layouts(&lawn()?, &SampleOptions { draws: 100, seed: 7 }, &Unwatched);
    Ok(sampled?)
}
