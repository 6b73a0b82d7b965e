//! Tokens, and the password and PINs with the wait between wrong tries.

use argon2::Argon2;
use argon2::password_hash::{PasswordHasher as _, PasswordVerifier as _};
use jiff::Timestamp;
use sha2::{Digest as _, Sha256};
use whelpward_store::{Store, Try, hex};

use super::Denied;
use crate::AppError;

/// Characters of a password, at least (our own).
pub const SHORTEST_PASSWORD: usize = 10;
/// Digits of a PIN (usability O-42).
pub const PIN_DIGITS: std::ops::RangeInclusive<usize> = 4..=6;
/// Wrong tries in a row before the next has to wait (usability O-42).
const FREE_TRIES: i64 = 5;
/// The first wait; each further wrong try doubles it (usability O-42).
const FIRST_WAIT_MS: i64 = 60_000;
/// No wait is longer, or a stranger could lock the household out for good (our own).
const LONGEST_WAIT_MS: i64 = 3_600_000;

/// A new token of so many random bytes, as hexadecimal digits.
#[must_use]
pub(super) fn new_token<const BYTES: usize>() -> String {
    let mut bytes = [0_u8; BYTES];
    rand::fill(&mut bytes);
    hex(&bytes)
}

/// What is kept of a token. The token is random and long, so that a fast hash will do.
pub(super) fn kept(token: &str) -> String {
    hex(&Sha256::digest(token.as_bytes()))
}

/// The next try after the one of this number is not looked at before this time.
fn closed_until(now_ms: i64, tries: i64) -> i64 {
    if tries < FREE_TRIES {
        return 0;
    }
    let doublings = u32::try_from(tries - FREE_TRIES).unwrap_or(u32::MAX).min(20);
    now_ms + (FIRST_WAIT_MS << doublings).min(LONGEST_WAIT_MS)
}

/// The argon2id hash of a password or PIN, with a salt of its own.
pub(super) async fn hash(secret: String) -> Result<String, AppError> {
    tokio::task::spawn_blocking(move || Argon2::default().hash_password(secret.as_bytes()).map(|h| h.to_string()))
        .await
        .map_err(|e| AppError::Said(format!("the password cannot be kept: {e}")))?
        .map_err(|e| AppError::Said(format!("the password cannot be kept: {e}")))
}

/// Looks whether a secret is right; each try counts, before it is looked at.
pub(super) async fn is_right(store: &Store, owner: &str, secret: String, now: Timestamp) -> Result<(), Denied> {
    let now_ms = now.as_millisecond();
    let hash = match store.count_try(owner, now_ms, |tries| closed_until(now_ms, tries)).await? {
        Try::None => return Err(Denied::NoSecret),
        Try::Closed { until_ms } => return Err(Denied::Closed { seconds: (until_ms - now_ms + 999) / 1000 }),
        Try::Open { hash } => hash,
    };
    let is_right = tokio::task::spawn_blocking(move || {
        Argon2::default().verify_password(secret.as_bytes(), hash.as_str()).is_ok()
    })
    .await
    .unwrap_or(false);
    if !is_right {
        return Err(Denied::Wrong);
    }
    store.forget_tries(owner).await?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_fifth_wrong_try_waits_a_minute_and_each_further_one_twice_as_long() {
        let waits: Vec<i64> = (1..=12).map(|tries| (closed_until(1_000, tries) - 1_000).max(0) / 1000).collect();
        assert_eq!(waits, [0, 0, 0, 0, 60, 120, 240, 480, 960, 1920, 3600, 3600]);
        assert_eq!(closed_until(0, i64::MAX), LONGEST_WAIT_MS);
    }

    #[test]
    fn tokens_have_their_length_and_do_not_repeat() {
        assert_eq!(new_token::<16>().len(), 32);
        assert_eq!(new_token::<32>().len(), 64);
        assert_ne!(new_token::<16>(), new_token::<16>());
        assert_eq!(kept("abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }
}
