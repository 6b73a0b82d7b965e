//! The ZIP of a whole book with something wrong in it: nothing of it is taken.

use std::io::{Cursor, Read as _, Write as _};

use whelpward_app::{Book, Register, Who, everything_in, everything_out, register_litter};
use whelpward_core::book::Values;
use whelpward_store::Store;

/// The lists of a ZIP, with a line behind one of them.
fn with_line(zip: &[u8], behind: &str, line: &str) -> Vec<u8> {
    let mut from = zip::ZipArchive::new(Cursor::new(zip)).unwrap();
    let mut to = zip::ZipWriter::new(Cursor::new(Vec::new()));
    for name in ["facts.jsonl", "set_aside.jsonl"] {
        let mut text = String::new();
        from.by_name(name).unwrap().read_to_string(&mut text).unwrap();
        if name == behind {
            text.push_str(line);
        }
        to.start_file(name, zip::write::SimpleFileOptions::default()).unwrap();
        to.write_all(text.as_bytes()).unwrap();
    }
    to.finish().unwrap().into_inner()
}

#[tokio::test]
async fn a_line_that_does_not_read_in_either_list_leaves_the_book_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let open = async |name: &str| Book::new(Store::open_sqlite(&folder.path().join(name)).await.unwrap());
    let now = "2026-11-25T20:00Z".parse().unwrap();
    let book = open("book.sqlite").await;
    let who = Who { carer: None, device: "test".into() };
    let words = [("name", "Clover"), ("time_zone", "UTC"), ("scale_step_g", "1"), ("expected_adult_weight_kg", "12")];
    let litter: Values = words.into_iter().map(|(k, v)| (k.to_owned(), v.into())).collect();
    register_litter(&book, &who, Register { litter, ..Register::default() }, now).await.unwrap();
    let facts = book.store.count().await.unwrap();
    let good = everything_out(&book, now).await.unwrap().zip;

    let empty = open("other.sqlite").await;
    for (list, place) in [("facts.jsonl", facts + 1), ("set_aside.jsonl", 1)] {
        for line in ["{", "[]x", "\u{0}", "not JSON"] {
            let error = everything_in(&empty, &with_line(&good, list, line), now).await.unwrap_err().to_string();
            assert!(error.contains(&format!("{list}, line {place}: ")), "{error}");
            assert_eq!(empty.store.count().await.unwrap(), 0, "{list} {line:?}");
            assert!(empty.store.set_aside().await.unwrap().is_empty());
        }
    }
    assert!(everything_in(&empty, &with_line(&good, "facts.jsonl", "\n \n"), now).await.unwrap().is_rebuilt);
    assert_eq!(empty.store.digest().await.unwrap(), book.store.digest().await.unwrap());
}
