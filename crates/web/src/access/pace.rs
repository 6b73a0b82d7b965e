//! How often somebody may ask, kept in memory.

use std::collections::HashMap;
use std::hash::Hash;
use std::sync::{Mutex, PoisonError};

use jiff::Timestamp;

/// Requests a second of one device (usability O-53).
pub const REQUESTS_A_SECOND: i64 = 20;
/// A page with all that belongs to it may be asked for at once, twice over (our own).
const AT_ONCE: i64 = 40;
/// Tries to sign in or to use a link, a minute and address (usability O-53).
pub const SIGN_INS_A_MINUTE: i64 = 10;
/// Askers that are remembered; more are a sign that somebody makes them up.
const MOST_ASKERS: usize = 4096;

/// A measure that fills again as time passes: `most` at once, one more every `every_ms`.
pub struct Pace<K> {
    most: i64,
    every_ms: i64,
    left: Mutex<HashMap<K, (i64, i64)>>,
}

impl<K: Hash + Eq> Pace<K> {
    pub fn requests() -> Self {
        Self { most: AT_ONCE, every_ms: 1000 / REQUESTS_A_SECOND, left: Mutex::default() }
    }

    pub fn sign_ins() -> Self {
        Self { most: SIGN_INS_A_MINUTE, every_ms: 60_000 / SIGN_INS_A_MINUTE, left: Mutex::default() }
    }

    /// Takes one, if there is one left.
    pub fn take(&self, who: K, now: Timestamp) -> bool {
        self.take_up_to(who, now, 1)
    }

    /// Whether there is one left, without taking it.
    pub fn is_left(&self, who: K, now: Timestamp) -> bool {
        self.take_up_to(who, now, 0)
    }

    fn take_up_to(&self, who: K, now: Timestamp, count: i64) -> bool {
        let now = now.as_millisecond();
        let mut left = self.left.lock().unwrap_or_else(PoisonError::into_inner);
        if left.len() >= MOST_ASKERS && !left.contains_key(&who) {
            // Who is back at the full measure need not be remembered.
            left.retain(|_, (have, at)| *have + (now - *at) / self.every_ms < self.most);
            if left.len() >= MOST_ASKERS {
                return false;
            }
        }
        let (have, at) = left.entry(who).or_insert((self.most, now));
        // A clock that was set back gives nothing and takes nothing.
        let came = ((now - *at) / self.every_ms).max(0);
        *have = (*have + came).min(self.most);
        *at = if *have == self.most || now < *at { now } else { *at + came * self.every_ms };
        let is_left = *have > 0;
        *have -= if is_left { count } else { 0 };
        is_left
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(ms: i64) -> Timestamp {
        Timestamp::from_millisecond(1_800_000_000_000 + ms).unwrap()
    }

    #[test]
    fn forty_at_once_and_then_twenty_a_second() {
        let pace = Pace::requests();
        assert_eq!((0..100).filter(|_| pace.take("a", at(0))).count(), 40);
        assert!(pace.take("b", at(0)), "another device has its own");
        assert_eq!((0..100).filter(|_| pace.take("a", at(1000))).count(), 20);
        // Over ten seconds of asking all the time: the first measure and 20 for each second.
        let pace = Pace::requests();
        assert_eq!((0..10_000).filter(|ms| pace.take("a", at(*ms))).count(), 40 + 199);
    }

    #[test]
    fn ten_sign_ins_a_minute() {
        let pace = Pace::sign_ins();
        assert_eq!((0..50).filter(|_| pace.take(1, at(0))).count(), 10);
        assert!(!pace.is_left(1, at(5_999)) && !pace.take(1, at(5_999)));
        assert!(pace.is_left(1, at(6_000)), "looking takes nothing");
        assert!(pace.take(1, at(6_000)));
        assert!(!pace.take(1, at(6_000)));
    }

    #[test]
    fn made_up_askers_fill_no_memory() {
        let pace = Pace::sign_ins();
        for who in 0..20_000 {
            pace.take(who, at(0));
        }
        assert!(pace.left.lock().unwrap().len() <= MOST_ASKERS);
        assert!(pace.take(30_000, at(3_600_000)), "later there is room again");
    }
}
