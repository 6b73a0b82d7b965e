//! Turns any litter into one in which pups are fed by hand, so that a rule about feeds is met often.

use super::litter::Litter;

/// The dam does not feed, a usable milk stands on the shelf, and every pup is in the litter.
pub fn to_feed(mut litter: Litter) -> Litter {
    litter.dam_with_pups = false;
    litter.in_use = Some(0);
    litter.milks[0].contains.clear();
    litter.milks[0].kcal_per_ml.get_or_insert(1.0);
    for pup in &mut litter.pups {
        pup.left = None;
        pup.joined = None;
    }
    litter
}
