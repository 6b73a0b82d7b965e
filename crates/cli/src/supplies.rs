//! `whelpward supplies`: what to have in the house before the birth, within 80 columns.

use std::path::PathBuf;

use clap::Args;
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use whelpward_core::record::PowderRecipe;
use whelpward_core::report::supplies::{
    BuyLine, DRAWS, DRAWS_ALLOWED, DueLine, QuantityLine, SEED, Shop, SuppliesReport, SuppliesRequest, supplies,
};
use whelpward_core::supplies::{Assumptions, Expected, FedMilk};
use whelpward_core::units::{Grams, KcalPerMl, Millilitres, number, parse_decimal};
use whelpward_core::whelping::{Counted, due_window};

use crate::book::{self, Failed};
use crate::folder;
use crate::today::Page;

#[derive(Args)]
pub struct Supplies {
    /// A litter folder; the litter of the book when left out, or none with --breed, --dam-kg or --adult-kg
    folder: Option<PathBuf>,
    /// Breed of the litter
    #[arg(long)]
    breed: Option<String>,
    /// Expected weight of the grown dog, kg
    #[arg(long)]
    adult_kg: Option<String>,
    /// Weight of the dam, kg
    #[arg(long)]
    dam_kg: Option<String>,
    /// Pups counted on an x-ray or scan
    #[arg(long, value_name = "PUPS", value_parser = clap::value_parser!(u32).range(1..=25))]
    counted: Option<u32>,
    /// Day of ovulation, as in 2026-09-20
    #[arg(long, value_name = "DATE")]
    ovulated: Option<Date>,
    /// Day of the LH surge
    #[arg(long, value_name = "DATE", conflicts_with = "ovulated")]
    lh_surge: Option<Date>,
    /// Day of the first mating
    #[arg(long, value_name = "DATE", conflicts_with_all = ["ovulated", "lh_surge"])]
    mated: Option<Date>,
    /// That was the only mating
    #[arg(long, requires = "mated")]
    mated_once: bool,
    /// What the label says of the milk as fed, kcal per mL
    #[arg(long)]
    kcal_per_ml: Option<String>,
    /// Powder of the label's ratio, g
    #[arg(long, requires = "water_ml")]
    powder_g: Option<String>,
    /// Water of the label's ratio, mL
    #[arg(long, requires = "powder_g")]
    water_ml: Option<String>,
    /// Size of a packet: g of powder, or mL of a milk that is bought as it is fed
    #[arg(long)]
    packet: Option<String>,
    /// Price of a packet, in your money
    #[arg(long, requires = "packet")]
    packet_price: Option<String>,
    /// Set an assumption, as in `top_up_percent=20`; --assumptions lists them
    #[arg(long, value_name = "KEY=NUMBER", value_delimiter = ',')]
    assume: Vec<String>,
    /// Show every assumption with its range and its source
    #[arg(long)]
    assumptions: bool,
    /// Draws of the simulation
    #[arg(long, default_value_t = DRAWS, value_parser = clap::value_parser!(u32).range(i64::from(DRAWS_ALLOWED.0)..=i64::from(DRAWS_ALLOWED.1)))]
    draws: u32,
    /// Seed of the simulation
    #[arg(long, default_value_t = SEED)]
    seed: u64,
    /// The same as JSON
    #[arg(long)]
    json: bool,
}

pub fn run(which: &book::Which, ask: &Supplies, clock: Timestamp) -> Result<String, Failed> {
    let report = supplies(&request(which, ask, clock)?);
    if ask.json { book::pretty(&report) } else { Ok(text(&report, ask.assumptions)) }
}

fn request(which: &book::Which, ask: &Supplies, clock: Timestamp) -> Result<SuppliesRequest, Failed> {
    let is_alone = ask.breed.is_some() || ask.adult_kg.is_some() || ask.dam_kg.is_some();
    let mut request = match &ask.folder {
        Some(folder) => SuppliesRequest::of(&folder::read(folder)?, &[], &[]),
        None if is_alone => SuppliesRequest::without_a_litter(Expected::unknown()),
        None => book::supplies(which, clock)?,
    };
    if change(&mut request.expected, ask)? {
        // Own litters of another kind of dog say nothing of the size of this one.
        if is_alone {
            request.own_sizes.clear();
        }
        request.assumptions = Assumptions::of(&request.expected, &request.own, &request.own_sizes);
    }
    for pair in &ask.assume {
        let (key, value) = pair
            .split_once('=')
            .ok_or_else(|| format!("--assume: found \"{pair}\"; allowed: key=number, as in top_up_percent=20"))?;
        request.assumptions.set(key.trim(), value.trim()).map_err(|e| format!("--assume {e}"))?;
    }
    request.due = due(ask).or(request.due);
    let packet = between("--packet", ask.packet.as_ref(), 1.0, 50_000.0)?;
    if packet.is_some() {
        let packet_price = between("--packet-price", ask.packet_price.as_ref(), 0.0, 100_000.0)?;
        request.shop = Shop { packet, packet_price, ..request.shop };
    }
    (request.draws, request.seed) = (ask.draws, ask.seed);
    Ok(request)
}

/// Puts in what was typed; whether the assumptions follow from it.
fn change(expected: &mut Expected, ask: &Supplies) -> Result<bool, String> {
    let kg = |name: &str, text: Option<&String>| {
        let grams = |kg: f64| Grams::new(kg * 1000.0).map_err(|e| format!("{name}: {e}"));
        between(name, text, 0.5, 120.0)?.map(grams).transpose()
    };
    let (adult, dam) = (kg("--adult-kg", ask.adult_kg.as_ref())?, kg("--dam-kg", ask.dam_kg.as_ref())?);
    let is_changed = adult.is_some() || dam.is_some() || ask.breed.is_some() || ask.counted.is_some();
    expected.adult = adult.or(expected.adult);
    expected.dam = dam.or(expected.dam);
    expected.breed = ask.breed.clone().or(expected.breed.take());
    expected.counted = ask.counted.or(expected.counted);
    let strength = between("--kcal-per-ml", ask.kcal_per_ml.as_ref(), 0.2, 3.0)?;
    let strength = strength.map(KcalPerMl::new).transpose().map_err(|e| e.to_string())?;
    let powder = between("--powder-g", ask.powder_g.as_ref(), 1.0, 1000.0)?;
    let water = between("--water-ml", ask.water_ml.as_ref(), 1.0, 5000.0)?;
    let recipe = match (powder, water) {
        (Some(powder), Some(water)) => Some(PowderRecipe {
            powder: Grams::new(powder).map_err(|e| e.to_string())?,
            water: Millilitres::new(water).map_err(|e| e.to_string())?,
            scoop: None,
        }),
        _ => None,
    };
    if strength.is_some() || recipe.is_some() {
        expected.milk =
            FedMilk { name: Some("the label that was typed".into()), ..FedMilk::of_label(strength, recipe) };
    }
    Ok(is_changed)
}

fn between(name: &str, text: Option<&String>, min: f64, max: f64) -> Result<Option<f64>, String> {
    let Some(text) = text else { return Ok(None) };
    let allowed = || format!("{name}: found \"{text}\"; allowed: a number from {min} to {max}");
    let value = parse_decimal(text).map_err(|_| allowed())?;
    if (min..=max).contains(&value) { Ok(Some(value)) } else { Err(allowed()) }
}

fn due(ask: &Supplies) -> Option<whelpward_core::whelping::DueWindow> {
    let mating = if ask.mated_once { Counted::OnlyMating } else { Counted::FirstMating };
    [(Counted::Ovulation, ask.ovulated), (Counted::LhSurge, ask.lh_surge), (mating, ask.mated)]
        .into_iter()
        .find_map(|(counted, day)| Some(due_window(counted, day?)))
}

/// Width of the words of a quantity, and of one quantile.
const WORDS: usize = 38;
const COLUMN: usize = 13;

fn text(report: &SuppliesReport, all: bool) -> String {
    let mut page = Page { out: String::new(), zone: TimeZone::UTC };
    let title = match &report.litter {
        Some(litter) => format!("{litter}: what to have in the house before the birth"),
        None => "What to have in the house before the birth".into(),
    };
    page.line("", &title);
    page.line("", &format!("Reckoned for {}.", report.pups_by));
    if let Some(due) = &report.due {
        page.line("", &due_words(due));
    }
    page.line(
        "",
        &format!(
            "Chance that any pup is fed by hand: {} %; that all of them are: {} %.",
            number(report.any_by_hand_percent, 0, false),
            number(report.all_by_hand_percent, 1, false)
        ),
    );
    page.heading(&format!(
        "{:<WORDS$}{:>COLUMN$}{:>COLUMN$}{:>COLUMN$}",
        "ENOUGH IN … OF 100 LITTERS", "50", "80", "95"
    ));
    for line in &report.quantities {
        quantity(&mut page, line);
    }
    let draws = number(f64::from(report.draws), 0, false);
    page.line(
        "",
        &format!("Below a figure: where endless draws would put it (95 %; {draws} draws, seed {}).", report.seed),
    );
    page.heading("BUY NOW");
    bought(&mut page, &report.buy_now);
    if !report.buy_later.is_empty() {
        page.heading("BUY LATER, ON THE DAY THAT HAND-FEEDING BEGINS");
        bought(&mut page, &report.buy_later);
    }
    page.blank();
    for note in &report.notes {
        page.line(" !  ", &note.text);
    }
    if all {
        page.heading("ASSUMPTIONS (--assume KEY=NUMBER sets one)");
        for a in &report.assumptions {
            let value = number(a.value, 2, false);
            let unit = if a.unit.is_empty() { String::new() } else { format!(" {}", a.unit) };
            let (min, max) = (number(a.min, 2, false), number(a.max, 2, false));
            page.line("  ", &format!("{} = {value}{unit}", a.key));
            page.line("      ", &format!("{}; {}; {min} to {max} may be set. {}.", a.what, a.basis, a.source.source));
        }
    } else {
        page.line("", "--assumptions lists what this rests on, with every source; --assume changes it.");
    }
    page.blank();
    page.line("", &report.caution);
    page.out
}

fn due_words(due: &DueLine) -> String {
    let middle = due.middle.as_ref().map_or_else(String::new, |m| format!(", most likely about {m}"));
    format!(
        "Due {} to {}{middle} (counted from {}, {}). Have things ready by {}.",
        due.first, due.last, due.counted_from, due.day_counted, due.ready_by
    )
}

fn quantity(page: &mut Page, line: &QuantityLine) {
    let unit = if line.unit.is_empty() { String::new() } else { format!(", {}", line.unit) };
    let words = format!("{}{unit}", line.what);
    let figures = |of: &dyn Fn(usize) -> String| [0, 1, 2].map(|i| format!("{:>COLUMN$}", of(i))).concat();
    let values = figures(&|i| number(line.enough[i].value, 0, false));
    if words.chars().count() > WORDS {
        page.out.push_str(&format!("{words}\n{:<WORDS$}{values}\n", ""));
    } else {
        page.out.push_str(&format!("{words:<WORDS$}{values}\n"));
    }
    if line.enough.iter().any(|q| q.low < q.high) {
        let spans = figures(&|i| {
            let q = line.enough[i];
            if q.low < q.high {
                format!("{}-{}", number(q.low, 0, false), number(q.high, 0, false))
            } else {
                String::new()
            }
        });
        page.out.push_str(format!("{:<WORDS$}{spans}", "").trim_end());
        page.out.push('\n');
    }
}

/// A list; the reason of several lines is said once, with the first of them.
fn bought(page: &mut Page, lines: &[BuyLine]) {
    let mut last = "";
    for line in lines {
        let because = if line.because == last { "" } else { line.because.as_str() };
        page.line("  - ", &buy_words(line, because));
        last = &line.because;
    }
}

fn buy_words(line: &BuyLine, because: &str) -> String {
    let mut words = line.what.clone();
    if let Some(n) = line.how_many {
        let unit = if line.unit.is_empty() { String::new() } else { format!(" {}", line.unit) };
        words = format!("{words}: {}{unit}", number(n, 0, false));
    }
    match line.packets {
        Some(1) => words.push_str(" (1 packet)"),
        Some(n) => words.push_str(&format!(" ({n} packets)")),
        None => {}
    }
    if let Some(cost) = line.cost {
        words.push_str(&format!(", cost {}", number(cost, 2, false)));
    }
    if !because.is_empty() {
        words.push_str(&format!("; {because}"));
    }
    words
}
