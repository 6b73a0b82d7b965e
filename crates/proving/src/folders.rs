//! Writes simulated litters as litter folders, so that the command itself can be measured.

use std::fmt::Write as _;
use std::path::Path;

use crate::parameters::{Set, USUAL};
use crate::simulate::{self, Household, Litter};

const HOUSE: Household = Household { noise: USUAL, weighings_per_day: 2, scale_step_g: 1.0, notes_feeds: false };
/// Streams below 900 belong to the design of the proof.
const STREAM: u64 = 910;
/// Grown dogs of the five size classes, kg.
const ADULT_KG: [f64; 5] = [4.0, 8.0, 18.0, 35.0, 55.0];
/// What the format accepts as a pup's weight; a slip outside is refused while it is typed.
const READABLE_G: std::ops::RangeInclusive<f64> = 30.0..=25_000.0;
/// 2026-01-01T00:00:00Z.
const START_S: i64 = 1_767_225_600;

/// Writes `litters` folders named by number into `dir`.
pub fn write(dir: &Path, litters: u64) -> Result<(), String> {
    for i in 0..litters {
        let litter = simulate::litter(Set::Train.seed(STREAM, i), HOUSE);
        let folder = dir.join(format!("litter-{i:05}"));
        let (toml, csv) = texts(&litter);
        let put = |name: &str, text: String| std::fs::write(folder.join(name), text);
        std::fs::create_dir_all(&folder)
            .and_then(|()| put("litter.toml", toml))
            .and_then(|()| put("weighings.csv", csv))
            .map_err(|e| format!("{}: {e}", folder.display()))?;
    }
    Ok(())
}

fn texts(litter: &Litter) -> (String, String) {
    let at = |hours: f64| {
        let second = START_S + (hours * 3600.0).round() as i64;
        let (day, rest) = (second.div_euclid(86_400), second.rem_euclid(86_400));
        // 2026 has no leap day and a litter is weighed for a month at most: days of January and on.
        let day = day - START_S / 86_400;
        let (month, day) = if day < 31 { (1, day + 1) } else { (2, day - 30) };
        format!("2026-{month:02}-{day:02}T{:02}:{:02}:{:02}Z", rest / 3600, rest / 60 % 60, rest % 60)
    };
    let mut toml = format!(
        "format = 1\n[litter]\nname = \"Simulated {}\"\ntime_zone = \"UTC\"\nwhelped_at = {}\nscale_step_g = {}\n\
         expected_adult_weight_kg = {}\n[dam]\nwith_pups = true\nmilk = \"good\"\n",
        litter.seed,
        at(0.0),
        litter.household.scale_step_g,
        ADULT_KG[litter.class]
    );
    let mut csv = String::from("pup,weighed_at,weight,unit,taken\n");
    for pup in 0..litter.pups.len() {
        let birth = litter.weighings.iter().find(|w| w.pup == pup && w.session == 0);
        let _ =
            writeln!(toml, "[[pup]]\nid = \"P{pup}\"\nsex = \"unknown\"\nmarks = \"P{pup}\"\nborn_at = {}", at(0.0));
        if let Some(birth) = birth {
            let _ = writeln!(toml, "birth_weight = \"{}\"\nunit = \"g\"", birth.grams);
        }
    }
    for w in litter.weighings.iter().filter(|w| w.session > 0 && READABLE_G.contains(&w.grams)) {
        let _ = writeln!(csv, "P{},{},{},g,unknown", w.pup, at(w.hours), w.grams);
    }
    (toml, csv)
}

#[cfg(test)]
mod tests {
    use super::*;
    use whelpward_core::record::{FolderFiles, parse};

    #[test]
    fn a_written_folder_is_read_with_every_weighing() {
        let litter = simulate::litter(Set::Train.seed(STREAM, 3), HOUSE);
        let (toml, csv) = texts(&litter);
        let files = FolderFiles {
            litter_toml: Some(toml.into_bytes()),
            weighings_csv: Some(csv.into_bytes()),
            ..FolderFiles::default()
        };
        let facts = parse(&files).expect("a well-formed folder");
        assert_eq!(facts.pups.len(), litter.pups.len());
        let readable = |w: &&simulate::Weighing| w.session > 0 && READABLE_G.contains(&w.grams);
        assert_eq!(facts.weighings.len(), litter.weighings.iter().filter(readable).count());
    }
}
