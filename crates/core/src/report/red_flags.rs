//! When to ring the vet at once, and the first steps meanwhile. The same on every page and sheet.

use super::Said;
use super::build::cite;
use crate::references::{self as source, Source};

/// Signs of a pup for which a vet is rung at once, whatever the figures say.
const PUP: &[(&str, &Source)] = &[
    ("It cannot be roused, is limp, has a fit or bleeds.", &source::LIFELESS),
    ("It is colder than 34.4 °C. Below 32.2 °C: ring and go, do not wait.", &source::GUT_STOPS),
    ("Its gums are blue or grey, or its breath is noisy or hard.", &source::AIRWAY),
    ("Milk came from its nose for the second time.", &source::MILK_AT_NOSE_AGAIN),
    ("It does not suck: ring today; with any other sign, now.", &source::NO_SUCK),
    ("Its stool is grey, white, watery or bloody.", &source::STOOL_OURS),
    ("It weighs 10 % less than at birth, or less still.", &source::LOSS_TEN),
    ("It is under 48 hours old and unwell in any way.", &source::UNWELL_UNDER_48H),
];

/// Signs of the dam and the birth.
const DAM: &[(&str, &Source)] = &[
    ("The dam trembles, walks stiffly or has a fit.", &source::DAM_CALCIUM),
    ("Dark green discharge before the first pup.", &source::LABOUR_GREEN),
    ("Strong straining for 30 minutes without a pup.", &source::LABOUR_STRAINING),
    ("4 hours since the last pup while more are to come.", &source::LABOUR_GAP),
    ("Foul discharge, fever, a hot gland, pus or blood in the milk: ring today.", &source::DAM_DISCHARGE),
];

/// What is done while the telephone rings.
const STEPS: &[(&str, &Source)] = &[
    ("Ring first. No answer in 10 minutes: the next number.", &source::RING_NEXT),
    ("No milk, no water, nothing by mouth.", &source::NO_COLD_FEED),
    ("Cold: dry it and hold it against your skin. Warm it by no more than 1 °C an hour.", &source::REWARM),
    ("Heat at one end only, never left alone, with room to crawl away.", &source::HEAT_SOURCE),
    ("Milk at the nose: stop the feed, wipe, let the pup rest.", &source::MILK_AT_NOSE),
    ("Wet or just born: rub it dry with a warm towel.", &source::DRY),
];

/// The card in three parts.
#[derive(Debug, Clone)]
pub struct RedFlags {
    pub pup: Vec<Said>,
    pub dam: Vec<Said>,
    pub steps: Vec<Said>,
}

/// The card; nothing in it depends on the litter.
#[must_use]
pub fn red_flags() -> RedFlags {
    let said = |rows: &[(&str, &'static Source)]| {
        rows.iter().map(|(text, source)| Said { text: (*text).into(), source: cite(source) }).collect()
    };
    RedFlags { pup: said(PUP), dam: said(DAM), steps: said(STEPS) }
}
