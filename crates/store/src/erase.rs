//! Erases for good: a whole litter, or the name of a person (usability O-26). Nothing else is ever removed.

use std::collections::HashSet;

use jiff::Timestamp;
use sqlx::{Any, Row as _, Transaction};

use whelpward_core::book::{ERASED_PERSON, Fact, FactId, FactJson, Kind, text_without_name};

use crate::{Engine, Store, StoreError};

/// Facts read at a time.
const PAGE: i64 = 2000;

/// How long cleaning waits for others.
const PATIENCE_WITH_OTHERS: std::time::Duration = std::time::Duration::from_secs(10);

struct Found {
    facts: Vec<Fact>,
    last: i64,
    erased_before: HashSet<String>,
}

/// What was erased.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Erased {
    /// Facts that were removed, or in which the name stood.
    pub facts: i64,
    /// Other lines: entries that wait, links, devices, lines of the audit.
    pub others: i64,
    /// What stands in the place of the name.
    pub instead: Option<String>,
    /// Why the database may still hold the old bytes on its disk, where it could not be cleaned.
    pub not_cleaned: Option<String>,
}

impl Store {
    /// How often something was erased from this book.
    ///
    /// # Errors
    /// The book cannot be read.
    pub async fn erasures(&self) -> Result<i64, StoreError> {
        self.counted("erasure").await
    }

    /// Says that a ZIP holds everything up to these places: of the facts, and of the entries that wait.
    ///
    /// # Errors
    /// Nothing was saved.
    pub async fn put_written_out(&self, facts: i64, waiting: i64) -> Result<(), StoreError> {
        self.still_there()?;
        for (name, place) in [("written_out", facts), ("written_out_waiting", waiting)] {
            sqlx::query("UPDATE counter SET value = $1 WHERE name = $2 AND value < $1")
                .bind(place)
                .bind(name)
                .execute(&self.pool)
                .await
                .map_err(|e| self.error(&e))?;
        }
        Ok(())
    }

    /// The last fact and the last waiting entry that a ZIP holds; 0 where none was written.
    ///
    /// # Errors
    /// The book cannot be read.
    pub async fn written_out(&self) -> Result<(i64, i64), StoreError> {
        Ok((self.counted("written_out").await?, self.counted("written_out_waiting").await?))
    }

    async fn counted(&self, name: &'static str) -> Result<i64, StoreError> {
        let row = sqlx::query("SELECT value FROM counter WHERE name = $1").bind(name).fetch_one(&self.pool).await;
        row.and_then(|row| row.try_get(0)).map_err(|e| self.error(&e))
    }

    /// Whether one of these litters was erased; nobody may write into it.
    pub(crate) async fn is_erased(
        &self,
        tx: &mut Transaction<'_, Any>,
        litters: impl Iterator<Item = FactId>,
    ) -> Result<bool, StoreError> {
        let mut litters: Vec<FactId> = litters.collect();
        litters.sort_unstable();
        litters.dedup();
        for litter in litters {
            let row = sqlx::query("SELECT at_ms FROM erased WHERE litter = $1").bind(litter.to_string());
            if row.fetch_optional(&mut **tx).await.map_err(|e| self.error(&e))?.is_some() {
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// Lets litters that were erased be written again: somebody reads a ZIP of them.
    ///
    /// # Errors
    /// Nothing was saved.
    pub async fn allow_again(&self, litters: impl Iterator<Item = FactId>) -> Result<(), StoreError> {
        for litter in litters {
            let done = sqlx::query("DELETE FROM erased WHERE litter = $1").bind(litter.to_string());
            done.execute(&self.pool).await.map_err(|e| self.error(&e))?;
        }
        Ok(())
    }

    /// Erases a litter with all that was ever written of it. Its `name` and those of its `pups` go from the audit,
    /// where a link for the vet or a refused feed may name them.
    ///
    /// # Errors
    /// Something of it is in no ZIP yet, or the book cannot be written. Nothing was erased.
    pub async fn erase_litter(
        &self,
        litter: FactId,
        name: &str,
        pups: &[String],
        now: Timestamp,
    ) -> Result<Erased, StoreError> {
        let id = litter.to_string();
        self.erasing(async |tx, (written, waiting)| {
            let advice = Kind::Advice.word();
            // What was advised can be worked out again.
            let sql = "SELECT COALESCE(MAX(seq), 0) FROM fact WHERE litter = $1 AND kind <> $2";
            let newest = self.one(tx, sql, &[&id, advice]).await?;
            let sql = "SELECT COALESCE(MAX(seq), 0) FROM set_aside WHERE litter = $1 AND settled = ''";
            if newest > written || self.one(tx, sql, &[&id]).await? > waiting {
                return Err(StoreError::NotWrittenOut { place: self.place().to_owned() });
            }
            let sql = "SELECT COALESCE(MIN(received_ms), 0) FROM fact WHERE litter = $1";
            let began = self.one(tx, sql, &[&id]).await?;
            let mut others = self.unname_in_audit(tx, name, pups, began).await?;
            let facts = self.changed(tx, "DELETE FROM fact WHERE litter = $1", &[&id]).await?;
            for sql in ["DELETE FROM set_aside WHERE litter = $1", "DELETE FROM link WHERE litter = $1"] {
                others += self.changed(tx, sql, &[&id]).await?;
            }
            sqlx::query("INSERT INTO erased (litter, at_ms) VALUES ($1, $2)")
                .bind(&id)
                .bind(now.as_millisecond())
                .execute(&mut **tx)
                .await
                .map_err(|e| self.error(&e))?;
            self.count_up(tx, "erasure", 1).await?;
            Ok(Erased { facts, others, instead: None, not_cleaned: None })
        })
        .await
    }

    /// Takes the names of a litter and its pups out of what the audit says since the litter began. A line names no
    /// litter, so one of another litter with a pup of that name loses its words too, never itself.
    async fn unname_in_audit(
        &self,
        tx: &mut Transaction<'_, Any>,
        name: &str,
        pups: &[String],
        began_ms: i64,
    ) -> Result<i64, StoreError> {
        let rows = sqlx::query(
            "SELECT CAST(seq AS TEXT), what, detail FROM audit \
             WHERE what IN ('vet-link-made', 'refused-gate', 'refused-gate-aside') AND at_ms >= $1",
        )
        .bind(began_ms)
        .fetch_all(&mut **tx)
        .await
        .map_err(|e| self.error(&e))?;
        let mut changed = 0;
        for row in rows {
            let read = |at: usize| row.try_get::<String, _>(at).map_err(|e| self.error(&e));
            let (seq, what, detail) = (read(0)?, read(1)?, read(2)?);
            let is_of_it = match what.as_str() {
                "vet-link-made" => detail == name,
                _ => pups.iter().any(|pup| text_without_name(&detail, pup, "") != detail),
            };
            if is_of_it {
                let sql = "UPDATE audit SET detail = '' WHERE CAST(seq AS TEXT) = $1";
                changed += self.changed(tx, sql, &[&seq]).await?;
            }
        }
        Ok(changed)
    }

    /// Puts "Person N" in the place of a person's name, everywhere; the person leaves the household, and the
    /// devices in that person's hand are signed out.
    ///
    /// # Errors
    /// A fact with the name is in no ZIP yet, or the book cannot be written. Nothing was erased.
    pub async fn erase_name(&self, name: &str, now: Timestamp) -> Result<Erased, StoreError> {
        let before = self.erasures().await?;
        // Most of the reading is done before the lock, so that nobody waits for it: facts do not change.
        let mut found = self.with_name(name, 0).await?;
        self.erasing(async |tx, (written, _)| {
            if self.count_up(tx, "erasure", 0).await? != before {
                return Err(StoreError::Busy { place: self.place().to_owned() });
            }
            // What came in since; the lock is held, so this is all of it.
            let newer = self.with_name(name, found.last).await?;
            found.facts.extend(newer.facts);
            found.erased_before.extend(newer.erased_before);
            if found.facts.iter().any(|f| f.kind != Kind::Advice && f.receipt.seq > written) {
                return Err(StoreError::NotWrittenOut { place: self.place().to_owned() });
            }
            let mut number = self.count_up(tx, "erasure", 1).await?;
            while found.erased_before.contains(&format!("{ERASED_PERSON}{number}")) {
                number = self.count_up(tx, "erasure", 1).await?;
            }
            let instead = format!("{ERASED_PERSON}{number}");
            for fact in &found.facts {
                let Some(without) = fact.without_name(name, &instead) else { continue };
                let body = serde_json::to_string(&without.body).unwrap_or_default();
                let carer = without.carer.unwrap_or_default();
                let sql = "UPDATE fact SET body = $2, carer = $3 WHERE id = $1";
                self.changed(tx, sql, &[&without.id.to_string(), &body, &carer]).await?;
            }
            let others = self.erase_name_beside(tx, name, &instead, now).await?;
            let facts = i64::try_from(found.facts.len()).unwrap_or(i64::MAX);
            Ok(Erased { facts, others, instead: Some(instead), not_cleaned: None })
        })
        .await
    }

    /// The facts in which a person's name stands, in the order of the book.
    ///
    /// # Errors
    /// The book cannot be read.
    pub async fn facts_naming(&self, name: &str) -> Result<Vec<Fact>, StoreError> {
        Ok(self.with_name(name, 0).await?.facts)
    }

    /// Facts behind a place in which the name stands; with the last place that was looked at, and who has the
    /// name of somebody erased before.
    async fn with_name(&self, name: &str, after: i64) -> Result<Found, StoreError> {
        let mut found = Found { facts: Vec::new(), last: after, erased_before: HashSet::new() };
        loop {
            let page = self.page(found.last, PAGE).await?;
            let Some(last) = page.last() else { return Ok(found) };
            found.last = last.receipt.seq;
            for fact in page {
                found.erased_before.extend(fact.people().filter(|p| p.starts_with(ERASED_PERSON)).map(str::to_owned));
                if fact.without_name(name, "").is_some() {
                    found.facts.push(fact);
                }
            }
        }
    }

    /// The name outside the facts: people, secrets, devices, links, entries that wait, the audit.
    async fn erase_name_beside(
        &self,
        tx: &mut Transaction<'_, Any>,
        name: &str,
        instead: &str,
        now: Timestamp,
    ) -> Result<i64, StoreError> {
        let now_ms = now.as_millisecond();
        let mut others = 0;
        for sql in ["DELETE FROM person WHERE name = $1", "DELETE FROM secret WHERE owner = 'pin ' || $1"] {
            others += self.changed(tx, sql, &[name]).await?;
        }
        for sql in [
            "UPDATE device SET signed_out_ms = $1 WHERE carer = $2 AND signed_out_ms = 0",
            "UPDATE link SET ended_ms = $1 WHERE name = $2 AND what = 'phone' AND ended_ms = 0",
        ] {
            let done = sqlx::query(sql).bind(now_ms).bind(name).execute(&mut **tx).await;
            done.map_err(|e| self.error(&e))?;
        }
        for (table, key, texts) in [
            ("device", "id", &["carer", "label"][..]),
            ("link", "id", &["name"]),
            ("audit", "CAST(seq AS TEXT)", &["carer", "detail"]),
            ("set_aside", "CAST(seq AS TEXT)", &["entry", "why", "settled"]),
        ] {
            others += self.rename_in(tx, (table, key, texts), name, instead).await?;
        }
        Ok(others)
    }

    async fn rename_in(
        &self,
        tx: &mut Transaction<'_, Any>,
        (table, key, texts): (&str, &str, &[&str]),
        name: &str,
        instead: &str,
    ) -> Result<i64, StoreError> {
        let select = format!("SELECT {key}, {} FROM {table}", texts.join(", "));
        let rows = sqlx::query(sqlx::AssertSqlSafe(select)).fetch_all(&mut **tx).await.map_err(|e| self.error(&e))?;
        let mut changed = 0;
        for row in rows {
            let read = |at: usize| row.try_get::<String, _>(at).map_err(|e| self.error(&e));
            let id = read(0)?;
            for (at, column) in texts.iter().enumerate() {
                let before = read(at + 1)?;
                let after = if *column == "entry" {
                    entry_without_name(&before, name, instead)
                } else {
                    text_without_name(&before, name, instead)
                };
                if after != before {
                    let sql = format!("UPDATE {table} SET {column} = $2 WHERE {key} = $1");
                    changed += self.changed(tx, sqlx::AssertSqlSafe(sql), &[&id, &after]).await?;
                }
            }
        }
        Ok(changed)
    }

    async fn changed(
        &self,
        tx: &mut Transaction<'_, Any>,
        sql: impl sqlx::SqlSafeStr,
        texts: &[&str],
    ) -> Result<i64, StoreError> {
        let mut query = sqlx::query(sql);
        for text in texts {
            query = query.bind((*text).to_owned());
        }
        let done = query.execute(&mut **tx).await.map_err(|e| self.error(&e))?;
        Ok(i64::try_from(done.rows_affected()).unwrap_or(i64::MAX))
    }

    async fn one(&self, tx: &mut Transaction<'_, Any>, sql: &'static str, texts: &[&str]) -> Result<i64, StoreError> {
        let mut query = sqlx::query(sql);
        for text in texts {
            query = query.bind((*text).to_owned());
        }
        let row = query.fetch_one(&mut **tx).await;
        row.and_then(|row| row.try_get(0)).map_err(|e| self.error(&e))
    }

    /// One transaction that erases and in which nobody else writes; then the old bytes are cleared away.
    async fn erasing(
        &self,
        work: impl AsyncFnOnce(&mut Transaction<'_, Any>, (i64, i64)) -> Result<Erased, StoreError>,
    ) -> Result<Erased, StoreError> {
        self.still_there()?;
        let mut tx = self.pool.begin().await.map_err(|e| self.error(&e))?;
        // Takes the write lock, as each save does.
        self.count_up(&mut tx, "fact", 0).await?;
        let written_out =
            (self.count_up(&mut tx, "written_out", 0).await?, self.count_up(&mut tx, "written_out_waiting", 0).await?);
        let mut erased = work(&mut tx, written_out).await?;
        tx.commit().await.map_err(|e| self.error(&e))?;
        erased.not_cleaned = self.clean().await.err();
        Ok(erased)
    }

    /// Databases keep the old bytes of what was deleted until they need the room.
    async fn clean(&self) -> Result<(), String> {
        let text = |e: sqlx::Error| e.to_string();
        match self.engine() {
            Engine::Sqlite => {
                sqlx::query("VACUUM").execute(&self.pool).await.map_err(text)?;
                // The journal beside the file has the old bytes too.
                let row = sqlx::query("PRAGMA wal_checkpoint(TRUNCATE)").fetch_one(&self.pool).await;
                let is_busy = row.and_then(|row| row.try_get::<i64, _>(0)).map_err(text)? != 0;
                if is_busy { Err("another program reads the book at this moment".into()) } else { Ok(()) }
            }
            Engine::Postgres => {
                // Rows that a transaction somewhere on the server may still see are kept by VACUUM.
                let last = "SELECT txid_snapshot_xmax(txid_current_snapshot())";
                let first = "SELECT txid_snapshot_xmin(txid_current_snapshot())";
                let number = async |sql| sqlx::query(sql).fetch_one(&self.pool).await?.try_get::<i64, _>(0);
                let (last, began) = (number(last).await.map_err(text)?, std::time::Instant::now());
                while number(first).await.map_err(text)? < last {
                    if began.elapsed() > PATIENCE_WITH_OTHERS {
                        return Err("another program on the server has a transaction open".into());
                    }
                    tokio::time::sleep(std::time::Duration::from_millis(50)).await;
                }
                for table in ["fact", "set_aside", "audit", "device", "link", "person", "secret"] {
                    let line = sqlx::AssertSqlSafe(format!("VACUUM (FULL) {table}"));
                    sqlx::query(line).execute(&self.pool).await.map_err(text)?;
                }
                Ok(())
            }
        }
    }
}

/// An entry that waits, as it came: a fact, or anything else.
fn entry_without_name(entry: &str, name: &str, instead: &str) -> String {
    let fact = serde_json::from_str::<FactJson>(entry).ok().and_then(|json| json.read().ok());
    match fact {
        Some(fact) => fact.without_name(name, instead).map_or_else(
            || entry.to_owned(),
            |without| {
                serde_json::to_string(&FactJson { receipt: None, ..FactJson::from(&without) }).unwrap_or_default()
            },
        ),
        None => text_without_name(entry, name, instead),
    }
}
