//! Several homes in one PostgreSQL: which there are, and who of the board sees which.

use clap::Subcommand;
use jiff::Timestamp;
use whelpward_app::default_place;
use whelpward_store::{HomeRow, Homes, Store, hex};

use crate::book::{Failed, Which, block_on};

/// Under this name the commands mean the board itself.
const BOARD: &str = "board";

#[derive(Subcommand)]
pub enum Of {
    /// The homes, with those who see each
    List,
    /// Add a household; then set its password with: whelpward password --home NAME
    Add { name: String },
    /// Let a person of the board see a home
    Show { person: String, home: String },
    /// Let a person of the board see a home no longer
    Hide { person: String, home: String },
}

/// The homes of the database that was named.
pub async fn open(which: &Which) -> Result<Homes, Failed> {
    let place = default_place(which.database.as_deref(), which.data.clone())?;
    Ok(Homes::open(&place.database, &secret()).await?)
}

fn secret() -> String {
    hex(&rand::random::<[u8; 32]>())
}

/// The book of a home, or of the board.
pub async fn store(which: &Which, name: &str) -> Result<Store, Failed> {
    let homes = open(which).await?;
    if name == BOARD {
        return Ok(homes.board);
    }
    let home = named(&homes, name).await?;
    Ok(homes.store(&home).await?)
}

async fn named(homes: &Homes, name: &str) -> Result<HomeRow, Failed> {
    let all = homes.list().await?;
    let names: Vec<&str> = all.iter().map(|home| home.name.as_str()).collect();
    let allowed = if names.is_empty() { "add one with: whelpward homes add NAME".into() } else { names.join(", ") };
    let message = format!("there is no home \"{name}\"\nallowed: {allowed}");
    all.into_iter().find(|home| home.name.to_lowercase() == name.trim().to_lowercase()).ok_or(Failed::Message(message))
}

pub fn run(which: &Which, what: Of, now: Timestamp) -> Result<String, Failed> {
    block_on(async {
        let homes = open(which).await?;
        match what {
            Of::List => list(&homes).await,
            Of::Add { name } if name.trim().eq_ignore_ascii_case(BOARD) => {
                Err(Failed::Message("the board is no home\nallowed: another name".into()))
            }
            Of::Add { name } => {
                let home = homes.add(&name, &secret(), now).await?;
                let name = home.name;
                Ok(format!(
                    "{name} is home {}. Its password: whelpward password --home \"{name}\"\n\
                     Its people then find it at the address of the pages, with /to/{} behind it.\n",
                    home.number, home.number
                ))
            }
            Of::Show { person, home } => seen(&homes, &person, &home, true).await,
            Of::Hide { person, home } => seen(&homes, &person, &home, false).await,
        }
    })
}

async fn list(homes: &Homes) -> Result<String, Failed> {
    let all = homes.list().await?;
    if all.is_empty() {
        return Ok("There is no home yet. Add one with: whelpward homes add NAME\n".into());
    }
    let people = homes.board.people().await?;
    let mut text = String::new();
    for home in all {
        let mut who = Vec::new();
        for person in &people {
            if homes.seen_by(&person.name).await?.contains(&home.number) {
                who.push(person.name.as_str());
            }
        }
        let seen = if who.is_empty() {
            "the board's breeder".into()
        } else {
            format!("the board's breeder, {}", who.join(", "))
        };
        text.push_str(&format!("{} {}, seen by {seen}\n", home.number, home.name));
    }
    Ok(text)
}

async fn seen(homes: &Homes, person: &str, home: &str, sees: bool) -> Result<String, Failed> {
    let home = named(homes, home).await?;
    let people = homes.board.people().await?;
    let Some(person) = people.iter().find(|p| p.name.to_lowercase() == person.trim().to_lowercase()) else {
        let names: Vec<&str> = people.iter().map(|p| p.name.as_str()).collect();
        let allowed = if names.is_empty() {
            "let one in first, on the page \"Phones and people\" of the board".into()
        } else {
            names.join(", ")
        };
        return Err(Failed::Message(format!("there is nobody \"{person}\" at the board\nallowed: {allowed}")));
    };
    homes.let_see(&person.name, home.number, sees).await?;
    let word = if sees { "sees" } else { "no longer sees" };
    Ok(format!("{} {word} {}.\n", person.name, home.name))
}
