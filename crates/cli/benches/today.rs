//! How long `today` takes on an 8-pup litter with 60 days of data: reading, and answering.
//!
//! `cargo bench -p whelpward` prints the times; no test asserts one.

use criterion::{Criterion, criterion_group, criterion_main};
use jiff::{SignedDuration, Timestamp};
use whelpward_core::record::{FolderFiles, parse};
use whelpward_core::report::today;

const PUPS: usize = 8;
const DAYS: i64 = 60;

/// An invented litter: two weighings, six feeds and four checks a day for each pup.
fn folder(born: Timestamp) -> FolderFiles {
    let at = |hours: i64, minutes: i64| born + SignedDuration::from_mins(hours * 60 + minutes);
    let mut litter = format!(
        "format = 1\n[litter]\nname = \"Bench\"\nexpected_adult_weight_kg = 20\nwhelped_at = {born}\n\
         time_zone = \"Europe/Berlin\"\nscale_step_g = 1\n[dam]\nwith_pups = false\n[[milk]]\nid = \"m\"\n\
         kind = \"puppy_ready\"\nin_use = true\nkcal_per_ml = 1.1\n"
    );
    let mut weighings = String::from("pup,weighed_at,weight_g\n");
    let mut feeds = String::from("pup,fed_at,method,offered_ml,taken_ml,milk\n");
    let mut checks = String::from("pup,checked_at,kind,value\n");
    for pup in 0..PUPS {
        litter.push_str(&format!(
            "[[pup]]\nid = \"p{pup}\"\nsex = \"male\"\nmarks = \"{pup}\"\nborn_at = {born}\nbirth_weight = 350\nunit = \"g\"\n"
        ));
        for day in 0..DAYS {
            let minute = i64::try_from(pup).unwrap_or(0);
            let grams = 350 + 25 * day + minute;
            for hour in [8, 20] {
                weighings.push_str(&format!("p{pup},{},{grams}\n", at(day * 24 + hour, minute)));
            }
            for hour in [0, 4, 8, 12, 16, 20] {
                let ml = grams / 50;
                feeds.push_str(&format!("p{pup},{},bottle,{ml},{ml},m\n", at(day * 24 + hour, 10 + minute)));
            }
            for (kind, value) in
                [("rectal_temperature_c", "36.8"), ("suck", "strong"), ("stool", "firm"), ("gums", "pink_moist")]
            {
                checks.push_str(&format!("p{pup},{},{kind},{value}\n", at(day * 24 + 8, minute)));
            }
        }
    }
    FolderFiles {
        litter_toml: Some(litter.into()),
        weighings_csv: Some(weighings.into()),
        feeds_csv: Some(feeds.into()),
        checks_csv: Some(checks.into()),
        ..FolderFiles::default()
    }
}

fn bench(c: &mut Criterion) {
    let born: Timestamp = "2026-09-01T06:00:00Z".parse().expect("a time");
    let files = folder(born);
    let facts = parse(&files).expect("the invented folder is good");
    let now = born + SignedDuration::from_hours(DAYS * 24);
    c.bench_function("read 8 pups x 60 days", |b| b.iter(|| parse(&files)));
    c.bench_function("today on 8 pups x 60 days", |b| b.iter(|| today(&facts, now)));
    let early = born + SignedDuration::from_hours(20 * 24);
    c.bench_function("today on day 20 of the same", |b| b.iter(|| today(&facts, early)));
}

criterion_group!(benches, bench);
criterion_main!(benches);
