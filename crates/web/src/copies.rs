//! Copies of the book while the pages are served: every hour beside a young litter, else every
//! day; and what became of the last one, for the pages.

use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::Duration;

use jiff::Timestamp;
use maud::{Markup, html};

use whelpward_app::{AppError, Backups, CopiesAfter, back_up, copies_after_erasing, newest_good, next_due};

use crate::Home;
use crate::here::{Here, Shelf};
use crate::show::{sentence, when};
use crate::words::{say, tell};

/// How often it is asked whether a copy is due; after a failure it is tried again as often.
const LOOK_EVERY: Duration = Duration::from_mins(1);

/// Where copies go, and how the last one went.
pub struct Copies {
    to: Backups,
    state: Mutex<State>,
}

#[derive(Debug, Clone, Default)]
struct State {
    /// The newest good copy.
    last: Option<(Timestamp, PathBuf)>,
    next: Option<Timestamp>,
    failed: Option<String>,
    second_failed: Option<String>,
    was_looked_at: bool,
}

impl Copies {
    pub fn new(to: Backups) -> Self {
        Self { to, state: Mutex::default() }
    }

    fn state(&self) -> State {
        self.state.lock().unwrap_or_else(PoisonError::into_inner).clone()
    }

    fn set(&self, state: State) {
        *self.state.lock().unwrap_or_else(PoisonError::into_inner) = state;
    }
}

/// Copies the book until the server ends.
pub async fn keep(home: Arc<Home>) {
    let mut told = None;
    let mut ended = home.live.ended();
    loop {
        copy_if_due(&home).await;
        let state = home.copies.as_ref().map(Copies::state).unwrap_or_default();
        let failed = state.failed.or(state.second_failed);
        if failed != told {
            if let Some(why) = &failed {
                eprintln!("the copies of the book: {why}");
            }
            told = failed;
        }
        tokio::select! {
            () = tokio::time::sleep(LOOK_EVERY) => {}
            _ = ended.wait_for(|is_ended| *is_ended) => return,
        }
    }
}

/// Makes a copy if one is due; a failure is kept for the pages, and tried again.
pub async fn copy_if_due(home: &Home) {
    let Some(copies) = &home.copies else { return };
    let now = (home.clock)();
    let mut state = copies.state();
    match look(home, copies, now, &mut state).await {
        Ok(()) => state.failed = None,
        Err(error) => state.failed = Some(error.to_string().replace('\n', "; ")),
    }
    copies.set(state);
}

async fn look(home: &Home, copies: &Copies, now: Timestamp, state: &mut State) -> Result<(), AppError> {
    if home.book.store.count().await? == 0 {
        return Ok(());
    }
    let mut is_wanted = next_due(&home.book, &copies.to, now).await? <= now;
    if !state.was_looked_at {
        // A copy that lies there and is broken is none.
        let (good, warning) = newest_good(&copies.to, now).await;
        state.last = good.and_then(|(path, _)| Some((made_at(&path)?, path)));
        is_wanted |= warning.is_some();
        state.was_looked_at = true;
    }
    if is_wanted {
        let done = back_up(&home.book, &copies.to, now).await?;
        state.last = Some((now, done.path));
        state.second_failed = done.second_failed;
    }
    state.next = Some(next_due(&home.book, &copies.to, now).await?);
    Ok(())
}

fn made_at(path: &std::path::Path) -> Option<Timestamp> {
    whelpward_app::copied_at(path.file_name()?.to_str()?)
}

/// After something was erased: a new copy, and what became of the older ones; nothing where no copies are made.
pub async fn after_erasing(home: &Home, remove_older: bool) -> Option<CopiesAfter> {
    let copies = home.copies.as_ref()?;
    let now = (home.clock)();
    let after = copies_after_erasing(&home.book, &copies.to, &home.folder, remove_older, now).await;
    // What is said of the last copy is looked at anew.
    copies.set(State::default());
    Some(after)
}

/// On the settings page: where the copies are, the last and the next.
pub fn told(here: &Here) -> Markup {
    let Some(copies) = &here.visit.home.copies else { return html! {} };
    let state = copies.state();
    html! {
        section {
            h2 { (say("copies-title")) }
            (failure(here))
            @match &state.last {
                Some((at, path)) => { p { (tell("copies-last", &[("at", when(here, *at).into()), ("file", path.display().to_string().into())])) } }
                None => { p { (tell("copies-none", &[("folder", copies.to.folder.display().to_string().into())])) } }
            }
            @if let Some(next) = state.next.filter(|_| state.failed.is_none()) {
                p { (tell("copies-next", &[("at", when(here, next).into())])) }
            }
            p {
                (tell("copies-kept", &[
                    ("hourly", copies.to.keep.hourly.into()), ("daily", copies.to.keep.daily.into()),
                    ("weekly", copies.to.keep.weekly.into()),
                ]))
                " "
                @match &copies.to.second {
                    Some(second) => { (tell("copies-second", &[("folder", second.display().to_string().into())])) }
                    None => { (say("copies-no-second")) }
                }
            }
        }
    }
}

/// That copies fail; nothing where they do not.
pub fn failure(here: &Here) -> Markup {
    let state = here.visit.home.copies.as_ref().filter(|_| here.shelf == Shelf::Own).map(Copies::state);
    let state = state.unwrap_or_default();
    html! {
        @if let Some(why) = &state.failed { p class="wrong" { (tell("copies-failed", &[("why", sentence(why).into())])) } }
        @if let Some(why) = &state.second_failed { p class="wrong" { (tell("copies-second-failed", &[("why", sentence(why).into())])) } }
    }
}
