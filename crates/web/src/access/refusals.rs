//! What was refused, for the audit. A stranger who asks all day must not fill the disk.

use std::sync::{Mutex, PoisonError};

use jiff::Timestamp;
use whelpward_app::access::{By, write_audit};
use whelpward_store::Store;

/// Written down in one minute, at most (our own); further ones are only counted.
const MOST_A_MINUTE: u32 = 60;

/// Marks an answer as a refusal, with its word for the audit and what there is to add.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refused {
    pub word: &'static str,
    pub detail: String,
}

impl Refused {
    pub const fn new(word: &'static str) -> Self {
        Self { word, detail: String::new() }
    }
}

#[derive(Default)]
pub struct Refusals(Mutex<Minute>);

#[derive(Default)]
struct Minute {
    number: i64,
    written: u32,
    not_written: u32,
}

impl Refusals {
    /// How many were left out since the last one that is written, if this one is to be written.
    fn count(&self, now: Timestamp) -> Option<u32> {
        let mut minute = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        let number = now.as_second().div_euclid(60);
        if number != minute.number {
            (minute.number, minute.written) = (number, 0);
        }
        if minute.written >= MOST_A_MINUTE {
            minute.not_written += 1;
            return None;
        }
        minute.written += 1;
        Some(std::mem::take(&mut minute.not_written))
    }

    /// Writes a refusal down.
    pub async fn write(&self, store: &Store, by: &By, why: &Refused, asked: &str, now: Timestamp) {
        let Some(left_out) = self.count(now) else { return };
        let left_out = if left_out > 0 { format!(" (and {left_out} more)") } else { String::new() };
        let between = if why.detail.is_empty() { "" } else { ": " };
        let detail: String = format!("{asked}{between}{}", why.detail).chars().take(400).collect();
        let detail = format!("{detail}{left_out}");
        if let Err(error) = write_audit(store, by, &format!("refused-{}", why.word), &detail, now).await {
            // Refusing goes on without a book.
            eprintln!("the audit: {error}");
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sixty_a_minute_are_written_and_the_rest_is_counted() {
        let refusals = Refusals::default();
        let at = |second: i64| Timestamp::from_second(1_800_000_000 + second).unwrap();
        assert_eq!((0..100).filter(|_| refusals.count(at(0)).is_some()).count(), 60);
        assert_eq!(refusals.count(at(60)), Some(40));
        assert_eq!(refusals.count(at(60)), Some(0));
    }
}
