//! What was done about people and devices, and what was refused.

use jiff::Timestamp;
use sqlx::Row as _;

use crate::{Store, StoreError};

/// One thing that was done or refused.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AuditEntry {
    pub at: Timestamp,
    /// The id of the device; empty where none was known.
    pub device: String,
    pub carer: String,
    /// The network address from which it came; empty at this computer's terminal.
    pub address: String,
    /// One word.
    pub what: String,
    pub detail: String,
}

/// An entry with its place in the audit.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AuditLine {
    pub seq: i64,
    pub entry: AuditEntry,
}

impl Store {
    /// Writes an entry down.
    ///
    /// # Errors
    /// Nothing was saved.
    pub async fn write_audit(&self, entry: &AuditEntry) -> Result<(), StoreError> {
        self.still_there()?;
        let mut tx = self.pool.begin().await.map_err(|e| self.error(&e))?;
        let seq = self.count_up(&mut tx, "audit", 1).await?;
        sqlx::query(
            "INSERT INTO audit (seq, at_ms, device, carer, address, what, detail) VALUES ($1, $2, $3, $4, $5, $6, $7)",
        )
        .bind(seq)
        .bind(entry.at.as_millisecond())
        .bind(entry.device.as_str())
        .bind(entry.carer.as_str())
        .bind(entry.address.as_str())
        .bind(entry.what.as_str())
        .bind(entry.detail.as_str())
        .execute(&mut *tx)
        .await
        .map_err(|e| self.error(&e))?;
        tx.commit().await.map_err(|e| self.error(&e))
    }

    /// Entries before a place of the audit, the newest first.
    ///
    /// # Errors
    /// The book cannot be read.
    pub async fn audit_before(&self, seq: i64, most: i64) -> Result<Vec<AuditLine>, StoreError> {
        let rows = sqlx::query(
            "SELECT seq, at_ms, device, carer, address, what, detail FROM audit WHERE seq < $1 ORDER BY seq DESC LIMIT $2",
        )
        .bind(seq)
        .bind(most)
        .fetch_all(&self.pool)
        .await
        .map_err(|e| self.error(&e))?;
        rows.iter()
            .map(|r| {
                Ok(AuditLine {
                    seq: r.try_get(0)?,
                    entry: AuditEntry {
                        at: Timestamp::from_millisecond(r.try_get(1)?).unwrap_or_default(),
                        device: r.try_get(2)?,
                        carer: r.try_get(3)?,
                        address: r.try_get(4)?,
                        what: r.try_get(5)?,
                        detail: r.try_get(6)?,
                    },
                })
            })
            .collect::<Result<_, sqlx::Error>>()
            .map_err(|e| self.error(&e))
    }
}
