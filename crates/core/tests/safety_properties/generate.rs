//! Whole invented litters: well and ill, with missing and wild data.

use proptest::collection::vec;
use proptest::option;
use proptest::prelude::*;
use proptest::sample::select;

use super::litter::{Check, DAY, Feed, H, Litter, Milk, Order, Pup, Weighing, Weight};
use super::values::{self, LITTER_KINDS, PUP_KINDS};

/// What a family of properties looks at more closely.
#[derive(Clone, Copy)]
pub struct Focus {
    pub pup_kinds: &'static [&'static str],
    pub litter_kinds: &'static [&'static str],
    pub most_pups: usize,
    pub most_checks: usize,
}

pub const EVERYTHING: Focus = Focus { pup_kinds: PUP_KINDS, litter_kinds: LITTER_KINDS, most_pups: 10, most_checks: 6 };

/// Any litter.
pub fn any_litter() -> impl Strategy<Value = Litter> {
    litter(EVERYTHING)
}

/// Litters with one to three pups, mostly without signs: the ones that are fed.
pub fn fed_litter() -> impl Strategy<Value = Litter> {
    const FED: Focus = Focus {
        pup_kinds: &["rectal_temperature_c", "suck", "palate"],
        litter_kinds: &["dam_milk"],
        most_pups: 3,
        most_checks: 2,
    };
    litter(FED).prop_map(super::ready::to_feed)
}

/// Litters in which certain kinds of check are common.
pub fn litter(focus: Focus) -> impl Strategy<Value = Litter> {
    let settings = (
        // Ordinary nights, and the two nights on which the clocks change in Berlin.
        select(vec![1_795_140_900_i64, 1_806_177_600, 1_824_926_400, 1_801_000_000]),
        select(vec!["Europe/Berlin", "America/New_York", "UTC", "Asia/Kathmandu"]),
        select(vec![None, Some("Labrador Retriever"), Some("Maltese"), Some("Chihuahua"), Some("no such breed")]),
        select(vec![2.0, 8.0, 30.0, 70.0]),
        option::of(1..12_u32),
        option::of(1..12_u32),
        select(vec![None, Some("steps"), Some("weeks")]),
        option::of(select(vec![20.0, 22.0, 25.0])),
    );
    let dam = (prop::bool::weighted(0.6), select(vec!["good", "little", "none", "unknown"]));
    let things = (
        vec((any::<bool>(), hours()), 0..3),
        vec(milk(), 1..4),
        option::weighted(0.93, 0..3_usize),
        vec(pup(focus), 0..=focus.most_pups),
        vec(values::check(focus.litter_kinds), 0..5),
    );
    (settings, dam, things).prop_map(|(settings, dam, (carers, milks, in_use, pups, checks))| {
        let (now, zone, breed, adult_kg, expected_pups, most_rounds, energy_table, energy) = settings;
        let mut litter = Litter {
            now,
            zone,
            breed,
            adult_kg,
            expected_pups,
            most_rounds,
            energy_table,
            energy,
            dam_with_pups: dam.0,
            dam_milk: dam.1,
            carers: carers.iter().map(|(taught, _)| *taught).collect(),
            hours: carers.iter().map(|(_, hours)| *hours).collect(),
            in_use: in_use.map(|i| i % milks.len()),
            milks,
            pups,
            checks,
        };
        make_possible(&mut litter);
        litter
    })
}

/// Hours of a carer: most of them say none; jobs by day, by night, holes, and someone hardly there.
fn hours() -> impl Strategy<Value = (Option<&'static str>, Option<&'static str>)> {
    let available = select(vec![
        None,
        Some("daily 17:00-08:00"),
        Some("daily 06:00-22:00"),
        Some("Mon-Fri 11:00-14:00"),
        Some("daily 13:30-09:30"),
        Some("daily 03:00-03:30"),
    ]);
    let sleeps = select(vec![None, Some("daily 23:00-06:00"), Some("daily 20:00-08:00"), Some("daily 08:00-16:00")]);
    prop_oneof![3 => Just((None, None)), 1 => (available, sleeps)]
}

/// Strengths from thin to far too strong; some milks only by their published composition.
fn milk() -> impl Strategy<Value = Milk> {
    let kind =
        select(vec!["puppy_powder", "puppy_ready", "goat", "goat_powder", "cow", "bitch", "home_blend", "other"]);
    let strength = prop_oneof![3 => select(vec![0.3, 0.6, 0.75, 1.0, 1.2, 1.36, 1.7, 2.5]).prop_map(Some), 2 => (0.3..2.5).prop_map(Some), 2 => Just(None)];
    let contains = prop_oneof![
        8 => Just(Vec::new()),
        1 => Just(vec!["cooked_egg"]),
        1 => select(vec!["raw_egg", "raw_milk", "honey"]).prop_map(|w| vec![w]),
    ];
    let water = option::weighted(0.3, select(vec![20.0, 38.0, 40.0, 40.1, 60.0]));
    let ratio = option::weighted(0.3, select(vec![(10.0, 20.0), (10.0, 30.0), (30.0, 70.0)]));
    (kind, strength, contains, water, ratio).prop_map(|(kind, kcal_per_ml, contains, water_c, ratio)| Milk {
        kind,
        kcal_per_ml: kcal_per_ml.map(|k: f64| (k * 1000.0).round() / 1000.0),
        contains,
        water_c,
        ratio,
    })
}

fn pup(focus: Focus) -> impl Strategy<Value = Pup> {
    let life = (
        values::age(),
        values::weight_g(),
        prop::bool::weighted(0.9),
        prop::bool::weighted(0.12),
        (select(vec!["nursing", "topped_up", "hand_fed", "hand_fed"]), prop::bool::weighted(0.15)),
        option::weighted(0.06, values::ago()),
        option::weighted(
            0.08,
            (
                prop_oneof![values::ago(), -20 * H..0],
                select(vec!["stillborn", "died", "put_to_sleep", "fostered_out", "gone_home"]),
            ),
        ),
    );
    let course = (
        prop_oneof![4 => 2.0..10.0, 2 => -5.0..2.0, 1 => select(vec![-4.0, 0.0, 5.0])],
        0..3_usize,
        vec((values::ago(), -0.01..0.01, select(vec!["before_feed", "after_feed", "unknown"])), 0..6),
        prop_oneof![6 => Just(0_u8), 2 => 1..8_u8],
    );
    let feeds = vec(
        (values::ago(), select(vec!["bottle", "bottle", "tube", "nursing"]), amount(), option::of(0..3_usize)),
        0..6,
    );
    let checks = vec(values::check(focus.pup_kinds), 0..=focus.most_checks);
    (life, course, feeds, checks, option::weighted(0.15, order())).prop_map(|(life, course, feeds, checks, order)| {
        let (age, birth_g, is_weighed_at_birth, premature, (rearing, wants_tube), joined, left) = life;
        let (percent_a_day, unit, times, slip) = course;
        let percent_a_day: f64 = percent_a_day;
        let grown = |ago: i64, noise: f64| -> f64 {
            let days = days_of((age - ago).max(0));
            birth_g * (1.0 + percent_a_day / 100.0).powf(days) * (1.0 + noise)
        };
        let mut weighings: Vec<Weighing> = times
            .into_iter()
            .map(|(ago, noise, taken)| Weighing {
                ago: ago.min(age),
                weight: Weight::nearest(grown(ago, noise).min(5000.0), unit),
                taken,
            })
            .collect();
        distinct(&mut weighings, |w| &mut w.ago);
        if let Some(newest) = weighings.iter_mut().filter(|w| w.ago >= 0).min_by_key(|w| w.ago) {
            newest.weight = slipped(newest.weight, slip, unit);
        }
        let now_g = grown(0, 0.0).clamp(60.0, 5000.0);
        Pup {
            age,
            birth: is_weighed_at_birth.then(|| Weight::nearest(birth_g, unit)),
            premature,
            rearing,
            wants_tube,
            joined: joined.map(|j| j.min(age)),
            left: left.map(|(at, why)| (at.min(age), why)),
            weighings,
            feeds: feeds.into_iter().map(|f| feed(f, age, now_g)).collect(),
            checks: checks.into_iter().map(|c| Check { ago: c.ago.min(age), ..c }).collect(),
            order: order.map(|(o, ml_per_kg): (Order, Option<f64>)| Order {
                given: o.given.min(age.max(0)),
                per_feed: ml_per_kg.map(|k| (k * now_g / 100.0).round().clamp(1.0, 5000.0) / 10.0),
                ..o
            }),
            has_slip: slip > 0,
        }
    })
}

#[expect(clippy::cast_precision_loss, reason = "ages of pups")]
fn days_of(seconds: i64) -> f64 {
    seconds as f64 / DAY as f64
}

/// Slips of the finger, and a sudden real loss.
fn slipped(weight: Weight, slip: u8, unit: usize) -> Weight {
    let grams = weight.grams();
    match slip {
        1 => Weight::nearest(grams * 10.0, unit),
        2 => Weight::nearest(grams / 10.0, unit),
        3 => Weight::nearest(grams * 28.35, unit),
        4 => Weight::nearest(grams / 28.35, unit),
        5 => Weight::nearest(grams * 0.88, unit),
        6 => Weight::nearest(grams * 1.4, unit),
        7 => Weight::nearest(exchanged(grams), unit),
        _ => weight,
    }
}

fn exchanged(grams: f64) -> f64 {
    let mut digits = grams.round().to_string().into_bytes();
    if digits.len() > 1 {
        digits.swap(0, 1);
    }
    String::from_utf8(digits).ok().and_then(|t| t.parse().ok()).unwrap_or(grams)
}

/// mL per kg: offered and taken; nothing written down; more than a stomach holds.
fn amount() -> impl Strategy<Value = (Option<f64>, Option<f64>)> {
    let size = || prop_oneof![select(vec![0.0, 5.0, 10.0, 19.9, 20.0, 39.9, 40.0, 45.0, 55.0]), 1.0..60.0];
    prop_oneof![
        5 => size().prop_map(|s| (Some(s), Some(s))),
        2 => (size(), 0.0..1.0).prop_map(|(s, share)| (Some(s), Some(s * share))),
        1 => size().prop_map(|s| (Some(s), None)),
        1 => Just((None, None)),
    ]
}

type RawFeed = (i64, &'static str, (Option<f64>, Option<f64>), Option<usize>);

fn feed((ago, method, (offered, taken), milk): RawFeed, age: i64, weight: f64) -> Feed {
    let ml = |per_kg: Option<f64>| per_kg.map(|k| (k * weight / 100.0).floor() / 10.0);
    let is_nursing = method == "nursing";
    let before = (weight * 10.0).round() / 10.0;
    Feed {
        ago: ago.min(age),
        method,
        offered: if is_nursing { None } else { ml(offered) },
        taken: if is_nursing { None } else { ml(taken) },
        milk: if is_nursing { None } else { milk },
        nursed: taken.filter(|_| is_nursing).map(|k| (before, ((weight + k * weight / 1000.0) * 10.0).round() / 10.0)),
    }
}

fn order() -> impl Strategy<Value = (Order, Option<f64>)> {
    (
        values::ago(),
        option::of(prop_oneof![1..20 * H, -4 * H..0]),
        option::of(5.0..70.0),
        option::of(select(vec![1.0, 2.0, 3.0, 6.0, 12.0])),
        option::of(select(vec![5.0, 15.0, 24.0, 26.0, 35.0])),
    )
        .prop_map(|(given, until_in, ml_per_kg, hours, energy)| {
            (Order { given, until_in, per_feed: None, hours, energy }, ml_per_kg)
        })
}

/// Milks exist, and two checks of one kind never stand at the same second: which of them is
/// the newer is then not a question.
fn make_possible(litter: &mut Litter) {
    let milks = litter.milks.len();
    for pup in &mut litter.pups {
        for feed in &mut pup.feeds {
            feed.milk = feed.milk.map(|m| m % milks);
        }
        distinct(&mut pup.checks, |c| &mut c.ago);
        distinct(&mut pup.feeds, |f| &mut f.ago);
    }
    distinct(&mut litter.checks, |c| &mut c.ago);
    litter.drop_impossible_feeds();
}

/// Moves equal times apart, each later one by a second.
fn distinct<T>(things: &mut [T], ago: impl Fn(&mut T) -> &mut i64) {
    let mut seen = std::collections::BTreeSet::new();
    for thing in things {
        let at = ago(thing);
        while !seen.insert(*at) {
            *at -= 1;
        }
    }
}
