//! Where this computer is found on its networks. That changes while the pages are served: a router hands out
//! another number, a laptop wakes elsewhere.

use std::net::{IpAddr, SocketAddr};
use std::sync::{Arc, Mutex, PoisonError};

use jiff::{SignedDuration, Timestamp};

use crate::Clock;

/// So long the numbers are taken as they were read (our own).
const NUMBERS_LAST: SignedDuration = SignedDuration::from_secs(30);

/// The IP addresses of this computer as they are now, the best one first.
pub struct OwnAddresses {
    ask: Box<dyn Fn() -> Vec<IpAddr> + Send + Sync>,
    clock: Clock,
    pub(super) is_fixed: bool,
    seen: Mutex<Option<Seen>>,
}

struct Seen {
    at: Timestamp,
    numbers: Vec<IpAddr>,
    /// Somebody came in at it, and it is none of them: no reason to look again for the next who does.
    not_among_them: Option<IpAddr>,
}

impl OwnAddresses {
    /// `ask` gives the addresses that this computer has at that moment.
    pub fn new(ask: impl Fn() -> Vec<IpAddr> + Send + Sync + 'static, clock: Clock) -> Self {
        Self { ask: Box::new(ask), clock, is_fixed: false, seen: Mutex::default() }
    }

    /// The pages are at these alone, whatever other addresses this computer gets.
    #[must_use]
    pub fn fixed(numbers: Vec<IpAddr>) -> Self {
        Self { is_fixed: true, ..Self::new(move || numbers.clone(), Arc::new(Timestamp::now)) }
    }

    /// As read at most 30 seconds ago.
    pub fn now(&self) -> Vec<IpAddr> {
        self.seen(None)
    }

    /// The same when a connection came in at `local`: an address that was not known yet is the sign that
    /// they have changed.
    pub fn met_at(&self, local: IpAddr) -> Vec<IpAddr> {
        self.seen(Some(local.to_canonical()))
    }

    fn seen(&self, local: Option<IpAddr>) -> Vec<IpAddr> {
        let now = (self.clock)();
        let mut seen = self.seen.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(Seen { at, numbers, not_among_them }) = &*seen
            && (SignedDuration::ZERO..NUMBERS_LAST).contains(&now.duration_since(*at))
            && local.is_none_or(|ip| numbers.contains(&ip) || *not_among_them == Some(ip))
        {
            return numbers.clone();
        }
        let numbers = (self.ask)();
        let not_among_them = local.filter(|ip| !numbers.contains(ip));
        *seen = Some(Seen { at: now, numbers: numbers.clone(), not_among_them });
        numbers
    }
}

/// Where pages are found at one port.
#[derive(Clone)]
pub struct Places {
    /// `http` or `https`.
    pub scheme: &'static str,
    pub port: u16,
    pub numbers: Arc<OwnAddresses>,
    pub names: Vec<String>,
}

impl Places {
    /// Such as `http://192.168.1.5:7317`, the best one first: an IP address always works, a name on some phones only.
    #[must_use]
    pub fn addresses(&self) -> Vec<String> {
        self.addresses_where(|_| true)
    }

    /// The same with those numbers alone for which `counts` holds.
    pub(crate) fn addresses_where(&self, counts: impl Fn(IpAddr) -> bool) -> Vec<String> {
        let numbers = self.numbers.now().into_iter().filter(|ip| counts(*ip));
        let numbers = numbers.map(|ip| SocketAddr::new(ip, self.port).to_string());
        let names = self.names.iter().map(|name| format!("{name}:{}", self.port));
        numbers.chain(names).map(|host| format!("{}://{host}", self.scheme)).collect()
    }
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::{AtomicUsize, Ordering};

    use super::*;

    fn ip(text: &str) -> IpAddr {
        text.parse().unwrap()
    }

    /// This computer's numbers, how often they were asked for, and what time it is, all to be set.
    struct Computer {
        numbers: Arc<Mutex<Vec<IpAddr>>>,
        asked: Arc<AtomicUsize>,
        time: Arc<Mutex<Timestamp>>,
        own: OwnAddresses,
    }

    impl Computer {
        fn new(first: &str) -> Self {
            let numbers = Arc::new(Mutex::new(vec![ip(first)]));
            let asked = Arc::new(AtomicUsize::new(0));
            let time = Arc::new(Mutex::new("2026-11-25T20:00:00Z".parse::<Timestamp>().unwrap()));
            let (given, counted, clock) = (Arc::clone(&numbers), Arc::clone(&asked), Arc::clone(&time));
            let ask = move || {
                counted.fetch_add(1, Ordering::Relaxed);
                given.lock().unwrap().clone()
            };
            Self { numbers, asked, time, own: OwnAddresses::new(ask, Arc::new(move || *clock.lock().unwrap())) }
        }

        fn moves_to(&self, number: &str) {
            *self.numbers.lock().unwrap() = vec![ip(number)];
        }

        fn pass_seconds(&self, seconds: i64) {
            *self.time.lock().unwrap() += SignedDuration::from_secs(seconds);
        }

        fn asked(&self) -> usize {
            self.asked.load(Ordering::Relaxed)
        }
    }

    #[test]
    fn another_number_is_seen_after_half_a_minute_and_the_former_one_is_gone() {
        let computer = Computer::new("192.168.1.5");
        assert_eq!(computer.own.now(), [ip("192.168.1.5")]);
        computer.moves_to("10.0.0.7");
        computer.pass_seconds(29);
        assert_eq!(computer.own.now(), [ip("192.168.1.5")], "not asked for each time");
        computer.pass_seconds(1);
        assert_eq!(computer.own.now(), [ip("10.0.0.7")]);
        assert_eq!(computer.asked(), 2);
        // A clock that was set back does not hold it up.
        computer.moves_to("10.0.0.8");
        computer.pass_seconds(-3600);
        assert_eq!(computer.own.now(), [ip("10.0.0.8")]);
    }

    #[test]
    fn who_comes_in_at_an_unknown_number_shows_that_they_changed() {
        let computer = Computer::new("192.168.1.5");
        assert_eq!(computer.own.met_at(ip("192.168.1.5")), [ip("192.168.1.5")]);
        computer.moves_to("10.0.0.7");
        assert_eq!(computer.own.met_at(ip("::ffff:10.0.0.7")), [ip("10.0.0.7")]);
        assert_eq!(computer.asked(), 2);
        // One that this computer does not count as its own is looked for once, and is not taken in.
        for _ in 0..3 {
            assert_eq!(computer.own.met_at(ip("203.0.113.7")), [ip("10.0.0.7")]);
        }
        assert_eq!(computer.asked(), 3);
    }

    #[test]
    fn the_number_comes_before_the_name() {
        let numbers = Arc::new(Computer::new("192.168.1.5").own);
        let names = vec!["box.local".into(), "whelping".into()];
        let places = Places { scheme: "http", port: 7317, numbers, names };
        assert_eq!(places.addresses(), ["http://192.168.1.5:7317", "http://box.local:7317", "http://whelping:7317"]);
    }
}
