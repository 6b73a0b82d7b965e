//! Carries into another database who may come in: people, password and PINs, and the audit.
//!
//! A session is bound to the address under which a phone found the pages, and a link may be on its way to
//! somebody: neither moves. The devices do, as signed out, because the audit names them.

use sqlx::{Any, Row as _, Transaction};

use crate::{Store, StoreError};

/// A table with its columns, the texts before the numbers.
struct Table {
    name: &'static str,
    texts: &'static [&'static str],
    numbers: &'static [&'static str],
}

const TABLES: [Table; 5] = [
    Table { name: "person", texts: &["name", "role"], numbers: &["added_ms"] },
    Table { name: "secret", texts: &["owner", "hash"], numbers: &["tries", "closed_until_ms", "set_ms"] },
    Table { name: "device", texts: &["id", "label", "role", "carer"], numbers: &["added_ms", "seen_ms", "ends_ms"] },
    Table { name: AUDIT, texts: &["device", "carer", "address", "what", "detail"], numbers: &["seq", "at_ms"] },
    // What phones still send of an erased litter must not be taken there either.
    Table { name: "erased", texts: &["litter"], numbers: &["at_ms"] },
];

const AUDIT: &str = "audit";
/// Rows of the audit read at a time: it may be long. The other tables are read whole.
const PAGE: i64 = 2000;

#[derive(Debug, PartialEq, Eq, PartialOrd, Ord)]
struct Line {
    texts: Vec<String>,
    numbers: Vec<i64>,
}

/// What was carried.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Carried {
    pub people: usize,
    pub secrets: usize,
    pub audit: usize,
}

impl Store {
    /// Writes what another book says of people, secrets, devices and the audit into this one, which has none.
    pub(crate) async fn carry_access(&self, tx: &mut Transaction<'_, Any>, from: &Self) -> Result<(), StoreError> {
        let mut last = 0;
        for table in &TABLES {
            let mut done = 0;
            loop {
                let lines = from.lines_of(table, done).await?;
                if lines.is_empty() {
                    break;
                }
                done += i64::try_from(lines.len()).unwrap_or(PAGE);
                for line in &lines {
                    self.write_line(tx, table, line).await?;
                    if table.name == AUDIT {
                        last = line.numbers[0];
                    }
                }
            }
        }
        sqlx::query("UPDATE counter SET value = $1 WHERE name = 'audit'")
            .bind(last)
            .execute(&mut **tx)
            .await
            .map_err(|e| self.error(&e))?;
        Ok(())
    }

    /// Whether somebody may come in here already, or the audit says something.
    pub(crate) async fn has_access(&self) -> Result<bool, StoreError> {
        for table in &TABLES {
            if !self.lines_of(table, 0).await?.is_empty() {
                return Ok(true);
            }
        }
        Ok(!self.has_no_links().await?)
    }

    async fn has_no_links(&self) -> Result<bool, StoreError> {
        let row = sqlx::query("SELECT id FROM link LIMIT 1").fetch_optional(&self.pool).await;
        Ok(row.map_err(|e| self.error(&e))?.is_none())
    }

    /// Compares what a book says of who may come in with the book that it came from, line by line.
    ///
    /// # Errors
    /// They differ, or one of them cannot be read.
    pub async fn same_access(&self, from: &Self) -> Result<Carried, StoreError> {
        let mut counts = [0; TABLES.len()];
        for (table, count) in TABLES.iter().zip(&mut counts) {
            loop {
                let done = i64::try_from(*count).unwrap_or(i64::MAX);
                let (there, here) = (from.lines_of(table, done).await?, self.lines_of(table, done).await?);
                if there != here {
                    let why = format!("the lines of \"{}\" are not the same", table.name);
                    return Err(StoreError::CopyDiffers { why });
                }
                if here.is_empty() {
                    break;
                }
                *count += here.len();
            }
        }
        let [people, secrets, _, audit, _] = counts;
        Ok(Carried { people, secrets, audit })
    }

    async fn lines_of(&self, table: &Table, after: i64) -> Result<Vec<Line>, StoreError> {
        let columns = [table.texts, table.numbers].concat().join(", ");
        let (order, most) = if table.name == AUDIT { ("ORDER BY seq", PAGE) } else { ("", i64::MAX) };
        let sql = format!("SELECT {columns} FROM {} {order} LIMIT $1 OFFSET $2", table.name);
        let rows = sqlx::query(sqlx::AssertSqlSafe(sql)).bind(most).bind(after).fetch_all(&self.pool).await;
        let texts = table.texts.len();
        let lines = rows
            .map_err(|e| self.error(&e))?
            .iter()
            .map(|row| {
                Ok(Line {
                    texts: (0..texts).map(|i| row.try_get(i)).collect::<Result<_, _>>()?,
                    numbers: (0..table.numbers.len()).map(|i| row.try_get(texts + i)).collect::<Result<_, _>>()?,
                })
            })
            .collect::<Result<Vec<Line>, sqlx::Error>>();
        let mut lines = lines.map_err(|e| self.error(&e))?;
        if table.name != AUDIT {
            // Each database has an order of texts of its own.
            lines.sort_unstable();
        }
        Ok(lines)
    }

    async fn write_line(&self, tx: &mut Transaction<'_, Any>, table: &Table, line: &Line) -> Result<(), StoreError> {
        let mut columns = [table.texts, table.numbers].concat();
        let mut line = Line { texts: line.texts.clone(), numbers: line.numbers.clone() };
        if table.name == "device" {
            // No token opens it, and it has been signed out since it was last seen.
            columns.extend(["signed_out_ms", "token_hash"]);
            line.numbers.push(line.numbers[1].max(1));
            line.texts.push(format!("moved {}", line.texts[0]));
        }
        let texts = table.texts.len();
        let places: Vec<String> = (1..=columns.len()).map(|n| format!("${n}")).collect();
        let sql = format!("INSERT INTO {} ({}) VALUES ({})", table.name, columns.join(", "), places.join(", "));
        let mut query = sqlx::query(sqlx::AssertSqlSafe(sql));
        for text in &line.texts[..texts] {
            query = query.bind(text.clone());
        }
        for number in &line.numbers {
            query = query.bind(*number);
        }
        for text in &line.texts[texts..] {
            query = query.bind(text.clone());
        }
        query.execute(&mut **tx).await.map_err(|e| self.error(&e))?;
        Ok(())
    }
}
