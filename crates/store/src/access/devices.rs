//! Phones and computers that were let in.

use sqlx::Row as _;
use sqlx::any::AnyRow;

use crate::{Store, StoreError};

/// One device.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Device {
    pub id: String,
    pub label: String,
    /// The most that it may do without a further secret.
    pub role: String,
    /// Who holds it; empty where nobody was named.
    pub carer: String,
    /// The role of that person; empty where there is no such person.
    pub carer_role: String,
    pub added_ms: i64,
    pub seen_ms: i64,
    pub ends_ms: i64,
}

const COLUMNS: &str = "SELECT d.id, d.label, d.role, d.carer, COALESCE(p.role, '') AS carer_role, d.added_ms, \
     d.seen_ms, d.ends_ms FROM device d LEFT JOIN person p ON p.name = d.carer";

fn read(row: &AnyRow) -> Result<Device, sqlx::Error> {
    Ok(Device {
        id: row.try_get(0)?,
        label: row.try_get(1)?,
        role: row.try_get(2)?,
        carer: row.try_get(3)?,
        carer_role: row.try_get(4)?,
        added_ms: row.try_get(5)?,
        seen_ms: row.try_get(6)?,
        ends_ms: row.try_get(7)?,
    })
}

impl Store {
    /// Lets a device in, unless there are `most` already; then false.
    ///
    /// # Errors
    /// Nothing was saved.
    pub async fn add_device(
        &self,
        device: &Device,
        token_hash: &str,
        most: i64,
        now_ms: i64,
    ) -> Result<bool, StoreError> {
        self.still_there()?;
        let done = sqlx::query(
            "INSERT INTO device (id, token_hash, label, role, carer, added_ms, seen_ms, ends_ms, signed_out_ms) \
             SELECT $1, $2, $3, $4, $5, $6, $7, $8, 0 WHERE \
             (SELECT COUNT(*) FROM device WHERE signed_out_ms = 0 AND ends_ms > $9) < $10",
        )
        .bind(device.id.as_str())
        .bind(token_hash)
        .bind(device.label.as_str())
        .bind(device.role.as_str())
        .bind(device.carer.as_str())
        .bind(device.added_ms)
        .bind(device.seen_ms)
        .bind(device.ends_ms)
        .bind(now_ms)
        .bind(most)
        .execute(&self.pool)
        .await
        .map_err(|e| self.error(&e))?;
        Ok(done.rows_affected() == 1)
    }

    /// The device with this token, if it is still let in.
    ///
    /// # Errors
    /// The book cannot be read.
    pub async fn device(&self, token_hash: &str, now_ms: i64) -> Result<Option<Device>, StoreError> {
        let sql = format!("{COLUMNS} WHERE d.token_hash = $1 AND d.signed_out_ms = 0 AND d.ends_ms > $2");
        let row = sqlx::query(sqlx::AssertSqlSafe(sql))
            .bind(token_hash)
            .bind(now_ms)
            .fetch_optional(&self.pool)
            .await
            .map_err(|e| self.error(&e))?;
        row.as_ref().map(read).transpose().map_err(|e| self.error(&e))
    }

    /// Every device that is let in, the one seen last first.
    ///
    /// # Errors
    /// The book cannot be read.
    pub async fn devices(&self, now_ms: i64) -> Result<Vec<Device>, StoreError> {
        let sql = format!("{COLUMNS} WHERE d.signed_out_ms = 0 AND d.ends_ms > $1 ORDER BY d.seen_ms DESC, d.id");
        let rows = sqlx::query(sqlx::AssertSqlSafe(sql))
            .bind(now_ms)
            .fetch_all(&self.pool)
            .await
            .map_err(|e| self.error(&e))?;
        rows.iter().map(read).collect::<Result<_, _>>().map_err(|e| self.error(&e))
    }

    /// The labels of all devices that ever were, by id.
    ///
    /// # Errors
    /// The book cannot be read.
    pub async fn device_labels(&self) -> Result<Vec<(String, String)>, StoreError> {
        let rows =
            sqlx::query("SELECT id, label FROM device").fetch_all(&self.pool).await.map_err(|e| self.error(&e))?;
        rows.iter().map(|r| Ok((r.try_get(0)?, r.try_get(1)?))).collect::<Result<_, _>>().map_err(|e| self.error(&e))
    }

    /// The device was seen; it stays let in until then.
    ///
    /// # Errors
    /// Nothing was saved.
    pub async fn saw_device(&self, id: &str, now_ms: i64, ends_ms: i64) -> Result<(), StoreError> {
        sqlx::query("UPDATE device SET seen_ms = $1, ends_ms = $2 WHERE id = $3 AND signed_out_ms = 0")
            .bind(now_ms)
            .bind(ends_ms)
            .bind(id)
            .execute(&self.pool)
            .await
            .map_err(|e| self.error(&e))?;
        Ok(())
    }

    /// Another person holds it.
    ///
    /// # Errors
    /// Nothing was saved.
    pub async fn hand_over(&self, id: &str, carer: &str) -> Result<(), StoreError> {
        sqlx::query("UPDATE device SET carer = $1 WHERE id = $2")
            .bind(carer)
            .bind(id)
            .execute(&self.pool)
            .await
            .map_err(|e| self.error(&e))?;
        Ok(())
    }

    /// Signs one device out, or every one; gives how many.
    ///
    /// # Errors
    /// Nothing was changed.
    pub async fn sign_out(&self, id: Option<&str>, now_ms: i64) -> Result<u64, StoreError> {
        let query = match id {
            Some(id) => sqlx::query("UPDATE device SET signed_out_ms = $1 WHERE signed_out_ms = 0 AND id = $2")
                .bind(now_ms)
                .bind(id.to_owned()),
            None => sqlx::query("UPDATE device SET signed_out_ms = $1 WHERE signed_out_ms = 0").bind(now_ms),
        };
        Ok(query.execute(&self.pool).await.map_err(|e| self.error(&e))?.rows_affected())
    }
}
