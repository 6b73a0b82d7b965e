//! The sheet for the fridge: one day of feeds, with room to write.

use maud::{Markup, html};

use whelpward_core::report::{clock::date_and_clock, red_flags};

use super::{foot, how_to_print};
use crate::fault::Fault;
use crate::here::Here;
use crate::layout::{Tab, page as frame};
use crate::show::{amount, at_most, instant, sentence, weight_words, when_iso};
use crate::words::{say, tell, word};

pub async fn sheet(here: Here) -> Result<Markup, Fault> {
    let today = whelpward_app::today(&here.book, &here.who(), here.litter, here.now).await?;
    let day = here.now + jiff::SignedDuration::from_hours(24);
    let rounds: Vec<_> = today.rounds.iter().filter(|r| instant(&r.at) < day).collect();
    let flags = red_flags();
    let body = html! {
        div class="sheet" {
            h1 { (say("sheet-title")) ": " (today.litter) }
            p { (date_and_clock(here.now, here.zone())) @if let Some(next) = rounds.first() { ". " (tell("feed-next-round", &[("at", when_iso(&here, &next.at).into())])) } }
            (how_to_print())
            @if let Some(note) = &today.example_note { p class="note" { (say("example-mark")) " " (note) } }
            @if rounds.is_empty() { p { (say("sheet-no-feeds")) } }
            @else {
                div class="scroll" tabindex="0" role="region" aria-label=(say("sheet-table")) {
                    table class="grid" {
                        caption class="hidden" { (say("sheet-table")) }
                        thead {
                            tr {
                                th scope="col" { (say("pup")) }
                                @for round in &rounds {
                                    th scope="col" { (when_iso(&here, &round.at)) @for shift in &round.carers { br; (shift.carer) } }
                                }
                            }
                        }
                        tbody {
                            @for (_, pup) in here.pups_here() {
                                tr {
                                    th scope="row" {
                                        (pup.id.0) br; small { (pup.marks) }
                                        @if let Some(line) = today.pups.iter().find(|l| l.pup == pup.id.0) { br; small { (weight_words(&here, line)) } }
                                    }
                                    @for round in &rounds {
                                        td {
                                            @match (round.feeds.iter().find(|f| f.pup == pup.id.0), round.withheld.iter().find(|w| w.pup == pup.id.0)) {
                                                (Some(feed), _) => {
                                                    strong { (amount(feed)) } " " (word("method", &feed.method)) br;
                                                    small { (tell("sheet-most", &[("most", at_most(feed).into())])) }
                                                    @if !feed.only_after.is_empty() { br; small { (tell("sheet-first", &[("what", feed.only_after.join(", ").into())])) } }
                                                    br; span class="blank" { (say("sheet-took")) }
                                                    br; span class="blank" { (say("sheet-passed")) }
                                                }
                                                (None, Some(held)) => { (sentence(&held.because)) }
                                                _ => { "–" }
                                            }
                                        }
                                    }
                                }
                            }
                        }
                    }
                }
            }
            @if let Some(batch) = &today.batch {
                section {
                    h2 { (say("milk-title")) }
                    @if let Some(powder) = &batch.powder {
                        p { (tell("mix-recipe", &[
                            ("powder", whelpward_core::units::format_quantity(powder.powder_g, &whelpward_core::units::Grams::ROW).into()),
                            ("water", crate::show::ml(powder.water_ml).into()),
                        ])) ". "
                            (tell("mix-makes", &[
                                ("volume", crate::show::ml(batch.volume_ml).into()),
                                ("wanted", crate::show::ml(batch.wanted_ml).into()),
                            ]))
                        }
                    }
                    p class="blank" { (say("sheet-mixed")) }
                }
            }
            section {
                h2 { (say("sheet-stop")) }
                p { (say("feed-stop")) }
                ul { @for said in &flags.pup { li { (said.text) } } }
                p { (say("sheet-ring")) " " @for vet in &today.vets { strong { (vet.name) " " (vet.phone) } " " } @if today.vets.is_empty() { (say("no-vet")) } }
            }
            p class="blank" { (say("sheet-later")) }
            (foot(&here))
        }
    };
    Ok(frame(&here, &say("sheet-title"), Tab::More, &body))
}
