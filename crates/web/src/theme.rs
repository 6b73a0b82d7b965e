//! Day, night, or by the clock; and which hand holds the pup. Kept in cookies, for one device.

use axum::http::HeaderMap;
use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::cookies::cookie;

pub const THEME: &str = "whelpward_theme";
pub const HAND: &str = "whelpward_hand";
pub const CARER: &str = "whelpward_carer";

/// Night by the clock (our own, usability U-40).
const NIGHT: (i8, i8) = (21, 7);

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Theme {
    /// Night from 21 to 7, and where the device asks for dark.
    Auto,
    Day,
    Night,
}

impl Theme {
    pub fn of(headers: &HeaderMap) -> Self {
        match cookie(headers, THEME) {
            Some("day") => Self::Day,
            Some("night") => Self::Night,
            _ => Self::Auto,
        }
    }

    pub const fn word(self) -> &'static str {
        match self {
            Self::Auto => "auto",
            Self::Day => "day",
            Self::Night => "night",
        }
    }

    /// The class of the page at this time.
    pub fn class(self, now: Timestamp, zone: &TimeZone) -> &'static str {
        let hour = now.to_zoned_datetime(zone.clone()).hour();
        match self {
            Self::Auto if hour >= NIGHT.0 || hour < NIGHT.1 => "night",
            Self::Auto => "auto",
            other => other.word(),
        }
    }
}
