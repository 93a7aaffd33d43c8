//! Sizes of holes and of grids that are allowed, wherever a question takes them.

use crate::error::Allowed;

/// Radii of holes, reaches and sides of cells that are allowed.
pub(super) const UP_TO_50_M: Allowed = Allowed::above(0.0, 50.0).metres();

/// Depths of digs that are allowed.
pub(super) const DEPTH: Allowed = Allowed::above(0.0, 6.0).metres();
