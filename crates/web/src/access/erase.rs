//! Everything taken out as one file, and a litter or a person's name erased for good (usability O-26). Only the
//! breeder sees it.

use axum::http::{StatusCode, header};
use axum::response::{IntoResponse as _, Response};
use jiff::tz::TimeZone;
use maud::{Markup, html};

use whelpward_app::{AppError, CopiesAfter, Target, WouldGo, everything_out, litters, people, would_go};
use whelpward_core::report::clock::date_and_clock;
use whelpward_store::{Erased, StoreError};

use crate::copies::after_erasing;
use crate::fault::Fault;
use crate::form::{Form, button, field, form, tick, wrong};
use crate::here::Visit;
use crate::layout::outer_page;
use crate::words::{say, tell};

/// What is chosen to be erased. It comes by a form, because a name in an address would stay in the browser's list
/// of pages.
struct Asked {
    litter: String,
    person: String,
}

impl Asked {
    fn of(typed: &Form) -> Self {
        Self { litter: typed.get("litter").to_owned(), person: typed.get("person").to_owned() }
    }

    fn target(&self) -> Option<Target> {
        match (self.litter.parse(), self.person.trim()) {
            (Ok(id), _) => Some(Target::Litter(id)),
            (Err(_), "") => None,
            (Err(_), name) => Some(Target::Person(name.to_owned())),
        }
    }
}

pub async fn page(visit: Visit) -> Result<Markup, Fault> {
    let choices = choices(&visit).await?;
    let title = say("erase-title");
    Ok(outer_page(&visit, &title, &html! { h1 { (title) } (take_out(&visit)) (choices) }))
}

/// The whole book as a file for this device.
pub async fn everything(visit: Visit, _: Form) -> Result<Response, Fault> {
    let book = &visit.home.book;
    let out = everything_out(book, visit.clock).await?;
    out.is_kept(book, &visit.asker.by(), visit.clock).await?;
    let name = visit.clock.strftime("everything-%Y%m%dT%H%M%SZ.zip");
    let headers = [
        (header::CONTENT_TYPE, "application/zip".to_owned()),
        (header::CONTENT_DISPOSITION, format!("attachment; filename=\"{name}\"")),
    ];
    Ok((headers, out.zip).into_response())
}

/// The page of one litter or person, with what is wrong.
async fn shown(visit: &Visit, asked: &Asked, target: &Target, problem: Option<&str>) -> Result<Response, Fault> {
    let would_go = match would_go(&visit.home.book, target).await {
        Ok(would_go) => would_go,
        // Such as one that was erased in another window.
        Err(AppError::Said(_) | AppError::Refused { .. }) => return Err(Fault::NotFound),
        Err(error) => return Err(error.into()),
    };
    let title = tell("erase-name", &[("name", would_go.name.as_str().into())]);
    let body = html! { h1 { (title) } (wrong(problem)) (chosen(visit, asked, target, &would_go)) };
    let status = if problem.is_some() { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK };
    Ok((status, outer_page(visit, &title, &body)).into_response())
}

fn take_out(visit: &Visit) -> Markup {
    html! {
        section {
            h2 { (say("erase-take-out")) }
            p { (say("erase-take-out-text")) }
            (button(visit, "/household/everything", "second", &[], &html! { (say("erase-take-out-now")) }))
        }
    }
}

async fn choices(visit: &Visit) -> Result<Markup, Fault> {
    let book = &visit.home.book;
    let (litters, people) = (litters(book).await?, people(book).await?);
    Ok(html! {
        section {
            h2 { (say("erase-litter")) }
            p { (say("erase-litter-text")) }
            @if litters.is_empty() { p { (say("erase-nothing")) } }
            ul class="menu" {
                @for litter in &litters {
                    li {
                        (choose(visit, ("litter", &litter.id.to_string()), &html! {
                            (litter.name)
                            @if let Some(at) = litter.whelped_at { " " small { (date_and_clock(at, &TimeZone::system())) } }
                        }))
                    }
                }
            }
        }
        section {
            h2 { (say("erase-person")) }
            p { (say("erase-person-text")) }
            @if people.is_empty() { p { (say("erase-nothing")) } }
            ul class="menu" { @for name in &people { li { (choose(visit, ("person", name), &html! { (name) })) } } }
        }
        p { a class="button" href="/household" { (say("finish")) } }
    })
}

fn choose(visit: &Visit, what: (&str, &str), label: &Markup) -> Markup {
    button(visit, "/household/erase", "second", &[what, ("look", "yes")], label)
}

fn chosen(visit: &Visit, asked: &Asked, target: &Target, would_go: &WouldGo) -> Markup {
    let is_litter = matches!(target, Target::Litter(_));
    let counts = [
        ("entries", would_go.facts.into()),
        ("weighings", would_go.weighings.into()),
        ("feeds", would_go.feeds.into()),
    ];
    html! {
        p { (tell(if is_litter { "erase-litter-goes" } else { "erase-person-goes" }, &counts)) }
        @if !would_go.sentences.is_empty() {
            p { (say("erase-sentences")) }
            ul { @for sentence in &would_go.sentences { li { (sentence) } } }
        }
        @if would_go.is_written_out {
            p { (say("erase-is-out")) }
            (form(visit, "/household/erase", &html! {
                input type="hidden" name="litter" value=(asked.litter);
                input type="hidden" name="person" value=(asked.person);
                (tick("have_file", &say("erase-have-file"), false))
                @if visit.home.copies.is_some() { (tick("old_copies", &say("erase-old-copies"), false)) }
                (field("typed", &say("erase-type"), "text", "", &would_go.name))
                button class="primary" type="submit" { (say("erase-now")) }
            }))
        } @else {
            p class="wrong" { (say("erase-not-out")) }
            (button(visit, "/household/everything", "second", &[], &html! { (say("erase-take-out-now")) }))
            p { (say("erase-not-out-then")) }
            (choose(visit, if is_litter { ("litter", &asked.litter) } else { ("person", &asked.person) }, &html! { (say("erase-look-again")) }))
        }
        p { a class="button" href="/household/erase" { (say("erase-back")) } }
    }
}

pub async fn erase(visit: Visit, typed: Form) -> Result<Response, Fault> {
    let asked = Asked::of(&typed);
    let target = asked.target().ok_or(Fault::BadForm)?;
    if typed.get("look") == "yes" {
        return shown(&visit, &asked, &target, None).await;
    }
    if typed.get("have_file") != "yes" {
        return shown(&visit, &asked, &target, Some(&say("erase-no-file"))).await;
    }
    let book = &visit.home.book;
    match whelpward_app::erase(book, &visit.asker.by(), &target, typed.get("typed"), visit.clock).await {
        Ok(erased) => {
            let after = after_erasing(&visit.home, typed.get("old_copies") == "yes").await;
            Ok(done(&visit, &erased, after.as_ref()).into_response())
        }
        Err(AppError::Refused { what, allowed }) => {
            let text = tell("refused", &[("what", what.into()), ("allowed", allowed.into())]);
            shown(&visit, &asked, &target, Some(&text)).await
        }
        // An entry came in behind the file.
        Err(AppError::Store(StoreError::NotWrittenOut { .. })) => {
            shown(&visit, &asked, &target, Some(&say("erase-not-out"))).await
        }
        Err(AppError::Said(_)) => Err(Fault::NotFound),
        Err(error) => Err(error.into()),
    }
}

fn done(visit: &Visit, erased: &Erased, after: Option<&CopiesAfter>) -> Markup {
    let title = say("erase-done");
    let body = html! {
        h1 { (title) }
        p {
            @match &erased.instead {
                Some(instead) => { (tell("erase-done-person", &[("instead", instead.as_str().into()), ("entries", erased.facts.into())])) }
                None => { (tell("erase-done-litter", &[("entries", erased.facts.into())])) }
            }
        }
        @if let Some(why) = &erased.not_cleaned { p class="wrong" { (tell("erase-not-cleaned", &[("why", why.as_str().into())])) } }
        @if let Some(after) = after {
            @match &after.newest {
                Ok(path) => { p { (tell("erase-new-copy", &[("file", path.display().to_string().into())])) } }
                Err(error) => { p class="wrong" { (tell("copies-failed", &[("why", error.to_string().into())])) } }
            }
            @if after.removed > 0 { p { (tell("erase-copies-removed", &[("count", after.removed.into())])) } }
            @if !after.left.is_empty() {
                p { (say("erase-copies-left")) }
                ul { @for path in &after.left { li { code class="address" { (path.display()) } } } }
            }
        }
        p { (say("erase-still")) }
        p { a class="button" href="/household" { (say("finish")) } }
    };
    outer_page(visit, &title, &body)
}
