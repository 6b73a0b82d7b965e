//! The feeding round: each pup with what must be true, how much, how, and when to stop.
//!
//! The weight on which an amount rests stands under "why", because weight and volume never share
//! a screen at night (usability S-4 before S-15, as the safer).

pub mod claim;
mod gate;
pub use gate::withheld;
mod record;

pub use record::save;

use axum::extract::Query;
use maud::{Markup, html};

use whelpward_core::book::FactId;
use whelpward_core::record::{Feed as Fed, Pup};
use whelpward_core::report::{Feed, PupLine, Today};

use crate::cue::{band, cue};
use crate::fault::Fault;
use crate::form::{Kept, choice, kept_form, not_now, pad, wrong};
use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::show::{amount, amount_number, at_most, how, instant, ml, sentence, when, when_iso};
use crate::words::{say, tell, word};

#[derive(serde::Deserialize)]
pub struct Asked {
    pup: Option<String>,
    since: Option<i64>,
}

/// Feeds of the last hour belong to this round (our own: `whelpward-app` asks within the same hour).
const ROUND_H: i64 = 1;

/// What this round holds for one pup.
enum Part<'t> {
    Feed(&'t Feed),
    Withheld(&'t str),
}

pub async fn page(here: Here, Query(asked): Query<Asked>) -> Result<Markup, Fault> {
    let today = whelpward_app::today(&here.book, &here.who(), here.litter, here.now).await?;
    let pup = match asked.pup.as_deref() {
        Some(id) => Some(here.pup(id)?.0),
        None => first(&here, &today, asked.since),
    };
    Ok(shown(&here, &today, pup, asked.since, None))
}

/// The pups of this round: due now, else those of the next round.
fn round(today: &Today) -> Vec<(&str, Part<'_>)> {
    let due = today.do_now.iter().filter(|a| a.kind == "feed now").flat_map(|a| &a.feeds);
    let withheld = today.do_now.iter().filter(|a| a.kind == "withheld");
    let mut parts: Vec<(&str, Part)> = due.map(|f| (f.pup.as_str(), Part::Feed(f))).collect();
    parts.extend(withheld.flat_map(|a| a.pups.iter().map(|p| (p.as_str(), Part::Withheld(&a.what_to_do)))));
    if parts.is_empty()
        && let Some(next) = today.rounds.first()
    {
        parts.extend(next.feeds.iter().map(|f| (f.pup.as_str(), Part::Feed(f))));
        parts.extend(next.withheld.iter().map(|w| (w.pup.as_str(), Part::Withheld(&w.because))));
    }
    parts
}

fn first(here: &Here, today: &Today, since: Option<i64>) -> Option<FactId> {
    let mut parts = round(today);
    // A pup that was fed in this round is not offered again at once.
    parts.retain(|(name, _)| fed_lately(here, name, since).is_none());
    let place = |name: &str| today.pups.iter().position(|p| p.pup == name);
    let feeds = parts.iter().filter(|(_, p)| matches!(p, Part::Feed(_)));
    let first = feeds.min_by_key(|(name, _)| place(name)).or_else(|| parts.first());
    first.and_then(|(name, _)| here.pup_id(name))
}

/// The last hand feed of this pup in this round.
fn fed_lately<'h>(here: &'h Here, name: &str, since: Option<i64>) -> Option<&'h Fed> {
    let began = since.and_then(|ms| jiff::Timestamp::from_millisecond(ms).ok());
    let began = began.unwrap_or(here.now - jiff::SignedDuration::from_hours(ROUND_H));
    here.facts()
        .feeds
        .iter()
        .filter(|f| f.pup.0 == name && f.is_by_hand() && f.at >= began && f.at <= here.now)
        .max_by_key(|f| f.at)
}

/// `refused`: what is wrong, and the temperature that was typed.
fn shown(here: &Here, today: &Today, pup: Option<FactId>, since: Option<i64>, refused: Option<(&str, &str)>) -> Markup {
    let parts = round(today);
    let chosen = pup.and_then(|id| here.pups_here().into_iter().find(|(p, _)| *p == id));
    // Also where the address names no pup, the page is renewed for the one in hand.
    let renewed_from = chosen.map(|(id, _)| {
        let since = since.map(|s| format!("&since={s}")).unwrap_or_default();
        here.to(&format!("feed?pup={id}{since}"))
    });
    let body = html! {
        div class="entry" data-entry=(renewed_from.unwrap_or_default()) {
            div class="row between" {
                p class="step" { (say("feed-round")) }
                a class="button quiet" href=(here.to("now")) { (say("finish")) }
            }
            @match chosen {
                Some((id, pup)) => { (one(here, today, &parts, id, pup, since, refused)) }
                None => {
                    h1 { (say(if parts.is_empty() { "feed-nothing" } else { "feed-all-done" })) }
                    @if let Some(round) = today.rounds.first() {
                        p { (tell("feed-next-round", &[("at", when_iso(here, &round.at).into())])) }
                    }
                    p { a class="button primary" href=(here.to("now")) { (say("finish")) } }
                }
            }
            (crate::questions::on_a_round(here, &claim::own(here, today)))
            (order(here, &parts, chosen.map(|c| c.0), since))
            @if !today.how_to_feed.is_empty() {
                details class="fold" {
                    summary { (say("feed-how")) }
                    ol { @for said in &today.how_to_feed { li { (said.text) " " small { (said.source.source) } } } }
                }
            }
        }
    };
    frame(here, &say("feed-title"), Tab::None, &body)
}

fn one(
    here: &Here,
    today: &Today,
    parts: &[(&str, Part<'_>)],
    id: FactId,
    pup: &Pup,
    since: Option<i64>,
    refused: Option<(&str, &str)>,
) -> Markup {
    let name = pup.id.0.as_str();
    let line = today.pups.iter().find(|p| p.pup == name);
    let part = parts.iter().find(|(n, _)| *n == name).map(|(_, p)| p);
    let feed = match part {
        Some(Part::Feed(feed)) => Some(*feed),
        Some(Part::Withheld(_)) => None,
        None => line.and_then(|l| l.next_feed.as_ref()),
    };
    let withheld = match part {
        Some(Part::Withheld(why)) => Some(*why),
        _ => line.filter(|_| feed.is_none()).and_then(|l| l.no_feed_because.as_deref()),
    };
    html! {
        h1 class="subject" { (cue(name, &pup.marks)) }
        (wrong(refused.map(|r| r.0)))
        div data-already {
            @if let Some(fed) = fed_lately(here, name, since) {
                p class="note" { (tell("feed-fed", &[
                    ("amount", fed.at_most().map_or_else(|| say("not-recorded"), |a| ml(a.get())).into()),
                    ("at", when(here, fed.at).into()),
                ])) }
            }
        }
        @match (feed, withheld) {
            (Some(feed), _) => { (planned(here, id, feed, since, refused.map_or("", |r| r.1))) }
            (None, Some(why)) => { section class="gate" { h2 { (say("feed-no-milk")) } p { (sentence(why)) } } }
            (None, None) => { p { (say("feed-not-planned")) } }
        }
        p class="row" {
            a class="button" href=(here.to(&format!("measure?kind=rectal_temperature_c&pup={id}"))) { (say("feed-temperature")) }
            a class="button" href=(here.to(&format!("check?pup={id}"))) { (say("feed-check")) }
        }
        (other_amount(here, id, feed, since))
        @if let Some(feed) = feed { (not_given(here, id, feed, since)) }
        (nursed(here, id, since))
        p class="stops" { (say("feed-stop")) }
        (why(here, feed, line))
    }
}

fn feed_form(here: &Here, id: FactId, since: Option<i64>, body: &Markup) -> Markup {
    // The round begins with the first pup that is shown.
    let began = since.unwrap_or_else(|| here.now.as_millisecond());
    let (then, stay) = (here.to(&format!("feed?since={began}")), here.to(&format!("feed?since={began}&pup={id}")));
    kept_form(&here.visit, &here.to("feed"), &Kept { kind: "feed", then: &then, stay: &stay }, body)
}

/// What stands on the button is what is saved, whatever the plan says by then.
fn as_shown(here: &Here, feed: &Feed) -> Markup {
    html! {
        input type="hidden" name="shown" value=(amount_number(feed));
        input type="hidden" name="method" value=(feed.method);
        (milk_field(here))
    }
}

fn milk_field(here: &Here) -> Markup {
    html! {
        @if let Some(milk) = here.facts().milk_in_use() { input type="hidden" name="milk" value=(milk.id); }
    }
}

fn since_text(since: Option<i64>) -> String {
    since.map(|s| s.to_string()).unwrap_or_default()
}

/// The planned amount, and one button that says what was done.
fn planned(here: &Here, id: FactId, feed: &Feed, since: Option<i64>, temperature: &str) -> Markup {
    let is_early = instant(&feed.at) > here.now;
    html! {
        section class="dose" {
            @if is_early { p class="note" { (tell("feed-early", &[("at", when_iso(here, &feed.at).into())])) } }
            p class="number-large" { (amount(feed)) }
            p { (how(feed)) ", " (tell("never-more", &[("most", at_most(feed).into())])) }
            @if let Some(vet) = &feed.ordered_by { p { (tell("ordered-by", &[("vet", vet.as_str().into())])) } }
            @if !feed.only_after.is_empty() {
                p class="condition" { (tell("only-after", &[("what", feed.only_after.join(", ").into())])) }
            }
        }
        (feed_form(here, id, since, &html! {
            input type="hidden" name="pup" value=(id);
            input type="hidden" name="what" value="planned";
            (as_shown(here, feed))
            input type="hidden" name="since" value=(since_text(since));
            @if feed.only_after.is_empty() {
                button class="primary save" type="submit" { (tell("feed-as-planned", &[("amount", amount(feed).into()), ("pup", feed.pup.as_str().into())])) }
            } @else {
                // What was read is written down with the feed; a reading that forbids it stops it.
                label class="number small" { span { (say("feed-rectal")) }
                    input type="text" name="rectal_temperature_c" value=(temperature) inputmode="decimal" autocomplete="off" enterkeyhint="done" maxlength="6";
                    span class="unit" { "°C" } }
                button class="primary save" type="submit" { (tell("feed-checked-as-planned", &[("amount", amount(feed).into()), ("pup", feed.pup.as_str().into())])) }
            }
        }))
    }
}

fn other_amount(here: &Here, id: FactId, feed: Option<&Feed>, since: Option<i64>) -> Markup {
    let methods = ["bottle", "tube"].map(|m| (m.to_owned(), word("method", m)));
    html! {
        details class="fold" {
            summary { (say("feed-other")) }
            (feed_form(here, id, since, &html! {
                input type="hidden" name="pup" value=(id);
                input type="hidden" name="what" value="other";
                (milk_field(here))
                input type="hidden" name="since" value=(since_text(since));
                label class="number" { span { (say("feed-taken")) }
                    input type="text" name="taken_ml" inputmode="decimal" autocomplete="off" enterkeyhint="done" maxlength="6" data-number;
                    span class="unit" { "mL" } }
                (pad("decimal"))
                button class="primary" type="submit" data-save=(tell("feed-save-value", &[("value", "{}".into())])) { (say("feed-save")) }
                (choice("method", &say("feed-method"), &methods, feed.map_or("bottle", |f| f.method.as_str())))
                (not_now())
            }))
        }
    }
}

fn not_given(here: &Here, id: FactId, feed: &Feed, since: Option<i64>) -> Markup {
    html! {
        details class="fold" {
            summary { (say("feed-not-given")) }
            div class="row" {
                @for (what, label) in [("refused", say("feed-refused")), ("skipped", say("feed-skipped"))] {
                    (feed_form(here, id, since, &html! {
                        input type="hidden" name="pup" value=(id);
                        input type="hidden" name="what" value=(what);
                        input type="hidden" name="since" value=(since_text(since));
                        @if what == "refused" { (as_shown(here, feed)) } @else { input type="hidden" name="note" value=(tell("feed-skipped-note", &[("pup", feed.pup.as_str().into())])); }
                        button class="second" type="submit" { (label) }
                    }))
                }
            }
        }
    }
}

fn nursed(here: &Here, id: FactId, since: Option<i64>) -> Markup {
    html! {
        details class="fold" {
            summary { (say("feed-nursed")) }
            (feed_form(here, id, since, &html! {
                input type="hidden" name="pup" value=(id);
                input type="hidden" name="what" value="nursed";
                input type="hidden" name="since" value=(since_text(since));
                @for (name, label) in [("before_g", say("feed-before")), ("after_g", say("feed-after"))] {
                    label class="number" { span { (label) }
                        input type="text" name=(name) inputmode="decimal" autocomplete="off" maxlength="8";
                        span class="unit" { "g" } }
                }
                button class="second" type="submit" { (say("feed-save")) }
                (not_now())
            }))
        }
    }
}

fn order(here: &Here, parts: &[(&str, Part<'_>)], at: Option<FactId>, since: Option<i64>) -> Markup {
    let mark = since.map(|s| format!("&since={s}")).unwrap_or_default();
    html! {
        nav class="order" aria-label=(say("feed-order")) {
            @for (id, pup) in here.pups_here() {
                @let part = parts.iter().find(|(n, _)| *n == pup.id.0);
                a href=(here.to(&format!("feed?pup={id}{mark}"))) aria-current=[(Some(id) == at).then_some("step")] {
                    (band(&pup.id.0, &pup.marks))
                    span {
                        (pup.id.0) " "
                        @if fed_lately(here, &pup.id.0, since).is_some() { "✓" span class="hidden" { (say("feed-done-word")) } }
                        @else {
                            small {
                                @match part {
                                    Some((_, Part::Feed(feed))) => { (amount(feed)) }
                                    Some((_, Part::Withheld(_))) => { (say("feed-withheld-word")) }
                                    None => { (say("feed-none-word")) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

/// Working, rule and source of the amount.
fn why(here: &Here, feed: Option<&Feed>, line: Option<&PupLine>) -> Markup {
    html! {
        details class="fold" {
            summary { (say("why")) }
            @if let Some(feed) = feed {
                p { (tell("feed-computed", &[
                    ("weight", weight_of(here, feed.weight_g).into()),
                    ("weighed", when_iso(here, &feed.weighed_at).into()),
                ])) }
            }
            @if let Some(need) = line.and_then(|l| l.need.as_ref()) { (crate::pup::working(need)) }
        }
    }
}

fn weight_of(here: &Here, grams: f64) -> String {
    whelpward_core::units::Grams::new(grams).map_or_else(|_| say("not-recorded"), |g| crate::show::weight(here, g))
}
