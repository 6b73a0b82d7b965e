//! The timetable of a litter, from its folder to its rounds: gaps, carers, tubes, changes of
//! the clocks, what goes wrong and what would help. Every litter is invented.

use std::fmt::Write;

use jiff::{SignedDuration, Timestamp};
use whelpward_core::record::{Facts, FolderFiles, hours_between, parse};
use whelpward_core::report::Line;
use whelpward_core::report::timetable::{Asked, TimetableReport, UsualDayLine, timetable};
use whelpward_core::schedule::concede::{Lift, offers};
use whelpward_core::schedule::household::{
    BOTTLE_MINUTES, HOUR_ABOVE_USUAL, ROUND_MINUTES, TUBE_MINUTES, WAKE_UP_MINUTES, Wishes,
};
use whelpward_core::schedule::options::trade_offs;
use whelpward_core::schedule::plan::{LitterPlan, best};

const NOW: &str = "2026-11-20T16:40Z";

struct Household {
    now: Timestamp,
    zone: &'static str,
    pups: Vec<(&'static str, f64, f64)>,
    extra: String,
    /// Gain a day; a steady, ordinary one unless set.
    gain: f64,
    /// Topped up at the dam in place of fed by hand.
    at_the_dam: bool,
    orders: String,
    carers: String,
    feeds: String,
    checks: String,
}

impl Household {
    /// Pups by name, age in days and weight in g, all fed by hand three hours ago.
    fn new(pups: &[(&'static str, f64, f64)]) -> Self {
        Self {
            now: NOW.parse().unwrap(),
            zone: "UTC",
            pups: pups.to_vec(),
            extra: String::new(),
            gain: 0.06,
            at_the_dam: false,
            orders: String::new(),
            carers: String::new(),
            feeds: "pup,fed_at,method,offered_ml,taken_ml,milk,carer\n".into(),
            checks: "pup,checked_at,kind,value\n".into(),
        }
    }

    fn at(&self, hours: f64) -> Timestamp {
        self.now.checked_add(SignedDuration::from_secs_f64(hours * 3600.0)).unwrap()
    }

    fn carer(mut self, name: &str, keys: &str) -> Self {
        write!(self.carers, "[[carer]]\nname = \"{name}\"\n{keys}\n").unwrap();
        self
    }

    /// A feed some hours before now.
    fn fed(mut self, pup: &str, ago_h: f64, ml: f64) -> Self {
        let at = self.at(-ago_h);
        writeln!(self.feeds, "{pup},{at},bottle,{ml},{ml},m,").unwrap();
        self
    }

    /// A feed of which a part was left.
    fn fed_short(mut self, pup: &str, ago_h: f64, offered: f64, taken: f64) -> Self {
        let at = self.at(-ago_h);
        writeln!(self.feeds, "{pup},{at},bottle,{offered},{taken},m,").unwrap();
        self
    }

    /// A supervised nursing, not weighed.
    fn nursed(mut self, pup: &str, ago_h: f64) -> Self {
        let at = self.at(-ago_h);
        writeln!(self.feeds, "{pup},{at},nursing,,,,").unwrap();
        self
    }

    fn ordered(mut self, pup: &str, hours: f64) -> Self {
        let at = self.at(-12.0);
        writeln!(
            self.orders,
            "[[vet_order]]\npup = \"{pup}\"\ngiven_at = {at}\nvet = \"Dr Invented\"\nhours_between_feeds = {hours}"
        )
        .unwrap();
        self
    }

    fn all_fed(self, ago_h: f64) -> Self {
        let pups = self.pups.clone();
        pups.iter().fold(self, |h, (name, ..)| h.fed(name, ago_h, 5.0))
    }

    fn facts(&self) -> Facts {
        let oldest = self.pups.iter().map(|p| p.1).fold(0.0, f64::max);
        let mut litter = format!(
            "format = 1\n[litter]\nname = \"Invented\"\nexpected_adult_weight_kg = 15\nwhelped_at = {}\n\
             time_zone = \"{}\"\nscale_step_g = 1\n{}\n[dam]\nwith_pups = {}\n",
            self.at(-oldest * 24.0),
            self.zone,
            self.extra,
            self.at_the_dam
        );
        let rearing = if self.at_the_dam { "topped_up" } else { "hand_fed" };
        let mut weighings = String::from("pup,weighed_at,weight_g\n");
        for (name, age, grams) in &self.pups {
            let (id, keys) = name.split_once('|').unwrap_or((name, ""));
            write!(
                litter,
                "[[pup]]\nid = \"{id}\"\nsex = \"female\"\nmarks = \"plain\"\nborn_at = {}\nrearing = \"{rearing}\"\n\
                 hand_fed_since = {}\n{keys}\n",
                self.at(-age * 24.0),
                self.at(-age * 24.0)
            )
            .unwrap();
            for day in 0..4_i32 {
                let then = grams / (1.0 + self.gain).powi(day);
                writeln!(weighings, "{id},{},{then:.0}", self.at(-24.0 * f64::from(day) - 0.2)).unwrap();
            }
        }
        litter.push_str(&self.carers);
        litter.push_str(&self.orders);
        litter.push_str("[[milk]]\nid = \"m\"\nkind = \"puppy_ready\"\nin_use = true\nkcal_per_ml = 1.2\n");
        let files = FolderFiles {
            litter_toml: Some(litter.clone().into()),
            weighings_csv: Some(weighings.into()),
            feeds_csv: Some(self.feeds.clone().into()),
            checks_csv: Some(self.checks.clone().into()),
            ..FolderFiles::default()
        };
        parse(&files).unwrap_or_else(|p| panic!("{p:?}\n{litter}"))
    }

    fn plan(&self) -> TimetableReport {
        timetable(&self.facts(), self.now, Asked::default())
    }

    /// Instants at which a pup is in the planned rounds, fed or withheld.
    fn times(&self, pup: &str) -> Vec<Timestamp> {
        let line = Line::run_as_wished(&self.facts(), self.now, 48.0, &Wishes::default());
        let index = line.assessment.pups.iter().position(|p| p.pup.id.0 == pup).unwrap();
        line.timetable.rounds.iter().filter(|r| r.feeds.iter().any(|f| f.pup == index)).map(|r| r.at).collect()
    }

    /// Every gap of a pup from its last feed on, in hours.
    fn gaps(&self, pup: &str, last_ago_h: f64) -> Vec<f64> {
        let mut times = vec![self.at(-last_ago_h)];
        times.extend(self.times(pup));
        times.windows(2).map(|w| hours_between(w[0], w[1]).get()).collect()
    }
}

const ALWAYS: &str = "sleeps = [\"daily 23:00-06:00\"]";

#[test]
fn every_gap_stays_within_the_limits_of_its_pup() {
    // safety.md and handbook feeding.md section 5: 2 h, and 3 h (week 1 under 200 g), 4 h, 6 h by age.
    for (age, grams, longest) in [(4.0, 180.0, 3.0), (4.0, 260.0, 4.0), (10.0, 400.0, 4.0), (16.0, 700.0, 6.0)] {
        let household = Household::new(&[("Ash", age, grams), ("Elm", age, grams)]).carer("Robin", ALWAYS).all_fed(2.5);
        let gaps = household.gaps("Ash", 2.5);
        assert!(gaps.len() >= 7, "{gaps:?}");
        for gap in &gaps {
            assert!((2.0..=longest).contains(gap), "{age} days, {grams} g: {gaps:?}");
        }
    }
}

#[test]
fn a_weak_pup_is_fed_more_often_than_the_rest() {
    // One pup under 200 g in week 1: 3 h; the others 4 h. A long set-up makes each round dear.
    let mut household =
        Household::new(&[("Elm", 5.0, 300.0), ("Fir", 5.0, 310.0), ("Wee", 5.0, 170.0), ("Yew", 5.0, 305.0)])
            .carer("Robin", "bottle_minutes = 20\n")
            .carer("Kim", ALWAYS)
            .all_fed(2.0);
    household.extra = "wake_up_minutes = 600".into();
    let (weak, strong) = (household.gaps("Wee", 2.0), household.gaps("Elm", 2.0));
    assert!(weak.iter().all(|g| (2.0..=3.0).contains(g)), "{weak:?}");
    assert!(strong.iter().all(|g| (2.0..=4.0).contains(g)), "{strong:?}");
}

#[test]
fn carers_are_asked_only_when_they_are_there() {
    let household = Household::new(&[("Ash", 16.0, 700.0), ("Elm", 16.0, 690.0)])
        .carer("Day", "available = [\"daily 06:00-18:00\"]")
        .carer("Night", "available = [\"daily 17:00-07:00\"]")
        .all_fed(3.0);
    let plan = household.plan();
    assert!(plan.trouble.is_none());
    assert!(plan.rounds.len() >= 8);
    for round in &plan.rounds {
        let hour: u32 = round.at[11..13].parse().unwrap();
        assert!(!round.carers.is_empty());
        for carer in &round.carers {
            let is_there = if carer.carer == "Day" { (6..18).contains(&hour) } else { !(7..17).contains(&hour) };
            assert!(is_there, "{} at {}", carer.carer, round.at);
        }
    }
}

#[test]
fn broken_nights_are_shared() {
    // Two carers who sleep at the same time, and pups that need the night: over two nights each is woken as often.
    let household = Household::new(&[("Ash", 10.0, 400.0), ("Elm", 10.0, 410.0)])
        .carer("Robin", ALWAYS)
        .carer("Kim", ALWAYS)
        .all_fed(2.5);
    let plan = household.plan();
    let times: Vec<usize> = plan.wake_ups.iter().map(|w| w.times).collect();
    assert_eq!(times.len(), 2, "{:?}", plan.wake_ups);
    assert!(times[0].abs_diff(times[1]) <= 1, "{:?}", plan.wake_ups);
}

#[test]
fn a_round_takes_setting_up_and_cleaning_up() {
    let household = Household::new(&[("Ash", 16.0, 700.0), ("Elm", 16.0, 690.0)]).carer("Robin", ALWAYS).all_fed(3.0);
    let plan = household.plan();
    let minutes = |round: &whelpward_core::report::RoundLine| {
        let end: Timestamp = round.until.as_ref().unwrap().parse().unwrap();
        hours_between(round.at.parse().unwrap(), end).get() * 60.0
    };
    // By hand: 5 min before, two pups of 7 min, 5 min after.
    assert_eq!(ROUND_MINUTES.value, (5.0, 5.0));
    assert_eq!(minutes(&plan.rounds[0]), 24.0);
    let own = Household::new(&[("Ash", 16.0, 700.0), ("Elm", 16.0, 690.0)])
        .carer("Robin", "sleeps = [\"daily 23:00-06:00\"]\nbottle_minutes = 12")
        .all_fed(3.0);
    assert_eq!(minutes(&own.plan().rounds[0]), 34.0, "the household's own time replaces ours");
}

#[test]
fn the_price_of_sleep_and_of_waiting() {
    // Our own figures, as the row says; in no other source.
    assert_eq!(WAKE_UP_MINUTES.value, 60.0);
    assert_eq!(HOUR_ABOVE_USUAL.value, 15.0);
}

#[test]
fn trade_minutes_are_those_of_the_trade() {
    assert!((5.0..=10.0).contains(&BOTTLE_MINUTES.value), "a bottle feed takes five to ten minutes");
    let six_by_tube = 6.0 * TUBE_MINUTES.value;
    assert!((2.5..=5.0).contains(&six_by_tube), "six pups by tube in about five minutes");
}

#[test]
fn tube_fed_pups_get_a_bottle_each_day() {
    let wanted = [("Ash|wants_tube = true", 16.0, 700.0), ("Elm|wants_tube = true", 16.0, 690.0)];
    let household =
        Household::new(&wanted).carer("Robin", "tube_taught_by_vet = true\nsleeps = [\"daily 23:00-06:00\"]");
    let household = household.fed("Ash", 3.0, 30.0).fed("Elm", 3.0, 30.0);
    let plan = household.plan();
    let methods: Vec<&str> = plan.rounds.iter().map(|r| r.feeds[0].method.as_str()).collect();
    assert!(methods.contains(&"tube"), "{methods:?}");
    // The grid's days begin at 16:45; each has its bottle round.
    let begin: Timestamp = "2026-11-20T16:45Z".parse().unwrap();
    for day in [0.0, 24.0] {
        let of_day = plan.rounds.iter().filter(|r| {
            let since = hours_between(begin, r.at.parse().unwrap()).get();
            (day..day + 24.0).contains(&since)
        });
        assert!(of_day.flat_map(|r| &r.feeds).any(|f| f.method == "bottle"), "day from {day} h: {methods:?}");
    }
}

#[test]
fn nobody_taught_means_bottles_only() {
    let wanted = [("Ash|wants_tube = true", 16.0, 700.0)];
    let household = Household::new(&wanted).carer("Robin", ALWAYS).fed("Ash", 3.0, 30.0);
    let plan = household.plan();
    assert!(plan.rounds.iter().flat_map(|r| &r.feeds).all(|f| f.method == "bottle"));
    assert!(!plan.rounds.is_empty());
}

#[test]
fn amounts_follow_the_gaps_and_never_pass_the_stomach() {
    let household = Household::new(&[("Ash", 16.0, 700.0)])
        .carer("Robin", "available = [\"daily 05:00-08:00\", \"daily 11:00-13:30\", \"daily 16:00-23:59\"]")
        .all_fed(3.0);
    let plan = household.plan();
    let feeds: Vec<(Timestamp, f64, f64)> =
        plan.rounds.iter().flat_map(|r| &r.feeds).map(|f| (f.at.parse().unwrap(), f.amount_ml, f.at_most_ml)).collect();
    // 700 g on day 16: 22 kcal per 100 g at 1.2 kcal per mL is 128.3 mL a day, and the stomach holds 28 mL.
    let a_day = 700.0 / 100.0 * 22.0 / 1.2;
    let mut gaps = std::collections::BTreeSet::new();
    for pair in feeds.windows(2).take(4) {
        let gap = hours_between(pair[0].0, pair[1].0).get();
        let (share, most) = (a_day * gap / 24.0, 28.0);
        assert!(pair[0].1 <= share + 1e-9 && pair[0].1 > share - 0.6, "{} mL for {gap} h, {share}", pair[0].1);
        assert!(pair[0].1 <= most && pair[0].2 <= most);
        gaps.insert(format!("{gap}"));
    }
    assert!(gaps.len() > 1, "unequal gaps: {gaps:?}");
}

/// Usability C-6: on the nights when the clocks change the hours between feeds stay.
#[test]
fn gaps_are_elapsed_time_on_the_nights_of_clock_changes() {
    for (zone, now) in [
        ("Europe/Berlin", "2027-03-27T18:00Z"),
        ("Europe/Berlin", "2027-10-30T18:00Z"),
        ("America/New_York", "2027-03-13T23:00Z"),
        ("America/New_York", "2027-11-06T23:00Z"),
    ] {
        let mut household = Household::new(&[("Ash", 5.0, 300.0)]);
        household.now = now.parse().unwrap();
        household.zone = zone;
        let household = household.carer("Robin", ALWAYS).all_fed(2.5);
        let gaps = household.gaps("Ash", 2.5);
        assert!(gaps.iter().all(|g| (2.0..=4.0).contains(g)), "{zone} {now}: {gaps:?}");
        let said = household.plan().clock_change.expect("a change within the plan");
        assert!(said.contains("stay as they are"), "{said}");
    }
}

#[test]
fn sleep_is_read_by_the_clock_of_the_night_it_changes() {
    // Sleep 23:00 to 06:00 lasts 6 h in the spring night of Berlin: 22:00Z to 04:00Z.
    let mut household = Household::new(&[("Ash", 16.0, 700.0)]);
    household.now = "2027-03-27T18:00Z".parse().unwrap();
    household.zone = "Europe/Berlin";
    let plan = household.carer("Robin", ALWAYS).all_fed(2.5).plan();
    let night: (Timestamp, Timestamp) = ("2027-03-27T22:00Z".parse().unwrap(), "2027-03-28T04:00Z".parse().unwrap());
    for round in plan.rounds.iter().take(5) {
        let (at, until): (Timestamp, Timestamp) =
            (round.at.parse().unwrap(), round.until.as_ref().unwrap().parse().unwrap());
        let overlaps = until > night.0 && at < night.1;
        // The round touches whole quarters, so one that begins just before is counted too.
        let is_near = hours_between(until, night.0).get().abs() < 0.25;
        assert!(round.carers[0].is_woken == overlaps || is_near, "{}", round.at);
    }
}

#[test]
fn a_hole_in_cover_is_named_and_so_is_what_would_help() {
    // Nobody from 09:30 to 13:30, and pups that may wait 4 h at most: exactly 4 h cannot hold a whole round before.
    let household = Household::new(&[("Ash", 10.0, 400.0), ("Elm", 10.0, 410.0)])
        .carer("Robin", "available = [\"daily 13:30-09:30\"]")
        .all_fed(2.5);
    let plan = household.plan();
    let trouble = plan.trouble.expect("no plan");
    assert!(trouble.because[0].contains("hole in cover"), "{trouble:?}");
    assert!(trouble.because[0].contains("13:30"), "{trouble:?}");
    assert!(trouble.what_would_help.iter().any(|w| w.contains("someone more to feed at")), "{trouble:?}");
    // The plan with that visit is shown, so that no pup is left without a time.
    assert!(plan.rounds.iter().flat_map(|r| &r.carers).any(|c| c.carer == "someone more"));
    for gap in household.gaps("Ash", 2.5) {
        assert!((2.0..=4.0).contains(&gap));
    }
}

#[test]
fn milk_that_is_too_thin_for_the_cover_is_named() {
    // On day 16 a pup may wait 6 h, and a 5 h hole is fine; at 1.2 kcal per mL the stomach holds 5.2 h of milk.
    let mut household =
        Household::new(&[("Ash", 16.0, 700.0)]).carer("Robin", "available = [\"daily 13:30-08:30\"]").all_fed(2.5);
    let plan = household.plan();
    let trouble = plan.trouble.expect("no plan with this milk");
    assert!(trouble.because.iter().any(|b| b.contains("milk is too thin for Ash")), "{trouble:?}");
    assert!(trouble.what_would_help.iter().any(|w| w.contains("times as strong")), "{trouble:?}");
    household.carers = household.carers.replace("08:30", "09:30");
    assert!(household.plan().trouble.is_none(), "a shorter hole is no trouble");
}

#[test]
fn a_late_feed_shifts_the_next_ones() {
    let household =
        |ago: f64| Household::new(&[("Ash", 10.0, 400.0), ("Elm", 10.0, 410.0)]).carer("Robin", ALWAYS).all_fed(ago);
    let on_time = household(3.0).times("Ash");
    let late = household(0.5).times("Ash");
    assert!(late[0] > on_time[0], "fed half an hour ago: {} is not before {}", late[0], on_time[0]);
    assert!(hours_between(household(0.5).now, late[0]).get() >= 1.5, "never within 2 h of the feed that was done");
    for gaps in [household(3.0).gaps("Ash", 3.0), household(0.5).gaps("Ash", 0.5)] {
        assert!(gaps.iter().all(|g| (2.0..=4.0).contains(g)), "{gaps:?}");
    }
}

#[test]
fn an_overdue_pup_is_fed_at_once() {
    let household = Household::new(&[("Ash", 10.0, 400.0), ("Elm", 10.0, 410.0)]).carer("Robin", ALWAYS).all_fed(5.0);
    assert!(hours_between(household.now, household.times("Ash")[0]).get() <= 5.0 / 60.0);
}

#[test]
fn skipping_is_never_offered_below_the_floor() {
    let ask = |age: f64, grams: f64| {
        let household = Household::new(&[("Ash", age, grams)]).carer("Robin", ALWAYS).all_fed(2.5);
        let first = household.times("Ash")[1];
        let asked = Asked { sleep_through: Some(first), ..Asked::default() };
        timetable(&household.facts(), household.now, asked).sleep_through.unwrap()
    };
    let young = ask(13.9, 700.0);
    assert!(!young.is_allowed && young.because[0].contains("under 14 days old"), "{young:?}");
    assert!(young.instead.is_none());
    let light = ask(14.1, 199.0);
    assert!(!light.is_allowed && light.because[0].contains("under 200"), "{light:?}");
    let fine = ask(14.1, 700.0);
    assert!(fine.is_allowed, "{fine:?}");
    let instead = fine.instead.unwrap();
    assert!(instead.largest_feeds.iter().all(|f| f.amount_ml <= f.at_most_ml));
    assert!(instead.figures.longest_gap_h <= 6.0);
}

#[test]
fn skipping_is_refused_when_nobody_is_there_at_other_times() {
    let household = Household::new(&[("Ash", 16.0, 700.0)])
        .carer(
            "Robin",
            "available = [\"daily 01:00-04:00\", \"daily 07:00-09:00\", \"daily 12:00-14:00\", \"daily 17:00-23:00\"]",
        )
        .all_fed(2.5);
    let asked = Asked { sleep_through: household.times("Ash").get(2).copied(), ..Asked::default() };
    let answer = timetable(&household.facts(), household.now, asked).sleep_through.unwrap();
    assert!(!answer.is_allowed, "{answer:?}");
}

#[test]
fn other_plans_keep_every_limit_and_none_beats_another() {
    let household = Household::new(&[("Ash", 16.0, 700.0), ("Elm", 16.0, 690.0), ("Fir", 16.0, 680.0)])
        .carer("Robin", "tube_taught_by_vet = true\nsleeps = [\"daily 23:00-06:00\"]")
        .carer("Kim", ALWAYS)
        .all_fed(2.5);
    let report = timetable(&household.facts(), household.now, Asked { options: true, ..Asked::default() });
    assert!(report.options.len() >= 3, "{}", report.options.len());
    for a in &report.options {
        assert!(a.figures.longest_gap_h <= 6.0);
        assert_eq!(a.largest_feeds.len(), 3);
        assert!(a.largest_feeds.iter().all(|f| f.amount_ml <= f.at_most_ml));
    }
    let (facts, line) = (household.facts(), Line::run(&household.facts(), household.now));
    let plans = trade_offs(&facts, &line.assessment, &line.needs, household.now);
    let figures: Vec<_> = plans.iter().map(LitterPlan::figures).collect();
    for (i, a) in figures.iter().enumerate() {
        for (j, b) in figures.iter().enumerate() {
            let is_as_good = a.hands_on_s <= b.hands_on_s
                && a.wake_ups <= b.wake_ups
                && a.longest_gap <= b.longest_gap
                && a.tube_fed <= b.tube_fed;
            assert!(i == j || !is_as_good, "{a:?} makes {b:?} needless");
        }
    }
}

#[test]
fn without_hours_the_rounds_are_equal_intervals() {
    let household = Household::new(&[("Ash", 10.0, 400.0)]).carer("Robin", "").all_fed(2.5);
    let plan = household.plan();
    assert!(!plan.is_planned_for_carers && plan.rounds.iter().all(|r| r.carers.is_empty()));
    let gaps = household.gaps("Ash", 2.5);
    assert!(gaps.iter().all(|g| (g - 4.0).abs() < 0.02), "six feeds a day in week 2: {gaps:?}");
}

#[test]
fn a_round_that_was_broken_off_is_finished_and_the_litter_comes_into_step() {
    // Two of four were fed a few minutes ago; the other two wait almost their 4 h.
    let household =
        Household::new(&[("Ash", 10.0, 400.0), ("Elm", 10.0, 410.0), ("Fir", 10.0, 405.0), ("Yew", 10.0, 395.0)])
            .carer("Robin", ALWAYS)
            .fed("Ash", 0.2, 15.0)
            .fed("Elm", 0.1, 15.0)
            .fed("Fir", 3.9, 15.0)
            .fed("Yew", 3.8, 15.0);
    let plan = household.plan();
    assert!(plan.trouble.is_none(), "{:?}", plan.trouble);
    let first: Vec<&str> = plan.rounds[0].feeds.iter().map(|f| f.pup.as_str()).collect();
    assert_eq!(first, ["Fir", "Yew"]);
    assert_eq!(plan.rounds[1].feeds.len(), 4, "then all of them together");
    for (pup, ago) in [("Ash", 0.2), ("Elm", 0.1), ("Fir", 3.9), ("Yew", 3.8)] {
        let gaps = household.gaps(pup, ago);
        assert!(gaps.iter().all(|g| (2.0..=4.0).contains(g)), "{pup}: {gaps:?}");
    }
}

/// Pups fed at odd times, on many households: no gap of the plan is outside the limits.
#[test]
fn gaps_hold_whatever_happened_before() {
    let ages = [(5.0, 300.0, 4.0), (5.0, 180.0, 3.0), (10.0, 400.0, 4.0), (16.0, 700.0, 6.0), (22.0, 900.0, 8.0)];
    let mut planned = 0;
    for (i, (age, grams, longest)) in ages.into_iter().enumerate() {
        for step in 0..24 {
            let (a, b) =
                (0.25 * f64::from(step % 8), 0.25 * f64::from(step) / 2.0 + 0.1 * f64::from(u32::try_from(i).unwrap()));
            let household = Household::new(&[("Ash", age, grams), ("Elm", age, grams)])
                .carer("Robin", ALWAYS)
                .fed("Ash", a, 5.0)
                .fed("Elm", b.min(longest - 0.1), 5.0);
            let plan = household.plan();
            planned += usize::from(plan.trouble.is_none());
            for (pup, ago) in [("Ash", a), ("Elm", b.min(longest - 0.1))] {
                let gaps = household.gaps(pup, ago);
                assert!(
                    gaps.iter().all(|g| *g >= 1.99 && *g <= longest),
                    "{age} d, {grams} g, {a} h and {b} h ago, {pup}: {gaps:?}"
                );
            }
        }
    }
    assert!(planned >= 100, "{planned} of 120 fitted to the carer");
}

/// A round of the plan as instants and names.
struct Seen {
    at: Timestamp,
    until: Timestamp,
    carers: Vec<String>,
    pups: Vec<String>,
}

fn seen(plan: &TimetableReport) -> Vec<Seen> {
    let round = |r: &whelpward_core::report::RoundLine| Seen {
        at: r.at.parse().unwrap(),
        until: r.until.as_ref().unwrap().parse().unwrap(),
        carers: r.carers.iter().map(|c| c.carer.clone()).collect(),
        pups: r.feeds.iter().map(|f| f.pup.clone()).chain(r.withheld.iter().map(|w| w.pup.clone())).collect(),
    };
    plan.rounds.iter().map(round).collect()
}

#[test]
fn a_household_that_can_keep_fewer_rounds_gets_fewer_or_is_told_why_not() {
    let household = |most: u32| {
        let mut household = Household::new(&[("Ash", 16.0, 700.0), ("Elm", 16.0, 690.0)]);
        household.extra = format!("most_rounds_per_day = {most}");
        household.carer("Robin", ALWAYS).all_fed(2.5)
    };
    // On day 16 the milk of 5.25 h is as much as the stomach holds, so 24 h take 5 rounds (24 / 5.25 = 4.6).
    let five = household(5).plan();
    assert!(five.trouble.is_none(), "{:?}", five.trouble);
    let begin: Timestamp = "2026-11-20T16:45Z".parse().unwrap();
    for day in [0.0, 24.0] {
        let of_day = |r: &&Seen| (day..day + 24.0).contains(&hours_between(begin, r.at).get());
        assert!(seen(&five).iter().filter(of_day).count() <= 5);
    }
    let four = household(4).plan();
    let trouble = four.trouble.expect("four rounds are too few");
    assert!(trouble.because.iter().any(|b| b.contains("at most 4 rounds a day are too few")), "{trouble:?}");
    assert!(trouble.what_would_help.iter().any(|w| w.starts_with("5 rounds a day; then ")), "{trouble:?}");
    assert!(trouble.what_would_help.iter().any(|w| w.contains("times as strong")), "{trouble:?}");
    for gap in household(4).gaps("Ash", 2.5) {
        assert!(gap <= 5.25, "the plan that is shown keeps the gaps: {gap}");
    }
}

#[test]
fn nursing_that_was_seen_keeps_the_suck_of_a_tube_fed_pup() {
    let methods = |nursed: bool| {
        let mut household = Household::new(&[("Ash|wants_tube = true", 16.0, 700.0)]);
        household.gain = 0.0;
        household.at_the_dam = true;
        let household = household.carer("Robin", "tube_taught_by_vet = true\nsleeps = [\"daily 23:00-06:00\"]");
        let household = household.fed("Ash", 3.0, 15.0);
        let household = if nursed { household.nursed("Ash", 5.0) } else { household };
        let plan = household.plan();
        plan.rounds.iter().flat_map(|r| &r.feeds).map(|f| f.method.clone()).collect::<Vec<_>>()
    };
    let (with, without) = (methods(true), methods(false));
    assert!(with.len() > 4 && with.iter().all(|m| m == "tube"), "{with:?}");
    assert!(without.iter().any(|m| m == "bottle"), "nobody saw it nurse: {without:?}");
}

#[test]
fn an_interval_that_a_vet_ordered_is_kept_and_staffed() {
    let pups = [("Ash", 16.0, 700.0), ("Elm", 16.0, 690.0), ("Fir", 16.0, 680.0)];
    let household = Household::new(&pups)
        .carer("Robin", "available = [\"daily 06:00-23:59\"]")
        .carer("Kim", "available = [\"daily 18:00-08:00\"]\nsleeps = [\"daily 23:00-06:00\"]")
        .fed("Ash", 1.1, 20.0)
        .fed("Elm", 2.5, 20.0)
        .fed("Fir", 2.5, 20.0)
        .ordered("Ash", 3.0);
    let plan = household.plan();
    assert!(plan.trouble.is_none(), "{:?}", plan.trouble);
    let rounds = seen(&plan);
    let ordered: Vec<&Seen> = rounds.iter().filter(|r| r.pups.contains(&"Ash".to_owned())).collect();
    assert_eq!(ordered.len(), 16, "every 3 h of two days");
    for pair in ordered.windows(2) {
        assert_eq!(hours_between(pair[0].at, pair[1].at).get(), 3.0, "as ordered");
    }
    for (i, a) in rounds.iter().enumerate() {
        assert!(!a.carers.is_empty() && a.until > a.at, "{} has a carer", a.at);
        for b in &rounds[i + 1..] {
            let is_same = a.carers.iter().any(|c| b.carers.contains(c));
            assert!(!is_same || a.until <= b.at, "{:?} cannot be on two rounds at {} and {}", a.carers, a.at, b.at);
        }
    }
    assert!(plan.figures.unwrap().wake_ups >= 2, "its nights count");
}

#[test]
fn an_ordered_time_for_which_nobody_is_there_is_named() {
    let household = Household::new(&[("Ash", 16.0, 700.0)])
        .carer("Robin", "available = [\"daily 06:00-23:00\"]")
        .fed("Ash", 1.0, 20.0)
        .ordered("Ash", 3.0);
    let plan = household.plan();
    let trouble = plan.trouble.as_ref().expect("nobody from 23:00 to 06:00");
    assert!(trouble.because[0].contains("ordered nobody is there"), "{trouble:?}");
    assert!(seen(&plan).iter().all(|r| !r.carers.is_empty()));
    assert!(seen(&plan).iter().any(|r| r.carers == ["someone more"]));
}

#[test]
fn a_short_feed_brings_the_next_one_forward() {
    let first = |taken: f64| {
        let household = Household::new(&[("Ash", 16.0, 700.0)])
            .carer("Robin", "available = [\"daily 06:00-23:00\"]")
            .fed_short("Ash", 0.5, 20.0, taken);
        hours_between(household.now, household.times("Ash")[0]).get()
    };
    let (whole, half, nothing) = (first(20.0), first(10.0), first(0.0));
    assert!(half < whole, "after half a feed in {half} h, after a whole one in {whole} h");
    assert!(nothing <= half && nothing >= 1.5, "never within 2 h of the feed: {nothing}");
}

#[test]
fn a_short_feed_is_forgiven_where_nobody_can_come_sooner() {
    // Fed at 16:10 and 2 of 20 mL taken; Robin comes at 20:00, which is in time for a whole feed only.
    let household = Household::new(&[("Ash", 16.0, 700.0)])
        .carer("Robin", "available = [\"daily 20:00-16:30\"]")
        .fed_short("Ash", 0.5, 20.0, 2.0);
    let plan = household.plan();
    assert!(plan.trouble.is_none(), "{:?}", plan.trouble);
    assert!(plan.rounds[0].at.starts_with("2026-11-20T20"), "{}", plan.rounds[0].at);
}

#[test]
fn three_groups_out_of_step_come_together_again() {
    // In week 1 under 200 g a gap is 2 to 3 h: these windows do not meet.
    let household = Household::new(&[("Ash", 5.0, 180.0), ("Elm", 5.0, 185.0), ("Fir", 5.0, 190.0)])
        .carer("Robin", ALWAYS)
        .carer("Kim", ALWAYS)
        .fed("Ash", 2.9, 3.0)
        .fed("Elm", 1.6, 3.0)
        .fed("Fir", 0.1, 3.0);
    let plan = household.plan();
    assert!(plan.trouble.is_none(), "{:?}", plan.trouble);
    for (pup, ago) in [("Ash", 2.9), ("Elm", 1.6), ("Fir", 0.1)] {
        let gaps = household.gaps(pup, ago);
        assert!(gaps.iter().all(|g| (2.0..=3.0).contains(g)), "{pup}: {gaps:?}");
    }
    assert!(plan.rounds.iter().any(|r| r.feeds.len() == 3), "in the end all of them together");
}

#[test]
fn concessions_are_as_small_as_can_be_and_the_cheapest_comes_first() {
    let mut household = Household::new(&[("Ash", 16.0, 700.0), ("Elm", 16.0, 690.0)]);
    household.extra = "most_rounds_per_day = 4".into();
    let household = household.carer("Robin", ALWAYS).all_fed(2.5);
    let (facts, line) = (household.facts(), Line::run(&household.facts(), household.now));
    let solve = |wishes: &Wishes| best(&facts, &line.assessment, &line.needs, household.now, wishes);
    let found = offers(&facts, &line.assessment, &line.needs, household.now, &Wishes::default());
    assert!(found.len() >= 2, "{found:?}");
    assert!(found.windows(2).all(|w| w[0].price <= w[1].price));
    for offer in &found {
        assert!(solve(&offer.wishes).is_some());
        let one_less = match offer.lifts[..] {
            [Lift::Milk] => Wishes { milk_factor: offer.wishes.milk_factor.map(|f| f - 0.05), ..Wishes::default() },
            [Lift::Rounds] => Wishes { most_rounds: offer.wishes.most_rounds.map(|n| n - 1), ..Wishes::default() },
            _ => continue,
        };
        assert!(solve(&one_less).is_none(), "{:?} could be smaller", offer.lifts);
    }
}

#[test]
fn two_concessions_are_named_where_one_is_not_enough() {
    // Nobody for 9 h a day, and too few rounds for the rest: no milk alone, no helper alone.
    let mut household = Household::new(&[("Ash", 10.0, 400.0), ("Elm", 10.0, 410.0)]);
    household.extra = "most_rounds_per_day = 4".into();
    let household = household.carer("Robin", "available = [\"daily 17:00-08:00\"]").all_fed(2.5);
    let trouble = household.plan().trouble.expect("no plan");
    assert_eq!(trouble.what_would_help.len(), 1, "{trouble:?}");
    assert!(trouble.what_would_help[0].contains("rounds a day, and someone more to feed at"), "{trouble:?}");
    for gap in household.gaps("Ash", 2.5) {
        assert!(gap <= 4.0, "the plan that is shown keeps the gaps: {gap}");
    }
}

#[test]
fn a_day_that_can_be_repeated_keeps_the_gaps_over_midnight() {
    let household = Household::new(&[("Ash", 16.0, 700.0), ("Elm", 16.0, 690.0)])
        .carer("Robin", "available = [\"daily 17:00-08:00\", \"Sat 08:00-17:00\"]\nsleeps = [\"daily 23:00-06:00\"]")
        .carer("Kim", "available = [\"Mon-Sun 07:00-18:00\"]")
        .all_fed(2.5);
    let asked = Asked { usual_day: true, ..Asked::default() };
    let days = timetable(&household.facts(), household.now, asked).usual_days;
    assert_eq!(days.len(), 1);
    assert_eq!(days[0].days, "every day");
    for round in &days[0].rounds {
        let at = minute(&round.at);
        for carer in &round.carers {
            // Robin has all of Saturday, and yet is counted on only when there on every day.
            let is_there = if carer.carer == "Kim" { (420..1080).contains(&at) } else { !(480..1020).contains(&at) };
            assert!(is_there, "{} at {}", carer.carer, round.at);
        }
    }
    keeps_gaps(&days[0], 315);
}

fn minute(clock: &str) -> i32 {
    clock[..2].parse::<i32>().unwrap() * 60 + clock[3..].parse::<i32>().unwrap()
}

/// From 2 h to a longest gap in minutes, over midnight too.
fn keeps_gaps(day: &UsualDayLine, longest: i32) {
    let times: Vec<i32> = day.rounds.iter().map(|r| minute(&r.at)).collect();
    assert!(times.len() >= 4, "{times:?}");
    let next = times.iter().skip(1).copied().chain([times[0] + 24 * 60]);
    for (at, next) in times.iter().zip(next) {
        assert!((120..=longest).contains(&(next - at)), "{times:?}");
    }
}

#[test]
fn working_days_and_weekends_are_planned_apart_where_no_day_does_for_both() {
    let household = Household::new(&[("Ash", 16.0, 700.0)])
        .carer("Robin", "available = [\"Mon-Fri 00:00-08:00\", \"Mon-Fri 17:00-24:00\", \"Sat,Sun 00:00-24:00\"]")
        .carer("Kim", "available = [\"Mon-Fri 11:00-14:00\"]")
        .all_fed(2.5);
    let asked = Asked { usual_day: true, ..Asked::default() };
    let days = timetable(&household.facts(), household.now, asked).usual_days;
    let names: Vec<&str> = days.iter().map(|d| d.days.as_str()).collect();
    assert_eq!(names, ["Monday to Friday", "Saturday and Sunday"]);
    assert!(days[0].rounds.iter().flat_map(|r| &r.carers).any(|c| c.carer == "Kim"));
    assert!(days[1].rounds.iter().flat_map(|r| &r.carers).all(|c| c.carer == "Robin"));
    for day in &days {
        keeps_gaps(day, 315);
    }
}

#[test]
fn more_carers_than_a_plan_can_hold_are_named() {
    let mut household = Household::new(&[("Ash", 16.0, 700.0), ("Elm", 16.0, 690.0)]);
    for name in ["A", "B", "C", "D", "E", "F", "G", "H", "Ivy"] {
        household = household.carer(name, "available = [\"daily 06:00-23:00\"]");
    }
    let household = household.carer("Jay", ALWAYS).all_fed(2.5);
    let plan = household.plan();
    assert_eq!(plan.carers.len(), 8);
    assert_eq!(plan.carers_left_out, ["Ivy", "Jay"]);
}

#[test]
fn six_carers_share_the_nights() {
    let mut household = Household::new(&[("Ash", 5.0, 180.0), ("Elm", 5.0, 185.0)]);
    for name in ["A", "B", "C", "D", "E", "F"] {
        household = household.carer(name, ALWAYS);
    }
    let plan = household.all_fed(2.5).plan();
    let most = plan.wake_ups.iter().map(|w| w.times).max().unwrap();
    assert_eq!(most, 1, "as many carers as night rounds: {:?}", plan.wake_ups);
}
