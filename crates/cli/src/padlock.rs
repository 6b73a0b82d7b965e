//! What serves over https beside plain http.

use std::net::IpAddr;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::Args;
use jiff::Timestamp;
use whelpward_web::{Https, Padlock, Places, local_names};

use crate::reach::listen;

/// The port, when no other is named.
const HTTPS_PORT: u16 = 7318;

#[derive(Args)]
pub struct Options {
    /// With --lan: show the pages over https too, with a certificate of the household's own
    #[arg(long, requires = "lan")]
    https: bool,
    /// With --https: its port on this computer; 0 takes one that is free
    #[arg(long, requires = "https", value_name = "PORT", default_value_t = HTTPS_PORT)]
    https_port: u16,
    /// With --https: another certificate, as PEM with the chain behind it
    #[arg(long, requires_all = ["https", "key"], value_name = "FILE")]
    certificate: Option<PathBuf>,
    /// With --certificate: its key, as PEM
    #[arg(long, requires = "certificate", value_name = "FILE")]
    key: Option<PathBuf>,
    /// With --certificate: answer, over https alone, addresses beyond the home network too
    #[arg(long, requires_all = ["https", "certificate"])]
    allow_public: bool,
}

impl Default for Options {
    fn default() -> Self {
        Self { https: false, https_port: HTTPS_PORT, certificate: None, key: None, allow_public: false }
    }
}

/// What is needed to serve over https.
pub struct Secure {
    listener: tokio::net::TcpListener,
    padlock: Padlock,
    /// Where it is found without https only: the household's authority does not count there.
    left_out: Vec<String>,
}

/// Listens for https where that is asked for, beside the plain `places`, and adds the names under which it is found.
pub async fn secure(
    ask: &Options,
    ip: IpAddr,
    folder: &Path,
    places: &Places,
    hosts: &mut Vec<String>,
) -> Result<Option<Secure>, String> {
    if !ask.https {
        return Ok(None);
    }
    let (listener, address) = listen(ip, ask.https_port).await?;
    let (port, names) = (address.port(), &places.names);
    hosts.extend(local_names(address));
    hosts.extend(names.iter().map(|name| format!("{name}:{port}")));
    // The usual port of https stands in no address.
    if port == 443 {
        hosts.extend(names.iter().cloned());
    }
    // Other computers look at the dates of a certificate: the real time counts.
    let now = Timestamp::now();
    let given = ask.certificate.as_ref().zip(ask.key.as_ref());
    let https = match given {
        Some((certificate, key)) => Https::from_files(certificate.clone(), key.clone(), now),
        None => Https::open(folder, Arc::clone(&places.numbers), names.clone(), now),
    };
    let https = Arc::new(https.map_err(|e| e.to_string())?);
    let (names, left_out) = if given.is_some() {
        // Such a certificate counts for names; those that were given stand behind this computer's own.
        (names.iter().rev().cloned().collect(), Vec::new())
    } else {
        let numbers = places.numbers.now().into_iter().filter(|ip| !https.counts_for_address(*ip));
        let (names, other_names): (Vec<_>, Vec<_>) =
            names.iter().cloned().partition(|name| https.counts_for_name(name));
        (names, numbers.map(|ip| ip.to_string()).chain(other_names).collect())
    };
    let places = Places { scheme: "https", port, names, ..places.clone() };
    Ok(Some(Secure { listener, padlock: Padlock { places, https, is_for_all: ask.allow_public }, left_out }))
}

impl Secure {
    /// What is printed of the pages over https.
    pub fn told(&self) -> String {
        let mut text = String::new();
        if let Some(first) = self.padlock.addresses().first() {
            text.push_str(&format!("With a padlock: {first}/\n"));
        }
        if let Some(authority) = self.padlock.https.authority() {
            let pairs = authority.fingerprint();
            let (one, two) = pairs.split_at(pairs.len() / 2 + 1);
            text.push_str(&format!(
                "First a device must trust this computer: the page /padlock says how.\n\
                 The SHA-256 fingerprint of its certificate is\n    {one}\n    {two}\n"
            ));
        }
        if !self.left_out.is_empty() {
            text.push_str(&format!(
                "No padlock at {}: the certificate counts for addresses\n\
                 of home networks and names under .local or .home.arpa alone.\n",
                self.left_out.join(", ")
            ));
        }
        text
    }

    /// What listens, and what the pages say of it.
    pub fn parts(self) -> ((tokio::net::TcpListener, Arc<Https>), Padlock) {
        ((self.listener, Arc::clone(&self.padlock.https)), self.padlock)
    }
}
