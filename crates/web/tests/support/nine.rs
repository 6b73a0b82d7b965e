//! A litter of nine through ten weeks. INVENTED: nobody and nothing in it is real. The seed is fixed, so
//! that it is the same litter each time.
//!
//! One pup is lost on its second day, one light pup is topped up from its second day to its twelfth, and
//! for two days the dam is too ill to nurse, so that all of them live by hand.

#![allow(clippy::cast_precision_loss, reason = "hours and pups are small numbers")]

use std::fmt::Write as _;

use jiff::{SignedDuration, Timestamp};
use whelpward_core::record::{Facts, FolderFiles, parse};

pub const BORN: &str = "2026-09-01T02:00:00+02:00";
/// Light, and topped up.
pub const LIGHT: &str = "Teasel";
/// Lost.
pub const LOST: &str = "Vetch";
/// Its collar, marks and owner have the names that a page can least bear.
pub const HARD: &str =
    "Żółć-Ðørþe-Ξένια-Пёс-<b>&amp;</b>-\u{201e}Wolkenkuckucksheim\u{201c}-Wwwwwwwwwwwwwwwwwwwwwwwwwwwww";

const PUPS: [(&str, f64, &str); 9] = [
    ("Alder", 412.0, "red collar"),
    ("Bryony", 398.0, "blue collar with stripes"),
    ("Clover", 431.0, "yellow collar with dots"),
    ("Dock", 405.0, "green collar"),
    (HARD, 388.0, "purple collar with checks, white toe on the left hind leg, <script>"),
    ("Fennel", 420.0, "orange collar with stripes"),
    ("Gorse", 377.0, "white collar with dots"),
    (LIGHT, 268.0, "black collar with stripes"),
    (LOST, 251.0, "brown collar"),
];

/// The orphan phase, in hours from the birth.
pub const ORPHANS_H: (i64, i64) = (15 * 24, 17 * 24);
const LOST_H: i64 = 40;

pub fn born() -> Timestamp {
    BORN.parse().unwrap()
}

pub fn after_days(days: i64) -> Timestamp {
    born() + SignedDuration::from_hours(24 * days)
}

/// Numbers between 0 and 1, the same each time (a linear congruence with the constants of POSIX's example).
struct Dice(u64);

impl Dice {
    fn roll(&mut self) -> f64 {
        self.0 = (self.0.wrapping_mul(1_103_515_245) + 12_345) % (1 << 31);
        f64::from(u32::try_from(self.0).unwrap()) / f64::from(1u32 << 31)
    }
}

/// The weight that it would have, without the noise of a reading.
fn grown(birth: f64, days: f64) -> f64 {
    // A little loss on the first day, doubled at nine days, then slower; made up for this litter.
    let first = if days < 1.0 { -0.03 * days } else { -0.03 };
    birth * (1.0 + first + 0.125 * (days - 1.0).max(0.0) + 0.0006 * (days - 1.0).max(0.0).powi(2))
}

fn time(hours: f64) -> String {
    #[expect(clippy::cast_possible_truncation, reason = "some weeks in seconds")]
    let at = born() + SignedDuration::from_secs((hours * 3600.0).round() as i64);
    at.to_string()
}

fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('"', "\"\""))
}

/// The litter as a folder.
pub fn files() -> FolderFiles {
    let mut dice = Dice(20_260_901);
    let mut litter = String::from(
        "format = 1\n[example]\nat = 2026-11-10T08:00:00+01:00\nnote = \"an invented litter of nine through ten weeks\"\n\
         [litter]\nname = \"Nine by the brook\"\nbreed = \"Labrador Retriever\"\nexpected_adult_weight_kg = 28\n\
         whelped_at = 2026-09-01T02:00:00+02:00\ntime_zone = \"Europe/Berlin\"\nscale_step_g = 1\n\
         [dam]\nname = \"Heather\"\nweight_kg = 27\nwith_pups = true\nmilk = \"good\"\n\
         [[carer]]\nname = \"Robin\"\n[[carer]]\nname = \"Kim\"\n\
         [[vet]]\nname = \"Practice by the bridge\"\nphone = \"000 111 222\"\n\
         [[milk]]\nid = \"replacer\"\nkind = \"puppy_powder\"\nin_use = true\nkcal_per_ml = 1.0\npowder_g = 30\nwater_ml = 70\n\
         [[vet_order]]\npup = \"Teasel\"\ngiven_at = 2026-09-03T10:00:00+02:00\nvet = \"Practice by the bridge\"\nnote = \"top up, weigh twice a day\"\n",
    );
    let mut weighings = String::from("pup,weighed_at,weight,unit,taken\n");
    let mut feeds = String::from("pup,fed_at,method,offered_ml,taken_ml,milk,carer\n");
    let mut checks = String::from("pup,checked_at,kind,value\n");
    let mut done = String::from("pup,done_at,kind,value,product,lot,as_given,by\n");
    for (place, (name, birth, marks)) in PUPS.iter().enumerate() {
        let born_h = place as f64 * 0.6;
        let _ = write!(
            litter,
            "[[pup]]\nid = {name:?}\nsex = \"{}\"\nmarks = {marks:?}\nborn_at = {}\nbirth_weight = {birth}\nunit = \"g\"\n",
            if place % 2 == 0 { "female" } else { "male" },
            time(born_h)
        );
        let csv = quoted(name);
        for (kind, value) in [("breathing", "easy"), ("dried", "yes"), ("palate", "whole"), ("colostrum_seen", "yes")] {
            let _ = writeln!(checks, "{csv},{},{kind},{value}", time(born_h + 1.0));
        }
        if *name == LOST {
            let _ = write!(litter, "left_at = {}\nleft_why = \"died\"\n", time(LOST_H as f64));
            for (h, lost) in [(12.0, 9.0), (24.0, 19.0), (36.0, 31.0)] {
                let _ = writeln!(weighings, "{csv},{},{},g,unknown", time(h), birth - lost);
            }
            let _ = writeln!(checks, "{csv},{},suck,weak\n{csv},{},rectal_temperature_c,34.2", time(24.5), time(36.5));
            continue;
        }
        for half_day in 1..=140 {
            let days = f64::from(half_day) / 2.0;
            if days > 21.0 && half_day % 2 == 1 || days > 42.0 && half_day % 14 != 0 {
                continue;
            }
            let noise = 1.0 + (dice.roll() - 0.5) * 0.012;
            let slow = if *name == LIGHT { 0.92 } else { 1.0 };
            let weight = (grown(*birth, days * slow) * noise).round();
            let minutes = place as f64 * 0.02;
            let _ = writeln!(weighings, "{csv},{},{weight},g,before_feed", time(days * 24.0 + 6.0 + minutes));
        }
        if *name == LIGHT {
            for turn in 0..60 {
                let h = 48.0 + f64::from(turn) * 4.0;
                let ml = (grown(*birth, h / 24.0) * 0.02).round();
                let who = if turn % 2 == 0 { "Robin" } else { "Kim" };
                let _ = writeln!(feeds, "{csv},{},bottle,{ml},{ml},replacer,{who}", time(h));
            }
        }
        let (from, to) = ORPHANS_H;
        let mut h = from + 1;
        while h < to {
            let ml = (grown(*birth, h as f64 / 24.0) * 0.03).round();
            // One round of the second night was overslept.
            if h != from + 31 {
                let who = if h % 12 < 6 { "Robin" } else { "Kim" };
                let minutes = place as f64 * 0.08;
                let _ = writeln!(feeds, "{csv},{},bottle,{ml},{ml},replacer,{who}", time(h as f64 + minutes));
            }
            h += 6;
        }
        upbringing(&mut done, &csv, place);
    }
    let _ = writeln!(
        checks,
        ",{},dam_temperature_c,40.1\n,{},pups_with_dam,no\n,{},dam_temperature_c,38.6\n,{},pups_with_dam,yes",
        time(ORPHANS_H.0 as f64),
        time(ORPHANS_H.0 as f64 + 0.5),
        time(ORPHANS_H.1 as f64),
        time(ORPHANS_H.1 as f64 + 0.5)
    );
    for day in 0..28 {
        let celsius = if day < 7 { 30.0 } else { 27.5 };
        let _ = writeln!(checks, ",{},box_temperature_c,{celsius}", time(f64::from(day) * 24.0 + 7.0));
    }
    FolderFiles {
        litter_toml: Some(litter.into_bytes()),
        weighings_csv: Some(weighings.into_bytes()),
        feeds_csv: Some(feeds.into_bytes()),
        checks_csv: Some(checks.into_bytes()),
        done_csv: Some(done.into_bytes()),
        foods_csv: None,
    }
}

fn upbringing(done: &mut String, csv: &str, place: usize) {
    let mut row = |days: f64, rest: &str| {
        let _ = writeln!(done, "{csv},{},{rest}", time(days * 24.0 + 9.0));
    };
    row(13.0, "eyes_open,,,,,");
    row(16.0, "ears_open,,,,,");
    row(20.0, "walks,,,,,");
    row(24.0, "first_food,soaked food,,,,");
    for week in [2, 4, 6, 8] {
        row(f64::from(week) * 7.0, "worming,,Worm paste (invented),L-0417,as the vet wrote,Robin");
    }
    row(50.0, "eats_by_itself,,,,,");
    row(52.0, "weaned,,,,,");
    row(56.0, &format!("chip,99900000000{place:04},,,,Practice by the bridge"));
    row(56.2, "vaccination,distemper and parvo,Vaccine (invented),V-22,,Practice by the bridge");
    row(56.3, "vet_check,fit,,,,Practice by the bridge");
    row(57.0, "socialising,children and a vacuum cleaner,,,,");
    row(60.0, &format!("new_owner,Invented household {place},,,,"));
}

/// The same litter where pups and carers have other names.
pub fn renamed(new: impl Fn(&str) -> String) -> Facts {
    let mut files = files();
    // The hard one first: a new name may hold it.
    let names = [HARD, "Robin", "Kim"].into_iter().chain(PUPS.iter().map(|(name, ..)| *name).filter(|n| *n != HARD));
    for name in names {
        let new = new(name);
        for file in [
            &mut files.litter_toml,
            &mut files.weighings_csv,
            &mut files.feeds_csv,
            &mut files.checks_csv,
            &mut files.done_csv,
        ] {
            let text = String::from_utf8(file.take().unwrap()).unwrap();
            *file = Some(text.replace(name, &new).into_bytes());
        }
    }
    parse(&files).unwrap_or_else(|problems| panic!("{problems:?}"))
}

pub fn facts() -> Facts {
    parse(&files()).unwrap_or_else(|problems| panic!("{problems:?}"))
}
