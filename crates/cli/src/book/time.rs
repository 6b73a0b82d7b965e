//! Times as a person types them at a terminal.

use jiff::Timestamp;
use jiff::tz::TimeZone;
use whelpward_core::record::{Nearest, read_said_time};

use super::Failed;

/// Now where nothing was typed, else the last time at which the litter's clock showed it.
pub fn read(text: Option<&str>, zone: &TimeZone, now: Timestamp) -> Result<Timestamp, Failed> {
    text.map_or(Ok(now), |text| {
        read_said_time(text, Nearest::Last, now, zone)
            .map_err(|why| Failed::Message(format!("time \"{text}\"\nallowed: {why}")))
    })
}
