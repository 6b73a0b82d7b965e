//! Where phones find this computer on the home network.

use std::io::IsTerminal as _;
use std::net::IpAddr;

use whelpward_web::qr_in_text;

/// The addresses of this computer on its networks; those that a router at home gives first.
pub fn own_addresses() -> Vec<IpAddr> {
    let mut own: Vec<IpAddr> = if_addrs::get_if_addrs()
        .unwrap_or_default()
        .into_iter()
        .filter(|i| !i.is_loopback() && i.is_oper_up())
        .map(|i| i.ip())
        .filter(IpAddr::is_ipv4)
        .collect();
    own.sort_by_key(|ip| (rank(*ip), *ip));
    own.dedup();
    own
}

fn rank(ip: IpAddr) -> u8 {
    match ip {
        IpAddr::V4(v4) if v4.octets()[0] == 192 => 0,
        IpAddr::V4(v4) if v4.octets()[0] == 10 => 1,
        IpAddr::V4(v4) if v4.is_private() => 2,
        _ => 3,
    }
}

/// The name of this computer as its neighbours ask for it (RFC 6762), and the names that were given.
pub fn names(given: &[String]) -> Vec<String> {
    let own =
        std::fs::read_to_string("/proc/sys/kernel/hostname").or_else(|_| std::fs::read_to_string("/etc/hostname"));
    let own = own.ok().or_else(|| std::env::var("COMPUTERNAME").ok()).unwrap_or_default();
    let label = own.trim().split('.').next().unwrap_or_default().to_ascii_lowercase();
    let is_a_label = !label.is_empty() && label.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-');
    let local = (is_a_label && label != "localhost").then(|| format!("{label}.local"));
    local.into_iter().chain(given.iter().map(|n| n.to_ascii_lowercase())).collect()
}

/// What is printed when the pages are served over the network; `local` where this computer's own browser
/// finds them besides, `padlock` what is said of https.
pub fn told(addresses: &[String], local: Option<&str>, padlock: &str) -> String {
    let mut text = String::new();
    if let Some((first, others)) = addresses.split_first() {
        text.push_str(&format!("Phones on the home network find the pages at\n\n    {first}/\n\n"));
        text.push_str(&qr_in_text(&format!("{first}/"), std::io::stdout().is_terminal()));
        for other in others {
            text.push_str(&format!("or {other}/\n"));
        }
    } else {
        text.push_str("This computer has no address on a home network now. Connect it to one.\n");
    }
    if let Some(local) = local {
        text.push_str(&format!(
            "\"Phones and people\" shows where that is, also when it changes.\n\
             At this computer: {local}/\n"
        ));
    }
    text.push_str(
        "Nobody is let in without the password or a link from \"Phones and people\".\n\
         Plain http: whoever records the network's traffic can read it (SECURITY.md).\n",
    );
    text.push_str(padlock);
    text.push_str("Ctrl-C ends the program.\n");
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_told_fits_the_terminal_with_an_address_and_without() {
        let all = ["http://192.168.1.5:7317", "http://box.local:7317"].map(String::from);
        let text = told(&all, Some("http://127.0.0.1:7317"), "");
        assert!(text.find("192.168.1.5").unwrap() < text.find("box.local").unwrap(), "{text}");
        let none = told(&[], Some("http://127.0.0.1:7317"), "");
        assert!(none.contains("no address") && none.contains("http://127.0.0.1:7317/"), "{none}");
        assert!([text, none].iter().all(|told| told.lines().all(|l| l.chars().count() <= 80)));
    }

    #[test]
    fn an_address_of_a_router_at_home_comes_first() {
        let mut all: Vec<IpAddr> =
            ["203.0.113.7", "172.17.0.1", "10.0.0.2", "192.168.1.5"].iter().map(|a| a.parse().unwrap()).collect();
        all.sort_by_key(|ip| (rank(*ip), *ip));
        assert_eq!(all[0].to_string(), "192.168.1.5");
        assert_eq!(all[3].to_string(), "203.0.113.7");
    }
}
