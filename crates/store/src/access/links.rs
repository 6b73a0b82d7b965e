//! Links that let a phone in once, or show one page to a vet.

use sqlx::Row as _;
use sqlx::any::AnyRow;

use crate::{Store, StoreError};

/// What a link is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LinkKind {
    Phone,
    Vet,
}

impl LinkKind {
    const fn word(self) -> &'static str {
        match self {
            Self::Phone => "phone",
            Self::Vet => "vet",
        }
    }
}

/// One link.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Link {
    pub id: String,
    /// For whom.
    pub name: String,
    pub role: String,
    /// The litter that a vet may see.
    pub litter: String,
    pub made_ms: i64,
    pub ends_ms: i64,
    pub used_ms: i64,
    /// Taken back.
    pub ended_ms: i64,
}

const COLUMNS: &str = "SELECT id, name, role, litter, made_ms, ends_ms, used_ms, ended_ms FROM link";

fn read(row: &AnyRow) -> Result<Link, sqlx::Error> {
    Ok(Link {
        id: row.try_get(0)?,
        name: row.try_get(1)?,
        role: row.try_get(2)?,
        litter: row.try_get(3)?,
        made_ms: row.try_get(4)?,
        ends_ms: row.try_get(5)?,
        used_ms: row.try_get(6)?,
        ended_ms: row.try_get(7)?,
    })
}

impl Store {
    /// Keeps a link.
    ///
    /// # Errors
    /// Nothing was saved.
    pub async fn add_link(&self, kind: LinkKind, link: &Link, token_hash: &str) -> Result<(), StoreError> {
        self.still_there()?;
        sqlx::query(
            "INSERT INTO link (id, token_hash, what, name, role, litter, made_ms, ends_ms, used_ms, ended_ms) \
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, 0, 0)",
        )
        .bind(link.id.as_str())
        .bind(token_hash)
        .bind(kind.word())
        .bind(link.name.as_str())
        .bind(link.role.as_str())
        .bind(link.litter.as_str())
        .bind(link.made_ms)
        .bind(link.ends_ms)
        .execute(&self.pool)
        .await
        .map_err(|e| self.error(&e))?;
        Ok(())
    }

    /// The link with this token, whatever became of it.
    ///
    /// # Errors
    /// The book cannot be read.
    pub async fn link(&self, kind: LinkKind, token_hash: &str) -> Result<Option<Link>, StoreError> {
        let sql = format!("{COLUMNS} WHERE what = $1 AND token_hash = $2");
        let row = sqlx::query(sqlx::AssertSqlSafe(sql))
            .bind(kind.word())
            .bind(token_hash)
            .fetch_optional(&self.pool)
            .await
            .map_err(|e| self.error(&e))?;
        row.as_ref().map(read).transpose().map_err(|e| self.error(&e))
    }

    /// The links that still open something, the newest first.
    ///
    /// # Errors
    /// The book cannot be read.
    pub async fn open_links(&self, kind: LinkKind, now_ms: i64) -> Result<Vec<Link>, StoreError> {
        let sql = format!(
            "{COLUMNS} WHERE what = $1 AND used_ms = 0 AND ended_ms = 0 AND ends_ms > $2 ORDER BY made_ms DESC, id"
        );
        let rows = sqlx::query(sqlx::AssertSqlSafe(sql))
            .bind(kind.word())
            .bind(now_ms)
            .fetch_all(&self.pool)
            .await
            .map_err(|e| self.error(&e))?;
        rows.iter().map(read).collect::<Result<_, _>>().map_err(|e| self.error(&e))
    }

    /// Spends a link; true for exactly one of those who try at once.
    ///
    /// # Errors
    /// Nothing was changed.
    pub async fn spend_link(&self, id: &str, now_ms: i64) -> Result<bool, StoreError> {
        let done =
            sqlx::query("UPDATE link SET used_ms = $1 WHERE id = $2 AND used_ms = 0 AND ended_ms = 0 AND ends_ms > $3")
                .bind(now_ms)
                .bind(id)
                .bind(now_ms)
                .execute(&self.pool)
                .await
                .map_err(|e| self.error(&e))?;
        Ok(done.rows_affected() == 1)
    }

    /// Takes a link back.
    ///
    /// # Errors
    /// Nothing was changed.
    pub async fn end_link(&self, id: &str, now_ms: i64) -> Result<bool, StoreError> {
        let done = sqlx::query("UPDATE link SET ended_ms = $1 WHERE id = $2 AND ended_ms = 0")
            .bind(now_ms)
            .bind(id)
            .execute(&self.pool)
            .await
            .map_err(|e| self.error(&e))?;
        Ok(done.rows_affected() == 1)
    }
}
