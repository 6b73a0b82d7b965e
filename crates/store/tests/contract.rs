//! One story, told to both databases: what is saved, met again, set aside and read back.

mod common;

use std::sync::Arc;

use common::{TestBook, id, litter, pup, time, weighing};
use whelpward_core::book::{Kind, fold};
use whelpward_store::{Outcome, Store};

async fn story(book: TestBook) {
    let store = &book.store;
    let received = time("2026-11-18T09:00Z");
    let first = [litter(), pup(1, "Ash"), weighing(2, id(1), "2026-11-18T08:30Z", "301")];
    let saved = store.append(&first, received).await.unwrap();
    assert_eq!(saved, [1, 2, 3].map(|seq| Outcome::Saved { seq }));

    // Saving the same again is harmless, and a new one beside it is saved.
    let again =
        store.append(&[weighing(2, id(1), "2026-11-18T08:30Z", "301"), pup(3, "Yarrow")], received).await.unwrap();
    assert_eq!(again[0], Outcome::AlreadyThere { seq: 3 });
    assert!(matches!(again[1], Outcome::Saved { .. }));

    // The same id with other content is refused and kept.
    let other = store.append(&[weighing(2, id(1), "2026-11-18T08:30Z", "310")], received).await.unwrap();
    assert!(matches!(other[0], Outcome::SetAside { .. }));
    for _ in 0..2 {
        store.append(&[weighing(2, id(1), "2026-11-18T08:30Z", "310")], received).await.unwrap();
    }
    let waiting = store.set_aside().await.unwrap();
    assert_eq!(waiting.len(), 1, "a device that tries again does not fill the list");
    assert!(waiting[0].entry.contains("310"));
    store.settle(waiting[0].seq, "looked at").await.unwrap();
    assert!(store.set_aside().await.unwrap().is_empty());

    // What was saved is what is read, to the last part.
    let facts = store.facts(id(0), 0).await.unwrap();
    assert_eq!(facts.len(), 4);
    assert_eq!(store.count().await.unwrap(), 4);
    for (read, written) in facts.iter().zip(&first) {
        assert_eq!(read.content(), written.content());
        assert_eq!(read.receipt.received, Some(received));
    }
    assert_eq!(facts[2].amount(), Some(301_000));
    let folded = fold(&facts.into_iter().map(Arc::new).collect::<Vec<_>>());
    let facts = folded.facts.unwrap();
    assert_eq!(facts.weighings[0].weight.get(), 301.0);
    assert_eq!(facts.pups.len(), 2);
    assert!(folded.refused.is_empty());

    // Only what came after a place, and only of a kind.
    assert_eq!(store.facts(id(0), 3).await.unwrap().len(), 1);
    assert_eq!(store.facts_of_kind(Kind::Pup).await.unwrap().len(), 2);

    // Everything is there after closing and opening.
    let before = store.digest().await.unwrap();
    store.close().await;
    let opened = Store::open(&book.url).await.unwrap();
    assert_eq!(opened.digest().await.unwrap(), before);
    opened.close().await;
}

#[tokio::test]
async fn sqlite_tells_the_story() {
    story(common::sqlite().await).await;
}

#[tokio::test]
#[ignore = "needs WHELPWARD_TEST_POSTGRES; scripts/test starts one"]
async fn postgres_tells_the_story() {
    story(common::postgres().await).await;
}
