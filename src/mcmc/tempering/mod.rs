//! Non-reversible parallel tempering: draws of a law with separated modes, reached along a path of laws from a
//! reference that is easy to draw.
//!
//! Chains sit at 0 = b0 < ... < bn = 1 on the path pi_b proportional to reference x exp(b x energy). Every sweep moves each
//! chain at its own b and then offers swaps, of even pairs on even sweeps and of odd pairs on odd ones; that fixed
//! alternation is what makes replicas travel instead of diffuse (Syed, Bouchard-Côté, Deligiannidis & Doucet,
//! "Non-reversible parallel tempering: a scalable highly parallel MCMC scheme", J. R. Stat. Soc. B 84 (2022) 321-350;
//! arXiv 1905.02939). Nothing here knows what a state is: the caller implements [`Target`].
//!
//! [`run`] tunes a [`Ladder`], freezes it and samples; [`Run::advance`] goes on from there. Work is shared out between
//! threads by replicate (each a whole ladder), many sweeps at a time, so a move may be as cheap as microseconds.

mod acceptance;
mod barrier;
mod counts;
mod error;
mod ladder;
mod log_mean;
mod monotone;
mod options;
mod record;
mod replicate;
mod run;
mod swap;
mod target;
mod trips;

pub use acceptance::accepted;
pub use barrier::Barrier;
pub use counts::{Counts, ProposalCount};
pub use error::Error;
pub use ladder::Ladder;
pub use options::Options;
pub use record::Record;
pub use run::{LogNormaliser, Run, run};
pub use swap::{Pair, log_ratio as swap_log_ratio, offered as swap_offered};
pub use target::Target;
pub use trips::round_trip_rate;
