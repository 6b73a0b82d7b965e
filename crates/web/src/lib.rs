//! The pages: what a household sees and taps. Every function works by plain forms; script adds
//! the number pad and running clocks.
//!
//! A folder holds one slice: its page, what is posted to it, its words stand in the catalogue.
//! [`routes`] lists every address. The pages hold no rule: they show what `report` says and call
//! the actions of `whelpward-app`. The time comes from a [`Clock`], so that tests can set it.

#![cfg_attr(not(test), warn(clippy::unwrap_used))]

mod access;
mod ahead;
mod aside;
mod assets;
mod birth;
mod board;
mod box_page;
mod chart;
mod check;
mod connections;
mod cookies;
mod copies;
mod cue;
mod dam;
mod entry;
mod equipment;
mod events;
mod expecting;
mod fault;
mod feed;
mod fields;
mod form;
mod guard;
mod help;
mod here;
mod home;
mod https;
mod layout;
mod litter;
mod live;
mod milk;
mod more;
mod now;
mod nurse;
mod organisation;
pub mod print;
mod pup;
mod questions;
mod routes;
mod scale;
mod server_clock;
mod settings;
mod show;
mod stages;
mod start;
mod supplies;
mod theme;
mod timetable;
mod told;
mod weigh;
mod words;

use std::future::Future;
use std::net::SocketAddr;
use std::sync::Arc;

pub use access::{Connection, HomeNetwork, OwnAddresses, Padlock, Places, qr_in_text};
pub use connections::{Listeners, Patience};
pub use copies::copy_if_due;
pub use home::{Clock, Home};
pub use https::{Authority, AuthorityError, Https};
pub use organisation::Organisation;
pub use routes::{ROUTES, Way, router};
pub use scale::{Devices, Scale};
pub use server_clock::{NetworkTime, ServerClock, network_time};

/// Serves the pages, and copies the book when a copy is due, until `until` is ready.
///
/// # Errors
/// A task of the server was cut off.
pub async fn serve(
    home: Arc<Home>,
    listeners: impl Into<Listeners>,
    patience: Patience,
    until: impl Future<Output = ()> + Send + 'static,
) -> std::io::Result<()> {
    let pages = router(Arc::clone(&home));
    let copies = tokio::spawn(copies::keep(Arc::clone(&home)));
    tokio::spawn(server_clock::keep(Arc::clone(&home)));
    let ended = async {
        until.await;
        home.live.end();
    };
    connections::take(&home, pages, listeners.into(), patience, ended).await;
    // A copy that is being made is finished; it takes as long as it takes.
    copies.await.map_err(std::io::Error::other)
}

/// The same for every home of an organisation; what fails is answered to whoever asks.
pub async fn serve_organisation(
    organisation: Arc<Organisation>,
    listeners: impl Into<Listeners>,
    patience: Patience,
    until: impl Future<Output = ()> + Send + 'static,
) {
    tokio::spawn(server_clock::keep(Arc::clone(organisation.board())));
    let ended = async {
        until.await;
        organisation.end().await;
    };
    connections::take(organisation.board(), organisation.pages(), listeners.into(), patience, ended).await;
}

/// Host names under which pages on this address are asked for. Another name is refused: a page
/// from elsewhere could else point its own name at this computer.
#[must_use]
pub fn local_names(address: SocketAddr) -> Vec<String> {
    let port = address.port();
    ["127.0.0.1", "localhost", "[::1]"].iter().map(|name| format!("{name}:{port}")).collect()
}
