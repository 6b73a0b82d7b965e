//! The standing texts of the report, each with its source.

use crate::references::{self as source, Source};

/// How the whole answer is to be taken.
pub const CAUTION: &str = "This helps you watch and feed; it is no veterinarian and gives no diagnosis and no \
    drug. If a pup seems unwell to you, ring the vet whatever stands here. The law of your country comes first.";

/// The order in which a feed is done.
pub const HOW_TO_FEED: &[(&str, &Source)] = &[
    (
        "Before: wash your hands; pup warm, awake, grips a clean finger with clear force. Cold or limp: no milk.",
        &source::SUCK_FIRST,
    ),
    (
        "Milk at 37 to 38 °C, by thermometer and on your wrist; above 40 °C never; no microwave; warmed once.",
        &source::FEED_TOO_HOT,
    ),
    (
        "Teat: turned over, it drips and does not stream. A ready small-hole teat is better than a home-made hole.",
        &source::TEAT,
    ),
    (
        "Before the first bottle: look at the palate in white light; a cleft palate gets no bottle.",
        &source::PALATE_FIRST,
    ),
    ("Hold it belly down, head level, never on its back.", &source::POSITION),
    ("Never squeeze the bottle: the pup draws the milk itself.", &source::NEVER_SQUEEZE),
    ("A pup takes 5 to 10 minutes by bottle, about half a minute by tube.", &source::BOTTLE_MINUTES),
    (
        "Stop when it turns away or its belly is full. Never force the rest; a missed feed is not made up.",
        &source::UNDERFEED,
    ),
    (
        "Milk at the nose: stop this feed, wipe, let it rest; nothing more until the next feed, then slower.",
        &source::MILK_AT_NOSE,
    ),
    ("Cold: no milk; warm it slowly, against your skin. Below 34.4 °C: ring the vet now.", &source::GUT_STOPS),
    ("Below 32.2 °C: ring the vet now and go; do not wait.", &source::COLD_URGENT),
    ("Noisy or hard breath, blue or grey gums: ring the vet now.", &source::AIRWAY),
    (
        "After: stroke with warm wet cotton until it passes urine and stool; then write down what it took.",
        &source::AFTER_FEED,
    ),
    (
        "Sleep after a feed is normal. A pup that cannot be roused, is limp or cool is not asleep: ring the vet now.",
        &source::LIFELESS,
    ),
    (
        "Back in the box: heat at one end only, with room to crawl away; no direct heat pad, none left alone.",
        &source::HEAT_SOURCE,
    ),
    ("Boil teats and bottles between uses.", &source::BOIL),
    ("Check collars at each weighing, or mark the pups by other means.", &source::COLLAR),
];

/// Said beside a tube.
pub const TUBE: &[(&str, &Source)] = &[
    ("Tube: only a carer whom a vet taught. Stop at resistance or struggle.", &source::TUBE_TAUGHT),
    ("Tube size: 5 Fr up to 300 g, 8 Fr above.", &source::TUBE_SIZE),
    (
        "Tube depth: a mark measured on this pup as the vet showed, never computed; marked anew daily in week 1 and \
         every 2 days later.",
        &source::TUBE_MARK,
    ),
    (
        "A pup fed only by tube may lose its suck: keep some nursing or bottle in the day as soon as it sucks.",
        &source::SUCK_PRACTICE,
    ),
];

/// Said beside a carer who is pregnant, very young or immune-weak.
pub const HYGIENE: (&str, &Source) =
    ("Sick pup last, with gloves; pregnant, very young or immune-weak carers leave it to others.", &source::HYGIENE);

/// Said with every call to a vet.
pub const RING_NEXT: (&str, &Source) = ("No answer in 10 minutes: ring the next number.", &source::RING_NEXT);
