//! Who is asking, and whether that one is let in.

mod audit;
mod door;
mod enter;
mod erase;
mod household;
mod join;
mod pace;
mod padlock;
mod peers;
mod places;
mod qr;
mod refusals;
mod sign_in;
mod vet_link;
mod ways;
mod who;

pub mod pages {
    //! What stands in the list of addresses.
    pub use super::audit::page as audit_page;
    pub use super::erase::{erase, everything, page as erase_page};
    pub use super::household::{
        device, let_vet_in, page as household_page, password, person, phone, pin_removed, vet_link_ended,
    };
    pub use super::join::{join, page as join_page};
    pub use super::padlock::{authority as padlock_authority, page as padlock_page};
    pub use super::sign_in::{page as sign_in_page, sign_in, sign_out};
    pub use super::vet_link::page as vet_link_page;
    pub use super::who::{hand_over, page as who_page, pin};
}

pub use enter::{SESSION, enter};
pub use peers::{Connection, is_of_a_home, is_secure};
pub use places::{OwnAddresses, Places};
pub use qr::{in_text as qr_in_text, picture as qr_picture};
pub use refusals::Refused;
pub use ways::only_looks;

use std::net::IpAddr;
use std::sync::Arc;

use whelpward_app::access::{Action, By, May, Role};
use whelpward_core::book::Fact;
use whelpward_store::Device;

use crate::fault::Fault;
use crate::https::Https;
use pace::Pace;
use refusals::Refusals;

/// The pages are asked for over the home network, by people who signed in.
pub struct HomeNetwork {
    places: Places,
    pub(crate) padlock: Option<Padlock>,
    /// Behind each address; of one home of several, such as `/to/3`.
    behind: String,
    requests: Pace<String>,
    sign_ins: Pace<IpAddr>,
}

impl HomeNetwork {
    /// Phones find the pages at these places over plain http.
    #[must_use]
    pub fn new(places: Places, padlock: Option<Padlock>) -> Self {
        Self { places, padlock, behind: String::new(), requests: Pace::requests(), sign_ins: Pace::sign_ins() }
    }

    /// The same for one home of several, with a pace of its own.
    pub(crate) fn of_home(&self, number: i64) -> Self {
        Self { behind: format!("/to/{number}"), ..Self::new(self.places.clone(), self.padlock.clone()) }
    }

    /// Where a phone finds the pages now, such as `http://192.168.1.5:7317`; the best one first.
    pub(crate) fn addresses(&self) -> Vec<String> {
        self.with_what_is_behind(self.places.addresses())
    }

    /// The same over https; none without.
    pub(crate) fn secure_addresses(&self) -> Vec<String> {
        self.with_what_is_behind(self.padlock.as_ref().map(Padlock::addresses).unwrap_or_default())
    }

    fn with_what_is_behind(&self, addresses: Vec<String>) -> Vec<String> {
        addresses.into_iter().map(|address| address + &self.behind).collect()
    }

    /// Where a link leads that is made on a page over https, or over plain http.
    fn best_address(&self, is_secure: bool) -> Option<String> {
        let over_https = if is_secure { self.secure_addresses() } else { Vec::new() };
        over_https.into_iter().chain(self.addresses()).next()
    }

    /// Whether the pages stay at the addresses that were named at the start.
    fn is_fixed(&self) -> bool {
        self.places.numbers.is_fixed
    }

    /// A connection came in at this address of this computer.
    pub(crate) fn met_at(&self, local: IpAddr) {
        self.places.numbers.met_at(local);
    }

    /// Whether somebody beyond the home network may ask: over https alone, and only where that was said.
    fn lets_in_from_afar(&self, connection: &Connection) -> bool {
        connection.is_secure && self.padlock.as_ref().is_some_and(|p| p.is_for_all)
    }
}

/// The pages over https, beside plain http.
#[derive(Clone)]
pub struct Padlock {
    pub places: Places,
    pub https: Arc<Https>,
    /// Addresses beyond those of a home are answered too.
    pub is_for_all: bool,
}

impl Padlock {
    /// Where browsers that trust the certificate take the pages now, such as `https://192.168.1.5:7318`; the best
    /// one first.
    #[must_use]
    pub fn addresses(&self) -> Vec<String> {
        self.places.addresses_where(|ip| self.https.counts_for_address(ip))
    }
}

/// What the doors keep in memory.
#[derive(Default)]
pub struct Doors {
    pub network: Option<HomeNetwork>,
    pub(crate) refusals: Refusals,
}

impl Doors {
    /// A link that opens nothing counts as a try to get in.
    pub(crate) fn count_wrong_link(&self, why: &Refused, by: &By, now: jiff::Timestamp) {
        if let (Some(network), "link", Ok(from)) = (&self.network, why.word, by.address.parse()) {
            network.sign_ins.take(from, now);
        }
    }
}

/// Who asks. At this computer alone nobody signs in, and everything is allowed.
#[derive(Debug, Clone)]
pub struct Asker {
    pub role: Role,
    /// The name of the device in the book.
    pub device: String,
    /// What was let in; none at this computer alone.
    pub signed_in: Option<Device>,
    pub address: String,
}

/// Somebody of the board of an organisation who looks into one of its homes. Put beside a request by
/// [`crate::organisation`] alone, after it has looked who that is.
#[derive(Debug, Clone)]
pub struct Guest(pub Asker);

impl Asker {
    /// The person who holds the device, as far as the doors know.
    pub fn carer(&self) -> Option<&str> {
        self.signed_in.as_ref().map(|d| d.carer.as_str()).filter(|c| !c.is_empty())
    }

    pub fn by(&self) -> By {
        By {
            device: self.device.clone(),
            carer: self.carer().unwrap_or_default().to_owned(),
            address: self.address.clone(),
        }
    }

    pub fn may(&self, action: Action) -> bool {
        self.role.may(action) == May::Always
    }

    /// Whether this one may change that entry now.
    pub fn may_change(&self, action: Action, fact: &Fact, now: jiff::Timestamp) -> bool {
        let is_own = fact.device == self.device || (self.carer().is_some() && fact.carer.as_deref() == self.carer());
        self.role.may(action).for_entry(is_own, fact.receipt.received, now)
    }

    /// Refuses what this one may not do.
    pub fn must(&self, action: Action) -> Result<(), Fault> {
        if self.may(action) { Ok(()) } else { Err(Fault::NotAllowed(self.role)) }
    }
}
