//! What one weighed nursing tells, in words: the gain, within what the scale can show.

use crate::limits;
use crate::units::{Grams, MlPerKg, format_change};

/// The gain over one nursing.
///
/// Below the step of the scale nothing can be told. A pup that passed urine or stool in between drank at least
/// the gain. What went to the air is counted by the estimate, not here.
#[must_use]
pub fn nursed_words(gain: Grams, scale_step: Grams, is_soiled: bool) -> String {
    let size = gain.milligrams().abs();
    if size < scale_step.milligrams() || size == 0 {
        let floor = if is_soiled { ", and it passed urine or stool between" } else { "" };
        return format!("too little for this scale to tell (its step is {scale_step}){floor}");
    }
    let change = format_change(gain);
    match (is_soiled, gain.get() > 0.0) {
        (true, true) => format!("at least {change}, because it passed urine or stool between"),
        (true, false) => format!("{change}: it passed urine or stool between, so nothing can be told"),
        (false, true) => change,
        (false, false) => format!("{change}: did it pass urine or stool between, or is it another pup?"),
    }
}

/// Two weights that cannot be those of one nursing: what speaks against them.
///
/// More than the larger published stomach volume, gained or lost. Asked about once; the record is kept.
#[must_use]
pub fn unlikely(before: Grams, after: Grams) -> Option<String> {
    let most: MlPerKg = limits::STOMACH_GRADE.value;
    let change = after - before;
    let share = change.get().abs() / before.get().max(1.0) * 1000.0;
    (share > most.get()).then(|| {
        let why = if change.get() > 0.0 { "more than a stomach holds" } else { "more than it can lose in one nursing" };
        format!("{} between the two weights is {why}: the right pup, the right numbers?", format_change(change))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(gain: f64, step: f64, is_soiled: bool) -> String {
        nursed_words(Grams::of(gain), Grams::of(step), is_soiled).replace('\u{a0}', " ")
    }

    #[test]
    fn the_step_of_the_scale_is_respected() {
        assert_eq!(said(5.0, 1.0, false), "+5 g");
        assert_eq!(said(1.0, 1.0, false), "+1 g", "one step shows");
        assert!(said(0.9, 1.0, false).starts_with("too little for this scale to tell"));
        assert!(said(0.0, 0.1, false).starts_with("too little"));
        assert!(said(5.0, 10.0, true).contains("passed urine"));
        assert!(said(5.0, 1.0, true).starts_with("at least +5 g"));
        assert!(said(-5.0, 1.0, false).contains("another pup"));
        assert!(said(-5.0, 1.0, true).contains("nothing can be told"));
    }

    #[test]
    fn two_weights_of_two_pups_are_asked_about() {
        // 50 mL per kg is the larger published stomach volume: 15 g of 300 g, by both signs.
        let asks = |after: f64| unlikely(Grams::of(300.0), Grams::of(after)).is_some();
        assert!(!asks(315.0) && asks(315.1) && !asks(285.0) && asks(284.9));
    }
}
