//! Serves the pages: at this computer alone, or over the home network.

use std::net::{IpAddr, Ipv4Addr};
use std::path::PathBuf;
use std::sync::Arc;

use crate::book::{Failed, Which, store_of};
use crate::padlock;
use crate::reach::reach;
use clap::Args;
use jiff::Timestamp;
use jiff::tz::TimeZone;
use whelpward_app::access::has_password;
use whelpward_app::{Backups, Book, Keep, default_place};
use whelpward_core::report::clock::date_and_clock;
use whelpward_web::{
    Clock, Devices, Home, NetworkTime, Organisation, Patience, ServerClock, network_time, serve, serve_organisation,
};

/// The port, when no other is named.
const PORT: u16 = 7317;

#[derive(Args)]
pub struct Serve {
    /// The port on this computer; 0 takes one that is free
    #[arg(long, default_value_t = PORT)]
    pub port: u16,
    /// Let phones on the home network in; needs a password first: whelpward password
    #[arg(long)]
    pub lan: bool,
    /// With --lan: every home of a PostgreSQL (whelpward homes), and the board of them all
    #[arg(long, requires = "lan", conflicts_with = "home")]
    homes: bool,
    /// With --lan: listen at this address of this computer only, not at all of them
    #[arg(long, requires = "lan", value_name = "ADDRESS")]
    bind: Option<IpAddr>,
    /// With --lan: a further name under which phones ask for this computer
    #[arg(long, requires = "lan", value_name = "NAME")]
    pub host_name: Vec<String>,
    #[command(flatten)]
    pub padlock: padlock::Options,
    /// The weighing scale on USB, such as /dev/hidraw0; else one is looked for
    #[arg(long, value_name = "DEVICE")]
    scale: Option<PathBuf>,
    /// Lay a second copy of the book into this folder too, such as on a USB stick
    #[arg(long, value_name = "DIR")]
    second_copies: Option<PathBuf>,
    /// For tests: the pages take this for the time at which the program started
    #[arg(long, hide = true)]
    starts_at: Option<Timestamp>,
}

impl Default for Serve {
    fn default() -> Self {
        Self {
            port: PORT,
            lan: false,
            homes: false,
            bind: None,
            host_name: Vec::new(),
            padlock: padlock::Options::default(),
            scale: None,
            second_copies: None,
            starts_at: None,
        }
    }
}

impl Serve {
    /// Where this computer listens.
    pub fn ip(&self) -> IpAddr {
        if self.lan { self.bind.unwrap_or(Ipv4Addr::UNSPECIFIED.into()) } else { Ipv4Addr::LOCALHOST.into() }
    }
}

/// Runs until it is interrupted.
pub fn run(which: &Which, ask: Serve) -> Result<String, String> {
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()
        .map_err(|e| format!("the program cannot start its workers: {e}"))?;
    runtime.block_on(pages(which, ask))
}

async fn pages(which: &Which, ask: Serve) -> Result<String, String> {
    let text = |e: whelpward_app::AppError| e.to_string();
    let place = default_place(which.database.as_deref(), which.data.clone()).map_err(text)?;
    std::fs::create_dir_all(&place.folder).map_err(|e| format!("{} cannot be made: {e}", place.folder.display()))?;
    if ask.homes {
        return organisation(which, ask, place.folder).await;
    }
    let store = store_of(which, &place).await.map_err(|e| match e {
        Failed::Message(text) | Failed::Question(text) => text,
    })?;
    if ask.lan && !has_password(&store).await.map_err(text)? {
        return Err("no password is set, so nobody would be let in\n\
             allowed: set one first, here with: whelpward password\n\
             or on the page \"Phones and people\" of: whelpward serve"
            .into());
    }
    let reach = reach(&ask, &place.folder).await?;
    let copies = Backups { folder: place.copies(), second: ask.second_copies.clone(), keep: Keep::default() };
    let home = Home::open(Book::new(store.clone()), place.folder, clock(ask.starts_at), reach.hosts);
    let mut home =
        home.await.map_err(text)?.with_copies(copies).with_server_clock(Arc::new(ServerClock::of_this_computer()));
    if let Some(network) = reach.network {
        home = home.over_home_network(network);
    }
    let home = Arc::new(home);
    home.follow_scale(Devices::of_this_computer(ask.scale))
        .map_err(|e| format!("no thread can be started for the scale: {e}"))?;
    say(&reach.told);
    say(&about_the_clock(network_time(), Timestamp::now(), &TimeZone::system()));
    serve(home, reach.listeners, Patience::default(), interrupted()).await.map_err(|e| e.to_string())?;
    store.close().await;
    Ok(String::new())
}

/// The homes of an organisation, with the board of them all.
async fn organisation(which: &Which, ask: Serve, folder: PathBuf) -> Result<String, String> {
    let text = |e: Failed| match e {
        Failed::Message(text) | Failed::Question(text) => text,
    };
    let homes = crate::homes::open(which).await.map_err(text)?;
    if !has_password(&homes.board).await.map_err(|e| e.to_string())? {
        return Err("no password is set for the board, so nobody would be let in\n\
             allowed: set one first with: whelpward password --home board"
            .into());
    }
    let reach = reach(&ask, &folder).await?;
    let network = reach.network.ok_or("--homes needs --lan: the homes are served over the home network")?;
    let organisation = Organisation::open(homes, folder, clock(ask.starts_at), reach.hosts, network);
    let organisation = organisation.await.map_err(|e| e.to_string())?;
    let told = reach.told;
    say(&format!("{told}This is the board of several homes; a home is found with /to/ and its number behind it.\n"));
    say(&about_the_clock(network_time(), Timestamp::now(), &TimeZone::system()));
    serve_organisation(organisation, reach.listeners, Patience::default(), interrupted()).await;
    Ok(String::new())
}

/// Where the clock may be wrong: every time in the book comes from it.
fn about_the_clock(network_time: NetworkTime, now: Timestamp, zone: &TimeZone) -> String {
    let why = match network_time {
        NetworkTime::Set => return String::new(),
        NetworkTime::NotSet => "This computer's clock has not been set by the network since it was started.",
        NetworkTime::NotKnown => "Whether the network sets this computer's clock is not known here.",
    };
    format!("{why}\nIt says {}: look whether that is right.\n", date_and_clock(now, zone))
}

/// Whoever reads it through a pipe reads it now; whoever has closed the pipe still has the pages.
fn say(told: &str) {
    use std::io::Write as _;
    let mut out = std::io::stdout().lock();
    let _ = out.write_all(told.as_bytes()).and_then(|()| out.flush());
}

/// Without a way to hear of it, the program runs until it is ended.
async fn interrupted() {
    if tokio::signal::ctrl_c().await.is_err() {
        std::future::pending::<()>().await;
    }
}

fn clock(starts_at: Option<Timestamp>) -> Clock {
    match starts_at {
        None => Arc::new(Timestamp::now),
        Some(at) => {
            let began = std::time::Instant::now();
            Arc::new(move || at.saturating_add(began.elapsed()).unwrap_or(at))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_clock_that_may_be_wrong_is_said_with_the_time_that_it_shows() {
        let zone = TimeZone::get("Europe/Berlin").unwrap();
        let said = |network_time| about_the_clock(network_time, "2026-11-25T20:00Z".parse().unwrap(), &zone);
        assert_eq!(said(NetworkTime::Set), "");
        let (not_set, not_known) = (said(NetworkTime::NotSet), said(NetworkTime::NotKnown));
        assert!(not_set.contains("has not been set by the network") && not_set.contains("Wed 25 Nov 2026, 21:00"));
        assert!(not_known.contains("is not known here") && not_known.contains("Wed 25 Nov 2026, 21:00"));
    }
}
