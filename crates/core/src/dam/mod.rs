//! The dam: the energy she needs, the milk she is expected to give, and turns at the teat for a
//! litter that is larger than her working teats.

mod energy;
mod milk_yield;
mod turns;

pub use energy::{DamEnergy, dam_energy};
pub use milk_yield::{Yield, expected_yield, total_yield_l};
pub use turns::{SHARING, Turn, Turns, shared, turns};

/// The factor of the week of nursing: milk of that week against the mean of the four.
///
/// Weeks 1 to 4 by the published steps; later weeks hold the last. Source: `dam-energy`.
fn week_factor(age_days: f64) -> f64 {
    energy::WEEKS.value[week(age_days)]
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "weeks 0 to 3")]
pub(crate) fn week(age_days: f64) -> usize {
    ((age_days / 7.0).max(0.0) as usize).min(3)
}
