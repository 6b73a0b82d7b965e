//! What a vet sees by a link: one page of one litter, until the link ends. Nothing can be written.

use axum::extract::{Path, Query};
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use jiff::Timestamp;
use maud::html;
use whelpward_app::access::{Denied, open_link};
use whelpward_core::report::clock::date_and_clock;
use whelpward_store::LinkKind;

use super::door::{AtTheDoor, why_denied};
use crate::assets::address;
use crate::fault::Fault;
use crate::here::{Here, Shelf};
use crate::layout::door_page;
use crate::print::vet_body;
use crate::words::{say, tell};

#[derive(serde::Deserialize)]
pub struct Asked {
    pup: Option<String>,
}

pub async fn page(door: AtTheDoor, Path(token): Path<String>, Query(asked): Query<Asked>) -> Result<Response, Fault> {
    let link = match open_link(&door.home.book.store, LinkKind::Vet, &token, door.now).await {
        Ok(link) => link,
        Err(Denied::App(error)) => return Err(Fault::App(error)),
        Err(denied) => {
            let (text, audit) = why_denied(&denied);
            let body = html! { h1 { (say("vet-link-over")) } p { (text) } };
            return Ok(door.refused(StatusCode::GONE, &say("vet-link-over"), &body, audit.unwrap_or("link")));
        }
    };
    let litter = link.litter.parse().map_err(|_| Fault::NotFound)?;
    let visit = door.as_reader(&format!("/v/{token}"));
    let (theme, book) = (visit.theme, std::sync::Arc::clone(&door.home.book));
    let here = Here::open(visit, Shelf::Own, book, litter, None).await?;
    let ends = Timestamp::from_millisecond(link.ends_ms).unwrap_or_default();
    let body = html! {
        p class="note no-print" { (tell("vet-link-until", &[("at", date_and_clock(ends, here.zone()).into())])) }
        (vet_body(&here, asked.pup, |pup| format!("/v/{token}?pup={pup}"))?)
    };
    Ok(door_page(theme, here.now, here.zone(), &say("vet-title"), &address("print.css"), &body).into_response())
}
