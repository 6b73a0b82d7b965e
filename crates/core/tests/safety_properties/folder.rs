//! Writes an invented litter as a litter folder.

use std::fmt::Write as _;

use jiff::Timestamp;
use whelpward_core::record::{Facts, FolderFiles, parse};

use super::litter::{Litter, Pup};

/// Names of the pups, by number.
pub const NAMES: [&str; 12] =
    ["Alder", "Birch", "Cedar", "Damson", "Elder", "Fern", "Gorse", "Hazel", "Iris", "Juniper", "Kelp", "Larch"];

/// The files of a folder, the tables as rows so that they can be put in another order.
#[derive(Clone, Debug)]
pub struct Texts {
    pub head: String,
    pub pups: Vec<String>,
    pub rest: String,
    pub weighings: Vec<String>,
    pub feeds: Vec<String>,
    pub checks: Vec<String>,
}

const WEIGHINGS_HEAD: &str = "pup,weighed_at,weight,unit,taken";
const FEEDS_HEAD: &str = "pup,fed_at,method,offered_ml,taken_ml,milk,weight_before_g,weight_after_g";
const CHECKS_HEAD: &str = "pup,checked_at,kind,value";

impl Texts {
    pub fn files(&self) -> FolderFiles {
        let table = |head: &str, rows: &[String]| Some(format!("{head}\n{}\n", rows.join("\n")).into_bytes());
        FolderFiles {
            litter_toml: Some(format!("{}{}{}", self.head, self.pups.concat(), self.rest).into_bytes()),
            weighings_csv: table(WEIGHINGS_HEAD, &self.weighings),
            feeds_csv: table(FEEDS_HEAD, &self.feeds),
            checks_csv: table(CHECKS_HEAD, &self.checks),
            ..FolderFiles::default()
        }
    }

    pub fn facts(&self) -> Facts {
        parse(&self.files()).unwrap_or_else(|problems| {
            let list: Vec<String> = problems.iter().map(ToString::to_string).collect();
            panic!("a well-formed folder was refused: {}", list.join("; "))
        })
    }
}

impl Litter {
    pub fn at(&self, ago: i64) -> Timestamp {
        Timestamp::from_second(self.now - ago).expect("a time of this century")
    }

    pub fn texts(&self) -> Texts {
        let mut texts = Texts {
            head: self.head(),
            pups: Vec::new(),
            rest: self.rest(),
            weighings: Vec::new(),
            feeds: Vec::new(),
            checks: Vec::new(),
        };
        for (name, pup) in NAMES.iter().zip(&self.pups) {
            texts.pups.push(self.pup(name, pup));
            self.rows(name, pup, &mut texts);
        }
        for c in &self.checks {
            texts.checks.push(format!(",{},{},{}", self.at(c.ago), c.kind, c.value));
        }
        texts
    }

    fn head(&self) -> String {
        let mut t = format!(
            "format = 1\n[litter]\nname = \"Invented\"\ntime_zone = \"{}\"\nscale_step_g = 1\nexpected_adult_weight_kg = {}\n",
            self.zone, self.adult_kg
        );
        let mut line = |text: String| t.push_str(&text);
        if let Some(first) = self.pups.iter().map(|p| p.age).max() {
            line(format!("whelped_at = {}\n", self.at(first)));
        }
        if let Some(breed) = self.breed {
            line(format!("breed = \"{breed}\"\n"));
        }
        if let Some(n) = self.expected_pups {
            line(format!("expected_pups = {n}\n"));
        }
        if let Some(n) = self.most_rounds {
            line(format!("most_rounds_per_day = {n}\n"));
        }
        if let Some(table) = self.energy_table {
            line(format!("energy_table = \"{table}\"\n"));
        }
        if let Some(energy) = self.energy {
            line(format!("energy_kcal_per_100g = {energy}\n"));
        }
        line(format!("[dam]\nwith_pups = {}\nmilk = \"{}\"\n", self.dam_with_pups, self.dam_milk));
        t
    }

    fn pup(&self, name: &str, pup: &Pup) -> String {
        let mut t = format!(
            "[[pup]]\nid = \"{name}\"\nsex = \"unknown\"\nmarks = \"mark {name}\"\nborn_at = {}\npremature = {}\nrearing = \"{}\"\n",
            self.at(pup.age),
            pup.premature,
            pup.rearing
        );
        if let Some(w) = pup.birth {
            let _ = writeln!(t, "birth_weight = \"{}\"\nunit = \"{}\"", w.text(), w.unit());
        }
        if pup.wants_tube {
            t.push_str("wants_tube = true\n");
        }
        if let Some(at) = pup.joined {
            let _ = writeln!(t, "joined_at = {}", self.at(at));
        }
        if let Some((at, why)) = pup.left {
            let _ = writeln!(t, "left_at = {}\nleft_why = \"{why}\"", self.at(at));
        }
        t
    }

    fn rest(&self) -> String {
        let mut t = String::from("[[vet]]\nname = \"Clinic\"\nphone = \"000\"\n");
        for (i, taught) in self.carers.iter().enumerate() {
            let _ = writeln!(t, "[[carer]]\nname = \"carer {i}\"\ntube_taught_by_vet = {taught}");
            let (available, sleeps) = self.hours.get(i).copied().unwrap_or_default();
            for (key, value) in [("available", available), ("sleeps", sleeps)] {
                if let Some(value) = value {
                    let _ = writeln!(t, "{key} = [\"{value}\"]");
                }
            }
        }
        for (i, milk) in self.milks.iter().enumerate() {
            let _ = writeln!(
                t,
                "[[milk]]\nid = \"milk {i}\"\nkind = \"{}\"\nin_use = {}",
                milk.kind,
                self.in_use == Some(i)
            );
            if let Some(kcal) = milk.kcal_per_ml {
                let _ = writeln!(t, "kcal_per_ml = {kcal}");
            }
            if !milk.contains.is_empty() {
                let _ = writeln!(t, "contains = {:?}", milk.contains);
            }
            if let Some(c) = milk.water_c {
                let _ = writeln!(t, "water_temperature_c = {c}");
            }
            if let Some((powder, water)) = milk.ratio {
                let _ = writeln!(t, "powder_g = {powder}\nwater_ml = {water}");
            }
        }
        for (name, pup) in NAMES.iter().zip(&self.pups) {
            let Some(order) = &pup.order else { continue };
            let _ = writeln!(
                t,
                "[[vet_order]]\npup = \"{name}\"\ngiven_at = {}\nvet = \"vet of {name}\"",
                self.at(order.given)
            );
            if let Some(until) = order.until_in {
                let _ = writeln!(t, "until = {}", self.at(-until));
            }
            let keys = [
                ("ml_per_feed", order.per_feed),
                ("hours_between_feeds", order.hours),
                ("kcal_per_100g", order.energy),
            ];
            for (key, value) in keys {
                if let Some(value) = value {
                    let _ = writeln!(t, "{key} = {value}");
                }
            }
        }
        t
    }

    fn rows(&self, name: &str, pup: &Pup, texts: &mut Texts) {
        let optional = |n: Option<f64>| n.map_or(String::new(), |n| n.to_string());
        for w in &pup.weighings {
            texts.weighings.push(format!(
                "{name},{},{},{},{}",
                self.at(w.ago),
                w.weight.text(),
                w.weight.unit(),
                w.taken
            ));
        }
        for f in &pup.feeds {
            let milk = f.milk.map_or(String::new(), |m| format!("milk {m}"));
            let (before, after) = f.nursed.map_or((None, None), |(b, a)| (Some(b), Some(a)));
            texts.feeds.push(format!(
                "{name},{},{},{},{},{milk},{},{}",
                self.at(f.ago),
                f.method,
                optional(f.offered),
                optional(f.taken),
                optional(before),
                optional(after)
            ));
        }
        for c in &pup.checks {
            texts.checks.push(format!("{name},{},{},{}", self.at(c.ago), c.kind, c.value));
        }
    }
}

/// A counterexample is printed as the folder that a household would have written.
impl std::fmt::Debug for Litter {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let t = self.texts();
        write!(f, "asked at {}\n{}{}{}", self.at(0), t.head, t.pups.concat(), t.rest)?;
        for (head, rows) in [(WEIGHINGS_HEAD, &t.weighings), (FEEDS_HEAD, &t.feeds), (CHECKS_HEAD, &t.checks)] {
            if !rows.is_empty() {
                write!(f, "\n{head}\n{}", rows.join("\n"))?;
            }
        }
        writeln!(f)
    }
}
