//! What a form brings, and the parts of which forms are made.

use std::ops::Deref;
use std::sync::Arc;

use axum::extract::{FromRequest, Request};
use axum::response::{IntoResponse, Response};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use maud::{Markup, html};

use whelpward_app::access::Action;
use whelpward_core::record::{Nearest, TimeTrouble, read_said_time};

use crate::Home;
use crate::access::Asker;
use crate::fault::Fault;
use crate::fields::Fields;
use crate::guard::Session;
use crate::here::{Here, Visit};
use crate::words::say;

/// The fields of a form. Only one that carries the token of its browser becomes one.
#[derive(Debug)]
pub struct Form(Fields);

impl Deref for Form {
    type Target = Fields;

    fn deref(&self) -> &Fields {
        &self.0
    }
}

impl Form {
    /// When it happened; the error is in words.
    pub fn at(&self, here: &Here) -> Result<Timestamp, String> {
        self.time(here.now, here.zone()).map_err(|why| time_words(&why))
    }
}

impl FromRequest<Arc<Home>> for Form {
    type Rejection = Response;

    async fn from_request(request: Request, home: &Arc<Home>) -> Result<Self, Response> {
        let session = request.extensions().get::<Session>().map(|s| s.0.clone()).unwrap_or_default();
        let asker = request.extensions().get::<Asker>().cloned();
        let form = axum::extract::Form::<Vec<(String, String)>>::from_request(request, home).await;
        let form = match form {
            Ok(form) => Self(Fields::new(form.0)),
            Err(rejection) => {
                let status = rejection.into_response().status();
                let mut response = Fault::BadForm.into_response();
                *response.status_mut() = status;
                return Err(response);
            }
        };
        if session.is_empty() || form.get("token") != home.token(&session) {
            return Err(Fault::WrongToken.into_response());
        }
        // Every question of the program is answered by this field.
        if form.get("kept") == "yes"
            && let Some(asker) = asker
        {
            asker.must(Action::Settle).map_err(Fault::into_response)?;
        }
        Ok(form)
    }
}

/// Reads a time as a carer says it; the error is what is allowed, or that the clocks changed over it.
pub fn read_time(text: &str, nearest: Nearest, now: Timestamp, zone: &TimeZone) -> Result<Timestamp, String> {
    read_said_time(text, nearest, now, zone).map_err(|why| time_words(&why))
}

fn time_words(why: &TimeTrouble) -> String {
    match why {
        TimeTrouble::Unread => say("time-allowed"),
        TimeTrouble::ClocksChanged(_) => say("time-clocks-changed"),
    }
}

/// A form with its token.
pub fn form(visit: &Visit, action: &str, body: &Markup) -> Markup {
    html! {
        form method="post" action=(action) {
            input type="hidden" name="token" value=(visit.token());
            (body)
        }
    }
}

/// A form that an open page can also save by itself, while the program cannot be reached.
pub struct Kept<'f> {
    /// What it writes down: weighing, feed or check.
    pub kind: &'f str,
    /// The page after it.
    pub then: &'f str,
    /// The page after it where only the reading was saved, and no feed.
    pub stay: &'f str,
}

pub fn kept_form(visit: &Visit, action: &str, kept: &Kept<'_>, body: &Markup) -> Markup {
    html! {
        form method="post" action=(action) data-outbox=(kept.kind) data-then=(kept.then) data-stay=(kept.stay) {
            input type="hidden" name="token" value=(visit.token());
            (body)
        }
    }
}

/// A form that is one button: names and values travel with it.
pub fn button(visit: &Visit, action: &str, class: &str, fields: &[(&str, &str)], label: &Markup) -> Markup {
    form(
        visit,
        action,
        &html! {
            @for (name, value) in fields { input type="hidden" name=(name) value=(value); }
            button class=(class) type="submit" { (label) }
        },
    )
}

/// The field for another time than now, folded away.
pub fn not_now() -> Markup {
    html! {
        details class="fold" {
            summary { (say("not-now")) }
            (field("at", &say("time-label"), "text", "", &say("time-allowed")))
        }
    }
}

/// One labelled text field.
pub fn field(name: &str, label: &str, mode: &str, value: &str, hint: &str) -> Markup {
    html! {
        label class="field" {
            span { (label) }
            input type="text" name=(name) value=(value) inputmode=(mode) autocomplete="off" maxlength="200";
            @if !hint.is_empty() { small { (hint) } }
        }
    }
}

/// A password or PIN; what keeps passwords may fill it in, and it may be pasted.
pub fn secret_field(name: &str, label: &str, fill: &str, hint: &str) -> Markup {
    html! {
        label class="field" {
            span { (label) }
            input type="password" name=(name) autocomplete=(fill) maxlength="200";
            @if !hint.is_empty() { small { (hint) } }
        }
    }
}

/// The place of the drawn keys, with their spoken names; script draws them.
pub fn pad(kind: &str) -> Markup {
    html! {
        div class="pad" data-pad=(kind) data-clear=(say("pad-clear")) data-remove=(say("pad-remove"))
            data-point=(say("pad-point")) data-half=(say("pad-half")) {}
    }
}

/// One labelled choice.
pub fn choice(name: &str, label: &str, options: &[(String, String)], chosen: &str) -> Markup {
    html! {
        label class="field" {
            span { (label) }
            select name=(name) {
                @for (value, text) in options { option value=(value) selected[value == chosen] { (text) } }
            }
        }
    }
}

/// A tick.
pub fn tick(name: &str, label: &str, is_set: bool) -> Markup {
    html! {
        label class="tick" {
            input type="checkbox" name=(name) value="yes" checked[is_set];
            span { (label) }
        }
    }
}

/// What is wrong, said beside the field and read out.
pub fn wrong(text: Option<&str>) -> Markup {
    html! {
        @if let Some(text) = text { p class="wrong" role="alert" { (text) } }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_clock_time_is_the_last_one_that_was() {
        let berlin = TimeZone::get("Europe/Berlin").unwrap();
        let now: Timestamp = "2026-11-20T02:40+01:00".parse().unwrap();
        let read = |text: &str| read_time(text, Nearest::Last, now, &berlin).map(|t| t.to_string());
        assert_eq!(read("02:30").unwrap(), "2026-11-20T01:30:00Z");
        assert_eq!(read("0230").unwrap(), "2026-11-20T01:30:00Z");
        assert_eq!(read("23:50").unwrap(), "2026-11-19T22:50:00Z");
        assert_eq!(read("02:44").unwrap(), "2026-11-20T01:44:00Z", "a clock four minutes fast");
        assert_eq!(read("2026-11-15 20:05").unwrap(), "2026-11-15T19:05:00Z");
        let twice = read_time("02:30", Nearest::Last, "2027-10-31T08:00+01:00".parse().unwrap(), &berlin);
        assert_eq!(twice, Err(say("time-clocks-changed")));
        for refused in ["25:00", "2:3:4", "soon", "-1", "2026-13-01 10:00"] {
            assert!(read(refused).is_err(), "{refused}");
        }
    }
}
