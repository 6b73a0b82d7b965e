//! Reads `litter.toml` by the format table, collecting every problem.

use std::collections::BTreeMap;
use std::ops::Range;

use jiff::Timestamp;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::fields::{self, Value};
use super::format::{FORMAT_VERSION, Key, LITTER_FILE, SECTIONS, Section, Shape};
use super::problem::{Problem, quoted};
use super::{
    Carer, Dam, DamMilk, EnergyChoice, EnergyTable, Example, HomeLaw, LabelMore, LabelSolids, Left, LeftWhy, Litter,
    Milk, MilkKind, PowderRecipe, Pup, PupId, Rearing, RoundHabits, Sex, UpbringingChoice, VaccinationGuideline, Vet,
    VetOrder, WeeklyHours, Word, WormingGuideline,
};
use crate::units::{Celsius, Grams, Hours, KcalPer100g, KcalPerMl, Millilitres, WeightUnit};

/// What `litter.toml` holds.
pub(super) struct LitterFile {
    pub litter: Litter,
    pub dam: Dam,
    pub pups: Vec<Pup>,
    pub carers: Vec<Carer>,
    pub milks: Vec<Milk>,
    pub vets: Vec<Vet>,
    pub orders: Vec<VetOrder>,
}

pub(super) fn read(text: &str, problems: &mut Vec<Problem>) -> Option<LitterFile> {
    let mut reader = Reader { text, problems };
    let (root, errors) = DeTable::parse_recoverable(text);
    if !errors.is_empty() {
        for error in errors {
            let at = error.span().unwrap_or(0..0);
            let found = quoted(text.get(at.clone()).unwrap_or_default());
            reader.report(&at, "", found, format!("TOML 1.1; {}", error.message()));
        }
        return None;
    }
    let root = root.into_inner();
    reader.format_version(&root);
    reader.unknown_names(&root, "", &SECTIONS.iter().map(|s| s.name).chain(["format"]).collect::<Vec<_>>());
    let mut entries: BTreeMap<&str, Vec<Entry>> = BTreeMap::new();
    for section in SECTIONS {
        entries.insert(section.name, reader.section(&root, section));
    }
    build(&mut reader, &entries)
}

/// One `[section]` with its values and the place of each.
struct Entry {
    values: BTreeMap<&'static str, (Value, Range<usize>)>,
    at: Range<usize>,
}

impl Entry {
    fn text(&self, name: &str) -> Option<String> {
        match self.values.get(name) {
            Some((Value::Text(text), _)) => Some(text.clone()),
            _ => None,
        }
    }
    fn time(&self, name: &str) -> Option<Timestamp> {
        match self.values.get(name) {
            Some((Value::Time(time), _)) => Some(*time),
            _ => None,
        }
    }
    fn flag(&self, name: &str, when_left_out: bool) -> bool {
        match self.values.get(name) {
            Some((Value::Flag(flag), _)) => *flag,
            _ => when_left_out,
        }
    }
    fn number(&self, name: &str) -> Option<f64> {
        match self.values.get(name) {
            Some((Value::Number(number), _)) => Some(*number),
            _ => None,
        }
    }
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "the table's whole numbers are 1 to 25"
    )]
    fn count(&self, name: &str) -> Option<u32> {
        self.number(name).map(|n| n as u32)
    }
    fn hours(&self, name: &str) -> Option<WeeklyHours> {
        match self.values.get(name) {
            Some((Value::Hours(hours), _)) => Some(hours.clone()),
            _ => None,
        }
    }
    fn place(&self, name: &str) -> Range<usize> {
        self.values.get(name).map_or(self.at.clone(), |(_, at)| at.clone())
    }
}

struct Reader<'t, 'p> {
    text: &'t str,
    problems: &'p mut Vec<Problem>,
}

impl Reader<'_, '_> {
    fn report(&mut self, at: &Range<usize>, name: &str, found: String, allowed: String) {
        let before = &self.text[..floor_boundary(self.text, at.start)];
        let line = before.matches('\n').count() + 1;
        let column = before.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
        self.problems.push(Problem { file: LITTER_FILE, line, column, name: name.into(), found, allowed });
    }

    fn format_version(&mut self, root: &DeTable<'_>) {
        let allowed = format!("format = {FORMAT_VERSION}, as the first line");
        match root.get("format") {
            Some(value) if value.get_ref().as_integer().is_some_and(|i| i.as_str() == FORMAT_VERSION.to_string()) => {}
            Some(value) => {
                let found = quoted(&self.text[value.span()]);
                self.report(&value.span(), "format", found, allowed);
            }
            None => self.report(&(0..0), "format", "nothing".into(), allowed),
        }
    }

    fn unknown_names(&mut self, table: &DeTable<'_>, inside: &str, known: &[&str]) {
        for name in table.keys() {
            if !known.contains(&name.get_ref().as_ref()) {
                let near = nearest(name.get_ref(), known);
                let hint = near.map_or(String::new(), |n| format!("; did you mean {n}?"));
                let full = format!("{inside}{}", name.get_ref());
                self.report(&name.span(), &full, "an unknown name".into(), format!("{}{hint}", known.join(", ")));
            }
        }
    }

    fn section(&mut self, root: &DeTable<'_>, section: &Section) -> Vec<Entry> {
        let written = if section.repeated { format!("[[{}]]", section.name) } else { format!("[{}]", section.name) };
        let Some(value) = root.get(section.name) else {
            if section.required {
                self.report(&(0..0), section.name, "nothing".into(), format!("a section {written}"));
            }
            return Vec::new();
        };
        match (value.get_ref(), section.repeated) {
            (DeValue::Table(table), false) => vec![self.entry(table, value.span(), section)],
            (DeValue::Array(items), true) => items
                .iter()
                .filter_map(|item| {
                    if let DeValue::Table(table) = item.get_ref() {
                        Some(self.entry(table, item.span(), section))
                    } else {
                        self.report(&item.span(), section.name, "not a section".into(), written.clone());
                        None
                    }
                })
                .collect(),
            _ => {
                self.report(&value.span(), section.name, "a section of another form".into(), written);
                Vec::new()
            }
        }
    }

    fn entry(&mut self, table: &DeTable<'_>, at: Range<usize>, section: &Section) -> Entry {
        let known: Vec<&str> = section.keys.iter().map(|k| k.name).collect();
        self.unknown_names(table, &format!("{}.", section.name), &known);
        let mut values = BTreeMap::new();
        for key in section.keys {
            let full = format!("{}.{}", section.name, key.name);
            match table.get(key.name) {
                Some(value) => {
                    if let Some(read) = self.value(value, key, &full) {
                        values.insert(key.name, (read, value.span()));
                    }
                }
                None if key.required => self.report(&at, &full, "nothing".into(), key.shape.allowed()),
                None => {}
            }
        }
        Entry { values, at }
    }

    fn value(&mut self, value: &Spanned<DeValue<'_>>, key: &Key, full: &str) -> Option<Value> {
        let read = match (value.get_ref(), key.shape) {
            (DeValue::Array(items), Shape::ListOf(words)) => {
                let list: Vec<String> = items.iter().filter_map(|i| i.get_ref().as_str()).map(str::to_owned).collect();
                let is_fine = list.len() == items.len() && list.iter().all(|w| words.contains(&w.as_str()));
                if is_fine { Ok(Value::List(list)) } else { Err(key.shape.allowed()) }
            }
            (DeValue::Array(items), Shape::WeekHours) => {
                let texts: Option<Vec<&str>> = items.iter().map(|i| i.get_ref().as_str()).collect();
                texts.and_then(WeeklyHours::parse).map(Value::Hours).ok_or_else(|| key.shape.allowed())
            }
            (DeValue::String(text), Shape::Number { .. } | Shape::Whole { .. } | Shape::YesNo) => {
                Err(format!("{}, written without quotes (not {})", key.shape.allowed(), quoted(text)))
            }
            (DeValue::String(text), shape) => fields::read(text, shape),
            (DeValue::Integer(n), Shape::Number { .. } | Shape::Whole { .. } | Shape::Weight) => {
                fields::read(n.as_str(), key.shape)
            }
            (DeValue::Float(n), Shape::Number { .. } | Shape::Weight) => fields::read(n.as_str(), key.shape),
            (DeValue::Boolean(flag), Shape::YesNo) => Ok(Value::Flag(*flag)),
            (DeValue::Datetime(_), Shape::Time) => fields::read(&self.text[value.span()], key.shape),
            _ => Err(key.shape.allowed()),
        };
        read.map_err(|allowed| {
            let found = quoted(self.text.get(value.span()).unwrap_or_default().trim_matches('"'));
            self.report(&value.span(), full, found, allowed);
        })
        .ok()
    }

    /// A weight whose unit stands beside it.
    fn pup_weight(&mut self, entry: &Entry) -> Option<Grams> {
        let text = entry.text("birth_weight")?;
        let at = entry.place("birth_weight");
        let Some(unit) = entry.text("unit").as_deref().and_then(WeightUnit::from_word) else {
            if !entry.values.contains_key("unit") {
                self.report(
                    &at,
                    "pup.birth_weight",
                    quoted(&text),
                    "a weight with unit = \"g\", \"oz\" or \"lb_oz\" beside it".into(),
                );
            }
            return None;
        };
        match super::tables::pup_weight(&text, unit) {
            Ok(weight) => Some(weight),
            Err(allowed) => {
                self.report(&at, "pup.birth_weight", quoted(&text), allowed);
                None
            }
        }
    }
}

fn build(reader: &mut Reader<'_, '_>, entries: &BTreeMap<&str, Vec<Entry>>) -> Option<LitterFile> {
    let pups: Vec<Pup> = entries["pup"].iter().filter_map(|e| pup(reader, e)).collect();
    unique(reader, &entries["pup"], "pup", "id");
    unique(reader, &entries["milk"], "milk", "id");
    unique(reader, &entries["carer"], "carer", "name");
    let carers = entries["carer"]
        .iter()
        .filter_map(|e| {
            Some(Carer {
                name: e.text("name")?,
                tube_taught_by_vet: e.flag("tube_taught_by_vet", false),
                available: e.hours("available"),
                sleeps: e.hours("sleeps"),
                pups_at_once: e.count("pups_at_once").unwrap_or(1),
                bottle_minutes: e.number("bottle_minutes"),
                tube_minutes: e.number("tube_minutes"),
            })
        })
        .collect();
    let milks: Vec<Milk> = entries["milk"].iter().filter_map(|e| milk(reader, e)).collect();
    for second in entries["milk"].iter().filter(|e| e.flag("in_use", false)).skip(1) {
        reader.report(
            &second.place("in_use"),
            "milk.in_use",
            "a second milk in use".into(),
            "in_use = true for one milk only".into(),
        );
    }
    let vets = entries["vet"]
        .iter()
        .filter_map(|e| Some(Vet { name: e.text("name")?, phone: e.text("phone")?, hours: e.text("hours") }))
        .collect();
    let orders = entries["vet_order"].iter().filter_map(|e| order(reader, e, &pups)).collect();
    let litter = litter(reader, entries["litter"].first()?, entries["example"].first(), &pups)?;
    let dam = dam(entries["dam"].first());
    Some(LitterFile { litter, dam, pups, carers, milks, vets, orders })
}

fn dam(e: Option<&Entry>) -> Dam {
    let time = |name: &str| e.and_then(|e| e.time(name));
    let flag = |name: &str, when_left_out: bool| e.map_or(when_left_out, |e| e.flag(name, when_left_out));
    Dam {
        name: e.and_then(|e| e.text("name")),
        weight: e.and_then(|e| e.number("weight_kg")).map(|kg| Grams::of(kg * 1000.0)),
        with_pups: flag("with_pups", true),
        milk: match e.and_then(|e| e.text("milk")).as_deref() {
            Some("good") => DamMilk::Good,
            Some("little") => DamMilk::Little,
            Some("none") => DamMilk::None,
            _ => DamMilk::Unknown,
        },
        working_teats: e.and_then(|e| e.count("working_teats")),
        ovulated_at: time("ovulated_at"),
        lh_surge_at: time("lh_surge_at"),
        mated_at: time("mated_at"),
        is_mated_once: flag("mated_once", false),
    }
}

fn litter(reader: &mut Reader<'_, '_>, e: &Entry, example: Option<&Entry>, pups: &[Pup]) -> Option<Litter> {
    let breed = e.text("breed");
    let expected_adult_weight = e.number("expected_adult_weight_kg").map(|kg| Grams::of(kg * 1000.0));
    if breed.is_none() && expected_adult_weight.is_none() && !e.values.contains_key("breed") {
        reader.report(
            &e.at,
            "litter.breed",
            "nothing".into(),
            "breed or expected_adult_weight_kg (the dam's weight will do)".into(),
        );
    }
    let whelped_at = e.time("whelped_at");
    if whelped_at.is_none() && !pups.is_empty() {
        reader.report(&e.at, "litter.whelped_at", "nothing, although there are pups".into(), Shape::Time.allowed());
    }
    let zone = match e.values.get("time_zone") {
        Some((Value::Zone(zone), _)) => zone.clone(),
        _ => return None,
    };
    Some(Litter {
        name: e.text("name")?,
        breed,
        expected_adult_weight,
        whelped_at,
        zone,
        scale_step: Grams::of(e.number("scale_step_g")?),
        expected_pups: e.count("expected_pups"),
        most_rounds_per_day: e.count("most_rounds_per_day"),
        rounds: RoundHabits {
            set_up_minutes: e.number("set_up_minutes"),
            clean_up_minutes: e.number("clean_up_minutes"),
            wake_up_minutes: e.number("wake_up_minutes"),
            bottle_rounds_for_tube_pups: e.count("bottle_rounds_for_tube_pups"),
        },
        upbringing: UpbringingChoice {
            worming: e.text("worming_guideline").as_deref().and_then(WormingGuideline::from_word),
            vaccination: e.text("vaccination_guideline").as_deref().and_then(VaccinationGuideline::from_word),
            home_law: e.text("home_law").as_deref().and_then(HomeLaw::from_word),
        },
        energy: EnergyChoice {
            table: if e.text("energy_table").as_deref() == Some("weeks") {
                EnergyTable::Weeks
            } else {
                EnergyTable::Steps
            },
            from_day_seven: e.number("energy_kcal_per_100g").map(KcalPer100g::of),
        },
        weight_unit: e.text("weight_unit").as_deref().and_then(WeightUnit::from_word).unwrap_or(WeightUnit::Gram),
        example: example.and_then(|x| Some(Example { at: x.time("at")?, note: x.text("note")? })),
    })
}

fn pup(reader: &mut Reader<'_, '_>, e: &Entry) -> Option<Pup> {
    let birth_weight = reader.pup_weight(e);
    let born_at = e.time("born_at");
    let left = match (e.time("left_at"), e.text("left_why").as_deref()) {
        (Some(at), Some(why)) => Some(Left {
            at,
            why: match why {
                "stillborn" => LeftWhy::Stillborn,
                "died" => LeftWhy::Died,
                "put_to_sleep" => LeftWhy::PutToSleep,
                "fostered_out" => LeftWhy::FosteredOut,
                _ => LeftWhy::GoneHome,
            },
        }),
        (None, None) => None,
        _ => {
            if e.values.contains_key("left_at") != e.values.contains_key("left_why") {
                reader.report(&e.at, "pup.left_at", "one of left_at and left_why".into(), "both, or neither".into());
            }
            None
        }
    };
    for later in ["left_at", "joined_at", "hand_fed_since"] {
        if let (Some(born), Some(time)) = (born_at, e.time(later))
            && time < born
        {
            reader.report(
                &e.place(later),
                &format!("pup.{later}"),
                quoted(&time.to_string()),
                "a time not before born_at".into(),
            );
        }
    }
    Some(Pup {
        id: PupId(e.text("id")?),
        sex: match e.text("sex")?.as_str() {
            "female" => Sex::Female,
            "male" => Sex::Male,
            _ => Sex::Unknown,
        },
        marks: e.text("marks")?,
        born_at: born_at?,
        birth_weight,
        premature: e.flag("premature", false),
        rearing: match e.text("rearing").as_deref() {
            Some("topped_up") => Rearing::ToppedUp,
            Some("hand_fed") => Rearing::HandFed,
            _ => Rearing::Nursing,
        },
        hand_fed_since: e.time("hand_fed_since"),
        wants_tube: e.flag("wants_tube", false),
        joined_at: e.time("joined_at"),
        left,
    })
}

fn milk(reader: &mut Reader<'_, '_>, e: &Entry) -> Option<Milk> {
    let recipe = recipe(reader, e);
    let analysis = ["protein_percent", "fat_percent", "ash_percent", "moisture_percent"];
    let given: Vec<f64> = analysis.iter().filter_map(|k| e.number(k)).collect();
    let fibre = e.number("fibre_percent").unwrap_or(0.0);
    let solids = match given[..] {
        [protein, fat, ash, moisture] => {
            let sum = protein + fat + ash + moisture + fibre;
            if sum > 100.0 {
                reader.report(
                    &e.place("protein_percent"),
                    "milk.protein_percent",
                    format!("an analysis that sums to {sum} %"),
                    "at most 100 % together".into(),
                );
            }
            Some(LabelSolids { protein, fat, fibre, ash, moisture })
        }
        [] => None,
        _ => {
            reader.report(
                &e.at,
                "milk.protein_percent",
                "a part of the analysis".into(),
                format!("all of {}", analysis.join(", ")),
            );
            None
        }
    };
    let more = more(reader, e, solids);
    let contains = match e.values.get("contains") {
        Some((Value::List(list), _)) => list
            .iter()
            .filter_map(|w| {
                [Word::RawEgg, Word::RawMilk, Word::Honey, Word::CookedEgg].into_iter().find(|x| x.text() == w)
            })
            .collect(),
        _ => Vec::new(),
    };
    Some(Milk {
        id: e.text("id")?,
        kind: match e.text("kind")?.as_str() {
            "puppy_powder" => MilkKind::PuppyPowder,
            "puppy_ready" => MilkKind::PuppyReady,
            "goat" => MilkKind::Goat,
            "goat_powder" => MilkKind::GoatPowder,
            "cow" => MilkKind::Cow,
            "bitch" => MilkKind::Bitch,
            "home_blend" => MilkKind::HomeBlend,
            _ => MilkKind::Other,
        },
        in_use: e.flag("in_use", false),
        label_strength: e.number("kcal_per_ml").map(KcalPerMl::of),
        recipe,
        solids,
        more,
        water_temperature: e.number("water_temperature_c").map(Celsius::of),
        keeps: e.number("keeps_hours").map(Hours::of),
        contains,
        price_per_kg: e.number("price_per_kg"),
    })
}

/// Lactose, calcium and phosphorus, as far as the rest of the analysis leaves room for them.
fn more(reader: &mut Reader<'_, '_>, e: &Entry, solids: Option<LabelSolids>) -> LabelMore {
    let [lactose, calcium, phosphorus] =
        ["lactose_percent", "calcium_percent", "phosphorus_percent"].map(|key| e.number(key));
    let more = LabelMore { lactose, calcium, phosphorus };
    let Some(s) = solids else {
        if more != LabelMore::default() {
            reader.report(
                &e.at,
                "milk.protein_percent",
                "lactose, calcium or phosphorus without the rest of the analysis".into(),
                "protein_percent, fat_percent, ash_percent and moisture_percent beside them".into(),
            );
        }
        return more;
    };
    let carbohydrate = 100.0 - s.protein - s.fat - s.fibre - s.ash - s.moisture;
    // Labels round: half a percent is no contradiction.
    if lactose.is_some_and(|l| l > carbohydrate + 0.5) {
        reader.report(
            &e.place("lactose_percent"),
            "milk.lactose_percent",
            "more lactose than the other parts leave room for".into(),
            format!("at most {} %", crate::units::number(carbohydrate.max(0.0), 1, false)),
        );
    }
    if calcium.unwrap_or(0.0) + phosphorus.unwrap_or(0.0) > s.ash + 0.5 {
        reader.report(
            &e.place(if calcium.is_some() { "calcium_percent" } else { "phosphorus_percent" }),
            "milk.calcium_percent",
            format!("more calcium and phosphorus than ash ({} %)", s.ash),
            "percent by weight: 1200 mg in 100 g are 1.2".into(),
        );
    }
    more
}

/// The label's ratio, by weight of powder or by scoops.
fn recipe(reader: &mut Reader<'_, '_>, e: &Entry) -> Option<PowderRecipe> {
    let scoop_ml = e.number("scoop_ml");
    let scoop = e.number("scoop_g").or_else(|| Some(scoop_ml? * e.number("powder_g_per_ml")?)).map(Grams::of);
    if scoop_ml.is_some() && scoop.is_none() {
        reader.report(
            &e.place("scoop_ml"), "milk.scoop_ml", "a scoop by volume alone".into(),
            "scoop_g (weigh one level scoop; powders weigh 0.3 to 0.7 g per mL, so volume alone is a fifth wrong) or powder_g_per_ml".into(),
        );
    }
    match (e.number("powder_g"), e.number("water_ml"), e.number("water_scoops")) {
        (Some(powder), Some(water), None) => {
            Some(PowderRecipe { powder: Grams::of(powder), water: Millilitres::of(water), scoop })
        }
        (None, None, Some(scoops)) => {
            let (Some(ml), Some(powder)) = (scoop_ml, scoop) else {
                if scoop_ml.is_none() {
                    reader.report(
                        &e.place("water_scoops"),
                        "milk.water_scoops",
                        "scoops of unknown volume".into(),
                        "scoop_ml beside it, and scoop_g".into(),
                    );
                }
                return None;
            };
            Some(PowderRecipe { powder, water: Millilitres::of(scoops * ml), scoop })
        }
        (None, None, None) => None,
        (powder, water, None) => {
            if powder.is_some() != water.is_some()
                && e.values.contains_key("powder_g") != e.values.contains_key("water_ml")
            {
                reader.report(
                    &e.at,
                    "milk.powder_g",
                    "one of powder_g and water_ml".into(),
                    "both, as on the label, or neither".into(),
                );
            }
            None
        }
        (_, _, Some(_)) => {
            reader.report(
                &e.place("water_scoops"),
                "milk.water_scoops",
                "a ratio by volume beside one by weight".into(),
                "powder_g and water_ml, or water_scoops: does the label count by weight or by volume?".into(),
            );
            None
        }
    }
}

fn order(reader: &mut Reader<'_, '_>, e: &Entry, pups: &[Pup]) -> Option<VetOrder> {
    let pup = PupId(e.text("pup")?);
    if !pups.iter().any(|p| p.id == pup) {
        reader.report(&e.place("pup"), "vet_order.pup", quoted(&pup.0), "the id of a [[pup]]".into());
    }
    Some(VetOrder {
        pup,
        given_at: e.time("given_at")?,
        vet: e.text("vet")?,
        until: e.time("until"),
        per_feed: e.number("ml_per_feed").map(Millilitres::of),
        hours_between_feeds: e.number("hours_between_feeds").map(Hours::of),
        energy: e.number("kcal_per_100g").map(KcalPer100g::of),
        note: e.text("note"),
    })
}

fn unique(reader: &mut Reader<'_, '_>, entries: &[Entry], section: &str, name: &str) {
    for (i, entry) in entries.iter().enumerate() {
        let Some(value) = entry.text(name) else { continue };
        if entries[..i].iter().any(|e| e.text(name).as_ref() == Some(&value)) {
            reader.report(
                &entry.place(name),
                &format!("{section}.{name}"),
                quoted(&value),
                "a name that no other has".into(),
            );
        }
    }
}

fn nearest<'k>(name: &str, known: &[&'k str]) -> Option<&'k str> {
    known.iter().map(|k| (distance(name, k), *k)).filter(|(d, k)| *d <= k.len() / 3 + 1).min().map(|(_, k)| k)
}

/// Levenshtein distance, two rows at a time.
fn distance(a: &str, b: &str) -> usize {
    let b: Vec<char> = b.chars().collect();
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, ca) in a.chars().enumerate() {
        let mut next = vec![i + 1];
        for (j, cb) in b.iter().enumerate() {
            next.push((row[j] + usize::from(ca != *cb)).min(row[j + 1] + 1).min(next[j] + 1));
        }
        row = next;
    }
    row[b.len()]
}

fn floor_boundary(text: &str, index: usize) -> usize {
    let mut index = index.min(text.len());
    while !text.is_char_boundary(index) {
        index -= 1;
    }
    index
}
