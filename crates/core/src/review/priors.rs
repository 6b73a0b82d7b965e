//! What a household's own closed litters change in what is assumed of the next one.

use schemars::JsonSchema;
use serde::Serialize;

use crate::record::Facts;
use crate::report::{Cite, cite};
use crate::supplies::{Assumptions, Basis, Expected, OwnLitter};

/// What own litters move and a breeder can read: size, losses, topped up, all by hand.
const MOVED: [&str; 5] = ["litter_mean", "stillborn_percent", "dies_percent", "top_up_percent", "orphan_percent"];

/// An assumption before own litters counted, and after.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct PriorLine {
    /// As in the assumptions of the supplies.
    pub key: String,
    pub what: String,
    /// Of `before` and `after`.
    pub unit: String,
    pub before: f64,
    pub after: f64,
    /// How many own closed litters moved it.
    pub own_litters: usize,
    /// Where `before` comes from.
    pub source: Cite,
}

/// The lines that own litters move, for a next litter of the same kind of dog; none without own litters.
/// `own` are all closed litters, `own_sizes` the sizes of those of the same kind.
pub(super) fn priors(facts: &Facts, own: &[OwnLitter], own_sizes: &[u32]) -> Vec<PriorLine> {
    let expected = Expected::of(facts);
    let (before, after) = (Assumptions::of(&expected, &[], &[]), Assumptions::of(&expected, own, own_sizes));
    MOVED
        .iter()
        .filter_map(|key| {
            let row = after.rows.iter().find(|r| r.key == *key)?;
            let Basis::OwnLitters(own_litters) = row.basis else { return None };
            Some(PriorLine {
                key: row.key.into(),
                what: row.what.into(),
                unit: row.unit.into(),
                before: before.value(key)?,
                after: row.value,
                own_litters,
                source: cite(row.source),
            })
        })
        .collect()
}
