//! One function for each command.

use std::path::Path;

use jiff::Timestamp;
use serde_json::{Value, json};
use whelpward_app as app;
use whelpward_app::{
    Amount, Birth, Correction, FeedGiven, FolderLoaded, Leave, Loaded, Mixed, Observation, Register, Saved, Seen,
    Weight,
};
use whelpward_core::book::{FactId, FactJson, Kind, Question, Values};
use whelpward_core::record::format::{Key, Shape};
use whelpward_core::report;

use super::args::{self, Addable, BookCommand, SameOrTwo, Taken};
use super::{Failed, Open, Which, did, erase, import, keep, prompts, show, time};

pub async fn run(which: &Which, command: BookCommand, now: Timestamp) -> Result<String, Failed> {
    match command {
        // These do not open the book, or not that book.
        BookCommand::Completions { shell } => return Ok(completions(shell)),
        BookCommand::Folder { what: args::Folder::Check { folder }, .. } => return check_folder(&folder),
        BookCommand::Restore { copy } => return keep::restore(which, &copy, now).await,
        BookCommand::Verify { copy } => return keep::verify(which, copy.as_deref(), now).await,
        _ => {}
    }
    let open = Open::at(which, now).await?;
    match command {
        BookCommand::Litter { what, out } => litter(&open, what.unwrap_or(args::Litter::List), out.json).await,
        BookCommand::Birth(ask) => birth(&open, ask).await,
        BookCommand::Weigh(ask) => weigh(&open, ask).await,
        BookCommand::Feed(ask) => feed(&open, ask).await,
        BookCommand::Nurse(ask) => super::nurse::nurse(&open, ask).await,
        BookCommand::Check(ask) => check(&open, ask).await,
        BookCommand::Did(ask) => did::run(&open, ask).await,
        BookCommand::Leave(ask) => leave(&open, ask).await,
        BookCommand::Mix(ask) => mix(&open, ask).await,
        BookCommand::Add(ask) => add(&open, ask).await,
        BookCommand::Medicine { what, out } => medicine(&open, what, out.json).await,
        BookCommand::History(ask) => history(&open, &ask).await,
        BookCommand::Correct(ask) => correct(&open, ask).await,
        BookCommand::Undo { id, out } => undo(&open, id.as_deref(), out.json).await,
        BookCommand::Questions { out } => questions(&open, out.json).await,
        BookCommand::Answer { number, answer, out } => answer_question(&open, number, answer, out.json).await,
        BookCommand::Folder { what, out } => folder(&open, what, out.json).await,
        BookCommand::Import(ask) => import::run(&open, &ask).await,
        BookCommand::ExportAll { file } => keep::export_all(&open, &file).await,
        BookCommand::Erase { what } => erase::run(&open, what).await,
        BookCommand::ImportAll { file } => keep::import_all(&open, &file).await,
        BookCommand::Backup { to, second, out } => {
            keep::backup(&open, to.as_deref(), second.as_deref(), out.json).await
        }
        BookCommand::Move { to } => keep::move_to(&open, &to).await,
        BookCommand::Completions { .. } | BookCommand::Restore { .. } | BookCommand::Verify { .. } => {
            unreachable!("answered above")
        }
    }
}

fn completions(shell: clap_complete::Shell) -> String {
    let mut bytes = Vec::new();
    clap_complete::generate(shell, &mut <crate::Cli as clap::CommandFactory>::command(), "whelpward", &mut bytes);
    String::from_utf8_lossy(&bytes).into_owned()
}

fn check_folder(folder: &Path) -> Result<String, Failed> {
    let facts = crate::folder::read(folder)?;
    Ok(format!(
        "{}: no mistakes found. {} pups, {} weighings, {} feeds, {} checks, {} things done.\n",
        folder.display(),
        facts.pups.len(),
        facts.weighings.len(),
        facts.feeds.len(),
        facts.checks.len(),
        facts.done.len()
    ))
}

/// `key=value` words by the keys of a kind. An empty value takes the key away.
fn values(words: &[String], keys: &[Key]) -> Result<Values, Failed> {
    let mut values = Values::new();
    for word in words {
        let Some((name, text)) = word.split_once('=') else {
            return Err(Failed::Message(format!("\"{word}\"\nallowed: key=value, as in name=Heather")));
        };
        let name = name.trim();
        let Some(key) = keys.iter().find(|k| k.name == name) else {
            let known: Vec<&str> = keys.iter().map(|k| k.name).collect();
            return Err(Failed::Message(format!("\"{name}\" is not a key here\nallowed: {}", known.join(", "))));
        };
        values.insert(name.to_owned(), value(text.trim(), key.shape));
    }
    Ok(values)
}

fn value(text: &str, shape: Shape) -> Value {
    match shape {
        _ if text.is_empty() => Value::Null,
        Shape::ListOf(_) | Shape::WeekHours => {
            Value::Array(text.split(';').map(|t| Value::String(t.trim().to_owned())).collect())
        }
        Shape::YesNo => match text {
            "true" | "yes" => Value::Bool(true),
            "false" | "no" => Value::Bool(false),
            other => Value::String(other.to_owned()),
        },
        _ => Value::String(text.to_owned()),
    }
}

pub(super) async fn loaded(open: &Open) -> Result<std::sync::Arc<Loaded>, Failed> {
    Ok(open.book.load(open.litter().await?.id).await?)
}

async fn litter(open: &Open, what: args::Litter, is_json: bool) -> Result<String, Failed> {
    match what {
        args::Litter::List => show::litters(&app::litters(&open.book).await?, is_json),
        args::Litter::Add { keys, bare } => {
            let mut litter = values(&keys, &Kind::Litter.keys())?;
            let mut need = |key: &str, what: &str, default: Option<&str>| -> Result<(), Failed> {
                if !litter.contains_key(key) {
                    let text = prompts::ask(what, default)?;
                    if !text.trim().is_empty() {
                        litter.insert(key.into(), text.trim().into());
                    }
                }
                Ok(())
            };
            need("name", "What do you call the litter?", None)?;
            let zone = jiff::tz::TimeZone::system();
            need("time_zone", "Time zone", Some(zone.iana_name().unwrap_or("UTC")))?;
            need("scale_step_g", "The smallest step your scale shows, in g", Some("1"))?;
            if !litter.contains_key("breed") && !litter.contains_key("expected_adult_weight_kg") {
                let adult = prompts::ask("Expected adult weight in kg (the dam's will do)", None)?;
                litter.insert("expected_adult_weight_kg".into(), adult.trim().into());
            }
            let ask = Register { litter, dam: Values::new(), carry_over: !bare };
            show::saved(&app::register_litter(&open.book, &open.who, ask, open.now).await?, is_json)
        }
        args::Litter::Set { keys } => {
            let body = values(&keys, &Kind::Litter.keys())?;
            let id = open.litter().await?.id;
            show::saved(&app::put(&open.book, &open.who, id, Kind::Litter, None, body, open.now).await?, is_json)
        }
    }
}

async fn birth(open: &Open, ask: args::Birth) -> Result<String, Failed> {
    let loaded = loaded(open).await?;
    let given = |text: Option<String>, what: &str, default: Option<&str>| match text {
        Some(text) => Ok(text),
        None => prompts::ask(what, default),
    };
    let name = given(ask.name, "Name or collar of the pup", None)?;
    let sex = given(ask.sex, "female, male or unknown", Some("unknown"))?;
    let marks = given(ask.marks, "What tells it from the others", Some("not written down"))?;
    let weight = match ask.weight {
        None if prompts::is_possible() => Some(prompts::ask("Weight (empty: not weighed yet)", None)?),
        other => other,
    };
    let birth = Birth {
        litter: loaded.id,
        name,
        sex,
        marks,
        born_at: time::read(ask.at.as_deref(), &loaded.zone(), open.now)?,
        weight: weight.filter(|w| !w.trim().is_empty()),
        unit: ask.unit,
        is_stillborn: ask.stillborn,
        is_premature: ask.premature,
    };
    show::saved(&app::record_birth(&open.book, &open.who, birth, open.now).await?, ask.out.json)
}

async fn weigh(open: &Open, ask: args::Weigh) -> Result<String, Failed> {
    let loaded = loaded(open).await?;
    let unit =
        ask.unit.clone().unwrap_or_else(|| loaded.facts().map_or("g", |f| f.litter.weight_unit.word()).to_owned());
    let taken = ask.taken.map(|t| match t {
        Taken::Before => "before_feed".to_owned(),
        Taken::After => "after_feed".to_owned(),
    });
    let at = time::read(ask.when.at.as_deref(), &loaded.zone(), open.now)?;
    let weight = |pup: FactId, weight: String, is_kept: bool| Weight {
        litter: loaded.id,
        pup,
        at,
        weight,
        unit: unit.clone(),
        taken: taken.clone(),
        note: ask.when.note.clone(),
        is_kept,
    };
    if let Some(pup) = &ask.pup {
        let pup = loaded.pup(pup)?;
        let typed = match &ask.weight {
            Some(weight) => weight.clone(),
            None => prompts::ask(&format!("{} weighs, in {unit}", loaded.name_of(pup)), None)?,
        };
        return match app::weigh(&open.book, &open.who, weight(pup, typed, ask.keep), open.now).await {
            Ok(saved) => show::saved(&saved, ask.out.json),
            Err(app::AppError::Ask(question)) => Err(Failed::Question(format!(
                "{question}\nNothing was saved. To keep the number as it is, add --keep."
            ))),
            Err(other) => Err(other.into()),
        };
    }
    if !prompts::is_possible() {
        return Err(Failed::Message("which pup? allowed: whelpward weigh PUP WEIGHT".into()));
    }
    // A round: every pup that is here, in the order in which they were born.
    let mut round = String::new();
    let here: Vec<String> =
        loaded.facts()?.pups.iter().filter(|p| p.is_here(open.now)).map(|p| p.id.0.clone()).collect();
    for (pup, name) in loaded.folded.pups.iter().filter(|(_, n)| here.contains(n)) {
        loop {
            let typed = prompts::ask(&format!("{name}, in {unit} (empty: next)"), None)?;
            if typed.trim().is_empty() {
                break;
            }
            let outcome = app::weigh(&open.book, &open.who, weight(*pup, typed.clone(), false), open.now).await;
            let outcome = match outcome {
                Err(app::AppError::Ask(question)) => {
                    eprintln!("{question}");
                    if !prompts::ask("Keep it? yes, or empty to weigh again", None)?.trim().eq_ignore_ascii_case("yes")
                    {
                        continue;
                    }
                    app::weigh(&open.book, &open.who, weight(*pup, typed, true), open.now).await
                }
                other => other,
            };
            match outcome {
                Ok(saved) => {
                    eprintln!("{}", saved.read_back);
                    round.push_str(&(saved.read_back + "\n"));
                    break;
                }
                Err(wrong) => eprintln!("{wrong}"),
            }
        }
    }
    Ok(round)
}

async fn feed(open: &Open, ask: args::Feed) -> Result<String, Failed> {
    let loaded = loaded(open).await?;
    let at = time::read(ask.when.at.as_deref(), &loaded.zone(), open.now)?;
    let amount = match (&ask.nursed, &ask.taken_ml, &ask.offered) {
        (Some(weights), ..) => {
            Amount::Nursed { before_g: weights.first().cloned(), after_g: weights.get(1).cloned(), is_soiled: false }
        }
        (None, None, None) if ask.method.as_deref() == Some("nursing") => {
            Amount::Nursed { before_g: None, after_g: None, is_soiled: false }
        }
        (None, None, None) => Amount::AsPlanned(None),
        (None, taken, offered) => Amount::Given { offered_ml: offered.clone(), taken_ml: taken.clone() },
    };
    let given = |pup: FactId, amount: Amount| FeedGiven {
        litter: loaded.id,
        pup,
        at,
        method: ask.method.clone(),
        amount,
        milk: ask.milk.clone(),
        note: ask.when.note.clone(),
        rectal_temperature_c: None,
        is_kept: ask.keep,
    };
    let question = |error: app::AppError| match error {
        app::AppError::Ask(q) => Failed::Question(format!("{q}\nNothing was saved. If it was given, add --keep.")),
        other => other.into(),
    };
    if let Some(pup) = &ask.pup {
        let pup = loaded.pup(pup)?;
        let saved = app::feed(&open.book, &open.who, given(pup, amount), open.now).await.map_err(question)?;
        return show::saved(&saved, ask.out.json);
    }
    if !prompts::is_possible() {
        return Err(Failed::Message("which pup? allowed: whelpward feed PUP [ML]".into()));
    }
    let answer = report::today(loaded.facts()?, at);
    let mut round = String::new();
    for planned in answer.pups.iter().filter_map(|p| p.next_feed.as_ref()) {
        let ml = whelpward_core::units::number(planned.amount_ml, 1, false);
        if !planned.only_after.is_empty() {
            eprintln!("{}: only after you have checked: {}", planned.pup, planned.only_after.join(", "));
        }
        let what = format!(
            "{} took, in mL, by {} (at most {}; - for not fed)",
            planned.pup,
            planned.method,
            whelpward_core::units::number(planned.at_most_ml, 1, false)
        );
        let pup = loaded.pup(&planned.pup)?;
        let saved = loop {
            let typed = prompts::ask(&what, Some(&ml))?;
            if typed.trim() == "-" {
                break None;
            }
            let mut one =
                given(pup, Amount::Given { offered_ml: Some(ml.clone()), taken_ml: Some(typed.trim().to_owned()) });
            one.method.get_or_insert_with(|| planned.method.clone());
            if typed.trim() == ml {
                one.amount = Amount::AsPlanned(None);
            } else if typed.trim().parse::<f64>().is_ok_and(|t| t > planned.amount_ml) {
                one.amount = Amount::Given { offered_ml: None, taken_ml: Some(typed.trim().to_owned()) };
            }
            match app::feed(&open.book, &open.who, one, open.now).await {
                Ok(saved) => break Some(saved),
                Err(wrong) => eprintln!("{wrong}"),
            }
        };
        if let Some(saved) = saved {
            round.push_str(&show::saved(&saved, false)?);
        }
    }
    if round.is_empty() {
        round.push_str("No feed was written down. whelpward today says who is to be fed.\n");
    }
    Ok(round)
}

async fn check(open: &Open, ask: args::Check) -> Result<String, Failed> {
    let loaded = loaded(open).await?;
    let (pup, kind, value) = match ask.words.as_slice() {
        [pup, kind, value] => (Some(loaded.pup(pup)?), kind.clone(), value.clone()),
        [kind, value] => (None, kind.clone(), value.clone()),
        _ => unreachable!("the parser asks for two or three words"),
    };
    let observation = Observation {
        litter: loaded.id,
        pup,
        at: time::read(ask.when.at.as_deref(), &loaded.zone(), open.now)?,
        seen: vec![Seen { kind, value }],
        note: ask.when.note,
    };
    show::saved(&app::check(&open.book, &open.who, observation, open.now).await?, ask.out.json)
}

async fn leave(open: &Open, ask: args::Leave) -> Result<String, Failed> {
    let loaded = loaded(open).await?;
    let leave = Leave {
        litter: loaded.id,
        pup: loaded.pup(&ask.pup)?,
        at: time::read(ask.when.at.as_deref(), &loaded.zone(), open.now)?,
        why: ask.why,
        note: ask.when.note,
    };
    show::saved(&app::leave(&open.book, &open.who, leave, open.now).await?, ask.out.json)
}

async fn mix(open: &Open, ask: args::Mix) -> Result<String, Failed> {
    let loaded = loaded(open).await?;
    let mixed = Mixed {
        litter: loaded.id,
        at: time::read(ask.at.as_deref(), &loaded.zone(), open.now)?,
        milk: ask.milk,
        volume_ml: ask.volume_ml,
        powder_g: ask.powder,
        water_ml: ask.water,
        is_kept: ask.keep,
    };
    let saved = match app::mix(&open.book, &open.who, mixed.clone(), open.now).await {
        Err(app::AppError::Ask(question)) => {
            keep_or_stop(&question, "Write it down as it is?", "If it was mixed so, add --keep.")?;
            app::mix(&open.book, &open.who, Mixed { is_kept: true, ..mixed }, open.now).await?
        }
        other => other?,
    };
    show::saved(&saved, ask.out.json)
}

/// Returns when a person at a terminal says yes.
fn keep_or_stop(question: &app::Ask, ask: &str, how_to_keep: &str) -> Result<(), Failed> {
    if prompts::is_possible() {
        eprintln!("{question}");
        if prompts::ask(&format!("{ask} yes, or empty to stop"), None)?.trim().eq_ignore_ascii_case("yes") {
            return Ok(());
        }
    }
    Err(Failed::Question(format!("{question}\nNothing was saved. {how_to_keep}")))
}

async fn add(open: &Open, ask: args::Add) -> Result<String, Failed> {
    let loaded = loaded(open).await?;
    let kind = match ask.what {
        Addable::Carer => Kind::Carer,
        Addable::Milk => Kind::Milk,
        Addable::Vet => Kind::Vet,
        Addable::VetOrder => Kind::VetOrder,
        Addable::Food => Kind::Food,
        Addable::Dam => Kind::Dam,
        Addable::Note => Kind::Note,
    };
    let keys = kind.keys();
    let mut body = values(&ask.keys, &keys)?;
    for key in keys.iter().filter(|k| k.required) {
        if body.contains_key(key.name) {
            continue;
        }
        let text = match key.shape {
            Shape::Time => loaded.typed_time(open.now),
            _ if key.meaning.is_empty() => prompts::ask(key.name, None)?,
            _ => prompts::ask(&format!("{} ({})", key.name, key.meaning), None)?,
        };
        body.insert(key.name.into(), value(text.trim(), key.shape));
    }
    let pup = ask.pup.as_deref().map(|p| loaded.pup(p)).transpose()?;
    if kind == Kind::Milk {
        let shelve = |body, is_looked_at| app::shelve(&open.book, &open.who, loaded.id, body, is_looked_at, open.now);
        let saved = match shelve(body.clone(), ask.keep).await {
            Err(app::AppError::Ask(question)) => {
                keep_or_stop(&question, "Does the label say the same?", "If the label says the same, add --keep.")?;
                shelve(body, true).await?
            }
            other => other?,
        };
        return show::saved(&saved, ask.out.json);
    }
    show::saved(&app::put(&open.book, &open.who, loaded.id, kind, pup, body, open.now).await?, ask.out.json)
}

async fn medicine(open: &Open, what: args::Medicine, is_json: bool) -> Result<String, Failed> {
    let loaded = loaded(open).await?;
    match what {
        args::Medicine::Due => {
            let due = app::due(&loaded, open.now);
            if is_json {
                let lines: Vec<Value> = due
                    .iter()
                    .map(|d| json!({ "pup": d.pup, "product": d.product, "as_prescribed": d.as_prescribed, "vet": d.vet, "at": loaded.typed_time(d.at), "is_overdue": d.is_overdue }))
                    .collect();
                return show::pretty(&Value::Array(lines));
            }
            if due.is_empty() {
                return Ok("Nothing that a vet prescribed is due.\n".into());
            }
            Ok(due
                .iter()
                .map(|d| {
                    let whom = d.pup.as_deref().unwrap_or("the dam or the litter");
                    let overdue = if d.is_overdue { "OVERDUE since " } else { "" };
                    let at = report::clock::date_and_clock(d.at, &loaded.zone());
                    show::wrapped(&format!(
                        "{overdue}{at}: {} for {whom}, as {} prescribed: {}",
                        d.product, d.vet, d.as_prescribed
                    ))
                })
                .collect())
        }
        args::Medicine::Prescribed { keys, pup } => {
            let body = values(&keys, &Kind::Medicine.keys())?;
            let pup = pup.as_deref().map(|p| loaded.pup(p)).transpose()?;
            show::saved(&app::prescribe(&open.book, &open.who, loaded.id, pup, body, open.now).await?, is_json)
        }
        args::Medicine::Given { keys, pup } => {
            let body = values(&keys, &Kind::MedicineGiven.keys())?;
            let pup = pup.as_deref().map(|p| loaded.pup(p)).transpose()?;
            show::saved(&app::given(&open.book, &open.who, loaded.id, pup, body, open.now).await?, is_json)
        }
    }
}

async fn history(open: &Open, ask: &args::History) -> Result<String, Failed> {
    let loaded = loaded(open).await?;
    let zone = loaded.zone();
    let pup = ask.pup.as_deref().map(|p| loaded.pup(p)).transpose()?;
    let mut current: Vec<_> = loaded
        .folded
        .counted()
        .filter_map(|id| loaded.folded.current(id))
        .filter(|f| pup.is_none_or(|p| f.pup == Some(p) || f.id == p))
        .collect();
    current.sort_by_key(|f| std::cmp::Reverse((f.occurred, f.id)));
    let mut text = String::new();
    let mut lines = Vec::new();
    for fact in current.into_iter().take(ask.most) {
        let versions = whelpward_core::book::history(&loaded.all, fact.id);
        if ask.out.json {
            let versions: Vec<Value> = versions
                .iter()
                .map(|v| json!({ "fact": FactJson::from(&*v.fact), "counts": v.counts, "voided_by": v.voided_by.map(|i| i.to_string()) }))
                .collect();
            lines.push(Value::Array(versions));
            continue;
        }
        text.push_str(&format!("{}\n    {}\n", show::fact_line(&loaded, fact, &zone), fact.id));
        for former in versions.iter().filter(|v| !v.counts) {
            text.push_str(&format!("    before: {} ({})\n", app::values(&former.fact, &zone), former.fact.device));
        }
    }
    if ask.out.json { show::pretty(&Value::Array(lines)) } else { Ok(text) }
}

/// The one entry whose id begins with, or ends in, these letters.
fn entry(loaded: &Loaded, id: &str) -> Result<FactId, Failed> {
    let wanted = id.trim().to_lowercase();
    let fits = |f: &&std::sync::Arc<whelpward_core::book::Fact>| {
        let text = f.id.to_string();
        text.starts_with(&wanted) || text.ends_with(&wanted)
    };
    let found: Vec<_> = loaded.all.iter().filter(fits).collect();
    match found.as_slice() {
        [one] => Ok(one.id),
        [] => Err(Failed::Message(format!("there is no entry {id}\nallowed: an id from whelpward history"))),
        _ => Err(Failed::Message(format!("{id} fits {} entries\nallowed: more of the id", found.len()))),
    }
}

async fn correct(open: &Open, ask: args::Correct) -> Result<String, Failed> {
    let loaded = loaded(open).await?;
    let fact = entry(&loaded, &ask.id)?;
    let kind = loaded.folded.current(fact).map(|f| f.kind);
    let body = values(&ask.keys, &kind.map(Kind::keys).unwrap_or_default())?;
    let pup = ask.pup.as_deref().map(|p| loaded.pup(p)).transpose()?;
    let correction = Correction { litter: loaded.id, fact, pup, body };
    show::saved(&app::correct(&open.book, &open.who, correction, open.now).await?, ask.out.json)
}

async fn undo(open: &Open, id: Option<&str>, is_json: bool) -> Result<String, Failed> {
    let loaded = loaded(open).await?;
    let which = id.map(|id| entry(&loaded, id)).transpose()?;
    let undone = app::undo(&open.book, &open.who, loaded.id, which, open.now).await?;
    let mut saved: Saved = undone.saved;
    if !is_json {
        saved.notes.push(show::fact_line(&loaded, &undone.was, &loaded.zone()));
    }
    show::saved(&saved, is_json)
}

async fn questions(open: &Open, is_json: bool) -> Result<String, Failed> {
    let loaded = loaded(open).await?;
    let waiting = open.book.store.set_aside().await?;
    let texts: Vec<String> =
        loaded.folded.questions.iter().map(|q| show::question(&loaded, q, &loaded.zone())).collect();
    if is_json {
        let aside: Vec<Value> = waiting
            .iter()
            .map(|w| json!({ "entry": w.entry, "why": w.why, "received_at": w.received.to_string() }))
            .collect();
        return show::pretty(&json!({ "questions": texts, "set_aside": aside }));
    }
    if texts.is_empty() && waiting.is_empty() {
        return Ok("Nothing waits for an answer.\n".into());
    }
    let mut text = String::new();
    for (n, question) in texts.iter().enumerate() {
        text.push_str(&format!("{}. {question}\n", n + 1));
    }
    for w in &waiting {
        text.push_str(&format!("Kept, not in the book ({}): {}\n", w.why, w.entry));
    }
    Ok(text)
}

async fn answer_question(open: &Open, number: usize, answer: SameOrTwo, is_json: bool) -> Result<String, Failed> {
    let loaded = loaded(open).await?;
    match number.checked_sub(1).and_then(|n| loaded.folded.questions.get(n)) {
        Some(Question::SameFeedTwice { first, second }) => {
            let to = app::AnswerTo {
                litter: loaded.id,
                first: *first,
                second: *second,
                is_the_same: answer == SameOrTwo::Same,
            };
            show::saved(&app::answer(&open.book, &open.who, to, open.now).await?, is_json)
        }
        Some(_) => {
            Err(Failed::Message("this question is settled by weighing again, or by whelpward correct or undo".into()))
        }
        None => {
            Err(Failed::Message(format!("there is no question {number}\nallowed: a number from whelpward questions")))
        }
    }
}

async fn folder(open: &Open, what: args::Folder, is_json: bool) -> Result<String, Failed> {
    match what {
        args::Folder::Check { .. } => unreachable!("answered without a book"),
        args::Folder::Load { folder } => {
            let files = crate::folder::files(&folder)?;
            let loaded = app::folder_in(&open.book, &files, open.now)
                .await?
                .map_err(|problems| Failed::Message(crate::folder::problems(&folder, &problems)))?;
            if is_json {
                return show::pretty(
                    &json!({ "litter": loaded.litter.to_string(), "name": loaded.name, "added": loaded.added, "there_before": loaded.there_before, "different": loaded.different }),
                );
            }
            Ok(folder_text(&loaded))
        }
        args::Folder::Write { folder } => {
            let litter = open.litter().await?;
            let (files, left) = app::folder_out(&open.book, litter.id).await?;
            crate::folder::write(&folder, &files)?;
            let mut text = format!("{} written into {}.\n", litter.name, folder.display());
            for n in left {
                text.push_str(&show::wrapped(&format!("Not in the folder: {} of {}", n.count, n.what)));
            }
            Ok(text)
        }
    }
}

fn folder_text(loaded: &FolderLoaded) -> String {
    let mut text = format!("{}: {} facts added, {} were there.\n", loaded.name, loaded.added, loaded.there_before);
    if !loaded.different.is_empty() {
        text.push_str(&show::wrapped(&format!(
            "In the book with other details, which stay: {}. Change them with: whelpward correct, add or litter set.",
            loaded.different.join(", ")
        )));
    }
    text
}
