//! A batch with its label, heat and cost.

use jiff::tz::TimeZone;
use whelpward_core::report::clock;
use whelpward_core::report::milk::{BathLine, MixPowder, MixReport, ThinLine};
use whelpward_core::units::{Celsius, Grams, number};

use super::{Page, ml, shown, strength};

pub fn mix(report: &MixReport, zone: &TimeZone) -> String {
    let mut page = Page::default();
    let at = |iso: &str| iso.parse().map_or_else(|_| iso.to_owned(), |t| clock(t, zone));
    let for_what = match report.for_rounds_at.len() {
        0 => format!("{} as asked for", ml(report.wanted_ml)),
        n => {
            let times: Vec<String> = report.for_rounds_at.iter().map(|t| at(t)).collect();
            format!(
                "{} at {}: {} for the pups, {} stays in the kit",
                if n == 1 { "the round" } else { "the rounds" },
                times.join(", "),
                ml(report.fed_ml),
                ml(report.stays_in_the_kit_ml)
            )
        }
    };
    page.line("", &format!("{}: {for_what}.", report.milk));
    for note in &report.notes {
        page.line("  ! ", &format!("{} ({})", note.text, note.source.source));
    }
    if let Some(off) = report.made_off_percent {
        page.line(
            "    ",
            &format!("The mix that was made is within {} % of the label's ratio.", number(off.abs(), 1, false)),
        );
    }
    page.heading("MIX");
    match &report.powder {
        Some(p) => powder(&mut page, report, p),
        None => {
            page.line("    ", &format!("Pour {} of {}.", ml(report.volume_ml), strength(report.strength_kcal_per_ml)));
        }
    }
    let [low, high] = report.feed_at_c;
    let cool = if report.must_cool { "Cool it first; feed" } else { "Feed" };
    page.line(
        "    ",
        &format!(
            "{cool} at {} to {}, by thermometer and on the wrist; above 40\u{a0}°C never.",
            number(low, 1, true),
            shown(high, &Celsius::ROW)
        ),
    );
    if let Some(line) = &report.bath {
        bath(&mut page, line);
    }
    page.heading("LABEL");
    for line in &report.label {
        page.line("    ", line);
    }
    if let Some(thin) = &report.thinning {
        thinned(&mut page, thin, &at(&thin.until));
    }
    if let Some(cost) = &report.cost {
        page.heading("COST OF A DAY, of the milk in use, in your money");
        let pups: Vec<String> = cost.pups.iter().map(|(pup, c)| format!("{pup} {}", money(*c))).collect();
        page.line("    ", &format!("litter {}: {}", money(cost.litter_per_day), pups.join(", ")));
        if let Some(ahead) = &cost.until_weaned {
            let [low, usual, high] = ahead.cost.map(money);
            let [kg_low, _, kg_high] = ahead.kg.map(|kg| number(kg, 2, false));
            page.line(
                "    ",
                &format!(
                    "to day {}, for {} fed by you, a rough guess: about {usual}, from {low} to {high} ({kg_low} to {kg_high} kg). \
                     It counts on {}.",
                    number(ahead.to_day, 0, false),
                    if ahead.pups == 1 { "1 pup".into() } else { format!("{} pups", ahead.pups) },
                    ahead.assumes
                ),
            );
        }
    }
    page.row("");
    page.line("", "--json gives all of it as data, with every source.");
    page.0
}

/// Money keeps its two places: 6.40, not 6.4.
fn money(value: f64) -> String {
    number(value, 2, true)
}

fn powder(page: &mut Page, report: &MixReport, p: &MixPowder) {
    let scoops = p.scoops.map_or(String::new(), |s| format!(" ({} scoops)", number(s, 1, false)));
    page.line("    ", &format!("{} powder{scoops} and {} water", shown(p.powder_g, &Grams::ROW), ml(p.water_ml)));
    page.line(
        "    ",
        &format!(
            "make {} of {} (label {}).",
            ml(report.volume_ml),
            strength(report.strength_kcal_per_ml),
            strength(report.label_strength_kcal_per_ml)
        ),
    );
    page.line(
        "    ",
        &format!(
            "Check: the label says {} to {} water; is that by weight, not by scoops of water?",
            shown(p.label_powder_g, &Grams::ROW),
            ml(p.label_water_ml)
        ),
    );
    if p.is_more_than_wanted {
        page.line("  ! ", &format!("Use {} of it: so little alone cannot be measured within a twentieth of the label. Mix for more hours, or use a finer scale.", ml(report.wanted_ml)));
    }
    let celsius = |c: f64| shown(c, &Celsius::ROW);
    match (p.hot_water_ml, p.cold_water_ml) {
        (Some(hot), Some(cold)) => page.line(
            "    ",
            &format!(
                "Water at {}: about {} at {} and {} at {}; the thermometer decides.",
                celsius(p.water_c),
                ml(hot),
                celsius(p.hot_water_c),
                ml(cold),
                celsius(p.cold_water_c)
            ),
        ),
        _ => page.line(
            "    ",
            &format!(
                "Water at {}: not to be had from {} and {}.",
                celsius(p.water_c),
                celsius(p.hot_water_c),
                celsius(p.cold_water_c)
            ),
        ),
    }
}

fn bath(page: &mut Page, bath: &BathLine) {
    let celsius = |c: f64| shown(c, &Celsius::ROW);
    let time = bath.minutes.map_or("never warms it enough".into(), |m| {
        format!("takes about {} min; a rough guess, the thermometer decides", number(m.round(), 0, false))
    });
    page.line(
        "    ",
        &format!("From the refrigerator ({}) in a bath of {}: {time}.", celsius(bath.from_c), celsius(bath.bath_c)),
    );
}

fn thinned(page: &mut Page, thin: &ThinLine, until: &str) {
    page.heading(&format!("THINNED FOR {}, until {}", thin.pup, until));
    let share = if thin.water_share > 0.4 {
        "half water: 1 part of this mix, 1 part boiled water"
    } else {
        "one third water: 2 parts of this mix, 1 part boiled water"
    };
    page.line(
        "    ",
        &format!(
            "{share}. That is {}, {} % less energy in each feed: not a full ration.",
            strength(thin.strength_kcal_per_ml),
            number(thin.lost_percent, 0, false)
        ),
    );
    page.line("    ", &thin.then);
    for source in &thin.sources {
        page.line("    ", &format!("Rule: {}.", source.source));
    }
}
