//! Strikes: the chance that a dig meets a line.

pub mod raster;
