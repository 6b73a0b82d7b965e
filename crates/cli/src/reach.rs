//! Where the pages are reached: what listens, under which names they are asked for, what is told of it.

use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::Path;
use std::sync::Arc;

use jiff::Timestamp;
use whelpward_web::{HomeNetwork, Listeners, OwnAddresses, Places, local_names};

use crate::serve::Serve;
use crate::{network, padlock};

pub struct Reach {
    pub listeners: Listeners,
    /// Names with port under which the pages are asked for; addresses of the home network are looked at for each
    /// request.
    pub hosts: Vec<String>,
    /// What is printed when the pages are served.
    pub told: String,
    /// None where they are for this computer only.
    pub network: Option<HomeNetwork>,
}

/// Listens at this computer alone, or on the home network, there over https too where that is asked for.
pub async fn reach(ask: &Serve, folder: &Path) -> Result<Reach, String> {
    let (plain, address) = listen(ask.ip(), ask.port).await?;
    let local = format!("http://{}", SocketAddr::from((Ipv4Addr::LOCALHOST, address.port())));
    let mut hosts = local_names(address);
    if !ask.lan {
        let told = format!("The pages are at {local}/ (only on this computer). Ctrl-C ends the program.\n");
        return Ok(Reach { listeners: plain.into(), hosts, told, network: None });
    }
    let names = network::names(&ask.host_name);
    let bound = address.ip();
    let numbers = Arc::new(if bound.is_unspecified() {
        OwnAddresses::new(network::own_addresses, Arc::new(Timestamp::now))
    } else {
        OwnAddresses::fixed(vec![bound])
    });
    hosts.extend(names.iter().map(|name| format!("{name}:{}", address.port())));
    let places = Places { scheme: "http", port: address.port(), numbers, names };
    let secure = padlock::secure(&ask.padlock, ask.ip(), folder, &places, &mut hosts).await?;
    let local = bound.is_unspecified().then_some(local.as_str());
    let told_padlock = secure.as_ref().map(padlock::Secure::told).unwrap_or_default();
    let told = network::told(&places.addresses(), local, &told_padlock);
    let (secure, padlock) = secure.map(padlock::Secure::parts).unzip();
    let network = Some(HomeNetwork::new(places, padlock));
    Ok(Reach { listeners: Listeners { plain, secure }, hosts, told, network })
}

pub async fn listen(ip: IpAddr, port: u16) -> Result<(tokio::net::TcpListener, SocketAddr), String> {
    let address = SocketAddr::new(ip, port);
    let listener = tokio::net::TcpListener::bind(address).await.map_err(|e| {
        format!(
            "{address} cannot be used: {e}\nPerhaps whelpward runs already; else name another port with --port or \
             --https-port, 0 for one that is free"
        )
    })?;
    let address = listener.local_addr().map_err(|e| e.to_string())?;
    Ok((listener, address))
}
