//! One number for all that a book holds, to show that two books are the same.

use sha2::{Digest as _, Sha256};

use whelpward_core::book::{Fact, FactJson};

use crate::{Store, StoreError};

/// How many facts, the last place, and SHA-256 over all of them in the order of the book.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Digest {
    pub count: i64,
    pub last_seq: i64,
    pub sha256: String,
}

impl Store {
    /// Reads the whole book and sums it up.
    ///
    /// # Errors
    /// The book cannot be read.
    pub async fn digest(&self) -> Result<Digest, StoreError> {
        self.digest_to(self.last_seq().await?).await
    }

    /// The same of the facts up to a place: others may go on saving.
    async fn digest_to(&self, place: i64) -> Result<Digest, StoreError> {
        let mut hash = Sha256::new();
        let mut sum = Digest { count: 0, last_seq: 0, sha256: String::new() };
        loop {
            let mut page = self.page(sum.last_seq, PAGE).await?;
            page.retain(|fact| fact.receipt.seq <= place);
            for fact in &page {
                hash.update(line(fact));
                sum.count += 1;
                sum.last_seq = fact.receipt.seq;
            }
            if page.is_empty() {
                sum.sha256 = hex(&hash.finalize());
                return Ok(sum);
            }
        }
    }

    /// Takes over another book as it is, place by place, with its people, password, PINs and audit; this one
    /// must be empty. Nobody stays signed in. What others save there meanwhile is not taken.
    ///
    /// # Errors
    /// Nothing was written, or the copy does not agree with its source.
    pub async fn take_over(&self, from: &Self, mut progress: impl FnMut(i64)) -> Result<Digest, StoreError> {
        let count = self.count().await?;
        if count > 0 {
            return Err(StoreError::NotEmpty { place: self.place().to_owned(), count });
        }
        if self.has_access().await? {
            return Err(StoreError::Other {
                place: self.place().to_owned(),
                why: "people or a password are set there already; nothing was written over. Name an empty database"
                    .into(),
            });
        }
        let last = from.last_seq().await?;
        let mut after = 0;
        let mut done = 0;
        let mut tx = self.pool.begin().await.map_err(|e| self.error(&e))?;
        loop {
            let mut page = from.page(after, PAGE).await?;
            page.retain(|fact| fact.receipt.seq <= last);
            let Some(last) = page.last() else { break };
            after = last.receipt.seq;
            for fact in &page {
                self.insert(&mut tx, fact).await?;
                done += 1;
            }
            progress(done);
        }
        self.set_counter(&mut tx, "fact", after).await?;
        for waiting in from.set_aside().await? {
            let w = &waiting;
            self.put_aside_within(&mut tx, &w.fact_id, &w.litter, &w.entry, &w.why, w.received).await?;
        }
        self.carry_access(&mut tx, from).await?;
        tx.commit().await.map_err(|e| self.error(&e))?;
        let (source, copy) = (from.digest_to(last).await?, self.digest().await?);
        if source != copy {
            return Err(StoreError::CopyDiffers { why: format!("{} facts there, {} here", source.count, copy.count) });
        }
        Ok(copy)
    }

    /// Puts facts with their own places into an empty book, all or none.
    ///
    /// # Errors
    /// Nothing was written.
    pub async fn rebuild(&self, facts: &[Fact]) -> Result<(), StoreError> {
        let count = self.count().await?;
        if count > 0 {
            return Err(StoreError::NotEmpty { place: self.place().to_owned(), count });
        }
        let mut tx = self.pool.begin().await.map_err(|e| self.error(&e))?;
        for fact in facts {
            if !self.insert(&mut tx, fact).await? {
                return Err(StoreError::CopyDiffers { why: format!("the id {} is there twice", fact.id) });
            }
        }
        let last = facts.iter().map(|f| f.receipt.seq).max().unwrap_or(0);
        self.set_counter(&mut tx, "fact", last).await?;
        tx.commit().await.map_err(|e| self.error(&e))
    }

    async fn set_counter(
        &self,
        tx: &mut sqlx::Transaction<'_, sqlx::Any>,
        name: &str,
        value: i64,
    ) -> Result<(), StoreError> {
        // Never back: in a book that erasing has emptied, places up to here count as written out.
        sqlx::query("UPDATE counter SET value = $1 WHERE name = $2 AND value < $1")
            .bind(value)
            .bind(name)
            .execute(&mut **tx)
            .await
            .map_err(|e| self.error(&e))?;
        Ok(())
    }
}

/// Facts read at a time; a book of any size fits into little memory.
const PAGE: i64 = 2000;

fn line(fact: &Fact) -> String {
    serde_json::to_string(&FactJson::from(fact)).unwrap_or_default() + "\n"
}

/// Bytes as hexadecimal digits.
#[must_use]
pub fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write as _;
    bytes.iter().fold(String::new(), |mut text, b| {
        // Writing into a String cannot fail.
        let _ = write!(text, "{b:02x}");
        text
    })
}
