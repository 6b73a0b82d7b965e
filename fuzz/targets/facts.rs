//! Facts as JSON from a device or an export, one to a line: read them, fold them, in both orders.
#![no_main]

use std::sync::Arc;

use libfuzzer_sys::fuzz_target;
use whelpward_core::book::{Fact, FactJson, fold};

fuzz_target!(|bytes: &[u8]| {
    let text = String::from_utf8_lossy(bytes);
    let facts: Vec<Arc<Fact>> = text
        .lines()
        .filter_map(|line| serde_json::from_str::<FactJson>(line).ok())
        .filter_map(|json| json.read().ok())
        .map(Arc::new)
        .collect();
    for fact in &facts {
        let line = serde_json::to_string(&FactJson::from(&**fact)).expect("JSON");
        let again = serde_json::from_str::<FactJson>(&line).expect("our own JSON").read().expect("our own fact");
        assert_eq!(**fact, again);
    }
    let forward = fold(&facts);
    let mut turned = facts;
    turned.reverse();
    let backward = fold(&turned);
    assert!(forward.counted().eq(backward.counted()), "the order of arrival changed what counts");
    assert_eq!(forward.questions.len(), backward.questions.len());
});
