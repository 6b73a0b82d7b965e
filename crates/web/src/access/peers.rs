//! From which network addresses the pages may be asked for.

use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr};

use axum::http::Extensions;

/// The two ends of a connection. The server puts them beside each request; tests make them up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Connection {
    pub peer: SocketAddr,
    pub local: SocketAddr,
    /// Over https.
    pub is_secure: bool,
}

impl Connection {
    /// Of the request that came with these extensions; none where a test gives none.
    pub fn of(extensions: &Extensions) -> Option<Self> {
        extensions.get().copied()
    }

    /// Who is at the other end, as the audit writes it.
    pub fn address(&self) -> String {
        self.peer.ip().to_canonical().to_string()
    }
}

/// Whether the request that came with these extensions came over https.
pub fn is_secure(extensions: &Extensions) -> bool {
    Connection::of(extensions).is_some_and(|c| c.is_secure)
}

/// The ranges of a home, by name.
pub const HOME_RANGES: [(&str, Ipv4Addr, u32); 6] = [
    ("this computer (RFC 1122)", Ipv4Addr::new(127, 0, 0, 0), 8),
    ("private (RFC 1918)", Ipv4Addr::new(10, 0, 0, 0), 8),
    ("private (RFC 1918)", Ipv4Addr::new(172, 16, 0, 0), 12),
    ("private (RFC 1918)", Ipv4Addr::new(192, 168, 0, 0), 16),
    ("shared, as own VPNs use it (RFC 6598)", Ipv4Addr::new(100, 64, 0, 0), 10),
    ("link-local (RFC 3927)", Ipv4Addr::new(169, 254, 0, 0), 16),
];

/// The same for the longer addresses.
pub const HOME_RANGES_6: [(&str, Ipv6Addr, u32); 3] = [
    ("this computer (RFC 4291)", Ipv6Addr::LOCALHOST, 128),
    ("unique local (RFC 4193)", Ipv6Addr::new(0xfc00, 0, 0, 0, 0, 0, 0, 0), 7),
    ("link-local (RFC 4291)", Ipv6Addr::new(0xfe80, 0, 0, 0, 0, 0, 0, 0), 10),
];

/// Whether an address is one of a home. An IPv4 address in an IPv6 one counts as what it is.
pub fn is_of_a_home(address: IpAddr) -> bool {
    match address.to_canonical() {
        IpAddr::V4(address) => HOME_RANGES.iter().any(|(_, range, bits)| {
            let shift = 32 - bits;
            u32::from(address) >> shift == u32::from(*range) >> shift
        }),
        IpAddr::V6(address) => HOME_RANGES_6.iter().any(|(_, range, bits)| {
            let shift = 128 - bits;
            u128::from(address) >> shift == u128::from(*range) >> shift
        }),
    }
}

/// Whether a host, with its port, is the very address at which this connection came in. A page from
/// elsewhere can point its own name here, but it cannot make the name an address.
pub fn is_own_address(host: &str, connection: Connection) -> bool {
    let local = SocketAddr::new(connection.local.ip().to_canonical(), connection.local.port());
    let usual = if connection.is_secure { 443 } else { 80 };
    host.parse::<SocketAddr>().is_ok_and(|asked| asked == local)
        || (local.port() == usual && host.parse::<IpAddr>().is_ok_and(|asked| asked == local.ip()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ranges_of_a_home_end_where_their_documents_say() {
        for home in [
            "127.0.0.1",
            "127.255.255.255",
            "10.0.0.0",
            "10.255.255.255",
            "172.16.0.0",
            "172.31.255.255",
            "192.168.0.0",
            "192.168.255.255",
            "100.64.0.0",
            "100.127.255.255",
            "169.254.0.0",
            "169.254.255.255",
            "::1",
            "fc00::",
            "fdff:ffff:ffff:ffff:ffff:ffff:ffff:ffff",
            "fe80::1",
            "febf::1",
            "::ffff:192.168.1.7",
        ] {
            assert!(is_of_a_home(home.parse().unwrap()), "{home}");
        }
        for foreign in [
            "126.255.255.255",
            "128.0.0.0",
            "9.255.255.255",
            "11.0.0.0",
            "172.15.255.255",
            "172.32.0.0",
            "192.167.255.255",
            "192.169.0.0",
            "100.63.255.255",
            "100.128.0.0",
            "169.253.255.255",
            "169.255.0.0",
            "203.0.113.9",
            "0.0.0.0",
            "::",
            "::2",
            "fbff::1",
            "fe00::1",
            "fec0::1",
            "2001:db8::1",
            "::ffff:203.0.113.9",
        ] {
            assert!(!is_of_a_home(foreign.parse().unwrap()), "{foreign}");
        }
    }

    #[test]
    fn only_the_very_address_of_the_connection_counts_as_a_host() {
        let at = |local: &str, is_secure| Connection {
            peer: "192.168.1.9:50000".parse().unwrap(),
            local: local.parse().unwrap(),
            is_secure,
        };
        let local = at("192.168.1.5:7317", false);
        assert!(is_own_address("192.168.1.5:7317", local));
        assert!(is_own_address("192.168.1.5:7317", at("[::ffff:192.168.1.5]:7317", false)));
        assert!(is_own_address("[fd00::5]:7317", at("[fd00::5]:7317", false)));
        assert!(is_own_address("192.168.1.5", at("192.168.1.5:443", true)));
        assert!(!is_own_address("192.168.1.5", at("192.168.1.5:443", false)));
        for other in ["192.168.1.5", "192.168.1.6:7317", "192.168.1.5:80", "evil.test:7317", "3232235781:7317", ""] {
            assert!(!is_own_address(other, local), "{other}");
        }
    }
}
