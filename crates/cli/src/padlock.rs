//! What serves over https beside plain http.

use std::net::{IpAddr, Ipv4Addr};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use clap::Args;
use jiff::Timestamp;
use whelpward_web::{Https, Listeners, Padlock, local_names};

use crate::network;
use crate::serve::listen;

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
    /// With --https: answer, over https alone, addresses beyond the home network too
    #[arg(long, requires = "https")]
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
    pub padlock: Padlock,
}

/// Listens for https where that is asked for, and adds the names under which it is found.
pub async fn secure(
    ask: &Options,
    ip: IpAddr,
    folder: &Path,
    names: &[String],
    hosts: &mut Vec<String>,
) -> Result<Option<Secure>, String> {
    if !ask.https {
        return Ok(None);
    }
    let (listener, address) = listen(ip, ask.https_port).await?;
    // Other computers look at the dates of a certificate: the real time counts.
    let now = Timestamp::now();
    let https = if let (Some(certificate), Some(key)) = (&ask.certificate, &ask.key) {
        Https::from_files(certificate.clone(), key.clone(), now)
    } else {
        let local = ["localhost".to_owned()];
        let names: Vec<String> = names.iter().chain(&local).cloned().collect();
        let here = IpAddr::from(Ipv4Addr::LOCALHOST);
        let numbers = network::numbers(address).into_iter().filter(|ip| *ip != here).chain([here]).collect();
        Https::open(folder, numbers, names, now)
    };
    let https = Arc::new(https.map_err(|e| e.to_string())?);
    hosts.extend(local_names(address));
    hosts.extend(names.iter().map(|name| format!("{name}:{}", address.port())));
    // The usual port of https stands in no address.
    if address.port() == 443 {
        hosts.extend(names.iter().cloned());
    }
    let addresses = network::addresses("https", address, names);
    Ok(Some(Secure { listener, padlock: Padlock { addresses, https, is_for_all: ask.allow_public } }))
}

pub fn listeners(plain: tokio::net::TcpListener, secure: Option<Secure>) -> Listeners {
    Listeners { plain, secure: secure.map(|s| (s.listener, s.padlock.https)) }
}
