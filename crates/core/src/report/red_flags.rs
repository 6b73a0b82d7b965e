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

/// The first steps for one emergency, until a vet has said more: keep-safe steps only, and no dose.
const EMERGENCIES: &[(&str, &[(&str, &Source)])] = &[
    (
        "A newborn does not breathe",
        &[
            ("Wipe mouth and nose with a soft cloth, the head a little down.", &source::FIRST_STEPS),
            ("Rub back and chest briskly with a warm dry towel, and go on while somebody rings.", &source::FIRST_STEPS),
            ("Never swing it.", &source::NO_SWING),
            ("Breathing or not: keep it warm and dry.", &source::FIRST_STEPS),
        ],
    ),
    (
        "A pup is cold",
        &[
            ("No milk and nothing by mouth while it is cold.", &source::NO_COLD_FEED),
            (
                "Dry it, hold it against your skin, under your clothes. Warm it by no more than 1 °C an hour.",
                &source::REWARM,
            ),
            ("Heat at one end only, never a pad right under it, with room to crawl away.", &source::HEAT_SOURCE),
            ("Below 34.4 °C: ring now. Below 32.2 °C: ring and go, do not wait.", &source::COLD_URGENT),
        ],
    ),
    (
        "Milk comes from the nose",
        &[
            ("Stop the feed. Head a little down, wipe nose and mouth. Do not swing it.", &source::NO_SWING),
            ("Let it rest, warm; nothing more until the next feed, and then slower.", &source::MILK_AT_NOSE),
            ("Noisy or hard breath, or blue or grey gums: ring now.", &source::AIRWAY),
            ("A second time: ring now; somebody must look for a cleft palate.", &source::MILK_AT_NOSE_AGAIN),
        ],
    ),
    (
        "A pup does not suck",
        &[
            ("Take its temperature first: a cold pup cannot suck, and must not be fed.", &source::NO_COLD_FEED),
            ("Do not drip or squeeze milk into its mouth.", &source::FIRST_STEPS),
            ("Warm, and still no suck: ring today; with any other sign, or under 48 hours old, now.", &source::NO_SUCK),
        ],
    ),
    (
        "Diarrhoea",
        &[
            ("Grey, white, watery or bloody, or a second sign with it: ring now.", &source::STOOL_OURS),
            ("Loose, under 14 days or 500 g: ring today before you change the milk.", &source::STOOL_OURS),
            ("Gums that feel tacky, or no urine after stroking: it is drying out; ring today.", &source::DRY),
            ("Keep it warm and clean, feed it last, wash your hands. Keep a stool for the vet.", &source::FIRST_STEPS),
        ],
    ),
    (
        "A fit",
        &[
            ("Ring now. Nothing into the mouth.", &source::LIFELESS),
            (
                "Lay it on its side on something soft, away from edges. Do not hold it down. Dim the light.",
                &source::FIRST_STEPS,
            ),
            ("Look at the clock: how long it lasts, and how often, is what the vet asks.", &source::FIRST_STEPS),
        ],
    ),
    (
        "The power is cut",
        &[
            (
                "Put all pups together with the dam, in a smaller box, out of draughts, under a cover that lets air in.",
                &source::FIRST_STEPS,
            ),
            (
                "Wrapped bottles of warm water at one end, never against the skin; change them before they cool.",
                &source::HEAT_SOURCE,
            ),
            (
                "Take a temperature of the smallest pup each half hour; against your skin with whoever is cool.",
                &source::COLD_RECHECK,
            ),
            ("No cold milk, and none that stood warm. Mix each round anew.", &source::FEED_TEMPERATURE),
        ],
    ),
    (
        "No milk is left in the house",
        &[
            ("Ring the night clinic first: most have a replacer for puppies.", &source::FIRST_STEPS),
            ("Pups whose dam has milk stay at the dam.", &source::FIRST_STEPS),
            (
                "A stop-gap from the kitchen: the page of blends, for two days at most. No raw egg, no raw milk, no honey.",
                &source::STOP_GAP,
            ),
            ("Never stretch the last milk with more water.", &source::FIRST_STEPS),
        ],
    ),
];

/// What is done while the telephone rings.
const STEPS: &[(&str, &Source)] = &[
    ("Ring first. No answer in 10 minutes: the next number.", &source::RING_NEXT),
    ("No milk, no water, nothing by mouth.", &source::NO_COLD_FEED),
    ("Cold: dry it and hold it against your skin. Warm it by no more than 1 °C an hour.", &source::REWARM),
    ("Heat at one end only, never left alone, with room to crawl away.", &source::HEAT_SOURCE),
    ("Milk at the nose: stop the feed, wipe, let the pup rest.", &source::MILK_AT_NOSE),
    ("Wet or just born: rub it dry with a warm towel.", &source::FIRST_STEPS),
];

/// The first steps for one emergency.
#[derive(Debug, Clone)]
pub struct FirstSteps {
    pub what: &'static str,
    pub steps: Vec<Said>,
}

/// The card.
#[derive(Debug, Clone)]
pub struct RedFlags {
    pub pup: Vec<Said>,
    pub dam: Vec<Said>,
    pub steps: Vec<Said>,
    pub emergencies: Vec<FirstSteps>,
}

/// The card; nothing in it depends on the litter.
#[must_use]
pub fn red_flags() -> RedFlags {
    let said = |rows: &[(&str, &'static Source)]| {
        rows.iter().map(|(text, source)| Said { text: (*text).into(), source: cite(source) }).collect()
    };
    let emergencies = EMERGENCIES.iter().map(|(what, steps)| FirstSteps { what, steps: said(steps) }).collect();
    RedFlags { pup: said(PUP), dam: said(DAM), steps: said(STEPS), emergencies }
}
