//! A weighing scale on USB: what its reports say, and when a weight counts.
//!
//! [`descriptor`] finds the report that carries weights, [`report`] reads one, [`acceptance`]
//! decides when a weight is settled and takes each pup once. All in whole milligrams: a tenth of
//! an ounce is no exact binary fraction. The caller reads the device and hands over the time.
//!
//! Source: USB-IF, HID Point of Sale Usage Tables 1.02 (2001), usage page 0x8D. Reported
//! second-hand: the codes of status and unit come from two public decoders that agree; the
//! original tables were not read, and no scale was at hand.

pub mod acceptance;
pub mod descriptor;
pub mod report;

pub use acceptance::{Acceptance, EMPTY_BELOW_MG, Offer, Shows};
pub use descriptor::{DataReport, is_scale};
pub use report::{Reading, Shown, Trouble, decode};
