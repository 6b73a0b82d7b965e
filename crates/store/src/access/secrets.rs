//! Hashes of the password and the PINs, and how often each was tried.

use sqlx::Row as _;

use crate::{Store, StoreError};

/// A try that was counted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Try {
    /// There is no such secret.
    None,
    /// Not before this time.
    Closed { until_ms: i64 },
    /// Counted; compare with the hash.
    Open { hash: String },
}

impl Store {
    /// Whether there is a secret.
    ///
    /// # Errors
    /// The book cannot be read.
    pub async fn has_secret(&self, owner: &str) -> Result<bool, StoreError> {
        let row = sqlx::query("SELECT owner FROM secret WHERE owner = $1")
            .bind(owner)
            .fetch_optional(&self.pool)
            .await
            .map_err(|e| self.error(&e))?;
        Ok(row.is_some())
    }

    /// Sets a secret, with no tries behind it.
    ///
    /// # Errors
    /// Nothing was saved.
    pub async fn put_secret(&self, owner: &str, hash: &str, now_ms: i64) -> Result<(), StoreError> {
        self.still_there()?;
        sqlx::query(
            "INSERT INTO secret (owner, hash, tries, closed_until_ms, set_ms) VALUES ($1, $2, 0, 0, $3) \
             ON CONFLICT (owner) DO UPDATE SET hash = excluded.hash, tries = 0, closed_until_ms = 0, \
             set_ms = excluded.set_ms",
        )
        .bind(owner)
        .bind(hash)
        .bind(now_ms)
        .execute(&self.pool)
        .await
        .map_err(|e| self.error(&e))?;
        Ok(())
    }

    /// Removes a secret.
    ///
    /// # Errors
    /// Nothing was changed.
    pub async fn remove_secret(&self, owner: &str) -> Result<(), StoreError> {
        sqlx::query("DELETE FROM secret WHERE owner = $1")
            .bind(owner)
            .execute(&self.pool)
            .await
            .map_err(|e| self.error(&e))?;
        Ok(())
    }

    /// Counts a try before it is looked at, so that many at once are not more than as many in a row.
    /// `closed_after` gives, for the number of this try, until when the next one has to wait.
    ///
    /// # Errors
    /// The book cannot be written; then nothing may be tried.
    pub async fn count_try(
        &self,
        owner: &str,
        now_ms: i64,
        closed_after: impl Fn(i64) -> i64,
    ) -> Result<Try, StoreError> {
        loop {
            let row = sqlx::query("SELECT hash, tries, closed_until_ms FROM secret WHERE owner = $1")
                .bind(owner)
                .fetch_optional(&self.pool)
                .await
                .map_err(|e| self.error(&e))?;
            let Some(row) = row else { return Ok(Try::None) };
            let (tries, until_ms): (i64, i64) =
                (row.try_get(1).map_err(|e| self.error(&e))?, row.try_get(2).map_err(|e| self.error(&e))?);
            if until_ms > now_ms {
                return Ok(Try::Closed { until_ms });
            }
            let counted = sqlx::query(
                "UPDATE secret SET tries = $1, closed_until_ms = $2 WHERE owner = $3 AND tries = $4 \
                 AND closed_until_ms = $5",
            )
            .bind(tries + 1)
            .bind(closed_after(tries + 1))
            .bind(owner)
            .bind(tries)
            .bind(until_ms)
            .execute(&self.pool)
            .await
            .map_err(|e| self.error(&e))?;
            // Else another try was counted in between: look again.
            if counted.rows_affected() == 1 {
                return Ok(Try::Open { hash: row.try_get(0).map_err(|e| self.error(&e))? });
            }
        }
    }

    /// The last try was right.
    ///
    /// # Errors
    /// The book cannot be written.
    pub async fn forget_tries(&self, owner: &str) -> Result<(), StoreError> {
        sqlx::query("UPDATE secret SET tries = 0, closed_until_ms = 0 WHERE owner = $1")
            .bind(owner)
            .execute(&self.pool)
            .await
            .map_err(|e| self.error(&e))?;
        Ok(())
    }
}
