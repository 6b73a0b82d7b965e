//! Writing and reading facts.

use jiff::Timestamp;
use sqlx::any::AnyRow;
use sqlx::{Any, Row as _, Transaction};

use whelpward_core::book::{Fact, FactId, FactJson, Kind, Receipt};

use crate::{Store, StoreError};

/// What became of a fact that was handed in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    /// On the disk, at this place of the book.
    Saved { seq: i64 },
    /// It was there already, with the same content.
    AlreadyThere { seq: i64 },
    /// The id is there with other content; this one is kept for a person to look at.
    SetAside { why: String },
}

impl Outcome {
    /// The fact is in the book.
    #[must_use]
    pub fn is_in_the_book(&self) -> bool {
        !matches!(self, Self::SetAside { .. })
    }
}

/// One text for each row: the driver that speaks to both databases makes a value with a name for
/// each column of each row.
const LINE: &str = "concat_ws('\u{1f}', id, seq, litter, kind, pup, body, occurred_ms, zone, carer, device, \
     supersedes, voids, received_ms, COALESCE(CAST(client_seq AS TEXT), ''), \
     COALESCE(CAST(client_wall_ms AS TEXT), ''), is_time_uncertain, is_late)";

/// Between the columns and between the rows of one text. JSON writes them otherwise, and no other
/// text may hold them.
const SEPARATOR: char = '\u{1f}';
const END_OF_ROW: char = '\u{1e}';

impl Store {
    /// Saves facts, all in one transaction; when this returns they are on the disk.
    ///
    /// # Errors
    /// Nothing was saved.
    pub async fn append(&self, facts: &[Fact], received: Timestamp) -> Result<Vec<Outcome>, StoreError> {
        self.still_there()?;
        let mut tx = self.pool.begin().await.map_err(|e| self.error(&e))?;
        // Counting first takes the write lock, so that no reader of this transaction goes stale.
        let count = i64::try_from(facts.len()).unwrap_or(i64::MAX);
        let last = self.count_up(&mut tx, "fact", count).await?;
        if self.is_erased(&mut tx, facts.iter().map(|f| f.litter)).await? {
            return Err(StoreError::Erased { place: self.place().to_owned() });
        }
        let mut outcomes = Vec::with_capacity(facts.len());
        for (fact, seq) in facts.iter().zip(last - count + 1..) {
            let mut fact = fact.clone();
            fact.receipt.seq = seq;
            fact.receipt.received = Some(received);
            outcomes.push(if self.insert(&mut tx, &fact).await? {
                Outcome::Saved { seq }
            } else {
                self.meet_again(&mut tx, &fact, received).await?
            });
        }
        tx.commit().await.map_err(|e| self.error(&e))?;
        self.still_there()?;
        Ok(outcomes)
    }

    /// The id is there: the same fact again, or another one with its id.
    async fn meet_again(
        &self,
        tx: &mut Transaction<'_, Any>,
        fact: &Fact,
        received: Timestamp,
    ) -> Result<Outcome, StoreError> {
        let sql = format!("SELECT {LINE} FROM fact WHERE id = $1");
        let row = sqlx::query(sqlx::AssertSqlSafe(sql))
            .bind(fact.id.to_string())
            .fetch_one(&mut **tx)
            .await
            .map_err(|e| self.error(&e))?;
        let there = self.read(&row)?;
        if there.content() == fact.content() || fact.is_same_but_for_erased_names(&there) {
            return Ok(Outcome::AlreadyThere { seq: there.receipt.seq });
        }
        let why = "its id is in the book with other content".to_owned();
        // Without its receipt: the same entry handed in again is the same text.
        let entry = FactJson { receipt: None, ..FactJson::from(fact) };
        let entry = serde_json::to_string(&entry).unwrap_or_default();
        self.put_aside_within(tx, &fact.id.to_string(), &fact.litter.to_string(), &entry, &why, received).await?;
        Ok(Outcome::SetAside { why })
    }

    /// Inserts a fact with its receipt; false when its id is there.
    pub(crate) async fn insert(&self, tx: &mut Transaction<'_, Any>, fact: &Fact) -> Result<bool, StoreError> {
        let id = |id: Option<FactId>| id.map(|i| i.to_string()).unwrap_or_default();
        let receipt = &fact.receipt;
        let texts = [Some(&fact.zone), Some(&fact.device), fact.carer.as_ref()];
        if texts.into_iter().flatten().any(|text| text.contains([SEPARATOR, END_OF_ROW])) {
            // Nobody types it; a fact that was looked over has none.
            let why = "a control character in the name of a carer, a device or a zone".into();
            return Err(StoreError::Other { place: self.place().to_owned(), why });
        }
        let done = sqlx::query(
            "INSERT INTO fact (id, seq, litter, kind, pup, body, amount, occurred_ms, zone, carer, device, \
             supersedes, voids, received_ms, client_seq, client_wall_ms, is_time_uncertain, is_late) \
             VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15, $16, $17, $18) \
             ON CONFLICT (id) DO NOTHING",
        )
        .bind(fact.id.to_string())
        .bind(receipt.seq)
        .bind(fact.litter.to_string())
        .bind(fact.kind.word())
        .bind(id(fact.pup))
        .bind(serde_json::to_string(&fact.body).unwrap_or_default())
        .bind(fact.amount())
        .bind(fact.occurred.as_millisecond())
        .bind(fact.zone.as_str())
        .bind(fact.carer.clone().unwrap_or_default())
        .bind(fact.device.as_str())
        .bind(id(fact.supersedes))
        .bind(id(fact.voids))
        .bind(receipt.received.map_or(0, Timestamp::as_millisecond))
        .bind(receipt.client_seq)
        .bind(receipt.client_wall.map(Timestamp::as_millisecond))
        .bind(i64::from(receipt.is_time_uncertain))
        .bind(i64::from(receipt.is_late))
        .execute(&mut **tx)
        .await
        .map_err(|e| self.error(&e))?;
        Ok(done.rows_affected() == 1)
    }

    pub(crate) async fn count_up(&self, tx: &mut Transaction<'_, Any>, name: &str, by: i64) -> Result<i64, StoreError> {
        let row = sqlx::query("UPDATE counter SET value = value + $1 WHERE name = $2 RETURNING value")
            .bind(by)
            .bind(name)
            .fetch_one(&mut **tx)
            .await
            .map_err(|e| self.error(&e))?;
        row.try_get("value").map_err(|e| self.error(&e))
    }

    /// Facts of a litter after a place of the book, in the order of the book.
    ///
    /// # Errors
    /// The book cannot be read.
    pub async fn facts(&self, litter: FactId, after: i64) -> Result<Vec<Fact>, StoreError> {
        // Most of the time of a row went into handing it from the thread of the database to this one,
        // so the rows come many at a time. No order is promised within a text.
        let sql = format!(
            "SELECT string_agg({LINE}, '{END_OF_ROW}') FROM fact WHERE litter = $1 AND seq > $2 GROUP BY seq / 250"
        );
        let texts = sqlx::query(sqlx::AssertSqlSafe(sql))
            .bind(litter.to_string())
            .bind(after)
            .fetch_all(&self.pool)
            .await
            .map_err(|e| self.error(&e))?;
        let mut facts = Vec::new();
        for row in &texts {
            let text: &str = row.try_get(0).map_err(|e| self.error(&e))?;
            for line in text.split(END_OF_ROW) {
                facts.push(self.read_line(line)?);
            }
        }
        facts.sort_by_key(|f| f.receipt.seq);
        Ok(facts)
    }

    /// All facts of one kind, of every litter.
    ///
    /// # Errors
    /// The book cannot be read.
    pub async fn facts_of_kind(&self, kind: Kind) -> Result<Vec<Fact>, StoreError> {
        let sql = format!("SELECT {LINE} FROM fact WHERE kind = $1 ORDER BY seq");
        let rows = sqlx::query(sqlx::AssertSqlSafe(sql))
            .bind(kind.word())
            .fetch_all(&self.pool)
            .await
            .map_err(|e| self.error(&e))?;
        rows.iter().map(|row| self.read(row)).collect()
    }

    /// A page of the whole book, in its order.
    ///
    /// # Errors
    /// The book cannot be read.
    pub async fn page(&self, after: i64, most: i64) -> Result<Vec<Fact>, StoreError> {
        self.page_from(&self.pool, after, most).await
    }

    pub(crate) async fn page_from(
        &self,
        connection: impl sqlx::Executor<'_, Database = Any>,
        after: i64,
        most: i64,
    ) -> Result<Vec<Fact>, StoreError> {
        let sql = format!("SELECT {LINE} FROM fact WHERE seq > $1 ORDER BY seq LIMIT $2");
        let rows = sqlx::query(sqlx::AssertSqlSafe(sql))
            .bind(after)
            .bind(most)
            .fetch_all(connection)
            .await
            .map_err(|e| self.error(&e))?;
        rows.iter().map(|row| self.read(row)).collect()
    }

    /// Facts before a place of the book, the newest first, without those of one kind.
    ///
    /// # Errors
    /// The book cannot be read.
    pub async fn page_before(&self, seq: i64, without: Kind, most: i64) -> Result<Vec<Fact>, StoreError> {
        let sql = format!("SELECT {LINE} FROM fact WHERE seq < $1 AND kind <> $2 ORDER BY seq DESC LIMIT $3");
        let rows = sqlx::query(sqlx::AssertSqlSafe(sql))
            .bind(seq)
            .bind(without.word())
            .bind(most)
            .fetch_all(&self.pool)
            .await
            .map_err(|e| self.error(&e))?;
        rows.iter().map(|row| self.read(row)).collect()
    }

    /// The last place of the book that a litter has.
    ///
    /// # Errors
    /// The book cannot be read.
    pub async fn last_seq_of(&self, litter: FactId) -> Result<i64, StoreError> {
        self.number("SELECT COALESCE(MAX(seq), 0) AS n FROM fact WHERE litter = $1", Some(litter.to_string())).await
    }

    /// The last place of the book that a litter has with any other kind of fact than this one.
    ///
    /// # Errors
    /// The book cannot be read.
    pub async fn last_place_beside(&self, litter: FactId, kind: Kind) -> Result<i64, StoreError> {
        // Backwards along the index of the litter, to the first that counts.
        let row = sqlx::query("SELECT seq FROM fact WHERE litter = $1 AND kind <> $2 ORDER BY seq DESC LIMIT 1")
            .bind(litter.to_string())
            .bind(kind.word())
            .fetch_optional(&self.pool)
            .await
            .map_err(|e| self.error(&e))?;
        row.map_or(Ok(0), |row| row.try_get("seq").map_err(|e| self.error(&e)))
    }

    /// Everybody who wrote something into the book.
    ///
    /// # Errors
    /// The book cannot be read.
    pub async fn carers(&self) -> Result<Vec<String>, StoreError> {
        let rows = sqlx::query("SELECT DISTINCT carer FROM fact WHERE carer <> ''").fetch_all(&self.pool).await;
        let rows = rows.map_err(|e| self.error(&e))?;
        rows.iter().map(|row| row.try_get(0)).collect::<Result<_, sqlx::Error>>().map_err(|e| self.error(&e))
    }

    /// How many facts the book holds.
    ///
    /// # Errors
    /// The book cannot be read.
    pub async fn count(&self) -> Result<i64, StoreError> {
        self.number("SELECT CAST(COUNT(*) AS BIGINT) AS n FROM fact", None).await
    }

    /// The last place of the book.
    ///
    /// # Errors
    /// The book cannot be read.
    pub async fn last_seq(&self) -> Result<i64, StoreError> {
        self.number("SELECT COALESCE(MAX(seq), 0) AS n FROM fact", None).await
    }

    /// When the newest fact came in.
    ///
    /// # Errors
    /// The book cannot be read.
    pub async fn last_received(&self) -> Result<Option<Timestamp>, StoreError> {
        let ms = self
            .number(
                "SELECT COALESCE(MAX(received_ms), 0) AS n FROM fact WHERE seq > (SELECT MAX(seq) FROM fact) - 100",
                None,
            )
            .await?;
        Ok((ms > 0).then(|| Timestamp::from_millisecond(ms).ok()).flatten())
    }

    async fn number(&self, sql: &'static str, bound: Option<String>) -> Result<i64, StoreError> {
        let mut query = sqlx::query(sql);
        if let Some(bound) = bound {
            query = query.bind(bound);
        }
        let row = query.fetch_one(&self.pool).await.map_err(|e| self.error(&e))?;
        row.try_get("n").map_err(|e| self.error(&e))
    }

    fn read(&self, row: &AnyRow) -> Result<Fact, StoreError> {
        self.read_line(row.try_get(0).map_err(|e| self.error(&e))?)
    }

    fn read_line(&self, line: &str) -> Result<Fact, StoreError> {
        read_line(line).map_err(|why| StoreError::Other { place: self.place().to_owned(), why })
    }
}

fn read_line(line: &str) -> Result<Fact, String> {
    let mut parts = line.split(SEPARATOR);
    let mut next = || parts.next().ok_or("a row that is too short");
    let number = |text: &str| text.parse::<i64>().map_err(|e| e.to_string());
    let maybe = |text: &str| if text.is_empty() { Ok(None) } else { number(text).map(Some) };
    let time = |ms: i64| Timestamp::from_millisecond(ms).map_err(|e| e.to_string());
    let maybe_id = |text: &str| if text.is_empty() { Ok(None) } else { text.parse::<FactId>().map(Some) };
    // In the order of the columns.
    let id = next()?.parse()?;
    let seq = number(next()?)?;
    let litter = next()?.parse()?;
    let word = next()?;
    Ok(Fact {
        id,
        litter,
        kind: Kind::from_word(word).ok_or_else(|| format!("a fact of a kind that is not known: {word}"))?,
        pup: maybe_id(next()?)?,
        body: serde_json::from_str(next()?).map_err(|e| e.to_string())?,
        occurred: time(number(next()?)?)?,
        zone: next()?.to_owned(),
        carer: Some(next()?.to_owned()).filter(|c| !c.is_empty()),
        device: next()?.to_owned(),
        supersedes: maybe_id(next()?)?,
        voids: maybe_id(next()?)?,
        receipt: Receipt {
            seq,
            received: Some(time(number(next()?)?)?),
            client_seq: maybe(next()?)?,
            client_wall: maybe(next()?)?.map(time).transpose()?,
            is_time_uncertain: number(next()?)? != 0,
            is_late: number(next()?)? != 0,
        },
    })
}
