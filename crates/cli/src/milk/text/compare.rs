//! Milks beside bitch's milk.

use whelpward_core::report::milk::{CompareReport, MilkLine, PartsLine};
use whelpward_core::units::{Grams, Kcal, figure, number};

use super::{Page, ml, shown, strength};

/// One row of the table of parts.
type Row = (&'static str, fn(&PartsLine) -> Option<f64>);

const ROWS: [Row; 8] = [
    ("energy, kcal", |p| Some(p.energy_kcal)),
    ("water, g", |p| Some(p.water_g)),
    ("protein, g", |p| Some(p.protein_g)),
    ("fat, g", |p| Some(p.fat_g)),
    ("carbohydrate, g", |p| Some(p.carbohydrate_g)),
    ("lactose, g", |p| Some(p.lactose_g)),
    ("calcium, mg", |p| p.calcium_mg),
    ("phosphorus, mg", |p| p.phosphorus_mg),
];

pub fn compare(report: &CompareReport) -> String {
    let mut page = Page::default();
    page.line(
        "",
        &format!(
            "Beside bitch's milk, for {} of {} on day {}. Energy is metabolisable: {}.",
            report.pup.as_deref().unwrap_or("a pup"),
            shown(report.pup_weight_g, &Grams::ROW),
            number(report.pup_age_days.floor(), 0, false),
            report.energy_convention.source
        ),
    );
    let like = report.milks.first();
    for milk in &report.milks {
        page.heading(&match milk.strength_kcal_per_ml {
            Some(kcal) => format!("{}: {}", milk.name, strength(kcal)),
            None => milk.name.clone(),
        });
        parts(&mut page, milk, like.filter(|l| l.name != milk.name));
        asks(&mut page, milk, report.natural_lactose_g_per_kg_day);
        for warning in &milk.warnings {
            page.line("  ! ", &format!("{} ({})", warning.text, warning.source.source));
        }
        if !milk.source.is_empty() {
            page.line("    ", &format!("Figures: {}.", milk.source));
        }
        if !milk.not_published.is_empty() {
            page.line("    ", &format!("Not read in it: {}.", milk.not_published.join(", ")));
        }
    }
    by_day(&mut page, report);
    page.row("");
    page.line("", "A comparison of energy, protein, fat, lactose, calcium and phosphorus only; no food here is recommended by it. A milk replacer for puppies comes first.");
    page.0
}

fn by_day(page: &mut Page, report: &CompareReport) {
    page.heading("BITCH'S MILK BY DAY, in a litre, as published; no day in between is filled in");
    for r in &report.bitch_by_day {
        let [low, high] = [r.low, r.high].map(|v| number(v, 1, false));
        let figure = if r.low == r.high { low } else { format!("{low} to {high}") };
        page.row(&format!("    {:<20}{:<9}{figure} {}", r.days, r.what, r.unit_per_litre));
    }
    let mut sources: Vec<&str> = report.bitch_by_day.iter().map(|r| r.source.source.as_str()).collect();
    sources.sort_unstable();
    sources.dedup();
    page.line("    ", &format!("Read in: {}.", sources.join("; ")));
}

fn parts(page: &mut Page, milk: &MilkLine, like: Option<&MilkLine>) {
    let (Some(weight), Some(volume)) = (&milk.per_100g, &milk.per_100ml) else { return };
    let energy = milk.per_100kcal.as_ref();
    let bitch = like.and_then(|l| l.per_100kcal.as_ref());
    let head = if bitch.is_some() { "bitch, 100 kcal" } else { "" };
    page.row(&format!("    {:<16}{:>10}{:>12}{:>13}{:>18}", "", "in 100 g", "in 100 mL", "in 100 kcal", head));
    for (name, of) in ROWS {
        let cell = |value: Option<f64>| value.map_or("not known".into(), figure);
        let energy = energy.map_or(String::new(), |p| cell(of(p)));
        let bitch = bitch.map_or(String::new(), |p| cell(of(p)));
        page.row(&format!("    {name:<16}{:>10}{:>12}{energy:>13}{bitch:>18}", cell(of(weight)), cell(of(volume))));
    }
    if let Some(ratio) = milk.calcium_to_phosphorus {
        page.row(&format!("    calcium to phosphorus {} to 1", number(ratio, 2, false)));
    }
}

fn asks(page: &mut Page, milk: &MilkLine, natural: f64) {
    let (Some(day), Some(volume), Some(most), Some(feeds)) =
        (milk.day_kcal, milk.day_ml, milk.largest_feed_ml, milk.fewest_feeds_per_day)
    else {
        return;
    };
    let lactose = milk.lactose_g_per_kg_day.map_or(String::new(), |g| {
        format!(
            " Lactose {} g per kg and day; a nursing pup takes {} g.",
            number(g, 1, false),
            number(natural, 1, false)
        )
    });
    page.line("    ", &format!(
        "Fed with this alone, the pup's day of {} would be {} in at least {feeds} feeds, as its stomach holds {} a feed.{lactose}",
        shown(day, &Kcal::ROW), ml(volume.round()), ml(most)
    ));
}
