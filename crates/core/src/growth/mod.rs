//! Growth of a litter: the true weight behind noisy readings, how fast it grows, and
//! whether a pup is faltering. Pure numbers: no files, no clock, no randomness.
//!
//! Feed readings to a [`Watch`] in order of time; each gives an [`Assessment`] that uses
//! nothing later than itself. A three-week litter takes a few milliseconds, so after a
//! correction of an old reading the whole litter is run again.
//!
//! [`crate::assess`] feeds it the facts of a litter. All claims about the warnings rest on simulated litters; there are no field data.

#![expect(
    clippy::cast_precision_loss,
    clippy::return_self_not_must_use,
    clippy::needless_pass_by_value,
    clippy::inline_always,
    reason = "a numeric kernel: counts of readings are small, and states are consumed step by step; \
              one point of the grid is inlined into the loop over all of them, so that the compiler can \
              put them side by side"
)]

/// False alarms per pup and week that a household is told to live with, unless it asks for another
/// rate.
pub const STATED_FALSE_ALARMS: f64 = 0.10;

pub mod explain;
pub mod fitted;
pub mod floors;
pub mod forecast;
pub mod kalman;
pub mod model;
pub mod noise;
pub mod priors;
mod pup;
pub mod score;
pub mod screen;
pub mod two_mode;
mod watch;

pub use crate::finding::Standing;
pub use crate::record::Taken;
pub use floors::Floor;
pub use forecast::Forecast;
pub use noise::Learned;
pub use screen::{Cause, Doubt};
pub use watch::{Assessment, Reading, Settings, Watch};
