//! Erases for good: a whole litter, or the name of a person (usability O-26). Nothing else is ever removed.

use std::collections::HashSet;

use jiff::Timestamp;
use sqlx::{Any, Row as _, Transaction};

use whelpward_core::book::{ERASED_PERSON, Fact, FactId, FactJson, Kind, is_name, text_without_name};

use crate::{Engine, Store, StoreError};

/// Facts read at a time.
const PAGE: i64 = 2000;

/// Facts written at a time.
const WRITTEN_AT_ONCE: usize = 500;

/// How long cleaning waits for others.
const PATIENCE_WITH_OTHERS: std::time::Duration = std::time::Duration::from_secs(10);

/// Facts in which a name stands, up to the last place that was looked at; and who has the name of somebody
/// erased before.
#[derive(Default)]
struct Found {
    facts: Vec<Fact>,
    last: i64,
    erased_before: HashSet<String>,
}

impl Found {
    /// Looks through the next facts of the book; whether there may be more. While others save there always are:
    /// a page that is not full is the last.
    fn look(&mut self, page: Vec<Fact>, name: &str) -> bool {
        let Some(last) = page.last() else { return false };
        let is_full = page.len() == usize::try_from(PAGE).unwrap_or(0);
        self.last = last.receipt.seq;
        for fact in page {
            self.erased_before.extend(fact.people().filter(|p| p.starts_with(ERASED_PERSON)).map(str::to_owned));
            if fact.without_name(name, "").is_some() {
                self.facts.push(fact);
            }
        }
        is_full
    }
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

    /// Erases a litter with all that was ever written of it. The `names` that it ever had and those of its `pups` go
    /// from the audit, where a link for the vet or a refused feed may name them.
    ///
    /// # Errors
    /// Something of it is in no ZIP yet, or the book cannot be written. Nothing was erased.
    pub async fn erase_litter(
        &self,
        litter: FactId,
        names: &[String],
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
            let mut others = self.unname_in_audit(tx, names, pups, began).await?;
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
        names: &[String],
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
                "vet-link-made" => names.contains(&detail),
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
        let mut found = self.with_name(name).await?;
        self.erasing(async |tx, (written, _)| {
            if self.count_up(tx, "erasure", 0).await? != before {
                return Err(StoreError::Busy { place: self.place().to_owned() });
            }
            // What came in since; the lock is held, so this is all of it. Read on the same connection: those who
            // wait for the lock may have all the others.
            while found.look(self.page_from(&mut **tx, found.last, PAGE).await?, name) {}
            if found.facts.iter().any(|f| f.kind != Kind::Advice && f.receipt.seq > written) {
                return Err(StoreError::NotWrittenOut { place: self.place().to_owned() });
            }
            let mut number = self.count_up(tx, "erasure", 1).await?;
            while found.erased_before.contains(&format!("{ERASED_PERSON}{number}")) {
                number = self.count_up(tx, "erasure", 1).await?;
            }
            let instead = format!("{ERASED_PERSON}{number}");
            for facts in found.facts.chunks(WRITTEN_AT_ONCE) {
                self.write_without_name(tx, facts.iter().filter_map(|f| f.without_name(name, &instead))).await?;
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
        Ok(self.with_name(name).await?.facts)
    }

    async fn with_name(&self, name: &str) -> Result<Found, StoreError> {
        let mut found = Found::default();
        while found.look(self.page(found.last, PAGE).await?, name) {}
        Ok(found)
    }

    /// Many at a time, so that others wait for the lock for a short while only.
    async fn write_without_name(
        &self,
        tx: &mut Transaction<'_, Any>,
        facts: impl Iterator<Item = Fact>,
    ) -> Result<(), StoreError> {
        let mut texts = Vec::new();
        for fact in facts {
            let body = serde_json::to_string(&fact.body).unwrap_or_default();
            texts.extend([fact.id.to_string(), body, fact.carer.unwrap_or_default()]);
        }
        if texts.is_empty() {
            return Ok(());
        }
        let row = |first: usize| format!("(${first}, ${}, ${})", first + 1, first + 2);
        let rows: Vec<String> = (1..=texts.len()).step_by(3).map(row).collect();
        let sql = format!(
            "WITH without (id, body, carer) AS (VALUES {}) UPDATE fact SET body = without.body, carer = without.carer \
             FROM without WHERE fact.id = without.id",
            rows.join(", ")
        );
        let texts: Vec<&str> = texts.iter().map(String::as_str).collect();
        self.changed(tx, sqlx::AssertSqlSafe(sql), &texts).await.map(drop)
    }

    /// The names of people that stand outside the facts: people of the household, also former ones, and who wrote
    /// what waits.
    ///
    /// # Errors
    /// The book cannot be read.
    pub async fn people_beside(&self) -> Result<Vec<String>, StoreError> {
        let rows = sqlx::query(
            "SELECT name, 'name' FROM person UNION SELECT carer, 'name' FROM device \
             UNION SELECT name, 'name' FROM link WHERE what = 'phone' UNION SELECT carer, 'name' FROM audit \
             UNION SELECT detail, 'name' FROM audit WHERE what IN ('person-removed', 'handed-over', 'pin-set', 'pin-removed') \
             UNION SELECT detail, 'role' FROM audit WHERE what IN ('role-set', 'link-made') \
             UNION SELECT entry, 'entry' FROM set_aside",
        )
        .fetch_all(&self.pool)
        .await
        .map_err(|e| self.error(&e))?;
        let mut names = Vec::new();
        for row in rows {
            let read = |at: usize| row.try_get::<String, _>(at).map_err(|e| self.error(&e));
            let text = read(0)?;
            match read(1)?.as_str() {
                "name" => names.push(text),
                // "Robin: carer", "Robin (carer)"
                "role" => names.extend(text.rsplit_once([':', '(']).map(|(name, _)| name.to_owned())),
                _ => names.extend(fact_of(&text).iter().flat_map(Fact::people).map(str::to_owned)),
            }
        }
        Ok(names.into_iter().map(|name| name.trim().to_owned()).filter(|name| !name.is_empty()).collect())
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
        // Each way in which it is written: Robin in the household may be ROBIN in an entry.
        let known = "SELECT name FROM person UNION SELECT carer FROM device UNION SELECT name FROM link \
             WHERE what = 'phone' UNION SELECT SUBSTR(owner, 5) FROM secret WHERE owner LIKE 'pin %'";
        let is_board = self.engine() == Engine::Postgres
            && self.one(tx, "SELECT CAST(COUNT(*) AS BIGINT) FROM pg_tables WHERE schemaname = current_schema() AND tablename = 'sight'", &[]).await? > 0;
        let rows = sqlx::query(known).fetch_all(&mut **tx).await.map_err(|e| self.error(&e))?;
        for row in rows {
            let known: String = row.try_get(0).map_err(|e| self.error(&e))?;
            if !is_name(&known, name) {
                continue;
            }
            for sql in ["DELETE FROM person WHERE name = $1", "DELETE FROM secret WHERE owner = 'pin ' || $1"] {
                others += self.changed(tx, sql, &[&known]).await?;
            }
            for sql in [
                "UPDATE device SET signed_out_ms = $1 WHERE carer = $2 AND signed_out_ms = 0",
                "UPDATE link SET ended_ms = $1 WHERE name = $2 AND what = 'phone' AND ended_ms = 0",
            ] {
                let done = sqlx::query(sql).bind(now_ms).bind(&known).execute(&mut **tx).await;
                done.map_err(|e| self.error(&e))?;
            }
            // Which homes a person of the board sees.
            if is_board {
                others += self.changed(tx, "DELETE FROM sight WHERE person = $1", &[&known]).await?;
            }
        }
        for (table, key, texts) in [
            ("device", "id", &["carer", "label"][..]),
            ("link", "id", &["name"]),
            ("audit", "CAST(seq AS TEXT)", &["carer"]),
            ("audit", "CAST(seq AS TEXT)", &["detail"]),
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
        // There a litter or a pup is named, and no person.
        let but = match table {
            "link" => " WHERE what = 'phone'",
            "audit" if texts == ["detail"] => {
                " WHERE what NOT IN ('vet-link-made', 'refused-gate', 'refused-gate-aside')"
            }
            _ => "",
        };
        let select = format!("SELECT {key}, {} FROM {table}{but}", texts.join(", "));
        let rows = sqlx::query(sqlx::AssertSqlSafe(select)).fetch_all(&mut **tx).await.map_err(|e| self.error(&e))?;
        let mut changed = 0;
        for row in rows {
            let read = |at: usize| row.try_get::<String, _>(at).map_err(|e| self.error(&e));
            let id = read(0)?;
            for (at, column) in texts.iter().enumerate() {
                let before = read(at + 1)?;
                let after = match *column {
                    "entry" => entry_without_name(&before, name, instead),
                    // A whole name: that of somebody else may hold it.
                    "carer" | "name" if !is_name(&before, name) => before.clone(),
                    _ => text_without_name(&before, name, instead),
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
        self.changed(&mut tx, "UPDATE counter SET value = 1 WHERE name = 'unclean'", &[]).await?;
        tx.commit().await.map_err(|e| self.error(&e))?;
        erased.not_cleaned = self.clean_up().await.err();
        Ok(erased)
    }

    /// Clears away the bytes of what was erased, where that could not be done at once.
    ///
    /// # Errors
    /// Why they are still there.
    pub async fn clean_up(&self) -> Result<(), String> {
        if self.counted("unclean").await.map_err(|e| e.to_string())? == 0 {
            return Ok(());
        }
        self.clean().await?;
        let done = sqlx::query("UPDATE counter SET value = 0 WHERE name = 'unclean'").execute(&self.pool).await;
        done.map(|_| ()).map_err(|e| e.to_string())
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
                // Rows that a transaction somewhere on the server may still see are kept by VACUUM: one that writes,
                // or one in this database that only reads, such as a dump.
                let last = "SELECT txid_snapshot_xmax(txid_current_snapshot())";
                let first = "SELECT txid_snapshot_xmin(txid_current_snapshot())";
                let at = "SELECT CAST(EXTRACT(EPOCH FROM clock_timestamp()) * 1000000 AS BIGINT)";
                let readers = "SELECT CAST(COUNT(*) AS BIGINT) FROM pg_stat_activity WHERE pid <> pg_backend_pid() \
                     AND datname = current_database() AND backend_xmin IS NOT NULL \
                     AND EXTRACT(EPOCH FROM xact_start) * 1000000 <= $1";
                let number = async |sql| sqlx::query(sql).fetch_one(&self.pool).await?.try_get::<i64, _>(0);
                let (last, at) = (number(last).await.map_err(text)?, number(at).await.map_err(text)?);
                let reading = async || sqlx::query(readers).bind(at).fetch_one(&self.pool).await?.try_get::<i64, _>(0);
                let began = std::time::Instant::now();
                while number(first).await.map_err(text)? < last || reading().await.map_err(text)? > 0 {
                    if began.elapsed() > PATIENCE_WITH_OTHERS {
                        return Err("another program on the server has a transaction open".into());
                    }
                    tokio::time::sleep(std::time::Duration::from_millis(50)).await;
                }
                // Analysed too: what the planner knows of a column has values out of it.
                for table in ["fact", "set_aside", "audit", "device", "link", "person", "secret"] {
                    let line = sqlx::AssertSqlSafe(format!("VACUUM (FULL, ANALYZE) {table}"));
                    sqlx::query(line).execute(&self.pool).await.map_err(text)?;
                }
                Ok(())
            }
        }
    }
}

fn fact_of(entry: &str) -> Option<Fact> {
    serde_json::from_str::<FactJson>(entry).ok()?.read().ok()
}

/// An entry that waits, as it came: a fact, or anything else.
fn entry_without_name(entry: &str, name: &str, instead: &str) -> String {
    match fact_of(entry) {
        Some(fact) => fact.without_name(name, instead).map_or_else(
            || entry.to_owned(),
            |without| {
                serde_json::to_string(&FactJson { receipt: None, ..FactJson::from(&without) }).unwrap_or_default()
            },
        ),
        None => text_without_name(entry, name, instead),
    }
}
