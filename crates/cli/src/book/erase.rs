//! Erasing for good.

use std::path::PathBuf;

use whelpward_app::{Target, WouldGo, copies_after_erasing, erase, litters, would_go};
use whelpward_core::report::clock::date_and_clock;

use super::args::{Erase, EraseHow};
use super::keep::{backups, counted, export_all};
use super::{Failed, Open, prompts};

pub async fn run(open: &Open, what: Erase) -> Result<String, Failed> {
    let (target, how) = match what {
        Erase::Litter { name, how } => (litter(open, &name).await?, how),
        Erase::Person { name, how } => (Target::Person(name), how),
    };
    let mut text = String::new();
    // A name that is not there is said before anything is written.
    would_go(&open.book, &target).await?;
    if let Some(file) = &how.export {
        text.push_str(&export_all(open, file).await?);
    }
    let would_go = would_go(&open.book, &target).await?;
    let told = told(&target, &would_go);
    if !would_go.is_written_out {
        return Err(Failed::Message(format!(
            "{told}Not all of it is in a ZIP yet, so nothing was erased.\nallowed: with --export FILE, a new ZIP of the whole book"
        )));
    }
    let typed = typed(&how, &format!("{text}{told}"))?;
    let erased = erase(&open.book, &open.by(), &target, &typed, open.now).await?;
    text.push_str(&match &erased.instead {
        Some(instead) => format!("{} is now \"{instead}\" in {}.\n", would_go.name, entries(erased.facts)),
        None => format!("{} is erased: {}.\n", would_go.name, entries(erased.facts)),
    });
    if let Some(why) = &erased.not_cleaned {
        text.push_str(&format!(
            "The database could not clear the old bytes from its disk yet:\n  {why}\n\
             It tries again with each copy: whelpward backup\n"
        ));
    }
    text.push_str(&copies(open, &how).await);
    text.push_str(
        "What was printed, written out or sent before still has it, and so have copies in\n\
         a folder of your own (--second-copies, backup --to), and a phone that shows an\n\
         old page, until it is opened anew.\n",
    );
    Ok(text)
}

async fn litter(open: &Open, name: &str) -> Result<Target, Failed> {
    let all = litters(&open.book).await?;
    if let Some(by_id) = all.iter().find(|l| l.id.to_string() == name.trim()) {
        return Ok(Target::Litter(by_id.id));
    }
    let named: Vec<_> = all.iter().filter(|l| l.name == name.trim()).collect();
    match named.as_slice() {
        [one] => Ok(Target::Litter(one.id)),
        [] => {
            let names: Vec<&str> = all.iter().map(|l| l.name.as_str()).collect();
            Err(Failed::Message(format!("there is no litter \"{name}\" in the book\nallowed: {}", names.join(", "))))
        }
        several => {
            let zone = jiff::tz::TimeZone::system();
            let line = |l: &&whelpward_app::LitterInfo| {
                let born =
                    l.whelped_at.map_or("not born yet".into(), |at| format!("born {}", date_and_clock(at, &zone)));
                format!("\n  {}  {born}, {}", l.id, counted(l.pups, "pup", "pups"))
            };
            let lines: String = several.iter().map(line).collect();
            Err(Failed::Message(format!("several litters are called \"{name}\"\nallowed: the id of one{lines}")))
        }
    }
}

fn entries(count: i64) -> String {
    counted(usize::try_from(count).unwrap_or(0), "entry", "entries")
}

/// What would go, before anything does.
fn told(target: &Target, would_go: &WouldGo) -> String {
    let WouldGo { name, weighings, feeds, .. } = would_go;
    let of = format!(
        "{}, among them {} and {}",
        counted(would_go.facts, "entry", "entries"),
        counted(*weighings, "weighing", "weighings"),
        counted(*feeds, "feed", "feeds")
    );
    match target {
        Target::Litter(_) => format!("The litter {name} has {of}. Erasing removes all of it, for good.\n"),
        Target::Person(_) => {
            let mut text =
                format!("{name} stands in {of}.\nErasing puts \"Person\" and a number there. The rest stays.\n");
            if !would_go.sentences.is_empty() {
                text.push_str("These sentences change too; look whether each means the person:\n");
                for sentence in &would_go.sentences {
                    text.push_str(&format!("  {sentence}\n"));
                }
            }
            text
        }
    }
}

fn typed(how: &EraseHow, told: &str) -> Result<String, Failed> {
    if let Some(typed) = &how.confirm {
        return Ok(typed.clone());
    }
    if !prompts::is_possible() {
        return Err(Failed::Question(format!("{told}Nothing was erased yet.\n- it is meant: --confirm and the name")));
    }
    eprint!("{told}");
    prompts::ask("Type the name to erase it; nothing else erases it", None)
}

/// A copy of the book as it is now; and those of before, removed or named.
async fn copies(open: &Open, how: &EraseHow) -> String {
    let to = backups(&open.place, open.home.as_deref(), None, None);
    // What lies beside the folder of several homes is of none of them.
    let beside = if open.home.is_some() { &to.folder } else { &open.place.folder };
    let after = copies_after_erasing(&open.book, &to, beside, how.old_copies, open.now).await;
    let is_new_there = after.newest.is_ok();
    let mut text = match after.newest {
        Ok(path) => format!("A copy of the book without it: {}\n", path.display()),
        Err(error) => format!("No copy of the book was made now: {error}\n"),
    };
    if after.removed > 0 {
        text.push_str(&format!("{} removed.\n", counted(after.removed, "older copy", "older copies")));
    }
    if !after.left.is_empty() {
        let why = match (how.old_copies, is_new_there) {
            (true, true) => "could not be removed",
            (true, false) => "still hold it and stay, because no new one could be made",
            (false, _) => "still hold it (--old-copies removes them)",
        };
        text.push_str(&format!("These older copies {why}:\n"));
        for path in shown(&after.left) {
            text.push_str(&format!("  {path}\n"));
        }
    }
    text
}

/// The first few of many.
fn shown(paths: &[PathBuf]) -> Vec<String> {
    const MOST: usize = 8;
    let mut lines: Vec<String> = paths.iter().take(MOST).map(|p| p.display().to_string()).collect();
    if paths.len() > MOST {
        lines.push(format!("and {} more", paths.len() - MOST));
    }
    lines
}
