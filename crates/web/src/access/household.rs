//! Phones and people: who may come in, and what for. Only the breeder sees it.

use axum::http::StatusCode;
use axum::response::{IntoResponse as _, Redirect, Response};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use maud::{Markup, html};

use whelpward_app::access::{self, Denied, PHONE_LINK, Role, SHORTEST_PASSWORD, VET_LINK_DAYS};
use whelpward_app::{AppError, LitterInfo, litters};
use whelpward_core::book::Kind;
use whelpward_core::report::clock::date_and_clock;
use whelpward_store::{Device, Link, LinkKind, Person};

use super::door::why_denied;
use super::{HomeNetwork, Refused, qr};
use crate::fault::Fault;
use crate::form::{Form, button, choice, field, form, secret_field, wrong};
use crate::here::Visit;
use crate::layout::outer_page;
use crate::words::{say, tell, word};

/// All that the page shows.
struct Household {
    has_password: bool,
    people: Vec<Person>,
    /// Carers on record in a litter who have no place in the household yet.
    on_record: Vec<String>,
    devices: Vec<Device>,
    vet_links: Vec<Link>,
    litters: Vec<LitterInfo>,
}

impl Household {
    async fn of(visit: &Visit) -> Result<Self, Fault> {
        let book = &visit.home.book;
        let now_ms = visit.clock.as_millisecond();
        let people = book.store.people().await.map_err(AppError::from)?;
        let litters: Vec<LitterInfo> = litters(book).await?.into_iter().filter(|l| !l.is_closed).collect();
        let mut on_record = Vec::new();
        for litter in &litters {
            let loaded = book.load(litter.id).await?;
            for carer in loaded.folded.of_kind(Kind::Carer).filter_map(|f| f.body.get("name")?.as_str()) {
                if people.iter().all(|p| p.name != carer) && !on_record.iter().any(|n| n == carer) {
                    on_record.push(carer.to_owned());
                }
            }
        }
        Ok(Self {
            has_password: access::has_password(&book.store).await?,
            people,
            on_record,
            devices: book.store.devices(now_ms).await.map_err(AppError::from)?,
            vet_links: book.store.open_links(LinkKind::Vet, now_ms).await.map_err(AppError::from)?,
            litters,
        })
    }
}

pub async fn page(visit: Visit) -> Result<Markup, Fault> {
    shown(&visit, None).await
}

async fn shown(visit: &Visit, problem: Option<&str>) -> Result<Markup, Fault> {
    let household = Household::of(visit).await?;
    let body = html! {
        h1 { (say("household-title")) }
        (wrong(problem))
        @match &visit.home.doors.network {
            Some(_) => { (phones(visit, &household)) }
            None => { p { (say("household-how-1")) } p { code { "whelpward serve --lan" } } p { (say("household-how-2")) } }
        }
        @if !household.devices.is_empty() { (devices(visit, &household.devices)) }
        (people(visit, &household.people))
        @if let Some(network) = &visit.home.doors.network {
            (vet(visit, &household))
            (address(network))
        }
        (password_form(visit, household.has_password))
        p { a class="button" href="/household/audit" { (say("audit-title")) } }
        p { a class="button" href="/household/erase" { (say("erase-title")) } }
    };
    Ok(outer_page(visit, &say("household-title"), &body))
}

fn at(ms: i64) -> String {
    date_and_clock(Timestamp::from_millisecond(ms).unwrap_or_default(), &TimeZone::system())
}

fn roles() -> Vec<(String, String)> {
    Role::ALL.iter().map(|r| (r.word().to_owned(), word("role", r.word()))).collect()
}

fn phones(visit: &Visit, household: &Household) -> Markup {
    let known = household.people.iter().map(|p| (p.name.as_str(), p.role.as_str()));
    let new = household.on_record.iter().map(|n| (n.as_str(), Role::Carer.word()));
    html! {
        section {
            h2 { (say("household-phone")) }
            p { (say("household-phone-text")) }
            div class="ways" {
                @for (name, role) in known.chain(new) {
                    (button(visit, "/household/phone", "second", &[("name", name), ("role", role)], &html! {
                        (tell("household-phone-for", &[("name", name.into())])) small { (word("role", role)) }
                    }))
                }
            }
            details class="fold" open[household.people.is_empty() && household.on_record.is_empty()] {
                summary { (say("household-phone-other")) }
                (form(visit, "/household/phone", &html! {
                    (field("name", &say("household-name"), "text", "", &say("household-name-hint")))
                    (choice("role", &say("household-role"), &roles(), Role::Carer.word()))
                    dl { @for role in Role::ALL { dt { (word("role", role.word())) } dd { (word("role-text", role.word())) } } }
                    button class="primary" type="submit" { (say("household-phone-make")) }
                }))
            }
        }
    }
}

fn devices(visit: &Visit, devices: &[Device]) -> Markup {
    let own = visit.asker.signed_in.as_ref().map(|d| d.id.as_str());
    html! {
        section {
            h2 { (say("household-devices")) }
            ul class="cards" {
                @for device in devices {
                    li class="card" {
                        strong { (device.label) @if Some(device.id.as_str()) == own { " (" (say("household-this-one")) ")" } }
                        @if !device.carer.is_empty() { span { (say("carer-is")) " " (device.carer) } }
                        span { (tell("household-seen", &[("at", at(device.seen_ms).into())])) }
                        (button(visit, "/household/device", "second", &[("id", &device.id)], &html! { (say("household-sign-out")) }))
                    }
                }
            }
            @if devices.len() > 1 {
                (button(visit, "/household/device", "second", &[("id", "all")], &html! { (say("household-sign-out-all")) }))
            }
        }
    }
}

fn people(visit: &Visit, people: &[Person]) -> Markup {
    html! {
        section {
            h2 { (say("household-people")) }
            @for person in people {
                details class="fold" {
                    summary { (person.name) ", " (word("role", &person.role)) }
                    (form(visit, "/household/person", &html! {
                        input type="hidden" name="name" value=(person.name);
                        (choice("role", &say("household-role"), &roles(), &person.role))
                        button class="second" type="submit" { (say("household-role-save")) }
                    }))
                    div class="row" {
                        @if person.has_pin {
                            (button(visit, "/household/pin", "second", &[("name", &person.name)], &html! { (say("household-pin-remove")) }))
                        }
                        (button(visit, "/household/person", "second", &[("name", &person.name), ("remove", "yes")], &html! { (say("household-remove")) }))
                    }
                }
            }
            (form(visit, "/household/person", &html! {
                (field("name", &say("household-add"), "text", "", &say("household-add-hint")))
                (choice("role", &say("household-role"), &roles(), Role::Helper.word()))
                button class="second" type="submit" { (say("household-add-save")) }
            }))
        }
    }
}

fn vet(visit: &Visit, household: &Household) -> Markup {
    let days: Vec<(String, String)> =
        VET_LINK_DAYS.map(|d| (d.to_string(), tell("household-vet-days", &[("days", d.into())]))).collect();
    html! {
        section id="vet" {
            h2 { (say("household-vet")) }
            p { (say("household-vet-text")) }
            @for link in &household.vet_links {
                p { (tell("household-vet-open", &[("litter", link.name.as_str().into()), ("at", at(link.ends_ms).into())])) }
                (button(visit, "/household/vet/end", "second", &[("id", &link.id)], &html! { (say("household-vet-end")) }))
            }
            @for litter in &household.litters {
                (form(visit, "/household/vet", &html! {
                    input type="hidden" name="litter" value=(litter.id);
                    (choice("days", &tell("household-vet-for", &[("litter", litter.name.as_str().into())]), &days, "1"))
                    button class="second" type="submit" { (say("household-vet-make")) }
                }))
            }
        }
    }
}

fn address(network: &HomeNetwork) -> Markup {
    let addresses = network.addresses();
    html! {
        section {
            h2 { (say("household-address")) }
            @if addresses.is_empty() {
                p { (say("household-address-none")) }
            } @else {
                ul { @for address in &addresses { li { code { (address) "/" } } } }
                @if !network.is_fixed() { p class="note" { (say("household-address-changes")) } }
            }
            @if network.padlock.is_none() {
                p class="note" { (say("household-plain")) }
            } @else {
                p { (say("household-padlock")) }
                ul { @for address in network.secure_addresses() { li { code { (address) "/" } } } }
                p { a class="button second" href="/padlock" { (say("padlock-title")) } }
            }
        }
    }
}

fn password_form(visit: &Visit, has_password: bool) -> Markup {
    // At this computer alone a forgotten password can be replaced.
    let asks_before = has_password && visit.home.doors.network.is_some();
    html! {
        section {
            h2 { (say("household-password")) }
            p { (say(if has_password { "household-password-set" } else { "household-password-none" })) }
            (form(visit, "/household/password", &html! {
                @if asks_before { (secret_field("before", &say("household-password-before"), "current-password", "")) }
                (secret_field("password", &say("household-password-new"), "new-password", &tell("household-password-hint", &[("characters", SHORTEST_PASSWORD.into())])))
                (secret_field("again", &say("household-password-again"), "new-password", ""))
                button class="second" type="submit" { (say("household-password-save")) }
            }))
        }
    }
}

/// The page again with what is wrong.
async fn problem(visit: &Visit, text: &str) -> Result<Response, Fault> {
    Ok((StatusCode::UNPROCESSABLE_ENTITY, shown(visit, Some(text)).await?).into_response())
}

fn back() -> Response {
    Redirect::to("/household").into_response()
}

/// Goes back to the page, or says on it what was refused.
async fn done(visit: &Visit, outcome: Result<(), AppError>) -> Result<Response, Fault> {
    match outcome {
        Ok(()) => Ok(back()),
        Err(AppError::Refused { what, allowed }) => {
            problem(visit, &tell("refused", &[("what", what.into()), ("allowed", allowed.into())])).await
        }
        Err(other) => Err(Fault::App(other)),
    }
}

pub async fn password(visit: Visit, typed: Form) -> Result<Response, Fault> {
    if typed.get("password") != typed.get("again") {
        return problem(&visit, &say("household-password-differ")).await;
    }
    let store = &visit.home.book.store;
    let before = (visit.home.doors.network.is_some() && access::has_password(store).await?)
        .then(|| typed.get("before").to_owned());
    match access::set_password(store, &visit.asker.by(), typed.get("password").to_owned(), before, visit.clock).await {
        Ok(()) => Ok(back()),
        Err(Denied::App(error)) => done(&visit, Err(error)).await,
        Err(denied) => {
            let (text, audit) = why_denied(&denied);
            let mut response = problem(&visit, &text).await?;
            response.extensions_mut().insert(Refused::new(audit.unwrap_or("secret")));
            Ok(response)
        }
    }
}

/// A link as a picture and as text. Its token is nowhere else.
fn link_page(visit: &Visit, title: &str, link: &str, more: &Markup) -> Markup {
    let body = html! {
        h1 { (title) }
        p { (say("link-how")) }
        (qr::picture(link, title))
        p { code class="address" { (link) } }
        (more)
        p { a class="button" href="/household" { (say("finish")) } }
    };
    outer_page(visit, title, &body)
}

/// The address at which phones reach the pages; none while this computer is on no network.
fn reached_at(visit: &Visit) -> Result<Option<String>, Fault> {
    let network = visit.home.doors.network.as_ref().ok_or(Fault::NotFound)?;
    Ok(network.best_address(visit.is_secure))
}

pub async fn phone(visit: Visit, typed: Form) -> Result<Response, Fault> {
    let Some(role) = Role::from_word(typed.get("role")) else { return Err(Fault::BadForm) };
    let Some(at) = reached_at(&visit)? else { return problem(&visit, &say("household-address-none")).await };
    let name = typed.get("name");
    let store = &visit.home.book.store;
    match access::phone_link(store, &visit.asker.by(), name, role, visit.clock).await {
        Ok(token) => {
            let title = tell("link-phone-title", &[("name", name.into())]);
            let more = html! { p { (tell("link-phone-text", &[("minutes", PHONE_LINK.as_mins().into())])) } };
            Ok(link_page(&visit, &title, &format!("{at}/j/{token}"), &more).into_response())
        }
        Err(error) => done(&visit, Err(error)).await,
    }
}

pub async fn person(visit: Visit, typed: Form) -> Result<Response, Fault> {
    let (store, by, name) = (&visit.home.book.store, visit.asker.by(), typed.get("name"));
    let outcome = if typed.get("remove") == "yes" {
        access::remove_person(store, &by, name, visit.clock).await
    } else {
        let Some(role) = Role::from_word(typed.get("role")) else { return Err(Fault::BadForm) };
        access::put_person(store, &by, name, role, visit.clock).await
    };
    done(&visit, outcome).await
}

pub async fn pin_removed(visit: Visit, typed: Form) -> Result<Response, Fault> {
    let outcome = access::remove_pin(&visit.home.book.store, &visit.asker.by(), typed.get("name"), visit.clock).await;
    done(&visit, outcome).await
}

pub async fn device(visit: Visit, typed: Form) -> Result<Response, Fault> {
    let id = Some(typed.get("id")).filter(|id| *id != "all");
    let outcome = access::sign_out(&visit.home.book.store, &visit.asker.by(), id, visit.clock).await;
    done(&visit, outcome).await
}

pub async fn let_vet_in(visit: Visit, typed: Form) -> Result<Response, Fault> {
    let Some(at) = reached_at(&visit)? else { return problem(&visit, &say("household-address-none")).await };
    let litter = typed.fact("litter").ok_or(Fault::BadForm)?;
    let days: i64 = typed.get("days").parse().map_err(|_| Fault::BadForm)?;
    let all = litters(&visit.home.book).await?;
    let info = all.iter().find(|l| l.id == litter).ok_or(Fault::NotFound)?;
    let store = &visit.home.book.store;
    match access::vet_link(store, &visit.asker.by(), litter, (&info.name, days), visit.clock).await {
        Ok(token) => {
            let title = tell("link-vet-title", &[("litter", info.name.as_str().into())]);
            let more = html! { p { (tell("link-vet-text", &[("days", days.into())])) } };
            Ok(link_page(&visit, &title, &format!("{at}/v/{token}"), &more).into_response())
        }
        Err(error) => done(&visit, Err(error)).await,
    }
}

pub async fn vet_link_ended(visit: Visit, typed: Form) -> Result<Response, Fault> {
    let outcome = access::end_link(&visit.home.book.store, &visit.asker.by(), typed.get("id"), visit.clock).await;
    done(&visit, outcome).await
}
