//! A blend, or the limits that conflict.

use whelpward_core::report::milk::{BlendReport, NoBlendReport};
use whelpward_core::units::{Grams, figure, number, signed_percent};

use super::{Page, ml, shown, strength};

pub fn blend(report: &BlendReport) -> String {
    let mut page = Page::default();
    page.line("", &report.heading.text.to_uppercase());
    for note in &report.notes {
        page.line("  ! ", &format!("{} ({})", note.text, note.source.source));
    }
    page.heading(&format!("RECIPE FOR {}", ml(report.wanted_ml.round())));
    if !report.is_weighable {
        page.line("  ! ", "Exact amounts to 0.1 g: a scale of the step that was named cannot weigh them.");
    }
    for part in report.recipe.iter().filter(|p| p.weigh_g > 0.0) {
        let weigh = shown(part.weigh_g, &Grams::ROW);
        page.line(&format!("{weigh:>12}  "), &format!("{} (about {})", part.name, ml(part.volume_ml.round())));
    }
    let [low, high] = report.strength_range_kcal_per_ml;
    page.line("    ", &format!(
        "makes {} of {}; {} to {} when foods vary. Boil and sieve as the foods ask, mix finely, feed at 37 to 38\u{a0}°C, refrigerate at once, throw away after 24\u{a0}h.",
        ml(report.volume_ml.round()), strength(report.strength_kcal_per_ml), number(low, 2, false), strength(high)
    ));
    if let Some(cost) = report.cost {
        page.line("    ", &format!("It costs {} in your money.", number(cost, 2, false)));
    }
    page.heading(&format!("WHAT IT MEETS AND MISSES, in 100 g, against {}", report.aim));
    for r in &report.reached {
        let off = signed_percent(r.off_percent);
        page.row(&format!(
            "    {:<12}{:>9} {:<5} aim {:>7}  {off:>7}",
            r.nutrient,
            figure(r.got),
            r.unit_in_100g,
            figure(r.target)
        ));
    }
    if let Some(ratio) = report.calcium_to_phosphorus {
        page.row(&format!("    calcium to phosphorus {} to 1", number(ratio, 2, false)));
    }
    page.line(
        "    ",
        &format!(
            "All misses together: {} (0 is that milk; {} before rounding to the scale).",
            figure(report.misses_percent),
            figure(report.exact_misses_percent)
        ),
    );
    if !report.is_proven_best {
        page.line("    ", "With so many foods not every rounding was tried: one a little closer may exist.");
    }
    page.heading("WHAT LIMITS IT");
    let mut is_held_back = false;
    for l in &report.limits {
        // A gain that no one would see is not worth a line; --json has it.
        if let Some(without) = l.misses_without_percent.filter(|w| report.exact_misses_percent - w >= 0.1) {
            is_held_back = true;
            page.line(
                "  - ",
                &format!(
                    "{}: without this limit the misses would be {} instead of {}.",
                    l.limit,
                    figure(without),
                    figure(report.exact_misses_percent)
                ),
            );
        }
    }
    if !is_held_back {
        page.line("    ", "No limit holds it back; only the foods do.");
    }
    if let Some(help) = &report.would_help_most {
        page.line(
            "    ",
            &format!("What would help most: {} ({}): misses {}.", help.name, help.food, figure(help.misses_percent)),
        );
    }
    page.heading(&format!(
        "HOW SURE ({} draws, seed {})",
        number(f64::from(report.simulation_draws), 0, false),
        report.simulation_seed
    ));
    for l in &report.limits {
        if let Some(chance) = l.chance {
            page.line("    ", &format!("{}: kept in {} of 100", l.limit, number((100.0 * chance).floor(), 0, false)));
        }
    }
    page.line("    ", &format!("Each food's figures vary by a tenth ({}).", report.varies.source));
    page.heading("TO PLAN WITH IT, add to litter.toml");
    page.row(&format!(
        "    [[milk]]\n    id = \"blend\"\n    kind = \"home_blend\"\n    in_use = true\n    kcal_per_ml = {:.2}",
        report.strength_kcal_per_ml
    ));
    page.row("");
    page.line("", &format!("Rule: {}. Method: {}.", report.heading.source.source, report.method.source));
    page.0
}

pub fn no_blend(none: &NoBlendReport) -> String {
    let mut page = Page::default();
    page.line("", &format!("no blend: {}", none.because));
    for c in &none.conflict {
        let least = c
            .would_have_to_allow
            .map_or(String::new(), |l| format!("; with the others kept, {} is what it would have to be", figure(l)));
        page.line("  - ", &format!("{}{least}", c.limit));
    }
    if !none.conflict.is_empty() {
        page.line("", "hint: name another food with --with, or change one of these");
    }
    page.0.trim_end().to_owned()
}
