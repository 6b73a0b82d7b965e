//! The litter folder as data: every key and column, its shape and its meaning.
//!
//! Parsing, error texts, `docs/FORMAT.md` and the schemas all come from this table.

use super::upbringing_choice::{HOME_LAW_WORDS, VACCINATION_WORDS, WORMING_WORDS};

/// What a value looks like.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shape {
    /// Any text that is not blank, up to 200 characters.
    Text,
    /// Text of several lines, up to 60 000 characters; only the book has it.
    Long,
    /// ISO 8601 with offset, `2026-11-20T03:15+01:00`.
    Time,
    /// A zone of the IANA time zone database.
    Zone,
    YesNo,
    /// A number in a range, both ends allowed.
    Number {
        min: f64,
        max: f64,
    },
    /// A whole number in a range.
    Whole {
        min: i64,
        max: i64,
    },
    /// A weight in the unit of the key or column `unit` beside it.
    Weight,
    /// One of these words.
    OneOf(&'static [&'static str]),
    /// A list of these words.
    ListOf(&'static [&'static str]),
    /// A list of hours of the week.
    WeekHours,
}

impl Shape {
    /// What is allowed, in words.
    #[must_use]
    pub fn allowed(self) -> String {
        match self {
            Self::Text => "text, not blank, at most 200 characters".into(),
            Self::Long => "text, not blank, at most 60000 characters".into(),
            Self::Time => "a time with its offset, as in 2026-11-20T03:15+01:00".into(),
            Self::Zone => "a time zone such as \"Europe/Berlin\" or \"America/Chicago\"".into(),
            Self::YesNo => "true or false".into(),
            Self::Number { min, max } => format!("a number from {min} to {max}"),
            Self::Whole { min, max } => format!("a whole number from {min} to {max}"),
            Self::Weight => "a weight in the unit beside it; a pup weighs 30 g to 25000 g".into(),
            Self::OneOf(words) => format!("one of {}", words.join(", ")),
            Self::ListOf(words) => format!("a list of {}", words.join(", ")),
            Self::WeekHours => {
                "a list of local hours such as [\"Mon-Fri 17:30-22:00\", \"Sat,Sun 07:00-23:00\"] or [\"daily 23:00-06:00\"]"
                    .into()
            }
        }
    }
}

/// A key of `litter.toml` or a column of a table.
#[derive(Debug, Clone, Copy)]
pub struct Key {
    pub name: &'static str,
    pub shape: Shape,
    /// Must be there (a column: must be there and filled).
    pub required: bool,
    pub meaning: &'static str,
}

/// One `[section]` or `[[section]]` of `litter.toml`.
#[derive(Debug, Clone, Copy)]
pub struct Section {
    pub name: &'static str,
    /// Written `[[name]]`, any number of times.
    pub repeated: bool,
    pub required: bool,
    pub keys: &'static [Key],
    pub meaning: &'static str,
}

/// One table beside `litter.toml`.
#[derive(Debug, Clone, Copy)]
pub struct Table {
    pub file: &'static str,
    pub columns: &'static [Key],
    pub meaning: &'static str,
}

/// The one version of the format.
pub const FORMAT_VERSION: i64 = 1;
/// The file that makes a folder a litter folder.
pub const LITTER_FILE: &str = "litter.toml";

const WEIGHT_UNITS: &[&str] = &["g", "oz", "lb_oz"];
/// Hard limits of a pup's weight from birth to ten weeks (our own, usability S-5).
pub const PUP_WEIGHT_G: (f64, f64) = (30.0, 25_000.0);

const fn key(name: &'static str, shape: Shape, required: bool, meaning: &'static str) -> Key {
    Key { name, shape, required, meaning }
}
const fn must(name: &'static str, shape: Shape, meaning: &'static str) -> Key {
    key(name, shape, true, meaning)
}
const fn may(name: &'static str, shape: Shape, meaning: &'static str) -> Key {
    key(name, shape, false, meaning)
}
const fn number(min: f64, max: f64) -> Shape {
    Shape::Number { min, max }
}

/// The sections of `litter.toml`.
pub const SECTIONS: &[Section] = &[
    Section {
        name: "litter",
        repeated: false,
        required: true,
        meaning: "The litter as a whole.",
        keys: &[
            must("name", Shape::Text, "What the household calls the litter."),
            may(
                "breed",
                Shape::Text,
                "For published birth-weight limits. This or expected_adult_weight_kg must be given.",
            ),
            may("expected_adult_weight_kg", number(0.5, 120.0), "Expected adult weight; the dam's weight will do."),
            may("whelped_at", Shape::Time, "When the first pup was born. Left out only while there is no pup yet."),
            must("time_zone", Shape::Zone, "Times are shown in this zone."),
            must("scale_step_g", number(0.1, 50.0), "The smallest step the scale shows, in g."),
            may("weight_unit", Shape::OneOf(WEIGHT_UNITS), "In which weights are shown; g when left out."),
            may("expected_pups", Shape::Whole { min: 1, max: 25 }, "From an x-ray or scan."),
            may(
                "most_rounds_per_day",
                Shape::Whole { min: 1, max: 24 },
                "Feeding rounds a day that the household can keep.",
            ),
            may(
                "set_up_minutes",
                number(0.0, 60.0),
                "Laying out and warming the milk before a round; 5 when left out.",
            ),
            may("clean_up_minutes", number(0.0, 60.0), "After a round; 5 when left out."),
            may(
                "wake_up_minutes",
                number(0.0, 600.0),
                "How many minutes of work one broken sleep is worth in the timetable; 60 when left out.",
            ),
            may(
                "bottle_rounds_for_tube_pups",
                Shape::Whole { min: 1, max: 6 },
                "Rounds a day in which pups that are else fed by tube get the bottle, so that they keep their suck; \
                 1 when left out.",
            ),
            may(
                "energy_table",
                Shape::OneOf(&["steps", "weeks"]),
                "Which published table of energy to follow; steps when left out.",
            ),
            may(
                "energy_kcal_per_100g",
                number(20.0, 25.0),
                "The last step of the table `steps`, from day 7 on; 22 when left out.",
            ),
            may(
                "worming_guideline",
                Shape::OneOf(WORMING_WORDS),
                "Whose dates of worming are listed; esccap when left out. A veterinarian decides product and amount.",
            ),
            may(
                "vaccination_guideline",
                Shape::OneOf(VACCINATION_WORDS),
                "Whose window of vaccination is listed; wsava_2024 when left out. A veterinarian decides.",
            ),
            may(
                "home_law",
                Shape::OneOf(HOME_LAW_WORDS),
                "Whose law says how old a pup must be to go home; the strictest when left out.",
            ),
        ],
    },
    Section {
        name: "example",
        repeated: false,
        required: false,
        meaning: "Only in invented litters: marks them, and fixes the time at which they are read.",
        keys: &[
            must("at", Shape::Time, "Used instead of the clock when --at is not given."),
            must("note", Shape::Text, "Says that the litter is invented."),
        ],
    },
    Section {
        name: "dam",
        repeated: false,
        required: false,
        meaning: "The mother of the pups.",
        keys: &[
            may("name", Shape::Text, "Her name."),
            may("weight_kg", number(0.5, 120.0), "Her weight."),
            may(
                "with_pups",
                Shape::YesNo,
                "Whether she nurses this litter; true when left out. false: every pup is fed by hand.",
            ),
            may(
                "milk",
                Shape::OneOf(&["good", "little", "none", "unknown"]),
                "What her glands give; unknown when left out.",
            ),
            may("working_teats", Shape::Whole { min: 1, max: 14 }, "Teats that give milk, as you counted them."),
            may("ovulated_at", Shape::Time, "Ovulation, as a vet found it; the surest day to count from."),
            may("lh_surge_at", Shape::Time, "The surge of the hormone LH, as a vet found it."),
            may("mated_at", Shape::Time, "The first mating, or the only one."),
            may("mated_once", Shape::YesNo, "true: that was the only mating; false when left out."),
        ],
    },
    Section {
        name: "pup",
        repeated: true,
        required: false,
        meaning: "One pup, also one that was stillborn or has left.",
        keys: &[
            must("id", Shape::Text, "A short name, unique in the litter."),
            must("sex", Shape::OneOf(&["female", "male", "unknown"]), ""),
            must("marks", Shape::Text, "What tells this pup from the others: coat, collar with its pattern."),
            must("born_at", Shape::Time, "Time of birth."),
            may("birth_weight", Shape::Weight, "Needs `unit` beside it."),
            may("unit", Shape::OneOf(WEIGHT_UNITS), "Unit of birth_weight; lb_oz takes a text such as \"0 lb 9 oz\"."),
            may("premature", Shape::YesNo, "false when left out."),
            may("rearing", Shape::OneOf(&["nursing", "topped_up", "hand_fed"]), "Who feeds it; nursing when left out."),
            may("hand_fed_since", Shape::Time, "When hand_fed began; else the first hand feed on record counts."),
            may(
                "wants_tube",
                Shape::YesNo,
                "true: fed by tube to save time where the timetable has a taught carer on the round and no sign \
                 forbids it; false when left out.",
            ),
            may("joined_at", Shape::Time, "When it was fostered in."),
            may("left_at", Shape::Time, "When it left the litter; needs left_why."),
            may("left_why", Shape::OneOf(&["stillborn", "died", "put_to_sleep", "fostered_out", "gone_home"]), ""),
        ],
    },
    Section {
        name: "carer",
        repeated: true,
        required: false,
        meaning: "Anyone who feeds or weighs.",
        keys: &[
            must("name", Shape::Text, ""),
            may(
                "tube_taught_by_vet",
                Shape::YesNo,
                "true only when a veterinarian showed this carer how to feed by tube; false when left out.",
            ),
            may("available", Shape::WeekHours, "When this carer can be there; always when left out."),
            may("sleeps", Shape::WeekHours, "Sleep to protect: a round in it is planned only when it pays."),
            may("pups_at_once", Shape::Whole { min: 1, max: 4 }, "Bottles given at the same time; 1 when left out."),
            may(
                "bottle_minutes",
                number(0.5, 60.0),
                "Minutes for one pup by bottle, as measured at home; 7 when left out.",
            ),
            may(
                "tube_minutes",
                number(0.1, 30.0),
                "Minutes for one pup by tube, as measured at home; 0.5 when left out.",
            ),
        ],
    },
    Section {
        name: "milk",
        repeated: true,
        required: false,
        meaning: "A milk on the shelf.",
        keys: &[
            must("id", Shape::Text, "A short name, used in feeds.csv."),
            must(
                "kind",
                Shape::OneOf(&[
                    "puppy_powder",
                    "puppy_ready",
                    "goat",
                    "goat_powder",
                    "cow",
                    "bitch",
                    "home_blend",
                    "other",
                ]),
                "puppy_powder and puppy_ready are milk replacers made for puppies.",
            ),
            may("in_use", Shape::YesNo, "The one milk to plan with."),
            may("kcal_per_ml", number(0.1, 3.0), "Energy as fed, from the label (metabolisable)."),
            may("powder_g", number(0.1, 2000.0), "The label's ratio, by weight of powder: this much powder…"),
            may("water_ml", number(0.1, 5000.0), "…to this much water."),
            may("scoop_g", number(0.1, 200.0), "Weight of one level scoop, weighed at home."),
            may(
                "scoop_ml",
                number(0.5, 250.0),
                "Volume of one scoop, for a label that counts scoops; needs scoop_g or powder_g_per_ml beside it.",
            ),
            may("powder_g_per_ml", number(0.1, 1.5), "Bulk density of the powder, when the scoop was not weighed."),
            may(
                "water_scoops",
                number(0.1, 20.0),
                "A label by volume: this many scoops of water for one scoop of powder; instead of powder_g and water_ml.",
            ),
            may("price_per_kg", number(0.0, 10_000.0), "Price of a kilogram as it is bought, in your money."),
            may(
                "protein_percent",
                number(0.0, 100.0),
                "Analysis on the label, by weight: of the powder, or of a puppy_ready or home_blend as it is fed.",
            ),
            may("fat_percent", number(0.0, 100.0), ""),
            may("fibre_percent", number(0.0, 100.0), "0 when left out."),
            may("ash_percent", number(0.0, 100.0), ""),
            may("moisture_percent", number(0.0, 100.0), ""),
            may("lactose_percent", number(0.0, 100.0), "All carbohydrate counts as lactose when left out."),
            may("calcium_percent", number(0.0, 20.0), "1200 mg in 100 g are 1.2."),
            may("phosphorus_percent", number(0.0, 20.0), ""),
            may("water_temperature_c", number(5.0, 95.0), "The label's own mixing temperature."),
            may(
                "keeps_hours",
                number(0.5, 48.0),
                "How long the label lets it stand once mixed, refrigerated; 24 when left out and never longer.",
            ),
            may("contains", Shape::ListOf(&["raw_egg", "raw_milk", "honey", "cooked_egg"]), "What is in a home blend."),
        ],
    },
    Section {
        name: "vet",
        repeated: true,
        required: false,
        meaning: "Whom to ring, in this order.",
        keys: &[
            must("name", Shape::Text, ""),
            must("phone", Shape::Text, ""),
            may("hours", Shape::Text, "When someone answers."),
        ],
    },
    Section {
        name: "vet_order",
        repeated: true,
        required: false,
        meaning: "What a veterinarian ordered for one pup; it replaces our figures within the stomach limit.",
        keys: &[
            must("pup", Shape::Text, ""),
            must("given_at", Shape::Time, ""),
            must("vet", Shape::Text, "Who ordered it."),
            may("until", Shape::Time, "Valid until another order when left out."),
            may("ml_per_feed", number(0.1, 500.0), ""),
            may("hours_between_feeds", number(1.0, 12.0), ""),
            may("kcal_per_100g", number(1.0, 40.0), "Energy for a day."),
            may("note", Shape::Text, "As ordered; never read by the program."),
        ],
    },
];

/// The tables beside `litter.toml`; each file is optional.
pub const TABLES: &[Table] = &[
    Table {
        file: "weighings.csv",
        meaning: "One weight of one pup at one time.",
        columns: &[
            must("pup", Shape::Text, "The pup's id."),
            must("weighed_at", Shape::Time, ""),
            may("weight", Shape::Weight, "With `unit`; or weight_g instead of both."),
            may("unit", Shape::OneOf(WEIGHT_UNITS), ""),
            may("weight_g", Shape::Weight, "A weight in g."),
            may("taken", Shape::OneOf(&["before_feed", "after_feed", "unknown"]), "unknown when left out."),
            may("carer", Shape::Text, ""),
            may("note", Shape::Text, "Never read by the program."),
        ],
    },
    Table {
        file: "feeds.csv",
        meaning: "One pup fed once.",
        columns: &[
            must("pup", Shape::Text, "The pup's id."),
            must("fed_at", Shape::Time, ""),
            must(
                "method",
                Shape::OneOf(&["bottle", "tube", "nursing"]),
                "nursing is a supervised nursing, weighed before and after.",
            ),
            may("offered_ml", number(0.0, 2000.0), ""),
            may("taken_ml", number(0.0, 2000.0), "Empty means not known, never 0."),
            may("milk", Shape::Text, "The id of a [[milk]]."),
            may("carer", Shape::Text, ""),
            may("note", Shape::Text, "Never read by the program."),
            may("weight_before_g", Shape::Weight, "For nursing."),
            may("weight_after_g", Shape::Weight, "For nursing."),
        ],
    },
    Table {
        file: "checks.csv",
        meaning: "One observation of a pup, or (pup left empty) of the dam, the box or the litter.",
        columns: &[
            may("pup", Shape::Text, "The pup's id, or empty."),
            must("checked_at", Shape::Time, ""),
            must("kind", Shape::Text, "One of the kinds below."),
            must("value", Shape::Text, "As the kind asks."),
            may("note", Shape::Text, "Never read by the program."),
            may("carer", Shape::Text, ""),
        ],
    },
    Table {
        file: "done.csv",
        meaning: "What was done for a pup, or first seen of it, on its way to the new home.",
        columns: &[
            may("pup", Shape::Text, "The pup's id; left empty for the dam (only worming)."),
            must("done_at", Shape::Time, ""),
            must("kind", Shape::Text, "One of the kinds below."),
            may("value", Shape::Text, "As the kind asks."),
            may("product", Shape::Text, "As on the package."),
            may("lot", Shape::Text, "The number of the lot on the package."),
            may("as_given", Shape::Text, "How much was given, as written down; never read by the program."),
            may("by", Shape::Text, "Who did it, such as the vet's name."),
            may("note", Shape::Text, "For prints; never read by the program."),
            may("carer", Shape::Text, ""),
        ],
    },
    Table {
        file: "foods.csv",
        meaning: "A food from your own label, or price and stock of a food that the program knows.",
        columns: &[
            must("id", Shape::Text, "A short name of your own, or the id of a food that the program knows."),
            may("name", Shape::Text, "As it is shown; the id when left out."),
            may(
                "per_g",
                number(1.0, 1000.0),
                "The figures are for this many g; 100 when left out, and then a percent is a g.",
            ),
            may(
                "protein_g",
                number(0.0, 1000.0),
                "With fat_g: the analysis. Without both, the row gives price and stock only.",
            ),
            may("fat_g", number(0.0, 1000.0), ""),
            may(
                "carbohydrate_g",
                number(0.0, 1000.0),
                "Without fibre. Worked out when left out: what protein, fat, fibre, ash and moisture leave over.",
            ),
            may("fibre_g", number(0.0, 1000.0), "0 when left out."),
            may("ash_g", number(0.0, 1000.0), ""),
            may("moisture_g", number(0.0, 1000.0), "Worked out when left out."),
            may("lactose_g", number(0.0, 1000.0), "When left out, all carbohydrate counts as lactose."),
            may(
                "calcium_g",
                number(0.0, 500.0),
                "120 mg are 0.12 g. A food without calcium and phosphorus is compared, never blended.",
            ),
            may("phosphorus_g", number(0.0, 500.0), ""),
            may("kcal", number(0.0, 10_000.0), "Compared with the analysis; the analysis counts."),
            may("density_g_per_ml", number(0.1, 2.0), ""),
            may("is", Shape::OneOf(&["raw_egg", "raw_milk", "honey"]), "Foods that are left out of every blend."),
            may("most_percent", number(0.0, 100.0), "Largest share of a blend."),
            may("stock_g", number(0.0, 100_000.0), "What is in the house."),
            may("price_per_kg", number(0.0, 10_000.0), "In your money."),
        ],
    },
];
