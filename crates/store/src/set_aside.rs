//! Entries that the book could not take, kept for a person to look at.

use jiff::Timestamp;
use sqlx::{Any, Row as _, Transaction};

use crate::{Store, StoreError};

/// One entry that waits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SetAside {
    pub seq: i64,
    pub fact_id: String,
    pub litter: String,
    /// The whole entry as it came, as JSON.
    pub entry: String,
    pub why: String,
    pub received: Timestamp,
}

impl Store {
    /// Keeps an entry that the book cannot take.
    ///
    /// # Errors
    /// Nothing was saved.
    pub async fn put_aside(
        &self,
        fact_id: &str,
        litter: &str,
        entry: &str,
        why: &str,
        received: Timestamp,
    ) -> Result<(), StoreError> {
        self.still_there()?;
        let mut tx = self.pool.begin().await.map_err(|e| self.error(&e))?;
        self.put_aside_within(&mut tx, fact_id, litter, entry, why, received).await?;
        tx.commit().await.map_err(|e| self.error(&e))
    }

    pub(crate) async fn put_aside_within(
        &self,
        tx: &mut Transaction<'_, Any>,
        fact_id: &str,
        litter: &str,
        entry: &str,
        why: &str,
        received: Timestamp,
    ) -> Result<(), StoreError> {
        let there = sqlx::query("SELECT seq FROM set_aside WHERE fact_id = $1 AND entry = $2")
            .bind(fact_id)
            .bind(entry)
            .fetch_optional(&mut **tx)
            .await
            .map_err(|e| self.error(&e))?;
        if there.is_some() {
            // A device that tries again does not fill the list.
            return Ok(());
        }
        let seq = self.count_up(tx, "set_aside", 1).await?;
        sqlx::query(
            "INSERT INTO set_aside (seq, fact_id, litter, entry, why, received_ms, settled) \
             VALUES ($1, $2, $3, $4, $5, $6, '')",
        )
        .bind(seq)
        .bind(fact_id)
        .bind(litter)
        .bind(entry)
        .bind(why)
        .bind(received.as_millisecond())
        .execute(&mut **tx)
        .await
        .map_err(|e| self.error(&e))?;
        Ok(())
    }

    /// What waits for a person, oldest first.
    ///
    /// # Errors
    /// The book cannot be read.
    pub async fn set_aside(&self) -> Result<Vec<SetAside>, StoreError> {
        let rows = sqlx::query(
            "SELECT seq, fact_id, litter, entry, why, received_ms FROM set_aside WHERE settled = '' ORDER BY seq",
        )
        .fetch_all(&self.pool)
        .await
        .map_err(|e| self.error(&e))?;
        rows.iter()
            .map(|row| {
                Ok(SetAside {
                    seq: row.try_get(0)?,
                    fact_id: row.try_get(1)?,
                    litter: row.try_get(2)?,
                    entry: row.try_get(3)?,
                    why: row.try_get(4)?,
                    received: Timestamp::from_millisecond(row.try_get(5)?).unwrap_or_default(),
                })
            })
            .collect::<Result<_, sqlx::Error>>()
            .map_err(|e| self.error(&e))
    }

    /// Says what became of an entry that waited; the entry stays.
    ///
    /// # Errors
    /// Nothing was saved.
    pub async fn settle(&self, seq: i64, settled: &str) -> Result<(), StoreError> {
        sqlx::query("UPDATE set_aside SET settled = $1 WHERE seq = $2 AND settled = ''")
            .bind(settled)
            .bind(seq)
            .execute(&self.pool)
            .await
            .map_err(|e| self.error(&e))?;
        Ok(())
    }
}
