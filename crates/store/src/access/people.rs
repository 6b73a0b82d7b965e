//! The people of the household.

use sqlx::Row as _;

use crate::{Store, StoreError};

/// One person, with the word of the role.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Person {
    pub name: String,
    pub role: String,
    pub has_pin: bool,
}

impl Store {
    /// Everybody, by name.
    ///
    /// # Errors
    /// The book cannot be read.
    pub async fn people(&self) -> Result<Vec<Person>, StoreError> {
        let rows = sqlx::query(
            "SELECT p.name, p.role, CAST(COUNT(s.owner) AS BIGINT) AS pins FROM person p \
             LEFT JOIN secret s ON s.owner = 'pin ' || p.name GROUP BY p.name, p.role ORDER BY p.name",
        )
        .fetch_all(&self.pool)
        .await
        .map_err(|e| self.error(&e))?;
        rows.iter()
            .map(|r| Ok(Person { name: r.try_get(0)?, role: r.try_get(1)?, has_pin: r.try_get::<i64, _>(2)? > 0 }))
            .collect::<Result<_, sqlx::Error>>()
            .map_err(|e| self.error(&e))
    }

    /// Adds a person, or gives one another role.
    ///
    /// # Errors
    /// Nothing was saved.
    pub async fn put_person(&self, name: &str, role: &str, now_ms: i64) -> Result<(), StoreError> {
        self.still_there()?;
        sqlx::query(
            "INSERT INTO person (name, role, added_ms) VALUES ($1, $2, $3) \
             ON CONFLICT (name) DO UPDATE SET role = excluded.role",
        )
        .bind(name)
        .bind(role)
        .bind(now_ms)
        .execute(&self.pool)
        .await
        .map_err(|e| self.error(&e))?;
        Ok(())
    }

    /// Takes a person out, with the PIN, the devices in that person's hand and the open links.
    ///
    /// # Errors
    /// Nothing was changed.
    pub async fn remove_person(&self, name: &str, now_ms: i64) -> Result<(), StoreError> {
        let failed = |e: sqlx::Error| self.error(&e);
        let mut tx = self.pool.begin().await.map_err(failed)?;
        for (sql, bound) in [
            ("DELETE FROM person WHERE name = $1", name.to_owned()),
            ("DELETE FROM secret WHERE owner = $1", format!("pin {name}")),
        ] {
            sqlx::query(sql).bind(bound).execute(&mut *tx).await.map_err(failed)?;
        }
        for sql in [
            "UPDATE device SET signed_out_ms = $1 WHERE carer = $2 AND signed_out_ms = 0",
            "UPDATE link SET ended_ms = $1 WHERE name = $2 AND what = 'phone' AND ended_ms = 0",
        ] {
            sqlx::query(sql).bind(now_ms).bind(name).execute(&mut *tx).await.map_err(failed)?;
        }
        tx.commit().await.map_err(failed)
    }
}
