//! Whether the time of an entry can be relied on, in words: written down late, or uncertain.

use std::sync::Arc;

use whelpward_core::book::{Fact, Receipt, receipt_of_time};

use crate::words::say;

/// `written down late`, `time uncertain`, both, or nothing.
pub fn marks(facts: &[Arc<Fact>], fact: &Fact) -> Option<String> {
    let Receipt { is_late, is_time_uncertain, .. } = receipt_of_time(facts, fact);
    let late = is_late.then(|| say("told-late"));
    let uncertain = is_time_uncertain.then(|| say("told-uncertain"));
    let all: Vec<String> = late.into_iter().chain(uncertain).collect();
    (!all.is_empty()).then(|| all.join(", "))
}
