//! Charts as SVG written by the server: presentation attributes only, `currentColor`, a title
//! with the finding in one sentence, and a table of the same numbers beside each.

mod bars;
mod box_line;
mod dam_line;
mod weights;

pub use bars::{gains, intake};
pub use box_line::box_line;
pub use dam_line::dam_line;
pub use weights::{Axes, small, weights};

use jiff::Timestamp;
use whelpward_core::record::{Pup, hours_between};

/// Hours since birth, the x axis of every chart of a pup.
fn age_h(pup: &Pup, at: Timestamp) -> f64 {
    hours_between(pup.born_at, at).get()
}

/// A coordinate, short.
fn c(value: f64) -> String {
    let text = format!("{value:.1}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_owned)
}
