//! Every address of the pages.

use std::sync::Arc;

use axum::Router;
use axum::middleware::from_fn_with_state;
use axum::routing::{get, post, put};
use tower_http::compression::CompressionLayer;

use crate::access::pages as doors;
use crate::fault::Fault;
use crate::guard::guard;
use crate::{
    Home, ahead, aside, assets, birth, board, box_page, check, dam, entry, equipment, events, expecting, feed, help,
    litter, live, milk, more, now, nurse, print, pup, settings, stages, start, supplies,
};
use crate::{timetable, weigh};

/// One address.
#[derive(Debug, Clone, Copy)]
pub struct Way {
    pub method: &'static str,
    pub path: &'static str,
}

macro_rules! ways {
    ($($verb:ident $path:literal $handler:path;)*) => {
        /// Every address with its method.
        pub const ROUTES: &[Way] = &[$(Way { method: stringify!($verb), path: $path },)*];

        fn listed() -> Router<Arc<Home>> {
            Router::new()$(.route($path, $verb($handler)))*
        }
    };
}

// `shelf` is `litter` for the household's own book and `example` for the invented one.
ways! {
    get  "/"                                start::page;
    get  "/healthz"                         start::health;
    get  "/board"                           board::page;
    get  "/assets/{hash}/{name}"            assets::asset;
    get  "/worker.js"                       assets::worker;
    get  "/white"                           help::white;
    get  "/new"                             start::new_page;
    post "/new"                             start::new_litter;
    post "/examples"                        start::lay_out_examples;
    post "/examples/remove"                 start::remove_examples;
    post "/device"                          settings::device;
    get  "/api/v1/time"                     events::time;
    put  "/api/v1/events/{event}"           events::put;
    post "/api/v1/events"                   events::batch;
    post "/api/v1/tap"                      events::tap;

    get  "/sign-in"                         doors::sign_in_page;
    post "/sign-in"                         doors::sign_in;
    post "/sign-out"                        doors::sign_out;
    get  "/padlock"                         doors::padlock_page;
    get  "/padlock/authority.crt"           doors::padlock_authority;
    get  "/j/{token}"                       doors::join_page;
    post "/j/{token}"                       doors::join;
    get  "/v/{token}"                       doors::vet_link_page;
    get  "/who"                             doors::who_page;
    post "/who"                             doors::hand_over;
    post "/who/pin"                         doors::pin;
    get  "/household"                       doors::household_page;
    post "/household/password"              doors::password;
    post "/household/phone"                 doors::phone;
    post "/household/person"                doors::person;
    post "/household/pin"                   doors::pin_removed;
    post "/household/device"                doors::device;
    post "/household/vet"                   doors::let_vet_in;
    post "/household/vet/end"               doors::vet_link_ended;
    get  "/household/audit"                 doors::audit_page;
    get  "/household/erase"                 doors::erase_page;
    post "/household/erase"                 doors::erase;
    post "/household/everything"            doors::everything;

    get  "/{shelf}/{litter}/now"            now::page;
    get  "/{shelf}/{litter}/weigh"          weigh::page;
    post "/{shelf}/{litter}/weigh"          weigh::save;
    get  "/{shelf}/{litter}/feed"           feed::page;
    post "/{shelf}/{litter}/feed"           feed::save;
    post "/{shelf}/{litter}/feeding"        feed::claim::save;
    get  "/{shelf}/{litter}/check"          check::page;
    post "/{shelf}/{litter}/check"          check::save;
    get  "/{shelf}/{litter}/measure"        check::measure_page;
    get  "/{shelf}/{litter}/box"            box_page::page;
    get  "/{shelf}/{litter}/dam"            dam::page;
    post "/{shelf}/{litter}/dam"            dam::save;
    get  "/{shelf}/{litter}/nurse"          nurse::page;
    post "/{shelf}/{litter}/nurse"          nurse::save;
    get  "/{shelf}/{litter}/birth"          birth::page;
    post "/{shelf}/{litter}/birth"          birth::save;
    get  "/{shelf}/{litter}/expecting"      expecting::page;
    post "/{shelf}/{litter}/expecting"      expecting::save;
    get  "/{shelf}/{litter}/supplies"       supplies::page;
    get  "/{shelf}/{litter}/litter"         litter::page;
    get  "/{shelf}/{litter}/pup/{pup}"      pup::page;
    post "/{shelf}/{litter}/pup/{pup}/left" pup::left;
    get  "/{shelf}/{litter}/milk"           milk::page;
    post "/{shelf}/{litter}/milk"           milk::save;
    post "/{shelf}/{litter}/milk/mixed"     milk::mixed;
    get  "/{shelf}/{litter}/milk/compare"   milk::compare::page;
    get  "/{shelf}/{litter}/milk/blend"     milk::blend::page;
    get  "/{shelf}/{litter}/equipment"      equipment::page;
    get  "/{shelf}/{litter}/timetable"      timetable::page;
    get  "/{shelf}/{litter}/timetable/feeds.ics" timetable::calendar::file;
    get  "/{shelf}/{litter}/stages"         stages::page;
    get  "/{shelf}/{litter}/stages/write"   stages::write::page;
    post "/{shelf}/{litter}/stages/write"   stages::write::save;
    post "/{shelf}/{litter}/stages/choose"  stages::write::chosen;
    get  "/{shelf}/{litter}/help"           help::page;
    get  "/{shelf}/{litter}/vet"            print::vet_page;
    get  "/{shelf}/{litter}/sheet"          print::sheet;
    get  "/{shelf}/{litter}/print"          print::choice;
    get  "/{shelf}/{litter}/print/{print}"  print::page;
    get  "/{shelf}/{litter}/print/{print}/page.css" print::page_style;
    get  "/{shelf}/{litter}/print/{print}/file.pdf" print::download;
    get  "/{shelf}/{litter}/paper"          print::paper_page;
    post "/{shelf}/{litter}/paper"          print::paper_save;
    get  "/{shelf}/{litter}/live"           live::stream;
    get  "/{shelf}/{litter}/ahead"          ahead::page;
    get  "/{shelf}/{litter}/away"           ahead::frame;
    get  "/{shelf}/{litter}/aside"          aside::page;
    post "/{shelf}/{litter}/aside"          aside::settle;
    get  "/{shelf}/{litter}/more"           more::page;
    get  "/{shelf}/{litter}/settings"       settings::page;
    post "/{shelf}/{litter}/settings"       settings::save;
    get  "/{shelf}/{litter}/entry/{entry}"  entry::page;
    post "/{shelf}/{litter}/entry/{entry}"  entry::save;
    post "/{shelf}/{litter}/undo"           entry::take_back;
    post "/{shelf}/{litter}/answer"         entry::answered;
}

/// The pages of one household.
pub fn router(home: Arc<Home>) -> Router {
    listed()
        .fallback(|| async { Fault::NotFound })
        .layer(from_fn_with_state(Arc::clone(&home), guard))
        .layer(CompressionLayer::new())
        .with_state(home)
}
