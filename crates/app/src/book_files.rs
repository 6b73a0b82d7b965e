//! Files for the whole book that other programs show: a page and a calendar for each litter.

use std::fmt::Write as _;

use jiff::Timestamp;
use jiff::tz::TimeZone;
use whelpward_core::book::{Fact, Kind};
use whelpward_core::record::entries::typed;
use whelpward_core::report::timetable::{Asked, timetable};
use whelpward_core::report::{calendar, clock};

use crate::{AppError, Book, Loaded, litters};

/// `pages/LITTER.html`, ready to print, for every litter.
pub async fn of(book: &Book, now: Timestamp) -> Result<Vec<(String, Vec<u8>)>, AppError> {
    let mut files = Vec::new();
    for (number, info) in litters(book).await?.iter().enumerate() {
        let loaded = book.load(info.id).await?;
        files.push((format!("pages/litter-{}.html", number + 1), page(&loaded, &info.name, now).into_bytes()));
        if info.is_closed || info.is_example {
            continue;
        }
        let asked = Asked { options: false, sleep_through: None, usual_day: false };
        let plan = timetable(loaded.facts()?, now, asked);
        for (carer, name) in calendar::files("feeds", &calendar::carers(&plan)) {
            let text = calendar::feeds(&plan, carer, false, "");
            files.push((format!("calendars/litter-{}/{name}", number + 1), text.into_bytes()));
        }
    }
    Ok(files)
}

fn page(loaded: &Loaded, name: &str, now: Timestamp) -> String {
    let zone = loaded.zone();
    let mut html = format!(
        "<!doctype html><html lang=\"en\"><meta charset=\"utf-8\"><title>{0}</title>\
         <style>body{{font:12pt serif;margin:15mm}}table{{border-collapse:collapse}}td,th{{border:1px solid;padding:2px 6px;text-align:left}}tr{{break-inside:avoid}}</style>\
         <h1>{0}</h1><p>Written {1}.</p>",
        escaped(name),
        escaped(&clock::date_and_clock(now, &zone))
    );
    for (kind, title) in [
        (Kind::Pup, "Pups"),
        (Kind::Leaving, "Pups that have left"),
        (Kind::Weighing, "Weighings"),
        (Kind::Feed, "Feeds"),
        (Kind::Check, "Checks"),
        (Kind::Done, "Done or first seen"),
        (Kind::VetOrder, "Orders of a vet"),
        (Kind::Medicine, "Prescribed"),
        (Kind::MedicineGiven, "Given"),
        (Kind::Batch, "Milk mixed"),
    ] {
        let mut facts: Vec<_> = loaded.folded.of_kind(kind).collect();
        if facts.is_empty() {
            continue;
        }
        facts.sort_by_key(|f| f.occurred);
        let _ = write!(html, "<h2>{title}</h2><table><tr><th>When<th>Pup<th>What<th>Carer</tr>");
        for fact in facts {
            let pup = fact.pup.map(|p| loaded.name_of(p)).unwrap_or_default();
            let _ = write!(
                html,
                "<tr><td>{}<td>{}<td>{}<td>{}</tr>",
                escaped(&clock::date_and_clock(fact.occurred, &zone)),
                escaped(pup),
                escaped(&values(fact, &zone)),
                escaped(fact.carer.as_deref().unwrap_or_default())
            );
        }
        html.push_str("</table>");
    }
    html.push_str("</html>\n");
    html
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;").replace('<', "&lt;").replace('>', "&gt;").replace('"', "&quot;")
}

/// The values of a fact, without the time that the line begins with.
#[must_use]
pub fn values(fact: &Fact, zone: &TimeZone) -> String {
    let time_key = fact.kind.row().time_key;
    let text = |name: &str| fact.body.get(name).map(typed);
    match fact.kind {
        Kind::Weighing => {
            let unit = text("unit").unwrap_or_else(|| "g".into());
            let weight = text("weight").or_else(|| text("weight_g")).unwrap_or_default();
            let taken = text("taken").map(|t| format!(", {}", t.replace('_', " "))).unwrap_or_default();
            if unit == "lb_oz" { format!("{weight}{taken}") } else { format!("{weight}\u{a0}{unit}{taken}") }
        }
        Kind::Advice => "what was told then".into(),
        _ => fact
            .body
            .iter()
            .filter(|(name, _)| Some(name.as_str()) != time_key)
            .map(|(name, value)| {
                let text = typed(value);
                let shown = match text.parse::<Timestamp>() {
                    Ok(at) => clock::date_and_clock(at, zone),
                    Err(_) => text,
                };
                format!("{} {shown}", name.replace('_', " "))
            })
            .collect::<Vec<_>>()
            .join(", "),
    }
}
