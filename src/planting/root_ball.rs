//! How large a hole a tree needs: ball of roots by caliper or container, ball depth, hole width and depth, from published
//! tables only.
//!
//! Rows are those of python/docs/trade-values.md, 5.3 to 5.7. Between two rows numbers are interpolated linearly, and the
//! answer says so; outside a table there is no answer, but an error that names the table.

use super::error::TableError;
use super::tables::{BallTable, Table, TableKey};

const M_PER_IN: f64 = 0.0254;

/// Rows of (caliper, ball diameter), inches. 2, 3, 4 and 5 in: ANSI Z60.1 as copied by pages on caliper that agree
/// (python/docs/trade-values.md,
/// 5.5, 8.25); the others from memory of the same standard, not read (5.5b).
const SHADE_TREE: &[(f64, f64)] = &[
    (0.5, 12.0),
    (0.75, 14.0),
    (1.0, 16.0),
    (1.25, 18.0),
    (1.5, 20.0),
    (1.75, 22.0),
    (2.0, 24.0),
    (2.5, 28.0),
    (3.0, 32.0),
    (3.5, 38.0),
    (4.0, 42.0),
    (4.5, 48.0),
    (5.0, 54.0),
];

/// Florida Grades and Standards, matrix 3 (python/docs/trade-values.md, 5.5c; the alignment of its rows is a reading).
const FLORIDA: &[(f64, f64)] = &[
    (1.0, 16.0),
    (1.25, 18.0),
    (1.5, 20.0),
    (2.0, 24.0),
    (2.5, 28.0),
    (3.0, 32.0),
    (3.5, 36.0),
    (4.0, 40.0),
    (4.5, 44.0),
    (5.0, 48.0),
    (5.5, 50.0),
];

/// Calipers of the shade-tree table that were read in print, inches.
const READ_IN_PRINT: [f64; 4] = [2.0, 3.0, 4.0, 5.0];

/// Greatest caliper by container: Florida Grades and Standards give the least container for a caliper
/// (python/docs/trade-values.md, 5.7), (trade number, inches). Where a container serves several calipers the thickest counts:
/// it needs the widest hole.
const CONTAINERS: &[(f64, f64)] =
    &[(3.0, 0.75), (5.0, 1.0), (7.0, 1.25), (15.0, 2.0), (25.0, 2.5), (45.0, 3.0), (65.0, 3.5), (95.0, 5.0)];

/// Balls wide that a hole is dug where nobody says otherwise: a saucer (CSU Extension GardenNotes 633).
pub const WIDE: f64 = 3.0;

/// Narrowest and widest hole that was published, balls wide: loose soil (New Mexico State University,
/// python/docs/trade-values.md, 5.3b), and the saucer.
const WIDTHS: (f64, f64) = (2.0, WIDE);

/// Widest ball whose depth the standard gives, inches (python/docs/trade-values.md, 5.6).
const WIDEST_BALL_IN: f64 = 48.0;

/// A hole that lacks less than this of what a ball needs is not called too small, metres: a tape is read to the centimetre
/// (numerical choice).
const TAPE_M: f64 = 0.01;

impl RootBall {
    /// Whether a hole so wide and deep is smaller than the one for this ball.
    pub fn needs_more_than(&self, width_m: f64, depth_m: f64) -> bool {
        self.hole_width_m - width_m > TAPE_M || self.hole_depth_m - depth_m > TAPE_M
    }
}

impl BallTable {
    const fn rows(self) -> &'static [(f64, f64)] {
        match self {
            Self::ShadeTree => SHADE_TREE,
            Self::Florida => FLORIDA,
        }
    }

    /// Where the diameter for a caliper comes from.
    fn source(self, caliper_in: f64) -> &'static str {
        match self {
            Self::Florida => {
                "ball diameter: Florida Grades and Standards, matrix 3 (minimum, balled and burlapped)"
            }
            Self::ShadeTree if self.leans_on(caliper_in).iter().all(|row| READ_IN_PRINT.contains(row)) => {
                "ball diameter: ANSI Z60.1, shade trees, as copied by nursery pages"
            }
            Self::ShadeTree => "ball diameter: ANSI Z60.1, shade trees, rows from memory, not read in print",
        }
    }

    /// The same refusal, naming another table that has a row for the caliper.
    fn or_elsewhere(self, error: TableError, caliper_in: f64) -> TableError {
        let TableError::Outside { key, value, table, least, greatest, .. } = error else { return error };
        let has = |other: &Self| *other != self && other.look_up(caliper_in).is_ok();
        let elsewhere = Self::ALL.into_iter().find(has);
        TableError::Outside { key, value, table, least, greatest, elsewhere }
    }

    /// The ball diameter for a caliper, inches, and whether it lies between two rows.
    fn look_up(self, caliper_in: f64) -> Result<(f64, bool), TableError> {
        look_up(self.rows(), caliper_in, TableKey::Caliper, Table::Balls(self))
    }

    /// The calipers of the rows that an answer leans on.
    fn leans_on(self, caliper_in: f64) -> Vec<f64> {
        let rows = self.rows();
        let exact = rows.iter().find(|row| same(row.0, caliper_in));
        let between = || rows.windows(2).find(|pair| pair[0].0 < caliper_in && caliper_in < pair[1].0);
        exact.map_or_else(|| between().map_or(Vec::new(), |p| vec![p[0].0, p[1].0]), |row| vec![row.0])
    }
}

/// A root ball and the hole for it.
#[derive(Clone, Debug, PartialEq)]
pub struct RootBall {
    /// Caliper that the tables were entered with, inches.
    pub caliper_in: f64,
    /// Diameter of the ball, metres.
    pub ball_diameter_m: f64,
    /// Least depth of the ball, metres.
    pub ball_depth_m: f64,
    /// Width of the hole, metres.
    pub hole_width_m: f64,
    /// Depth of the hole, metres: the ball stands a little proud.
    pub hole_depth_m: f64,
    /// Whether a number lies between two rows of a table.
    pub interpolated: bool,
    /// Where the numbers come from.
    pub source: String,
}

/// The hole for a tree of this caliper (stem diameter 6 in above ground), inches, and how many balls wide it is dug: 3 (a
/// saucer, CSU Extension GardenNotes 633, python/docs/trade-values.md, 5.3) or 2 (loose soil, New Mexico State University,
/// 5.3b).
///
/// # Errors
/// [`TableError::Outside`] for calipers and balls outside the tables, [`TableError::Width`] for widths outside 2 to 3.
///
/// # Examples
/// ```
/// use underturf::planting::{BallTable, root_ball_of_caliper};
/// let (caliper_in, width_factor) = (2.0, 3.0);
/// let ball = root_ball_of_caliper(caliper_in, BallTable::ShadeTree, width_factor)?;
/// assert!((ball.ball_diameter_m - 24.0 * 0.0254).abs() < 1e-9 && !ball.interpolated);
///
/// let thick = root_ball_of_caliper(9.0, BallTable::ShadeTree, width_factor);
/// assert!(thick.is_err_and(|error| error.to_string().contains("tables are not extrapolated")));
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn root_ball_of_caliper(
    caliper_in: f64,
    table: BallTable,
    width_factor: f64,
) -> Result<RootBall, TableError> {
    let (least, greatest) = WIDTHS;
    if !(least..=greatest).contains(&width_factor) {
        return Err(TableError::Width { value: width_factor, least, greatest });
    }
    let (ball_in, between) =
        table.look_up(caliper_in).map_err(|error| table.or_elsewhere(error, caliper_in))?;
    if ball_in > WIDEST_BALL_IN {
        return Err(TableError::Outside {
            key: TableKey::BallDiameter,
            value: ball_in,
            table: Table::BallDepths,
            least: 0.0,
            greatest: WIDEST_BALL_IN,
            elsewhere: None,
        });
    }
    let depth_in = depth_share(ball_in) * ball_in;
    let hole_in = depth_in - proud_in(caliper_in);
    Ok(RootBall {
        caliper_in,
        ball_diameter_m: ball_in * M_PER_IN,
        ball_depth_m: depth_in * M_PER_IN,
        hole_width_m: width_factor * ball_in * M_PER_IN,
        hole_depth_m: hole_in * M_PER_IN,
        interpolated: between,
        source: format!(
            "{}; ball depth: ANSI Z60.1 shares as given by UF/IFAS; hole {width_factor} balls wide and 1 to 2 in shallower than the \
             ball: CSU Extension GardenNotes 633 (3 balls), NMSU (2 balls){}",
            table.source(caliper_in),
            if between { "; between two rows of a table, interpolated linearly" } else { "" }
        ),
    })
}

/// The hole for a tree in a container of this trade number: by the greatest caliper that the container may hold. With no table
/// named, balls are those of Florida, as the containers are, or of shade trees where Florida has no row for so thin a stem.
///
/// # Errors
/// As [`root_ball_of_caliper`], and for containers outside their table.
///
/// # Examples
/// ```
/// use underturf::planting::root_ball_of_container;
/// let ball = root_ball_of_container(15.0, None, 3.0)?;
/// assert_eq!(ball.caliper_in, 2.0);
/// assert!(root_ball_of_container(1000.0, None, 3.0).is_err());
/// # Ok::<(), Box<dyn std::error::Error>>(())
/// ```
pub fn root_ball_of_container(
    number: f64,
    table: Option<BallTable>,
    width_factor: f64,
) -> Result<RootBall, TableError> {
    let (caliper_in, between) = look_up(CONTAINERS, number, TableKey::Container, Table::Containers)?;
    let thin = caliper_in < FLORIDA[0].0;
    let table = table.unwrap_or(if thin { BallTable::ShadeTree } else { BallTable::Florida });
    let ball = root_ball_of_caliper(caliper_in, table, width_factor)?;
    let said = if between && !ball.interpolated {
        "; between two rows of a table, interpolated linearly"
    } else {
        ""
    };
    Ok(RootBall {
        interpolated: ball.interpolated || between,
        source: format!(
            "caliper {caliper_in:.3} in: the thickest in a #{number} container, Florida Grades and Standards; {}{said}",
            ball.source
        ),
        ..ball
    })
}

/// Least share of its diameter that a ball is deep (python/docs/trade-values.md, 5.6: 75 % below 20 in, 66 % from 20 to 30, 60
/// % from 31 to 48; between 30 and 31 the deeper one).
fn depth_share(ball_in: f64) -> f64 {
    if ball_in < 20.0 {
        0.75
    } else if ball_in < 31.0 {
        0.66
    } else {
        0.60
    }
}

/// How far the top of the ball stands above grade, inches: 1 at 1 in caliper, 2 from 2 in up (python/docs/trade-values.md,
/// 5.5).
fn proud_in(caliper_in: f64) -> f64 {
    caliper_in.clamp(1.0, 2.0)
}

/// Whether a key is that of a row: inches that came from metres have lost their last digit.
fn same(row: f64, key: f64) -> bool {
    (row - key).abs() <= 1e-9 * row
}

/// The value at a key, linear between rows, and whether it is between rows.
fn look_up(rows: &[(f64, f64)], key: f64, asked: TableKey, table: Table) -> Result<(f64, bool), TableError> {
    let (least, greatest) = (rows[0].0, rows[rows.len() - 1].0);
    if let Some(row) = rows.iter().find(|row| same(row.0, key)) {
        return Ok((row.1, false));
    }
    if !(least..=greatest).contains(&key) {
        return Err(TableError::Outside { key: asked, value: key, table, least, greatest, elsewhere: None });
    }
    let above = rows.partition_point(|row| row.0 < key);
    let (high, value) = rows[above];
    let (low, below) = rows[above - 1];
    Ok((below + (value - below) * (key - low) / (high - low), true))
}

#[cfg(test)]
mod tests {
    use super::*;
    use approx::assert_relative_eq;

    fn inches(metres: f64) -> f64 {
        metres / M_PER_IN
    }

    /// python/docs/trade-values.md, 8.25: Z60.1 rows 2, 3, 4 in to 24, 32, 42 in; least depths 15.8 (0.66 x 24), 19.2, 25.2 in.
    #[test]
    fn rows_of_the_standard_are_met() {
        for (caliper, ball, depth) in [(2.0, 24.0, 15.84), (3.0, 32.0, 19.2), (4.0, 42.0, 25.2)] {
            let found = root_ball_of_caliper(caliper, BallTable::ShadeTree, 3.0).expect("in the table");
            assert_relative_eq!(inches(found.ball_diameter_m), ball, max_relative = 1e-12);
            assert_relative_eq!(inches(found.ball_depth_m), depth, max_relative = 1e-12);
            assert!(
                !found.interpolated && found.source.contains("as copied") && !found.source.contains("memory")
            );
        }
        // 5 in: a ball of 54 in, of which the standard gives no depth.
        assert_eq!(BallTable::ShadeTree.look_up(5.0).expect("a row"), (54.0, false));
        let refused = root_ball_of_caliper(5.0, BallTable::ShadeTree, 3.0).expect_err("no depth").to_string();
        assert!(refused.contains("ball diameter, in = 54") && refused.contains("ball depths"), "{refused}");
        // Same as Z60.1 to 3 in, smaller above (5.5c).
        for (caliper, florida) in FLORIDA.iter().filter(|row| row.0 <= 5.0) {
            let shade = BallTable::ShadeTree.look_up(*caliper).expect("covers").0;
            assert!(if *caliper <= 3.0 { shade == *florida } else { shade > *florida });
        }
    }

    /// python/docs/trade-values.md, 8.26: 2 in caliper at two and three balls: 48 and 72 in (1.22 and 1.83 m), depth 13.8 in
    /// (0.35 m).
    #[test]
    fn the_worked_hole_is_met() {
        let two = root_ball_of_caliper(2.0, BallTable::ShadeTree, 2.0).expect("in the table");
        let three = root_ball_of_caliper(2.0, BallTable::ShadeTree, 3.0).expect("in the table");
        assert_relative_eq!(two.hole_width_m, 1.2192, max_relative = 1e-12);
        assert_relative_eq!(three.hole_width_m, 1.8288, max_relative = 1e-12);
        assert_relative_eq!(inches(three.hole_depth_m), 13.84, max_relative = 1e-12);
    }

    #[test]
    fn between_rows_is_interpolated_and_said_and_outside_is_refused_by_name() {
        let between = root_ball_of_caliper(2.25, BallTable::ShadeTree, 3.0).expect("between");
        assert_relative_eq!(inches(between.ball_diameter_m), 26.0, max_relative = 1e-12);
        assert!(between.interpolated && between.source.contains("interpolated linearly"));
        assert!(between.source.contains("memory"), "the row at 2.5 in was not read");
        for (caliper, table, words) in [
            (6.0, BallTable::ShadeTree, "ANSI Z60.1"),
            (0.4, BallTable::ShadeTree, "0.5 to 5"),
            (0.75, BallTable::Florida, "Florida"),
            (f64::NAN, BallTable::Florida, "NaN"),
        ] {
            let refused = root_ball_of_caliper(caliper, table, 3.0).expect_err("outside").to_string();
            assert!(refused.contains(words) && refused.contains("not extrapolated"), "{refused}");
        }
        assert!(root_ball_of_caliper(2.0, BallTable::Florida, 4.0).is_err());
        assert!(root_ball_of_container(1.0, None, 3.0).expect_err("#1").to_string().contains("container"));
    }

    #[test]
    fn a_container_is_its_thickest_caliper() {
        let held = root_ball_of_container(15.0, None, 3.0).expect("a row");
        let direct = root_ball_of_caliper(2.0, BallTable::Florida, 3.0).expect("a row");
        assert_eq!((held.hole_width_m, held.hole_depth_m), (direct.hole_width_m, direct.hole_depth_m));
        assert!(!held.interpolated);
        let between = root_ball_of_container(20.0, None, 3.0).expect("between");
        assert!(between.interpolated && between.source.matches("interpolated").count() == 1);
        assert_relative_eq!(between.caliper_in, 2.25, max_relative = 1e-12);
    }

    /// #3 holds stems up to 0.75 in: Florida's table of balls begins at 1 in, that of shade trees has 14 in.
    #[test]
    fn a_small_container_takes_its_ball_from_the_table_that_has_it() {
        let small = root_ball_of_container(3.0, None, 3.0).expect("a row of shade trees");
        assert_relative_eq!(inches(small.ball_diameter_m), 14.0, max_relative = 1e-12);
        assert!(small.source.contains("ANSI Z60.1, shade trees"), "{}", small.source);
        assert_eq!(root_ball_of_container(3.0, Some(BallTable::ShadeTree), 3.0).expect("a row"), small);
        let refused = |found: Result<RootBall, TableError>| found.expect_err("outside").to_string();
        let florida = refused(root_ball_of_container(3.0, Some(BallTable::Florida), 3.0));
        assert!(florida.ends_with("the table \"shade_tree\" has a row for it"), "{florida}");
        assert!(!refused(root_ball_of_caliper(9.0, BallTable::ShadeTree, 3.0)).contains("has a row"));
    }
}
