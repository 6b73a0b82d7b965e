//! The dam as text, within 80 columns.

use jiff::tz::TimeZone;
use whelpward_core::report::clock;
use whelpward_core::report::dam::{DamReport, PupMilk, WeekLine};
use whelpward_core::report::teats::TurnsLine;
use whelpward_core::units::{Hours, Kcal, Percent, format_quantity, number};

use crate::today::{Page, instant, ml, sentence};

/// The whole answer.
pub fn text(report: &DamReport) -> String {
    let mut page = Page { out: String::new(), zone: TimeZone::get(&report.time_zone).unwrap_or(TimeZone::UTC) };
    header(&mut page, report);
    for finding in &report.findings {
        page.line("  ! ", &sentence(&format!("{}: {}", finding.level.to_uppercase(), finding.because)));
        page.line("    ", &sentence(&finding.what_to_do));
        page.line("    ", &format!("Rule: {}.", finding.source.source));
    }
    weeks(&mut page, report);
    milk(&mut page, report);
    if let Some(turns) = &report.turns {
        teats(&mut page, turns);
    }
    if !report.missing.is_empty() {
        page.heading("MISSING");
        for missing in &report.missing {
            page.line("    - ", &sentence(missing));
        }
    }
    page.out
}

fn header(page: &mut Page, report: &DamReport) {
    let whose = match &report.dam {
        Some(name) => format!("{name}, dam of {}", report.litter),
        None => format!("the dam of {}", report.litter),
    };
    let at = clock::date_and_clock(instant(&report.at), &page.zone);
    page.line("", &sentence(&format!("{whose}: {at}")));
    if let Some(note) = &report.example_note {
        page.line("", &format!("INVENTED EXAMPLE: {note}"));
    }
    let weight =
        report.weight_g.map_or("weight not known".to_owned(), |g| format!("{}\u{a0}kg", number(g / 1000.0, 1, false)));
    let pups = match report.pups_nursing {
        0 => "no pup nurses".to_owned(),
        1 => "one pup nurses".to_owned(),
        n => format!("{n} pups nurse"),
    };
    page.line("", &sentence(&format!("{}; {weight}; {pups}", report.feeds)));
}

fn weeks(page: &mut Page, report: &DamReport) {
    if report.weeks.is_empty() {
        return;
    }
    page.heading("WHAT SHE NEEDS AND IS EXPECTED TO GIVE, IN A DAY");
    for week in &report.weeks {
        page.line("    ", &week_words(week));
    }
    for note in &report.notes {
        page.line("    - ", &format!("{} [{}]", note.text, note.source.source));
    }
}

fn week_words(week: &WeekLine) -> String {
    format!(
        "Week {}: {}, and {} of milk ({} to {}){}",
        week.week,
        format_quantity(week.energy_kcal_per_day, &Kcal::ROW),
        ml(week.milk_ml_per_day),
        number(week.low_ml_per_day, 0, false),
        ml(week.high_ml_per_day),
        if week.is_this_week { "  <- this week" } else { "" }
    )
}

fn teats(page: &mut Page, plan: &TurnsLine) {
    page.heading("TURNS AT THE TEAT");
    let hours = |h: f64| format_quantity(h, &Hours::ROW);
    let text = format!("{} each; nobody waits longer than {}.", hours(plan.turn_h), hours(plan.longest_wait_h));
    page.line("    ", &text);
    for (place, turn) in plan.turns.iter().enumerate() {
        let times: Vec<String> = turn.from.iter().map(|at| page.clock(at)).collect();
        page.line("    - ", &format!("Turn {}, {}: {}.", place + 1, times.join(", "), turn.pups.join(", ")));
    }
    if !plan.twice.is_empty() {
        page.line("    ", &format!("More than one turn, because they are the lightest: {}.", plan.twice.join(", ")));
    }
    for says in &plan.says {
        page.line("    ", &sentence(says));
    }
    let sources: Vec<&str> = plan.sources.iter().map(|s| s.source.as_str()).collect();
    page.line("    ", &format!("Rule: {}.", sources.join("; ")));
}

fn milk(page: &mut Page, report: &DamReport) {
    page.heading("WHAT THE PUPS GET FROM HER");
    if let Some(milk) = &report.milk {
        page.line("    ", &sentence(&milk.says));
    }
    if report.pups.is_empty() {
        page.line("    ", "No pup is here.");
    }
    for pup in &report.pups {
        page.line("    - ", &sentence(&pup_words(pup)));
    }
    if let Some(milk) = report.pups.iter().find_map(|p| p.from_dam.estimate.as_ref()) {
        page.line("    ", &milk.surer);
        page.line("    ", &format!("Nine in ten lie in the range. Rule: {}.", milk.source.source));
    }
}

fn pup_words(pup: &PupMilk) -> String {
    let Some(milk) = &pup.from_dam.estimate else {
        return format!("{}: {}", pup.pup, pup.from_dam.not_estimated_because.as_deref().unwrap_or("not estimated"));
    };
    let share = |percent: f64| format_quantity(percent, &Percent::ROW);
    let after = pup
        .after_weighing
        .first()
        .map_or(String::new(), |a| format!(" ({} after {} more)", share(a.sure_to_percent), a.more_nursings));
    format!("{}: {}; sure to {}{after}", pup.pup, milk.shown, share(milk.sure_to_percent))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn first_lines(dam: &str) -> Vec<String> {
        let litter = format!(
            "format = 1\n[litter]\nname = \"Fern\"\nbreed = \"Maltese\"\ntime_zone = \"Europe/Berlin\"\nscale_step_g = 1\n[dam]\n{dam}"
        );
        let files = whelpward_core::record::FolderFiles { litter_toml: Some(litter.into()), ..Default::default() };
        let facts = whelpward_core::record::parse(&files).unwrap();
        let at = "2026-11-20T02:15:00Z".parse().unwrap();
        text(&whelpward_core::report::dam::dam(&facts, at)).lines().take(2).map(str::to_owned).collect()
    }

    #[test]
    fn the_head_says_whose_dam_she_is_and_that_she_expects() {
        let nameless = first_lines("with_pups = true\n");
        assert!(nameless[0].starts_with("The dam of Fern: "), "{nameless:?}");
        assert!(nameless[1].starts_with("The dam is expecting; "), "{nameless:?}");
        assert!(first_lines("name = \"Heather\"\n")[0].starts_with("Heather, dam of Fern: "));
    }
}
