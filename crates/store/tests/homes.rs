//! Several households in one PostgreSQL: nothing of one is found by another.

mod common;

use common::{fresh_postgres, id, litter, pup, time};
use whelpward_core::book::Kind;
use whelpward_store::{Homes, Outcome, Store};

const SECRET: &str = "00112233445566778899aabbccddeeff00112233445566778899aabbccddeeff";

#[tokio::test]
#[ignore = "needs WHELPWARD_TEST_POSTGRES; scripts/test starts one"]
async fn each_home_finds_its_own_and_nothing_else() {
    let url = fresh_postgres().await;
    let homes = Homes::open(&url, SECRET).await.unwrap();
    let now = time("2026-11-18T09:00Z");
    let (mill, barn) = (homes.add("Mill", SECRET, now).await.unwrap(), homes.add("Barn", SECRET, now).await.unwrap());
    assert_eq!((mill.number, barn.number), (1, 2));
    let (at_mill, at_barn) = (homes.store(&mill).await.unwrap(), homes.store(&barn).await.unwrap());

    // The same id in two homes is two facts.
    assert_eq!(at_mill.append(&[litter(), pup(1, "Ash")], now).await.unwrap().len(), 2);
    assert!(at_barn.facts(id(0), 0).await.unwrap().is_empty());
    assert!(matches!(at_barn.append(&[litter()], now).await.unwrap()[0], Outcome::Saved { seq: 1 }));
    assert_eq!(at_mill.count().await.unwrap(), 2);
    assert_eq!(at_barn.facts_of_kind(Kind::Pup).await.unwrap().len(), 0);
    assert_eq!(homes.board.count().await.unwrap(), 0);

    // A plain book in the same database is another book again.
    let plain = Store::open(&url).await.unwrap();
    assert_eq!(plain.count().await.unwrap(), 0);

    // Another process sees the same homes and their facts.
    let other = Homes::open(&url, SECRET).await.unwrap();
    let later = Homes::open(&url, "another secret").await.unwrap();
    assert_eq!(later.secret().await.unwrap(), SECRET, "the first one stays");
    let listed = other.list().await.unwrap();
    assert_eq!(listed, [mill.clone(), barn]);
    assert_eq!(other.store(&mill).await.unwrap().count().await.unwrap(), 2);
}

#[tokio::test]
#[ignore = "needs WHELPWARD_TEST_POSTGRES; scripts/test starts one"]
async fn a_name_is_taken_once_and_never_becomes_a_statement() {
    let url = fresh_postgres().await;
    let homes = Homes::open(&url, SECRET).await.unwrap();
    let now = time("2026-11-18T09:00Z");
    homes.add("Mill\"; DROP SCHEMA whelpward_board CASCADE; --", SECRET, now).await.unwrap();
    homes.add("Barn", SECRET, now).await.unwrap();
    for (name, why) in [("barn", "already"), ("", "1 to 60"), ("two\nlines", "one line"), (&"x".repeat(61), "1 to 60")]
    {
        let error = homes.add(name, SECRET, now).await.unwrap_err().to_string();
        assert!(error.contains(why), "{name:?}: {error}");
    }
    assert_eq!(homes.list().await.unwrap().len(), 2);
}

#[tokio::test]
#[ignore = "needs WHELPWARD_TEST_POSTGRES; scripts/test starts one"]
async fn homes_added_at_once_get_numbers_of_their_own() {
    let url = fresh_postgres().await;
    let now = time("2026-11-18T09:00Z");
    let (one, other) = tokio::join!(Homes::open(&url, SECRET), Homes::open(&url, SECRET));
    let (one, other) = (one.unwrap(), other.unwrap());
    let added =
        tokio::join!(one.add("One", SECRET, now), other.add("Two", SECRET, now), other.add("Three", SECRET, now));
    let mut numbers = [added.0, added.1, added.2].map(|home| home.unwrap().number);
    numbers.sort_unstable();
    assert_eq!(numbers, [1, 2, 3]);
}

#[tokio::test]
#[ignore = "needs WHELPWARD_TEST_POSTGRES; scripts/test starts one"]
async fn a_person_of_the_board_sees_the_homes_that_were_named() {
    let homes = Homes::open(&fresh_postgres().await, SECRET).await.unwrap();
    let now = time("2026-11-18T09:00Z");
    for name in ["Mill", "Barn", "Yard"] {
        homes.add(name, SECRET, now).await.unwrap();
    }
    assert!(homes.seen_by("Robin").await.unwrap().is_empty());
    for home in [3, 1, 1] {
        homes.let_see("Robin", home, true).await.unwrap();
    }
    homes.let_see("Kim", 2, true).await.unwrap();
    assert_eq!(homes.seen_by("Robin").await.unwrap(), [1, 3]);
    homes.let_see("Robin", 3, false).await.unwrap();
    assert_eq!(homes.seen_by("Robin").await.unwrap(), [1]);
    assert_eq!(homes.seen_by("Kim").await.unwrap(), [2]);
    assert!(homes.let_see("Kim", 9, true).await.is_err(), "there is no such home");
}

#[tokio::test]
async fn an_embedded_book_has_no_homes() {
    let error = Homes::open("book.sqlite", SECRET).await.unwrap_err().to_string();
    assert!(error.contains("PostgreSQL"), "{error}");
}
