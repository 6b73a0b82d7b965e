//! The pages of the prints: as one sees them, as a PDF, and the style of their foot.

use axum::extract::{Path, Query};
use axum::http::header;
use axum::response::{IntoResponse as _, Response};
use maud::{Markup, html};

use whelpward_app::{AppError, own_litters};
use whelpward_core::book::FactId;
use whelpward_core::supplies::Expected;
use whelpward_print::{Paper, html as as_html, pdf};

use super::{Print, Source, document};
use crate::assets::style;
use crate::cue::band;
use crate::fault::Fault;
use crate::here::Here;
use crate::layout::{Tab, page_styled};
use crate::show::phones;
use crate::words::{say, tell};

#[derive(serde::Deserialize)]
pub struct Which {
    print: String,
}

#[derive(serde::Deserialize, Clone)]
pub struct Asked {
    pup: Option<String>,
    paper: Option<String>,
}

/// Every print with a link.
pub async fn choice(here: Here) -> Markup {
    let body = html! {
        h1 { (say("prints-title")) }
        ul class="menu" {
            @for print in Print::ALL { li { a class="button" href=(here.to(&format!("print/{}", print.word()))) { (print.title()) } } }
            li { a class="button" href=(here.to("paper")) { (say("paper-title")) } }
        }
    };
    crate::layout::page(&here, &say("prints-title"), Tab::More, &body)
}

pub async fn page(here: Here, Path(which): Path<Which>, Query(asked): Query<Asked>) -> Result<Markup, Fault> {
    shown(&here, Print::from_word(&which.print).ok_or(Fault::NotFound)?, &asked).await
}

/// The sheet for the fridge; what it says is kept as advice.
pub async fn sheet(here: Here) -> Result<Markup, Fault> {
    whelpward_app::today(&here.book, &here.who(), here.litter, here.now).await?;
    shown(&here, Print::Fridge, &Asked { pup: None, paper: None }).await
}

pub async fn vet_page(here: Here, Query(asked): Query<Asked>) -> Result<Markup, Fault> {
    shown(&here, Print::Vet, &asked).await
}

fn source(here: &Here) -> Source {
    let source = Source::new(here.facts(), Some(&here.loaded), here.now);
    match here.visit.home.doors.network.as_ref().and_then(|network| network.addresses().into_iter().next()) {
        Some(at) => source.reached_at(format!("{at}{}", here.to("now"))),
        None => source,
    }
}

/// Only a review reads the other litters of the household.
async fn source_of(here: &Here, print: Print) -> Result<Source, Fault> {
    if print != Print::Review {
        return Ok(source(here));
    }
    let own = own_litters(&here.book, None, &Expected::of(here.facts())).await?;
    Ok(source(here).with_own(own))
}

/// The name of the pup that was asked for by its id.
fn pup_name<'h>(here: &'h Here, asked: &Asked) -> Result<Option<&'h str>, Fault> {
    asked.pup.as_deref().filter(|id| !id.is_empty()).map(|id| Ok(here.pup(id)?.1)).transpose()
}

async fn shown(here: &Here, print: Print, asked: &Asked) -> Result<Markup, Fault> {
    let source = source_of(here, print).await?;
    let name = pup_name(here, asked)?;
    let made = document(print, &source, name).map_err(AppError::Said);
    let made = match made {
        Ok(made) => made,
        Err(AppError::Said(why)) => {
            let body = html! { h1 { (print.title()) } p { (why) } };
            return Ok(crate::layout::page(here, &print.title(), Tab::More, &body));
        }
        Err(other) => return Err(other.into()),
    };
    let chosen =
        if print.is_of_one_pup() { source.pup_asked(name).ok().and_then(|p| here.pup_id(&p.id.0)) } else { None };
    let pup = chosen.map(|id| format!("pup={id}&")).unwrap_or_default();
    let file = |paper: &str| here.to(&format!("print/{}/file.pdf?{pup}paper={paper}", print.word()));
    let body = html! {
        div class="no-print" {
            @if matches!(print, Print::Vet | Print::RedFlags) { (phones(&source.today.vets)) }
            @if print.is_of_one_pup() { (whose(here, &source, chosen, |id| here.to(&format!("print/{}?pup={id}", print.word())))) }
        }
        (as_html::body(&made))
        div class="no-print" {
            p class="note" { (say("print-how")) }
            p class="row" {
                a class="button second" href=(file("a4")) { (say("print-pdf-a4")) }
                a class="button second" href=(file("letter")) { (say("print-pdf-letter")) }
            }
        }
    };
    let sheet = here.to(&format!("print/{}/page.css", print.word()));
    Ok(page_styled(here, &print.title(), Tab::More, &sheet, &body))
}

/// The pups with a way to the same print of each.
fn whose(here: &Here, source: &Source, chosen: Option<FactId>, address: impl Fn(FactId) -> String) -> Markup {
    html! {
        nav class="order" aria-label=(say("vet-which")) {
            @for (id, name) in &here.loaded.folded.pups {
                @let marks = source.facts.pups.iter().find(|p| p.id.0 == *name).map(|p| p.marks.as_str());
                @if let Some(marks) = marks {
                    a href=(address(*id)) aria-current=[(Some(*id) == chosen).then_some("page")] { (band(name, marks)) span { (name) } }
                }
            }
        }
    }
}

/// The page for the vet without its frame, for one who sees nothing else; `address` leads to the same page of
/// another pup.
pub fn vet_body(here: &Here, pup: Option<String>, address: impl Fn(FactId) -> String) -> Result<Markup, Fault> {
    let source = source(here);
    let name = pup_name(here, &Asked { pup, paper: None })?.map(str::to_owned);
    let made = document(Print::Vet, &source, name.as_deref()).map_err(AppError::Said)?;
    let chosen = source.pup_asked(name.as_deref()).ok().and_then(|p| here.pup_id(&p.id.0));
    Ok(html! {
        div class="no-print" {
            (phones(&source.today.vets))
            (whose(here, &source, chosen, address))
        }
        (as_html::body(&made))
    })
}

/// The style of the page, of paper, and the foot of every printed page, which only a style sheet can put there.
pub async fn page_style(here: Here, Path(which): Path<Which>) -> Result<Response, Fault> {
    let print = Print::from_word(&which.print).ok_or(Fault::NotFound)?;
    let source = source(&here);
    let pup = source.pup_asked(None).ok().map(|p| p.id.0.clone());
    let foot = document(print, &source, pup.as_deref()).map_or_else(|_| source.foot(false), |d| d.foot);
    let about = [(header::CONTENT_TYPE, "text/css; charset=utf-8"), (header::CACHE_CONTROL, "no-store")];
    let all = format!("{}{}{}", style(), whelpward_print::STYLE, as_html::foot_style(&foot));
    Ok((about, all).into_response())
}

/// The same as a file.
pub async fn download(here: Here, Path(which): Path<Which>, Query(asked): Query<Asked>) -> Result<Response, Fault> {
    let print = Print::from_word(&which.print).ok_or(Fault::NotFound)?;
    let paper = if asked.paper.as_deref() == Some("letter") { Paper::Letter } else { Paper::A4 };
    let made = document(print, &source_of(&here, print).await?, pup_name(&here, &asked)?).map_err(AppError::Said)?;
    let bytes = tokio::task::spawn_blocking(move || pdf::pdf(&made, paper))
        .await
        .map_err(|e| AppError::Said(e.to_string()))?
        .map_err(|e| AppError::Said(tell("print-no-pdf", &[("why", e.to_string().into())])))?;
    let name = format!("inline; filename=\"{}.pdf\"", print.word());
    Ok(([(header::CONTENT_TYPE, "application/pdf".to_owned()), (header::CONTENT_DISPOSITION, name)], bytes)
        .into_response())
}
