//! `nurse`: weigh, nurse, weigh again; one pup, or guided through the litter.

use whelpward_app::{self as app, Nursing, Weight};
use whelpward_core::book::FactId;

use super::act::loaded;
use super::{Failed, Open, args, prompts, show, time};

const BEFORE: &str = "Let each pup pass urine and stool first, then weigh it. An empty answer passes it over.";
const BETWEEN: &str = "Now let them nurse for 20 to 30 minutes. Do not wipe, stroke or wrap them until they are weighed \
    again.";

pub async fn nurse(open: &Open, ask: args::Nurse) -> Result<String, Failed> {
    let book = loaded(open).await?;
    let unit = ask.unit.clone().unwrap_or_else(|| book.facts().map_or("g", |f| f.litter.weight_unit.word()).to_owned());
    let at = time::read(ask.when.at.as_deref(), &book.zone(), open.now)?;
    let nursing = |pup: FactId, before: &str, after: &str| Nursing {
        litter: book.id,
        pup,
        at,
        before: before.to_owned(),
        after: after.to_owned(),
        unit: unit.clone(),
        is_soiled: ask.soiled,
        note: ask.when.note.clone(),
        is_kept: ask.keep,
    };
    if let (Some(pup), Some(weights)) = (&ask.pup, &ask.weights) {
        let nursing = nursing(book.pup(pup)?, &weights[0], &weights[1]);
        return match app::nurse(&open.book, &open.who, nursing, open.now).await {
            Ok(saved) => show::saved(&saved, ask.out.json),
            Err(app::AppError::Ask(question)) => {
                Err(Failed::Question(format!("{question}\nNothing was saved. If both numbers are right, add --keep.")))
            }
            Err(other) => Err(other.into()),
        };
    }
    if !prompts::is_possible() {
        return Err(Failed::Message("which pup? allowed: whelpward nurse PUP BEFORE AFTER".into()));
    }
    let here: Vec<String> = book.facts()?.pups.iter().filter(|p| p.is_here(open.now)).map(|p| p.id.0.clone()).collect();
    let only = ask.pup.as_deref().map(|p| book.pup(p)).transpose()?;
    let round = book.folded.pups.iter().filter(|(id, n)| here.contains(n) && only.is_none_or(|only| only == *id));
    let round: Vec<(FactId, &str)> = round.map(|(id, name)| (*id, name.as_str())).collect();
    let mut waiting = Vec::new();
    eprintln!("{BEFORE}");
    for (pup, name) in round {
        if let Some(before) = before(open, &book, pup, name, &unit).await? {
            waiting.push((pup, name, before));
        }
    }
    if waiting.is_empty() {
        return Ok("No pup was weighed; nothing was written down.\n".into());
    }
    eprintln!("{BETWEEN}");
    let mut said = String::new();
    for (pup, name, before) in waiting {
        // The clock has gone on while they nursed.
        let now = jiff::Timestamp::now();
        loop {
            let after = prompts::ask(&format!("{name} after nursing, in {unit} (empty: not weighed)"), None)?;
            if after.trim().is_empty() {
                break;
            }
            let soiled = prompts::ask("Did it pass urine or stool between? yes, or empty for no", None)?;
            let is_soiled = soiled.trim().eq_ignore_ascii_case("yes");
            let mut one = Nursing { at: now, is_soiled, ..nursing(pup, &before, &after) };
            let mut outcome = app::nurse(&open.book, &open.who, one.clone(), now).await;
            if let Err(app::AppError::Ask(question)) = &outcome {
                eprintln!("{question}");
                if !prompts::ask("Keep both? yes, or empty to weigh again", None)?.trim().eq_ignore_ascii_case("yes") {
                    continue;
                }
                one.is_kept = true;
                outcome = app::nurse(&open.book, &open.who, one, now).await;
            }
            match outcome {
                Ok(saved) => {
                    said.push_str(&show::saved(&saved, false)?);
                    break;
                }
                Err(wrong) => eprintln!("{wrong}"),
            }
        }
    }
    Ok(said)
}

/// The weight before, written down at once so that it is not lost; none when the pup is passed over.
async fn before(
    open: &Open,
    book: &app::Loaded,
    pup: FactId,
    name: &str,
    unit: &str,
) -> Result<Option<String>, Failed> {
    loop {
        let typed = prompts::ask(&format!("{name} before nursing, in {unit} (empty: next)"), None)?;
        if typed.trim().is_empty() {
            return Ok(None);
        }
        let mut weight = Weight {
            litter: book.id,
            pup,
            at: open.now,
            weight: typed.clone(),
            unit: unit.to_owned(),
            taken: Some("before_feed".into()),
            note: None,
            is_kept: false,
        };
        let mut outcome = app::weigh(&open.book, &open.who, weight.clone(), open.now).await;
        if let Err(app::AppError::Ask(question)) = &outcome {
            eprintln!("{question}");
            if !prompts::ask("Keep it? yes, or empty to weigh again", None)?.trim().eq_ignore_ascii_case("yes") {
                continue;
            }
            weight.is_kept = true;
            outcome = app::weigh(&open.book, &open.who, weight, open.now).await;
        }
        match outcome {
            Ok(_) => return Ok(Some(typed)),
            Err(wrong) => eprintln!("{wrong}"),
        }
    }
}
