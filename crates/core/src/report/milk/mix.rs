//! A batch for this round or the next hours, with its label, its heat and its cost.

use jiff::Timestamp;
use schemars::JsonSchema;
use serde::Serialize;

use super::said;
use crate::assess::may_be_thinned;
use crate::guide::CheckedInstruction;
use crate::limits;
use crate::milk;
use crate::mix::heat::{self, BATH_PER_MINUTE};
use crate::mix::portion::{self, Measure, Portion};
use crate::mix::until_weaned::until_weaned;
use crate::mix::{self, COLD, DEAD_VOLUME, HOT, thin};
use crate::record::{Facts, Milk, MilkKind, PowderRecipe, PupId, hours_after};
use crate::references::{self as source, Sourced};
use crate::report::build::{Line, cite};
use crate::report::clock::{clock, date_and_clock, iso};
use crate::report::{Cite, SCHEMA_VERSION, Said};
use crate::units::{Celsius, Grams, Hours, KcalPerMl, Millilitres};

/// What is asked for.
#[derive(Debug, Clone, Default)]
pub struct MixRequest {
    /// All rounds of this time from now; the next round alone when left out.
    pub hours: Option<f64>,
    /// A volume of one's own instead of the planned rounds.
    pub volume: Option<Millilitres>,
    pub scale_step: Option<Grams>,
    /// Measure by level scoops instead of by scale.
    pub by_scoop: bool,
    pub hot: Option<Celsius>,
    pub cold: Option<Celsius>,
    /// Temperature of a water bath, for milk from the refrigerator.
    pub bath: Option<Celsius>,
    /// Powder and water as they were put together, to be checked.
    pub made: Option<(Grams, Millilitres)>,
    /// Thin the milk of this pup after loose stool.
    pub thin_for: Option<PupId>,
}

/// A batch.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MixReport {
    pub schema_version: u32,
    pub litter: String,
    pub at: String,
    pub milk: String,
    pub for_rounds_at: Vec<String>,
    pub fed_ml: f64,
    pub stays_in_the_kit_ml: f64,
    pub wanted_ml: f64,
    pub volume_ml: f64,
    pub powder: Option<MixPowder>,
    /// Really obtained with these amounts.
    pub strength_kcal_per_ml: f64,
    pub label_strength_kcal_per_ml: f64,
    pub must_cool: bool,
    pub feed_at_c: [f64; 2],
    /// For the bottle: what, mixed at, discard by.
    pub label: Vec<String>,
    pub throw_away_at: String,
    pub bath: Option<BathLine>,
    pub thinning: Option<ThinLine>,
    pub cost: Option<CostLine>,
    /// Set when a mix was given to be checked: off the label's ratio, percent.
    pub made_off_percent: Option<f64>,
    pub notes: Vec<Said>,
    pub sources: Vec<Cite>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct MixPowder {
    pub powder_g: f64,
    pub scoops: Option<f64>,
    pub water_ml: f64,
    /// Temperature of the water for the mix to come out right.
    pub water_c: f64,
    pub hot_water_ml: Option<f64>,
    pub cold_water_ml: Option<f64>,
    pub hot_water_c: f64,
    pub cold_water_c: f64,
    pub thinner_than_label_percent: f64,
    /// The smallest batch that can be measured well; a part is used.
    pub is_more_than_wanted: bool,
    pub label_powder_g: f64,
    pub label_water_ml: f64,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct BathLine {
    pub from_c: f64,
    pub bath_c: f64,
    pub to_c: f64,
    /// Order of magnitude only; null when such a bath never warms the milk enough.
    pub minutes: Option<f64>,
    pub source: Cite,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct ThinLine {
    pub pup: String,
    /// Share of added water in what is fed.
    pub water_share: f64,
    pub strength_kcal_per_ml: f64,
    pub lost_percent: f64,
    pub until: String,
    pub then: String,
    pub sources: Vec<Cite>,
}

#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct CostLine {
    pub price_per_kg: f64,
    pub pups: Vec<(String, f64)>,
    pub litter_per_day: f64,
    pub until_weaned: Option<UntilWeanedLine>,
}

/// An estimate to the last day on which milk is planned, for slow, usual and fast growth.
#[derive(Debug, Clone, Serialize, JsonSchema)]
pub struct UntilWeanedLine {
    pub to_day: f64,
    /// Pups that are fed by us and counted.
    pub pups: usize,
    pub cost: [f64; 3],
    /// To buy, as it is sold.
    pub kg: [f64; 3],
    pub assumes: String,
    pub source: Cite,
}

/// The batch.
///
/// # Errors
/// A sentence: what is missing, refused or off the label.
pub fn mix(facts: &Facts, now: Timestamp, request: &MixRequest) -> Result<MixReport, String> {
    let line = Line::run(facts, now);
    let facts = &facts.known_at(now);
    let zone = &facts.litter.zone;
    let in_use = line.milk.as_ref().map_err(Clone::clone)?;
    let milk = facts.milk_in_use().ok_or("no milk is marked in_use in litter.toml")?;
    let made_off_percent = made(milk, request.made)?;
    let keeps = mix::keeps_refrigerated(milk);
    let rounds = rounds(&line, now, request, keeps)?;
    #[expect(clippy::cast_precision_loss, reason = "a litter's feeds")]
    let feeds = rounds.iter().map(|(_, amounts)| amounts.len()).sum::<usize>() as f64;
    let fed: Millilitres = rounds.iter().flat_map(|(_, amounts)| amounts.iter().copied()).sum();
    let dead = DEAD_VOLUME.value * feeds;
    let wanted = request.volume.unwrap_or(Millilitres::of((fed + dead).get().ceil()));
    let portion = portion_of(milk, wanted, request, facts)?;
    let volume = portion.map_or(wanted, |(p, _)| p.volume);
    let strength = portion.and_then(|(p, _)| p.strength).unwrap_or(in_use.strength.kcal_per_ml);
    let mixing = milk.water_temperature.unwrap_or(limits::FEED_TEMPERATURE.value.1);
    let throw_away = hours_after(now, keeps.get());
    let (low, high) = limits::FEED_TEMPERATURE.value;
    Ok(MixReport {
        schema_version: SCHEMA_VERSION,
        litter: facts.litter.name.clone(),
        at: iso(now, zone),
        milk: milk.id.clone(),
        for_rounds_at: rounds.iter().map(|(at, _)| iso(*at, zone)).collect(),
        fed_ml: fed.get(),
        stays_in_the_kit_ml: dead.get(),
        wanted_ml: wanted.get(),
        volume_ml: volume.get(),
        powder: portion.map(|(p, label)| powder_line(milk, &p, label, mixing, request)),
        strength_kcal_per_ml: strength.get(),
        label_strength_kcal_per_ml: in_use.strength.kcal_per_ml.get(),
        must_cool: mixing > limits::MILK_TOO_HOT.value,
        feed_at_c: [low.get(), high.get()],
        label: vec![
            format!("{}, {strength}", milk.id),
            format!("mixed {}", date_and_clock(now, zone)),
            format!("refrigerated: discard by {}", date_and_clock(throw_away, zone)),
            "warmed once; what was warmed and left: discard after the round".into(),
        ],
        throw_away_at: iso(throw_away, zone),
        bath: Some(bath(request.bath.unwrap_or(BATH))),
        thinning: request.thin_for.as_ref().map(|pup| thinning(facts, &line, pup, strength, now)).transpose()?,
        cost: cost(facts, milk, in_use.strength.kcal_per_ml, &line),
        made_off_percent,
        notes: notes(in_use, request, mix::switched(facts, now).as_ref()),
        sources: [
            &source::DEAD_VOLUME,
            &source::FEED_TEMPERATURE,
            &source::LEFTOVERS,
            &source::DISCARD,
            &source::RATIO_ERROR,
        ]
        .into_iter()
        .map(cite)
        .collect(),
    })
}

/// A bath of this temperature is tried when none is named: the handbook's example.
const BATH: Celsius = Celsius::of(45.0);
/// Milk from the refrigerator.
const FRIDGE: Celsius = Celsius::of(5.0);
/// Powder as it stands in the kitchen.
const ROOM: Celsius = Celsius::of(20.0);

fn made(milk: &Milk, made: Option<(Grams, Millilitres)>) -> Result<Option<f64>, String> {
    let Some((powder, water)) = made else { return Ok(None) };
    let recipe = milk
        .recipe
        .ok_or_else(|| format!("the label's ratio of {} is not known: add powder_g and water_ml", milk.id))?;
    portion::check_ratio(recipe, powder, water).map(Some)
}

type Round = (Timestamp, Vec<Millilitres>);

fn rounds(line: &Line, now: Timestamp, request: &MixRequest, keeps: Hours) -> Result<Vec<Round>, String> {
    if request.volume.is_some() {
        return Ok(Vec::new());
    }
    if let Some(hours) = request.hours.filter(|h| *h > keeps.get()) {
        return Err(format!("{} is longer than this milk keeps once mixed ({keeps})", Hours::of(hours)));
    }
    let all = line.guide.rounds.iter().map(|r| (r.at, r.instructions().map(CheckedInstruction::amount).collect()));
    let fed = all.filter(|(_, amounts): &Round| !amounts.is_empty());
    let chosen: Vec<Round> = match request.hours {
        Some(hours) => fed.take_while(|(at, _)| *at < hours_after(now, hours)).collect(),
        None => fed.take(1).collect(),
    };
    if chosen.is_empty() {
        return Err(
            "no feed by hand is planned in this time: `whelpward today` says why; --ml mixes a volume of your own"
                .into(),
        );
    }
    Ok(chosen)
}

fn portion_of(
    milk: &Milk,
    wanted: Millilitres,
    request: &MixRequest,
    facts: &Facts,
) -> Result<Option<(Portion, PowderRecipe)>, String> {
    let Some(recipe) = milk.recipe.filter(|_| mix::is_mixed_with_water(milk.kind)) else {
        if matches!(milk.kind, MilkKind::PuppyPowder | MilkKind::GoatPowder) {
            return Err(format!(
                "the label's ratio of {} is not known: add powder_g and water_ml (by weight), or scoop_ml, scoop_g and water_scoops",
                milk.id
            ));
        }
        return Ok(None);
    };
    let measure = if request.by_scoop {
        Measure::Scoop(recipe.scoop.ok_or_else(|| {
            format!("the weight of a scoop of {} is not known: weigh one level scoop and add scoop_g", milk.id)
        })?)
    } else {
        Measure::Scale(request.scale_step.unwrap_or(facts.litter.scale_step))
    };
    Ok(Some((portion::portion(milk, recipe, wanted, measure), recipe)))
}

fn powder_line(milk: &Milk, p: &Portion, label: PowderRecipe, mixing: Celsius, request: &MixRequest) -> MixPowder {
    let (hot, cold) = (request.hot.unwrap_or(HOT), request.cold.unwrap_or(COLD));
    // The label's own water temperature wins; else the water makes up for the cold powder.
    let water_c = match (milk.water_temperature, milk.solids) {
        (Some(label), _) => label,
        (None, Some(solids)) => heat::water_for(mixing, p.powder, milk::powder_composition(solids), ROOM, p.water),
        (None, None) => mixing,
    };
    let hot_ml = mix::hot_share(water_c, hot, cold).map(|share| (p.water.get() * share).round());
    MixPowder {
        powder_g: p.powder.get(),
        scoops: p.scoops,
        water_ml: p.water.get(),
        water_c: water_c.get(),
        hot_water_ml: hot_ml,
        cold_water_ml: hot_ml.map(|h| p.water.get() - h),
        hot_water_c: hot.get(),
        cold_water_c: cold.get(),
        thinner_than_label_percent: p.thinner_percent,
        is_more_than_wanted: p.is_more_than_wanted,
        label_powder_g: label.powder.get(),
        label_water_ml: label.water.get(),
    }
}

fn bath(around: Celsius) -> BathLine {
    let to = limits::FEED_TEMPERATURE.value.1;
    BathLine {
        from_c: FRIDGE.get(),
        bath_c: around.get(),
        to_c: to.get(),
        minutes: heat::minutes(FRIDGE, to, around, BATH_PER_MINUTE.value),
        source: cite(BATH_PER_MINUTE.source),
    }
}

fn thinning(facts: &Facts, line: &Line, pup: &PupId, strength: KcalPerMl, now: Timestamp) -> Result<ThinLine, String> {
    let assessed = line
        .assessment
        .pups
        .iter()
        .find(|p| &p.pup.id == pup)
        .ok_or_else(|| format!("{pup} is not among the pups here"))?;
    let thinned = thin::of_pup(facts, pup, strength)
        .ok_or_else(|| format!("{pup}: its last stool on record is not loose; full strength"))?;
    may_be_thinned(facts, assessed).map_err(|why| format!("{pup}: {why}"))?;
    if now >= thinned.until {
        return Err(format!(
            "{pup}: stool has been loose for 24 h or more; back to full strength, and ring the vet today (loose since before {})",
            clock(thinned.until, &facts.litter.zone)
        ));
    }
    Ok(ThinLine {
        pup: pup.0.clone(),
        water_share: thinned.water_share,
        strength_kcal_per_ml: thinned.strength.get(),
        lost_percent: thinned.lost_percent,
        until: iso(thinned.until, &facts.litter.zone),
        then: "As the stool firms: less water at each feed, then full strength. The feed stays as large as planned and never \
               larger; the lost energy is not made up."
            .into(),
        sources: vec![cite(&source::STOOL_LOOSE), cite(&source::FULL_STRENGTH), cite(&source::STOOL_OURS)],
    })
}

/// Of what is planned by hand for a day, at the price of a kilogram as it is bought.
fn cost(facts: &Facts, milk: &Milk, strength: KcalPerMl, line: &Line) -> Option<CostLine> {
    let price_per_kg = milk.price_per_kg?;
    let grams_per_ml = match milk.recipe {
        Some(recipe) => recipe.powder.get() / milk::mixed_volume(recipe, milk.solids).get(),
        None => FLUID_DENSITY.value,
    };
    let pups: Vec<(String, f64)> = line
        .assessment
        .pups
        .iter()
        .zip(&line.needs)
        .filter_map(|(pup, need)| Some((pup.pup.id.0.clone(), need.as_ref().ok()?.by_hand_volume)))
        .map(|(pup, volume)| (pup, volume.get() * grams_per_ml / 1000.0 * price_per_kg))
        .collect();
    let ahead = until_weaned(facts, &line.assessment, &line.needs, strength).map(|ahead| {
        let kg = ahead.ml.map(|ml| ml * grams_per_ml / 1000.0);
        UntilWeanedLine {
            to_day: limits::PLANNED_UNTIL_H.value / 24.0,
            pups: ahead.pups,
            cost: kg.map(|kg| kg * price_per_kg),
            kg,
            assumes:
                "the energy table, today's weights and the published gains from slow to fast; pups with their dam \
                      are not counted, nothing else is eaten (weaning food makes it less), nothing is spilt (what is \
                      thrown away makes it more)"
                    .into(),
            source: cite(ahead.source),
        }
    });
    Some(CostLine { price_per_kg, litter_per_day: pups.iter().map(|(_, cost)| cost).sum(), pups, until_weaned: ahead })
}

/// g per mL of a fluid milk (cow's and goat's milk by cup weight, milk handbook section 4).
const FLUID_DENSITY: Sourced<f64> = Sourced::new(1.031, &source::FOOD_TABLE);

fn notes(in_use: &mix::InUse, request: &MixRequest, switched: Option<&milk::MilkNote>) -> Vec<Said> {
    let mut notes: Vec<Said> = in_use.notes.iter().chain(switched).map(said).collect();
    if request.by_scoop {
        notes.push(said(&milk::MilkNote {
            says: "A scale is surer than a scoop: level it, do not press it.".into(),
            source: &source::SCOOP_VARIES,
        }));
    }
    notes
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::{FolderFiles, parse};

    const LITTER: &str = r#"
format = 1
[litter]
name = "Example"
expected_adult_weight_kg = 25
whelped_at = 2026-11-01T06:00Z
time_zone = "UTC"
scale_step_g = 1
[dam]
with_pups = false
[[pup]]
id = "Ash"
sex = "male"
marks = "grey"
born_at = 2026-11-01T06:00Z
birth_weight = 400
unit = "g"
rearing = "hand_fed"
hand_fed_since = 2026-11-02T06:00Z
[[milk]]
id = "powder"
kind = "puppy_powder"
in_use = true
powder_g = 10
water_ml = 30
kcal_per_ml = 1.2
scoop_g = 7.5
price_per_kg = 40
"#;
    const NOW: &str = "2026-11-18T08:00Z";

    /// A pup of 17 days and 900 g, warm, sucking, moist and gaining, unless the rows say else.
    fn facts(weights: (u32, u32), checks: &str) -> Facts {
        let files = FolderFiles {
            litter_toml: Some(LITTER.into()),
            weighings_csv: Some(
                format!(
                    "pup,weighed_at,weight,unit\nAsh,2026-11-17T07:00Z,{},g\nAsh,2026-11-18T07:00Z,{},g\n",
                    weights.0, weights.1
                )
                .into(),
            ),
            checks_csv: Some(format!("pup,checked_at,kind,value\n{checks}").into()),
            ..FolderFiles::default()
        };
        parse(&files).unwrap()
    }

    fn well(stool: &str) -> String {
        let rows = ["rectal_temperature_c,37.0", "suck,strong", "gums,pink_moist", stool];
        rows.map(|row| format!("Ash,2026-11-18T07:30Z,{row}\n")).concat()
    }

    fn asked(facts: &Facts, request: &MixRequest) -> Result<MixReport, String> {
        mix(facts, NOW.parse().unwrap(), request)
    }

    #[test]
    fn hours_cover_all_their_rounds() {
        let facts = facts((870, 900), &well("stool,firm"));
        let one = asked(&facts, &MixRequest::default()).unwrap();
        let day = asked(&facts, &MixRequest { hours: Some(24.0), ..MixRequest::default() }).unwrap();
        assert_eq!(one.for_rounds_at.len(), 1);
        assert!(day.for_rounds_at.len() >= 4 && day.fed_ml > one.fed_ml);
        // The ceiling of 26 kcal per 100 g in any 24 h is 195 mL of 1.2 kcal per mL for 900 g; the stomach
        // holds 36 mL a feed.
        assert!(day.fed_ml <= 195.0 + 1e-6 && one.fed_ml <= 36.0, "{} {}", day.fed_ml, one.fed_ml);
        #[expect(clippy::cast_precision_loss, reason = "a few rounds")]
        let kit = day.for_rounds_at.len() as f64;
        assert_eq!(day.stays_in_the_kit_ml, kit, "one mL for each pup and round");
        assert!(day.volume_ml >= day.wanted_ml && day.strength_kcal_per_ml <= 1.2 + 1e-9);
        let too_long = asked(&facts, &MixRequest { hours: Some(25.0), ..MixRequest::default() });
        assert!(too_long.unwrap_err().contains("longer than this milk keeps"));
    }

    #[test]
    fn the_label_says_when_to_discard() {
        let report = asked(&facts((870, 900), &well("stool,firm")), &MixRequest::default()).unwrap();
        assert!(report.label.iter().any(|l| l.contains("mixed Wed 18 Nov 2026, 08:00")), "{:?}", report.label);
        assert!(report.label.iter().any(|l| l.contains("discard by Thu 19 Nov 2026, 08:00")));
    }

    #[test]
    fn cost_of_a_day_is_its_powder() {
        // By hand: 198 kcal at 1.2 kcal per mL is 165 mL; 10 g make 30 + 10 x 0.755 = 37.55 mL; so 43.94 g
        // at 40 a kilogram: 1.7577.
        let report = asked(&facts((870, 900), &well("stool,firm")), &MixRequest::default()).unwrap();
        assert!((report.cost.unwrap().litter_per_day - 1.7577).abs() < 5e-4);
    }

    #[test]
    fn milk_until_weaned_is_summed_by_day() {
        // By hand: a geometric sum. 900 g on day 17.0833 at 22 kcal per 100 g, 5 % a day to day 28, then 2 g a
        // day for each kg of 25 kg: 50 g. Days begin at ages 17.0833 to 34.0833; the last is 22 of 24 h long.
        let days_of_percent = 11;
        let end = 900.0 * 1.05_f64.powi(days_of_percent);
        let grams_days = 900.0 * (1.05_f64.powi(days_of_percent) - 1.0) / 0.05
            + (0..6).map(|d| end + 50.0 * f64::from(d)).sum::<f64>()
            + (end + 300.0) * 22.0 / 24.0;
        let kg = grams_days * 0.22 / 1.2 * (10.0 / 37.55) / 1000.0;
        let report = asked(&facts((870, 900), &well("stool,firm")), &MixRequest::default()).unwrap();
        let ahead = report.cost.unwrap().until_weaned.unwrap();
        assert!((ahead.kg[1] / kg - 1.0).abs() < 1e-3, "{:?} against {kg}", ahead.kg);
        assert!(ahead.kg[0] < ahead.kg[1] && ahead.kg[1] < ahead.kg[2]);
        assert!((ahead.cost[1] - 40.0 * ahead.kg[1]).abs() < 1e-9 && ahead.pups == 1 && ahead.to_day == 35.0);
    }

    #[test]
    fn water_and_bath_follow_the_closed_forms() {
        // Mixing of hot and cold water: hot share (38 - 15) / (70 - 15); Newton: ln((5 - 50) / (38 - 50)) / k.
        let facts = facts((870, 900), &well("stool,firm"));
        let at = |hot: f64, cold: f64, bath: f64| {
            let c = |t| Some(Celsius::of(t));
            asked(&facts, &MixRequest { hot: c(hot), cold: c(cold), bath: c(bath), ..MixRequest::default() }).unwrap()
        };
        let report = at(70.0, 15.0, 50.0);
        let p = report.powder.unwrap();
        assert_eq!(p.hot_water_ml, Some((p.water_ml * 23.0 / 55.0).round()));
        assert!((p.hot_water_ml.unwrap() + p.cold_water_ml.unwrap() - p.water_ml).abs() < 1e-9);
        assert!((report.bath.unwrap().minutes.unwrap() - (45.0_f64 / 12.0).ln() / 0.2173).abs() < 1e-9);
        // Neither water can give 38 °C, or the bath is too cold: said, not made up.
        assert_eq!(at(37.0, 15.0, 37.0).powder.unwrap().hot_water_ml, None);
        assert_eq!(at(37.0, 15.0, 37.0).bath.unwrap().minutes, None);
    }

    #[test]
    fn thinning_is_for_a_well_pup_only() {
        let thin = MixRequest { thin_for: Some(PupId("Ash".into())), ..MixRequest::default() };
        let line = asked(&facts((870, 900), &well("stool,loose_yellow")), &thin).unwrap().thinning.unwrap();
        assert!((line.strength_kcal_per_ml / (2.0 / 3.0) - 1.2).abs() < 0.02 && line.lost_percent > 33.0);
        assert!(line.until.starts_with("2026-11-19T07:30"), "at most 24 h from the first loose stool: {}", line.until);
        let green = asked(&facts((870, 900), &well("stool,loose_green")), &thin).unwrap().thinning.unwrap();
        assert_eq!(green.lost_percent, 50.0);
        let refused = |weights, checks: &str| asked(&facts(weights, checks), &thin).unwrap_err();
        assert!(refused((870, 900), &well("stool,firm")).contains("not loose"));
        assert!(refused((470, 490), &well("stool,loose_yellow")).contains("under 14 days or 500 g"));
        assert!(refused((900, 890), &well("stool,loose_yellow")).contains("check first"));
        assert!(refused((870, 900), "Ash,2026-11-18T07:30Z,stool,loose_yellow\n").contains("check first"));
        let longer = format!("Ash,2026-11-17T07:59Z,stool,loose_yellow\n{}", well("stool,loose_yellow"));
        assert!(refused((870, 900), &longer).contains("24 h or more"));
    }

    #[test]
    fn a_made_mix_off_the_label_is_refused() {
        let facts = facts((870, 900), &well("stool,firm"));
        let made = |powder: f64, water: f64| {
            let made = Some((Grams::of(powder), Millilitres::of(water)));
            asked(&facts, &MixRequest { made, ..MixRequest::default() })
        };
        assert!(made(20.0, 60.0).is_ok());
        assert!(made(30.0, 60.0).unwrap_err().contains("stronger than the label"));
        let scoops = asked(&facts, &MixRequest { by_scoop: true, ..MixRequest::default() }).unwrap().powder.unwrap();
        assert!((scoops.scoops.unwrap() * 2.0).fract() == 0.0);
    }
}
