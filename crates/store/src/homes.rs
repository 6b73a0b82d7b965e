//! Several households in one PostgreSQL.
//!
//! Each household's book is a schema of its own, and a connection of a household finds no other: no
//! statement of the book names a schema, so none can meet a row of another home. The board of the
//! organisation is a schema too, with the list of homes in it.

use std::time::Duration;

use jiff::Timestamp;
use sqlx::{Executor as _, Row as _};

use crate::StoreError;
use crate::open::Store;

/// The schema of the board. Those of the homes have a number: no text of a person becomes part of a statement.
const BOARD: &str = "whelpward_board";

/// A household of the organisation.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HomeRow {
    pub number: i64,
    pub name: String,
    pub added: Timestamp,
    /// What the tokens of its forms are made with, the same in every server process.
    pub secret: String,
}

/// The homes of one organisation.
#[derive(Debug, Clone)]
pub struct Homes {
    url: String,
    /// The board's own book: who may see the board, and what was done there.
    pub board: Store,
}

/// A name that a person can read on a phone.
const LONGEST_NAME: usize = 60;

impl Homes {
    /// Opens the board of a PostgreSQL database; makes it where there is none, with this secret: 32 random
    /// bytes as hex, with which the tokens of its forms are made.
    ///
    /// # Errors
    /// As for [`Store::open`]; another database than PostgreSQL.
    pub async fn open(url: &str, secret: &str) -> Result<Self, StoreError> {
        if !Store::is_postgres(url) {
            return Err(StoreError::Other {
                place: url.to_owned(),
                why: "several homes need PostgreSQL: name it as postgres://user@host/database".into(),
            });
        }
        let board = Store::open_schema(url, BOARD).await?;
        for table in [
            "CREATE TABLE IF NOT EXISTS home (number BIGINT NOT NULL PRIMARY KEY, name TEXT NOT NULL UNIQUE, \
             added_ms BIGINT NOT NULL, secret TEXT NOT NULL)",
            "CREATE TABLE IF NOT EXISTS sight (person TEXT NOT NULL, home BIGINT NOT NULL REFERENCES home (number), \
             PRIMARY KEY (person, home))",
            "CREATE TABLE IF NOT EXISTS board (number BIGINT NOT NULL PRIMARY KEY, secret TEXT NOT NULL)",
        ] {
            match board.pool.execute(table).await {
                // Two programs may make it at once: the second finds it there.
                Err(e) if !is_made_twice(&e) => return Err(board.error(&e)),
                _ => {}
            }
        }
        let first = "INSERT INTO board (number, secret) VALUES (0, $1) ON CONFLICT (number) DO NOTHING";
        sqlx::query(first).bind(secret).execute(&board.pool).await.map_err(|e| board.error(&e))?;
        Ok(Self { url: url.to_owned(), board })
    }

    /// The secret of the board, the same in every server process.
    ///
    /// # Errors
    /// The database.
    pub async fn secret(&self) -> Result<String, StoreError> {
        let row = sqlx::query("SELECT secret FROM board WHERE number = 0").fetch_one(&self.board.pool).await;
        row.and_then(|row| row.try_get(0)).map_err(|e| self.board.error(&e))
    }

    /// Adds a household. `secret` is 32 random bytes as hex.
    ///
    /// # Errors
    /// The name is empty, too long or taken; the database.
    pub async fn add(&self, name: &str, secret: &str, now: Timestamp) -> Result<HomeRow, StoreError> {
        let name = name.trim();
        let refused = |why: String| StoreError::Other { place: self.board.place().to_owned(), why };
        if name.is_empty() || name.chars().count() > LONGEST_NAME || name.chars().any(char::is_control) {
            return Err(refused(format!("a home has a name of 1 to {LONGEST_NAME} characters in one line")));
        }
        if self.list().await?.iter().any(|home| home.name.to_lowercase() == name.to_lowercase()) {
            return Err(refused(format!("there is a home {name} already")));
        }
        // Two coordinators may add one at once: the number is free for one of them, the other takes the next.
        for _ in 0..20 {
            let row = sqlx::query(
                "INSERT INTO home (number, name, added_ms, secret) \
                 SELECT COALESCE(MAX(number), 0) + 1, $1, $2, $3 FROM home RETURNING number",
            )
            .bind(name)
            .bind(now.as_millisecond())
            .bind(secret)
            .fetch_one(&self.board.pool)
            .await;
            match row {
                Ok(row) => {
                    let number = row.try_get(0).map_err(|e| self.board.error(&e))?;
                    let home = HomeRow { number, name: name.to_owned(), added: now, secret: secret.to_owned() };
                    self.store(&home).await?.close().await;
                    return Ok(home);
                }
                Err(sqlx::Error::Database(e)) if e.is_unique_violation() => {
                    tokio::time::sleep(Duration::from_millis(20)).await;
                }
                Err(e) => return Err(self.board.error(&e)),
            }
        }
        Err(refused(format!("the home {name} could not be added: others are being added at this moment. Try again")))
    }

    /// Every household, in the order in which they were added.
    ///
    /// # Errors
    /// The database.
    pub async fn list(&self) -> Result<Vec<HomeRow>, StoreError> {
        let rows = sqlx::query("SELECT number, name, added_ms, secret FROM home ORDER BY number")
            .fetch_all(&self.board.pool)
            .await
            .map_err(|e| self.board.error(&e))?;
        rows.iter()
            .map(|row| {
                Ok(HomeRow {
                    number: row.try_get(0)?,
                    name: row.try_get(1)?,
                    added: Timestamp::from_millisecond(row.try_get(2)?).unwrap_or_default(),
                    secret: row.try_get(3)?,
                })
            })
            .collect::<Result<_, sqlx::Error>>()
            .map_err(|e| self.board.error(&e))
    }

    /// The homes that a person of the board may see; who arranges the board sees all without this.
    ///
    /// # Errors
    /// The database.
    pub async fn seen_by(&self, person: &str) -> Result<Vec<i64>, StoreError> {
        let rows = sqlx::query("SELECT home FROM sight WHERE person = $1 ORDER BY home")
            .bind(person)
            .fetch_all(&self.board.pool)
            .await
            .map_err(|e| self.board.error(&e))?;
        rows.iter().map(|row| row.try_get(0)).collect::<Result<_, sqlx::Error>>().map_err(|e| self.board.error(&e))
    }

    /// Lets a person of the board see a home, or no longer.
    ///
    /// # Errors
    /// The database; there is no such home.
    pub async fn let_see(&self, person: &str, home: i64, sees: bool) -> Result<(), StoreError> {
        let statement = if sees {
            "INSERT INTO sight (person, home) VALUES ($1, $2) ON CONFLICT (person, home) DO NOTHING"
        } else {
            "DELETE FROM sight WHERE person = $1 AND home = $2"
        };
        let done = sqlx::query(statement).bind(person).bind(home).execute(&self.board.pool).await;
        done.map(|_| ()).map_err(|e| self.board.error(&e))
    }

    /// The book of a household.
    ///
    /// # Errors
    /// As for [`Store::open`].
    pub async fn store(&self, home: &HomeRow) -> Result<Store, StoreError> {
        Store::open_schema(&self.url, &format!("whelpward_home_{}", home.number)).await
    }
}

fn is_made_twice(error: &sqlx::Error) -> bool {
    // 42P07 duplicate table, 23505 of the catalogue where both begin at once.
    matches!(error, sqlx::Error::Database(e) if matches!(e.code().as_deref(), Some("42P07" | "23505")))
}
