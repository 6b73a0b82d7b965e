//! Milks beside bitch's milk.

use jiff::Timestamp;
use schemars::JsonSchema;
use serde::Serialize;

use super::{Cite, PartsLine, said};
use crate::assess::assess;
use crate::milk::blend::NOT_COVERED;
use crate::milk::compare::{for_pup, of_parts, warnings};
use crate::milk::foods::{Food, Kind, Nutrients};
use crate::milk::profile::{self, bitch};
use crate::milk::stages::BY_DAY;
use crate::milk::{self, LABEL_ENERGY_OFF, MilkNote};
use crate::record::{EnergyChoice, EnergyTable, Facts, Milk, MilkKind, PupId};
use crate::references::{self as source, Mark};
use crate::report::build::cite;
use crate::report::{SCHEMA_VERSION, Said};
use crate::units::{Grams, KcalPerMl, number};

/// A recipe of the household, to be looked at.
#[derive(Debug, Clone)]
pub struct Own {
    pub name: String,
    pub parts: Vec<(Grams, Food)>,
    /// What the page that it comes from says of its strength.
    pub stated: Option<KcalPerMl>,
}

/// What is compared, for which pup.
#[derive(Debug, Clone)]
pub struct CompareRequest {
    pub milks: Vec<Milk>,
    pub foods: Vec<Food>,
    pub recipes: Vec<Own>,
    pub pup: Option<PupId>,
    pub weight: Grams,
    pub age_h: f64,
    pub energy: Option<EnergyChoice>,
}

/// Milks beside bitch's milk.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CompareReport {
    pub schema_version: u32,
    pub energy_convention: Cite,
    /// Null when no pup of a folder was meant.
    pub pup: Option<String>,
    pub pup_weight_g: f64,
    pub pup_age_days: f64,
    pub natural_lactose_g_per_kg_day: f64,
    /// Bitch's milk by day of lactation, as published; days in between are not filled in.
    pub bitch_by_day: Vec<ByDayLine>,
    /// Bitch's milk first, then milk replacers for puppies, then others, then home blends.
    pub milks: Vec<MilkLine>,
}

/// A published figure of bitch's milk, in a litre.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ByDayLine {
    pub days: String,
    pub what: String,
    pub unit_per_litre: String,
    pub low: f64,
    pub high: f64,
    pub source: Cite,
}

/// The lightest pup that is here, by readings that are not in doubt: its name, weight, age in hours.
#[must_use]
pub fn lightest(facts: &Facts, now: Timestamp) -> Option<(PupId, Grams, f64)> {
    let assessment = assess(&facts.known_at(now), now);
    let pups = assessment.pups.iter().filter_map(|p| Some((p.pup.id.clone(), p.latest()?.weight, p.age.get())));
    pups.min_by(|a, b| a.1.get().total_cmp(&b.1.get()))
}

/// A pup to compare for where none was weighed yet: 300 g at seven days; its weight, age in hours.
pub const EXAMPLE_PUP: (Grams, f64) = (Grams::of(300.0), 7.0 * 24.0);

/// One milk.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MilkLine {
    pub name: String,
    pub strength_kcal_per_ml: Option<f64>,
    pub density_g_per_ml: Option<f64>,
    pub per_100g: Option<PartsLine>,
    pub per_100ml: Option<PartsLine>,
    pub per_100kcal: Option<PartsLine>,
    pub calcium_to_phosphorus: Option<f64>,
    pub day_kcal: Option<f64>,
    pub day_ml: Option<f64>,
    pub largest_feed_ml: Option<f64>,
    /// Within the stomach limit of this pup.
    pub fewest_feeds_per_day: Option<u32>,
    pub lactose_g_per_kg_day: Option<f64>,
    pub warnings: Vec<Said>,
    /// Figures that were not read in a table, with their status.
    pub not_published: Vec<String>,
    /// What such figures are; null when there are none.
    pub not_published_source: Option<Cite>,
    pub source: String,
}

/// Milks beside bitch's milk.
#[must_use]
pub fn compare(request: &CompareRequest) -> CompareReport {
    let mut milks = vec![(0, of_nutrients("bitch's milk", &bitch(), request, &source::BITCH_MILK.cite()))];
    milks.extend(request.milks.iter().map(|m| (rank(m.kind), of_milk(m, request))));
    milks.extend(request.foods.iter().map(|f| (2, of_food(f, request))));
    milks.extend(request.recipes.iter().filter_map(|r| Some((3, of_recipe(r, request)?))));
    // The sort is stable: within a rank the order is that of the request.
    milks.sort_by_key(|(rank, _)| *rank);
    CompareReport {
        schema_version: SCHEMA_VERSION,
        energy_convention: cite(&source::ENERGY_CONVENTION),
        pup: request.pup.as_ref().map(|p| p.0.clone()),
        pup_weight_g: request.weight.get(),
        pup_age_days: request.age_h / 24.0,
        natural_lactose_g_per_kg_day: milk::compare::NATURAL_LACTOSE.value,
        bitch_by_day: BY_DAY
            .iter()
            .map(|r| ByDayLine {
                days: r.days.into(),
                what: r.what.into(),
                unit_per_litre: r.unit.into(),
                low: r.low,
                high: r.high,
                source: cite(r.source),
            })
            .collect(),
        milks: milks.into_iter().map(|(_, line)| line).collect(),
    }
}

/// No home blend stands above a complete replacer.
fn rank(kind: MilkKind) -> u8 {
    match kind {
        MilkKind::Bitch => 0,
        MilkKind::PuppyPowder | MilkKind::PuppyReady => 1,
        MilkKind::HomeBlend => 3,
        _ => 2,
    }
}

fn of_nutrients(name: &str, n: &Nutrients, request: &CompareRequest, source: &str) -> MilkLine {
    let strength = KcalPerMl::of(n.composition.kcal_per_ml());
    let mut line = of_strength(name, Some(strength), Some(n.in_100ml().lactose_g), request);
    line.density_g_per_ml = Some(n.composition.density());
    line.per_100g = Some(n.in_100g().into());
    line.per_100ml = Some(n.in_100ml().into());
    line.per_100kcal = n.in_100kcal().map(Into::into);
    line.calcium_to_phosphorus = n.calcium_to_phosphorus();
    line.warnings = warnings(n, true).iter().map(said).collect();
    source.clone_into(&mut line.source);
    line
}

fn of_strength(name: &str, strength: Option<KcalPerMl>, lactose: Option<f64>, request: &CompareRequest) -> MilkLine {
    let energy = request.energy.unwrap_or(EnergyChoice { table: EnergyTable::Steps, from_day_seven: None });
    let pup = strength.filter(|s| s.get() > 0.0).map(|s| for_pup(s, lactose, request.weight, request.age_h, energy));
    MilkLine {
        name: name.into(),
        strength_kcal_per_ml: strength.map(KcalPerMl::get),
        density_g_per_ml: None,
        per_100g: None,
        per_100ml: None,
        per_100kcal: None,
        calcium_to_phosphorus: None,
        day_kcal: pup.map(|p| p.day.get()),
        day_ml: pup.map(|p| p.volume.get()),
        largest_feed_ml: pup.map(|p| p.stomach.get()),
        fewest_feeds_per_day: pup.map(|p| p.fewest_feeds),
        lactose_g_per_kg_day: pup.and_then(|p| p.lactose_g_per_kg),
        warnings: Vec::new(),
        not_published: Vec::new(),
        not_published_source: None,
        source: String::new(),
    }
}

fn of_milk(milk: &Milk, request: &CompareRequest) -> MilkLine {
    let strength = milk::strength(milk);
    let nutrients = Nutrients::of_milk(milk);
    let mut line = match (&nutrients, strength) {
        // The label's own strength counts, as in every plan.
        (Some(n), Some(s)) => {
            let mut line = of_nutrients(&milk.id, n, request, s.basis);
            let fed = of_strength(&milk.id, Some(s.kcal_per_ml), Some(n.in_100ml().lactose_g), request);
            line.strength_kcal_per_ml = fed.strength_kcal_per_ml;
            line.day_ml = fed.day_ml;
            line.fewest_feeds_per_day = fed.fewest_feeds_per_day;
            line.lactose_g_per_kg_day = fed.lactose_g_per_kg_day;
            // Of its strength the notes below speak, by the label.
            let is_lactose_known = milk.solids.is_none() || milk.more.lactose.is_some();
            line.warnings = of_parts(n, is_lactose_known).iter().map(said).collect();
            if !is_lactose_known {
                line.not_published.push("lactose: all carbohydrate counted, the label does not say".into());
            }
            line
        }
        (Some(n), None) => of_nutrients(&milk.id, n, request, "analysis and ratio of the label"),
        (None, Some(s)) => {
            MilkLine { source: s.basis.into(), ..of_strength(&milk.id, Some(s.kcal_per_ml), None, request) }
        }
        (None, None) => MilkLine {
            warnings: vec![said(&MilkNote {
                says: "Its strength is not known: add kcal_per_ml, or the label's analysis and ratio.".into(),
                source: &source::ENERGY_CONVENTION,
            })],
            ..of_strength(&milk.id, None, None, request)
        },
    };
    line.warnings.extend(milk::notes(milk, strength).iter().chain(milk::refused(milk).as_ref()).map(said));
    line
}

fn of_food(food: &Food, request: &CompareRequest) -> MilkLine {
    let mut line = of_nutrients(&food.name, &food.per_100g, request, &food.table);
    // In the public table's milks carbohydrate is lactose; on the household's label it is the most.
    if food.kind == Kind::Label && food.mark("lactose") != Mark::Read {
        line.warnings = warnings(&food.per_100g, false).iter().map(said).collect();
    }
    line.not_published = food.not_published().map(|(figure, mark)| format!("{figure}: {}", mark.word())).collect();
    line.not_published_source = food.not_published().next().map(|_| cite(&source::FOOD_MEMORY));
    let mut say = |says: String, source| line.warnings.insert(0, said(&MilkNote { says, source }));
    match food.kind {
        Kind::RawEgg | Kind::RawMilk | Kind::Honey => {
            say(format!("Not for a pup: {}.", food.kind.left_out().unwrap_or_default()), &source::STOP_GAP);
        }
        Kind::Milk | Kind::Label | Kind::Water | Kind::Mineral => {}
        Kind::Powder => say("A dry powder: these are figures of the powder, not of a mix.".into(), &source::FOOD_TABLE),
        Kind::Curd | Kind::Egg | Kind::Fat | Kind::Sugar => {
            say("No milk: only a part of a blend.".into(), &source::STOP_GAP);
        }
    }
    if food.id == "goat_milk" {
        say(
            "Goat's milk is about as thin and as sugary as cow's milk; the number of feeds that it takes stands above."
                .into(),
            &source::GOAT_MILK,
        );
    }
    line
}

fn of_recipe(own: &Own, request: &CompareRequest) -> Option<MilkLine> {
    let parts: Vec<_> = own.parts.iter().map(|(g, f)| (*g, f)).collect();
    let made = profile::recipe(&parts)?;
    let mut line = of_nutrients(&own.name, &made.nutrients, request, "worked out from its parts");
    let per_ml = made.kcal / made.volume_ml;
    line.warnings.insert(0, said(&MilkNote { says: milk::blend::HEADING.into(), source: &source::STOP_GAP }));
    line.warnings.push(said(&MilkNote { says: NOT_COVERED.into(), source: &source::NOT_COVERED }));
    if let Some(stated) = own.stated
        && (stated.get() - per_ml).abs() / stated.get() > LABEL_ENERGY_OFF.value
    {
        let says = format!(
            "It is stated as {stated}, its parts give {}: {} % {}.",
            KcalPerMl::of(per_ml),
            number(100.0 * (per_ml / stated.get() - 1.0).abs(), 0, false),
            if per_ml > stated.get() { "more" } else { "less" }
        );
        line.warnings.push(said(&MilkNote { says, source: &source::LABEL_ENERGY }));
    }
    for (_, food) in &own.parts {
        if let Some(what) = food.kind.left_out() {
            line.warnings
                .push(said(&MilkNote { says: format!("It holds {what}: not for a pup."), source: &source::STOP_GAP }));
        }
    }
    Some(line)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::{FolderFiles, parse};

    #[test]
    fn no_home_blend_stands_above_a_replacer() {
        let litter = r#"
format = 1
[litter]
name = "Example"
expected_adult_weight_kg = 12
time_zone = "UTC"
scale_step_g = 1
[[milk]]
id = "blend"
kind = "home_blend"
kcal_per_ml = 1.3
[[milk]]
id = "powder"
kind = "puppy_powder"
kcal_per_ml = 1.0
powder_g = 10
water_ml = 20
protein_percent = 30
fat_percent = 26
fibre_percent = 0.1
ash_percent = 6.5
moisture_percent = 4
"#;
        let facts = parse(&FolderFiles { litter_toml: Some(litter.into()), ..FolderFiles::default() }).unwrap();
        let report = compare(&CompareRequest {
            milks: facts.milks,
            foods: vec![milk::foods::by_id("goat_milk").unwrap().clone()],
            recipes: Vec::new(),
            pup: None,
            weight: Grams::of(400.0),
            age_h: 240.0,
            energy: None,
        });
        let names: Vec<&str> = report.milks.iter().map(|m| m.name.as_str()).collect();
        assert_eq!(names, ["bitch's milk", "powder", "Goat's milk", "blend"]);
        // Label X by weight is 1.77 kcal per mL (handbook check 9), its label here says 1.0.
        assert!(
            report.milks[1].warnings.iter().any(|w| w.text.contains("by weight or by volume")),
            "{:?}",
            report.milks[1].warnings
        );
        assert!(report.milks[3].warnings.iter().any(|w| w.text.contains("stop-gap")));
    }
}
