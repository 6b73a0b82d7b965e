//! A phone is let in by a link that counts once.

use axum::extract::Path;
use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Response};
use maud::html;
use whelpward_app::access::{self, Denied, open_link};
use whelpward_app::find;
use whelpward_store::LinkKind;

use super::door::{AtTheDoor, why_denied};
use crate::fault::Fault;
use crate::form::Form;
use crate::words::{say, tell, word};

/// Looking at the link spends nothing: programs that show what is behind a link do that too.
pub async fn page(door: AtTheDoor, Path(token): Path<String>) -> Result<Response, Fault> {
    let link = match open_link(&door.home.book.store, LinkKind::Phone, &token, door.now).await {
        Ok(link) => link,
        Err(denied) => return refused(&door, denied),
    };
    let body = html! {
        h1 { (tell("join-title", &[("name", link.name.as_str().into())])) }
        p { (word("role", &link.role)) ": " (word("role-text", &link.role)) }
        (door.form(&format!("/j/{token}"), &html! {
            button class="primary save" type="submit" { (tell("join-button", &[("name", link.name.as_str().into())])) }
        }))
        p class="note" { (say("join-note")) }
    };
    Ok(door.page(&say("join-page"), &body).into_response())
}

fn refused(door: &AtTheDoor, denied: Denied) -> Result<Response, Fault> {
    if let Denied::App(error) = denied {
        return Err(Fault::App(error));
    }
    let (text, audit) = why_denied(&denied);
    let body = html! { h1 { (say("join-refused")) } p { (text) } p { (say("join-ask")) } };
    Ok(door.refused(StatusCode::GONE, &say("join-refused"), &body, audit.unwrap_or("link")))
}

pub async fn join(door: AtTheDoor, Path(token): Path<String>, _: Form) -> Result<Response, Fault> {
    let store = &door.home.book.store;
    let phone = match access::join(store, &door.by(), &token, door.label(), door.now).await {
        Ok(phone) => phone,
        Err(denied) => return refused(&door, denied),
    };
    // Straight to the litter, where there is one.
    let to = find(&door.home.book, None).await.map_or_else(|_| "/".into(), |l| format!("/litter/{}/now", l.id));
    door.let_in(&phone, &to).await
}
