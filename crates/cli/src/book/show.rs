//! The outcomes of commands on the book as text or JSON.

use jiff::tz::TimeZone;
use serde_json::{Value, json};
use whelpward_app::{LitterInfo, Loaded, Saved, values};
use whelpward_core::book::{Fact, FactJson, Question};
use whelpward_core::report::clock;

use super::Failed;

pub fn saved(saved: &Saved, is_json: bool) -> Result<String, Failed> {
    if is_json {
        let facts: Vec<FactJson> = saved.facts.iter().map(|f| FactJson::from(&**f)).collect();
        return pretty(&json!({ "read_back": saved.read_back, "notes": saved.notes, "facts": facts }));
    }
    let mut text = saved.read_back.clone() + "\n";
    for note in &saved.notes {
        text.push_str(&wrapped(note));
    }
    Ok(text)
}

pub fn pretty<T: serde::Serialize>(value: &T) -> Result<String, Failed> {
    serde_json::to_string_pretty(value).map(|t| t + "\n").map_err(|e| Failed::Message(e.to_string()))
}

pub fn wrapped(text: &str) -> String {
    textwrap::wrap(text, 80).join("\n") + "\n"
}

pub fn litters(litters: &[LitterInfo], is_json: bool) -> Result<String, Failed> {
    if is_json {
        let lines: Vec<Value> = litters
            .iter()
            .map(|l| {
                json!({
                    "id": l.id.to_string(), "name": l.name, "pups": l.pups, "pups_here": l.pups_here,
                    "is_closed": l.is_closed, "is_example": l.is_example,
                    "whelped_at": l.whelped_at.map(|t| t.to_string()),
                })
            })
            .collect();
        return pretty(&Value::Array(lines));
    }
    if litters.is_empty() {
        return Ok("The book is empty. Start with: whelpward litter add\n".into());
    }
    let mut text = String::new();
    for l in litters {
        let state = if l.is_closed {
            "closed, every pup has left".to_owned()
        } else {
            format!("{} of {} pups here", l.pups_here, l.pups)
        };
        let example = if l.is_example { ", invented example" } else { "" };
        text.push_str(&format!("{}: {state}{example}\n", l.name));
    }
    Ok(text)
}

/// One fact in a line: when, what, of whom, by whom, id.
pub fn fact_line(loaded: &Loaded, fact: &Fact, zone: &TimeZone) -> String {
    let pup = fact.pup.map(|p| format!(" {}", loaded.name_of(p))).unwrap_or_default();
    let carer = fact.carer.as_ref().map(|c| format!(", {c}")).unwrap_or_default();
    format!(
        "{}  {}{pup}: {}{carer}",
        clock::date_and_clock(fact.occurred, zone),
        fact.kind.word().replace('_', " "),
        values(fact, zone)
    )
}

/// A question in words.
pub fn question(loaded: &Loaded, question: &Question, zone: &TimeZone) -> String {
    let line =
        |id| loaded.folded.current(id).map_or_else(|| "an entry taken back".into(), |f| fact_line(loaded, f, zone));
    match question {
        Question::SameFeedTwice { first, second } => format!(
            "One feed written twice, or two feeds? Until you answer, the limits count both and the day's intake one.\n  {}\n  {}",
            line(*first),
            line(*second)
        ),
        Question::WeighAgain { first, second } => format!(
            "Two devices show different weights. Weigh this pup again.\n  {}\n  {}",
            line(*first),
            line(*second)
        ),
        Question::CorrectedTwice { counts, other } => format!(
            "Corrected twice. This counts, the other does not:\n  {}\n  {}",
            line(*counts),
            loaded.all.iter().find(|f| f.id == *other).map_or_else(String::new, |f| fact_line(loaded, f, zone))
        ),
        Question::WithdrawnAndCorrected { counts, .. } => {
            format!("Taken back by one person and corrected by another. It still counts:\n  {}", line(*counts))
        }
        Question::SameName { first, second } => format!(
            "Two pups were given one name. The later one is shown as {}.\n  {}\n  {}",
            loaded.name_of(*second),
            line(*first),
            line(*second)
        ),
    }
}
