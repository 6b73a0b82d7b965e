//! How a phone is told to trust this computer, and how it forgets that again.

use axum::http::header;
use axum::response::{IntoResponse as _, Response};
use maud::{Markup, html};

use super::door::AtTheDoor;
use super::{HomeNetwork, Padlock};
use crate::fault::Fault;
use crate::words::say;

fn padlock(door: &AtTheDoor) -> Option<(&HomeNetwork, &Padlock)> {
    let network = door.home.doors.network.as_ref()?;
    Some((network, network.padlock.as_ref()?))
}

pub async fn page(door: AtTheDoor) -> Response {
    let title = say("padlock-title");
    let body = match padlock(&door) {
        None => html! {
            h1 { (title) }
            p { (say("padlock-off")) }
            p { code { "whelpward serve --lan --https" } }
        },
        Some((network, padlock)) => html! {
            h1 { (title) }
            p { (say("padlock-why")) }
            @if padlock.https.authority().is_some() { (to_trust()) }
            section {
                h2 { (say("padlock-then")) }
                @for address in network.secure_addresses() {
                    p { a class="button primary" href=(format!("{address}/")) { (address) } }
                }
                p { (say("padlock-sign-in")) }
                p { (say("padlock-waiting")) }
            }
            @if padlock.https.authority().is_some() {
                section {
                    h2 { (say("padlock-remove")) }
                    (by_device([
                        say("padlock-remove-iphone"), say("padlock-remove-android"), say("padlock-remove-computer"),
                    ]))
                }
            }
        },
    };
    door.page(&title, &body).into_response()
}

fn to_trust() -> Markup {
    html! {
        section {
            h2 { (say("padlock-trust")) }
            p { (say("padlock-trust-text")) }
            p { a class="button second" href="/padlock/authority.crt" { (say("padlock-file")) } }
            // Not the fingerprint itself: who could change the file on its way could change this page too.
            p { strong { (say("padlock-fingerprint")) } }
            (by_device([say("padlock-add-iphone"), say("padlock-add-android"), say("padlock-add-computer")]))
            p class="note" { (say("padlock-menus")) }
        }
    }
}

/// The steps for each kind of device: iPhone, Android, computer.
fn by_device(steps: [String; 3]) -> Markup {
    let devices = [say("padlock-iphone"), say("padlock-android"), say("padlock-computer")];
    html! { dl { @for (device, step) in devices.iter().zip(steps) { dt { (device) } dd { (step) } } } }
}

/// The authority's certificate; everybody may have it, its key stays here.
pub async fn authority(door: AtTheDoor) -> Result<Response, Fault> {
    let authority = padlock(&door).and_then(|(_, p)| p.https.authority()).ok_or(Fault::NotFound)?;
    // Not as an attachment: a phone then offers to take it in.
    Ok(([(header::CONTENT_TYPE, "application/x-x509-ca-cert")], authority.der().to_vec()).into_response())
}
