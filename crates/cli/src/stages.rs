//! The stages and dates as text, within 80 columns.

use std::path::PathBuf;

use jiff::tz::TimeZone;
use whelpward_core::report::clock;
use whelpward_core::report::stages::{DayEnergyLine, HomeLine, ItemLine, PupStages, StagesReport};
use whelpward_core::units::{Kcal, format_quantity};

use crate::today::{Page, day_words, instant, sentence};

/// The whole answer, with the calendar files that were written.
pub fn text(report: &StagesReport, written: &[PathBuf]) -> String {
    let mut page = Page { out: String::new(), zone: TimeZone::get(&report.time_zone).unwrap_or(TimeZone::UTC) };
    let now = clock::date_and_clock(instant(&report.at), &page.zone);
    page.line("", &format!("{}: from the first steps to the new home, {now}", report.litter));
    if let Some(note) = &report.example_note {
        page.line("", &format!("INVENTED EXAMPLE: {note}"));
    }
    if report.open.is_empty() {
        page.blank();
        page.line("", "Nothing is due and nothing is late.");
    }
    page.dates(&report.open);
    pups(&mut page, &report.pups);
    energy(&mut page, &report.pups);
    if !report.dam.is_empty() {
        page.heading("THE DAM");
        report.dam.iter().for_each(|i| page.line("    ", &item(i)));
    }
    if report.pups.iter().any(|p| p.weaning.as_ref().is_some_and(|w| w.weaned_on.is_none())) {
        page.heading("FROM MILK TO FOOD");
        for step in &report.weaning_steps {
            let meals = meals(step.meals_least, step.meals_most);
            let milk = step.milk_percent;
            page.line(
                "    ",
                &format!("From day {}: {}; {meals}; {milk}\u{a0}% of its energy from milk.", step.from_day, step.mix),
            );
        }
        report.weaning_rules.iter().for_each(|rule| page.line("    - ", &rule.text));
        page.line("    ", &format!("Steps: {}.", report.weaning_steps_source.source));
    }
    choices(&mut page, report);
    for file in written {
        page.line("", &format!("Written: {}", file.display()));
    }
    page.blank();
    page.line("", "Write down with: whelpward did worming Sedge Clover --product NAME --lot LOT");
    page.line("", &report.asked_for.text);
    page.line("", &report.caution);
    page.out
}

/// Pups of which the same is true stand together.
fn pups(page: &mut Page, pups: &[PupStages]) {
    let mut blocks: Vec<(String, i64, Vec<&str>)> = Vec::new();
    for one in pups {
        let mut block = Page { out: String::new(), zone: page.zone.clone() };
        pup(&mut block, one);
        match blocks.iter_mut().find(|(text, age, _)| *text == block.out && *age == one.age_days) {
            Some((_, _, names)) => names.push(&one.pup),
            None => blocks.push((block.out, one.age_days, vec![&one.pup])),
        }
    }
    for (text, age, names) in blocks {
        page.blank();
        page.line("", &format!("{}, day {age}", names.join(", ").to_uppercase()));
        page.out.push_str(&text);
    }
}

fn pup(page: &mut Page, pup: &PupStages) {
    for state in ["late", "due", "coming", "done", "unwritten"] {
        let of_state: Vec<&ItemLine> = pup.items.iter().filter(|i| i.state == state).collect();
        // Of what is to come the next few are enough here; --json has all.
        let most = if state == "coming" { 4 } else { usize::MAX };
        let each: Vec<String> = of_state.iter().take(most).map(|i| item(i)).collect();
        if !each.is_empty() {
            let words = if state == "unwritten" { "not written down" } else { state };
            page.line(&format!("    {:<8}", format!("{words}: ")), &format!("{}.", each.join("; ")));
        }
    }
    let missed: Vec<String> =
        pup.items.iter().filter(|i| i.state == "missed").filter_map(|i| i.from.as_deref()).map(day_words).collect();
    if !missed.is_empty() {
        page.line("    missed: ", &format!("worming of {}: nothing is made up, tell the vet.", missed.join(", ")));
    }
    for fault in &pup.faults {
        page.line("    !  ", &sentence(&fault.text));
    }
    if let Some(chip) = &pup.chip {
        page.line("    Chip ", &format!("{}: {}. {}", chip.shown, chip.reading, chip.caution));
    }
    if let Some(weaning) = &pup.weaning {
        page.line("    Food: ", &weaning.advice);
    }
    home(page, &pup.home);
}

/// `worming Mon 16 Mar`
fn item(item: &ItemLine) -> String {
    let day = |d: &Option<String>| d.as_deref().map(day_words);
    let when = match (item.state.as_str(), day(&item.done_on), day(&item.from), day(&item.to)) {
        ("done", Some(done), _, _) => done,
        (_, _, Some(from), Some(to)) if from != to => format!("{from} to {to}"),
        (_, _, Some(from), _) => from,
        (_, _, None, Some(to)) => format!("by {to}"),
        _ => String::new(),
    };
    format!("{} {}", item.title, when.replace(' ', "\u{a0}")).trim_end().to_owned()
}

fn meals(least: u32, most: u32) -> String {
    if least == most { format!("{least} meals a day") } else { format!("{least} to {most} meals a day") }
}

/// Energy of a day, for pups that have begun with food.
fn energy(page: &mut Page, pups: &[PupStages]) {
    let kcal = |value: f64| format_quantity(value, &Kcal::ROW);
    let weanings = pups.iter().filter_map(|p| Some((p.pup.as_str(), p.weaning.as_ref().filter(|w| w.step.is_some())?)));
    let known: Vec<(&str, &DayEnergyLine)> = weanings.filter_map(|(pup, w)| Some((pup, w.energy.as_ref()?))).collect();
    let Some((_, first)) = known.first() else { return };
    page.heading("ENERGY OF A DAY, about");
    for (pup, energy) in &known {
        let others: Vec<String> = energy.others.iter().map(|o| format!("{} {}", o.name, kcal(o.kcal))).collect();
        let beside = if others.is_empty() { String::new() } else { format!(" Others say: {}.", others.join(", ")) };
        let (whole, milk, food) = (kcal(energy.whole_kcal), kcal(energy.milk_kcal), kcal(energy.food_kcal));
        page.line("    ", &format!("{pup}: {whole}, of it {milk} from milk and {food} from food.{beside}"));
    }
    if let Some(note) = &first.note {
        page.line("    ", note);
    }
    page.line("    ", &format!("Rule: {}.", first.source.source));
}

fn home(page: &mut Page, home: &HomeLine) {
    let when = if home.may_go {
        "may go home".into()
    } else {
        format!("goes home from {} on at the earliest", day_words(&home.earliest))
    };
    let planned = home.planned.as_ref().map_or(String::new(), |d| format!(", planned for {}", day_words(d)));
    let owner = home.new_owner.as_ref().map_or(String::new(), |name| format!(" to {name}"));
    page.line("    Home: ", &format!("{when}{planned}{owner} ({}).", home.law));
    for condition in home.conditions.iter().filter(|c| !c.is_met) {
        page.line("      [ ] ", &sentence(&condition.text));
    }
}

fn choices(page: &mut Page, report: &StagesReport) {
    page.heading("WHOSE DATES");
    for choice in &report.choices {
        let how = if choice.is_chosen {
            String::new()
        } else {
            format!(" (not chosen; allowed: {})", choice.allowed.join(", "))
        };
        page.line("    ", &format!("{} = {}{how}. {}.", choice.key, choice.chosen, choice.source.source));
    }
}
