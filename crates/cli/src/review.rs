//! `whelpward review`: a litter looked back on, in 80 columns.

use whelpward_core::review::Review;
use whelpward_core::units::{Millilitres, format_quantity, number};
use whelpward_web::print::Source;

use crate::book::{self, Failed, Which};
use crate::folder;

pub fn run(
    which: &Which,
    path: Option<&std::path::Path>,
    at: Option<jiff::Timestamp>,
    is_json: bool,
    clock: jiff::Timestamp,
) -> Result<String, Failed> {
    let source = if let Some(path) = path {
        let facts = folder::read(path)?;
        Source::new(&facts, None, at.or(facts.litter.example.as_ref().map(|e| e.at)).unwrap_or(clock))
    } else {
        book::source(which, at, clock)?
    };
    let review = whelpward_core::review::review(&source.facts, &source.beside, source.now);
    if is_json {
        return book::pretty(&review);
    }
    let mut text = format!("LOOKING BACK: {}\n", review.litter);
    if let Some(note) = &review.example_note {
        text += &wrapped(&format!("INVENTED EXAMPLE: {note}"), "");
    }
    for (title, lines) in [("FACTS", &review.facts), ("CHANGES FOR THE NEXT LITTER", &review.changes)] {
        text += &format!("\n{title}\n");
        for line in lines {
            text += &wrapped(line, "  - ");
        }
    }
    text += &milk(&review);
    let household = review.household;
    text += "\nTHIS HOUSE'S OWN RECORD\n";
    let noise = format!(
        "One reading is off by {} % of the weight ({} % was assumed).",
        number(household.reading_noise_after_percent, 1, true),
        number(household.reading_noise_before_percent, 1, true)
    );
    text += &wrapped(&noise, "  - ");
    for night in &review.nights {
        text += &wrapped(&format!("{}: {} of {} nights broken.", night.carer, night.broken, night.of), "  - ");
    }
    for p in &review.priors {
        let litters = if p.own_litters == 1 { "1 own closed litter" } else { "your own closed litters" };
        let figure = |value: f64| number(value, 1, true);
        let moved =
            format!("{}: {} {} assumed, {} after {litters}.", p.what, figure(p.before), p.unit, figure(p.after));
        text += &wrapped(&crate::today::sentence(&moved), "  - ");
    }
    text += &wrapped("\nEvery number, and how it was counted: whelpward print review, or --json.", "");
    Ok(text)
}

/// What was fed by hand, and what of the mixed milk was thrown away, or why nobody knows that.
fn milk(review: &Review) -> String {
    let Some(milk) = review.milk else { return String::new() };
    let volume = |ml: f64| format_quantity(ml.round(), &Millilitres::ROW);
    let left =
        milk.left_ml.map_or_else(String::new, |left| format!(", {} of what was offered left over", volume(left)));
    let fed = format!("{} fed by hand{left}.", volume(milk.taken_ml));
    let mixed = match milk.mixed {
        None => "Waste and cost are not known: no mixing is written down. A folder has no place for one; the book \
                 keeps those of `whelpward mix`."
            .to_owned(),
        Some(mixed) => {
            let cost = mixed.cost.map_or_else(
                || "cost not known: it needs the grams of powder of each mixing and the price".to_owned(),
                |cost| format!("cost of the powder {}", number(cost, 2, true)),
            );
            let wasted = number(mixed.wasted_percent, 0, false);
            format!("{} mixed, {wasted} % of it not fed; {cost}.", volume(mixed.mixed_ml))
        }
    };
    format!("\nMILK\n{}{}", wrapped(&fed, "  - "), wrapped(&mixed, "  - "))
}

fn wrapped(text: &str, lead: &str) -> String {
    let after = " ".repeat(lead.len());
    textwrap::fill(text, textwrap::Options::new(80).initial_indent(lead).subsequent_indent(&after)) + "\n"
}
