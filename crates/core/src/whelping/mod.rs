//! Before and at the birth: when it is due, what the dam's temperature says, and the clocks of
//! the labour with the published limits at which a vet is rung.
//!
//! Pure functions over facts. Nothing here says that a birth goes well: no finding is not a
//! promise, and a drop of temperature that was not seen means nothing.

mod clocks;
mod due;
mod temperature;

pub use clocks::{Clock, GAP_H, GREEN_H, LABOUR_LIMITS, LabourLimit, STRAINING_MIN, WEAK_STRAINING_H, clocks};
pub(crate) use clocks::{bout, last_pup, more_inside};
pub use due::{Counted, DueWindow, due_window, due_windows, first_due_window};
pub use temperature::{DROPPED, Strip, strip};
